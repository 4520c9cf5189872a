//! The error of everything that keeps, changes or reads a logbook.
//!
//! Texts here are for logs. What people read is made in the program, which matches on the variants.

use std::path::{Path, PathBuf};

use winze_sync_format::{LogId, RecordRef};

use crate::merge::QuestionId;
use crate::procedures::ProcedureError;
use crate::record::{BodyError, Choice};
use crate::station::{Problem, StationCode};

/// The result of everything that touches a logbook.
pub type Result<T, E = Error> = std::result::Result<T, E>;

/// Why something with a logbook did not happen.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// There is no logbook in the folder.
    #[error("no logbook in {path}", path = path.display())]
    NoLogbook {
        /// The folder.
        path: PathBuf,
    },
    /// There are segments in the folder and no key: the records can be read, not added to.
    #[error("no key beside the segments in {path}", path = path.display())]
    KeyMissing {
        /// The folder.
        path: PathBuf,
    },
    /// There is a logbook in the folder already.
    #[error("a logbook exists in {path}", path = path.display())]
    LogbookExists {
        /// The folder.
        path: PathBuf,
    },
    /// A file stands where a folder is meant.
    #[error("{path} is not a folder", path = path.display())]
    NotAFolder {
        /// The path.
        path: PathBuf,
    },
    /// A folder stands where a file is meant.
    #[error("{path} is a folder", path = path.display())]
    NotAFile {
        /// The path.
        path: PathBuf,
    },
    /// Another program has the logbook open.
    #[error("logbook in {path} is open elsewhere", path = path.display())]
    Locked {
        /// The folder.
        path: PathBuf,
    },
    /// The folder or a file in it cannot be written.
    #[error("{path} cannot be written", path = path.display())]
    ReadOnly {
        /// The file or folder.
        path: PathBuf,
        /// The system's answer.
        source: std::io::Error,
    },
    /// There is no space left.
    #[error("no space left for {path}", path = path.display())]
    NoSpace {
        /// The file or folder.
        path: PathBuf,
    },
    /// Another failure of a file operation.
    #[error("{action} {path}: {source}", path = path.display())]
    Io {
        /// What was tried.
        action: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// The system's answer.
        source: std::io::Error,
    },
    /// The database was written by a newer program.
    #[error("{path} has version {found}, this program knows {known}", path = path.display())]
    NewerThanProgram {
        /// The database.
        path: PathBuf,
        /// Its version.
        found: i64,
        /// The newest version this program knows.
        known: i64,
    },
    /// The database did not take a setting without which nothing may be called saved.
    #[error("database setting {setting} is {found}")]
    NotDurable {
        /// The setting.
        setting: &'static str,
        /// What it reads back as.
        found: String,
    },
    /// The database failed.
    #[error("database, {action}: {source}")]
    Database {
        /// What was tried.
        action: &'static str,
        /// The database's answer.
        source: Box<dyn std::error::Error + Send + Sync>,
    },
    /// The database file is damaged; opening the logbook anew puts it aside and makes another.
    #[error("database damaged, {action}: {source}")]
    DatabaseDamaged {
        /// What was tried.
        action: &'static str,
        /// The database's answer.
        source: Box<dyn std::error::Error + Send + Sync>,
    },
    /// The database holds something that cannot be.
    #[error("database holds a bad value: {what}")]
    DatabaseContent {
        /// What is bad.
        what: &'static str,
    },
    /// An earlier write failed; nothing is saved until the logbook is opened anew.
    #[error("stopped after a failed write: {reason}")]
    Stopped {
        /// The first failure.
        reason: String,
    },
    /// Bytes, signatures or files of the format.
    #[error(transparent)]
    Format(winze_sync_format::Error),
    /// A body cannot be written or read.
    #[error(transparent)]
    Body(#[from] BodyError),
    /// No definition of this station counts.
    #[error("station {station} is not known")]
    UnknownStation {
        /// Its code.
        station: StationCode,
    },
    /// The definition has faults that make judging impossible.
    #[error("definition of {station} has {count} faults", count = problems.len())]
    UnsoundDefinition {
        /// The station.
        station: StationCode,
        /// The faults.
        problems: Vec<Problem>,
    },
    /// A walk-round is open already.
    #[error("round {round} is open")]
    RoundOpen {
        /// The open round.
        round: RecordRef,
    },
    /// No such round.
    #[error("round {round} is not known")]
    UnknownRound {
        /// What was asked for.
        round: RecordRef,
    },
    /// The round is closed.
    #[error("round {round} is closed")]
    RoundClosed {
        /// The round.
        round: RecordRef,
    },
    /// The station is not on the round.
    #[error("station {station} is not on the round")]
    NotOnRound {
        /// The station.
        station: StationCode,
    },
    /// A round without a station.
    #[error("no station for a round")]
    EmptyRound,
    /// No gauge was typed.
    #[error("no gauge was typed for {station}")]
    NothingTyped {
        /// The station.
        station: StationCode,
    },
    /// A reason that needs words came without.
    #[error("the reason needs a note")]
    NoteMissing,
    /// No such record.
    #[error("record {at} is not known")]
    UnknownRecord {
        /// What was asked for.
        at: RecordRef,
    },
    /// The file is neither a JPEG nor a PNG picture.
    #[error("not a picture: neither jpeg nor png")]
    NotAPicture,
    /// The picture has more bytes than a picture may have.
    #[error("picture of {bytes} bytes, at most {most}")]
    PictureTooLarge {
        /// Bytes of the file.
        bytes: u64,
        /// Bytes it may have.
        most: u64,
    },
    /// Pictures belong to readings, jobs, procedures and steps, not to this record.
    #[error("record {at} can have no pictures")]
    CannotAttachTo {
        /// The record.
        at: RecordRef,
    },
    /// The record names no picture.
    #[error("record {at} is not a picture")]
    NotAnAttachment {
        /// The record.
        at: RecordRef,
    },
    /// Pieces of the picture are not here yet.
    #[error("picture {at} lacks {missing} pieces")]
    AttachmentIncomplete {
        /// The record that names the picture.
        at: RecordRef,
        /// How many pieces.
        missing: u32,
    },
    /// The pieces of a picture are not what its record says of the whole.
    #[error("picture {at} is not what its record says")]
    AttachmentUnfit {
        /// The record that names the picture.
        at: RecordRef,
    },
    /// The disk is nearly full: what is left is kept for readings.
    #[error("no room for pictures")]
    NoRoomForPictures,
    /// The record is not a reading.
    #[error("record {at} is not a reading")]
    NotAReading {
        /// The record.
        at: RecordRef,
    },
    /// No such job.
    #[error("job {job} is not known")]
    UnknownJob {
        /// What was asked for.
        job: RecordRef,
    },
    /// The job is closed.
    #[error("job {job} is closed")]
    JobClosed {
        /// The job.
        job: RecordRef,
    },
    /// The as-left reading is of another station.
    #[error("reading {reading} is not of station {station}")]
    OtherStation {
        /// The reading.
        reading: RecordRef,
        /// The station meant.
        station: StationCode,
    },
    /// A part without a name, or none of it.
    #[error("a part is nameless, or none of it was used")]
    PartUnclear,
    /// The day on which it was done has not come, or is outside the calendar.
    #[error("{day} has not come yet")]
    DayNotCome {
        /// The day.
        day: chrono::NaiveDate,
    },
    /// Something with a procedure.
    #[error(transparent)]
    Procedure(#[from] ProcedureError),
    /// No such question.
    #[error("question {question} is not known")]
    UnknownQuestion {
        /// What was asked for.
        question: QuestionId,
    },
    /// The choice is no answer to the question.
    #[error("choice {choice:?} does not answer question {question}")]
    ChoiceDoesNotFit {
        /// The question.
        question: QuestionId,
        /// The choice.
        choice: Choice,
    },
    /// A logbook can neither enrol nor revoke itself.
    #[error("a logbook cannot enrol or revoke itself")]
    OwnLog,
    /// Only an office can do this.
    #[error("not an office")]
    NotAnOffice,
    /// The log neither sent a record nor was enrolled.
    #[error("log {log} is not known")]
    UnknownLog {
        /// The log.
        log: LogId,
    },
    /// There is nothing the receiver does not have.
    #[error("nothing to pack")]
    NothingToPack,
    /// There is no backup in the folder.
    #[error("no backup in {path}", path = path.display())]
    NoBackup {
        /// The folder.
        path: PathBuf,
    },
    /// The second medium does not hold what was written to it.
    #[error("backup {path} lacks {missing} records", path = path.display())]
    BackupIncomplete {
        /// The file or folder.
        path: PathBuf,
        /// Records of the logbook that are not in it; 0 when a file came back with other bytes.
        missing: u64,
    },
    /// The person at the screen asked to stop.
    #[error("cancelled")]
    Cancelled,
}

impl Error {
    /// Sorts a failed file operation by what the person can do about it.
    #[must_use]
    pub fn of_io(action: &'static str, path: &Path, source: std::io::Error) -> Self {
        use std::io::ErrorKind;
        let path = path.to_owned();
        match source.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
                Self::NoSpace { path }
            }
            ErrorKind::ReadOnlyFilesystem | ErrorKind::PermissionDenied => {
                Self::ReadOnly { path, source }
            }
            ErrorKind::NotADirectory => Self::NotAFolder { path },
            ErrorKind::IsADirectory => Self::NotAFile { path },
            _ => Self::Io {
                action,
                path,
                source,
            },
        }
    }
}

