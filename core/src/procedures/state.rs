//! Where a procedure stands: what is done, what comes next, what may be done, what blocks.

use winze_sync_format::{Decimal, RecordRef};

use super::codes::{Branch, StepCode, TickCode};
use super::fact::{Says, StepFact};
use super::measure::{MeasureCode, Value, flow_state};
use super::step::{Procedure, Step};
use super::weigh::{Standing, StepStatus, Weighed, weigh};
use crate::calibration::Point;
use crate::merge::heads::heads;
use crate::record::{ProcedureClosed, ProcedureEnd, StepOutcome, StepRecorded};
use crate::units::Typed;
use crate::verdict::{Entry, FlowState};

/// One record of a step, with how it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepEntry {
    /// The record.
    pub at: RecordRef,
    /// Its wall time, milliseconds since 1970.
    pub wall_ms: i64,
    /// Who wrote it.
    pub by: String,
    /// What it says.
    pub body: StepRecorded,
    /// How it stands.
    pub standing: Standing,
}

/// One step with all that was recorded of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepState {
    /// The step.
    pub step: &'static Step,
    /// What it comes to.
    pub status: StepStatus,
    /// Every record of it in order of time, those that do not stand included.
    pub entries: Vec<StepEntry>,
}

impl StepState {
    /// The record that settles the step; none while it is open or disputed.
    #[must_use]
    pub fn in_force(&self) -> Option<&StepEntry> {
        let wanted = |outcome: &StepOutcome| match self.status {
            StepStatus::Done => *outcome == StepOutcome::Done,
            StepStatus::PassedOver => matches!(outcome, StepOutcome::PassedOver(_)),
            _ => false,
        };
        let mut settling = self
            .entries
            .iter()
            .filter(|entry| entry.standing == Standing::Stands && wanted(&entry.body.outcome));
        settling.next()
    }

    /// The records that stand, attempts and turns on the way included.
    pub fn standing(&self) -> impl Iterator<Item = &StepEntry> {
        self.entries.iter().filter(|entry| entry.standing.stands())
    }
}

/// A step that is open, and what stands between it and being recorded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way {
    /// The step.
    pub step: StepCode,
    /// Steps that come before it and are not settled: recording it now needs a stated reason.
    pub missing: Vec<StepCode>,
    /// Steps without which it cannot be done at all.
    pub blocked_by: Vec<StepCode>,
    /// Whether it may be passed over with a stated reason.
    pub may_pass: bool,
}

impl Way {
    /// Whether it can be done, in order or out of it.
    #[must_use]
    pub fn may_do(&self) -> bool {
        self.blocked_by.is_empty()
    }

    /// Whether it is its turn.
    #[must_use]
    pub fn is_in_order(&self) -> bool {
        self.missing.is_empty() && (self.may_do() || self.may_pass)
    }
}

/// A record that ended the procedure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClosedBy {
    /// The record.
    pub at: RecordRef,
    /// Its wall time, milliseconds since 1970.
    pub wall_ms: i64,
    /// Who wrote it.
    pub by: String,
    /// What it says.
    pub body: ProcedureClosed,
}

/// How a procedure ended, if it did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Closing {
    /// It is open.
    Open,
    /// It is complete.
    Completed(ClosedBy),
    /// It was given up.
    Abandoned(ClosedBy),
    /// It was completed while another tablet recorded something else at the same time. Nothing is in
    /// service until one of the disagreeing records is undone.
    Contested(ClosedBy),
    /// One tablet completed it, another gave it up. It has to be ended anew.
    Disputed(Vec<ClosedBy>),
}

impl Closing {
    /// Whether nothing can be recorded any more.
    #[must_use]
    pub const fn is_closed(&self) -> bool {
        matches!(self, Self::Completed(_) | Self::Abandoned(_))
    }

    /// The record that ended it, where one did without disagreement.
    #[must_use]
    pub const fn closed_by(&self) -> Option<&ClosedBy> {
        match self {
            Self::Completed(by) | Self::Abandoned(by) => Some(by),
            Self::Open | Self::Contested(_) | Self::Disputed(_) => None,
        }
    }

