//! Properties of verdicts, and each case where a gauge or a sound definition is missing.

use proptest::prelude::*;
use winze_sync_format::Decimal;

use super::*;
use crate::station::{Quantity, Station, StationCode, defaults};
use crate::units::{Typed, Unit};

fn station() -> Station {
    defaults::station(&defaults::RegisterRow {
        code: StationCode::parse("T-07").unwrap(),
        unit: Unit::Bar,
        ratio: Decimal::new(25, -1),
        set_point: Decimal::whole(2),
        inlet_typical: Decimal::whole(10),
        gauge_class: Decimal::new(16, -1),
        spans: [Decimal::whole(16), Decimal::whole(10), Decimal::whole(4)],
    })
}

fn bar(hundredths: i64) -> Typed {
    Typed::of(hundredths, -2, Unit::Bar)
}

fn entry(inlet: i64, interstage: i64, outlet: i64) -> Entry {
    Entry::of(bar(inlet), bar(interstage), bar(outlet))
}

#[test]
fn a_missing_inlet_widens_the_interstage_band() {
    let station = station();
    let read = entry(1000, 400, 200);
    let whole = judge(&station, &read);
    let without = judge(&station, &read.with(Quantity::Inlet, None));
    assert!(without.inlet.is_none());
    let (whole, without) = (whole.interstage.unwrap(), without.interstage.unwrap());
    assert_eq!(without.expectation.basis, Basis::UsualRangeThroughRatio);
    assert!(without.expectation.low < whole.expectation.low);
    assert!(without.expectation.high > whole.expectation.high);
    assert_eq!(without.verdict, Verdict::Within);
}

#[test]
fn a_missing_interstage_leaves_the_outlet_judged() {
    let judgement = judge(
        &station(),
        &entry(1000, 0, 200).with(Quantity::Interstage, None),
    );
    assert!(judgement.interstage.is_none());
    assert_eq!(judgement.starved_probability, None);
    assert_eq!(judgement.outlet.unwrap().verdict, Verdict::Within);
    // The inlet alone tells that the second stage cannot get what it needs.
    let starved = judge(
        &station(),
        &entry(400, 0, 130).with(Quantity::Interstage, None),
    );
    assert_eq!(starved.state, StationState::Starved);
}

#[test]
fn an_empty_entry_still_says_what_to_expect() {
    let judgement = judge(&station(), &Entry::default());
    assert_eq!(judgement.worst(), None);
    for quantity in Quantity::ALL {
        assert!(judgement.expected.get(quantity).is_some());
    }
}

#[test]
fn a_ratio_of_zero_gives_no_expectation_rather_than_an_infinite_one() {
    let mut station = station();
    station.first_stage.ratio = Decimal::whole(0);
    let judgement = judge(&station, &entry(1000, 400, 200));
    assert!(judgement.interstage.is_none());
    assert!(judgement.inlet.is_some() && judgement.outlet.is_some());
}

#[test]
fn an_as_left_ratio_lets_constant_gauge_errors_cancel() {
    let nominal = station();
    let mut as_left = station();
    as_left.first_stage.as_left_ratio = Some(Decimal::new(248, -2));
    let read = entry(1000, 403, 200);
    let u = |station: &Station| judge(station, &read).interstage.unwrap().uncertainty_pa;
    assert!(
        u(&as_left) < 0.75 * u(&nominal),
        "{} against {}",
        u(&as_left),
        u(&nominal)
    );
    let lines = judge(&as_left, &read).interstage.unwrap().contributions;
    assert!(lines.iter().any(|line| line.source == Source::AsLeftRatio));
    assert!(
        lines
            .iter()
            .all(|line| !matches!(line.source, Source::GaugeClass(_)))
    );

    // A gauge changed after the ratio was found brings its whole error back.
    as_left.first_stage.as_left_on = chrono::NaiveDate::from_ymd_opt(2024, 3, 1);
    as_left.inlet.checked_on = chrono::NaiveDate::from_ymd_opt(2024, 6, 1);
    assert!(u(&as_left) > u(&nominal));
    as_left.inlet.checked_on = chrono::NaiveDate::from_ymd_opt(2024, 2, 1);
    assert!(u(&as_left) < 0.75 * u(&nominal));
}

#[test]
fn the_usual_five_per_cent_on_an_as_left_ratio_can_be_met() {
    let mut station = station();
    station.first_stage.as_left_ratio = Some(Decimal::new(25, -1));
    station.first_stage.ratio_tolerance_percent = defaults::ratio_tolerance_percent(true);
    let judgement = judge(&station, &entry(1000, 400, 200));
    assert_eq!(judgement.worst(), Some(Verdict::Within), "{judgement:?}");
}

#[test]
fn warm_air_adds_to_the_budget() {
    let mut warm = station();
    warm.site.air_temperature_c = Some(Decimal::whole(35));
    let outlet = judge(&warm, &entry(1000, 400, 200)).outlet.unwrap();
    let line = outlet
        .contributions
        .iter()
        .find(|line| matches!(line.source, Source::GaugeTemperature(_)))
        .unwrap();
    // 0.6 % of 4 bar.
    assert!((line.half_width_pa - 2_400.0).abs() < 1.0e-6);
}

#[test]
fn a_band_on_the_dial_lies_lower_for_a_gauge_above_the_datum() {
    let mut station = station();
    station.outlet.elevation_mm = 1000;
    let expected = expected(&station, &Entry::default());
    let (low, high) = expected.on_dial(&station, Quantity::Outlet).unwrap();
    let band = expected.outlet.unwrap();
    assert_eq!(band.low - low, band.high - high);
    assert_eq!((band.low - low).pa(), 9_798);
}

