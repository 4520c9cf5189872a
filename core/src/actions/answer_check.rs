//! Answering a check: what was tried at a station to tell suspects apart, and what came of it.

use winze_sync_format::RecordRef;

use crate::record::{Body, CheckAnswered};
use crate::store::NewRecord;
use crate::suspects::Check;
use crate::{Logbook, Result};

/// An answer about to be given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewCheckAnswer {
    /// The reading whose flag the check is about:
    /// [`Condition::reading`](crate::assess::Condition::reading).
    pub reading: RecordRef,
    /// The check.
    pub check: Check,
    /// The answer.
    pub is_yes: bool,
    /// More about it, in the person's words.
    pub note: String,
    /// Who answers.
    pub by: String,
}

/// Writes down the answer to a check. It moves the suspects of whatever stands at the station when
/// it is given; what is raised later starts without it. A later answer to the same check replaces
/// it.
///
/// # Errors
/// [`Error::UnknownRecord`](crate::Error::UnknownRecord) and
/// [`Error::NotAReading`](crate::Error::NotAReading), and those of writing.
pub fn answer_check(logbook: &mut Logbook, new: NewCheckAnswer) -> Result<RecordRef> {
    let visit = logbook.read_visit(new.reading)?;
    let body = CheckAnswered {
        station: visit.station,
        check: new.check,
        is_yes: new.is_yes,
        note: new.note,
    };
    let record = NewRecord::new(Body::CheckAnswered(body), new.by).replacing(vec![new.reading]);
    logbook.confirm_one(record)
}
