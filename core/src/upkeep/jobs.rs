//! What the records about jobs come to, whatever the order in which they arrive.
//!
//! A job is open until something closes it. Two tablets may close the same job without knowing of
//! each other: both closings stay and are listed, the earlier one says since when it is closed.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use winze_sync_format::RecordRef;

use super::calendar::local_date;
use super::work::{JobCause, JobWork};
use crate::record::{JobClosed, JobEnd, JobRaised, PartUsed};
use crate::station::StationCode;

/// Who wrote a record and when.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Written {
    /// When, milliseconds since 1970 by the writer's clock.
    pub wall_ms: i64,
    /// The record.
    pub at: RecordRef,
    /// Who.
    pub by: String,
}

/// A job with everything said about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    /// Who raised it and when; its record names the job.
    pub raised: Written,
    /// The local day on which it was raised.
    pub raised_on: NaiveDate,
    /// The station.
    pub station: StationCode,
    /// What is to be done.
    pub work: JobWork,
    /// What it is raised from.
    pub cause: JobCause,
    /// The records it is raised from.
    pub evidence: Vec<RecordRef>,
    /// More about it.
    pub note: String,
    /// Every closing, earliest first; empty while the job is open.
    pub closings: Vec<Closing>,
}

/// A job was closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// Who closed it and when.
    pub written: Written,
    /// The local day on which it was closed.
    pub closed_on: NaiveDate,
    /// How it came to its end.
    pub end: JobEnd,
    /// Parts used.
    pub parts: Vec<PartUsed>,
    /// More about it.
    pub note: String,
}

impl Job {
    /// Whether nothing has closed it.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.closings.is_empty()
    }

    /// Since when it is closed.
    #[must_use]
    pub fn closed_on(&self) -> Option<NaiveDate> {
        self.closings.first().map(|closing| closing.closed_on)
    }

    /// Whether it was open at the end of a day.
    #[must_use]
    pub fn is_open_on(&self, day: NaiveDate) -> bool {
        self.raised_on <= day && self.closed_on().is_none_or(|closed| closed > day)
    }
}

/// Puts together what the records say: jobs in order of raising. A closing counts for the job it
/// names, at the same station; one whose job is not here waits for it.
#[must_use]
pub fn fold_jobs(
    raised: impl IntoIterator<Item = (Written, JobRaised)>,
    closed: impl IntoIterator<Item = (Written, JobClosed)>,
) -> Vec<Job> {
    let mut closings: BTreeMap<RecordRef, Vec<(StationCode, Closing)>> = BTreeMap::new();
    for (written, body) in closed {
        let closing = Closing {
            closed_on: local_date(written.wall_ms, body.utc_offset_minutes),
            written,
            end: body.end,
            parts: body.parts,
            note: body.note,
        };
        closings
            .entry(body.job)
            .or_default()
            .push((body.station, closing));
    }
    let mut jobs: Vec<Job> = raised
        .into_iter()
        .map(|(written, body)| {
            let of_this = closings.remove(&written.at).unwrap_or_default();
            let mut closings: Vec<Closing> = of_this
                .into_iter()
                .filter(|(station, _)| *station == body.station)
                .map(|(_, closing)| closing)
                .collect();
            closings.sort_by(|a, b| a.written.cmp(&b.written));
            closings.dedup();
            Job {
                raised_on: local_date(written.wall_ms, body.utc_offset_minutes),
                raised: written,
                station: body.station,
                work: body.work,
                cause: body.cause,
                evidence: body.evidence,
                note: body.note,
                closings,
            }
        })
        .collect();
    jobs.sort_by(|a, b| a.raised.cmp(&b.raised));
    jobs.dedup_by(|a, b| a.raised.at == b.raised.at);
    jobs
}
