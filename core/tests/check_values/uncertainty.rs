//! U-1 to U-10: distributions, combination, coverage, conformity and the ratio of two gauges.

use winze_core::station::{Quantity, Station, StationCode, defaults};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::{
    Contribution, Entry, Shape, Source, Verdict, combined, conformance_probability, judge,
    normal_between, normal_cdf, normal_pdf, normal_quantile, student_cdf, student_quantile,
    welch_satterthwaite,
};
use winze_sync_format::Decimal;

use crate::{near, near_relative, rows};

#[test]
fn u1_divisors_of_assumed_distributions() {
    for (shape, wanted) in [
        (Shape::Rectangular, 0.577_350_269_189_625_8),
        (Shape::Triangular, 0.408_248_290_463_863_1),
        (Shape::Trapezoid(0.25), 0.420_812_705_765_086_6),
        (Shape::Trapezoid(0.5), 0.456_435_464_587_638_45),
        (Shape::Trapezoid(0.75), 0.510_310_363_079_828_8),
        (Shape::Trapezoid(0.0), 0.408_248_290_463_863_1),
        (Shape::Trapezoid(1.0), 0.577_350_269_189_625_8),
        (Shape::Arcsine, 0.707_106_781_186_547_5),
        (Shape::Standard, 1.0),
    ] {
        near(shape.factor(), wanted, 1.0e-12);
    }
    // A resolution step of full width d has half-width d/2.
    near(
        0.5 * Shape::Rectangular.factor(),
        0.288_675_134_594_812_9,
        1.0e-12,
    );
}

#[test]
fn u2_short_cases() {
    // 129 microohm at 99 %, and a 50 % interval of half-width 0.04 mm (JCGM 100:2008, 4.3.4, 4.3.5).
    near(129.0 / normal_quantile(0.995), 50.08, 0.005);
    near(0.04 / normal_quantile(0.75), 0.0593, 0.00005);
}

/// JCGM 100:2008 Annex H.1, end gauge, in nanometres.
#[test]
fn u3_end_gauge_combination_and_effective_degrees_of_freedom() {
    let difference = [(5.8, 24.0), (3.9, 5.0), (6.7, 8.0)];
    let line = |half_width_pa: f64, shape, sensitivity: f64| Contribution {
        source: Source::AsLeftRatio,
        shape,
        // Picometres, so that the ground of whole units is far below the tolerance.
        half_width_pa: half_width_pa * 1000.0,
        sensitivity,
    };
    let lines: Vec<_> = difference
        .iter()
        .map(|&(u, _)| line(u, Shape::Standard, 1.0))
        .collect();
    let u_difference = combined(&lines) / 1000.0;
    near(u_difference, 9.681_94, 1.0e-4);
    let nu_difference = welch_satterthwaite(&difference);
    near(nu_difference, 25.447, 1.0e-2);

    let length = 50_000_623.0;
    let theta = 0.2_f64.hypot(0.5 / 2.0_f64.sqrt());
    let _ = theta;
    let lines = [
        line(25.0, Shape::Standard, 1.0),
        line(u_difference, Shape::Standard, 1.0),
        line(1.0e-6, Shape::Rectangular, length * -0.1),
        line(0.05, Shape::Rectangular, length * 11.5e-6),
    ];
    for (line, wanted) in lines.iter().zip([25.0, 9.681_94, 2.886_79, 16.599_03]) {
        near(line.uncertainty_pa() / 1000.0, wanted, 1.0e-4);
    }
    let total = combined(&lines) / 1000.0;
    near(total, 31.663_88, 1.0e-4);
    let parts: Vec<_> = lines
        .iter()
        .zip([18.0, nu_difference, 50.0, 2.0])
        .map(|(line, nu)| (line.uncertainty_pa() / 1000.0, nu))
        .collect();
    let nu = welch_satterthwaite(&parts);
    near(nu, 16.751_86, 1.0e-3);
    let t = student_quantile(0.995, nu.floor());
    near(t, 2.920_782, 1.0e-6);
    near(t * total, 92.483, 1.0);
}

#[test]
fn u5_coverage_factors() {
    let table = rows(include_str!("../data/student-t.csv"));
    assert!(table.len() > 25, "the whole table is read");
    for row in table {
        let nu: f64 = row[0].parse().unwrap();
        for (column, p) in [
            (1, 0.6827),
            (2, 0.9),
            (3, 0.95),
            (4, 0.9545),
            (5, 0.99),
            (6, 0.9973),
        ] {
            let wanted: f64 = row[column].parse().unwrap();
            let found = student_quantile(f64::midpoint(1.0, p), nu);
            near(found, wanted, 1.0e-5 * wanted.max(1.0));
        }
    }
}

#[test]
fn u5_quantile_and_probability_invert_each_other() {
    for nu in [0.5, 1.0, 2.0, 3.0, 7.5, 30.0, 1000.0] {
        for p in [1.0e-9, 0.001, 0.2, 0.5, 0.7, 0.999] {
            near_relative(student_cdf(student_quantile(p, nu), nu), p, 1.0e-9);
        }
    }
}

#[test]
fn u6_one_sided_factors() {
    for (p, z) in [
        (0.80, 0.8416),
        (0.90, 1.2816),
        (0.95, 1.6449),
        (0.975, 1.9600),
        (0.99, 2.3263),
        (0.999, 3.0902),
    ] {
        near(normal_quantile(p), z, 5.0e-5);
        near(normal_quantile(1.0 - p), -z, 5.0e-5);
    }
    for p in [
        1.0e-300, 1.0e-20, 1.0e-3, 0.07, 0.075, 0.3, 0.5, 0.925, 0.9999,
    ] {
        near_relative(normal_cdf(normal_quantile(p)), p, 1.0e-11);
    }
}

