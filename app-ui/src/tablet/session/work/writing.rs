//! Texts that are written: notes, reasons in words, names, a day.

use chrono::NaiveDate;
use winze_core::procedures::{Reason, ReasonCode};
use winze_core::upkeep::JobWork;

use super::super::Session;
use super::{Because, Page, Worded, Writing};
use crate::messages::{procedures, steps, upkeep};
use crate::presenters::procedure::worded;
use crate::presenters::view::{Choice, Tone};
use crate::presenters::work_view::{ChoicesBody, Saying, WritingBody};
use crate::presenters::{station, words};

/// Why a job is not needed, on its keys.
const NOT_NEEDED: [&str; 4] = [
    "Looked at, nothing wrong",
    "Put right on the spot",
    "Another job covers it",
    "Raised at the wrong station",
];

/// What parts are mostly called.
const PARTS: [&str; 6] = [
    "strainer basket",
    "filter insert",
    "gauge",
    "diaphragm",
    "seal",
    "pilot spring",
];

impl Session {
    /// Begins to write.
    pub(super) fn write(&mut self, writing: Writing) {
        let going = self.work.going.as_ref();
        self.work.text = match (writing, going) {
            (Writing::StepNote, Some(going)) => going.entry.note.clone(),
            (Writing::DoneBy, Some(going)) => going.done_by.clone(),
            (Writing::SeenBy, Some(going)) => going.seen_by.clone(),
            (Writing::Day(_), _) => self.logbook.as_ref().map_or_else(String::new, |book| {
                winze_core::query::today(book).to_string()
            }),
            _ => String::new(),
        };
        self.show_page(Page::Writing(writing));
    }

    /// Keeps the text as written so far, without leaving it.
    pub fn work_text_so_far(&mut self, text: &str) {
        text.clone_into(&mut self.work.text);
        if self.work.page == Page::Writing(Writing::StepNote) {
            self.note_step();
        }
    }

    /// Puts a phrase at the end of the text.
    pub(super) fn add_phrase(&mut self, phrase: &str) {
        let text = Self::with_phrase(&self.work.text, phrase);
        self.work_text_so_far(&text);
    }

    fn note_step(&mut self) {
        if let Some(going) = &mut self.work.going {
            self.work.text.trim().clone_into(&mut going.entry.note);
        }
        self.keep_step();
    }

    /// Takes what was written and goes on with what it was asked for.
    pub(super) fn keep_text(&mut self) {
        let Page::Writing(writing) = self.work.page else {
            return;
        };
        let text = self.work.text.trim().to_owned();
        match writing {
            Writing::StepNote => {
                self.note_step();
                self.show_page(Page::Step);
            }
            Writing::Because(because) => {
                if self.is_said(&text) {
                    self.because(because, Reason::new(ReasonCode::Other, text));
                }
            }
            Writing::Worded(worded) => {
                if self.is_said(&text) {
                    self.worded(worded, text);
                }
            }
            Writing::OpenNote(code) => {
                if self.is_said(&text) {
                    self.open_procedure(
                        code,
                        Some(winze_core::procedures::OpenReason::Other),
                        text,
                    );
                }
            }
            Writing::JobNote => {
                if self.is_said(&text) {
                    let work = self.work.raising.take().unwrap_or(JobWork::Other);
                    self.raise(work, text);
                }
            }
            Writing::Part(job) => {
                if !text.is_empty() {
                    self.add_part(&text);
                }
                self.show_page(Page::Job(job));
            }
            Writing::DoneBy | Writing::SeenBy => {
                if let Some(going) = &mut self.work.going {
                    if writing == Writing::SeenBy {
                        going.seen_by = text;
                    } else if !text.is_empty() {
                        going.done_by = text;
                    }
                }
                self.show_page(Page::Closing);
            }
            Writing::Day(task) => match NaiveDate::parse_from_str(&text, "%Y-%m-%d") {
                Ok(day) => self.note_task(task, day),
                Err(_) => {
                    self.work.said = Saying::of(
                        Tone::Outside,
                        "That is no day. Write year, month and day: 2026-11-25.",
                    );
                }
            },
        }
    }

    /// Says that words are needed where there are none.
    fn is_said(&mut self, text: &str) -> bool {
        if text.is_empty() {
            self.work.said = Saying::of(Tone::Act, "A few words are needed.");
        }
        !text.is_empty()
    }

