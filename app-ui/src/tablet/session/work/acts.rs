//! What each id that can be touched does, and on which page.

use chrono::NaiveDate;
use winze_core::procedures::{OpenReason, ProcedureCode, Reason, ReasonCode, StepCode};
use winze_core::record::ProcedureEnd;
use winze_core::station::StationCode;
use winze_core::upkeep::{JobWork, Task};

use super::super::Session;
use super::{Because, Page, Worded, Writing};
use crate::presenters::work_view::Saying;

impl Session {
    /// Takes the id of whatever was touched.
    pub fn work_act(&mut self, id: &str) {
        self.work.said = Saying::default();
        let (verb, rest) = id.split_once(':').unwrap_or((id, ""));
        match verb {
            "leave" => self.work_back(),
            "write" => self.write_instead(),
            "phrase" => self.add_phrase(rest),
            "keep-text" => self.keep_text(),
            _ if self.care_act(verb, rest) => {}
            _ if self.procedure_act(verb, rest) => {}
            _ => self.step_act(verb, rest),
        }
    }

    /// Acts on tasks, jobs and stations.
    fn care_act(&mut self, verb: &str, rest: &str) -> bool {
        match verb {
            "with-early" | "only-due" => {
                self.work.with_early = verb == "with-early";
                self.work.list_page = 0;
            }
            "station" => {
                if let Ok(code) = StationCode::parse(rest) {
                    self.work.is_from_station = false;
                    self.open_here(&code);
                }
            }
            "hub" => self.show_hub(),
            "task" => {
                if let Some(task) = Task::from_code(rest) {
                    self.show_page(Page::Task(task));
                }
            }
            "note-done" => {
                if let Page::Task(task) = self.work.page {
                    self.show_page(Page::Days(task));
                }
            }
            "day" => {
                if let (Page::Days(task), Ok(day)) = (self.work.page, rest.parse::<NaiveDate>()) {
                    self.note_task(task, day);
                }
            }
            "job" => {
                let here = self.work.here.as_ref();
                let index = rest.parse::<usize>().ok();
                let job = index.and_then(|index| here?.due.jobs.get(index));
                if let Some(at) = job.map(|job| job.raised.at) {
                    self.work.parts.clear();
                    self.show_page(Page::Job(at));
                }
            }
            "job-done" => self.job_done(),
            "part" => {
                if let Page::Job(at) = self.work.page {
                    self.write(Writing::Part(at));
                }
            }
            "not-needed" => {
                if let Page::Job(at) = self.work.page {
                    self.show_page(Page::Worded(Worded::NotNeeded(at)));
                }
            }
            "raise" => self.show_page(Page::Raise),
            "work" => match JobWork::from_code(rest) {
                Some(JobWork::Other) => {
                    self.work.raising = Some(JobWork::Other);
                    self.write(Writing::JobNote);
                }
                Some(work) => self.raise(work, String::new()),
                None => {}
            },
            "proposal" => {
                if let Ok(index) = rest.parse() {
                    self.raise_proposed(index);
                }
            }
            "gauges" => {
                let here = self.work.here.as_ref();
                if let Some(code) = here.map(|here| here.code.clone()) {
                    self.open_station(&code);
                }
            }
            _ => return false,
        }
        true
    }

