//! Entering a step: keys and toggles, reading back, recording, and what comes after.

use winze_core::actions::{self, NewEnd, NewStep, NewUndo};
use winze_core::calibration::{HandTurns, Steadiness};
use winze_core::procedures::{
    Act, Branch, MeasureCode, ProcedureError, Reason, StepStatus, TickCode, Unfit,
};
use winze_core::record::{DoubtReply, ProcedureEnd, StepOutcome};
use winze_core::station::Quantity;
use winze_core::{Error, query};
use winze_sync_format::RecordRef;

use super::super::Session;
use super::{Because, Going, Page};
use crate::presenters::dial::Scale;
use crate::presenters::step::there;
use crate::presenters::view::Tone;
use crate::presenters::work_view::Saying;
use crate::presenters::{assistant, doubt, procedure};
use crate::tablet::entry::StationEntry;
use crate::tablet::step_draft;
use crate::tablet::step_entry::StepEntry;

impl Session {
    fn edit_step(&mut self, act: impl FnOnce(&mut StepEntry)) {
        if let Some(going) = &mut self.work.going {
            act(&mut going.entry);
            self.work.said = Saying::default();
            self.keep_step();
        }
    }

    /// Takes a digit or the decimal point at a step.
    pub fn work_key(&mut self, key: char) {
        self.edit_step(|entry| entry.key(key));
    }

    /// Takes the last character away at a step.
    pub fn work_erase(&mut self) {
        self.edit_step(StepEntry::erase);
    }

    /// Sends keys to the next value of a step.
    pub fn work_next(&mut self) {
        self.edit_step(StepEntry::next);
    }

    /// A finger is on a dial of a step: see [`Session::touch_dial`].
    pub fn work_touch_dial(&mut self, quantity: Quantity, x: f64, y: f64) {
        let gauges = self
            .work
            .going
            .as_mut()
            .map(|going| &mut going.entry.gauges);
        if let Some(Some(gauges)) = gauges {
            match Scale::fraction_at(x, y) {
                Some(fraction) => gauges.touch_dial(quantity, fraction),
                None => gauges.choose(quantity),
            }
        }
    }

    /// The finger has left the dial of a step.
    pub fn work_release_dial(&mut self) {
        self.keep_step();
    }

    pub(super) fn toggle_said(&mut self) {
        self.edit_step(StepEntry::toggle_said);
    }

    pub(super) fn toggle_work_tick(&mut self, code: &str) {
        if let Some(tick) = TickCode::from_code(code) {
            self.edit_step(|entry| entry.toggle_tick(tick));
        }
    }

    pub(super) fn pick(&mut self, what: &str) {
        let found = what
            .split_once(':')
            .and_then(|(measure, value)| Some((MeasureCode::from_code(measure)?, value)));
        if let Some((measure, value)) = found {
            self.edit_step(|entry| entry.pick(measure, value));
        }
    }

    pub(super) fn choose_field(&mut self, index: &str) {
        if let Ok(index) = index.parse() {
            self.edit_step(|entry| entry.choose(index));
        }
    }

    pub(super) fn choose_branch(&mut self, code: &str) {
        if let Some(branch) = Branch::from_code(code) {
            self.edit_step(|entry| {
                if entry.step().act == Act::Choose {
                    entry.branch = Some(branch);
                }
            });
        }
    }

    pub(super) fn choose_steadiness(&mut self, code: &str) {
        if let Some(state) = Steadiness::from_code(code) {
            self.edit_step(|entry| {
                entry.steadiness = if entry.steadiness == state {
                    Steadiness::NotNoted
                } else {
                    state
                };
            });
        }
    }

    pub(super) fn turn_screw(&mut self, id: &str) {
        let Some(going) = &self.work.going else {
            return;
        };
        let advised = assistant::advised(&going.setting, &going.state().turns());
        match id.parse() {
            Ok(by) => self.edit_step(|entry| entry.turn(by)),
            Err(_) if format!("turn:{id}") == assistant::AS_ADVISED => {
                self.edit_step(|entry| entry.turned = advised);
            }
            Err(_) => {
                let none = HandTurns::of_thirty_seconds(0);
                self.edit_step(|entry| entry.turned = Some(none));
            }
        }
    }

