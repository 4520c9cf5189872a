//! What closed procedures did for upkeep: tasks done, and in what state things were found.
//!
//! Steps tell, not titles: a strainer cleaned on the way of a set-up is a strainer cleaned, and an
//! inspection in which a stage was passed over is none.

use chrono::NaiveDate;
use winze_sync_format::RecordRef;

use super::calendar::local_date;
use super::due::{Done, DoneBy};
use super::task::Task;
use crate::hydraulics::Stage;
use crate::procedures::{
    Closing, Dirt, Inside, MeasureCode, ProcedureCode, ProcedureState, StepCode, StepStatus, Value,
};

/// In what state something was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// The strainer, before it was cleaned.
    Strainer(Dirt),
    /// A stage inside, as it was left.
    Inside(Stage, Inside),
}

/// Something found on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FoundOn {
    /// The local day.
    pub on: NaiveDate,
    /// The record that says so; of two on a day the later one by name stands.
    pub at: RecordRef,
    /// What was found.
    pub found: Found,
}

/// What one procedure did.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WorkDone {
    /// Tasks it comes to.
    pub dones: Vec<(Task, Done)>,
    /// The day on which it brought the station into service as a set-up.
    pub set_up_on: Option<NaiveDate>,
    /// In what state things were found.
    pub found: Vec<FoundOn>,
}

/// The procedure by which a task is done; none for the look-round, which a reading does, and for
/// gauge checks, which are noted.
#[must_use]
pub const fn procedure_of(task: Task) -> Option<ProcedureCode> {
    match task {
        Task::YearlyClean => Some(ProcedureCode::YearlyClean),
        Task::InternalInspection => Some(ProcedureCode::InternalInspection),
        Task::LookRound | Task::GaugeCheck(_) => None,
    }
}

/// What a procedure did; nothing while it is open or two tablets disagree on its end. A strainer
/// that was cleaned is clean also when the procedure was given up; an inspection, a look-round and a
/// set-up count as wholes.
#[must_use]
pub fn work_done(code: ProcedureCode, state: &ProcedureState) -> WorkDone {
    let mut work = WorkDone::default();
    if !state.closing.is_closed() {
        return work;
    }
    if let Some((on, at)) = done_on(state, StepCode::StrainerClean) {
        work.dones.push((Task::YearlyClean, done(on, at)));
        if let Some(Value::Dirt(dirt)) =
            value(state, StepCode::StrainerClean, MeasureCode::StrainerFound)
        {
            let found = Found::Strainer(dirt);
            work.found.push(FoundOn { on, at, found });
        }
    }
    let stages = [
        (Stage::First, StepCode::InspectFirst),
        (Stage::Second, StepCode::InspectSecond),
    ];
    for (stage, step) in stages {
        if let (Some((on, at)), Some(Value::Inside(inside))) = (
            done_on(state, step),
            value(state, step, MeasureCode::InsideFound),
        ) {
            let found = Found::Inside(stage, inside);
            work.found.push(FoundOn { on, at, found });
        }
    }
    let Closing::Completed(closed) = &state.closing else {
        return work;
    };
    let closed_on = local_date(closed.wall_ms, closed.body.utc_offset_minutes);
    let is_inspected = stages
        .iter()
        .all(|(_, step)| state.status(*step) == Some(StepStatus::Done));
    if is_inspected {
        let inspected = done(closed_on, closed.at);
        work.dones.push((Task::InternalInspection, inspected));
    }
    match code {
        ProcedureCode::SetUp => work.set_up_on = Some(closed_on),
        ProcedureCode::WeeklyLookRound => {
            if let Some((on, at)) = done_on(state, StepCode::Readings) {
                work.dones.push((Task::LookRound, done(on, at)));
            }
        }
        _ => {}
    }
    work
}

fn done(on: NaiveDate, at: RecordRef) -> Done {
    Done {
        on,
        by: DoneBy::Procedure,
        at,
    }
}

/// The local day on which a step was done, and the record that says so.
fn done_on(state: &ProcedureState, step: StepCode) -> Option<(NaiveDate, RecordRef)> {
    let state = state.step(step)?;
    if state.status != StepStatus::Done {
        return None;
    }
    let entry = state.in_force()?;
    let on = local_date(entry.wall_ms, entry.body.utc_offset_minutes);
    Some((on, entry.at))
}

fn value(state: &ProcedureState, step: StepCode, measure: MeasureCode) -> Option<Value> {
    state.step(step)?.in_force()?.body.value(measure)
}
