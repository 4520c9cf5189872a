//! The due list for people: lines for a terminal, and events for a calendar.

use std::fmt::Write as _;

use winze_core::query::{DueCounts, DueList, StationDue};
use winze_core::upkeep::{Job, Status, Task, TaskDue, Week, due_id};

use crate::calendar::{Event, calendar};
use crate::messages::{counted, upkeep};

/// What stands at the end of every event.
const CAUTION: &str = "Winze informs and records. Local codes, site permits and licensed people \
                       decide.";

/// The list as lines: what can be done now, by level and in walking order, or every task.
#[must_use]
pub fn lines(list: &DueList, with_all: bool) -> Vec<String> {
    let mut lines = vec![head(list)];
    for (level, stations) in list.by_level() {
        let mut of_level: Vec<String> = stations
            .iter()
            .flat_map(|station| of_station(station, with_all))
            .collect();
        if !of_level.is_empty() {
            lines.push(String::new());
            let level = if level.is_empty() { "No level" } else { level };
            lines.push(level.to_owned());
            lines.append(&mut of_level);
        }
    }
    lines
}

/// The first line: the day, its week, and how much there is.
#[must_use]
pub fn head(list: &DueList) -> String {
    format!(
        "Due on {}, week {}: {}.",
        list.today,
        Week::of(list.today),
        counts(&list.counts())
    )
}

/// How much there is, without a full stop.
#[must_use]
pub fn counts(counts: &DueCounts) -> String {
    let never_done = match counts.never_done {
        0 => String::new(),
        n => format!(", {n} never done"),
    };
    format!(
        "{} overdue, {} due, {} may be done early{never_done}; {} open",
        counts.overdue,
        counts.due,
        counts.early,
        counted(counts.jobs as u64, "job", "jobs")
    )
}

fn of_station(station: &StationDue, with_all: bool) -> Vec<String> {
    let tasks: Vec<&TaskDue> = if with_all {
        station.tasks.iter().collect()
    } else {
        station.open_tasks()
    };
    if tasks.is_empty() && station.jobs.is_empty() {
        return Vec::new();
    }
    let mut lines = vec![
        format!("  {}  {}", station.code, station.name)
            .trim_end()
            .to_owned(),
    ];
    for task in tasks {
        lines.push(format!(
            "    {:<18}{:<36}{}",
            upkeep::status(task.status),
            upkeep::task(task.task),
            when(task)
        ));
        lines.extend(reasons(task).map(|reason| format!("      {reason}")));
    }
    lines.extend(
        station
            .jobs
            .iter()
            .map(|job| format!("    {}", job_line(job))),
    );
    lines
}

/// When a task is to be done.
#[must_use]
pub fn when(task: &TaskDue) -> String {
    match task.window {
        None => "no date".to_owned(),
        Some(window) if task.task == Task::LookRound => {
            format!("week {}", Week::of(window.due))
        }
        Some(window) => format!(
            "due {}, from {} to {}",
            window.due, window.earliest, window.latest
        ),
    }
}

/// Why, in sentences. That the look-round comes every week need not be said each time.
fn reasons(task: &TaskDue) -> impl Iterator<Item = String> + '_ {
    let usual = task.why.iter().filter(|why| why.code() != "each-week");
    usual.map(upkeep::why)
}

/// An open job.
#[must_use]
pub fn job_line(job: &Job) -> String {
    let note = if job.note.is_empty() {
        String::new()
    } else {
        format!(" \"{}\"", job.note)
    };
    format!(
        "job of {}: {}, because {}.{note}",
        job.raised_on,
        upkeep::work(job.work),
        upkeep::cause(job.cause)
    )
}

/// The list as a calendar; nothing where no task has a date.
///
/// The look-round is one event for the whole walk, coming again each week, on the Monday of the
/// first week in which a station wants it. Every other task is one event on the day it is due. An
/// event keeps its name when its day moves, so that importing again moves it.
#[must_use]
pub fn to_calendar(list: &DueList, name: &str) -> Option<String> {
    let mut events: Vec<Event> = look_round(list).into_iter().collect();
    for station in &list.stations {
        let tasks = station.tasks.iter();
        let others = tasks.filter(|task| task.task != Task::LookRound);
        events.extend(others.filter_map(|task| event(list, station, task)));
    }
    (!events.is_empty()).then(|| calendar(name, &events))
}

fn event(list: &DueList, station: &StationDue, task: &TaskDue) -> Option<Event> {
    let window = task.window?;
    let mut description = format!("From {} to {}.", window.earliest, window.latest);
    for reason in reasons(task).chain([CAUTION.to_owned()]) {
        description.push('\n');
        description.push_str(&reason);
    }
    Some(Event {
        uid: uid(&due_id(list.site, Some(&station.code), task.task)),
        sequence: station.records,
        changed_ms: station.newest_ms,
        day: window.due,
        is_weekly: false,
        summary: format!("{}: {}", station.code, upkeep::task(task.task)),
        description,
        location: place(station),
    })
}

fn look_round(list: &DueList) -> Option<Event> {
    let due = list.stations.iter().filter_map(|station| {
        let task = station
            .tasks
            .iter()
            .find(|task| task.task == Task::LookRound);
        Some((station, task?.window?.due))
    });
    let day = due.clone().map(|(_, day)| day).min()?;
    let levels = list.by_level().into_iter().map(|(level, stations)| {
        let codes: Vec<&str> = stations
            .iter()
            .map(|station| station.code.as_str())
            .collect();
        format!("{level}: {}", codes.join(", "))
    });
    let description: Vec<String> = levels.chain([CAUTION.to_owned()]).collect();
    Some(Event {
        uid: uid(&due_id(list.site, None, Task::LookRound)),
        sequence: list.stations.iter().map(|station| station.records).sum(),
        changed_ms: list
            .stations
            .iter()
            .map(|station| station.newest_ms)
            .max()
            .unwrap_or(0),
        day,
        is_weekly: true,
        summary: format!(
            "{}: {}",
            capital(upkeep::task(Task::LookRound)),
            counted(due.count() as u64, "station", "stations")
        ),
        description: description.join("\n"),
        location: String::new(),
    })
}

fn uid(id: &[u8; 16]) -> String {
    id.iter().fold("winze-".to_owned(), |mut uid, byte| {
        // Writing to a string cannot fail.
        let _ = write!(uid, "{byte:02x}");
        uid
    })
}

fn place(station: &StationDue) -> String {
    let parts = [station.level.as_str(), station.name.as_str()];
    let known: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    known.join(", ")
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Whether somebody should see to anything now.
#[must_use]
pub fn is_pressing(list: &DueList) -> bool {
    let mut tasks = list.stations.iter().flat_map(|station| &station.tasks);
    tasks.any(|task| task.status.is_pressing() || task.status == Status::NeverDone)
}
