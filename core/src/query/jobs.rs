//! Jobs: what is to be put right, what became of it, and what suggests itself.

use winze_sync_format::{RecordRef, SignedRecord};

use super::judgement;
use crate::record::{Body, Kind};
use crate::station::{Quantity, StationCode};
use crate::upkeep::{Finding, Job, Proposal, Written, fold_jobs, proposals};
use crate::watch::FlagQuantity;
use crate::{Error, Logbook, Result};

/// Lists every job that counts, open or closed, in order of raising.
///
/// # Errors
/// The database's.
pub fn jobs(logbook: &Logbook) -> Result<Vec<Job>> {
    let mut raised = Vec::new();
    for (record, body) in logbook.read_counted_of_kind(Kind::JobRaised)? {
        if let Body::JobRaised(job) = body {
            raised.push((written(&record), *job));
        }
    }
    let mut closed = Vec::new();
    for (record, body) in logbook.read_counted_of_kind(Kind::JobClosed)? {
        if let Body::JobClosed(job) = body {
            closed.push((written(&record), *job));
        }
    }
    Ok(fold_jobs(raised, closed))
}

/// Lists the jobs of one station, in order of raising.
///
/// # Errors
/// The database's.
pub fn jobs_at(logbook: &Logbook, code: &StationCode) -> Result<Vec<Job>> {
    let mut found = jobs(logbook)?;
    found.retain(|job| job.station == *code);
    Ok(found)
}

/// Finds the job that a record raised.
///
/// # Errors
/// [`Error::UnknownJob`], and the database's.
pub fn job(logbook: &Logbook, at: RecordRef) -> Result<Job> {
    jobs(logbook)?
        .into_iter()
        .find(|job| job.raised.at == at)
        .ok_or(Error::UnknownJob { job: at })
}

/// Proposes jobs for a station from its newest reading that counts, and from the suspects of what
/// stands there, answered checks included.
///
/// # Errors
/// [`Error::UnknownStation`], and the database's.
pub fn job_proposals(logbook: &Logbook, code: &StationCode) -> Result<Vec<Proposal>> {
    let Some(visit) = logbook.read_counted_visits(code, 1)?.into_iter().next() else {
        return Ok(Vec::new());
    };
    let judged = judgement(logbook, code)?;
    let suspects: Vec<_> = judged
        .lasting()
        .map(|condition| {
            let gauge = gauge_of(condition.quantity);
            (condition.suspects(), gauge, condition.reading)
        })
        .collect();
    let finding = Finding {
        at: visit.at,
        ticks: visit.ticks,
        verdicts: Quantity::ALL
            .map(|quantity| visit.shown.get(quantity).map(|shown| shown.verdict)),
        suspects: &suspects,
    };
    Ok(proposals(code, &finding, &jobs_at(logbook, code)?))
}

/// The gauge that a flag is about, where it is about one.
const fn gauge_of(quantity: FlagQuantity) -> Option<Quantity> {
    match quantity {
        FlagQuantity::InletGauge => Some(Quantity::Inlet),
        FlagQuantity::InterstageGauge => Some(Quantity::Interstage),
        FlagQuantity::OutletGauge => Some(Quantity::Outlet),
        FlagQuantity::Inlet | FlagQuantity::FirstStage | FlagQuantity::Outlet => None,
    }
}

/// Who wrote a record and when.
pub(super) fn written(record: &SignedRecord) -> Written {
    Written {
        wall_ms: record.record().clock.wall_ms,
        at: record.reference(),
        by: record.record().person.clone(),
    }
}
