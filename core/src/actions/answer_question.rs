//! Answering a question. An answer is a record, and a later one replaces it.

use winze_sync_format::RecordRef;

use crate::merge::{QuestionId, question_id};
use crate::record::{Answer, Body, Choice};
use crate::store::NewRecord;
use crate::{Error, Logbook, Result};

/// An answer to give.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewAnswer {
    /// The question.
    pub question: QuestionId,
    /// What is chosen.
    pub choice: Choice,
    /// Why.
    pub note: String,
    /// Who chooses.
    pub by: String,
}

/// Answers a question; the answer replaces those known here.
///
/// # Errors
/// [`Error::UnknownQuestion`], [`Error::ChoiceDoesNotFit`], and those of writing.
pub fn answer_question(logbook: &mut Logbook, new: NewAnswer) -> Result<RecordRef> {
    let view = logbook
        .read_question(new.question)?
        .ok_or(Error::UnknownQuestion {
            question: new.question,
        })?;
    let question = view.question;
    let fits = match &new.choice {
        Choice::Prefer(at) => question.about.contains(at),
        _ => true,
    };
    if !fits || !question.kind.allows(&new.choice) {
        return Err(Error::ChoiceDoesNotFit {
            question: new.question,
            choice: new.choice,
        });
    }
    let answer = Answer {
        question: question.id,
        about: question.about,
        station: question.station,
        choice: new.choice,
        note: new.note,
    };
    confirm(logbook, answer, new.by)
}

/// Declares one reading void, without having been asked.
///
/// # Errors
/// [`Error::UnknownRecord`], [`Error::NotAReading`], [`Error::NoteMissing`] without a reason, and
/// those of writing.
pub fn void_reading(
    logbook: &mut Logbook,
    reading: RecordRef,
    reason: String,
    by: String,
) -> Result<RecordRef> {
    let visit = logbook.read_visit(reading)?;
    if reason.trim().is_empty() {
        return Err(Error::NoteMissing);
    }
    let about = vec![reading];
    let answer = Answer {
        question: question_id(&about),
        about,
        station: Some(visit.station),
        choice: Choice::VoidAll,
        note: reason,
    };
    confirm(logbook, answer, by)
}

fn confirm(logbook: &mut Logbook, answer: Answer, by: String) -> Result<RecordRef> {
    let replaces = logbook.answer_heads(answer.question)?;
    logbook.confirm_one(NewRecord::new(Body::Answer(answer), by).replacing(replaces))
}
