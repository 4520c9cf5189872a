//! Reading questions with the answers given.

use rusqlite::{OptionalExtension, Row};
use winze_sync_format::RecordRef;

use super::Logbook;
use super::database::During;
use crate::merge::heads::heads;
use crate::merge::{Question, QuestionId, QuestionKind, QuestionState};
use crate::query::{GivenAnswer, QuestionView};
use crate::record::Body;
use crate::station::StationCode;
use crate::{Error, Result};

impl Logbook {
    pub(crate) fn read_questions(&self, answered_too: bool) -> Result<Vec<QuestionView>> {
        let action = "read questions";
        let mut query = self
            .database
            .connection
            .prepare_cached(
                "SELECT id, kind, station, about, state, answer FROM question
                 WHERE ?1 OR state <> 'answered' ORDER BY station, id",
            )
            .during(action)?;
        let mut rows = query.query([answered_too]).during(action)?;
        let mut questions = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            questions.push(self.question_in(stored_question(row).during(action)?)?);
        }
        Ok(questions)
    }

    pub(crate) fn read_question(&self, id: QuestionId) -> Result<Option<QuestionView>> {
        let stored = self
            .database
            .connection
            .prepare_cached(
                "SELECT id, kind, station, about, state, answer FROM question WHERE id = ?1",
            )
            .and_then(|mut query| query.query_row([&id.0[..]], stored_question).optional())
            .during("read a question")?;
        stored.map(|stored| self.question_in(stored)).transpose()
    }

    fn question_in(&self, stored: StoredQuestion) -> Result<QuestionView> {
        let bad = |what| Error::DatabaseContent { what };
        let id = QuestionId(stored.id);
        let kind = QuestionKind::from_code(&stored.kind).ok_or(bad("unknown kind of question"))?;
        let about: Vec<RecordRef> = stored
            .about
            .split(' ')
            .map(|text| text.parse().map_err(|_| bad("not a reference")))
            .collect::<Result<_>>()?;
        let station = stored
            .station
            .map(|code| StationCode::parse(&code).map_err(|_| bad("not a station code")))
            .transpose()?;
        let answers = self.given_answers(id)?;
        let state = match (stored.state.as_str(), stored.answer) {
            ("open", _) => QuestionState::Open,
            ("answered-differently", _) => QuestionState::AnsweredDifferently,
            ("answered", Some(by)) => {
                let by: RecordRef = by.parse().map_err(|_| bad("not a reference"))?;
                let given = answers.iter().find(|answer| answer.at == by);
                let choice = given.ok_or(bad("answer without a record"))?.choice.clone();
                QuestionState::Answered { by, choice }
            }
            _ => return Err(bad("unknown state of a question")),
        };
        Ok(QuestionView {
            question: Question {
                id,
                kind,
                station,
                about,
                state,
            },
            answers,
        })
    }

    fn given_answers(&self, id: QuestionId) -> Result<Vec<GivenAnswer>> {
        let mut answers = Vec::new();
        for (record, body) in self.database.answer_records(&self.own, id)? {
            let Body::Answer(answer) = body else { continue };
            answers.push(GivenAnswer {
                at: record.reference(),
                choice: answer.choice,
                by: record.record().person.clone(),
                note: answer.note,
                wall_ms: record.record().clock.wall_ms,
            });
        }
        answers.sort_by_key(|answer| answer.at);
        Ok(answers)
    }

    /// The answers to a question that nobody replaced.
    pub(crate) fn answer_heads(&self, question: QuestionId) -> Result<Vec<RecordRef>> {
        let facts = self.database.answers_to(&self.own, question)?;
        let top = heads(facts.iter().map(|fact| (fact.at, &fact.replaces[..])));
        Ok(top.into_iter().map(|n| facts[n].at).collect())
    }
}

struct StoredQuestion {
    id: [u8; 32],
    kind: String,
    station: Option<String>,
    about: String,
    state: String,
    answer: Option<String>,
}

fn stored_question(row: &Row<'_>) -> rusqlite::Result<StoredQuestion> {
    Ok(StoredQuestion {
        id: row.get(0)?,
        kind: row.get(1)?,
        station: row.get(2)?,
        about: row.get(3)?,
        state: row.get(4)?,
        answer: row.get(5)?,
    })
}
