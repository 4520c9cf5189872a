//! The demo's upkeep: what the old book says was done, a job for the leak, and the calendar.

use std::path::Path;

use chrono::{DateTime, Months, NaiveDate, Utc};
use serde::Serialize;
use winze_core::Logbook;
use winze_core::actions::{NewJob, NewTaskDone, note_task_done, raise_job};
use winze_core::query::{due, job_proposals};
use winze_core::station::StationCode;
use winze_core::upkeep::Task;

use super::folders::Folders;
use super::mine::Mine;
use super::unexpected;
use crate::messages::{UserMessage, logbook_failed};
use crate::presenters::due::{counts, to_calendar};

/// How many months before the day each strainer was cleaned and each valve opened, in walking
/// order. Invented: most in good time, some late.
const BOOK: [(u32, u32); 12] = [
    (4, 30),
    (12, 49),
    (7, 20),
    (14, 61),
    (10, 44),
    (3, 12),
    (11, 39),
    (9, 50),
    (2, 27),
    (12, 33),
    (6, 58),
    (13, 41),
];

/// What is due at the end of the day.
#[derive(Debug, Clone, Default, Serialize)]
pub struct DueSummary {
    /// Tasks past their window.
    pub overdue: usize,
    /// Tasks due now.
    pub due: usize,
    /// Tasks that may be done early.
    pub early: usize,
    /// Open jobs.
    pub jobs: usize,
    /// The same in words.
    pub says: String,
}

/// Notes what the old book says was done.
pub fn note_the_old_book(
    logbook: &mut Logbook,
    mine: &Mine,
    day: DateTime<Utc>,
    by: &str,
) -> Result<(), UserMessage> {
    for (station, (cleaned, opened)) in mine.stations.iter().zip(BOOK) {
        let work = [
            (Task::YearlyClean, cleaned),
            (Task::InternalInspection, opened),
        ];
        for (task, months) in work {
            let new = NewTaskDone {
                station: station.station.code.clone(),
                task,
                done_on: months_before(day.date_naive(), months),
                note: "from the old book".to_owned(),
                by: by.to_owned(),
            };
            note_task_done(logbook, new).map_err(|error| logbook_failed(&error))?;
        }
    }
    Ok(())
}

fn months_before(day: NaiveDate, months: u32) -> NaiveDate {
    day.checked_sub_months(Months::new(months)).unwrap_or(day)
}

/// Raises the first job that suggests itself at a station.
pub fn raise_a_job(logbook: &mut Logbook, code: &StationCode, by: &str) -> Result<(), UserMessage> {
    let failed = |error| logbook_failed(&error);
    let proposed = job_proposals(logbook, code).map_err(failed)?;
    let first = proposed.into_iter().next();
    let first = first.ok_or_else(|| unexpected(format!("{code} suggests no job.")))?;
    raise_job(logbook, NewJob::of(first, by.to_owned())).map_err(failed)?;
    Ok(())
}

/// Leaves the calendar beside the summary.
pub fn leave_calendar(
    logbook: &Logbook,
    folders: &Folders,
    name: &str,
) -> Result<DueSummary, UserMessage> {
    let list = due(logbook).map_err(|error| logbook_failed(&error))?;
    let calendar =
        to_calendar(&list, name).ok_or_else(|| unexpected("nothing is due at any date."))?;
    let path = folders.root.join("due.ics");
    folders.write(Path::new(&path), calendar.as_bytes())?;
    let found = list.counts();
    Ok(DueSummary {
        overdue: found.overdue,
        due: found.due,
        early: found.early,
        jobs: found.jobs,
        says: counts(&found),
    })
}