    /// Takes a reason in words.
    pub(super) fn worded(&mut self, of: Worded, text: String) {
        match of {
            Worded::Undo(record) => self.undo(record, text),
            Worded::GiveUp => self.end(winze_core::record::ProcedureEnd::Abandoned, text),
            Worded::NotNeeded(job) => self.close_job(job, None, text),
        }
    }

    /// Leaves what was being written.
    pub(super) fn leave_writing(&mut self, writing: Writing) {
        let page = match writing {
            Writing::StepNote => Page::Step,
            Writing::Because(because) => Page::Because(because),
            Writing::Worded(worded) => Page::Worded(worded),
            Writing::OpenNote(code) => Page::WhyOpen(code),
            Writing::JobNote => Page::Raise,
            Writing::Part(job) => Page::Job(job),
            Writing::DoneBy | Writing::SeenBy => Page::Closing,
            Writing::Day(task) => Page::Days(task),
        };
        self.show_page(page);
    }

    /// Leaves the choice of a reason in words.
    pub(super) fn leave_worded(&mut self, of: Worded) {
        self.show_page(match of {
            Worded::Undo(_) => Page::Step,
            Worded::GiveUp => Page::Steps,
            Worded::NotNeeded(job) => Page::Job(job),
        });
    }

    pub(super) fn worded_body(&self, of: Worded) -> ChoicesBody {
        let going = self.work.going.as_ref();
        match of {
            Worded::Undo(_) => worded(
                format!(
                    "Take back \u{201c}{}\u{201d}: why?",
                    going.map_or("", |going| procedures::step(going.here()))
                ),
                "The record stays in the logbook. What rests on it is open again.",
                &steps::UNDO_REASONS,
            ),
            Worded::GiveUp => worded(
                format!(
                    "Give up the {}: why?",
                    going.map_or("", |going| procedures::procedure(going.view.code))
                ),
                "All that was recorded stays. What was turned or opened stays as it is.",
                &steps::ABANDON_REASONS,
            ),
            Worded::NotNeeded(at) => worded(
                format!(
                    "Not needed: {}. Why?",
                    self.work.job(at).map_or("", |job| upkeep::work(job.work))
                ),
                "",
                &NOT_NEEDED,
            ),
        }
    }

    pub(super) fn writing_body(writing: Writing) -> WritingBody {
        let (heading, under, keep) = match writing {
            Writing::StepNote => ("Note to this step", "", "Keep the note"),
            Writing::Because(Because::PassOver) => ("Why is it passed over?", "", "Pass over"),
            Writing::Because(Because::OutOfOrder) => ("Why out of turn?", "", "Record it"),
            Writing::Because(Because::Despite) => {
                ("Why go on although the figures say stop?", "", "Record it")
            }
            Writing::Worded(Worded::Undo(_)) => ("Why is it taken back?", "", "Take it back"),
            Writing::Worded(Worded::GiveUp) => ("Why is it given up?", "", "Give it up"),
            Writing::Worded(Worded::NotNeeded(_)) => ("Why is it not needed?", "", "Close the job"),
            Writing::OpenNote(_) => ("Why is it opened?", "", "Open it"),
            Writing::JobNote => ("What is to be put right?", "", "Raise the job"),
            Writing::Part(_) => (
                "Which part was used?",
                "A number before it says how many: 2 seals.",
                "Add it",
            ),
            Writing::DoneBy => (
                "Who did the work?",
                "As it stands on the certificate.",
                "Keep",
            ),
            Writing::SeenBy => (
                "Who looked it over?",
                "As it stands on the certificate.",
                "Keep",
            ),
            Writing::Day(_) => (
                "Done on which day?",
                "Year, month and day: 2026-11-25.",
                "Note it",
            ),
        };
        let phrases = match writing {
            Writing::StepNote => station::phrases(),
            Writing::Part(_) => PARTS.iter().map(|part| Choice::new(*part, *part)).collect(),
            _ => Vec::new(),
        };
        WritingBody {
            heading: words::capital(heading),
            under: under.to_owned(),
            phrases,
            keep: keep.to_owned(),
            leave: "Leave it".to_owned(),
        }
    }
}
