//! Jobs that suggest themselves, filled in as far as the facts go. A person decides.

use winze_sync_format::RecordRef;

use super::jobs::Job;
use super::work::{JobCause, JobWork};
use crate::record::Ticks;
use crate::station::{Quantity, StationCode};
use crate::suspects::Ranking;
use crate::verdict::Verdict;

/// A suspect less probable than this raises no proposal. Common practice, no source.
const PROBABLE: f64 = 0.25;

/// A job that could be raised.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The station.
    pub station: StationCode,
    /// What is to be done.
    pub work: JobWork,
    /// What it is proposed for.
    pub cause: JobCause,
    /// The records that speak for it.
    pub evidence: Vec<RecordRef>,
    /// How probable the suspected cause is, for a suspect.
    pub probability: Option<f64>,
}

/// What the newest visit says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finding<'a> {
    /// Its record.
    pub at: RecordRef,
    /// What was noticed.
    pub ticks: Ticks,
    /// The verdicts, in flow order.
    pub verdicts: [Option<Verdict>; 3],
    /// The suspects of the station's standing conditions, each with the quantity it was found on and
    /// the reading that raised it.
    pub suspects: &'a [(Ranking, Option<Quantity>, RecordRef)],
}

/// Proposes jobs for a station: for what was noticed, then for suspects, then for what is outside
/// without a probable suspect. Work for which a job is open is not proposed again, nor is the same
/// work twice.
#[must_use]
pub fn proposals(station: &StationCode, finding: &Finding<'_>, jobs: &[Job]) -> Vec<Proposal> {
    let mut proposed: Vec<Proposal> = Vec::new();
    let is_open = |work: JobWork| {
        let mut open = jobs.iter().filter(|job| job.is_open());
        open.any(|job| job.station == *station && job.work == work)
    };
    let mut add = |work: JobWork, cause, at, probability| {
        let is_new = !proposed.iter().any(|proposal| proposal.work == work);
        if is_new && !is_open(work) {
            proposed.push(Proposal {
                station: station.clone(),
                work,
                cause,
                evidence: vec![at],
                probability,
            });
        }
    };
    for tick in finding.ticks.iter() {
        add(
            JobWork::for_tick(tick),
            JobCause::Noticed(tick),
            finding.at,
            None,
        );
    }
    let mut has_suspect = false;
    for (ranking, quantity, at) in finding.suspects {
        let ranked = ranking.in_order();
        for suspect in ranked.iter().filter(|one| one.probability >= PROBABLE) {
            if let Some(work) = JobWork::for_suspect(suspect.cause, *quantity) {
                has_suspect = true;
                let cause = JobCause::Suspected(suspect.cause);
                add(work, cause, *at, Some(suspect.probability));
            }
        }
    }
    if !has_suspect {
        for quantity in Quantity::ALL {
            if finding.verdicts[quantity.index()] == Some(Verdict::Outside) {
                let cause = JobCause::Outside(quantity);
                add(for_outside(quantity), cause, finding.at, None);
            }
        }
    }
    proposed
}

/// What is looked at first when nothing but the verdict speaks.
const fn for_outside(quantity: Quantity) -> JobWork {
    match quantity {
        Quantity::Inlet => JobWork::LookIntoSupply,
        Quantity::Interstage => JobWork::OverhaulFirstStage,
        Quantity::Outlet => JobWork::Recalibrate,
    }
}
