//! The watch as a whole: laws it keeps, bad input it survives, and the figures it reaches.

mod bad_input;
mod chronicle;
mod laws;
mod measured;
mod restarts;
mod sheets;

#[path = "../../examples/watch_table/measure.rs"]
#[allow(dead_code, reason = "the example prints more than the tests need")]
#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "counts of a simulated fleet"
)]
mod measure;

use chrono::{DateTime, Utc};
use winze_core::simulate::{
    Conditions, Fault, FaultKind, SimulatedStation, StationPlan, station as simulate,
};
use winze_core::station::StationCode;
use winze_core::watch::{Flag, Setting, Visit, Watch, Weights};

/// A moment `days` after 2024-01-01.
fn day(days: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + chrono::TimeDelta::days(19_723 + days)
}

/// A station with at most one fault.
fn simulated(
    conditions: &Conditions,
    seed: u64,
    weeks: f64,
    fault: Option<Fault>,
) -> SimulatedStation {
    let plan = StationPlan {
        code: StationCode::parse("T-01").expect("a code"),
        name: String::new(),
        level: String::new(),
        order: 1,
        start: day(0),
        weeks,
        faults: fault.into_iter().collect(),
        slip_share: 0.0,
    };
    simulate(conditions, &plan, seed, 1)
}

fn fault(kind: FaultKind, onset_weeks: f64, magnitude: f64) -> Fault {
    Fault {
        kind,
        onset_weeks,
        magnitude,
    }
}

fn visits(simulated: &SimulatedStation) -> Vec<Visit> {
    simulated
        .readings
        .iter()
        .map(|reading| Visit::of(&simulated.station, reading.taken_at, &reading.entry))
        .collect()
}

/// All flags of a history, and the watch after it.
fn watch(setting: &Setting, visits: &[Visit]) -> (Vec<Flag>, Watch) {
    let (weights, mut watch) = (Weights::default(), Watch::new());
    let flags = visits
        .iter()
        .flat_map(|visit| watch.take(&weights, setting, visit).flags)
        .collect();
    (flags, watch)
}
