//! `winze due`: what comes round again, where it stands, and why; by level and in walking order.
//!
//! Without options it lists what can be done now: overdue, due, what may be done early, what was
//! never done as far as is known, and the open jobs. `--all` lists every task. `--on DATE` asks for
//! another day: for one gone by the list is as it would have been then. Outcome `findings` when a
//! task is due, overdue or never done; nothing is written.
//!
//! `--ics` prints a calendar (RFC 5545) instead: one event a task on the day it is due, and the
//! look-round as one weekly event. Events keep their names, so that importing a newer one moves them.
//!
//! `--json` prints one object with every task of every station. Days are `YYYY-MM-DD`, local. `why`
//! lists reasons with their figures: first what is counted from, then the usual interval, then what
//! narrows it, with `months_off`. `window` is `null` where nothing is known to count from.
//!
//! ```json
//! {"command":"due","outcome":"findings","on":"2026-10-06","week":"2026-W41",
//!  "counts":{"overdue":1,"due":1,"early":0,"never_done":0,"not_yet":1,"jobs":1},
//!  "stations":[{"station":"T-07","name":"north drive","level":"Level 420","order":7,
//!    "tasks":[{"task":"yearly-clean","status":"due","last_done":{"on":"2025-10-01","by":"note",
//!        "record":"..."},"times_done":1,
//!      "window":{"earliest":"2026-08-01","due":"2026-10-01","latest":"2026-11-01"},
//!      "why":[{"code":"counted-from","from":"last-done","on":"2025-10-01"},
//!        {"code":"usual-interval","least_months":10,"most_months":13}]}],
//!    "jobs":[{"job":"...","work":"stop-leak","cause":"noticed:leak","raised_on":"2026-10-01",
//!      "raised_by":"Ada","note":"gland drips"}]}]}
//! ```
//!
//! Codes of `task`, `status`, `by`, `work`, `cause` and `why` are those of `winze_core::upkeep`.

use std::io::{self, Write as _};

use chrono::NaiveDate;
use serde::Serialize;
use serde_json::{Map, Value};
use winze_core::query::{self, DueList, StationDue};
use winze_core::upkeep::{Figure, Job, TaskDue, Week, Why, within_calendar};

use super::output::Output;
use super::place::Place;
use super::{CommandResult, Outcome};
use crate::messages::{UserMessage, file_failed, logbook_failed};
use crate::presenters::due;

/// Arguments of `winze due`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    place: Place,
    /// The day to look at, YYYY-MM-DD; today when absent.
    #[arg(long, value_name = "DATE", value_parser = day)]
    on: Option<NaiveDate>,
    /// List every task, also those whose time has not come.
    #[arg(long, conflicts_with_all = ["ics", "json"])]
    all: bool,
    /// Print a calendar for calendar programs.
    #[arg(long, conflicts_with = "json")]
    ics: bool,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

fn day(text: &str) -> Result<NaiveDate, String> {
    NaiveDate::parse_from_str(text, "%Y-%m-%d")
        .ok()
        .filter(|day| within_calendar(*day) == *day)
        .ok_or_else(|| "not a day of the calendar, YYYY-MM-DD".to_owned())
}

pub(super) fn run(args: &Args) -> CommandResult {
    let logbook = args.place.open()?;
    let on = args.on.unwrap_or_else(|| query::today(&logbook));
    let list = query::due_on(&logbook, on).map_err(|error| logbook_failed(&error))?;
    let outcome = Outcome::of_findings(due::is_pressing(&list));
    if args.ics {
        let calendar = due::to_calendar(&list, logbook.label()).ok_or_else(nothing_dated)?;
        // Line ends are part of the format, so the bytes go out as they are.
        let mut out = io::stdout();
        let written = out
            .write_all(calendar.as_bytes())
            .and_then(|()| out.flush());
        return match written {
            // A reader that went away (`| head`) is no failure of the command.
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
                Err(file_failed("written", "standard output".as_ref(), &error))
            }
            _ => Ok(outcome),
        };
    }
    let mut output = Output::new(args.json);
    for line in due::lines(&list, args.all) {
        output.line(line);
    }
    output.json(&Json::new(outcome, &list));
    Ok(outcome)
}

