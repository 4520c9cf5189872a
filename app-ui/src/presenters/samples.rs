//! A station for the tests of this crate, in round figures: ratio 2.5, set point 2.0 bar.

use winze_core::station::{Duty, Quantity, Station, StationCode, UsualRange, Valve, defaults};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;
use winze_sync_format::Decimal;

/// Digits as typed, for tests only: the text must be a number.
pub fn digits(text: &str) -> Decimal {
    text.parse().expect("a number")
}

/// A value in bar.
pub fn bar(text: &str) -> Typed {
    Typed::new(digits(text), Unit::Bar)
}

/// Dials of 0-16, 0-10 and 0-4 bar, the inlet usually at 9.2 to 11.2 bar.
pub fn station() -> Station {
    let gauge = |span: &str, division: &str| {
        let mut gauge = defaults::gauge(digits(span), Unit::Bar, digits("1.0"));
        gauge.division = digits(division);
        gauge
    };
    let row = defaults::RegisterRow {
        code: StationCode::parse("T-07").expect("a code"),
        ratio: digits("2.5"),
        set_point: digits("2.0"),
        inlet_typical: digits("10.2"),
        unit: Unit::Bar,
        gauge_class: digits("1.0"),
        spans: [digits("16"), digits("10"), digits("4")],
    };
    let mut station = defaults::station(&row);
    station.name = "north drive".to_owned();
    station.level = "Level 420".to_owned();
    station.inlet = gauge("16", "0.5");
    station.interstage = gauge("10", "0.2");
    station.outlet = gauge("4", "0.1");
    station.inlet_usual = UsualRange {
        low: bar("9.2"),
        high: bar("11.2"),
    };
    station
}

/// The same with everything the hydraulic check asks for.
pub fn complete_station() -> Station {
    let mut station = station();
    let valve = Valve {
        size_mm: Some(50),
        rated_kv: Some(digits("20")),
        fl: Some(digits("0.9")),
        permitted_sigma: Some(digits("1.5")),
        xfz: None,
    };
    station.first_stage.valve = valve.clone();
    station.second_stage.valve = valve;
    station.second_stage.spring_range = Some((bar("1"), bar("5")));
    station.site.water_temperature_c = Some(digits("18"));
    station.site.altitude_m = Some(-420);
    station.site.downstream_max = Some(bar("5"));
    station.site.relief_set = Some(bar("3"));
    station.site.duty = Duty {
        min_m3_h: Some(digits("3")),
        usual_m3_h: Some(digits("10")),
        max_m3_h: Some(digits("20")),
    };
    station
}

/// The three gauges in bar; an empty text is a gauge not read.
pub fn entry(values: [&str; 3]) -> Entry {
    Quantity::ALL
        .into_iter()
        .zip(values)
        .filter(|(_, text)| !text.is_empty())
        .fold(Entry::default(), |entry, (quantity, text)| {
            entry.with(quantity, Some(bar(text)))
        })
}
