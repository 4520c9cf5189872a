//! Walk-rounds: where the operator stands, what is done, skipped and left.

use winze_sync_format::RecordRef;

use crate::record::SkipReason;
use crate::station::StationCode;
use crate::verdict::Verdict;
use crate::{Logbook, Result};

/// A round with its progress.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoundView {
    /// Its record.
    pub at: RecordRef,
    /// What it is called.
    pub title: String,
    /// Who opened it.
    pub by: String,
    /// When it was opened, milliseconds since 1970.
    pub opened_ms: i64,
    /// When it was closed, if it was.
    pub closed_ms: Option<i64>,
    /// Its stations in walking order.
    pub stops: Vec<Stop>,
}

impl RoundView {
    /// How many stations have a reading.
    #[must_use]
    pub fn done(&self) -> usize {
        self.stops
            .iter()
            .filter(|stop| matches!(stop.state, StopState::Done { .. }))
            .count()
    }

    /// How many stations were passed by.
    #[must_use]
    pub fn skipped(&self) -> usize {
        self.stops
            .iter()
            .filter(|stop| matches!(stop.state, StopState::Skipped { .. }))
            .count()
    }

    /// How many stations are left.
    #[must_use]
    pub fn left(&self) -> usize {
        self.stops
            .iter()
            .filter(|stop| stop.state == StopState::Left)
            .count()
    }

    /// The first station left.
    #[must_use]
    pub fn next(&self) -> Option<&Stop> {
        self.stops.iter().find(|stop| stop.state == StopState::Left)
    }

    /// The first station left after `code` in walking order, going round to the start.
    #[must_use]
    pub fn next_after(&self, code: &StationCode) -> Option<&Stop> {
        let start = self
            .stops
            .iter()
            .position(|stop| &stop.code == code)
            .map_or(0, |n| n + 1);
        let (before, after) = self.stops.split_at(start);
        after
            .iter()
            .chain(before)
            .find(|stop| stop.state == StopState::Left)
    }
}

/// One station of a round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// Its code.
    pub code: StationCode,
    /// What people call it; empty when no definition is here.
    pub name: String,
    /// The level or place it belongs to.
    pub level: String,
    /// What has become of it.
    pub state: StopState,
}

/// What has become of a station on a round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StopState {
    /// Nothing yet.
    Left,
    /// It was read; of several readings the newest.
    Done {
        /// The reading.
        reading: RecordRef,
        /// When it was taken, milliseconds since 1970.
        taken_ms: i64,
        /// The worst verdict shown.
        worst: Option<Verdict>,
    },
    /// It was passed by.
    Skipped {
        /// Why.
        reason: SkipReason,
        /// More about it.
        note: String,
    },
}

/// Finds the open round of this logbook.
///
/// # Errors
/// The database's.
pub fn open_round(logbook: &Logbook) -> Result<Option<RoundView>> {
    match logbook.own_open_round()? {
        Some(at) => round(logbook, at).map(Some),
        None => Ok(None),
    }
}

/// Reads one round.
///
/// # Errors
/// [`crate::Error::UnknownRound`].
pub fn round(logbook: &Logbook, at: RecordRef) -> Result<RoundView> {
    logbook.read_round(at)
}

/// Lists the newest `limit` rounds that count, of all logbooks, newest first.
///
/// # Errors
/// The database's.
pub fn rounds(logbook: &Logbook, limit: usize) -> Result<Vec<RoundView>> {
    logbook
        .newest_rounds(limit)?
        .into_iter()
        .map(|at| round(logbook, at))
        .collect()
}
