//! Whether one step record can count: whether it says what its step asks, and rests on what its step
//! needs.
//!
//! The same rules refuse a step at entry and leave a foreign record out of the state, so that
//! nothing counts that could not have been entered.

use super::codes::{Branch, Reason, StepCode, TickCode};
use super::measure::{Air, MeasureCode, Value};
use super::step::{Act, Procedure, Step};
use crate::calibration::DrawOff;
use crate::procedures::Level;
use crate::record::{StepOutcome, StepRecorded};

/// Why a step record does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unfit {
    /// The procedure has no such step.
    NotInProcedure,
    /// The step is on the other branch, or no branch was chosen.
    OtherBranch,
    /// The step may not be passed over.
    MayNotBePassed,
    /// Only a calibration can go on over several records.
    CannotGoOn,
    /// A reason is needed and none is stated.
    ReasonNotStated,
    /// A measure is missing.
    MeasureMissing(MeasureCode),
    /// A measure is not asked for, is there twice, or has a value of another kind.
    MeasureNotAsked(MeasureCode),
    /// An item of the list is not ticked.
    TickMissing(TickCode),
    /// A tick is not on the list, or is there twice.
    TickNotAsked(TickCode),
    /// No branch was chosen at a choice, or one elsewhere.
    BranchAmiss,
    /// No turn was written down at a calibration, or one elsewhere.
    PointsAmiss,
    /// A turn without flow: the outlet then shows lock-up only.
    PointWithoutFlow,
    /// The figures say stop, and no reason for going on is stated.
    FiguresSayStop,
    /// A step has to be done before, whatever the reason.
    NeedsFirst(StepCode),
    /// A step comes before, and no reason for another order is stated.
    OutOfOrder(StepCode),
}

impl Unfit {
    /// The stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::NotInProcedure => "not-in-procedure",
            Self::OtherBranch => "other-branch",
            Self::MayNotBePassed => "may-not-be-passed",
            Self::CannotGoOn => "cannot-go-on",
            Self::ReasonNotStated => "reason-not-stated",
            Self::MeasureMissing(_) => "measure-missing",
            Self::MeasureNotAsked(_) => "measure-not-asked",
            Self::TickMissing(_) => "tick-missing",
            Self::TickNotAsked(_) => "tick-not-asked",
            Self::BranchAmiss => "branch-amiss",
            Self::PointsAmiss => "points-amiss",
            Self::PointWithoutFlow => "point-without-flow",
            Self::FiguresSayStop => "figures-say-stop",
            Self::NeedsFirst(_) => "needs-first",
            Self::OutOfOrder(_) => "out-of-order",
        }
    }
}

/// Why a step that was tried is still open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Attempt {
    /// No water was drawn.
    NoFlow,
    /// Air still came.
    AirLeft,
}

impl Attempt {
    /// The stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::NoFlow => "no-flow",
            Self::AirLeft => "air-left",
        }
    }
}

/// A record that the new one rests on: its step, whether it was done, and the branch it chose.
#[derive(Debug, Clone, Copy)]
pub(super) struct Base {
    pub(super) step: StepCode,
    pub(super) is_done: bool,
    pub(super) branch: Option<Branch>,
}

/// Checks what a record says by itself.
pub(super) fn check_content(
    procedure: &Procedure,
    body: &StepRecorded,
) -> Result<&'static Step, Unfit> {
    let step = procedure.step(body.step).ok_or(Unfit::NotInProcedure)?;
    let stated = |reason: &Option<Reason>| reason.as_ref().is_none_or(Reason::is_stated);
    if !stated(&body.out_of_order) || !stated(&body.despite) {
        return Err(Unfit::ReasonNotStated);
    }
    check_lists(step, body)?;
    match &body.outcome {
        StepOutcome::PassedOver(reason) => {
            if !step.may_be_passed {
                return Err(Unfit::MayNotBePassed);
            }
            if !reason.is_stated() {
                return Err(Unfit::ReasonNotStated);
            }
            return Ok(step);
        }
        StepOutcome::GoingOn if step.act != Act::Calibrate => return Err(Unfit::CannotGoOn),
        StepOutcome::GoingOn | StepOutcome::Done => {}
    }
    if (step.act == Act::Calibrate) == body.points.is_empty() {
        return Err(Unfit::PointsAmiss);
    }
    if (step.act == Act::Choose) != body.branch.is_some() {
        return Err(Unfit::BranchAmiss);
    }
    for measure in step.measures.iter().filter(|measure| measure.is_needed) {
        if body.value(measure.code).is_none() {
            return Err(Unfit::MeasureMissing(measure.code));
        }
    }
    if step.act == Act::TickAll {
        for tick in step.ticks {
            if !body.ticks.contains(tick) {
                return Err(Unfit::TickMissing(*tick));
            }
        }
    }
    let says_stop = body
        .figures
        .iter()
        .any(|figure| figure.level == Level::Stop);
    if says_stop && body.despite.is_none() {
        return Err(Unfit::FiguresSayStop);
    }
    Ok(step)
}

