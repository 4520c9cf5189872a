//! G-1 to G-4: gauge classes, working ranges, grades and units.

use winze_core::station::{AsmeGrade, Gauge, defaults};
use winze_core::units::{Pressure, Typed, Unit};
use winze_sync_format::Decimal;

use crate::{near, near_relative, rows};

fn gauge(high: i64, class: Decimal) -> Gauge {
    defaults::gauge(Decimal::whole(high), Unit::Bar, class)
}

#[test]
fn g1_class_is_per_cent_of_span_all_along_the_scale() {
    let table = rows(include_str!("../data/gauge-classes.csv"));
    assert!(table.len() > 30, "the whole table is read");
    for row in table {
        let gauge = gauge(row[0].parse().unwrap(), row[1].parse().unwrap());
        let wanted: f64 = row[2].parse().unwrap();
        for pa in [0, 100_000, 200_000, gauge.high.to_pressure().pa()] {
            let found = gauge.largest_error_pa(Pressure::from_pa(pa));
            near(found / 1.0e5, wanted, 1.0e-9);
        }
    }
}

#[test]
fn g1_span_counts_from_the_lower_end() {
    let mut gauge = gauge(5, Decimal::whole(1));
    gauge.low = Typed::of(-1, 0, Unit::Bar);
    assert_eq!(gauge.span(), Pressure::from_pa(600_000));
    near(gauge.largest_error_pa(Pressure::ZERO), 6_000.0, 1.0e-9);
}

#[test]
fn g1_fifteen_kelvin_add_six_tenths_of_a_per_cent() {
    let added = (35.0 - defaults::GAUGE_REFERENCE_C) * defaults::GAUGE_PERCENT_PER_KELVIN;
    near(added, 0.6, 1.0e-12);
}

#[test]
fn g2_working_range_is_three_quarters_of_full_scale() {
    for row in rows(include_str!("../data/gauge-classes.csv")) {
        let gauge = gauge(row[0].parse().unwrap(), row[1].parse().unwrap());
        let steady: f64 = row[3].parse().unwrap();
        let pulsating: f64 = row[4].parse().unwrap();
        near(gauge.working_max().in_unit(Unit::Bar), steady, 1.0e-5);
        near(
            gauge.high.value() * defaults::WORKING_SHARE_PULSATING,
            pulsating,
            1.0e-9,
        );
    }
}

#[test]
fn g3_grades_of_a_300_psi_gauge() {
    // psi at 10 %, 50 % and 90 % of the scale.
    let wanted = [
        (AsmeGrade::Grade4A, [0.3, 0.3, 0.3]),
        (AsmeGrade::Grade3A, [0.75, 0.75, 0.75]),
        (AsmeGrade::Grade2A, [1.5, 1.5, 1.5]),
        (AsmeGrade::Grade1A, [3.0, 3.0, 3.0]),
        (AsmeGrade::GradeA, [6.0, 3.0, 6.0]),
        (AsmeGrade::GradeB, [9.0, 6.0, 9.0]),
        (AsmeGrade::GradeC, [12.0, 9.0, 12.0]),
        (AsmeGrade::GradeD, [15.0, 15.0, 15.0]),
    ];
    for (grade, errors) in wanted {
        let mut gauge = defaults::gauge(Decimal::whole(300), Unit::Psi, Decimal::whole(1));
        gauge.grade = Some(grade);
        for (reading, error) in [30, 150, 270].into_iter().zip(errors) {
            let reading = Typed::of(reading, 0, Unit::Psi).to_pressure();
            // A pascal of rounding in span and reading is 0.0002 psi.
            near(
                Unit::Psi.from_pa(gauge.largest_error_pa(reading)),
                error,
                1.0e-4,
            );
        }
        assert_eq!(AsmeGrade::from_code(grade.code()), Some(grade));
    }
}

#[test]
fn g4_units_in_pascal() {
    let wanted = [
        ("bar", Unit::Bar),
        ("kPa", Unit::Kilopascal),
        ("MPa", Unit::Megapascal),
        ("psi (lbf/in2)", Unit::Psi),
        (
            "kgf/cm2 = technical atmosphere (at)",
            Unit::KilogramForcePerCm2,
        ),
        ("metre of water, conventional (mH2O)", Unit::MetreOfWater),
        ("foot of water, conventional (ftH2O)", Unit::FootOfWater),
    ];
    let table = rows(include_str!("../data/pressure-units.csv"));
    for (name, unit) in wanted {
        let row = table
            .iter()
            .find(|row| row[0] == name)
            .expect("the unit is in the table");
        near_relative(unit.pascals(), row[1].parse().unwrap(), 1.0e-15);
    }
}

#[test]
fn g4_derived_conversions() {
    let convert = |value, from: Unit, to: Unit| to.from_pa(from.to_pa(value));
    for (value, from, to, wanted) in [
        (1.0, Unit::Bar, Unit::Psi, 14.503_773_773_020_922),
        (1.0, Unit::Bar, Unit::MetreOfWater, 10.197_162_129_779_283),
        (1.0, Unit::KilogramForcePerCm2, Unit::Bar, 0.980_665),
        (
            1.0,
            Unit::KilogramForcePerCm2,
            Unit::Psi,
            14.223_343_307_119_563,
        ),
        (1.0, Unit::Psi, Unit::MetreOfWater, 0.703_069_579_639_159),
        (1.0, Unit::Psi, Unit::FootOfWater, 2.306_658_725_850_26),
        (10.0, Unit::MetreOfWater, Unit::Bar, 0.980_665),
        (150.0, Unit::Psi, Unit::Bar, 10.342_135_939_752_543),
        (60.0, Unit::Psi, Unit::Bar, 4.136_854_375_901_016),
        (30.0, Unit::Psi, Unit::Bar, 2.068_427_187_950_508),
    ] {
        near_relative(convert(value, from, to), wanted, 1.0e-12);
    }
}

#[test]
fn g4_typed_values_become_whole_pascals() {
    for (mantissa, exponent, unit, pa) in [
        (150, 0, Unit::Psi, 1_034_214),
        (30, 0, Unit::Psi, 206_843),
        (410, -2, Unit::Bar, 410_000),
        (1, 0, Unit::MetreOfWater, 9_807),
        (1, 0, Unit::FootOfWater, 2_989),
        (-1, 0, Unit::MetreOfWater, -9_807),
        (1, 0, Unit::KilogramForcePerCm2, 98_067),
    ] {
        assert_eq!(Typed::of(mantissa, exponent, unit).to_pressure().pa(), pa);
    }
}
