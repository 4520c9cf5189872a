//! What a closed procedure changes: baselines of the watch that start anew, and the definition of
//! the station.

use chrono::NaiveDate;
use winze_sync_format::Decimal;

use super::codes::{Branch, StepCode};
use super::state::{Closing, ProcedureState, StepState};
use super::step::Procedure;
use super::weigh::StepStatus;
use crate::station::{Quantity, Station, defaults};
use crate::verdict::at_datum;
use crate::watch::Restart;

/// A baseline that starts anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RestartFrom {
    /// What starts anew.
    pub restart: Restart,
    /// The first moment of the new time, milliseconds since 1970: the as-left reading and whatever
    /// comes after it belong to the new baseline, the as-found reading to the old one.
    pub from_ms: i64,
}

/// Which baselines of the watch a procedure starts anew. Nothing while it is open. Work that was
/// done counts also when the procedure was given up: a screw that was turned stays turned.
#[must_use]
pub fn restart_of(procedure: &Procedure, state: &ProcedureState) -> Vec<RestartFrom> {
    let Some(end) = state.closing.closed_by() else {
        return Vec::new();
    };
    let mut restarts: Vec<Restart> = Vec::new();
    if let (Closing::Completed(_), Some(restart)) = (&state.closing, procedure.restart) {
        restarts.push(restart);
    }
    let worked = state.steps.iter().filter(|step| was_worked_on(step));
    for restart in worked.filter_map(|step| step.step.restart) {
        if !restarts.contains(&restart) {
            restarts.push(restart);
        }
    }
    if restarts.contains(&Restart::Station) {
        restarts = vec![Restart::Station];
    }
    let from_ms = new_time_from_ms(state, end.wall_ms);
    let restarts = restarts.into_iter();
    restarts
        .map(|restart| RestartFrom { restart, from_ms })
        .collect()
}

/// Whether hands were laid on the station at a step: done, going on, or recorded twice.
fn was_worked_on(state: &StepState) -> bool {
    matches!(
        state.status,
        StepStatus::Done | StepStatus::GoingOn | StepStatus::Disputed
    )
}

/// The moment after the last work. The as-left reading is written a little before its step, so the
/// step's own moment would be too late for it.
fn new_time_from_ms(state: &ProcedureState, closed_ms: i64) -> i64 {
    let before_left = state
        .steps
        .iter()
        .take_while(|step| step.step.code != StepCode::AsLeft);
    let worked = before_left.flat_map(StepState::standing);
    let last = worked.map(|entry| entry.wall_ms).max();
    let from_ms = last.map_or(closed_ms, |last| last.saturating_add(1));
    let as_left = state.step(StepCode::AsLeft).and_then(StepState::in_force);
    // Clocks of two tablets may differ, and one may stand still.
    as_left.map_or(from_ms, |left| from_ms.min(left.wall_ms.saturating_sub(1)))
}

/// What a completed procedure makes of the station's definition: the ratio as left by a set-up, the
/// set point wanted where the second stage was set anew. `None` where nothing changes.
///
/// # Formula
/// `R = p1 / p2` of the as-left gauges at the station datum, rounded to 0.01.
#[must_use]
pub fn revised(station: &Station, state: &ProcedureState, on: NaiveDate) -> Option<Station> {
    let mut revised = station.clone();
    let is_set_up = state.step(StepCode::FactorySetPoint).is_some();
    if is_set_up && let Some(ratio) = ratio_left(station, state) {
        let first = &mut revised.first_stage;
        first.as_left_ratio = Some(ratio);
        first.as_left_on = Some(on);
        if first.ratio_tolerance_percent == defaults::ratio_tolerance_percent(false) {
            first.ratio_tolerance_percent = defaults::ratio_tolerance_percent(true);
        }
    }
    let was_set = state.status(StepCode::Calibrate) == Some(StepStatus::Done)
        && state.branch != Some(Branch::Keep);
    if was_set
        && let Some(wanted) = state.wanted_set_point()
        && wanted.to_pressure() != station.second_stage.set_point.to_pressure()
    {
        revised.second_stage.set_point = wanted;
    }
    (revised != *station).then_some(revised)
}

/// The ratio of the as-left readings, where both gauges were read and it reduces something.
#[must_use]
pub fn ratio_left(station: &Station, state: &ProcedureState) -> Option<Decimal> {
    let entry = state.entry(StepCode::AsLeft)?;
    let inlet = at_datum(station, Quantity::Inlet, entry.inlet?).as_f64_pa();
    let interstage = at_datum(station, Quantity::Interstage, entry.interstage?).as_f64_pa();
    let hundredths = (100.0 * inlet / interstage).round();
    let (least, most) = defaults::RATIO_SENSIBLE;
    if interstage <= 0.0 || hundredths <= 100.0 * least || hundredths > 100.0 * most {
        return None;
    }
    #[allow(
        clippy::cast_possible_truncation,
        reason = "between 100 and 2000 after the check above"
    )]
    let mantissa = hundredths as i64;
    Some(Decimal::new(mantissa, -2))
}