    /// The stable code, used in exports.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Completed(_) => "completed",
            Self::Abandoned(_) => "abandoned",
            Self::Contested(_) => "contested",
            Self::Disputed(_) => "disputed",
        }
    }
}

/// A record that ends the procedure and does not count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EndIgnored {
    /// The record.
    pub at: RecordRef,
    /// The steps that what it rests on lacks; empty for one given up without a reason.
    pub lacking: Vec<StepCode>,
}

/// Where a procedure stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProcedureState {
    /// Every step in the procedure's order.
    pub steps: Vec<StepState>,
    /// The branch chosen, if one is.
    pub branch: Option<Branch>,
    /// The step whose turn it is.
    pub next: Option<StepCode>,
    /// Every open step of the chosen branch, with what stands between it and being recorded.
    pub ways: Vec<Way>,
    /// The steps recorded differently by two tablets.
    pub disputed: Vec<StepCode>,
    /// What completing it lacks; empty when it can be completed.
    pub lacking: Vec<StepCode>,
    /// How it ended, if it did.
    pub closing: Closing,
    /// Ends that do not count.
    pub ends_ignored: Vec<EndIgnored>,
    /// Records of steps that this procedure does not have.
    pub strays: Vec<RecordRef>,
    gives_service: bool,
}

impl ProcedureState {
    /// One step.
    #[must_use]
    pub fn step(&self, code: StepCode) -> Option<&StepState> {
        self.steps.iter().find(|state| state.step.code == code)
    }

    /// What a step comes to.
    #[must_use]
    pub fn status(&self, code: StepCode) -> Option<StepStatus> {
        self.step(code).map(|state| state.status)
    }

    /// What stands between an open step and being recorded.
    #[must_use]
    pub fn way(&self, code: StepCode) -> Option<&Way> {
        self.ways.iter().find(|way| way.step == code)
    }

    /// The steps whose turn it is, the next one first.
    pub fn allowed(&self) -> impl Iterator<Item = StepCode> {
        let ways = self.ways.iter().filter(|way| way.is_in_order());
        ways.map(|way| way.step)
    }

    /// Whether nothing is lacking.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.lacking.is_empty()
    }

    /// Whether completing it now would bring the station into service.
    #[must_use]
    pub fn may_enter_service(&self) -> bool {
        self.gives_service && self.is_complete() && matches!(self.closing, Closing::Open)
    }

    /// Whether it was completed and brought the station into service.
    #[must_use]
    pub fn is_in_service(&self) -> bool {
        self.gives_service && matches!(self.closing, Closing::Completed(_))
    }

    /// How many steps of the chosen branch are settled, and how many there are.
    #[must_use]
    pub fn progress(&self) -> (usize, usize) {
        let is_there = |state: &&StepState| {
            !matches!(state.status, StepStatus::OtherBranch | StepStatus::Waiting)
        };
        let settled = self.steps.iter().filter(|state| state.status.is_settled());
        (settled.count(), self.steps.iter().filter(is_there).count())
    }

    /// What a step that was done says; none while it is open, disputed or passed over.
    fn done(&self, step: StepCode) -> Option<&StepRecorded> {
        let body = &self.step(step)?.in_force()?.body;
        (body.outcome == StepOutcome::Done).then_some(body)
    }

    /// A value in force.
    #[must_use]
    pub fn value(&self, step: StepCode, measure: MeasureCode) -> Option<Value> {
        self.done(step)?.value(measure)
    }

    /// A pressure in force, as typed.
    #[must_use]
    pub fn pressure(&self, step: StepCode, measure: MeasureCode) -> Option<Typed> {
        match self.value(step, measure) {
            Some(Value::Pressure(typed)) => Some(typed),
            _ => None,
        }
    }

    /// The gauges of a step that reads them, such as as found and as left.
    #[must_use]
    pub fn entry(&self, step: StepCode) -> Option<Entry> {
        let body = self.done(step)?;
        body.measured
            .iter()
            .find(|one| one.code.gauge().is_some())?;
        Some(entry_of(body))
    }

    /// The set point wanted, where the procedure asked for it.
    #[must_use]
    pub fn wanted_set_point(&self) -> Option<Typed> {
        let at = |step| self.pressure(step, MeasureCode::WantedSetPoint);
        at(StepCode::WantedSetPoint).or_else(|| at(StepCode::FactorySetPoint))
    }

    /// The turns of the calibration that stand, in order of time.
    #[must_use]
    pub fn turns(&self) -> Vec<Point> {
        let Some(state) = self.step(StepCode::Calibrate) else {
            return Vec::new();
        };
        let entries = state.standing();
        entries
            .flat_map(|entry| entry.body.points.iter().copied())
            .collect()
    }

    /// Where the screw stood last, turns from where the calibration began.
    #[must_use]
    pub fn screw_at(&self) -> Option<Decimal> {
        self.turns().last().map(|point| point.turns)
    }

    /// What was noticed on the look-round.
    #[must_use]
    pub fn noticed(&self) -> &[TickCode] {
        self.done(StepCode::Look).map_or(&[], |body| &body.ticks)
    }
}

