//! When each recommendation is raised, and when it is not.

use winze_core::hydraulics::{
    Concern, DutyFlow, Failed, Practice, Recommendation, Stage, check, check_with,
};
use winze_core::station::{Quantity, Station, UsualRange};
use winze_core::units::{Typed, Unit};

use crate::near;
use crate::stations::{bar, bare_station, decimal, station};

fn codes(station: &Station) -> Vec<&'static str> {
    let found = check(station).expect("a station with sense");
    found
        .recommendations
        .iter()
        .map(Recommendation::code)
        .collect()
}

fn find(station: &Station, code: &str) -> Recommendation {
    let found = check(station).expect("a station with sense");
    let all = found.recommendations;
    all.into_iter()
        .find(|recommendation| recommendation.code() == code)
        .expect("the recommendation is raised")
}

/// Inlet pressures in bar, lowest to highest usual.
fn with_inlet(mut station: Station, low: i64, high: i64) -> Station {
    station.inlet_usual = UsualRange {
        low: Typed::of(low, 0, Unit::Bar),
        high: Typed::of(high, 0, Unit::Bar),
    };
    station
}

#[test]
fn a_sound_station_is_told_only_what_a_stuck_first_stage_does_to_the_second() {
    assert_eq!(codes(&station()), ["survivor-would-cavitate"]);
    let mut tougher = station();
    tougher.second_stage.valve.permitted_sigma = Some(decimal("1.33"));
    tougher.second_stage.valve.fl = Some(decimal("0.95"));
    assert_eq!(codes(&tougher), [""; 0]);
    // At 3 m3/h it would need 0.0499 of its Kv against the whole drop, at 4 m3/h 0.0666.
    tougher.site.duty.min_m3_h = Some(decimal("4"));
    // That second stage could also do the whole duty alone, the relief valve standing behind it.
    assert_eq!(codes(&tougher), ["two-stages-not-needed"]);
}

#[test]
fn two_stages_are_needed_while_nothing_else_protects_the_pipework() {
    let mut tougher = station();
    tougher.second_stage.valve.permitted_sigma = Some(decimal("1.33"));
    tougher.second_stage.valve.fl = Some(decimal("0.95"));
    tougher.site.relief_set = None;
    assert_eq!(codes(&tougher), ["downstream-unprotected"]);
    let raised = find(&tougher, "downstream-unprotected");
    assert_eq!(raised.concern(), Concern::Danger);
    assert_eq!(
        raised,
        Recommendation::DownstreamUnprotected {
            failed: Failed::Both,
            outlet: bar(11.0),
            excess: bar(6.0),
            relief: None
        }
    );
}

#[test]
fn a_generic_damage_band_decides_nothing() {
    // Sigma 1.2 lies below every band found on web pages; without a maker's limit it is a figure.
    let mut station = with_inlet(station(), 16, 16);
    station.first_stage.ratio = decimal("6");
    for valve in [
        &mut station.first_stage.valve,
        &mut station.second_stage.valve,
    ] {
        valve.permitted_sigma = None;
        valve.fl = Some(decimal("0.99"));
    }
    let found = check(&station).unwrap();
    let sigma = found.inlets[2].first.cavitation.as_ref().unwrap().sigma;
    assert!(sigma < 1.3);
    let codes = codes(&station);
    assert!(!codes.contains(&"stage-would-cavitate"), "{codes:?}");
    assert!(codes.contains(&"data-lacking"), "{codes:?}");
}

#[test]
fn a_stage_below_its_own_limit_is_named_with_the_ratios_that_would_suit() {
    let mut station = station();
    station.first_stage.valve.permitted_sigma = Some(decimal("2.0"));
    let Recommendation::StageWouldCavitate {
        stage,
        sigma,
        limit,
        window,
    } = find(&station, "stage-would-cavitate")
    else {
        panic!("another recommendation under that code")
    };
    assert_eq!(stage, Stage::First);
    near(sigma, 1.816_646, 1.0e-5);
    near(limit.sigma, 2.0, 0.0);
    let window = window.expect("some ratio suits");
    // Second stage, sigma 1.5: p2 <= (1.5 x 301325 - 2339.2) / 0.5 = 899297 Pa absolute,
    // 7.97971 bar: ratio from 11 / 7.97971.
    near(window.second_from, 1.378_496, 1.0e-5);
    // First stage, sigma 2: p2 >= 1201325 - 1198986 / 2 = 601832 Pa absolute, 5.00507 bar.
    near(window.first_up_to.unwrap(), 2.197_772, 1.0e-5);
    // Supply: 9 bar less 10 % over 2.3 bar.
    near(window.supply_up_to, 3.521_739, 1.0e-5);
    near(window.up_to(), 2.197_772, 1.0e-5);

    station.first_stage.ratio = decimal("2.1");
    let codes = codes(&station);
    assert!(!codes.contains(&"stage-would-cavitate"), "{codes:?}");
}

