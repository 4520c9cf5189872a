//! What did not happen with a logbook.

use winze_core::Error;

use super::{
    NEW_KEY, UserMessage, body_not_understood, counted, file_failed, format_failed,
    procedure_failed,
};

/// A failed act on a logbook.
#[must_use]
#[allow(
    clippy::too_many_lines,
    reason = "one arm for each thing that can happen"
)]
pub fn logbook_failed(error: &Error) -> UserMessage {
    let unchanged = "Nothing was changed.";
    match error {
        Error::NoLogbook { path } => UserMessage::new(
            format!("There is no logbook in {}.", path.display()),
            unchanged,
            "Name the right folder with --logbook, or make one with `winze load`.",
        ),
        Error::KeyMissing { path } => UserMessage::new(
            format!("The key of the logbook in {} is gone.", path.display()),
            "Its records are whole and can still be read, but nobody can add to them.",
            format!("If the file named key was only moved, move it back. {NEW_KEY}"),
        ),
        Error::LogbookExists { path } => UserMessage::new(
            format!("There is a logbook in {} already.", path.display()),
            "It was left as it is.",
            "Name another folder.",
        ),
        Error::NotAFolder { path } => UserMessage::new(
            format!(
                "{} is not a folder, and a logbook is a folder.",
                path.display()
            ),
            unchanged,
            "Name a folder.",
        ),
        Error::NotAFile { path } => UserMessage::new(
            format!("{} is a folder, and a file is needed.", path.display()),
            unchanged,
            "Name the file inside it.",
        ),
        Error::Locked { path } => UserMessage::new(
            format!(
                "The logbook in {} is open in another window or program.",
                path.display()
            ),
            "That one goes on undisturbed.",
            "Close the other one first.",
        ),
        Error::ReadOnly { path, source } => file_failed("written", path, source),
        Error::NoSpace { path } => UserMessage::new(
            format!("There is no space left for {}.", path.display()),
            "Everything shown as saved is safe.",
            "Free some space, then try again. Space kept back for readings is used up as well. Until \
             it says saved, write on paper.",
        ),
        Error::Io {
            action,
            path,
            source,
        } => UserMessage::new(
            format!(
                "{} failed: could not {action} it ({source}).",
                path.display()
            ),
            "Everything shown as saved is safe.",
            "Check the drive, then try again.",
        ),
        Error::NewerThanProgram { path, found, known } => UserMessage::new(
            format!(
                "{} was written by a newer Winze (version {found}; this one knows {known}).",
                path.display()
            ),
            unchanged,
            "Use the newer Winze.",
        ),
        Error::NotDurable { setting, found } => UserMessage::new(
            format!(
                "The database does not promise to keep what it is told ({setting} is {found})."
            ),
            "So nothing was saved, and nothing was shown as saved.",
            "Move the logbook to a local drive.",
        ),
        Error::Database { action, source } => UserMessage::new(
            format!("The database failed to {action}: {source}."),
            "The records are safe in the logbook's segment files.",
            "Open the logbook again; the database is made anew from the records if need be.",
        ),
        Error::DatabaseDamaged { action, source } => UserMessage::new(
            format!("The database is damaged; it failed to {action}: {source}."),
            "The records are safe in the logbook's segment files.",
            "Open the logbook again: the damaged database is put aside and another made from the \
             records.",
        ),
        Error::DatabaseContent { what } => UserMessage::new(
            format!("The database holds something that cannot be: {what}."),
            "The records are safe in the logbook's segment files.",
            "Close Winze, move projection.sqlite out of the logbook folder, and open it again: it \
             is made anew from the records.",
        ),
        Error::Stopped { reason } => UserMessage::new(
            format!("Saving stopped after a failed write: {reason}."),
            "Everything shown as saved is safe; nothing after it is.",
            "Check the drive, then confirm once more: both copies of the records are read again first, \
             and writing goes on in a new file. Until it says saved, write on paper.",
        ),
        Error::Format(error) => format_failed(error),
        Error::Body(error) => body_not_understood(error),
        Error::UnknownStation { station } => UserMessage::new(
            format!("No station {station} is defined here."),
            unchanged,
            "Check the code, or take in the bundle with its definition.",
        ),
        Error::UnsoundDefinition { station, problems } => UserMessage::new(
            format!(
                "The definition of station {station} has {} that make judging impossible.",
                counted(problems.len() as u64, "fault", "faults")
            ),
            unchanged,
            "Put the figures right in the register.",
        ),
        Error::RoundOpen { .. } => UserMessage::new(
            "A walk-round is open already.",
            "It was left as it is.",
            "Go on with it, or close it first.",
        ),
        Error::UnknownRound { round } => UserMessage::new(
            format!("There is no round {}.", round.id.short()),
            unchanged,
            "Choose one from the list.",
        ),
        Error::RoundClosed { round } => UserMessage::new(
            format!("Round {} is closed.", round.id.short()),
            unchanged,
            "Open a new round.",
        ),
        Error::NotOnRound { station } => UserMessage::new(
            format!("Station {station} is not on this round."),
            unchanged,
            "Read it outside the round, or open a round with it.",
        ),
        Error::EmptyRound => UserMessage::new(
            "A round needs at least one station.",
            unchanged,
            "Choose the stations.",
        ),
        Error::NothingTyped { station } => UserMessage::new(
            format!("No gauge of station {station} was entered."),
            unchanged,
            "Enter at least one gauge, or skip the station with a reason.",
        ),
        Error::NotAPicture
        | Error::PictureTooLarge { .. }
        | Error::CannotAttachTo { .. }
        | Error::NotAnAttachment { .. }
        | Error::AttachmentIncomplete { .. }
        | Error::AttachmentUnfit { .. }
        | Error::NoRoomForPictures => super::picture::picture_failed(error),
        Error::NoteMissing => UserMessage::new(
            "This reason needs a few words.",
            unchanged,
            "Write a short note.",
        ),
        Error::UnknownRecord { at } | Error::NotAReading { at } => UserMessage::new(
            format!("There is no such reading: {}.", at.id.short()),
            unchanged,
            "Choose one from the list.",
        ),
        Error::UnknownJob { job } => UserMessage::new(
            format!("There is no job {}.", job.id.short()),
            unchanged,
            "Look at the list of jobs again.",
        ),
        Error::JobClosed { job } => UserMessage::new(
            format!("Job {} is closed already.", job.id.short()),
            "What was written when it was closed is safe.",
            "If there is more to be done, raise another job.",
        ),
        Error::OtherStation { station, .. } => UserMessage::new(
            format!("The as-left reading is not of station {station}."),
            unchanged,
            "Read the gauges of that station, then close the job with that reading.",
        ),
        Error::PartUnclear => UserMessage::new(
            "A part has no name, or its number is nought.",
            unchanged,
            "Name each part and say how many, or leave it out.",
        ),
        Error::DayNotCome { day } => UserMessage::new(
            format!("{day} has not come yet, or is no day of the calendar."),
            unchanged,
            "Give the day on which the work was done.",
        ),
        Error::Procedure(error) => procedure_failed(error),
        Error::UnknownQuestion { question } => UserMessage::new(
            format!("There is no question {question}."),
            unchanged,
            "Look at the list of questions again; it may have been answered meanwhile.",
        ),
        Error::ChoiceDoesNotFit { question, .. } => UserMessage::new(
            format!("That is no answer to question {question}."),
            unchanged,
            "Choose one of the answers offered.",
        ),
        Error::OwnLog => UserMessage::new(
            "A logbook cannot enrol or withdraw itself.",
            unchanged,
            "Choose another logbook.",
        ),
        Error::NotAnOffice => UserMessage::new(
            "Only an office can replace its key; this logbook is a tablet\u{2019}s.",
            unchanged,
            "A tablet that may have been copied goes on in a new log by itself.",
        ),
        Error::UnknownLog { log } => UserMessage::new(
            format!("Nothing is known of logbook {}.", log.short()),
            unchanged,
            "Take in a bundle of that logbook first.",
        ),
        Error::NothingToPack => UserMessage::new(
            "There is nothing to pack: everything here has been acknowledged.",
            "All records are safe at the other end.",
            "",
        ),
        Error::NoBackup { path } => UserMessage::new(
            format!("There is no backup of a logbook in {}.", path.display()),
            "Nothing was changed.",
            "Name the folder with the .seg files: winze backup prints it, and it is called after the \
             logbook, as in office-1a2b3c4d.",
        ),
        Error::BackupIncomplete { path, missing: 0 } => UserMessage::new(
            format!(
                "{} came back from the medium with other bytes than were written.",
                path.display()
            ),
            "The logbook is not touched, and what was backed up before stays as it was.",
            "Do not rely on this medium. Make the backup on another one.",
        ),
        Error::BackupIncomplete { path, missing } => UserMessage::new(
            format!(
                "The backup in {} lacks {} of this logbook.",
                path.display(),
                counted(*missing, "record", "records")
            ),
            "The logbook is not touched. This backup was not counted as one.",
            "Open and close the logbook, which makes good what a segment has lost, and make the \
             backup again.",
        ),
        Error::Cancelled => UserMessage::new(
            "Stopped as asked.",
            "What was taken in until then is kept and whole.",
            "Do the same again to go on; nothing is taken in twice.",
        ),
    }
}

