//! Passing a station by, with a reason.

use winze_sync_format::RecordRef;

use crate::record::{Body, SkipReason, StationSkipped};
use crate::station::StationCode;
use crate::store::NewRecord;
use crate::{Error, Logbook, Result};

/// A station to pass by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewSkip {
    /// The open round.
    pub round: RecordRef,
    /// The station.
    pub station: StationCode,
    /// Why.
    pub reason: SkipReason,
    /// More about it; needed with [`SkipReason::Other`].
    pub note: String,
    /// Who passes it by.
    pub by: String,
}

/// Writes down that a station was passed by.
///
/// # Errors
/// [`Error::UnknownRound`], [`Error::RoundClosed`], [`Error::NotOnRound`], [`Error::NoteMissing`],
/// and those of writing.
pub fn skip_station(logbook: &mut Logbook, new: NewSkip) -> Result<RecordRef> {
    logbook.check_round_is_open(new.round)?;
    let round = logbook.read_round(new.round)?;
    if !round.stops.iter().any(|stop| stop.code == new.station) {
        return Err(Error::NotOnRound {
            station: new.station,
        });
    }
    if new.reason == SkipReason::Other && new.note.trim().is_empty() {
        return Err(Error::NoteMissing);
    }
    let NewSkip {
        round,
        station,
        reason,
        note,
        by,
    } = new;
    let body = Body::StationSkipped(StationSkipped {
        round,
        station,
        reason,
        note,
    });
    logbook.confirm_one(NewRecord::new(body, by))
}
