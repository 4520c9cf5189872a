//! Readings of one station: what was read, shown and noted, and how each stands.

use winze_sync_format::{LogId, RecordRef};

use crate::merge::ReadingState;
use crate::record::{AskedDoubt, Shown, Source, Ticks};
use crate::slips::PastReading;
use crate::station::StationCode;
use crate::verdict::Entry;
use crate::{Logbook, Result};

/// When a record was made, where the clock of its device was wrong. All in milliseconds since 1970.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeWorkedOut {
    /// What the device's clock showed.
    pub shown_ms: i64,
    /// The time worked out from what offices' clocks say of it.
    pub corrected_ms: i64,
    /// The earliest it can have been, where known.
    pub low_ms: Option<i64>,
    /// The latest it can have been, where known.
    pub high_ms: Option<i64>,
}

/// What was worked out about the time of a record; none where its clock is believed.
///
/// # Errors
/// The database's.
pub fn time_worked_out(logbook: &Logbook, at: RecordRef) -> Result<Option<TimeWorkedOut>> {
    logbook.read_time_of(at)
}

/// One visit to a station.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit {
    /// Its record.
    pub at: RecordRef,
    /// The station.
    pub station: StationCode,
    /// When it was taken, milliseconds since 1970.
    pub taken_ms: i64,
    /// What was worked out about that, where the tablet's clock was wrong.
    pub time: Option<TimeWorkedOut>,
    /// How far local time was ahead of UTC, minutes, where known.
    pub utc_offset_minutes: Option<i16>,
    /// Who took it.
    pub by: String,
    /// The logbook it was written in.
    pub log: LogId,
    /// What that logbook is called here; empty for an unknown one.
    pub log_name: String,
    /// The values in force: the correction's, if one is in force.
    pub entry: Entry,
    /// The values first written, where a correction replaces them.
    pub first_entry: Option<Entry>,
    /// The verdicts shown on the values in force.
    pub shown: Shown,
    /// The definition it was judged against.
    pub revision: RecordRef,
    /// The round it was taken on.
    pub round: Option<RecordRef>,
    /// What was noticed on the look-round.
    pub ticks: Ticks,
    /// The free note.
    pub note: String,
    /// Doubts put to the operator, and the replies.
    pub doubts: Vec<AskedDoubt>,
    /// Where it comes from.
    pub source: Source,
    /// Whether its log counts at all; a held reading is listed but never counts.
    pub is_held: bool,
    /// How it stands among the others.
    pub state: ReadingState,
}

impl Visit {
    /// Says whether the reading is used in histories and overviews.
    #[must_use]
    pub const fn counts(&self) -> bool {
        !self.is_held && self.state.standing.counts()
    }
}

/// Lists the newest `limit` readings of a station, newest first, those that do not count included.
///
/// # Errors
/// The database's.
pub fn past_readings(logbook: &Logbook, code: &StationCode, limit: usize) -> Result<Vec<Visit>> {
    logbook.read_visits(code, i64::MIN, i64::MAX, Some(limit))
}

/// Lists the readings of a station taken from `from_ms` up to but not including `to_ms`, newest
/// first.
///
/// # Units
/// Milliseconds since 1970-01-01T00:00:00Z.
///
/// # Errors
/// The database's.
pub fn visits_between(
    logbook: &Logbook,
    code: &StationCode,
    from_ms: i64,
    to_ms: i64,
) -> Result<Vec<Visit>> {
    logbook.read_visits(code, from_ms, to_ms, None)
}

/// Reads one reading.
///
/// # Errors
/// [`crate::Error::UnknownRecord`] and [`crate::Error::NotAReading`].
pub fn visit(logbook: &Logbook, at: RecordRef) -> Result<Visit> {
    logbook.read_visit(at)
}

/// Lists the newest `limit` readings that count, oldest first, as the checks at entry want them.
///
/// # Errors
/// The database's.
pub fn past_for_checks(
    logbook: &Logbook,
    code: &StationCode,
    limit: usize,
) -> Result<Vec<PastReading>> {
    let mut visits = logbook.read_counted_visits(code, limit)?;
    visits.reverse();
    Ok(visits
        .into_iter()
        .map(|visit| PastReading {
            taken_at_ms: visit.taken_ms,
            entry: visit.entry,
        })
        .collect())
}
