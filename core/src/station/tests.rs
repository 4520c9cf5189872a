//! What is found wrong with definitions, and what is assumed where a register is silent.

use winze_sync_format::Decimal;

use super::*;
use crate::units::{Pressure, Typed, Unit};

fn row() -> defaults::RegisterRow {
    defaults::RegisterRow {
        code: StationCode::parse("T-07").unwrap(),
        unit: Unit::Bar,
        ratio: Decimal::new(25, -1),
        set_point: Decimal::whole(2),
        inlet_typical: Decimal::whole(10),
        gauge_class: Decimal::new(16, -1),
        spans: [Decimal::whole(16), Decimal::whole(10), Decimal::whole(4)],
    }
}

fn bar(tenths: i64) -> Typed {
    Typed::of(tenths, -1, Unit::Bar)
}

/// The codes of the problems that `change` brings into a sound definition.
fn after(change: impl FnOnce(&mut Station)) -> Vec<&'static str> {
    let mut station = defaults::station(&row());
    assert_eq!(station.problems(), []);
    change(&mut station);
    station.problems().iter().map(Problem::code).collect()
}

#[test]
fn a_ratio_that_reduces_nothing_is_fatal() {
    for (mantissa, exponent) in [(0, 0), (-25, -1), (1, 0), (9, -1)] {
        let mut station = defaults::station(&row());
        station.first_stage.ratio = Decimal::new(mantissa, exponent);
        let problems = station.problems();
        let ratio = station.first_stage.ratio;
        assert!(
            problems.contains(&Problem::RatioNotAboveOne { ratio }),
            "{problems:?}"
        );
        assert!(problems[0].is_fatal());
    }
}

#[test]
fn a_set_point_above_the_interstage_pressure_is_fatal() {
    let mut station = defaults::station(&row());
    station.second_stage.set_point = bar(45);
    let found = station.problems();
    let expected = Problem::SetPointAboveInterstage {
        set_point: Pressure::from_pa(450_000),
        interstage: Pressure::from_pa(400_000),
    };
    assert_eq!(found[0], expected);
    assert!(found[0].is_fatal());
}

#[test]
fn each_problem_is_found_by_name() {
    let codes = [
        (after(|s| s.outlet.high = s.outlet.low), "zero-span"),
        (after(|s| s.second_stage.band = bar(0)), "not-positive"),
        (
            after(|s| s.inlet.class = Decimal::whole(-1)),
            "not-positive",
        ),
        (
            after(|s| s.outlet.division = Decimal::whole(0)),
            "not-positive",
        ),
        (
            after(|s| s.first_stage.valve.rated_kv = Some(Decimal::whole(0))),
            "not-positive",
        ),
        (
            after(|s| s.site.duty.min_m3_h = Some(Decimal::whole(-1))),
            "not-positive",
        ),
        (after(|s| s.inlet_usual.low = bar(200)), "range-reversed"),
        (
            after(|s| s.second_stage.spring_range = Some((bar(30), bar(10)))),
            "range-reversed",
        ),
        (after(|s| s.interstage.high = bar(30)), "expected-off-scale"),
        (
            after(|s| s.interstage.high = bar(50)),
            "expected-above-working-range",
        ),
        (
            after(|s| s.second_stage.set_point = bar(38)),
            "too-little-differential",
        ),
        (
            after(|s| s.second_stage.spring_range = Some((bar(30), bar(60)))),
            "set-point-outside-spring",
        ),
        (
            after(|s| s.first_stage.as_left_ratio = Some(Decimal::new(32, -1))),
            "as-left-far-from-nominal",
        ),
        (
            after(|s| s.first_stage.ratio = Decimal::whole(25)),
            "ratio-unusual",
        ),
        (
            after(|s| s.site.relief_set = Some(bar(21))),
            "relief-unsuited",
        ),
        (
            after(|s| s.outlet.class = Decimal::whole(4)),
            "gauge-too-coarse",
        ),
    ];
    for (found, code) in codes {
        assert!(found.contains(&code), "{code} is not among {found:?}");
    }
}

#[test]
fn a_relief_between_band_and_limit_suits() {
    let found = after(|s| {
        s.site.relief_set = Some(bar(30));
        s.site.downstream_max = Some(bar(40));
    });
    assert_eq!(found, Vec::<&str>::new());
}

#[test]
fn what_a_short_register_row_leaves_out_is_assumed() {
    let station = defaults::station(&row());
    assert_eq!(
        station.inlet_usual,
        UsualRange {
            low: Typed::of(9, 0, Unit::Bar),
            high: Typed::of(11, 0, Unit::Bar)
        }
    );
    assert_eq!(
        station.second_stage.band.to_pressure(),
        Pressure::from_pa(20_000)
    );
    assert_eq!(station.inlet.division, Decimal::new(5, -1));
    assert_eq!(station.outlet.division, Decimal::new(1, -1));
    assert_eq!(
        (station.inlet.decimals(), station.outlet.decimals()),
        (1, 2)
    );
}

#[test]
fn decimals_of_a_dial_show_a_fifth_of_a_division() {
    for (division, exponent, decimals) in [
        (5, -1, 1),
        (1, -1, 2),
        (2, -1, 2),
        (2, 0, 1),
        (5, 0, 0),
        (20, 0, 0),
        (1, -6, 4),
        (0, 0, 0),
    ] {
        let mut gauge = defaults::station(&row()).inlet;
        gauge.division = Decimal::new(division, exponent);
        assert_eq!(gauge.decimals(), decimals, "division {division}e{exponent}");
    }
}

#[test]
fn air_pressure_comes_from_altitude_before_depth() {
    let mut site = Site {
        depth_m: Some(1000),
        ..Site::default()
    };
    assert!((site.air_pressure_pa() - 113_931.17).abs() < 0.5);
    site.altitude_m = Some(0);
    assert!((site.air_pressure_pa() - 101_325.0).abs() < 1.0e-6);
}