#[test]
fn the_arithmetic_leads_from_the_digits_to_the_verdict() {
    let mut station = station();
    station.inlet.elevation_mm = -500;
    for judged in judge(&station, &entry(1000, 400, 215)).iter() {
        let steps = judged.steps();
        assert_eq!(steps.first().unwrap().kind, StepKind::AsRead);
        assert_eq!(
            steps.last().unwrap().result,
            Amount::Code(judged.verdict.code())
        );
        let squares: f64 = steps
            .iter()
            .filter(|step| matches!(step.kind, StepKind::Contribution(_)))
            .map(|step| match step.result {
                Amount::Pascal(pa) => pa * pa,
                other => panic!("a contribution is a pressure, not {other:?}"),
            })
            .sum();
        let shown = steps
            .iter()
            .find(|step| step.kind == StepKind::Combined)
            .unwrap();
        let Amount::Pascal(combined) = shown.result else {
            panic!("a pressure")
        };
        assert!((combined - squares.sqrt()).abs() < 0.01);
    }
}

fn any_typed() -> impl Strategy<Value = Typed> {
    (any::<i64>(), any::<i8>(), 0..7_usize)
        .prop_map(|(mantissa, exponent, unit)| Typed::of(mantissa, exponent, Unit::ALL[unit]))
}

fn any_entry() -> impl Strategy<Value = Entry> {
    let value = || proptest::option::of(any_typed());
    (value(), value(), value(), 0..3_usize).prop_map(|(inlet, interstage, outlet, flow)| Entry {
        inlet,
        interstage,
        outlet,
        flow: [FlowState::Still, FlowState::Flowing, FlowState::NotNoted][flow],
    })
}

/// A definition with any numbers in the fields that judging looks at.
fn any_station() -> impl Strategy<Value = Station> {
    let decimal = || (any::<i64>(), any::<i8>()).prop_map(|(m, e)| Decimal::new(m, e));
    let typed = || proptest::collection::vec(any_typed(), 9);
    let decimals = proptest::collection::vec(decimal(), 8);
    (
        typed(),
        decimals,
        any::<i32>(),
        proptest::option::of(decimal()),
    )
        .prop_map(|(typed, decimals, elevation, as_left)| {
            let mut station = station();
            for (gauge, at) in [
                &mut station.inlet,
                &mut station.interstage,
                &mut station.outlet,
            ]
            .into_iter()
            .zip(0..)
            {
                gauge.low = typed[at];
                gauge.high = typed[at + 3];
                gauge.class = decimals[at];
                gauge.division = decimals[at + 3];
                gauge.elevation_mm = elevation;
            }
            station.first_stage.ratio = decimals[6];
            station.first_stage.as_left_ratio = as_left;
            station.first_stage.ratio_tolerance_percent = decimals[7];
            station.second_stage.set_point = typed[6];
            station.second_stage.band = typed[7];
            station.second_stage.minimum_differential = typed[8];
            station.inlet_usual.low = typed[0];
            station.inlet_usual.high = typed[8];
            station.site.water_temperature_c = Some(decimals[0]);
            station.site.air_temperature_c = Some(decimals[1]);
            station
        })
}

fn assert_finite(judgement: &Judgement) {
    let probability = |p: f64| assert!((0.0..=1.0).contains(&p), "probability {p}");
    judgement
        .starved_probability
        .into_iter()
        .for_each(probability);
    for judged in judgement.iter() {
        probability(judged.probability);
        assert!(judged.uncertainty_pa.is_finite() && judged.uncertainty_pa > 0.0);
        assert!(
            judged.expectation.low <= judged.expectation.high,
            "{:?}",
            judged.expectation
        );
        for step in judged.steps() {
            let amounts = step
                .inputs
                .iter()
                .map(|term| term.amount)
                .chain([step.result]);
            for amount in amounts {
                if let Amount::Pascal(x) | Amount::Number(x) | Amount::Probability(x) = amount {
                    assert!(x.is_finite(), "{:?} shows {x}", step.kind);
                }
            }
        }
    }
}

proptest! {
    #[test]
    fn nothing_is_ever_nan(station in any_station(), entry in any_entry()) {
        assert_finite(&judge(&station, &entry));
        let _ = station.problems();
    }

    #[test]
    fn sound_stations_never_give_nan(entry in any_entry()) {
        assert_finite(&judge(&station(), &entry));
    }

    #[test]
    fn a_verdict_never_improves_with_distance(near in 0..400_i64, farther in 0..400_i64, up in any::<bool>()) {
        let sign = if up { 1 } else { -1 };
        let judged = |away: i64| {
            let entry = Entry { outlet: Some(bar(200 + sign * away)), ..Entry::default() };
            judge(&station(), &entry).outlet.unwrap()
        };
        let (close, far) = (judged(near), judged(near + farther));
        prop_assert!(far.probability <= close.probability + 1.0e-15);
        prop_assert!(far.verdict >= close.verdict);
    }

    #[test]
    fn conformance_is_a_probability(
        y in any::<f64>(), u in any::<f64>(), low in proptest::option::of(any::<f64>()),
        high in proptest::option::of(any::<f64>()),
    ) {
        let p = conformance_probability(y, u, low, high);
        prop_assert!((0.0..=1.0).contains(&p), "{p}");
    }

    #[test]
    fn quantile_and_probability_invert(z in -8.0..8.0_f64) {
        // Above zero the probability itself runs out of digits, so the tail is inverted.
        let z = -z.abs();
        prop_assert!((normal_quantile(normal_cdf(z)) - z).abs() < 1.0e-12 * z.abs().max(1.0));
    }
}
