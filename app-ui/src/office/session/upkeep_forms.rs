//! What the clerk fills in about upkeep: that a task was done, a job raised, a job closed. Each
//! becomes one signed record.

use chrono::NaiveDate;
use winze_core::Logbook;
use winze_core::actions::{NewJob, NewJobEnd, NewTaskDone, close_job, note_task_done, raise_job};
use winze_core::query::{self, Visit};
use winze_core::record::JobEnd;
use winze_core::station::StationCode;
use winze_core::upkeep::{JobCause, JobWork, Task};
use winze_sync_format::RecordRef;

use super::acts::Act;
use super::{Screen, Session};
use crate::messages::{UserMessage, logbook_failed, upkeep as words};
use crate::office::board::{Board, READINGS_OFFERED};
use crate::presenters::office_upkeep::{BoardForm, UpkeepSide};
use crate::presenters::{office_due, office_jobs};

/// What is being filled in.
#[derive(Debug, Clone)]
pub(super) struct Form {
    what: What,
    chosen: String,
    pub(super) fields: [String; 3],
}

#[derive(Debug, Clone)]
enum What {
    NoteDone {
        station: StationCode,
        task: Task,
    },
    Raise {
        cause: JobCause,
        evidence: Vec<RecordRef>,
    },
    Close {
        job: RecordRef,
        title: String,
        raised_ms: i64,
        readings: Vec<Visit>,
    },
}

impl Form {
    fn new(what: What, chosen: &str, first: String) -> Self {
        Self {
            what,
            chosen: chosen.to_owned(),
            fields: [first, String::new(), String::new()],
        }
    }

    /// What the screen is given.
    pub(super) fn view(&self, board: &Board) -> BoardForm {
        let field = |label: &str| label.to_owned();
        match &self.what {
            What::NoteDone { station, task } => BoardForm {
                title: format!("{station}: {} was done", words::task(*task)),
                about: "For work outside any procedure, or before this logbook was kept. From \
                        that day the next is counted."
                    .to_owned(),
                fields: [
                    field("Day, year-month-day"),
                    field("Note, if there is more to say"),
                    String::new(),
                ],
                save_label: "Note it".to_owned(),
                can_save: true,
                ..BoardForm::default()
            },
            What::Raise { cause, .. } => BoardForm {
                title: "Raise a job".to_owned(),
                about: format!("Because {}.", words::cause(*cause)),
                choices_title: "What is to be done".to_owned(),
                choices: office_jobs::works(&self.chosen),
                columns: 2,
                fields: [
                    field("Station"),
                    field("Note; needed with something else"),
                    String::new(),
                ],
                save_label: "Raise the job".to_owned(),
                can_save: !self.chosen.is_empty(),
            },
            What::Close {
                title,
                raised_ms,
                readings,
                ..
            } => BoardForm {
                title: format!("Close: {title}"),
                about: "A job that was done ends with a reading taken after it.".to_owned(),
                choices_title: "How it ended".to_owned(),
                choices: office_jobs::endings(board, readings, *raised_ms, &self.chosen),
                columns: 1,
                fields: [
                    field("Parts used, such as 2 x gasket, 1 x spring"),
                    field("Note; needed where the job was not"),
                    String::new(),
                ],
                save_label: "Close the job".to_owned(),
                can_save: !self.chosen.is_empty(),
            },
        }
    }
}

impl Session {
    /// Opens what is to be filled in for one of the keys.
    pub(super) fn open_form(&mut self, key: &str) {
        let chosen = self.upkeep.list.chosen().unwrap_or_default().to_owned();
        let (Some(board), Some(logbook)) = (&self.upkeep.board, &self.logbook) else {
            self.busy();
            return;
        };
        let form = match key {
            office_due::NOTE_DONE => office_due::find(board, &chosen).map(|(station, task)| {
                let what = What::NoteDone {
                    station: station.code.clone(),
                    task: task.task,
                };
                Form::new(what, "", board.due.today.to_string())
            }),
            office_jobs::RAISE => {
                let cause = JobCause::Person;
                let what = What::Raise {
                    cause,
                    evidence: Vec::new(),
                };
                Some(Form::new(what, "", String::new()))
            }
            office_jobs::RAISE_SUGGESTED => {
                office_jobs::find_suggestion(board, &chosen).map(|one| {
                    let what = What::Raise {
                        cause: one.cause,
                        evidence: one.evidence.clone(),
                    };
                    Form::new(what, one.work.code(), one.station.to_string())
                })
            }
            office_jobs::CLOSE => office_jobs::find(board, &chosen).map(|one| {
                // Without the readings it can still be closed as not needed.
                let readings =
                    query::past_readings(logbook, &one.job.station, 4 * READINGS_OFFERED)
                        .unwrap_or_default();
                let counted = readings.into_iter().filter(Visit::counts);
                let what = What::Close {
                    job: one.job.raised.at,
                    title: format!("{}, {}", one.job.station, words::work(one.job.work)),
                    raised_ms: one.job.raised.wall_ms,
                    readings: counted.take(READINGS_OFFERED).collect(),
                };
                Form::new(what, "", String::new())
            }),
            _ => None,
        };
        if form.is_some() {
            self.dismiss();
            self.upkeep.form = form;
            self.fields += 1;
        }
    }

