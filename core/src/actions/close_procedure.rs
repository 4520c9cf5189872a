//! Ending a procedure: complete or given up. A complete one revises the station in the same act
//! where it changed what the station is.

use winze_sync_format::RecordRef;

use super::revise_station::{Planned, plan};
use crate::procedures::{
    ProcedureError, ProcedureState, RestartFrom, bases_of_end, restart_of, revised,
};
use crate::query::{self, ProcedureView};
use crate::record::{Body, ProcedureClosed, ProcedureEnd};
use crate::station::Problem;
use crate::store::NewRecord;
use crate::upkeep::local_date;
use crate::{Error, Logbook, Result};

/// A procedure to end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewEnd {
    /// The procedure: the record that opened it.
    pub procedure: RecordRef,
    /// How it ends.
    pub end: ProcedureEnd,
    /// Who did the work, as it shall stand on the certificate.
    pub done_by: String,
    /// Who looked it over; may be empty.
    pub seen_by: String,
    /// A remark; needed when it is given up.
    pub note: String,
    /// Who ends it.
    pub by: String,
}

/// What became of the station's definition.
#[derive(Debug, Clone, PartialEq)]
pub enum Revised {
    /// Nothing changes.
    Unchanged,
    /// It was revised.
    By(RecordRef),
    /// It was left alone: readings could not be judged against what was measured.
    Unsound(Vec<Problem>),
    /// It was left alone: definitions disagree, and the office has to decide first.
    Disputed,
}

/// A procedure that has ended.
#[derive(Debug, Clone, PartialEq)]
pub struct Ended {
    /// The record that ends it.
    pub at: RecordRef,
    /// What became of the station's definition.
    pub revised: Revised,
    /// The baselines of the watch that start anew.
    pub restarts: Vec<RestartFrom>,
    /// Where the procedure stands now.
    pub state: ProcedureState,
}

/// Ends a procedure.
///
/// # Errors
/// [`ProcedureError::Unknown`], [`ProcedureError::OtherEdition`], [`ProcedureError::Closed`],
/// [`ProcedureError::Lacking`] when it cannot be complete, [`Error::NoteMissing`] when it is given up
/// without a reason, and those of writing.
pub fn close_procedure(logbook: &mut Logbook, new: NewEnd) -> Result<Ended> {
    let view = query::procedure(logbook, new.procedure)?;
    let (data, state) = view.known_state()?;
    if state.closing.is_closed() {
        return Err(ProcedureError::Closed { procedure: view.at }.into());
    }
    match new.end {
        ProcedureEnd::Completed if !state.is_complete() => {
            let steps = state.lacking.clone();
            return Err(ProcedureError::Lacking { steps }.into());
        }
        ProcedureEnd::Abandoned if new.note.trim().is_empty() => return Err(Error::NoteMissing),
        ProcedureEnd::Completed | ProcedureEnd::Abandoned => {}
    }
    let body = ProcedureClosed {
        procedure: view.at,
        station: view.station.clone(),
        end: new.end,
        done_by: new.done_by,
        seen_by: new.seen_by,
        note: new.note,
        utc_offset_minutes: logbook.clock().utc_offset_minutes(),
    };
    let closed = NewRecord::new(Body::ProcedureClosed(Box::new(body)), new.by.clone())
        .replacing(bases_of_end(&view.facts, state));
    let mut records = vec![closed];
    let mut outcome = Revised::Unchanged;
    if new.end == ProcedureEnd::Completed {
        outcome = revision(logbook, &view, state, new.by, &mut records)?;
    }
    let written = logbook.confirm(records)?;
    let nothing = Error::DatabaseContent {
        what: "nothing was confirmed",
    };
    let at = written.first().copied().ok_or(nothing)?;
    if let Some(revision) = written.get(1) {
        outcome = Revised::By(*revision);
    }
    let view = query::procedure(logbook, view.at)?;
    let state = view.known_state()?.1.clone();
    Ok(Ended {
        at,
        revised: outcome,
        restarts: restart_of(data, &state),
        state,
    })
}

/// Plans the revision that follows, adding its record.
fn revision(
    logbook: &Logbook,
    view: &ProcedureView,
    state: &ProcedureState,
    by: String,
    records: &mut Vec<NewRecord>,
) -> Result<Revised> {
    let Some(current) = logbook.read_station(&view.station)? else {
        return Ok(Revised::Unchanged);
    };
    let clock = logbook.clock();
    let today = local_date(clock.now().wall_ms, clock.utc_offset_minutes());
    let Some(revised) = revised(&current.definition, state, today) else {
        return Ok(Revised::Unchanged);
    };
    if current.is_disputed {
        return Ok(Revised::Disputed);
    }
    match plan(logbook, revised, by) {
        Ok(Planned::InForce(_)) => Ok(Revised::Unchanged),
        Ok(Planned::New(record)) => {
            records.push(record);
            Ok(Revised::Unchanged)
        }
        Err(Error::UnsoundDefinition { problems, .. }) => Ok(Revised::Unsound(problems)),
        Err(error) => Err(error),
    }
}
