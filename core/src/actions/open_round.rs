//! Starting a walk-round.

use winze_sync_format::RecordRef;

use crate::record::{Body, RoundOpened};
use crate::station::StationCode;
use crate::store::NewRecord;
use crate::{Error, Logbook, Result};

/// A walk-round to start.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewRound {
    /// What it is called.
    pub title: String,
    /// The stations to visit in walking order; all known stations when empty.
    pub stations: Vec<StationCode>,
    /// Who walks.
    pub by: String,
}

/// Starts a walk-round.
///
/// # Errors
/// [`Error::RoundOpen`] while another of this logbook is open, [`Error::UnknownStation`],
/// [`Error::EmptyRound`], and those of writing.
pub fn open_round(logbook: &mut Logbook, new: NewRound) -> Result<RecordRef> {
    if let Some(round) = logbook.own_open_round()? {
        return Err(Error::RoundOpen { round });
    }
    let known = logbook.read_stations()?;
    let mut stations = Vec::new();
    if new.stations.is_empty() {
        stations.extend(known.into_iter().map(|row| row.code));
    } else {
        for code in new.stations {
            if !known.iter().any(|row| row.code == code) {
                return Err(Error::UnknownStation { station: code });
            }
            if !stations.contains(&code) {
                stations.push(code);
            }
        }
    }
    if stations.is_empty() {
        return Err(Error::EmptyRound);
    }
    let utc_offset_minutes = logbook.clock().utc_offset_minutes();
    let body = Body::RoundOpened(RoundOpened {
        title: new.title,
        stations,
        utc_offset_minutes,
    });
    logbook.confirm_one(NewRecord::new(body, new.by))
}