fn nothing_dated() -> UserMessage {
    UserMessage::new(
        "There is nothing with a date to put into a calendar.",
        "Nothing was changed.",
        "Load a register and readings first, or note when work was last done.",
    )
}

#[derive(Debug, Serialize)]
struct Json<'a> {
    command: &'static str,
    outcome: &'static str,
    on: NaiveDate,
    week: String,
    counts: CountsJson,
    stations: Vec<StationJson<'a>>,
}

#[derive(Debug, Serialize)]
struct CountsJson {
    overdue: usize,
    due: usize,
    early: usize,
    never_done: usize,
    not_yet: usize,
    jobs: usize,
}

#[derive(Debug, Serialize)]
struct StationJson<'a> {
    station: &'a str,
    name: &'a str,
    level: &'a str,
    order: u32,
    tasks: Vec<TaskJson>,
    jobs: Vec<JobJson<'a>>,
}

#[derive(Debug, Serialize)]
struct TaskJson {
    task: &'static str,
    status: &'static str,
    last_done: Option<DoneJson>,
    times_done: usize,
    window: Option<WindowJson>,
    why: Vec<Value>,
}

#[derive(Debug, Serialize)]
struct DoneJson {
    on: NaiveDate,
    by: &'static str,
    record: String,
}

#[derive(Debug, Serialize)]
struct WindowJson {
    earliest: NaiveDate,
    due: NaiveDate,
    latest: NaiveDate,
}

#[derive(Debug, Serialize)]
struct JobJson<'a> {
    job: String,
    work: &'static str,
    cause: &'static str,
    raised_on: NaiveDate,
    raised_by: &'a str,
    note: &'a str,
}

impl<'a> Json<'a> {
    fn new(outcome: Outcome, list: &'a DueList) -> Self {
        let counts = list.counts();
        Self {
            command: "due",
            outcome: outcome.code(),
            on: list.today,
            week: Week::of(list.today).to_string(),
            counts: CountsJson {
                overdue: counts.overdue,
                due: counts.due,
                early: counts.early,
                never_done: counts.never_done,
                not_yet: counts.not_yet,
                jobs: counts.jobs,
            },
            stations: list.stations.iter().map(StationJson::new).collect(),
        }
    }
}

impl<'a> StationJson<'a> {
    fn new(station: &'a StationDue) -> Self {
        Self {
            station: station.code.as_str(),
            name: &station.name,
            level: &station.level,
            order: station.order,
            tasks: station.tasks.iter().map(task_json).collect(),
            jobs: station.jobs.iter().map(job_json).collect(),
        }
    }
}

fn task_json(task: &TaskDue) -> TaskJson {
    TaskJson {
        task: task.task.code(),
        status: task.status.code(),
        last_done: task.last_done.map(|done| DoneJson {
            on: done.on,
            by: done.by.code(),
            record: done.at.to_string(),
        }),
        times_done: task.times_done,
        window: task.window.map(|window| WindowJson {
            earliest: window.earliest,
            due: window.due,
            latest: window.latest,
        }),
        why: task.why.iter().map(why_json).collect(),
    }
}

fn why_json(why: &Why) -> Value {
    let mut object = Map::new();
    object.insert("code".to_owned(), why.code().into());
    for (name, figure) in why.figures() {
        let value = match figure {
            Figure::Number(number) => number.into(),
            Figure::Count(count) => count.into(),
            Figure::Day(day) => day.to_string().into(),
            Figure::Code(code) => code.into(),
        };
        object.insert(name.to_owned(), value);
    }
    Value::Object(object)
}

fn job_json(job: &Job) -> JobJson<'_> {
    JobJson {
        job: job.raised.at.to_string(),
        work: job.work.code(),
        cause: job.cause.code(),
        raised_on: job.raised_on,
        raised_by: &job.raised.by,
        note: &job.note,
    }
}
