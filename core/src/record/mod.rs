//! What records say: the body of every kind, to and from its one canonical form.
//!
//! The envelope around a body (log, sequence number, time, person, references, signature) belongs to
//! `winze-sync-format`. A body that this program does not know, or that is not exactly as the
//! program would write it, is kept byte for byte and shown as not understood; it never counts.
//!
//! Start at [`Body`]. The key numbers in the files of this folder are for ever: a changed meaning
//! needs a new kind.

mod answer;
mod attachment;
mod check;
mod correction;
mod error;
mod procedure;
mod reading;
mod round;
mod shown;
mod station;
mod succession;
mod trust;
mod upkeep;
mod wire;

#[cfg(test)]
mod tests;

pub use answer::{Acknowledgement, Answer, Choice};
pub use attachment::{
    AttachmentAdded, AttachmentChunk, ChunkName, MAX_CHUNK_BYTES, MAX_PICTURE_BYTES, MediaType,
};
pub use check::CheckAnswered;
pub use correction::Correction;
pub use error::{BodyError, BodyResult};
pub use procedure::{
    ProcedureClosed, ProcedureEnd, ProcedureOpened, ShownFigure, StepOutcome, StepRecorded,
    StepUndone,
};
pub use reading::{AskedDoubt, DoubtReply, Reading, Source, Tick, Ticks};
pub use round::{RoundClosed, RoundOpened, SkipReason, StationSkipped};
pub use shown::{Shown, ShownVerdict};
pub use succession::{ClockObserved, LogContinued, NewLogWhy, OfficeReplaced, Side};
pub use trust::{Enrolment, LogOpened, Revocation, Role};
pub use upkeep::{JobClosed, JobEnd, JobRaised, PartUsed, TaskDone};

use crate::station::Station;

/// The kinds of record this program writes and understands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// The first record of every log.
    LogOpened,
    /// A log is to count, in a role.
    Enrolment,
    /// A log counts no further than a sequence number.
    Revocation,
    /// A definition of a station.
    StationRevision,
    /// A walk-round starts.
    RoundOpened,
    /// A walk-round ends.
    RoundClosed,
    /// A station was passed by, with a reason.
    StationSkipped,
    /// The three gauges of one visit.
    Reading,
    /// Other values for a reading.
    Correction,
    /// A check that tells suspects apart was answered.
    CheckAnswered,
    /// Something is to be put right at a station.
    JobRaised,
    /// A job came to its end.
    JobClosed,
    /// A task was done outside any procedure.
    TaskDone,
    /// The first record of a log that goes on where another ended.
    LogContinued,
    /// An office goes on under another key.
    OfficeReplaced,
    /// What a device's clock showed beside the office's.
    ClockObserved,
    /// An answer to a question.
    Answer,
    /// How far the writer durably holds a log.
    Acknowledgement,
    /// How far a verified backup of the writer holds a log.
    BackedUp,
    /// A picture belongs to a record.
    AttachmentAdded,
    /// A piece of a picture's bytes.
    AttachmentChunk,
    /// A procedure is opened at a station.
    ProcedureOpened,
    /// A step of a procedure was done, goes on or was passed over.
    StepRecorded,
    /// Records of a step are taken back.
    StepUndone,
    /// A procedure ends.
    ProcedureClosed,
}

impl Kind {
    /// Every kind, in order of number.
    pub const ALL: [Self; 25] = [
        Self::LogOpened,
        Self::Enrolment,
        Self::Revocation,
        Self::StationRevision,
        Self::RoundOpened,
        Self::RoundClosed,
        Self::StationSkipped,
        Self::Reading,
        Self::Correction,
        Self::CheckAnswered,
        Self::JobRaised,
        Self::JobClosed,
        Self::TaskDone,
        Self::LogContinued,
        Self::OfficeReplaced,
        Self::ClockObserved,
        Self::Answer,
        Self::Acknowledgement,
        Self::BackedUp,
        Self::AttachmentAdded,
        Self::AttachmentChunk,
        Self::ProcedureOpened,
        Self::StepRecorded,
        Self::StepUndone,
        Self::ProcedureClosed,
    ];

