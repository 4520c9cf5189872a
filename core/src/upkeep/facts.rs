//! Everything that is known about a station's upkeep, as the pure rules want it.

use chrono::NaiveDate;
use winze_sync_format::RecordRef;

use super::due::{Done, DoneBy, InUse};
use super::jobs::Job;
use super::procedures::FoundOn;
use super::task::Task;
use super::work::JobWork;
use crate::record::{JobEnd, SkipReason, Ticks};
use crate::station::{Quantity, Station};
use crate::units::Pressure;
use crate::verdict::Verdict;

/// One counted reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VisitFact {
    /// Its record.
    pub at: RecordRef,
    /// The local day.
    pub on: NaiveDate,
    /// The inlet gauge as it stood, if it was read.
    pub inlet: Option<Pressure>,
    /// What was noticed.
    pub ticks: Ticks,
    /// The verdicts shown, in flow order.
    pub verdicts: [Option<Verdict>; 3],
}

impl VisitFact {
    /// Whether a stage's pressure was outside: interstage or outlet.
    #[must_use]
    pub fn is_stage_outside(&self) -> bool {
        [Quantity::Interstage, Quantity::Outlet]
            .into_iter()
            .any(|quantity| self.verdicts[quantity.index()] == Some(Verdict::Outside))
    }
}

/// Everything that is known about a station's upkeep. Lists in any order.
#[derive(Debug, Clone)]
pub struct StationFacts<'a> {
    /// The definition in force.
    pub definition: &'a Station,
    /// The record of that definition.
    pub revision: RecordRef,
    /// Counted readings; at least those of the last [`LOOK_BACK_DAYS`], and the newest.
    pub visits: &'a [VisitFact],
    /// Tasks done otherwise than by a reading.
    pub dones: &'a [(Task, Done)],
    /// Since when the station is in use.
    pub in_use: InUse,
    /// In what state closed procedures found things.
    pub found: &'a [FoundOn],
    /// Its jobs.
    pub jobs: &'a [Job],
    /// When it was last passed by, and why.
    pub passed_by: Option<(NaiveDate, SkipReason)>,
}

/// How far back visits are looked at, days: a year and the grace of a yearly task.
pub const LOOK_BACK_DAYS: u32 = 396;

impl StationFacts<'_> {
    /// Every time a task was done.
    #[must_use]
    pub fn dones_of(&self, task: Task) -> Vec<Done> {
        let noted = self.dones.iter().filter(|(of, _)| *of == task);
        let mut dones: Vec<Done> = noted.map(|(_, done)| *done).collect();
        match task {
            Task::LookRound => dones.extend(self.visits.iter().map(|visit| Done {
                on: visit.on,
                by: DoneBy::Reading,
                at: visit.at,
            })),
            Task::GaugeCheck(quantity) => {
                let checked_on = self.definition.gauge(quantity).checked_on;
                dones.extend(checked_on.map(|on| Done {
                    on,
                    by: DoneBy::Definition,
                    at: self.revision,
                }));
                dones.extend(self.gauge_jobs(quantity));
            }
            Task::YearlyClean | Task::InternalInspection => {}
        }
        dones.sort_unstable();
        dones
    }

    /// Jobs on a gauge that were done: the gauge was checked, or another one fitted.
    fn gauge_jobs(&self, quantity: Quantity) -> impl Iterator<Item = Done> {
        let work = JobWork::CheckGauge(quantity);
        let closings = self
            .jobs
            .iter()
            .filter(move |job| job.work == work)
            .flat_map(|job| &job.closings);
        let done = closings.filter(|closing| matches!(closing.end, JobEnd::Done { .. }));
        done.map(|closing| Done {
            on: closing.closed_on,
            by: DoneBy::Job,
            at: closing.written.at,
        })
    }
}
