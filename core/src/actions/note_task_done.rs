//! Noting that a task was done: outside any procedure, or before this logbook was kept.

use chrono::NaiveDate;
use winze_sync_format::{ClockStatus, RecordRef};

use crate::record::{Body, TaskDone};
use crate::station::StationCode;
use crate::store::NewRecord;
use crate::upkeep::{Interval, Task, within_calendar};
use crate::{Error, Logbook, Result, query};

/// A task that was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewTaskDone {
    /// The station.
    pub station: StationCode,
    /// The task.
    pub task: Task,
    /// The local day on which it was done.
    pub done_on: NaiveDate,
    /// More about it.
    pub note: String,
    /// Who says so.
    pub by: String,
}

/// Notes that a task was done. A day that has not come is refused, because it would silence the task
/// until then; a day of grace allows for a clock in another zone, and a clock that was never set
/// refuses nothing.
///
/// # Errors
/// [`Error::UnknownStation`], [`Error::DayNotCome`], and those of writing.
pub fn note_task_done(logbook: &mut Logbook, new: NewTaskDone) -> Result<RecordRef> {
    if logbook.read_station(&new.station)?.is_none() {
        return Err(Error::UnknownStation {
            station: new.station,
        });
    }
    let is_set = logbook.clock().now().status != ClockStatus::Unset;
    let tomorrow = Interval::Days(1).after(query::today(logbook));
    let is_to_come = is_set && new.done_on > tomorrow;
    if is_to_come || within_calendar(new.done_on) != new.done_on {
        return Err(Error::DayNotCome { day: new.done_on });
    }
    let body = TaskDone {
        station: new.station,
        task: new.task,
        done_on: new.done_on,
        utc_offset_minutes: logbook.clock().utc_offset_minutes(),
        note: new.note,
    };
    logbook.confirm_one(NewRecord::new(Body::TaskDone(body), new.by))
}
