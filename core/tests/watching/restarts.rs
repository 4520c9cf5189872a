//! New baselines after work on a station, conditions that clear, grow worse or become usual.

use winze_core::simulate::{Conditions, Fault, FaultKind};
use winze_core::suspects::Cause;
use winze_core::units::{Typed, Unit};
use winze_core::watch::{FlagQuantity, Restart, Rule, Setting, Visit, Watch, Watched, Weights};

use crate::{day, fault, simulated, visits, watch};

/// Visits of a station whose set point is moved at week 40.
fn moved(seed: u64) -> (Setting, Vec<Visit>) {
    let simulated = simulated(
        &Conditions::reference(),
        seed,
        80.0,
        Some(fault(FaultKind::SetPointMoved, 39.9, 0.09)),
    );
    (Setting::of(&simulated.station), visits(&simulated))
}

#[test]
fn a_recalibration_starts_a_new_baseline_and_is_no_fault() {
    for seed in 0..5 {
        let (setting, visits) = moved(seed);
        let (flags, _) = watch(&setting, &visits);
        assert!(!flags.is_empty(), "without the act it is a fault");
        let (weights, mut watch) = (Weights::default(), Watch::new());
        let mut flags = Vec::new();
        for (week, visit) in visits.iter().enumerate() {
            if week == 40 {
                watch.restart(Restart::SecondStage);
            }
            flags.extend(watch.take(&weights, &setting, visit).flags);
        }
        assert_eq!(flags, vec![], "seed {seed}");
        let baseline = watch.baseline(Watched::Outlet).expect("it is watched");
        assert!((baseline.level - 0.08).abs() < 0.04);
    }
}

#[test]
fn a_revised_definition_starts_only_what_it_touches() {
    let (setting, visits) = moved(6);
    let (_, mut watch) = watch(&setting, &visits[..30]);
    let revised = Setting {
        set_point_pa: setting.set_point_pa.map(|pa| pa * 1.5),
        ..setting
    };
    watch.take(&Weights::default(), &revised, &visits[30]);
    let seen = |watched| {
        watch
            .baseline(watched)
            .map_or(0.0, |baseline| baseline.visits)
    };
    assert!(seen(Watched::Outlet) < 1.5);
    assert!(seen(Watched::Inlet) > 30.5);
    assert!(seen(Watched::FirstStage) > 30.5);
}

#[test]
fn a_new_inlet_gauge_starts_both_quantities_that_it_shows_in() {
    let (setting, visits) = moved(7);
    let (_, mut watch) = watch(&setting, &visits[..30]);
    watch.restart(Restart::InletGauge);
    assert!(watch.baseline(Watched::Inlet).is_none());
    assert!(watch.baseline(Watched::FirstStage).is_none());
    assert!(watch.baseline(Watched::Outlet).is_some());
}

#[test]
fn a_step_is_said_once() {
    let mut flags_per_station = Vec::new();
    for seed in 10..20 {
        let (setting, visits) = moved(seed);
        let (flags, watch) = watch(&setting, &visits[..64]);
        let after: Vec<_> = flags
            .iter()
            .filter(|flag| flag.at >= day(7 * 40 - 1))
            .collect();
        assert!(
            after
                .iter()
                .all(|flag| flag.quantity != FlagQuantity::Inlet),
            "{after:?}"
        );
        assert!(watch.is_standing(Watched::Outlet));
        flags_per_station.push(after.len());
    }
    // Stuck gauges by chance apart, one flag a station.
    assert!(
        flags_per_station.iter().sum::<usize>() <= 11,
        "{flags_per_station:?}"
    );
}

#[test]
fn a_ramp_is_said_again_when_it_is_clearly_worse_and_names_the_cause_better() {
    let simulated = simulated(
        &Conditions::reference(),
        21,
        70.0,
        Some(fault(FaultKind::FirstStagePassing, 40.0, 0.008)),
    );
    let (flags, _) = watch(&Setting::of(&simulated.station), &visits(&simulated));
    let about: Vec<_> = flags
        .iter()
        .filter(|flag| flag.quantity == FlagQuantity::FirstStage)
        .collect();
    assert!(about.len() >= 2 && about.len() <= 6, "{flags:?}");
    assert!(!about[0].is_worse && about[1..].iter().all(|flag| flag.is_worse));
    assert!(
        about
            .windows(2)
            .all(|pair| pair[1].shift.abs() > pair[0].shift.abs())
    );
    let last = about[about.len() - 1];
    assert_eq!(last.suspects.first(), Some(Cause::FirstStagePassing));
    assert_eq!(last.rule, Rule::Drift);
}

