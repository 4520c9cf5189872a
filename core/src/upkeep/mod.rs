//! What comes round again at a station and when: tasks, windows, jobs.
//!
//! Pure rules on dates and facts: no clock, no store, no text for people. Start at [`station_due`],
//! which takes [`StationFacts`] and a day and answers one [`TaskDue`] per task, each with its window,
//! its status on that day and the reasons ([`Why`]) with their figures. [`fold_jobs`] says what the
//! records about jobs come to, [`proposals`] which jobs suggest themselves.
//!
//! # The rules in short
//!
//! - A task is counted from the local day on which it was really done. An early completion moves the
//!   rhythm and so does a late one; done twice on a day is done once.
//! - The look-round belongs to the ISO week, Monday to Sunday.
//! - Before a first completion the time is counted from set-up, or from the oldest reading.
//! - What is dated after today is not counted until its day has come.
//! - Reasons only bring work forward, within the usual window; see `narrow`.
//!
//! Intervals and measures are common practice, no source.

mod calendar;
mod due;
mod facts;
mod jobs;
mod narrow;
mod procedures;
mod proposals;
mod schedule;
mod task;
mod why;
mod work;

#[cfg(test)]
mod tests;

use chrono::NaiveDate;
use sha2::{Digest, Sha256};
use winze_sync_format::LogId;

pub use calendar::{
    Interval, Week, first_day, last_day, local_date, monday_of, sunday_of, within_calendar,
};
pub use due::{Done, DoneBy, InUse, Status, TaskDue, task_due};
pub use facts::{LOOK_BACK_DAYS, StationFacts, VisitFact};
pub use jobs::{Closing, Job, Written, fold_jobs};
pub use narrow::reasons;
pub use procedures::{Found, FoundOn, WorkDone, procedure_of, work_done};
pub use proposals::{Finding, Proposal, proposals};
pub use schedule::{INSPECTION_LEAST_MONTHS, INSPECTION_MOST_MONTHS, Schedule, Window};
pub use task::Task;
pub use why::{CavitationMargin, CountedFrom, Figure, InletFall, Why};
pub use work::{JobCause, JobWork};

use crate::station::StationCode;

/// Works out every task of a station on a day, in the order of [`Task::ALL`]. A gauge is listed only
/// where it is known when it was last checked.
#[must_use]
pub fn station_due(facts: &StationFacts<'_>, today: NaiveDate) -> Vec<TaskDue> {
    Task::ALL
        .into_iter()
        .filter_map(|task| {
            let dones = facts.dones_of(task);
            if matches!(task, Task::GaugeCheck(_)) && dones.is_empty() {
                return None;
            }
            let reasons = reasons(task, facts, today);
            let schedule = Schedule::usual(task);
            Some(task_due(
                task,
                schedule,
                &dones,
                facts.in_use,
                reasons,
                today,
            ))
        })
        .collect()
}

/// A name for a task of a station, or of the whole walk, that stays the same whenever it is worked
/// out and wherever at the site.
///
/// # Formula
/// The first 16 bytes of SHA-256 of `winze due 1`, the site's log, the task's code and the station's
/// code (empty for the walk), each of the texts followed by a zero byte.
#[must_use]
pub fn due_id(site: LogId, station: Option<&StationCode>, task: Task) -> [u8; 16] {
    let mut hash = Sha256::new();
    hash.update(b"winze due 1\0");
    hash.update(site.0);
    hash.update(task.code());
    hash.update([0]);
    hash.update(station.map_or("", StationCode::as_str));
    hash.update([0]);
    let digest: [u8; 32] = hash.finalize().into();
    let mut id = [0; 16];
    id.copy_from_slice(&digest[..16]);
    id
}
