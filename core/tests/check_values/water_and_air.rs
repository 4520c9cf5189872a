//! W-1 to W-3: vapour pressure, density, static head and air pressure by height.

use winze_core::units::{Unit, air_pressure, air_pressure_at_geopotential, water};

use crate::{near, near_relative, rows};

#[test]
fn w1_vapour_pressure_follows_the_published_table() {
    let table = rows(include_str!("../data/water-properties.csv"));
    assert_eq!(table.len(), 61);
    for row in table {
        let temperature = row[0].parse().unwrap();
        // IF97 to its last printed digit, IAPWS-95 to the 0.02 % by which the two may differ.
        near(
            water::vapour_pressure_pa(temperature),
            row[2].parse().unwrap(),
            6.0e-5,
        );
        near_relative(
            water::vapour_pressure_pa(temperature),
            row[1].parse().unwrap(),
            2.0e-4,
        );
    }
}

#[test]
fn w1_vapour_pressure_at_the_standards_own_point() {
    // IAPWS R7-97(2012) Table 35: 300 K.
    near_relative(water::vapour_pressure_pa(26.85), 3_536.589_41, 1.0e-8);
    // The triple point, 273.16 K (IAPWS-95: 611.6548 Pa).
    near_relative(water::vapour_pressure_pa(0.01), 611.6548, 2.0e-4);
}

#[test]
fn w1_density_follows_the_published_table() {
    for row in rows(include_str!("../data/water-properties.csv")) {
        let temperature = row[0].parse().unwrap();
        for column in [3, 4] {
            if let Ok(wanted) = row[column].parse() {
                near(water::density(temperature), wanted, 0.02);
            }
        }
    }
    // Kell's scale of absolute density lies 0.003 kg/m3 below that of IAPWS-95.
    near(water::density(4.0), 999.9749, 0.004);
}

#[test]
fn w2_static_head() {
    for (temperature, per_10_m, per_1000_m) in [
        (4.0, 98.064, 9_806.404),
        (10.0, 98.037, 9_803.732),
        (20.0, 97.891, 9_789.068),
        (30.0, 97.640, 9_763.986),
    ] {
        near(water::head_pa(10.0, temperature) / 1000.0, per_10_m, 0.001);
        near(
            water::head_pa(100.0, temperature) / 1000.0,
            per_1000_m / 10.0,
            0.01,
        );
        near(
            water::head_pa(1000.0, temperature) / 1000.0,
            per_1000_m,
            0.1,
        );
    }
    near(water::head_pa(100.0, 10.0) / 1.0e5, 9.8037, 1.0e-4);
    near(
        Unit::Psi.from_pa(water::head_pa(0.3048, 10.0)),
        0.433_40,
        1.0e-5,
    );
}

#[test]
fn w2_a_gauge_one_metre_below_the_datum_reads_high() {
    let correction = water::datum_correction(-1000, 10.0);
    near(correction.as_f64_pa() / 1000.0, -9.80, 0.005);
    assert_eq!(water::datum_correction(0, 10.0).pa(), 0);
}

#[test]
fn w3_air_pressure_by_height() {
    let table = rows(include_str!("../data/atmosphere.csv"));
    assert!(table.len() > 40, "the whole table is read");
    for row in table {
        let height = row[0].parse().unwrap();
        near(
            air_pressure_at_geopotential(height),
            row[2].parse().unwrap(),
            0.5,
        );
        near(air_pressure(height), row[5].parse().unwrap(), 0.5);
    }
}

#[test]
fn w4_normal_gravity_by_latitude() {
    for (latitude, wanted) in [
        (0.0, 9.780_327),
        (26.0, 9.790_257),
        (45.0, 9.806_199),
        (60.0, 9.819_178),
        (90.0, 9.832_186),
    ] {
        near(water::normal_gravity(latitude), wanted, 1.0e-6);
    }
    // What taking standard gravity everywhere costs.
    let at_26 = water::normal_gravity(26.0) / water::STANDARD_GRAVITY - 1.0;
    near(at_26, -0.0017, 0.0001);
}

#[test]
fn w_formulas_answer_finitely_for_anything() {
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -300.0, 1.0e300] {
        for answer in [
            water::density(value),
            water::vapour_pressure_pa(value),
            air_pressure(value),
            air_pressure_at_geopotential(value),
        ] {
            assert!(answer.is_finite() && answer > 0.0, "{value} gives {answer}");
        }
    }
}