    /// Chooses one of the choices of what is filled in.
    pub fn choose_in_form(&mut self, id: &str) {
        if let Some(form) = &mut self.upkeep.form {
            id.clone_into(&mut form.chosen);
        }
    }

    /// What was typed into the fields.
    #[must_use]
    pub fn form_fields(&self) -> [&str; 3] {
        let form = self.upkeep.form.as_ref();
        form.map_or([""; 3], |form| form.fields.each_ref().map(String::as_str))
    }

    /// Leaves what is filled in.
    pub fn cancel_form(&mut self) {
        if self.upkeep.form.is_some() {
            self.leave_upkeep_part();
        }
    }

    /// Writes down what was filled in.
    pub fn save_form(&mut self, fields: [&str; 3]) {
        if let Some(form) = &mut self.upkeep.form {
            form.fields = fields.map(|text| text.trim().to_owned());
            self.act(Act::Upkeep);
        }
    }

    /// Writes the record that the form stands for.
    pub(super) fn save_upkeep(&mut self, logbook: &mut Logbook) -> Result<String, UserMessage> {
        let nothing = || UserMessage::new("Nothing was filled in.", "Nothing was changed.", "");
        let Form {
            what,
            chosen,
            fields: [first, note, _],
        } = self.upkeep.form.clone().ok_or_else(nothing)?;
        let by = self.person.clone();
        let said = match what {
            What::NoteDone { station, task } => {
                let done_on = day(&first)?;
                let said = format!("{station}: {} is noted as done.", words::task(task));
                let new = NewTaskDone {
                    station,
                    task,
                    done_on,
                    note,
                    by,
                };
                note_task_done(logbook, new).map_err(|error| logbook_failed(&error))?;
                said
            }
            What::Raise { cause, evidence } => {
                let station = StationCode::parse(&first).map_err(|_| {
                    UserMessage::new(
                        format!("\u{201c}{first}\u{201d} is not the code of a station."),
                        "Nothing was written.",
                        "Type a code of the register.",
                    )
                })?;
                let work = JobWork::from_code(&chosen).ok_or_else(nothing)?;
                let said = format!("A job at {station} is raised: {}.", words::work(work));
                let new = NewJob {
                    station,
                    work,
                    cause,
                    evidence,
                    note,
                    by,
                };
                let at = raise_job(logbook, new).map_err(|error| logbook_failed(&error))?;
                self.raised(at);
                said
            }
            What::Close {
                job,
                title,
                readings,
                ..
            } => {
                let end = ending(&chosen, &readings).ok_or_else(nothing)?;
                let parts = office_jobs::parts(&first).map_err(|piece| {
                    UserMessage::new(
                        format!("\u{201c}{piece}\u{201d} does not say what part, and how many."),
                        "Nothing was written.",
                        "Write a number and a name, such as 2 x gasket, with commas between parts.",
                    )
                })?;
                let new = NewJobEnd {
                    job,
                    end,
                    parts,
                    note,
                    by,
                };
                close_job(logbook, new).map_err(|error| logbook_failed(&error))?;
                format!("Closed: {title}.")
            }
        };
        self.upkeep.form = None;
        Ok(said)
    }

    /// Shows a job that was just raised, once it is read again.
    fn raised(&mut self, at: RecordRef) {
        if self.screen == Screen::Upkeep && self.upkeep.side == UpkeepSide::Jobs {
            self.filter_upkeep(office_jobs::OPEN);
            self.upkeep.wanted = Some(at.to_string());
        }
    }
}

fn ending(chosen: &str, readings: &[Visit]) -> Option<JobEnd> {
    if chosen == office_jobs::NOT_NEEDED {
        return Some(JobEnd::NotNeeded);
    }
    let reading = readings
        .iter()
        .find(|visit| visit.at.to_string() == chosen)?;
    Some(JobEnd::Done {
        as_left: reading.at,
    })
}

fn day(text: &str) -> Result<NaiveDate, UserMessage> {
    NaiveDate::parse_from_str(text, "%Y-%m-%d").map_err(|_| {
        UserMessage::new(
            format!("\u{201c}{text}\u{201d} is not a day."),
            "Nothing was written.",
            "Write it as year-month-day, such as 2026-10-06.",
        )
    })
}