#[test]
fn forty_bar_to_one_is_too_much_for_two_stages() {
    let mut station = with_inlet(station(), 40, 40);
    station.second_stage.set_point = Typed::of(1, 0, Unit::Bar);
    for valve in [
        &mut station.first_stage.valve,
        &mut station.second_stage.valve,
    ] {
        valve.permitted_sigma = Some(decimal("1.8"));
    }
    let Recommendation::TwoStagesNotEnough {
        second_from,
        first_up_to,
    } = find(&station, "two-stages-not-enough")
    else {
        panic!("another recommendation under that code")
    };
    // p2 <= (1.8 x 201325 - 2339.2) / 0.8 = 450057 Pa absolute, 3.48732 bar.
    near(second_from, 11.470_13, 1.0e-4);
    // p2 >= 4101325 - 4098986 / 1.8 = 1824111 Pa absolute, 17.22786 bar.
    near(first_up_to, 2.321_82, 1.0e-4);
}

#[test]
fn stages_too_small_and_too_large_are_named_with_their_share() {
    let mut small = station();
    small.second_stage.valve.rated_kv = Some(decimal("12"));
    let raised = find(&small, "stage-undersized");
    let Recommendation::StageUndersized {
        stage,
        flow,
        required_kv,
        share,
    } = raised
    else {
        panic!("another recommendation under that code")
    };
    assert_eq!((stage, flow), (Stage::Second, DutyFlow::Max));
    // 20 m3/h at 1.6 bar (9 bar inlet): 20 sqrt(0.999103 / 1.6), 0.9982072 / 0.9991033 relative.
    near(required_kv, 15.804_30, 1.0e-4);
    near(share, 1.317_03, 1.0e-4);
    assert_eq!(raised.concern(), Concern::DoesNotWork);

    let mut large = station();
    large.first_stage.valve.rated_kv = Some(decimal("100"));
    let Recommendation::StageOversized { stage, flow, .. } = find(&large, "stage-oversized") else {
        panic!("another recommendation under that code")
    };
    assert_eq!((stage, flow), (Stage::First, DutyFlow::Min));
    // What counts as too large is the engineer's.
    let practice = Practice {
        least_share: 0.005,
        ..Practice::default()
    };
    let relaxed = check_with(&large, &practice).unwrap();
    let mut codes = relaxed.recommendations.iter().map(Recommendation::code);
    assert!(!codes.any(|code| code == "stage-oversized"));
}

#[test]
fn a_set_point_near_the_interstage_pressure_is_named_before_size_is_blamed() {
    let mut station = station();
    station.second_stage.set_point = Typed::of(31, -1, Unit::Bar);
    let tight = find(&station, "set-point-too-near-interstage");
    // Needs 3.4 bar, 3.6 to expect, 3.24 at the end of the tolerance.
    assert_eq!(
        tight,
        Recommendation::SetPointTooNearInterstage {
            set_point: bar(3.1),
            needed: bar(3.4),
            expected: bar(3.6),
            least: bar(3.24)
        }
    );
    assert_eq!(tight.concern(), Concern::Poor);

    station.second_stage.set_point = Typed::of(35, -1, Unit::Bar);
    let starved = find(&station, "set-point-too-near-interstage");
    assert_eq!(starved.concern(), Concern::DoesNotWork);
}

#[test]
fn a_set_point_the_spring_does_not_reach_is_named() {
    let mut station = station();
    station.second_stage.spring_range =
        Some((Typed::of(3, 0, Unit::Bar), Typed::of(8, 0, Unit::Bar)));
    assert_eq!(
        find(&station, "set-point-outside-spring"),
        Recommendation::SetPointOutsideSpring {
            set_point: bar(2.0),
            low: bar(3.0),
            high: bar(8.0)
        }
    );
}

#[test]
fn choked_stages_are_named() {
    let mut station = station();
    station.first_stage.valve.fl = Some(decimal("0.6"));
    let Recommendation::StageChoked {
        stage,
        drop,
        choked_drop,
        ..
    } = find(&station, "stage-choked")
    else {
        panic!("another recommendation under that code")
    };
    assert_eq!((stage, drop), (Stage::First, bar(6.6)));
    // 0.36 (1201325 - 0.957117 x 2339.2)
    near(choked_drop.in_unit(Unit::Bar), 4.316_71, 1.0e-4);
}

#[test]
fn an_overranged_gauge_is_named_once_with_the_first_failure_that_does_it() {
    let mut station = station();
    station.interstage.high = Typed::of(10, 0, Unit::Bar);
    station.outlet.high = Typed::of(10, 0, Unit::Bar);
    let found = check(&station).unwrap();
    let named: Vec<_> = found
        .recommendations
        .iter()
        .filter_map(|recommendation| match recommendation {
            Recommendation::GaugeOverranged { failed, gauge } => Some((*failed, gauge.quantity)),
            _ => None,
        })
        .collect();
    assert_eq!(
        named,
        [
            (Failed::First, Quantity::Interstage),
            (Failed::Both, Quantity::Outlet)
        ]
    );
}

#[test]
fn gravest_first_and_what_is_lacking_last() {
    let mut station = bare_station();
    station.site.downstream_max = Some(Typed::of(3, 0, Unit::Bar));
    station.second_stage.set_point = Typed::of(38, -1, Unit::Bar);
    assert_eq!(
        codes(&station),
        [
            "downstream-unprotected",
            "downstream-unprotected",
            "downstream-unprotected",
            "set-point-too-near-interstage",
            "gauge-overranged",
            "gauge-overranged",
            "data-lacking",
        ]
    );
}
