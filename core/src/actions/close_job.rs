//! Closing a job: with the as-left reading and the parts used, or because it is not needed.

use winze_sync_format::RecordRef;

use crate::record::{Body, JobClosed, JobEnd, PartUsed};
use crate::store::NewRecord;
use crate::{Error, Logbook, Result, query};

/// The end of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewJobEnd {
    /// The job.
    pub job: RecordRef,
    /// How it came to its end.
    pub end: JobEnd,
    /// Parts used.
    pub parts: Vec<PartUsed>,
    /// More about it; needed with [`JobEnd::NotNeeded`].
    pub note: String,
    /// Who closes it.
    pub by: String,
}

/// Closes a job. The as-left reading may show anything: bad news closes a job as well, and raises
/// the next.
///
/// # Errors
/// [`Error::UnknownJob`], [`Error::JobClosed`], [`Error::NoteMissing`], [`Error::PartUnclear`],
/// [`Error::UnknownRecord`] and [`Error::NotAReading`] for the as-left reading,
/// [`Error::OtherStation`], and those of writing.
pub fn close_job(logbook: &mut Logbook, new: NewJobEnd) -> Result<RecordRef> {
    let job = query::job(logbook, new.job)?;
    if !job.is_open() {
        return Err(Error::JobClosed { job: new.job });
    }
    match new.end {
        JobEnd::NotNeeded if new.note.trim().is_empty() => return Err(Error::NoteMissing),
        JobEnd::NotNeeded => {}
        JobEnd::Done { as_left } => {
            if logbook.read_visit(as_left)?.station != job.station {
                return Err(Error::OtherStation {
                    reading: as_left,
                    station: job.station,
                });
            }
        }
    }
    if new
        .parts
        .iter()
        .any(|part| part.what.trim().is_empty() || part.count == 0)
    {
        return Err(Error::PartUnclear);
    }
    let body = JobClosed {
        job: new.job,
        station: job.station,
        end: new.end,
        parts: new.parts,
        note: new.note,
        utc_offset_minutes: logbook.clock().utc_offset_minutes(),
    };
    logbook.confirm_one(NewRecord::new(Body::JobClosed(Box::new(body)), new.by))
}
