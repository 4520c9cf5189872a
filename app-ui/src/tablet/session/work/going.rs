//! A procedure that is going on: opened, resumed where it stood, left, and what of it is entered.

use winze_core::actions::{self, NewProcedure};
use winze_core::calibration::Setting;
use winze_core::procedures::{
    Fit, OpenReason, ProcedureCode, ProcedureState, Reason, StepCode, StepStatus,
};
use winze_core::query::{self, ProcedureView};
use winze_core::slips::Doubt;
use winze_core::station::Station;
use winze_core::upkeep::local_date;
use winze_core::{Logbook, Result};
use winze_sync_format::RecordRef;

use super::super::{Screen, Session};
use super::{Because, Page};
use crate::messages::procedures;
use crate::presenters::procedure;
use crate::presenters::step::{Around, there};
use crate::presenters::work_view::ChoicesBody;
use crate::tablet::step_draft;
use crate::tablet::step_entry::StepEntry;

/// Names what is opened again at the next start.
const RESUME: &str = "procedure/open";
const VISITS_FOR_CHECKS: usize = 26;

/// A procedure under the hands.
pub struct Going {
    pub(super) view: ProcedureView,
    pub(super) station: Station,
    pub(super) entry: StepEntry,
    pub(super) setting: Setting,
    pub(super) figures: Vec<Fit>,
    pub(super) doubt: Option<Doubt>,
    pub(super) out_of_order: Option<Reason>,
    pub(super) despite: Option<Reason>,
    pub(super) done_by: String,
    pub(super) seen_by: String,
    /// Where it stands; kept beside the view so that it need not be asked for again and again.
    state: ProcedureState,
}

impl Going {
    /// Reads a procedure as it stands, at a step or at the one whose turn it is.
    fn read(
        logbook: &Logbook,
        at: RecordRef,
        step: Option<StepCode>,
        nonce: [u8; 8],
        by: &str,
    ) -> Result<Self> {
        let view = query::procedure(logbook, at)?;
        let (data, state) = view.known_state()?;
        let state = state.clone();
        let found = query::station(logbook, &view.station)?;
        let station = found.ok_or_else(|| winze_core::Error::UnknownStation {
            station: view.station.clone(),
        })?;
        let past = query::past_for_checks(logbook, &view.station, VISITS_FOR_CHECKS)?;
        let last = there(&state).last().map(|step| step.step.code);
        let here = step.or(state.next).or(last);
        let step = here.and_then(|code| data.step(code)).or(data.steps.first());
        let step = step.ok_or(winze_core::Error::DatabaseContent {
            what: "a procedure without steps",
        })?;
        let mut entry = StepEntry::new(step, &station.definition, past, nonce);
        restore(logbook, at, &mut entry)?;
        Ok(Self {
            figures: query::procedure_figures(logbook, at, step.code)?,
            setting: query::procedure_calibration(logbook, at)?,
            station: station.definition,
            entry,
            doubt: None,
            out_of_order: None,
            despite: None,
            done_by: by.to_owned(),
            seen_by: String::new(),
            state,
            view,
        })
    }

    /// Where it stands.
    pub(super) const fn state(&self) -> &ProcedureState {
        &self.state
    }

    /// The step on the screen.
    pub(super) const fn here(&self) -> StepCode {
        self.entry.code()
    }

    pub(super) fn is_disputed(&self) -> bool {
        self.state.status(self.here()) == Some(StepStatus::Disputed)
    }

    pub(super) fn is_calibrating(&self) -> bool {
        self.here() == StepCode::Calibrate
            && self
                .state
                .way(StepCode::Calibrate)
                .is_some_and(winze_core::procedures::Way::may_do)
    }

    pub(super) fn around(&self) -> Around<'_> {
        Around {
            station: &self.station,
            state: &self.state,
            figures: &self.figures,
        }
    }

    pub(super) fn because_body(&self, because: Because) -> ChoicesBody {
        let named = procedures::step(self.here());
        let (heading, under) = match because {
            Because::PassOver => (
                format!("Pass over \u{201c}{named}\u{201d}: why?"),
                "The reason is kept and stands on the certificate.",
            ),
            Because::OutOfOrder => (
                format!("\u{201c}{named}\u{201d} out of turn: why?"),
                "Another step comes first. The reason is kept.",
            ),
            Because::Despite => (
                "The figures say stop. Why go on?".to_owned(),
                "Ask whoever is responsible for the station first. The reason is kept.",
            ),
        };
        procedure::reasons(heading, under)
    }
}

