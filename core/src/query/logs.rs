//! The logbooks whose records are here, and what of ours the office does not have yet.

use winze_sync_format::LogId;

use crate::record::Role;
use crate::store::Level;
use crate::{Logbook, Result};

/// Whether a log counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It is this logbook's own.
    Own,
    /// It counts.
    Counts,
    /// It counts up to a sequence number, or not at all any more.
    Revoked {
        /// The last sequence number that counts.
        last_seq: Option<u64>,
    },
    /// It is unknown: kept, not counted.
    Held,
}

/// One log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogView {
    /// Its name for machines.
    pub log: LogId,
    /// Its name for people, to compare aloud.
    pub words: [&'static str; 8],
    /// What it is called here; for an unknown one, what it calls itself.
    pub name: String,
    /// Its role: granted, or for an unknown one what it claims.
    pub role: Option<Role>,
    /// Whether it counts.
    pub standing: Standing,
    /// How many of its records are here.
    pub records: u64,
    /// How many of them are readings.
    pub readings: u64,
    /// How many of its records are kept but not counted.
    pub held: u64,
    /// The last sequence number held without a gap from the first.
    pub whole_to: Option<u64>,
    /// The largest sequence number here.
    pub newest: Option<u64>,
    /// The last sequence number that an office has acknowledged.
    pub acknowledged_to: Option<u64>,
    /// The last sequence number that is in a verified backup of an office. Nothing behind it may be
    /// removed anywhere else; this program removes nothing at all.
    pub backed_up_to: Option<u64>,
    /// Wall time of its newest record, milliseconds since 1970.
    pub newest_ms: Option<i64>,
    /// Whether two different records claim one place in it.
    pub is_copied: bool,
}

/// Lists all logs: the own first, then by name and id.
///
/// # Errors
/// The database's.
pub fn logs(logbook: &Logbook) -> Result<Vec<LogView>> {
    logbook.read_logs()
}

/// Counts the own records that no office has acknowledged.
///
/// # Errors
/// The database's.
pub fn not_yet_at_office(logbook: &Logbook) -> Result<u64> {
    logbook.count_not_acknowledged(Level::Committed)
}

/// Counts the own records that are in no verified backup of an office.
///
/// # Errors
/// The database's.
pub fn not_yet_backed_up(logbook: &Logbook) -> Result<u64> {
    logbook.count_not_acknowledged(Level::BackedUp)
}