#[test]
fn u7_conformance_probability() {
    let table = rows(include_str!("../data/conformity.csv"));
    assert_eq!(table.len(), 9);
    for row in table {
        let number = |column: usize| row[column].parse::<f64>().ok();
        let found =
            conformance_probability(number(2).unwrap(), number(3).unwrap(), number(4), number(5));
        near(found, number(6).unwrap(), 1.0e-6);
    }
    near((509.7 - 490.0) / 8.6, 2.2907, 5.0e-5);
}

#[test]
fn u8_guard_bands() {
    near(
        conformance_probability(2.08, 0.06, None, Some(2.2)),
        1.0 - 0.022_750_1,
        1.0e-7,
    );
    // 95 % conformance at the acceptance limit: w = 1.644854 u.
    near(2.2 - normal_quantile(0.95) * 0.06, 2.101_309, 1.0e-6);
    let verdict = |y| Verdict::from_probability(conformance_probability(y, 0.06, None, Some(2.2)));
    assert_eq!(verdict(2.101_308), Verdict::Within);
    assert_eq!(verdict(2.101_310), Verdict::Unsure);
    assert_eq!(verdict(2.298_690), Verdict::Unsure);
    assert_eq!(verdict(2.298_692), Verdict::Outside);
    // JCGM 106:2012, 8.3: relative uncertainty 2 %, 99.9 %.
    near(
        100.0 / (1.0 - normal_quantile(0.999) * 0.02),
        106.588,
        5.0e-4,
    );
}

/// Integrates over the true value by Simpson's rule; smooth on each piece, so 1e-5 is easy.
fn integrate(low: f64, high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let pieces = 4000;
    let h = (high - low) / f64::from(pieces);
    let inner: f64 = (1..pieces)
        .map(|i| f(low + h * f64::from(i)) * if i % 2 == 1 { 4.0 } else { 2.0 })
        .sum();
    (f(low) + inner + f(high)) * h / 3.0
}

/// JCGM 106:2012, 9.5: process N(1500, 0.12), tolerance 1499.8 to 1500.2 ohm, u 0.04.
#[test]
fn u9_global_risks_of_the_conformity_rule() {
    let (sd, u) = (0.12, 0.04);
    let density = |x: f64| normal_pdf(x / sd) / sd;
    for (guard, consumer, producer) in [
        (0.0, 0.018_942_2, 0.037_207_8),
        (0.01, 0.013_962_3, 0.051_457_6),
        (0.02, 0.009_878_3, 0.069_026_5),
        (0.04, 0.004_334_1, 0.114_656_6),
    ] {
        let limit = 0.2 - guard;
        let accepted = |x: f64| conformance_probability(x, u, Some(-limit), Some(limit));
        let outside = 2.0 * integrate(0.2, 1.5, |x| density(x) * accepted(x));
        let inside = integrate(-0.2, 0.2, |x| density(x) * (1.0 - accepted(x)));
        near(outside, consumer, 1.0e-5);
        near(inside, producer, 1.0e-5);
    }
    near(normal_between(-0.2 / sd, 0.2 / sd), 0.904_419_3, 1.0e-6);
}

/// The station of U-10: 0-16 and 0-10 bar, class 1.6, read to 0.1 and 0.05 bar half-width.
fn u10_station() -> Station {
    let row = defaults::RegisterRow {
        code: StationCode::parse("U-10").unwrap(),
        unit: Unit::Bar,
        ratio: Decimal::new(25, -1),
        set_point: Decimal::whole(2),
        inlet_typical: Decimal::whole(10),
        gauge_class: Decimal::new(16, -1),
        spans: [Decimal::whole(16), Decimal::whole(10), Decimal::whole(4)],
    };
    let mut station = defaults::station(&row);
    let division = |half_width: f64| {
        let division = half_width / defaults::READ_HALF_WIDTH_DIVISIONS;
        format!("{division:.12}").parse::<Decimal>().unwrap()
    };
    station.inlet.division = division(0.1);
    station.interstage.division = division(0.05);
    station
}

#[test]
fn u10_ratio_of_two_gauges() {
    let bar = |tenths| Typed::of(tenths, -1, Unit::Bar);
    let judgement = judge(&u10_station(), &Entry::of(bar(100), bar(40), bar(20)));
    let lines = &judgement.interstage.as_ref().unwrap().contributions;
    // Bar at the gauge: the sensitivity taken off again.
    let gauge_u = |quantity: Quantity, class_only: bool| {
        let at_gauge: Vec<_> = lines
            .iter()
            .filter(|line| line.source.quantity() == Some(quantity))
            .filter(|line| !class_only || line.source == Source::GaugeClass(quantity))
            .map(|line| Contribution {
                sensitivity: 1.0,
                ..*line
            })
            .collect();
        combined(&at_gauge) / 1.0e5
    };
    let ratio_u = |u1: f64, u2: f64| 2.5 * (u1 / 10.0).hypot(u2 / 4.0);

    let (u1, u2) = (
        gauge_u(Quantity::Inlet, true),
        gauge_u(Quantity::Interstage, true),
    );
    near(u1, 0.147_801_7, 1.0e-6);
    near(u2, 0.092_376_0, 1.0e-6);
    near(ratio_u(u1, u2), 0.068_546_8, 1.0e-6);

    let (u1, u2) = (
        gauge_u(Quantity::Inlet, false),
        gauge_u(Quantity::Interstage, false),
    );
    near(u1, 0.158_677_9, 1.0e-6);
    near(u2, 0.096_781_5, 1.0e-6);
    near(ratio_u(u1, u2), 0.072_336_2, 1.0e-6);

    near(
        judgement.interstage.unwrap().uncertainty_pa / 1.0e5,
        0.115_737_9,
        1.0e-6,
    );
}
