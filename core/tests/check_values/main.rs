//! Published figures that the rules must reproduce, each test named by its check-value id.
//!
//! Sources stand in the first line of each table in `tests/data` or beside the figures.

mod calendar;
mod charts;
mod gauges_and_units;
mod run_lengths;
mod trade;
mod trends;
mod uncertainty;
mod valve_sizing;
mod water_and_air;

/// The rows of a table in `tests/data`: the source line and the column names are dropped.
fn rows(text: &str) -> Vec<Vec<String>> {
    let (source, table) = text.split_once('\n').expect("a table has a source line");
    assert!(source.starts_with('#'), "the first line names the source");
    csv::Reader::from_reader(table.as_bytes())
        .records()
        .map(|row| {
            row.expect("a well-formed table")
                .iter()
                .map(str::to_owned)
                .collect()
        })
        .collect()
}

/// Fails unless `found` lies within `tolerance` of `wanted`.
#[track_caller]
fn near(found: f64, wanted: f64, tolerance: f64) {
    assert!(
        (found - wanted).abs() <= tolerance,
        "found {found}, wanted {wanted} within {tolerance}"
    );
}

/// Fails unless `found` agrees with `wanted` to `relative`.
#[track_caller]
fn near_relative(found: f64, wanted: f64, relative: f64) {
    near(found, wanted, wanted.abs() * relative);
}
