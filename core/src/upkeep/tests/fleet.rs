//! How often a strainer is believed to fill: on simulated mains that only wander, and on real filling.

use chrono::{DateTime, TimeDelta};

use super::{Known, done};
use crate::simulate::{Conditions, FaultKind, FleetPlan, SimulatedStation};
use crate::units::Typed;
use crate::upkeep::{Interval, Task, Why, local_date};

/// Stations cleaned on the day before their first visit and visited weekly for a year.
fn fleet(healthy: u32, each: u32) -> Vec<SimulatedStation> {
    let plan = FleetPlan {
        weeks: 52.0,
        healthy,
        each,
        faults: vec![FaultKind::StrainerBlocking],
        onset_weeks: (2.0, 4.0),
        after_onset_weeks: 48.0,
        start: DateTime::UNIX_EPOCH + TimeDelta::days(19_728),
        ..FleetPlan::stated(Conditions::reference(), 20_260_806)
    };
    plan.stations()
}

/// By how many months the yearly cleaning comes forward a year after the last.
fn months_off(simulated: &SimulatedStation) -> u32 {
    let mut known = Known::new();
    known.definition = simulated.station.clone();
    for reading in &simulated.readings {
        let on = local_date(reading.taken_at.timestamp_millis(), 0);
        known.visit(on, 0).inlet = reading.entry.inlet.map(Typed::to_pressure);
    }
    let first = known.visits[0].on;
    let mut cleaned = done("2024-01-01");
    cleaned.on = Interval::Days(1).before(first);
    known.dones.push((Task::YearlyClean, cleaned));
    let today = known.visits.last().unwrap().on;
    let due = known.task(Task::YearlyClean, &today.to_string());
    due.why.iter().map(Why::months_off).sum()
}

/// Measured with this seed: 0 of 200 healthy stations, 40 of 40 filling ones.
#[test]
fn a_filling_strainer_is_told_from_a_main_that_wanders() {
    let found: Vec<u32> = fleet(200, 40).iter().map(months_off).collect();
    let (healthy, filling) = found.split_at(200);
    let hastened = |part: &[u32]| part.iter().filter(|months| **months > 0).count();
    assert!(hastened(healthy) <= 4, "{} healthy ones", hastened(healthy));
    assert!(
        hastened(filling) >= 36,
        "{} filling ones",
        hastened(filling)
    );
}
