//! Bodies about upkeep: a job raised, a job closed, a task done.

use chrono::NaiveDate;
use winze_sync_format::RecordRef;
use winze_sync_format::canonical::Reader;

use super::round::{read_code, read_utc_offset};
use super::station::{day_number, read_day};
use super::wire::{Fields, ReadExt, Value};
use super::{BodyError, BodyResult};
use crate::station::StationCode;
use crate::upkeep::{JobCause, JobWork, Task, within_calendar};

/// Something is to be put right at a station.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobRaised {
    /// The station.
    pub station: StationCode,
    /// What is to be done.
    pub work: JobWork,
    /// What it is raised from.
    pub cause: JobCause,
    /// The records it is raised from, if any: readings with ticks or verdicts.
    pub evidence: Vec<RecordRef>,
    /// More about it.
    pub note: String,
    /// How far local time was ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl JobRaised {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.station.as_str())
            .put(1, self.work.number())
            .put(2, self.cause.code())
            .put_list(3, references(&self.evidence))
            .put_text(4, &self.note)
            .put(5, i32::from(self.utc_offset_minutes))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            station: reader.need(0, read_code)?,
            work: reader.need(1, |reader| {
                JobWork::from_number(reader.uint()?)
                    .ok_or(BodyError::field("work", "not on the list"))
            })?,
            cause: reader.need(2, |reader| {
                JobCause::from_code(reader.text()?)
                    .ok_or(BodyError::field("cause", "not on the list"))
            })?,
            evidence: reader.maybe_list(3, "evidence", ReadExt::reference)?,
            note: reader.maybe_text(4, "note")?,
            utc_offset_minutes: reader.need(5, read_utc_offset)?,
        })
    }
}

/// How a job came to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum JobEnd {
    /// It was done, and this reading was taken after it.
    Done {
        /// The as-left reading.
        as_left: RecordRef,
    },
    /// It turned out not to be needed; the note says why.
    NotNeeded,
}

/// Parts that went into a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartUsed {
    /// What it is, in the person's words.
    pub what: String,
    /// How many, at least 1.
    pub count: u32,
}

/// A job came to its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobClosed {
    /// The job.
    pub job: RecordRef,
    /// Its station.
    pub station: StationCode,
    /// How.
    pub end: JobEnd,
    /// Parts used.
    pub parts: Vec<PartUsed>,
    /// More about it.
    pub note: String,
    /// How far local time was ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl JobClosed {
    pub(super) fn fields(&self) -> Fields<'_> {
        let as_left = match self.end {
            JobEnd::Done { as_left } => Some(as_left),
            JobEnd::NotNeeded => None,
        };
        let parts = self
            .parts
            .iter()
            .map(|part| {
                Value::List(vec![
                    Value::Text(&part.what),
                    Value::Uint(u64::from(part.count)),
                ])
            })
            .collect();
        Fields::new()
            .put(0, self.job)
            .put(1, self.station.as_str())
            .put_some(2, as_left)
            .put_list(3, parts)
            .put_text(4, &self.note)
            .put(5, i32::from(self.utc_offset_minutes))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            job: reader.need(0, ReadExt::reference)?,
            station: reader.need(1, read_code)?,
            end: match reader.maybe(2, ReadExt::reference)? {
                Some(as_left) => JobEnd::Done { as_left },
                None => JobEnd::NotNeeded,
            },
            parts: reader.maybe_list(3, "parts", read_part)?,
            note: reader.maybe_text(4, "note")?,
            utc_offset_minutes: reader.need(5, read_utc_offset)?,
        })
    }
}

fn read_part(reader: &mut Reader<'_>) -> BodyResult<PartUsed> {
    if reader.array()? != 2 {
        return Err(BodyError::field("part", "not what and how many"));
    }
    let what = reader.text()?.to_owned();
    let count = reader.uint32("count of parts")?;
    if what.is_empty() || count == 0 {
        return Err(BodyError::field("part", "none of it, or nameless"));
    }
    reader.end()?;
    Ok(PartUsed { what, count })
}

/// A task was done, outside any procedure or before this logbook was kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaskDone {
    /// The station.
    pub station: StationCode,
    /// The task.
    pub task: Task,
    /// The local day on which it was done.
    pub done_on: NaiveDate,
    /// How far local time was ahead of UTC when this was written, minutes.
    pub utc_offset_minutes: i16,
    /// More about it.
    pub note: String,
}

impl TaskDone {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.station.as_str())
            .put(1, self.task.number())
            .put(2, day_number(self.done_on))
            .put(3, i32::from(self.utc_offset_minutes))
            .put_text(4, &self.note)
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            station: reader.need(0, read_code)?,
            task: reader.need(1, |reader| {
                Task::from_number(reader.uint()?).ok_or(BodyError::field("task", "not on the list"))
            })?,
            done_on: reader.need(2, |reader| {
                let day = read_day(reader)?;
                if within_calendar(day) == day {
                    Ok(day)
                } else {
                    Err(BodyError::field("done on", "outside the years 1 to 9999"))
                }
            })?,
            utc_offset_minutes: reader.need(3, read_utc_offset)?,
            note: reader.maybe_text(4, "note")?,
        })
    }
}

fn references<'a>(list: &[RecordRef]) -> Vec<Value<'a>> {
    list.iter().copied().map(Value::Reference).collect()
}