/// The gauges a step measured, as an entry.
#[must_use]
pub fn entry_of(body: &StepRecorded) -> Entry {
    let typed = |code| match body.value(code) {
        Some(Value::Pressure(typed)) => Some(typed),
        _ => None,
    };
    let flow = match body.value(MeasureCode::Flow) {
        Some(Value::DrawOff(draw_off)) => flow_state(draw_off),
        _ => FlowState::NotNoted,
    };
    Entry {
        inlet: typed(MeasureCode::Inlet),
        interstage: typed(MeasureCode::Interstage),
        outlet: typed(MeasureCode::Outlet),
        flow,
    }
}

/// Works out where a procedure stands. A function of the set of facts: neither their order nor how
/// often one is told shows in the result.
#[must_use]
pub fn state(procedure: &Procedure, facts: &[StepFact]) -> ProcedureState {
    let weighed = weigh(procedure, facts, |_| true);
    let lacking = weighed.lacking();
    let disputed: Vec<StepCode> = weighed
        .steps
        .iter()
        .filter(|(_, status)| *status == StepStatus::Disputed)
        .map(|(step, _)| step.code)
        .collect();
    let (closing, ends_ignored) = closing(procedure, facts, &disputed);
    let ways = if closing.is_closed() {
        Vec::new()
    } else {
        ways(&weighed)
    };
    let next = ways.iter().find(|way| way.is_in_order());
    let is_stray =
        |standing: &Standing| matches!(standing, Standing::Unfit(super::Unfit::NotInProcedure));
    let strays = weighed.records.iter();
    ProcedureState {
        next: next.map(|way| way.step),
        ways,
        branch: weighed.branch,
        disputed,
        lacking,
        closing,
        ends_ignored,
        strays: strays
            .filter(|(_, (_, _, standing))| is_stray(standing))
            .map(|(at, _)| *at)
            .collect(),
        gives_service: procedure.gives_service,
        steps: step_states(&weighed),
    }
}

fn step_states(weighed: &Weighed<'_>) -> Vec<StepState> {
    let steps = weighed.steps.iter();
    steps
        .map(|(step, status)| {
            let of_step = weighed.records.values();
            let mut entries: Vec<StepEntry> = of_step
                .filter(|(_, body, _)| body.step == step.code)
                .map(|(fact, body, standing)| StepEntry {
                    at: fact.at,
                    wall_ms: fact.wall_ms,
                    by: fact.by.clone(),
                    body: (*body).clone(),
                    standing: *standing,
                })
                .collect();
            entries.sort_by_key(|entry| (entry.wall_ms, entry.at));
            StepState {
                step,
                status: *status,
                entries,
            }
        })
        .collect()
}

