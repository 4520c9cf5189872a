//! Enrolling and revoking logbooks, after two people compared the eight words.

use winze_sync_format::{LogId, RecordRef};

use crate::record::{Body, Enrolment, Revocation, Role};
use crate::store::NewRecord;
use crate::{Error, Logbook, Result};

/// Lets a log count, in a role and under a name. Its records that are held already count from then
/// on. Enrolling it again gives it another role or name, and lifts a revocation made here.
///
/// # Errors
/// [`Error::OwnLog`], and those of writing.
pub fn enrol_logbook(
    logbook: &mut Logbook,
    log: LogId,
    name: String,
    role: Role,
    by: String,
) -> Result<RecordRef> {
    if log == logbook.log_id() {
        return Err(Error::OwnLog);
    }
    let body = Body::Enrolment(Enrolment { log, name, role });
    logbook.confirm_one(NewRecord::new(body, by))
}

/// Lets a log count no further than `last_seq`, or not at all.
///
/// # Errors
/// [`Error::OwnLog`], [`Error::UnknownLog`] when nothing of it is here and nobody enrolled it, and
/// those of writing.
pub fn revoke_logbook(
    logbook: &mut Logbook,
    log: LogId,
    last_seq: Option<u64>,
    reason: String,
    by: String,
) -> Result<RecordRef> {
    if log == logbook.log_id() {
        return Err(Error::OwnLog);
    }
    if !logbook.read_logs()?.iter().any(|view| view.log == log) {
        return Err(Error::UnknownLog { log });
    }
    let body = Body::Revocation(Revocation {
        log,
        last_seq,
        reason,
    });
    logbook.confirm_one(NewRecord::new(body, by))
}
