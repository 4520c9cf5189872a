//! Bodies an office writes about other records: answers and acknowledgements.

use winze_sync_format::canonical::Reader;
use winze_sync_format::{LogId, RecordId, RecordRef};

use super::round::read_code;
use super::wire::{Fields, ReadExt, Value};
use super::{BodyError, BodyResult};
use crate::merge::{QuestionId, copied_log_id, question_id};
use crate::station::StationCode;

/// What can be chosen in answer to a question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Choice {
    /// This record stands, the others are set aside.
    Prefer(RecordRef),
    /// All stand: they are separate visits.
    KeepAll,
    /// None of them counts.
    VoidAll,
    /// The values first written stand, no correction does.
    AsFirstWritten,
    /// Seen and dealt with.
    Noted,
}

impl Choice {
    /// Stable code, used on the command line and in exports.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Prefer(_) => "prefer",
            Self::KeepAll => "keep-all",
            Self::VoidAll => "void-all",
            Self::AsFirstWritten => "as-first-written",
            Self::Noted => "noted",
        }
    }

    const fn number(&self) -> u64 {
        match self {
            Self::Prefer(_) => 1,
            Self::KeepAll => 2,
            Self::VoidAll => 3,
            Self::AsFirstWritten => 4,
            Self::Noted => 5,
        }
    }
}

/// An answer to a question. Answers it replaces stand in the envelope's references.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The question; its id follows from `about`.
    pub question: QuestionId,
    /// The records the question is about, ascending.
    pub about: Vec<RecordRef>,
    /// The station concerned; none exactly when a copied log is noted.
    pub station: Option<StationCode>,
    /// What was chosen.
    pub choice: Choice,
    /// Why, in the writer's words.
    pub note: String,
}

impl Answer {
    pub(super) fn fields(&self) -> Fields<'_> {
        let preferred = match &self.choice {
            Choice::Prefer(at) => Some(*at),
            _ => None,
        };
        Fields::new()
            .put(0, &self.question.0)
            .put(
                1,
                Value::List(self.about.iter().map(|at| Value::Reference(*at)).collect()),
            )
            .put_some(2, self.station.as_ref().map(StationCode::as_str))
            .put(3, self.choice.number())
            .put_some(4, preferred)
            .put_text(5, &self.note)
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        let question = QuestionId(reader.need(0, |reader| Ok(reader.fixed_bytes()?))?);
        let about = reader.need(1, |reader| reader.items(ReadExt::reference))?;
        if about.is_empty() || !about.is_sorted_by(|one, next| one < next) {
            return Err(BodyError::field("about", "not in ascending order"));
        }
        let station = reader.maybe(2, read_code)?;
        let number = reader.need(3, |reader| Ok(reader.uint()?))?;
        let preferred = reader.maybe(4, ReadExt::reference)?;
        let choice = match (number, preferred) {
            (1, Some(at)) if about.contains(&at) => Choice::Prefer(at),
            (2, None) => Choice::KeepAll,
            (3, None) => Choice::VoidAll,
            (4, None) => Choice::AsFirstWritten,
            (5, None) => Choice::Noted,
            _ => return Err(BodyError::field("choice", "not on the list")),
        };
        // Only a copied log is answered with "noted"; the other questions are about the records.
        let expected = match choice {
            Choice::Noted => copied_log_id(&about),
            _ => question_id(&about),
        };
        if question != expected {
            return Err(BodyError::field("question", "not the hash of its records"));
        }
        if station.is_some() == (choice == Choice::Noted) {
            return Err(BodyError::field(
                "station",
                "there unless a copied log is noted",
            ));
        }
        Ok(Self {
            question,
            about,
            station,
            choice,
            note: reader.maybe_text(5, "note")?,
        })
    }
}

/// The writer durably holds every record of a log up to and including one; or, in a record of its
/// second level, has them all in a backup that was read back and checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Acknowledgement {
    /// The log.
    pub log: LogId,
    /// Sequence number of the last record held without a gap from the first.
    pub seq: u64,
    /// That record.
    pub id: RecordId,
}

impl Acknowledgement {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, &self.log.0)
            .put(1, self.seq)
            .put(2, &self.id.0)
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            log: reader.need(0, ReadExt::log_id)?,
            seq: reader.need(1, |reader| Ok(reader.uint()?))?,
            id: RecordId(reader.need(2, |reader| Ok(reader.fixed_bytes()?))?),
        })
    }
}
