//! Taking a step back: by a further record, with a reason. Nothing is erased.

use winze_sync_format::RecordRef;

use crate::procedures::{ProcedureError, StepCode, StepState};
use crate::record::{Body, StepUndone};
use crate::store::NewRecord;
use crate::{Error, Logbook, Result, query};

/// A step to take back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewUndo {
    /// The procedure: the record that opened it.
    pub procedure: RecordRef,
    /// Which step.
    pub step: StepCode,
    /// Only this record of it, as when two tablets disagree; all that stand when absent.
    pub record: Option<RecordRef>,
    /// Why.
    pub reason: String,
    /// Who takes it back.
    pub by: String,
}

/// Takes a step back. What depended on it is open again too.
///
/// # Errors
/// [`ProcedureError::Unknown`], [`ProcedureError::OtherEdition`], [`ProcedureError::Closed`],
/// [`Error::NoteMissing`] without a reason, [`ProcedureError::NothingToUndo`], and those of writing.
pub fn undo_step(logbook: &mut Logbook, new: NewUndo) -> Result<RecordRef> {
    let view = query::procedure(logbook, new.procedure)?;
    let (_, state) = view.known_state()?;
    if state.closing.is_closed() {
        return Err(ProcedureError::Closed { procedure: view.at }.into());
    }
    if new.reason.trim().is_empty() {
        return Err(Error::NoteMissing);
    }
    let step = state.step(new.step);
    let standing = step.into_iter().flat_map(StepState::standing);
    let records: Vec<RecordRef> = standing
        .map(|entry| entry.at)
        .filter(|at| new.record.is_none_or(|only| only == *at))
        .collect();
    if records.is_empty() {
        return Err(ProcedureError::NothingToUndo { step: new.step }.into());
    }
    let body = StepUndone {
        procedure: view.at,
        station: view.station.clone(),
        step: new.step,
        records,
        reason: new.reason,
        utc_offset_minutes: logbook.clock().utc_offset_minutes(),
    };
    logbook.confirm_one(NewRecord::new(Body::StepUndone(Box::new(body)), new.by))
}
