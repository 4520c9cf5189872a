//! What a procedure is made of, as data: steps with what they need, measure, tick and warn of.
//!
//! Nothing here decides; see [`super::state`]. Nothing here says a word to people.

use super::codes::{Branch, Caution, ProcedureCode, StepCode, TickCode};
use super::measure::MeasureCode;
use crate::watch::Restart;

/// What kind of act a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Act {
    /// Something is done and confirmed.
    Do,
    /// Every item of a list is seen to.
    TickAll,
    /// What was noticed is ticked; nothing noticed is fine.
    TickNoticed,
    /// Something is measured.
    Measure,
    /// The screw is turned and the outlet followed, point by point.
    Calibrate,
    /// One of the branches is chosen.
    Choose,
    /// Figures worked out by the program are looked at; when they say stop, going on needs a reason.
    CheckFigures,
}

impl Act {
    /// The stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Do => "do",
            Self::TickAll => "tick-all",
            Self::TickNoticed => "tick-noticed",
            Self::Measure => "measure",
            Self::Calibrate => "calibrate",
            Self::Choose => "choose",
            Self::CheckFigures => "check-figures",
        }
    }
}

/// Something a step measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Measure {
    /// Of what.
    pub code: MeasureCode,
    /// Whether the step is not done without it.
    pub is_needed: bool,
}

/// One step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// Which.
    pub code: StepCode,
    /// What kind of act it is.
    pub act: Act,
    /// The branch it belongs to; on every branch when absent.
    pub branch: Option<Branch>,
    /// The steps that come before it; done without them only with a stated reason.
    pub after: &'static [StepCode],
    /// The steps without which it is not done at all, whatever the reason.
    pub only_after: &'static [StepCode],
    /// What to be careful of, here.
    pub cautions: &'static [Caution],
    /// What is measured.
    pub measures: &'static [Measure],
    /// What is ticked.
    pub ticks: &'static [TickCode],
    /// Whether it may be passed over with a stated reason.
    pub may_be_passed: bool,
    /// Whether the procedure is complete only with it, done or passed over.
    pub is_required: bool,
    /// What the watch starts anew once it was done.
    pub restart: Option<Restart>,
}

impl Step {
    /// A required step that may be passed over.
    #[must_use]
    pub(super) const fn new(code: StepCode, act: Act) -> Self {
        Self {
            code,
            act,
            branch: None,
            after: &[],
            only_after: &[],
            cautions: &[],
            measures: &[],
            ticks: &[],
            may_be_passed: true,
            is_required: true,
            restart: None,
        }
    }

    pub(super) const fn on(mut self, branch: Branch) -> Self {
        self.branch = Some(branch);
        self
    }

    pub(super) const fn after(mut self, steps: &'static [StepCode]) -> Self {
        self.after = steps;
        self
    }

    pub(super) const fn only_after(mut self, steps: &'static [StepCode]) -> Self {
        self.only_after = steps;
        self
    }

    pub(super) const fn careful(mut self, cautions: &'static [Caution]) -> Self {
        self.cautions = cautions;
        self
    }

    pub(super) const fn measures(mut self, measures: &'static [Measure]) -> Self {
        self.measures = measures;
        self
    }

    pub(super) const fn ticks(mut self, ticks: &'static [TickCode]) -> Self {
        self.ticks = ticks;
        self
    }

    pub(super) const fn never_passed(mut self) -> Self {
        self.may_be_passed = false;
        self
    }

    pub(super) const fn not_required(mut self) -> Self {
        self.is_required = false;
        self
    }

    pub(super) const fn restarts(mut self, restart: Restart) -> Self {
        self.restart = Some(restart);
        self
    }

    /// Everything it needs, the absolute needs first.
    pub fn needs(&self) -> impl Iterator<Item = StepCode> + '_ {
        self.only_after.iter().chain(self.after).copied()
    }

    /// Whether it reads the three gauges, so that doing it also writes a reading.
    #[must_use]
    pub fn reads_gauges(&self) -> bool {
        let mut gauges = self.measures.iter().filter_map(|m| m.code.gauge());
        gauges.next().is_some() && gauges.count() == 2
    }
}

/// A procedure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Procedure {
    /// Which.
    pub code: ProcedureCode,
    /// The edition of the data, kept in every record that opens one.
    pub edition: u32,
    /// Its steps in their usual order. A step needs only steps before it.
    pub steps: &'static [Step],
    /// Whether completing it brings the station into service.
    pub gives_service: bool,
    /// The procedure that is to follow, if one is.
    pub followed_by: Option<ProcedureCode>,
    /// Whether opening it needs a reason.
    pub needs_reason: bool,
    /// What the watch starts anew once it is complete, beyond what its steps say.
    pub restart: Option<Restart>,
}

impl Procedure {
    /// Finds a step.
    #[must_use]
    pub fn step(&self, code: StepCode) -> Option<&'static Step> {
        self.steps.iter().find(|step| step.code == code)
    }

    /// The steps that name `code` among their needs: what may follow once it is done.
    pub fn followers(&self, code: StepCode) -> impl Iterator<Item = &'static Step> + use<> {
        self.steps
            .iter()
            .filter(move |step| step.needs().any(|need| need == code))
    }
}