    /// The key that does the step: a doubt first, then reading back, then the record.
    pub(super) fn act_step(&mut self) {
        let Some(going) = &mut self.work.going else {
            return;
        };
        if !going.entry.is_whole() {
            return;
        }
        going.doubt = going.entry.gauges.as_ref().and_then(StationEntry::doubt);
        if going.doubt.is_some() {
            self.show_page(Page::Doubt);
        } else if going.entry.wants_read_back() {
            self.show_page(Page::ReadBack);
        } else {
            self.record_step(StepOutcome::Done);
        }
    }

    pub(super) fn answer_work_doubt(&mut self, id: &str) {
        let Some(going) = &mut self.work.going else {
            return;
        };
        let (Some(found), Some(gauges)) = (going.doubt.take(), &mut going.entry.gauges) else {
            return;
        };
        let (reply, likely) = match id {
            doubt::LIKELY => (DoubtReply::Likely, found.likely),
            doubt::SECOND => (DoubtReply::Likely, found.second),
            doubt::AS_TYPED => (DoubtReply::AsTyped, None),
            _ => (DoubtReply::TypedAnew, None),
        };
        gauges.answer(&found, reply, likely);
        self.show_page(Page::Step);
        self.keep_step();
        if reply != DoubtReply::TypedAnew {
            self.act_step();
        }
    }

    /// Takes a stated reason and goes on with what it was asked for.
    pub(super) fn because(&mut self, because: Because, reason: Reason) {
        let Some(going) = &mut self.work.going else {
            return;
        };
        match because {
            Because::PassOver => self.record_step(StepOutcome::PassedOver(reason)),
            Because::OutOfOrder => {
                going.out_of_order = Some(reason);
                self.record_step(StepOutcome::Done);
            }
            Because::Despite => {
                going.despite = Some(reason);
                self.record_step(StepOutcome::Done);
            }
        }
    }

    /// Records the step. When this moves on, it is safe.
    pub(super) fn record_step(&mut self, outcome: StepOutcome) {
        let by = self.around.by.clone();
        let (Some(going), Some(logbook)) = (&mut self.work.going, &mut self.logbook) else {
            return;
        };
        let entry = &going.entry;
        let is_passed = matches!(outcome, StepOutcome::PassedOver(_));
        let points = if is_passed {
            Vec::new()
        } else {
            entry.point(&going.state().turns()).into_iter().collect()
        };
        let is_calibrating = going.is_calibrating();
        let mut new = NewStep {
            outcome,
            note: entry.note.clone(),
            out_of_order: going.out_of_order.take(),
            despite: going.despite.take(),
            ..NewStep::done(going.view.at, going.here(), &by, entry.nonce)
        };
        if !is_passed {
            new.ticks.clone_from(&entry.ticks);
            new.branch = entry.branch;
            if is_calibrating {
                new.points = points;
            } else {
                new.measured = entry.measured();
            }
            if let Some(gauges) = &entry.gauges {
                new.doubts = gauges.asked().to_vec();
            }
        }
        let asked = (new.out_of_order.clone(), new.despite.clone());
        match actions::record_step(logbook, new) {
            Ok(_) => self.after_step(),
            Err(Error::Procedure(ProcedureError::Refused { why, .. })) if asks(why).is_some() => {
                (going.out_of_order, going.despite) = asked;
                if let Some(because) = asks(why) {
                    self.show_page(Page::Because(because));
                }
            }
            Err(error) => {
                self.work_failed(&error);
                self.show_page(Page::Step);
            }
        }
    }

    /// The step is safe: its draft goes, and the step whose turn it is comes.
    fn after_step(&mut self) {
        let (Some(going), Some(logbook)) = (&self.work.going, &mut self.logbook) else {
            return;
        };
        let (at, step) = (going.view.at, going.here());
        let was_calibrating = going.is_calibrating();
        // The step is safe; a draft that stays is put in again and refused as recorded.
        let _ = actions::clear_draft(logbook, &step_draft::name(&at, step));
        self.go_on_with(at, None);
        let Some(going) = &self.work.going else {
            return;
        };
        self.work.said = match going.state().status(step) {
            Some(StepStatus::Tried(_)) => Saying::of(
                Tone::Unsure,
                "Recorded, and the step stays open.".to_owned(),
            ),
            // The plot shows it, and there is no room for a line more.
            Some(StepStatus::GoingOn) if was_calibrating => Saying::default(),
            _ => procedure::recorded(step),
        };
    }