/// Nothing that was not asked, and nothing twice.
fn check_lists(step: &Step, body: &StepRecorded) -> Result<(), Unfit> {
    for (n, one) in body.measured.iter().enumerate() {
        let is_asked = step.measures.iter().any(|measure| measure.code == one.code);
        let is_twice = body.measured[..n]
            .iter()
            .any(|other| other.code == one.code);
        if !is_asked || is_twice || one.value.measurand() != one.code.measurand() {
            return Err(Unfit::MeasureNotAsked(one.code));
        }
    }
    for (n, tick) in body.ticks.iter().enumerate() {
        if !step.ticks.contains(tick) || body.ticks[..n].contains(tick) {
            return Err(Unfit::TickNotAsked(*tick));
        }
    }
    if step.act != Act::Calibrate && !body.points.is_empty() {
        return Err(Unfit::PointsAmiss);
    }
    if step.act != Act::Choose && body.branch.is_some() {
        return Err(Unfit::BranchAmiss);
    }
    if body
        .points
        .iter()
        .any(|point| point.draw_off == DrawOff::None)
    {
        return Err(Unfit::PointWithoutFlow);
    }
    Ok(())
}

/// Checks that a record rests on what its step needs.
pub(super) fn check_needs(
    procedure: &Procedure,
    step: &Step,
    body: &StepRecorded,
    bases: &[Base],
) -> Result<(), Unfit> {
    let chosen = branch_of(bases)?;
    if step.branch.is_some() && step.branch != chosen {
        return Err(Unfit::OtherBranch);
    }
    // On another branch than the one chosen a step is not there, and nothing waits for it.
    let is_there = |code: StepCode| {
        let on = procedure.step(code).and_then(|need| need.branch);
        on.is_none() || chosen.is_none() || on == chosen
    };
    if !matches!(body.outcome, StepOutcome::PassedOver(_)) {
        for need in step.only_after.iter().filter(|need| is_there(**need)) {
            if !bases.iter().any(|base| base.step == *need && base.is_done) {
                return Err(Unfit::NeedsFirst(*need));
            }
        }
    }
    if body.out_of_order.is_none() {
        for need in step.needs().filter(|need| is_there(*need)) {
            if !bases.iter().any(|base| base.step == need) {
                return Err(Unfit::OutOfOrder(need));
            }
        }
    }
    Ok(())
}

/// The branch the bases agree on.
fn branch_of(bases: &[Base]) -> Result<Option<Branch>, Unfit> {
    let mut branches = bases.iter().filter_map(|base| base.branch);
    let first = branches.next();
    if branches.all(|other| Some(other) == first) {
        Ok(first)
    } else {
        Err(Unfit::OtherBranch)
    }
}

/// Why a done step leaves its step open, if it does.
pub(super) fn attempt(step: &Step, body: &StepRecorded) -> Option<Attempt> {
    let is_for_flow = step
        .measures
        .iter()
        .all(|measure| measure.code == MeasureCode::Flow);
    match body.value(MeasureCode::Flow) {
        Some(Value::DrawOff(DrawOff::None)) if is_for_flow => return Some(Attempt::NoFlow),
        _ => {}
    }
    match body.value(MeasureCode::Air) {
        Some(Value::Air(Air::Some)) => Some(Attempt::AirLeft),
        _ => None,
    }
}
