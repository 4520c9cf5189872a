//! Opening a procedure at a station.

use winze_sync_format::RecordRef;

use crate::procedures::{EDITION, OpenReason, ProcedureCode, ProcedureError, procedure};
use crate::query;
use crate::record::{Body, ProcedureOpened};
use crate::station::StationCode;
use crate::store::NewRecord;
use crate::{Error, Logbook, Result};

/// A procedure to open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewProcedure {
    /// Which.
    pub procedure: ProcedureCode,
    /// The station.
    pub station: StationCode,
    /// Why; some procedures need a reason.
    pub reason: Option<OpenReason>,
    /// More about it; needed with [`OpenReason::Other`].
    pub note: String,
    /// Who opens it.
    pub by: String,
}

/// Opens a procedure.
///
/// # Errors
/// [`Error::UnknownStation`], [`ProcedureError::ReasonMissing`], [`Error::NoteMissing`],
/// [`ProcedureError::Open`] when the same one is open there already, and those of writing.
pub fn open_procedure(logbook: &mut Logbook, new: NewProcedure) -> Result<RecordRef> {
    if logbook.read_station(&new.station)?.is_none() {
        return Err(Error::UnknownStation {
            station: new.station,
        });
    }
    match new.reason {
        None if procedure(new.procedure).needs_reason => {
            return Err(ProcedureError::ReasonMissing.into());
        }
        Some(OpenReason::Other) if new.note.trim().is_empty() => return Err(Error::NoteMissing),
        _ => {}
    }
    let there = query::procedures_at(logbook, &new.station)?;
    let is_same = |view: &&query::ProcedureView| view.code == new.procedure && view.is_open();
    if let Some(open) = there.iter().find(is_same) {
        return Err(ProcedureError::Open { procedure: open.at }.into());
    }
    let body = ProcedureOpened {
        procedure: new.procedure,
        edition: EDITION,
        station: new.station,
        reason: new.reason,
        note: new.note,
        utc_offset_minutes: logbook.clock().utc_offset_minutes(),
    };
    logbook.confirm_one(NewRecord::new(
        Body::ProcedureOpened(Box::new(body)),
        new.by,
    ))
}