/// Takes a draft of the same day; one of another day is left, because what a gauge showed then must
/// not pass for today's.
fn restore(logbook: &Logbook, at: RecordRef, entry: &mut StepEntry) -> Result<()> {
    let kept = actions::load_draft(logbook, &step_draft::name(&at, entry.code()))?;
    let Some(kept) = kept else {
        return Ok(());
    };
    let offset = logbook.clock().utc_offset_minutes();
    if local_date(kept.saved_ms, offset) == query::today(logbook) {
        // What cannot be read is typed again.
        let _ = step_draft::read(&kept.content, entry);
    }
    Ok(())
}

impl Session {
    /// Goes on with a procedure, at a step or at the one whose turn it is.
    pub(super) fn go_on_with(&mut self, at: RecordRef, step: Option<StepCode>) {
        let (done_by, seen_by) = match &self.work.going {
            Some(going) if going.view.at == at => (going.done_by.clone(), going.seen_by.clone()),
            _ => (self.around.by.clone(), String::new()),
        };
        let nonce = (self.around.nonce)();
        let Some(logbook) = &mut self.logbook else {
            return;
        };
        match Going::read(logbook, at, step, nonce, &done_by) {
            Ok(mut going) => {
                going.seen_by = seen_by;
                // Not to be led back here at the next start is no loss worth a message.
                let _ = actions::save_draft(logbook, RESUME, &at.to_string());
                let code = going.view.station.clone();
                let is_at_end = step.is_none() && going.state.next.is_none();
                self.work.going = Some(going);
                self.read_here(&code);
                self.screen = Screen::Work;
                self.station = None;
                self.show_page(if is_at_end { Page::Closing } else { Page::Step });
            }
            Err(error) => self.work_failed(&error),
        }
    }

    /// Opens a procedure at the station that is looked after.
    pub(super) fn open_procedure(
        &mut self,
        code: ProcedureCode,
        reason: Option<OpenReason>,
        note: String,
    ) {
        let by = self.around.by.clone();
        let (Some(here), Some(logbook)) = (&self.work.here, &mut self.logbook) else {
            return;
        };
        if let Some(open) = here.open.iter().find(|view| view.code == code) {
            let at = open.at;
            self.go_on_with(at, None);
            return;
        }
        let new = NewProcedure {
            procedure: code,
            station: here.code.clone(),
            reason,
            note,
            by,
        };
        match actions::open_procedure(logbook, new) {
            Ok(at) => {
                self.work.going = None;
                self.go_on_with(at, None);
            }
            Err(error) => self.work_failed(&error),
        }
    }

    /// Leaves the procedure on the screen; it stays open and what was typed stays a draft.
    pub(super) fn leave_procedure(&mut self) {
        self.forget_to_resume();
        self.show_hub();
    }

    pub(super) fn forget_to_resume(&mut self) {
        if let Some(logbook) = &mut self.logbook {
            // At worst the next start leads here once more.
            let _ = actions::clear_draft(logbook, RESUME);
        }
    }

    /// Leads back to the procedure that was on the screen when the tablet went dark.
    pub(in super::super) fn resume(&mut self) {
        let kept = self
            .logbook
            .as_ref()
            .map(|logbook| actions::load_draft(logbook, RESUME));
        let Some(Ok(Some(kept))) = kept else {
            return;
        };
        let Ok(at) = kept.content.parse::<RecordRef>() else {
            return;
        };
        let open = self.logbook.as_ref().map(|book| query::procedure(book, at));
        if matches!(open, Some(Ok(view)) if view.is_open() && view.state.is_some()) {
            self.go_on_with(at, None);
        } else {
            self.forget_to_resume();
        }
    }

    /// Keeps what is entered at the step as a draft.
    pub(super) fn keep_step(&mut self) {
        let (Some(going), Some(logbook)) = (&self.work.going, &mut self.logbook) else {
            return;
        };
        let name = step_draft::name(&going.view.at, going.here());
        let kept = if going.entry.is_untouched() {
            actions::clear_draft(logbook, &name)
        } else {
            actions::save_draft(logbook, &name, &step_draft::write(&going.entry))
        };
        if let Err(error) = kept {
            self.work_failed(&error);
        }
    }
}
