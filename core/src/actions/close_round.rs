//! Ending a walk-round.

use winze_sync_format::RecordRef;

use crate::record::{Body, RoundClosed};
use crate::store::NewRecord;
use crate::{Error, Logbook, Result};

/// Ends a walk-round, whether or not stations are left, and makes the database one file again.
///
/// # Errors
/// [`Error::UnknownRound`], [`Error::RoundClosed`], and those of writing.
pub fn close_round(
    logbook: &mut Logbook,
    round: RecordRef,
    note: String,
    by: String,
) -> Result<RecordRef> {
    logbook.check_round_is_open(round)?;
    let body = Body::RoundClosed(RoundClosed { round, note });
    let closed = logbook.confirm_one(NewRecord::new(body, by))?;
    // The record is safe already; a busy or full disk only postpones the tidying.
    let _ = logbook.checkpoint();
    Ok(closed)
}

impl Logbook {
    /// Makes sure that a round is known and open.
    pub(super) fn check_round_is_open(&self, round: RecordRef) -> Result<()> {
        match self.round_is_closed(round)? {
            None => Err(Error::UnknownRound { round }),
            Some(true) => Err(Error::RoundClosed { round }),
            Some(false) => Ok(()),
        }
    }
}
