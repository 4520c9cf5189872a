//! The trade's own examples: common practice, no source.

use winze_core::station::{Quantity, Station, StationCode, defaults};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::{Entry, FlowState, StationState, Verdict, at_datum, expected, judge};
use winze_sync_format::Decimal;

use crate::near;

fn station(unit: Unit, set_point: i64, inlet: i64, spans: [i64; 3]) -> Station {
    defaults::station(&defaults::RegisterRow {
        code: StationCode::parse("TRADE").unwrap(),
        unit,
        ratio: Decimal::new(25, -1),
        set_point: Decimal::whole(set_point),
        inlet_typical: Decimal::whole(inlet),
        gauge_class: Decimal::whole(1),
        spans: spans.map(Decimal::whole),
    })
}

fn interstage_target(station: &Station, inlet: Typed) -> f64 {
    let entry = Entry {
        inlet: Some(inlet),
        ..Entry::default()
    };
    expected(station, &entry)
        .interstage
        .unwrap()
        .target
        .in_unit(station.unit)
}

#[test]
fn ratio_of_2_5_takes_10_bar_to_4_bar_and_follows_the_inlet() {
    let station = station(Unit::Bar, 2, 10, [16, 10, 4]);
    assert!(station.problems().is_empty(), "{:?}", station.problems());
    for (inlet, interstage) in [(100, 4.0), (80, 3.2), (120, 4.8)] {
        near(
            interstage_target(&station, Typed::of(inlet, -1, Unit::Bar)),
            interstage,
            1.0e-9,
        );
    }
}

#[test]
fn ratio_of_2_5_takes_150_psi_to_about_60_psi() {
    let station = station(Unit::Psi, 30, 150, [200, 100, 60]);
    near(
        interstage_target(&station, Typed::of(150, 0, Unit::Psi)),
        60.0,
        1.0e-3,
    );
}

#[test]
fn the_example_pressures_are_within() {
    let bar = |tenths| Typed::of(tenths, -1, Unit::Bar);
    let judgement = judge(
        &station(Unit::Bar, 2, 10, [16, 10, 4]),
        &Entry::of(bar(100), bar(40), bar(20)),
    );
    assert_eq!(judgement.worst(), Some(Verdict::Within), "{judgement:?}");
    assert_eq!(judgement.state, StationState::Normal);

    let psi = |value| Typed::of(value, 0, Unit::Psi);
    let judgement = judge(
        &station(Unit::Psi, 30, 150, [200, 100, 60]),
        &Entry::of(psi(150), psi(60), psi(30)),
    );
    assert_eq!(judgement.worst(), Some(Verdict::Within), "{judgement:?}");
}

#[test]
fn a_set_point_of_2_bar_is_about_30_psi() {
    near(
        Typed::of(30, 0, Unit::Psi).value_in(Unit::Bar),
        2.068,
        0.001,
    );
}

#[test]
fn no_flow_shows_lock_up_only() {
    let station = station(Unit::Bar, 2, 10, [16, 10, 4]);
    let bar = |hundredths| Typed::of(hundredths, -2, Unit::Bar);
    let mut entry = Entry::of(bar(1000), bar(400), bar(230));
    let flowing = judge(&station, &entry).outlet.unwrap().verdict;
    entry.flow = FlowState::Still;
    let still = judge(&station, &entry);
    assert_eq!(
        (flowing, still.state),
        (Verdict::Outside, StationState::LockUp)
    );
    assert_eq!(still.outlet.unwrap().verdict, Verdict::Within);
}

#[test]
fn a_starved_second_stage_is_not_blamed() {
    let station = station(Unit::Bar, 2, 10, [16, 10, 4]);
    let bar = |hundredths| Typed::of(hundredths, -2, Unit::Bar);
    let judgement = judge(&station, &Entry::of(bar(450), bar(180), bar(165)));
    assert_eq!(judgement.state, StationState::Starved);
    assert_eq!(
        judgement.get(Quantity::Inlet).unwrap().verdict,
        Verdict::Outside
    );
    assert_eq!(
        judgement.get(Quantity::Outlet).unwrap().verdict,
        Verdict::Within
    );
    assert!(judgement.starved_probability.unwrap() > 0.99);
}

#[test]
fn ten_metres_of_water_lift_a_reading_by_about_a_bar() {
    let mut station = station(Unit::Bar, 2, 10, [16, 10, 4]);
    station.inlet.elevation_mm = 10_000;
    let read = Typed::of(9, 0, Unit::Bar);
    let lifted = at_datum(&station, Quantity::Inlet, read) - read.to_pressure();
    near(lifted.in_unit(Unit::Bar), 0.98, 0.005);
}
