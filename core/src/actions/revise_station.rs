//! Defining a station, or defining it anew.

use winze_sync_format::RecordRef;

use crate::record::Body;
use crate::station::Station;
use crate::store::NewRecord;
use crate::{Error, Logbook, Result};

/// Writes down a definition that replaces those known here, disputed ones included. The definition in
/// force already, told again, adds nothing.
///
/// # Errors
/// [`Error::UnsoundDefinition`] when readings could not be judged against it, and those of writing.
pub fn revise_station(logbook: &mut Logbook, station: Station, by: String) -> Result<RecordRef> {
    match plan(logbook, station, by)? {
        Planned::InForce(at) => Ok(at),
        Planned::New(record) => logbook.confirm_one(record),
    }
}

/// What a definition comes to.
pub(super) enum Planned {
    /// It is in force already.
    InForce(RecordRef),
    /// It is to be written.
    New(NewRecord),
}

pub(super) fn plan(logbook: &Logbook, station: Station, by: String) -> Result<Planned> {
    let problems = station.problems();
    if problems.iter().any(crate::station::Problem::is_fatal) {
        return Err(Error::UnsoundDefinition {
            station: station.code,
            problems,
        });
    }
    if let Some(current) = logbook.read_station(&station.code)?
        && !current.is_disputed
        && current.definition == station
    {
        return Ok(Planned::InForce(current.revision));
    }
    let replaces = logbook.revision_heads(&station.code)?;
    let body = Body::StationRevision(Box::new(station));
    Ok(Planned::New(NewRecord::new(body, by).replacing(replaces)))
}
