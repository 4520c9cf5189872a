//! What matters to the office now: new, outside, unsure, missed, questions, held.

use winze_sync_format::RecordRef;

use super::{LogView, QuestionView, Visit};
use crate::station::StationCode;
use crate::{Logbook, Result};

/// The office's overview.
#[derive(Debug, Clone, PartialEq)]
pub struct Overview {
    /// How many stations there are.
    pub stations: usize,
    /// How many readings count in all.
    pub readings: u64,
    /// The newest merge.
    pub last_merge: Option<MergeRun>,
    /// Readings the newest merge brought that count, newest first.
    pub new: Vec<Visit>,
    /// Stations whose newest reading is outside, in walking order.
    pub outside: Vec<StationConcern>,
    /// Stations whose newest reading is unsure, in walking order.
    pub unsure: Vec<StationConcern>,
    /// Stations that should have been read and were not, in walking order.
    pub missed: Vec<Missed>,
    /// Questions to be decided.
    pub questions: Vec<QuestionView>,
    /// Logs with records that are kept but not counted.
    pub held: Vec<LogView>,
    /// Stations whose definitions disagree.
    pub disputed_stations: Vec<StationCode>,
    /// How many records are kept without being understood.
    pub not_understood: u64,
}

/// A station whose newest reading needs a look.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StationConcern {
    /// What people call the station.
    pub name: String,
    /// The reading.
    pub visit: Visit,
}

/// A station that was missed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missed {
    /// The station.
    pub code: StationCode,
    /// What people call it.
    pub name: String,
    /// Why it is on the list.
    pub why: MissedWhy,
    /// When it was last read, milliseconds since 1970.
    pub last_ms: Option<i64>,
}

/// Why a station is on the list of missed ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MissedWhy {
    /// It was on a round that ended this week, and was neither read nor skipped.
    LeftOut {
        /// The round.
        round: RecordRef,
    },
    /// It was skipped this week and not read since.
    Skipped {
        /// The round.
        round: RecordRef,
    },
    /// It was not read this week (Monday to Sunday, local time).
    NotThisWeek,
}

/// One merge as it was run here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MergeRun {
    /// When it ended, milliseconds since 1970.
    pub finished_ms: i64,
    /// How many bundles it took.
    pub bundles: u64,
    /// How many records were new.
    pub new_records: u64,
    /// How many of them were readings.
    pub new_readings: u64,
}

/// Makes the overview of the week that the logbook's clock shows.
///
/// # Errors
/// The database's.
pub fn overview(logbook: &Logbook) -> Result<Overview> {
    let clock = logbook.clock();
    overview_at(logbook, clock.now().wall_ms, clock.utc_offset_minutes())
}

/// Makes the overview of the week around `now_ms` (milliseconds since 1970), with local time
/// `utc_offset_minutes` ahead of UTC.
///
/// # Errors
/// The database's.
pub fn overview_at(logbook: &Logbook, now_ms: i64, utc_offset_minutes: i16) -> Result<Overview> {
    let _ = (logbook, now_ms, utc_offset_minutes);
    todo!()
}
