//! The logbook that a walk starts from, and what is to stand in it after.

use std::path::Path;
use std::sync::Arc;

use chrono::Utc;
use winze_core::actions::load_register;
use winze_core::assess::BaselineWhy;
use winze_core::clock::FixedClock;
use winze_core::procedures::{Branch, Closing, ProcedureCode, StepCode, StepStatus};
use winze_core::record::Role;
use winze_core::{Logbook, query};
use winze_tests::samples;
use winze_tests::walker::{AS_FOUND, AS_LEFT};

use crate::Result;

/// The station that is walked to.
pub const STATION: &str = "T-07";

/// A new tablet's logbook with two stations, of this moment: the real program has the real clock.
pub fn logbook(folder: &Path) -> Result<Logbook> {
    let clock = Arc::new(FixedClock::at(Utc::now().timestamp_millis()));
    let mut logbook = Logbook::create(folder, Role::Tablet, "tablet a", clock)?;
    let stations = vec![samples::station(STATION), samples::station("T-08")];
    load_register(&mut logbook, stations, "tester", &mut |_| true)?;
    Ok(logbook)
}

/// Opens what a program left behind.
pub fn again(folder: &Path) -> Result<Logbook> {
    let clock = Arc::new(FixedClock::at(Utc::now().timestamp_millis()));
    Ok(Logbook::open(folder, clock)?)
}

/// One reading as tapped, and nothing else.
pub fn check_reading(folder: &Path, values: [&str; 3]) -> Result<String> {
    let logbook = again(folder)?;
    let visits = query::past_readings(&logbook, &samples::code(STATION), 9)?;
    let [visit] = visits.as_slice() else {
        return Err(format!("{} readings were stored, not one", visits.len()).into());
    };
    let meant = samples::entry(values[0], values[1], values[2]);
    let same = visit.entry.inlet == meant.inlet
        && visit.entry.interstage == meant.interstage
        && visit.entry.outlet == meant.outlet;
    if !same {
        return Err(format!("stored {:?}, tapped {meant:?}", visit.entry).into());
    }
    Ok(format!("the reading is stored: {}", visit.at))
}

/// One procedure, complete, every step done on its branch, the last reading as left.
pub fn check_procedure(folder: &Path, code: ProcedureCode, branch: Branch) -> Result<String> {
    let logbook = again(folder)?;
    let all = query::procedures_at(&logbook, &samples::code(STATION))?;
    let [view] = all.as_slice() else {
        return Err(format!("{} procedures were stored, not one", all.len()).into());
    };
    let (data, state) = view.known_state()?;
    if data.code != code || !matches!(state.closing, Closing::Completed(_)) {
        return Err(format!(
            "{:?} is {:?}, lacking {:?}",
            data.code, state.closing, state.lacking
        )
        .into());
    }
    if data.gives_service && !state.is_in_service() {
        return Err("it is complete and the station not in service".into());
    }
    let is_there = |status: StepStatus| status != StepStatus::OtherBranch;
    let expected = data
        .steps
        .iter()
        .filter(|step| step.branch.is_none_or(|own| own == branch));
    let steps: Vec<_> = state
        .steps
        .iter()
        .filter(|step| is_there(step.status))
        .collect();
    let undone = steps.iter().find(|step| step.status != StepStatus::Done);
    if let Some(step) = undone {
        return Err(format!("{:?} is {:?}", step.step.code, step.status).into());
    }
    if expected.count() != steps.len() {
        return Err(format!("{} steps of this branch", steps.len()).into());
    }
    let visits = query::past_readings(&logbook, &samples::code(STATION), 9)?;
    let newest = visits.first().ok_or("no reading was stored")?;
    let last_read = data.steps.iter().rev().find(|step| step.reads_gauges());
    let meant = match last_read.map(|step| step.code) {
        Some(StepCode::AsFound) => AS_FOUND,
        _ => AS_LEFT,
    };
    if newest.entry.outlet != samples::entry(meant[0], meant[1], meant[2]).outlet {
        return Err(format!("{meant:?} was tapped last, {:?} stored", newest.entry).into());
    }
    check_baselines(&logbook, code)?;
    Ok(format!("{} steps done and stored", steps.len()))
}

/// What the work changed is learned anew, and nothing else.
fn check_baselines(logbook: &Logbook, code: ProcedureCode) -> Result<()> {
    let wanted = match code {
        ProcedureCode::SetUp | ProcedureCode::InternalInspection => [true, true, true],
        ProcedureCode::YearlyClean => [true, false, false],
        ProcedureCode::Recalibrate => [false, false, true],
        ProcedureCode::ReturnToService | ProcedureCode::WeeklyLookRound => [false; 3],
    };
    let judged = query::judgement(logbook, &samples::code(STATION))?;
    let mut begun = [false; 3];
    for start in &judged.baselines {
        if matches!(start.why, BaselineWhy::Work { .. }) {
            begun[start.watched.index()] = true;
        }
    }
    if begun != wanted {
        return Err(format!("baselines begun by the work: {begun:?}, not {wanted:?}").into());
    }
    Ok(())
}
