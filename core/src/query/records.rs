//! Any record by name: who wrote what, when, and how it stands.

use winze_sync_format::{ClockReading, RecordId, RecordRef};

use crate::merge::ReadingState;
use crate::record::Body;
use crate::{Logbook, Result};

/// One record with everything known about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordView {
    /// Its name.
    pub at: RecordRef,
    /// The record before it in its log.
    pub prev: Option<RecordId>,
    /// Whether the record before it is here and is the one it names.
    pub is_linked: bool,
    /// The kind number in its envelope; 0 for an item of a newer format version.
    pub kind: u64,
    /// Who wrote it.
    pub person: String,
    /// What the clocks showed; absent for an item of a newer format version.
    pub clock: Option<ClockReading>,
    /// The records it refers to as coming before it.
    pub refs: Vec<RecordRef>,
    /// Its body; absent when not understood.
    pub body: Option<Body>,
    /// Why the body was not understood.
    pub not_understood: Option<String>,
    /// What its log is called here; empty for an unknown one.
    pub log_name: String,
    /// Whether it is kept but not counted.
    pub is_held: bool,
    /// How it stands, if it is a reading.
    pub state: Option<ReadingState>,
    /// The item as it travels, byte for byte.
    pub item: Vec<u8>,
}

/// Reads one record.
///
/// # Errors
/// [`crate::Error::UnknownRecord`].
pub fn record(logbook: &Logbook, at: RecordRef) -> Result<RecordView> {
    logbook.read_record(at)
}

/// Says whether exactly this record is here, counted or not.
///
/// # Errors
/// The database's.
pub fn holds(logbook: &Logbook, at: RecordRef) -> Result<bool> {
    logbook.holds_record(&at)
}

/// Finds records by the first hex digits of their id, at most 16 of them.
///
/// # Errors
/// The database's.
pub fn find_records(logbook: &Logbook, id_prefix: &str) -> Result<Vec<RecordRef>> {
    logbook.find_by_id_prefix(id_prefix, 16)
}

/// Finds the records at a place of the logs whose names start with these hex digits, at most 16 of
/// them; more than one of a log that was copied.
///
/// # Errors
/// The database's.
pub fn find_at_place(logbook: &Logbook, log_prefix: &str, seq: u64) -> Result<Vec<RecordRef>> {
    logbook.find_by_place(log_prefix, seq, 16)
}
