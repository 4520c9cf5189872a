//! What is due: every task of every station on a day, with the open jobs, in walking order.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use winze_sync_format::LogId;

use super::jobs::{jobs, written};
use super::{StationRow, procedures};
use crate::clock::DAY_MS;
use crate::record::{Body, Kind, SkipReason};
use crate::station::{Quantity, Station, StationCode};
use crate::units::Typed;
use crate::upkeep::{
    Done, DoneBy, FoundOn, InUse, Job, LOOK_BACK_DAYS, StationFacts, Status, Task, TaskDue,
    VisitFact, local_date, station_due, work_done,
};
use crate::{Error, Logbook, Result};

/// Everything that comes round again, on one day.
#[derive(Debug, Clone, PartialEq)]
pub struct DueList {
    /// The local day it is worked out for.
    pub today: NaiveDate,
    /// The log that stands for the site: the same on every logbook of the site that knows its
    /// office, so that what is made from the list elsewhere can be recognised.
    pub site: LogId,
    /// Stations in walking order.
    pub stations: Vec<StationDue>,
}

/// What comes round again at one station.
#[derive(Debug, Clone, PartialEq)]
pub struct StationDue {
    /// Its code.
    pub code: StationCode,
    /// What people call it.
    pub name: String,
    /// The level or place it belongs to.
    pub level: String,
    /// Place in the walking order.
    pub order: u32,
    /// Every task, in the order of [`Task::ALL`].
    pub tasks: Vec<TaskDue>,
    /// Jobs open on that day, in order of raising.
    pub jobs: Vec<Job>,
    /// How many counted records about the station there are: grows with everything that can change
    /// what is due.
    pub records: u64,
    /// When the newest of the records it rests on was made, milliseconds since 1970.
    pub newest_ms: i64,
}

impl StationDue {
    /// What can be done here now to some purpose, most pressing first: overdue, due, early, never
    /// done.
    #[must_use]
    pub fn open_tasks(&self) -> Vec<&TaskDue> {
        let open = self.tasks.iter().filter(|task| task.status.is_open());
        let mut open: Vec<&TaskDue> = open.collect();
        open.sort_by_key(|task| (task.status, task.window.map(|window| window.latest)));
        open
    }
}

/// How many tasks stand how.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DueCounts {
    /// Past the end of their window.
    pub overdue: usize,
    /// Due now.
    pub due: usize,
    /// Could be done early.
    pub early: usize,
    /// Never done as far as is known, with nothing to count from.
    pub never_done: usize,
    /// Before their window.
    pub not_yet: usize,
    /// Open jobs.
    pub jobs: usize,
}

impl DueList {
    /// How many tasks stand how.
    #[must_use]
    pub fn counts(&self) -> DueCounts {
        let mut counts = DueCounts::default();
        for station in &self.stations {
            counts.jobs += station.jobs.len();
            for task in &station.tasks {
                *match task.status {
                    Status::Overdue => &mut counts.overdue,
                    Status::Due => &mut counts.due,
                    Status::Early => &mut counts.early,
                    Status::NeverDone => &mut counts.never_done,
                    Status::NotYet => &mut counts.not_yet,
                } += 1;
            }
        }
        counts
    }

    /// The stations by level. Levels come in the order in which the walk first reaches them,
    /// stations in walking order.
    #[must_use]
    pub fn by_level(&self) -> Vec<(&str, Vec<&StationDue>)> {
        let mut levels: Vec<(&str, Vec<&StationDue>)> = Vec::new();
        for station in &self.stations {
            match levels.iter_mut().find(|(level, _)| *level == station.level) {
                Some((_, stations)) => stations.push(station),
                None => levels.push((&station.level, vec![station])),
            }
        }
        levels
    }
}

/// The local day that the logbook's clock shows.
#[must_use]
pub fn today(logbook: &Logbook) -> NaiveDate {
    let clock = logbook.clock();
    local_date(clock.now().wall_ms, clock.utc_offset_minutes())
}

