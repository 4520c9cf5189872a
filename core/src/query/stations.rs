//! The register: stations in walking order, and one station with its definition.

use winze_sync_format::RecordRef;

use crate::merge::Standing;
use crate::station::{Station, StationCode};
use crate::verdict::Verdict;
use crate::{Logbook, Result};

/// One line of the register.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StationRow {
    /// Its code.
    pub code: StationCode,
    /// What people call it.
    pub name: String,
    /// The level or place it belongs to.
    pub level: String,
    /// Place in the walking order.
    pub order: u32,
    /// The definition in force.
    pub revision: RecordRef,
    /// Whether definitions disagree and nobody has decided.
    pub is_disputed: bool,
    /// The newest reading that counts.
    pub last: Option<LastVisit>,
}

/// The newest reading of a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LastVisit {
    /// Its record.
    pub at: RecordRef,
    /// When it was taken, milliseconds since 1970.
    pub taken_ms: i64,
    /// The worst verdict shown; none when nothing could be judged.
    pub worst: Option<Verdict>,
    /// How it stands.
    pub standing: Standing,
}

/// A station with its definition.
#[derive(Debug, Clone, PartialEq)]
pub struct StationDetail {
    /// The definition in force.
    pub definition: Station,
    /// Its record: what a reading judged against it cites.
    pub revision: RecordRef,
    /// When it was made, milliseconds since 1970 by its maker's clock.
    pub revised_ms: i64,
    /// Who made it.
    pub revised_by: String,
    /// Whether definitions disagree and nobody has decided.
    pub is_disputed: bool,
    /// How many definitions there are in all that count.
    pub revisions: usize,
    /// How many readings there are in all that count.
    pub readings: usize,
}

/// Lists the stations in walking order (order, then code).
///
/// # Errors
/// The database's.
pub fn stations(logbook: &Logbook) -> Result<Vec<StationRow>> {
    logbook.read_stations()
}

/// Finds one station.
///
/// # Errors
/// The database's.
pub fn station(logbook: &Logbook, code: &StationCode) -> Result<Option<StationDetail>> {
    logbook.read_station(code)
}

/// Reads the definition that a reading cites.
///
/// # Errors
/// [`crate::Error::UnknownRecord`] when the record is not here or is no definition.
pub fn definition_at(logbook: &Logbook, revision: RecordRef) -> Result<Station> {
    logbook.read_definition(revision)
}