/// The disk is full and readings are written into the space kept back for them.
#[must_use]
pub fn short_of_space() -> UserMessage {
    UserMessage::new(
        "The disk is full: readings now use the space kept back for them.",
        "Everything shown as saved is safe.",
        "Hand over to the office and free some space soon. When this space is used up too, a reading \
         is refused in words and not shown as saved: write it on paper then.",
    )
}

#[cfg(test)]
mod tests {
    use std::io::ErrorKind;
    use std::path::{Path, PathBuf};

    use super::{Error, logbook_failed};

    fn check(error: &Error, what: &str, safe: &str, next: &str) {
        let message = logbook_failed(error);
        assert!(message.what.contains(what), "{message}");
        assert!(message.safe.contains(safe), "{message}");
        assert!(message.next.contains(next), "{message}");
    }

    fn of_io(kind: ErrorKind) -> Error {
        Error::of_io("append to", Path::new("own-000001.seg"), kind.into())
    }

    #[test]
    fn full_drive_says_what_is_safe_and_to_use_paper() {
        check(
            &of_io(ErrorKind::StorageFull),
            "no space left for own-000001.seg",
            "shown as saved is safe",
            "write on paper",
        );
    }

    #[test]
    fn read_only_folder_is_named_with_the_reason() {
        check(
            &of_io(ErrorKind::ReadOnlyFilesystem),
            "read-only",
            "Nothing was",
            "another folder",
        );
        check(
            &of_io(ErrorKind::PermissionDenied),
            "not allowed",
            "Nothing was",
            "Ask for access",
        );
    }

