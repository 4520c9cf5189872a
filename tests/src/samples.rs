//! Invented stations and entries that many stories start from.

use winze_core::actions::NewReading;
use winze_core::record::Ticks;
use winze_core::sheet::{Moment, Precision, ReadingRow};
use winze_core::station::defaults::{self, RegisterRow};
use winze_core::station::{Station, StationCode};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;
use winze_sync_format::Decimal;

/// A Monday morning, 2026-03-02T06:00:00Z, in milliseconds since 1970.
pub const MONDAY_MS: i64 = 1_772_431_200_000;

/// A decimal from its digits.
///
/// # Panics
/// When the digits are no decimal: a mistake in the test itself.
#[must_use]
pub fn decimal(digits: &str) -> Decimal {
    digits
        .parse()
        .unwrap_or_else(|error| panic!("{digits:?} in a test: {error}"))
}

/// A pressure in bar from its digits.
#[must_use]
pub fn bar(digits: &str) -> Typed {
    Typed::new(decimal(digits), Unit::Bar)
}

/// A station code.
///
/// # Panics
/// When the text is no station code: a mistake in the test itself.
#[must_use]
pub fn code(text: &str) -> StationCode {
    StationCode::parse(text).unwrap_or_else(|error| panic!("{text:?} in a test: {error}"))
}

/// The trade's example: 10 bar in, ratio 2.5, set to 2 bar, class 1.6 gauges.
#[must_use]
pub fn station(text: &str) -> Station {
    defaults::station(&RegisterRow {
        code: code(text),
        unit: Unit::Bar,
        ratio: decimal("2.5"),
        set_point: decimal("2.0"),
        inlet_typical: decimal("10"),
        gauge_class: decimal("1.6"),
        spans: [decimal("16"), decimal("10"), decimal("4")],
    })
}

/// Three gauges in bar, flow not noted.
#[must_use]
pub fn entry(inlet: &str, interstage: &str, outlet: &str) -> Entry {
    Entry::of(bar(inlet), bar(interstage), bar(outlet))
}

/// A row of an old sheet: an ordinary reading at a moment in milliseconds since 1970.
///
/// # Panics
/// When the moment is no time of the calendar: a mistake in the test itself.
#[must_use]
pub fn reading_row(text: &str, taken_ms: i64) -> ReadingRow {
    let at = chrono::DateTime::from_timestamp_millis(taken_ms)
        .unwrap_or_else(|| panic!("{taken_ms} in a test is no time"));
    ReadingRow {
        line: 2,
        station: code(text),
        taken_at: Moment {
            at: at.fixed_offset(),
            precision: Precision::Second,
        },
        entry: entry("10.2", "4.1", "2.0"),
        by: String::new(),
        remark: String::new(),
    }
}

/// An ordinary reading of a [`station`], taken on the spot; `number` tells it from others like it.
#[must_use]
pub fn new_reading(station: &str, number: u64) -> NewReading {
    NewReading {
        station: code(station),
        revision: None,
        round: None,
        entry: entry("10.2", "4.1", "2.0"),
        ticks: Ticks::default(),
        note: String::new(),
        doubts: Vec::new(),
        by: "tester".to_owned(),
        nonce: number.to_be_bytes(),
    }
}