fn ways(weighed: &Weighed<'_>) -> Vec<Way> {
    let is_unsettled = |code: &StepCode| {
        let status = weighed.status(*code);
        status.is_some_and(|s| !s.is_settled() && s != StepStatus::OtherBranch)
    };
    let is_not_done = |code: &StepCode| {
        let status = weighed.status(*code);
        status.is_some_and(|s| s != StepStatus::Done && s != StepStatus::OtherBranch)
    };
    let waits_for_choice = waiting_for_choice(weighed);
    let open = weighed.steps.iter().filter(|(_, status)| status.is_open());
    open.map(|(step, _)| {
        let mut missing: Vec<StepCode> = step.needs().filter(is_unsettled).collect();
        if waits_for_choice.contains(&step.code) && !missing.contains(&StepCode::Branch) {
            missing.push(StepCode::Branch);
        }
        Way {
            step: step.code,
            missing,
            blocked_by: step
                .only_after
                .iter()
                .copied()
                .filter(is_not_done)
                .collect(),
            may_pass: step.may_be_passed,
        }
    })
    .collect()
}

/// While two tablets have chosen differently, every step that depends on the choice waits, however
/// far one of them came.
fn waiting_for_choice(weighed: &Weighed<'_>) -> Vec<StepCode> {
    if weighed.status(StepCode::Branch) != Some(StepStatus::Disputed) {
        return Vec::new();
    }
    let mut waiting = vec![StepCode::Branch];
    for (step, _) in &weighed.steps {
        if step.needs().any(|need| waiting.contains(&need)) {
            waiting.push(step.code);
        }
    }
    waiting
}

/// How the procedure ended: by the ends that count and that no other end replaces.
fn closing(
    procedure: &Procedure,
    facts: &[StepFact],
    disputed: &[StepCode],
) -> (Closing, Vec<EndIgnored>) {
    let mut ignored = Vec::new();
    let mut counted: Vec<(&StepFact, &ProcedureClosed)> = Vec::new();
    for fact in facts {
        let Says::Closed(body) = &fact.says else {
            continue;
        };
        if counted.iter().any(|(other, _)| other.at == fact.at) {
            continue;
        }
        let lacking = match body.end {
            ProcedureEnd::Abandoned => Vec::new(),
            ProcedureEnd::Completed => {
                weigh(procedure, facts, |at| fact.based_on.contains(at)).lacking()
            }
        };
        let is_unsaid = body.end == ProcedureEnd::Abandoned && body.note.trim().is_empty();
        if lacking.is_empty() && !is_unsaid {
            counted.push((fact, body));
        } else {
            ignored.push(EndIgnored {
                at: fact.at,
                lacking,
            });
        }
    }
    ignored.sort_unstable_by_key(|end| end.at);
    ignored.dedup();
    let list = counted.iter();
    let mut ends: Vec<ClosedBy> = heads(list.map(|(fact, _)| (fact.at, &fact.based_on[..])))
        .into_iter()
        .filter_map(|n| counted.get(n))
        .map(|(fact, body)| ClosedBy {
            at: fact.at,
            wall_ms: fact.wall_ms,
            by: fact.by.clone(),
            body: (*body).clone(),
        })
        .collect();
    ends.sort_by_key(|end| (end.wall_ms, end.at));
    let is_of = |wanted| move |end: &ClosedBy| end.body.end == wanted;
    let closing = if ends.iter().all(is_of(ProcedureEnd::Completed)) {
        match ends.into_iter().next() {
            None => Closing::Open,
            Some(end) if disputed.is_empty() => Closing::Completed(end),
            Some(end) => Closing::Contested(end),
        }
    } else if ends.iter().all(is_of(ProcedureEnd::Abandoned)) {
        ends.into_iter()
            .next()
            .map_or(Closing::Open, Closing::Abandoned)
    } else {
        Closing::Disputed(ends)
    };
    (closing, ignored)
}