    /// Keeps the reading at the screw, and ends the setting with it where asked.
    pub(super) fn keep_point(&mut self, is_last: bool) {
        let is_whole = self
            .work
            .going
            .as_ref()
            .is_some_and(|going| going.entry.point(&going.state().turns()).is_some());
        if is_whole {
            self.record_step(if is_last {
                StepOutcome::Done
            } else {
                StepOutcome::GoingOn
            });
        }
    }

    /// The newest record of the step on the screen that stands.
    pub(super) fn newest_of_step(&self) -> Option<RecordRef> {
        let going = self.work.going.as_ref()?;
        let step = going.state().step(going.here())?;
        step.standing().last().map(|entry| entry.at)
    }

    /// Shows a step before or behind the one on the screen.
    pub(super) fn move_step(&mut self, by: isize) {
        let Some(going) = &self.work.going else {
            return;
        };
        let all = there(going.state());
        let place = all.iter().position(|one| one.step.code == going.here());
        let wanted = place.and_then(|place| place.checked_add_signed(by));
        let code = wanted
            .and_then(|place| all.get(place))
            .map(|one| one.step.code);
        let at = going.view.at;
        if let Some(code) = code {
            self.go_on_with(at, Some(code));
        }
    }

    /// Goes to the step whose turn it is, or to the closing where none is left.
    pub(super) fn show_next_open(&mut self) {
        if let Some(going) = &self.work.going {
            let at = going.view.at;
            self.go_on_with(at, None);
        }
    }

    /// Takes the step on the screen back, with the reason.
    pub(super) fn undo(&mut self, record: Option<RecordRef>, reason: String) {
        let by = self.around.by.clone();
        let (Some(going), Some(logbook)) = (&self.work.going, &mut self.logbook) else {
            return;
        };
        let (at, step) = (going.view.at, going.here());
        let new = NewUndo {
            procedure: at,
            step,
            record,
            reason,
            by,
        };
        match actions::undo_step(logbook, new) {
            Ok(_) => {
                self.go_on_with(at, Some(step));
                self.work.said = Saying::plain("Taken back. What rested on it is open again.");
            }
            Err(error) => {
                self.work_failed(&error);
                self.show_page(Page::Step);
            }
        }
    }

    /// Ends the procedure.
    pub(super) fn end(&mut self, end: ProcedureEnd, note: String) {
        let by = self.around.by.clone();
        let (Some(going), Some(logbook)) = (&self.work.going, &mut self.logbook) else {
            return;
        };
        let at = going.view.at;
        let new = NewEnd {
            procedure: at,
            end,
            done_by: going.done_by.clone(),
            seen_by: going.seen_by.clone(),
            note,
            by,
        };
        match actions::close_procedure(logbook, new) {
            Ok(ended) => {
                self.work.ended = Some(ended);
                let code = going.view.station.clone();
                self.forget_to_resume();
                self.read_here(&code);
                self.show_page(Page::Ended);
            }
            Err(error) => {
                self.work_failed(&error);
                self.show_page(Page::Step);
            }
        }
    }

    /// The procedure that is going on, for those who look without the window.
    #[must_use]
    pub fn going_procedure(&self) -> Option<query::ProcedureView> {
        self.work.going.as_ref().map(|going| going.view.clone())
    }

    /// The entry at the step on the screen, for those who look without the window.
    #[must_use]
    pub fn step_entry(&self) -> Option<&StepEntry> {
        self.work.going.as_ref().map(|going: &Going| &going.entry)
    }
}

/// What a refusal asks for, where a stated reason lets the step be recorded.
const fn asks(why: Unfit) -> Option<Because> {
    match why {
        Unfit::OutOfOrder(_) => Some(Because::OutOfOrder),
        Unfit::FiguresSayStop => Some(Because::Despite),
        _ => None,
    }
}
