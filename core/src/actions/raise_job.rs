//! Raising a job: something is to be put right at a station.

use winze_sync_format::RecordRef;

use crate::record::{Body, JobRaised};
use crate::station::StationCode;
use crate::store::NewRecord;
use crate::upkeep::{JobCause, JobWork, Proposal};
use crate::{Error, Logbook, Result};

/// A job to raise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewJob {
    /// The station.
    pub station: StationCode,
    /// What is to be done.
    pub work: JobWork,
    /// What it is raised from.
    pub cause: JobCause,
    /// The records it is raised from.
    pub evidence: Vec<RecordRef>,
    /// More about it; needed with [`JobWork::Other`].
    pub note: String,
    /// Who raises it.
    pub by: String,
}

impl NewJob {
    /// The job that was proposed.
    #[must_use]
    pub fn of(proposal: Proposal, by: String) -> Self {
        Self {
            station: proposal.station,
            work: proposal.work,
            cause: proposal.cause,
            evidence: proposal.evidence,
            note: String::new(),
            by,
        }
    }
}

/// Raises a job. Its record names it from then on. That work is open already is no error: two
/// people may mean two things.
///
/// # Errors
/// [`Error::UnknownStation`], [`Error::NoteMissing`], and those of writing.
pub fn raise_job(logbook: &mut Logbook, new: NewJob) -> Result<RecordRef> {
    if new.work == JobWork::Other && new.note.trim().is_empty() {
        return Err(Error::NoteMissing);
    }
    if logbook.read_station(&new.station)?.is_none() {
        return Err(Error::UnknownStation {
            station: new.station,
        });
    }
    let body = JobRaised {
        station: new.station,
        work: new.work,
        cause: new.cause,
        evidence: new.evidence,
        note: new.note,
        utc_offset_minutes: logbook.clock().utc_offset_minutes(),
    };
    logbook.confirm_one(NewRecord::new(Body::JobRaised(Box::new(body)), new.by))
}