impl From<winze_sync_format::Error> for Error {
    fn from(error: winze_sync_format::Error) -> Self {
        match error {
            winze_sync_format::Error::Io {
                action,
                path,
                source,
            } => Self::of_io(action, &path, source),
            winze_sync_format::Error::Cancelled => Self::Cancelled,
            other => Self::Format(other),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io::ErrorKind;

    use super::*;

    fn of(kind: ErrorKind) -> Error {
        Error::of_io(
            "write",
            Path::new("own-000001.seg"),
            std::io::Error::from(kind),
        )
    }

    #[test]
    fn file_failures_are_sorted_by_what_can_be_done() {
        assert!(matches!(of(ErrorKind::StorageFull), Error::NoSpace { .. }));
        assert!(matches!(
            of(ErrorKind::QuotaExceeded),
            Error::NoSpace { .. }
        ));
        assert!(matches!(
            of(ErrorKind::ReadOnlyFilesystem),
            Error::ReadOnly { .. }
        ));
        assert!(matches!(
            of(ErrorKind::PermissionDenied),
            Error::ReadOnly { .. }
        ));
        assert!(matches!(
            of(ErrorKind::NotADirectory),
            Error::NotAFolder { .. }
        ));
        assert!(matches!(
            of(ErrorKind::IsADirectory),
            Error::NotAFile { .. }
        ));
        assert!(matches!(of(ErrorKind::TimedOut), Error::Io { .. }));
    }
}
