//! A station for the tests of this crate, in round figures: ratio 2.5, set point 2.0 bar.

use winze_core::station::{Quantity, Station, StationCode, UsualRange, defaults};
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
