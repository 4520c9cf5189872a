//! The arithmetic of verdicts for `winze assess --arithmetic`: one line or object for each pressure
//! judged. All figures come from the core; the shape is documented at the head of `assess.rs`.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use chrono::{DateTime, SecondsFormat, Utc};
use serde::Serialize;
use winze_core::Logbook;
use winze_core::query;
use winze_core::station::{Quantity, Station, StationCode};
use winze_core::verdict::{Contribution, Entry as Values, Judged, judge};
use winze_sync_format::RecordRef;

use crate::messages::{UserMessage, logbook_failed};
use crate::presenters::office_sum;
use crate::presenters::words;

/// One reading that counts, with what is needed to judge it.
pub(super) struct Reading {
    pub at: DateTime<Utc>,
    pub station: StationCode,
    revision: RecordRef,
    entry: Values,
}

/// The definitions that readings cite, each read once.
#[derive(Default)]
pub(super) struct Definitions(BTreeMap<RecordRef, Option<Station>>);

/// The readings of a station that count, oldest first.
pub(super) fn readings(logbook: &Logbook, code: &StationCode) -> Result<Vec<Reading>, UserMessage> {
    let visits = query::past_readings(logbook, code, usize::MAX);
    let visits = visits.map_err(|error| logbook_failed(&error))?;
    let counted = visits.into_iter().rev().filter(query::Visit::counts);
    Ok(counted
        .filter_map(|visit| {
            Some(Reading {
                // A time outside the calendar cannot be placed among the others.
                at: DateTime::from_timestamp_millis(visit.taken_ms)?,
                station: visit.station,
                revision: visit.revision,
                entry: visit.entry,
            })
        })
        .collect())
}

impl Definitions {
    /// Judges a reading against the definition it cites; nothing where that is not here yet.
    pub fn judged(
        &mut self,
        logbook: &Logbook,
        reading: &Reading,
    ) -> Option<(&Station, Vec<Judged>)> {
        let station = match self.0.entry(reading.revision) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(place) => {
                place.insert(query::definition_at(logbook, reading.revision).ok())
            }
        };
        let station = station.as_ref()?;
        let judged = judge(station, &reading.entry).iter().cloned().collect();
        Some((station, judged))
    }
}

#[derive(Debug, Serialize)]
pub(super) struct VerdictJson<'a> {
    station: &'a str,
    taken_at: String,
    gauge: &'static str,
    typed: String,
    head_pa: i64,
    observed_pa: i64,
    expected: ExpectedJson,
    budget: Vec<LineJson>,
    uncertainty_pa: f64,
    above_low: f64,
    below_high: f64,
    probability: f64,
    verdict: &'static str,
}

#[derive(Debug, Serialize)]
struct ExpectedJson {
    basis: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    ratio: Option<f64>,
    low_pa: i64,
    target_pa: i64,
    high_pa: i64,
}

#[derive(Debug, Serialize)]
struct LineJson {
    source: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    gauge: Option<&'static str>,
    half_width_pa: f64,
    distribution: &'static str,
    divisor: f64,
    sensitivity: f64,
    contribution_pa: f64,
}

/// The arithmetic of one verdict as an object.
pub(super) fn json<'a>(reading: &'a Reading, judged: &Judged) -> VerdictJson<'a> {
    let band = judged.expectation;
    VerdictJson {
        station: reading.station.as_str(),
        taken_at: reading.at.to_rfc3339_opts(SecondsFormat::Secs, true),
        gauge: judged.quantity.code(),
        typed: judged.typed.to_string(),
        head_pa: judged.correction.pa(),
        observed_pa: judged.observed.pa(),
        expected: ExpectedJson {
            basis: band.basis.code(),
            ratio: judged.ratio,
            low_pa: band.low.pa(),
            target_pa: band.target.pa(),
            high_pa: band.high.pa(),
        },
        budget: judged.contributions.iter().map(line).collect(),
        uncertainty_pa: judged.uncertainty_pa,
        above_low: judged.above_low(),
        below_high: judged.below_high(),
        probability: judged.probability,
        verdict: judged.verdict.code(),
    }
}

fn line(line: &Contribution) -> LineJson {
    LineJson {
        source: line.source.code(),
        gauge: line.source.quantity().map(Quantity::code),
        half_width_pa: line.half_width_pa,
        distribution: line.shape.code(),
        divisor: line.shape.divisor(),
        sensitivity: line.sensitivity,
        contribution_pa: line.uncertainty_pa(),
    }
}

/// The arithmetic of one verdict in words, a line a step.
pub(super) fn text(reading: &Reading, station: &Station, judged: &Judged) -> Vec<String> {
    let mut lines = vec![format!(
        "{} {}: {}, {}.",
        reading.at.format("%Y-%m-%d %H:%M"),
        reading.station,
        words::gauge(judged.quantity),
        words::verdict(judged.verdict),
    )];
    lines.extend(office_sum::sum(station, judged).into_iter().map(|line| {
        let how = if line.how.is_empty() {
            String::new()
        } else {
            format!(" ({})", line.how)
        };
        format!("  {}{how}: {}", line.what, line.figure)
    }));
    lines
}