    #[test]
    fn file_where_a_folder_is_meant_and_the_other_way_round() {
        check(
            &of_io(ErrorKind::NotADirectory),
            "is not a folder",
            "Nothing was",
            "Name a folder",
        );
        check(
            &of_io(ErrorKind::IsADirectory),
            "is a folder",
            "Nothing was",
            "Name the file",
        );
    }

    #[test]
    fn second_program_leaves_the_first_alone() {
        let error = Error::Locked {
            path: PathBuf::from("book"),
        };
        check(
            &error,
            "open in another",
            "undisturbed",
            "Close the other one",
        );
    }

    #[test]
    fn failed_write_stops_saving_and_says_so() {
        let error = Error::Stopped {
            reason: "sync own-000001.seg".to_owned(),
        };
        check(
            &error,
            "Saving stopped",
            "nothing after it",
            "in a new file",
        );
    }

    #[test]
    fn a_full_disk_says_that_readings_still_have_room() {
        let message = super::short_of_space();
        assert!(message.what.contains("kept back") && message.next.contains("paper"));
    }

    #[test]
    fn backups_that_are_none_are_told_apart() {
        let path = PathBuf::from("second/office-1a2b3c4d");
        let none = Error::NoBackup { path: path.clone() };
        check(&none, "no backup", "Nothing was changed", ".seg");
        let missing = |missing| Error::BackupIncomplete {
            path: path.clone(),
            missing,
        };
        check(&missing(0), "other bytes", "not touched", "another one");
        check(&missing(3), "lacks 3 records", "not touched", "again");
    }

    #[test]
    fn newer_logbook_is_left_alone() {
        let error = Error::NewerThanProgram {
            path: PathBuf::from("book"),
            found: 9,
            known: 1,
        };
        check(
            &error,
            "version 9; this one knows 1",
            "Nothing was",
            "newer Winze",
        );
    }
}