    /// The number in the envelope.
    #[must_use]
    pub const fn number(self) -> u64 {
        match self {
            Self::LogOpened => 10,
            Self::Enrolment => 11,
            Self::Revocation => 12,
            Self::StationRevision => 20,
            Self::RoundOpened => 30,
            Self::RoundClosed => 31,
            Self::StationSkipped => 32,
            Self::Reading => 40,
            Self::Correction => 41,
            Self::CheckAnswered => 42,
            Self::JobRaised => 43,
            Self::JobClosed => 44,
            Self::TaskDone => 45,
            Self::LogContinued => 46,
            Self::OfficeReplaced => 47,
            Self::ClockObserved => 48,
            Self::Answer => 50,
            Self::Acknowledgement => 51,
            Self::BackedUp => 52,
            Self::AttachmentAdded => 53,
            Self::AttachmentChunk => 54,
            Self::ProcedureOpened => 60,
            Self::StepRecorded => 61,
            Self::StepUndone => 62,
            Self::ProcedureClosed => 63,
        }
    }

    /// Finds the kind with this number.
    #[must_use]
    pub fn from_number(number: u64) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.number() == number)
    }

    /// Stable name, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::LogOpened => "log-opened",
            Self::Enrolment => "enrolment",
            Self::Revocation => "revocation",
            Self::StationRevision => "station-revision",
            Self::RoundOpened => "round-opened",
            Self::RoundClosed => "round-closed",
            Self::StationSkipped => "station-skipped",
            Self::Reading => "reading",
            Self::Correction => "correction",
            Self::CheckAnswered => "check-answered",
            Self::JobRaised => "job-raised",
            Self::JobClosed => "job-closed",
            Self::TaskDone => "task-done",
            Self::LogContinued => "log-continued",
            Self::OfficeReplaced => "office-replaced",
            Self::ClockObserved => "clock-observed",
            Self::Answer => "answer",
            Self::Acknowledgement => "acknowledgement",
            Self::BackedUp => "backed-up",
            Self::AttachmentAdded => "attachment-added",
            Self::AttachmentChunk => "attachment-chunk",
            Self::ProcedureOpened => "procedure-opened",
            Self::StepRecorded => "step-recorded",
            Self::StepUndone => "step-undone",
            Self::ProcedureClosed => "procedure-closed",
        }
    }
}

/// A decoded body.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// See [`Kind::LogOpened`].
    LogOpened(LogOpened),
    /// See [`Kind::Enrolment`].
    Enrolment(Enrolment),
    /// See [`Kind::Revocation`].
    Revocation(Revocation),
    /// See [`Kind::StationRevision`].
    StationRevision(Box<Station>),
    /// See [`Kind::RoundOpened`].
    RoundOpened(RoundOpened),
    /// See [`Kind::RoundClosed`].
    RoundClosed(RoundClosed),
    /// See [`Kind::StationSkipped`].
    StationSkipped(StationSkipped),
    /// See [`Kind::Reading`].
    Reading(Box<Reading>),
    /// See [`Kind::Correction`].
    Correction(Box<Correction>),
    /// See [`Kind::CheckAnswered`].
    CheckAnswered(CheckAnswered),
    /// See [`Kind::JobRaised`].
    JobRaised(Box<JobRaised>),
    /// See [`Kind::JobClosed`].
    JobClosed(Box<JobClosed>),
    /// See [`Kind::TaskDone`].
    TaskDone(TaskDone),
    /// See [`Kind::LogContinued`].
    LogContinued(LogContinued),
    /// See [`Kind::OfficeReplaced`].
    OfficeReplaced(OfficeReplaced),
    /// See [`Kind::ClockObserved`].
    ClockObserved(ClockObserved),
    /// See [`Kind::Answer`].
    Answer(Answer),
    /// See [`Kind::Acknowledgement`].
    Acknowledgement(Acknowledgement),
    /// See [`Kind::BackedUp`].
    BackedUp(Acknowledgement),
    /// See [`Kind::AttachmentAdded`].
    AttachmentAdded(Box<AttachmentAdded>),
    /// See [`Kind::AttachmentChunk`].
    AttachmentChunk(AttachmentChunk),
    /// See [`Kind::ProcedureOpened`].
    ProcedureOpened(Box<ProcedureOpened>),
    /// See [`Kind::StepRecorded`].
    StepRecorded(Box<StepRecorded>),
    /// See [`Kind::StepUndone`].
    StepUndone(Box<StepUndone>),
    /// See [`Kind::ProcedureClosed`].
    ProcedureClosed(Box<ProcedureClosed>),
}

