//! Confirming a reading: judged, written down with the verdict shown, safe when this returns.

use winze_sync_format::RecordRef;

use crate::record::{AskedDoubt, Body, Reading, Shown, Source, Ticks};
use crate::station::StationCode;
use crate::store::NewRecord;
use crate::verdict::{Entry, Judgement, judge};
use crate::{Error, Logbook, Result};

/// A reading about to be confirmed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewReading {
    /// The station.
    pub station: StationCode,
    /// The definition that was on the screen; the one in force when absent.
    pub revision: Option<RecordRef>,
    /// The round it is taken on, if on one.
    pub round: Option<RecordRef>,
    /// The gauges as typed.
    pub entry: Entry,
    /// What was noticed on the look-round.
    pub ticks: Ticks,
    /// A free note.
    pub note: String,
    /// The doubts that were put, with the replies.
    pub doubts: Vec<AskedDoubt>,
    /// Who took it.
    pub by: String,
    /// Made when the entry is begun and kept with its draft: a second confirmation with the same
    /// nonce is seen and adds nothing.
    pub nonce: [u8; 8],
}

/// A reading that is safe.
#[derive(Debug, Clone, PartialEq)]
pub struct Saved {
    /// Its record.
    pub at: RecordRef,
    /// The judgement of which the record keeps what was shown.
    pub judgement: Judgement,
    /// Whether this very entry had been confirmed before, so that nothing was added.
    pub was_saved_before: bool,
}

/// Confirms a reading. When this returns `Ok` the reading is in the synced segment and committed.
///
/// # Errors
/// [`Error::NothingTyped`], [`Error::UnknownStation`], [`Error::UnknownRecord`] for a definition that
/// is not here, [`Error::UnknownRound`], [`Error::RoundClosed`], and those of writing. A station that
/// is not on the round is no error: it is an extra visit.
pub fn record_reading(logbook: &mut Logbook, new: NewReading) -> Result<Saved> {
    if new.entry.is_empty() {
        return Err(Error::NothingTyped {
            station: new.station,
        });
    }
    let (definition, revision) = if let Some(revision) = new.revision {
        (logbook.read_definition(revision)?, revision)
    } else {
        let unknown = || Error::UnknownStation {
            station: new.station.clone(),
        };
        let current = logbook.read_station(&new.station)?.ok_or_else(unknown)?;
        (current.definition, current.revision)
    };
    if definition.code != new.station {
        return Err(Error::UnknownStation {
            station: new.station,
        });
    }
    let judgement = judge(&definition, &new.entry);
    if let Some(at) = logbook.own_reading_with_nonce(&new.station, new.nonce)? {
        return Ok(Saved {
            at,
            judgement,
            was_saved_before: true,
        });
    }
    if let Some(round) = new.round {
        logbook.check_round_is_open(round)?;
    }
    let body = Reading {
        station: new.station,
        revision,
        round: new.round,
        entry: new.entry,
        ticks: new.ticks,
        note: new.note,
        doubts: new.doubts,
        shown: Shown::of(&judgement),
        source: Source::OnTheSpot,
        utc_offset_minutes: Some(logbook.clock().utc_offset_minutes()),
    };
    let record = NewRecord::new(Body::Reading(Box::new(body)), new.by).with_nonce(new.nonce);
    let at = logbook.confirm_one(record)?;
    Ok(Saved {
        at,
        judgement,
        was_saved_before: false,
    })
}
