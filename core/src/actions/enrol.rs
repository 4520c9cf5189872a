//! Enrolling and revoking logbooks, after two people compared the eight words; lost tablets, and the
//! office's own key.

use winze_sync_format::{LogId, RecordRef};

use crate::record::{Body, Enrolment, Revocation, Role};
use crate::store::{NewLog, NewRecord};
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

/// Reports a tablet lost or stolen: its log counts up to the last record that this office has
/// acknowledged. Whoever has the tablet can date back what he writes, so what lies beyond is held for
/// the clerk, who may let it count by [`revoke_logbook`] with a later number or by enrolling again.
///
/// # Errors
/// As [`revoke_logbook`].
pub fn report_lost(
    logbook: &mut Logbook,
    log: LogId,
    reason: String,
    by: String,
) -> Result<RecordRef> {
    let last_seq = logbook.acknowledged_by_us(log)?;
    revoke_logbook(logbook, log, last_seq, reason, by)
}

/// Replaces the office's key: the old key signs that the office goes on under a new one, and the
/// logbook goes on in a new log. Those who trust the old log trust the new one without comparing
/// words. The old log counts up to `last_seq`, the whole of it when absent: everything acknowledged
/// up to there stays acknowledged.
///
/// # Errors
/// [`Error::NotAnOffice`], and those of writing.
pub fn replace_office_key(
    logbook: &mut Logbook,
    last_seq: Option<u64>,
    reason: String,
    by: &str,
) -> Result<NewLog> {
    logbook.write_replacement(last_seq, reason, by)
}
