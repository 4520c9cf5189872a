//! Histories that no simulator makes and every cupboard full of sheets has.

use chrono::TimeDelta;
use winze_core::simulate::{Conditions, FaultKind};
use winze_core::station::Quantity;
use winze_core::units::{Pressure, Typed, Unit};
use winze_core::verdict::FlowState;
use winze_core::watch::{Rule, Setting, Visit, Watch, Watched, Weights};

use crate::{day, fault, simulated, visits, watch};

fn visit(days: i64, kpa: [i64; 3]) -> Visit {
    Visit {
        at: day(days),
        pressures: kpa.map(|kpa| Some(Pressure::from_pa(kpa * 1000))),
        flow: FlowState::NotNoted,
    }
}

fn setting() -> Setting {
    Setting::of(&simulated(&Conditions::reference(), 5, 1.0, None).station)
}

#[test]
fn one_reading_only() {
    let simulated = simulated(&Conditions::reference(), 1, 0.5, None);
    let (flags, watch) = watch(&Setting::of(&simulated.station), &visits(&simulated));
    assert_eq!(flags, vec![]);
    let baseline = watch.baseline(Watched::Outlet).expect("it was seen");
    assert!(baseline.visits > 0.99 && baseline.visits < 1.01);
}

#[test]
fn all_equal_is_three_stuck_gauges_and_nothing_else() {
    let simulated = simulated(&Conditions::reference(), 2, 1.0, None);
    let setting = Setting::of(&simulated.station);
    let first = visits(&simulated)[0];
    let same: Vec<Visit> = (0..60)
        .map(|week| Visit {
            at: day(7 * week),
            ..first
        })
        .collect();
    let (flags, _) = watch(&setting, &same);
    assert!(
        flags.iter().all(|flag| flag.rule == Rule::Stuck),
        "{flags:?}"
    );
    assert_eq!(flags.len(), 3);
}

#[test]
fn a_gap_of_a_year_raises_nothing_by_itself() {
    let mut flags = 0;
    for seed in 0..20 {
        let simulated = simulated(&Conditions::reference(), seed, 60.0, None);
        let mut visits = visits(&simulated);
        for visit in visits.iter_mut().skip(30) {
            visit.at += TimeDelta::days(365);
        }
        flags += watch(&Setting::of(&simulated.station), &visits).0.len();
    }
    // 20 stations for a little over a year at 0.05 a year each.
    assert!(flags <= 3, "{flags}");
}

#[test]
fn two_readings_within_a_minute_are_one_visit() {
    let simulated = simulated(&Conditions::reference(), 3, 30.0, None);
    let setting = Setting::of(&simulated.station);
    let once = visits(&simulated);
    let twice: Vec<Visit> = once
        .iter()
        .flat_map(|visit| {
            [
                *visit,
                Visit {
                    at: visit.at + TimeDelta::seconds(40),
                    ..*visit
                },
            ]
        })
        .collect();
    let (weights, mut watch_once, mut watch_twice) =
        (Weights::default(), Watch::new(), Watch::new());
    for visit in &once {
        watch_once.take(&weights, &setting, visit);
    }
    let repeats = twice
        .iter()
        .filter(|visit| watch_twice.take(&weights, &setting, visit).is_repeat)
        .count();
    assert_eq!(repeats, once.len());
    assert_eq!(watch_once, watch_twice);
}

#[test]
fn a_clock_going_backwards_stops_time_and_nothing_else() {
    let simulated = simulated(&Conditions::reference(), 4, 40.0, None);
    let setting = Setting::of(&simulated.station);
    let mut visits = visits(&simulated);
    for visit in &mut visits[20..25] {
        visit.at -= TimeDelta::days(3000);
    }
    let (flags, watch) = watch(&setting, &visits);
    assert_eq!(flags, vec![]);
    assert!(watch.baseline(Watched::Inlet).is_some());
}

#[test]
fn a_span_of_zero_leaves_its_quantities_unwatched() {
    let mut simulated = simulated(&Conditions::reference(), 6, 40.0, None);
    simulated.station.interstage.high = Typed::of(0, 0, Unit::Bar);
    let (flags, watch) = watch(&Setting::of(&simulated.station), &visits(&simulated));
    assert_eq!(flags, vec![]);
    assert!(watch.baseline(Watched::FirstStage).is_none());
    assert!(watch.baseline(Watched::Outlet).is_some());
}

#[test]
fn a_ratio_of_zero_and_a_set_point_of_zero_are_not_watched() {
    let mut simulated = simulated(&Conditions::reference(), 6, 40.0, None);
    simulated.station.first_stage.ratio.mantissa = 0;
    simulated.station.second_stage.set_point = Typed::of(0, 0, Unit::Bar);
    let (flags, watch) = watch(&Setting::of(&simulated.station), &visits(&simulated));
    assert_eq!(flags, vec![]);
    assert!(watch.baseline(Watched::FirstStage).is_none());
    assert!(watch.baseline(Watched::Outlet).is_none());
    assert!(watch.baseline(Watched::Inlet).is_some());
}

#[test]
fn missing_gauges_are_passed_over_and_the_rest_is_watched() {
    let magnitude = 0.08;
    let moved = Some(fault(FaultKind::SetPointMoved, 40.2, magnitude));
    let simulated = simulated(&Conditions::reference(), 7, 50.0, moved);
    let mut visits = visits(&simulated);
    for (place, visit) in visits.iter_mut().enumerate() {
        visit.pressures[Quantity::Inlet.index()] = None;
        if place % 3 == 0 {
            visit.pressures[Quantity::Interstage.index()] = None;
        }
    }
    let (flags, watch) = watch(&Setting::of(&simulated.station), &visits);
    assert_eq!(flags.len(), 1);
    assert!(
        (flags[0].shift - magnitude.ln_1p()).abs() < 0.04,
        "{}",
        flags[0].shift
    );
    assert!(watch.baseline(Watched::Inlet).is_none());
}

#[test]
fn readings_without_any_value_are_survived() {
    let (weights, setting, mut watch) = (Weights::default(), setting(), Watch::new());
    for week in 0..40 {
        let empty = Visit {
            at: day(7 * week),
            pressures: [None; 3],
            flow: FlowState::NotNoted,
        };
        let outcome = watch.take(&weights, &setting, &empty);
        assert_eq!((outcome.flags, outcome.scores), (vec![], [None; 3]));
    }
}

#[test]
fn zero_and_negative_pressures_are_survived() {
    let (weights, setting, mut watch) = (Weights::default(), setting(), Watch::new());
    for week in 0..40 {
        let outcome = watch.take(&weights, &setting, &visit(7 * week, [0, -50, -1]));
        assert!(
            outcome
                .scores
                .iter()
                .flatten()
                .all(|score| score.is_finite())
        );
    }
}

#[test]
fn no_flow_says_nothing_about_the_outlet() {
    let simulated = simulated(&Conditions::reference(), 8, 30.0, None);
    let setting = Setting::of(&simulated.station);
    let mut watch = Watch::new();
    for visit in visits(&simulated) {
        let still = Visit {
            flow: FlowState::Still,
            ..visit
        };
        let outcome = watch.take(&Weights::default(), &setting, &still);
        assert_eq!(outcome.scores[Watched::Outlet.index()], None);
    }
    assert!(watch.baseline(Watched::Outlet).is_none());
    assert!(watch.baseline(Watched::Inlet).is_some());
}