#[test]
fn a_condition_that_goes_away_clears_and_may_be_raised_again() {
    let back = |onset_weeks, magnitude| Fault {
        kind: FaultKind::SetPointMoved,
        onset_weeks,
        magnitude,
    };
    let plan = winze_core::simulate::StationPlan {
        faults: vec![
            back(40.1, 0.10),
            back(48.1, 1.0 / 1.10 - 1.0),
            back(60.1, 0.10),
        ],
        ..plan()
    };
    let simulated = winze_core::simulate::station(&Conditions::reference(), &plan, 30, 1);
    let setting = Setting::of(&simulated.station);
    let visits = visits(&simulated);
    let (flags, _) = watch(&setting, &visits);
    let outlet = |flag: &&winze_core::watch::Flag| flag.rule != Rule::Stuck && flag.shift > 0.05;
    assert_eq!(flags.iter().filter(outlet).count(), 2, "{flags:?}");
    let (_, between) = watch(&setting, &visits[..58]);
    assert!(!between.is_standing(Watched::Outlet));
}

#[test]
fn a_level_that_nobody_objects_to_becomes_the_usual_one() {
    let (setting, visits) = moved(31);
    let (_, at_once) = watch(&setting, &visits[..50]);
    assert!(at_once.is_standing(Watched::Outlet));
    let (_, later) = watch(&setting, &visits);
    assert!(!later.is_standing(Watched::Outlet));
    let baseline = later.baseline(Watched::Outlet).expect("it is watched");
    assert!((baseline.level - 0.08).abs() < 0.04, "{}", baseline.level);
}

#[test]
fn a_creep_is_forecast_and_a_step_is_not() {
    let creep = simulated(
        &Conditions::reference(),
        33,
        54.0,
        Some(fault(FaultKind::PilotCreepUp, 40.0, 0.005)),
    );
    let setting = Setting::of(&creep.station);
    let (_, watched) = watch(&setting, &visits(&creep));
    let band = Setting::bands(&creep.station)[Watched::Outlet.index()].expect("a sound definition");
    let now = creep.readings.last().expect("visits").taken_at;
    let found = watched
        .forecast(Watched::Outlet, band, now)
        .expect("a clear creep");
    // It leaves at ln 1.1 = 0.095 after about 20 weeks in all, give or take the offset.
    let weeks = (found.leaves_at - now).num_days() / 7;
    assert!(
        found.is_upward && (1..=16).contains(&weeks),
        "{weeks} weeks"
    );
    assert!(found.earliest <= found.leaves_at);
    let (setting, visits) = moved(34);
    let (_, step) = watch(&setting, &visits[..50]);
    assert_eq!(step.forecast(Watched::Outlet, (-0.2, 0.2), now), None);
}

#[test]
fn bands_are_those_of_the_definition() {
    let mut station = simulated(&Conditions::reference(), 35, 1.0, None).station;
    station.second_stage.set_point = Typed::of(20, -1, Unit::Bar);
    station.second_stage.band = Typed::of(2, -1, Unit::Bar);
    let [inlet, first, outlet] = Setting::bands(&station);
    let (low, high) = outlet.expect("a set point");
    assert!((low - 0.9_f64.ln()).abs() < 1e-12 && (high - 1.1_f64.ln()).abs() < 1e-12);
    // Ten per cent up in the interstage pressure is ten per cent down in the ratio.
    let (low, high) = first.expect("a ratio");
    assert!((low + 1.1_f64.ln()).abs() < 1e-12 && (high + 0.9_f64.ln()).abs() < 1e-12);
    assert!(inlet.is_some_and(|(low, high)| low < 0.0 && high > 0.0));
}

fn plan() -> winze_core::simulate::StationPlan {
    winze_core::simulate::StationPlan {
        code: winze_core::station::StationCode::parse("T-02").expect("a code"),
        name: String::new(),
        level: String::new(),
        order: 1,
        start: day(0),
        weeks: 75.0,
        faults: vec![],
        slip_share: 0.0,
    }
}