impl Body {
    /// Its kind.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        match self {
            Self::LogOpened(_) => Kind::LogOpened,
            Self::Enrolment(_) => Kind::Enrolment,
            Self::Revocation(_) => Kind::Revocation,
            Self::StationRevision(_) => Kind::StationRevision,
            Self::RoundOpened(_) => Kind::RoundOpened,
            Self::RoundClosed(_) => Kind::RoundClosed,
            Self::StationSkipped(_) => Kind::StationSkipped,
            Self::Reading(_) => Kind::Reading,
            Self::Correction(_) => Kind::Correction,
            Self::CheckAnswered(_) => Kind::CheckAnswered,
            Self::JobRaised(_) => Kind::JobRaised,
            Self::JobClosed(_) => Kind::JobClosed,
            Self::TaskDone(_) => Kind::TaskDone,
            Self::LogContinued(_) => Kind::LogContinued,
            Self::OfficeReplaced(_) => Kind::OfficeReplaced,
            Self::ClockObserved(_) => Kind::ClockObserved,
            Self::Answer(_) => Kind::Answer,
            Self::Acknowledgement(_) => Kind::Acknowledgement,
            Self::BackedUp(_) => Kind::BackedUp,
            Self::AttachmentAdded(_) => Kind::AttachmentAdded,
            Self::AttachmentChunk(_) => Kind::AttachmentChunk,
            Self::ProcedureOpened(_) => Kind::ProcedureOpened,
            Self::StepRecorded(_) => Kind::StepRecorded,
            Self::StepUndone(_) => Kind::StepUndone,
            Self::ProcedureClosed(_) => Kind::ProcedureClosed,
        }
    }

    /// Writes the body in its one canonical form.
    ///
    /// # Errors
    /// [`BodyError::Format`] when a text or a list is longer than a record allows.
    pub fn encode(&self) -> BodyResult<Vec<u8>> {
        match self {
            Self::LogOpened(body) => body.fields().encode(),
            Self::Enrolment(body) => body.fields().encode(),
            Self::Revocation(body) => body.fields().encode(),
            Self::StationRevision(body) => station::fields(body).encode(),
            Self::RoundOpened(body) => body.fields().encode(),
            Self::RoundClosed(body) => body.fields().encode(),
            Self::StationSkipped(body) => body.fields().encode(),
            Self::Reading(body) => body.fields().encode(),
            Self::Correction(body) => body.fields().encode(),
            Self::CheckAnswered(body) => body.fields().encode(),
            Self::JobRaised(body) => body.fields().encode(),
            Self::JobClosed(body) => body.fields().encode(),
            Self::TaskDone(body) => body.fields().encode(),
            Self::LogContinued(body) => body.fields().encode(),
            Self::OfficeReplaced(body) => body.fields().encode(),
            Self::ClockObserved(body) => body.fields().encode(),
            Self::Answer(body) => body.fields().encode(),
            Self::Acknowledgement(body) | Self::BackedUp(body) => body.fields().encode(),
            Self::AttachmentAdded(body) => body.fields().encode(),
            Self::AttachmentChunk(body) => body.fields().encode(),
            Self::ProcedureOpened(body) => body.fields().encode(),
            Self::StepRecorded(body) => body.fields().encode(),
            Self::StepUndone(body) => body.fields().encode(),
            Self::ProcedureClosed(body) => body.fields().encode(),
        }
    }

    /// Reads the body of a record of kind `number`.
    ///
    /// # Errors
    /// [`BodyError::UnknownKind`] for a kind this program does not know; otherwise whatever makes the
    /// bytes differ from what [`Body::encode`] would write.
    pub fn decode(number: u64, bytes: &[u8]) -> BodyResult<Self> {
        let kind = Kind::from_number(number).ok_or(BodyError::UnknownKind { number })?;
        let body = match kind {
            Kind::LogOpened => Self::LogOpened(wire::decode(bytes, LogOpened::read)?),
            Kind::Enrolment => Self::Enrolment(wire::decode(bytes, Enrolment::read)?),
            Kind::Revocation => Self::Revocation(wire::decode(bytes, Revocation::read)?),
            Kind::StationRevision => {
                Self::StationRevision(Box::new(wire::decode(bytes, station::read)?))
            }
            Kind::RoundOpened => Self::RoundOpened(wire::decode(bytes, RoundOpened::read)?),
            Kind::RoundClosed => Self::RoundClosed(wire::decode(bytes, RoundClosed::read)?),
            Kind::StationSkipped => {
                Self::StationSkipped(wire::decode(bytes, StationSkipped::read)?)
            }
            Kind::Reading => Self::Reading(Box::new(wire::decode(bytes, Reading::read)?)),
            Kind::Correction => Self::Correction(Box::new(wire::decode(bytes, Correction::read)?)),
            Kind::CheckAnswered => Self::CheckAnswered(wire::decode(bytes, CheckAnswered::read)?),
            Kind::JobRaised => Self::JobRaised(Box::new(wire::decode(bytes, JobRaised::read)?)),
            Kind::JobClosed => Self::JobClosed(Box::new(wire::decode(bytes, JobClosed::read)?)),
            Kind::TaskDone => Self::TaskDone(wire::decode(bytes, TaskDone::read)?),
            Kind::LogContinued => Self::LogContinued(wire::decode(bytes, LogContinued::read)?),
            Kind::OfficeReplaced => {
                Self::OfficeReplaced(wire::decode(bytes, OfficeReplaced::read)?)
            }
            Kind::ClockObserved => Self::ClockObserved(wire::decode(bytes, ClockObserved::read)?),
            Kind::Answer => Self::Answer(wire::decode(bytes, Answer::read)?),
            Kind::BackedUp => Self::BackedUp(wire::decode(bytes, Acknowledgement::read)?),
            Kind::Acknowledgement => {
                Self::Acknowledgement(wire::decode(bytes, Acknowledgement::read)?)
            }
            Kind::AttachmentAdded => {
                Self::AttachmentAdded(Box::new(wire::decode(bytes, AttachmentAdded::read)?))
            }
            Kind::AttachmentChunk => {
                Self::AttachmentChunk(wire::decode(bytes, AttachmentChunk::read)?)
            }
            Kind::ProcedureOpened => {
                Self::ProcedureOpened(Box::new(wire::decode(bytes, ProcedureOpened::read)?))
            }
            Kind::StepRecorded => {
                Self::StepRecorded(Box::new(wire::decode(bytes, StepRecorded::read)?))
            }
            Kind::StepUndone => Self::StepUndone(Box::new(wire::decode(bytes, StepUndone::read)?)),
            Kind::ProcedureClosed => {
                Self::ProcedureClosed(Box::new(wire::decode(bytes, ProcedureClosed::read)?))
            }
        };
        // One meaning, one encoding: a spelling we would not write is not understood.
        if body.encode()? == bytes {
            Ok(body)
        } else {
            Err(BodyError::OtherSpelling { kind })
        }
    }
}