/// Works out what is due on the day that the logbook's clock shows.
///
/// # Errors
/// The database's.
pub fn due(logbook: &Logbook) -> Result<DueList> {
    due_on(logbook, today(logbook))
}

/// Works out what is due on a day. For a day gone by it is as it would have been then: what was done
/// later is left out.
///
/// # Errors
/// The database's.
pub fn due_on(logbook: &Logbook, on: NaiveDate) -> Result<DueList> {
    let known = Known::read(logbook)?;
    let stations = logbook
        .read_stations()?
        .into_iter()
        .map(|row| station(logbook, row, &known, on))
        .collect::<Result<_>>()?;
    Ok(DueList {
        today: on,
        site: logbook.site_log()?,
        stations,
    })
}

/// Works out what is due at one station on a day: what else can be done there, being there.
///
/// # Errors
/// [`Error::UnknownStation`], and the database's.
pub fn due_at(logbook: &Logbook, code: &StationCode, on: NaiveDate) -> Result<StationDue> {
    let row = logbook
        .read_stations()?
        .into_iter()
        .find(|row| row.code == *code)
        .ok_or_else(|| Error::UnknownStation {
            station: code.clone(),
        })?;
    station(logbook, row, &Known::read(logbook)?, on)
}

/// What is read once for all stations.
struct Known {
    jobs: Vec<Job>,
    work: BTreeMap<StationCode, Work>,
    passed_by: BTreeMap<StationCode, (i64, SkipReason)>,
}

/// What notes and procedures say about one station.
#[derive(Default)]
struct Work {
    dones: Vec<(Task, Done)>,
    found: Vec<FoundOn>,
    set_up_on: Vec<NaiveDate>,
    records: u64,
    newest_ms: Option<i64>,
}

impl Known {
    fn read(logbook: &Logbook) -> Result<Self> {
        let mut work: BTreeMap<StationCode, Work> = BTreeMap::new();
        for (record, body) in logbook.read_counted_of_kind(Kind::TaskDone)? {
            let Body::TaskDone(body) = body else {
                continue;
            };
            let written = written(&record);
            let done = Done {
                on: body.done_on,
                by: DoneBy::Note,
                at: written.at,
            };
            let work = work.entry(body.station).or_default();
            work.dones.push((body.task, done));
            work.records += 1;
            work.newest_ms = work.newest_ms.max(Some(written.wall_ms));
        }
        for view in procedures(logbook)? {
            let Some(state) = &view.state else {
                continue;
            };
            let done = work_done(view.code, state);
            let work = work.entry(view.station).or_default();
            work.dones.extend(done.dones);
            work.found.extend(done.found);
            work.set_up_on.extend(done.set_up_on);
            work.records += 1 + view.facts.len() as u64;
            let told_ms = view.facts.iter().map(|fact| fact.wall_ms).max();
            work.newest_ms = work.newest_ms.max(told_ms).max(Some(view.opened_ms));
        }
        Ok(Self {
            jobs: jobs(logbook)?,
            work,
            passed_by: logbook.last_passed_by()?,
        })
    }

    /// The jobs of a station as far as they are told on a day.
    fn jobs_at(&self, code: &StationCode, is_told: impl Fn(NaiveDate) -> bool) -> Vec<Job> {
        let here = self.jobs.iter().filter(|job| job.station == *code);
        let mut jobs: Vec<Job> = here.filter(|job| is_told(job.raised_on)).cloned().collect();
        for job in &mut jobs {
            job.closings.retain(|closing| is_told(closing.closed_on));
        }
        jobs
    }
}

