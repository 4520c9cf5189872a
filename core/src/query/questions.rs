//! Questions a person must answer, with what is needed to decide.

use winze_sync_format::RecordRef;

use crate::merge::{Question, QuestionId, QuestionState};
use crate::record::Choice;
use crate::{Logbook, Result};

/// A question with the answers given so far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuestionView {
    /// The question.
    pub question: Question,
    /// Who chose what, in the order of their records.
    pub answers: Vec<GivenAnswer>,
}

/// One answer that was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GivenAnswer {
    /// Its record.
    pub at: RecordRef,
    /// What was chosen.
    pub choice: Choice,
    /// Who chose.
    pub by: String,
    /// Why.
    pub note: String,
    /// When, milliseconds since 1970.
    pub wall_ms: i64,
}

impl QuestionView {
    /// Says whether a person still has to decide.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        !matches!(self.question.state, QuestionState::Answered { .. })
    }
}

/// Lists the questions: those to be decided, or all of them.
///
/// # Errors
/// The database's.
pub fn questions(logbook: &Logbook, answered_too: bool) -> Result<Vec<QuestionView>> {
    logbook.read_questions(answered_too)
}

/// Finds one question.
///
/// # Errors
/// The database's.
pub fn question(logbook: &Logbook, id: QuestionId) -> Result<Option<QuestionView>> {
    logbook.read_question(id)
}