    /// Acts on a procedure as a whole.
    fn procedure_act(&mut self, verb: &str, rest: &str) -> bool {
        match verb {
            "open" if rest.is_empty() => self.show_page(Page::Choose),
            "open" => {
                let open = match (self.work.page, &self.work.here) {
                    (Page::Walk, _) => &self.work.walk_open,
                    (_, Some(here)) => &here.open,
                    (_, None) => return true,
                };
                let index = rest.parse::<usize>().ok();
                let found = index.and_then(|index| open.get(index)).map(|view| view.at);
                if let Some(at) = found {
                    if self.work.page == Page::Walk {
                        self.work.is_from_station = false;
                    }
                    self.go_on_with(at, None);
                }
            }
            "procedure" => match ProcedureCode::from_code(rest) {
                Some(code) if self.is_open_here(code) => {
                    self.open_procedure(code, None, String::new());
                }
                // It is opened by standing there and looking.
                Some(ProcedureCode::WeeklyLookRound) => {
                    self.open_procedure(ProcedureCode::WeeklyLookRound, None, String::new());
                }
                Some(code) => self.show_page(Page::WhyOpen(code)),
                None => {}
            },
            "why" => match (self.work.page, OpenReason::from_code(rest)) {
                (Page::WhyOpen(code), Some(OpenReason::Other)) => {
                    self.write(Writing::OpenNote(code));
                }
                (Page::WhyOpen(code), Some(reason)) => {
                    self.open_procedure(code, Some(reason), String::new());
                }
                _ => {}
            },
            "do" => {
                if let Some(code) = ProcedureCode::from_code(rest) {
                    self.open_procedure(code, Some(OpenReason::Due), String::new());
                }
            }
            "follow" => {
                if let Some(code) = ProcedureCode::from_code(rest) {
                    let reason = Some(OpenReason::AfterIntrusiveWork);
                    self.open_procedure(code, reason, String::new());
                }
            }
            "steps" => self.show_page(Page::Steps),
            "give-up" => self.show_page(Page::Worded(Worded::GiveUp)),
            "close" => self.end(ProcedureEnd::Completed, String::new()),
            "done-by" => self.write(Writing::DoneBy),
            "seen-by" => self.write(Writing::SeenBy),
            "next-open" => self.show_next_open(),
            "back" => self.move_step(-1),
            "forward" => self.move_step(1),
            _ => return false,
        }
        true
    }

    /// Acts on the step on the screen.
    fn step_act(&mut self, verb: &str, rest: &str) {
        match verb {
            "step" if rest.is_empty() => self.show_next_open(),
            "step" => {
                let at = self.work.going.as_ref().map(|going| going.view.at);
                if let (Some(at), Some(code)) = (at, StepCode::from_code(rest)) {
                    self.go_on_with(at, Some(code));
                }
            }
            "said" => self.toggle_said(),
            "tick" => self.toggle_work_tick(rest),
            "pick" => self.pick(rest),
            "field" => self.choose_field(rest),
            "branch" => self.choose_branch(rest),
            "steady" => self.choose_steadiness(rest),
            "turn" => self.turn_screw(rest),
            "act" => self.act_step(),
            "doubt" => self.answer_work_doubt(rest),
            "record" if self.work.page == Page::ReadBack => {
                self.record_step(winze_core::record::StepOutcome::Done);
            }
            "change" => self.show_page(Page::Step),
            "note" => self.write(Writing::StepNote),
            "pass" => self.show_page(Page::Because(Because::PassOver)),
            "keep" => self.keep_point(false),
            "finish" => self.keep_point(true),
            "take-back" => {
                let newest = self.newest_of_step();
                if newest.is_some() {
                    self.show_page(Page::Worded(Worded::Undo(newest)));
                }
            }
            "undo" => {
                let only = rest.parse().ok();
                self.show_page(Page::Worded(Worded::Undo(only)));
            }
            "because" => {
                if let (Page::Because(because), Some(code)) =
                    (self.work.page, ReasonCode::from_code(rest))
                {
                    if code == ReasonCode::Other {
                        self.write(Writing::Because(because));
                    } else {
                        self.because(because, Reason::new(code, ""));
                    }
                }
            }
            "worded" => {
                if let Page::Worded(of) = self.work.page {
                    self.worded(of, rest.to_owned());
                }
            }
            _ => {}
        }
    }

    fn is_open_here(&self, code: ProcedureCode) -> bool {
        let here = self.work.here.as_ref();
        here.is_some_and(|here| here.open.iter().any(|view| view.code == code))
    }

    /// Writes what no key says.
    fn write_instead(&mut self) {
        match self.work.page {
            Page::Worded(of) => self.write(Writing::Worded(of)),
            Page::Days(task) => self.write(Writing::Day(task)),
            _ => {}
        }
    }
}