fn station(logbook: &Logbook, row: StationRow, known: &Known, on: NaiveDate) -> Result<StationDue> {
    let offset = logbook.clock().utc_offset_minutes();
    let now = today(logbook);
    // Between the day asked for and the clock's lies what was not known then; beyond the clock's
    // lies a slip that should be seen.
    let is_told = |day: NaiveDate| day <= on || day > now;
    let definition = logbook.read_definition(row.revision)?;
    let visits = visits(logbook, &row.code, on, offset)?;
    let none = Work::default();
    let work = known.work.get(&row.code).unwrap_or(&none);
    let jobs = known.jobs_at(&row.code, is_told);
    let newest_ms = newest_ms(logbook, &row, work, &jobs)?;
    let records = logbook.count_about(&row.code)?
        + work.records
        + jobs
            .iter()
            .map(|job| 1 + job.closings.len() as u64)
            .sum::<u64>();
    let facts = StationFacts {
        revision: row.revision,
        visits: &visits
            .into_iter()
            .filter(|visit| is_told(visit.on))
            .collect::<Vec<_>>(),
        dones: &work
            .dones
            .iter()
            .filter(|(_, done)| is_told(done.on))
            .copied()
            .collect::<Vec<_>>(),
        in_use: InUse {
            set_up_on: set_up_on(&definition, work, on),
            first_reading_on: logbook
                .first_visit_ms(&row.code)?
                .map(|taken_ms| local_date(taken_ms, offset)),
        },
        found: &work.found,
        jobs: &jobs,
        passed_by: known
            .passed_by
            .get(&row.code)
            .map(|(wall_ms, reason)| (local_date(*wall_ms, offset), *reason)),
        definition: &definition,
    };
    let tasks = station_due(&facts, on);
    Ok(StationDue {
        tasks,
        jobs: jobs.into_iter().filter(|job| job.is_open_on(on)).collect(),
        records,
        newest_ms,
        code: row.code,
        name: row.name,
        level: row.level,
        order: row.order,
    })
}

/// The last set-up up to a day, by a procedure or as the definition has it.
fn set_up_on(definition: &Station, work: &Work, on: NaiveDate) -> Option<NaiveDate> {
    let by_procedure = work.set_up_on.iter().copied();
    let days = by_procedure.chain(definition.first_stage.as_left_on);
    days.filter(|day| *day <= on).max()
}

/// The readings looked at: those of the last year and the newest one up to the day.
fn visits(
    logbook: &Logbook,
    code: &StationCode,
    on: NaiveDate,
    offset_minutes: i16,
) -> Result<Vec<VisitFact>> {
    let day_ms = |day: NaiveDate| {
        day.and_time(chrono::NaiveTime::MIN)
            .and_utc()
            .timestamp_millis()
    };
    // A day more on either side, because local days begin at other moments.
    let from_ms = day_ms(on).saturating_sub(i64::from(LOOK_BACK_DAYS + 1) * DAY_MS);
    let mut found = logbook.read_visits(code, from_ms, i64::MAX, None)?;
    found.retain(super::Visit::counts);
    let date = |visit: &super::Visit| {
        let offset = visit.utc_offset_minutes.unwrap_or(offset_minutes);
        local_date(visit.taken_ms, offset)
    };
    if !found.iter().any(|visit| date(visit) <= on) {
        let older = logbook.read_visits(code, i64::MIN, from_ms, None)?;
        found.extend(older.into_iter().find(super::Visit::counts));
    }
    Ok(found
        .iter()
        .map(|visit| VisitFact {
            at: visit.at,
            on: date(visit),
            inlet: visit.entry.inlet.map(Typed::to_pressure),
            ticks: visit.ticks,
            verdicts: Quantity::ALL
                .map(|quantity| visit.shown.get(quantity).map(|shown| shown.verdict)),
        })
        .collect())
}

fn newest_ms(logbook: &Logbook, row: &StationRow, work: &Work, jobs: &[Job]) -> Result<i64> {
    let revised_ms = logbook
        .read_station(&row.code)?
        .map(|detail| detail.revised_ms);
    let read_ms = row.last.map(|last| last.taken_ms);
    let job_ms = jobs
        .iter()
        .flat_map(|job| {
            let closings = job.closings.iter().map(|closing| closing.written.wall_ms);
            closings.chain([job.raised.wall_ms])
        })
        .max();
    let newest = revised_ms.max(read_ms).max(work.newest_ms).max(job_ms);
    Ok(newest.unwrap_or(0))
}
