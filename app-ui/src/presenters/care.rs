//! Looking after stations: what is due on the walk, what there is to do at one station, one task,
//! one job.

use chrono::NaiveDate;
use winze_core::query::{DueList, ProcedureView, StationDue, Visit};
use winze_core::record::{JobEnd, PartUsed};
use winze_core::upkeep::{Interval, Job, JobWork, Proposal, Status, Task, TaskDue, procedure_of};

use super::procedure::{Now, how_far};
use super::view::{Choice, Tone};
use super::work_view::{ChoicesBody, DetailBody, ListBody, Offer, Saying, TaskLine};
use super::{due, moment, words};
use crate::messages::number::percent;
use crate::messages::{procedures, upkeep};

/// The tone of a status; its word always stands beside it.
#[must_use]
pub const fn tone(status: Status) -> Tone {
    match status {
        Status::Overdue => Tone::Outside,
        Status::Due => Tone::Act,
        Status::Early => Tone::Within,
        Status::NeverDone => Tone::Unsure,
        Status::NotYet => Tone::None,
    }
}

/// What is open on the walk: procedures first, then by level and in walking order.
#[must_use]
pub fn walk(list: &DueList, open: &[ProcedureView], with_early: bool) -> ListBody {
    let mut lines = Vec::new();
    if !open.is_empty() {
        lines.push(TaskLine::heading("Going on"));
        lines.extend(open.iter().enumerate().map(|(index, view)| TaskLine {
            title: format!("{}  {}", view.station, procedures::procedure(view.code)),
            is_next: index == 0,
            ..going_on(index, view)
        }));
    }
    for (level, stations) in list.by_level() {
        let mut of_level: Vec<TaskLine> = stations
            .iter()
            .flat_map(|station| station_lines(station, with_early))
            .collect();
        if !of_level.is_empty() {
            let level = if level.is_empty() { "No level" } else { level };
            lines.push(TaskLine::heading(level));
            lines.append(&mut of_level);
        }
    }
    ListBody {
        lines,
        nothing: "Nothing is due, and no job is open.".to_owned(),
        keys: vec![if with_early {
            Choice::new("only-due", "Only what is due")
        } else {
            Choice::new("with-early", "Also what may be early")
        }],
    }
}

/// The head of the list: how much there is.
#[must_use]
pub fn counts(list: &DueList) -> String {
    due::counts(&list.counts())
}

fn going_on(index: usize, view: &ProcedureView) -> TaskLine {
    TaskLine {
        id: format!("open:{index}"),
        title: words::capital(procedures::procedure(view.code)),
        detail: words::capital(&how_far(view)),
        tone: Tone::Act,
        status: "open".to_owned(),
        ..TaskLine::default()
    }
}

fn station_lines(station: &StationDue, with_early: bool) -> Vec<TaskLine> {
    let of_station = |what: &str| format!("{}  {what}", station.code);
    let id = format!("station:{}", station.code);
    let tasks = station.open_tasks().into_iter();
    let tasks = tasks.filter(|task| with_early || task.status.is_pressing());
    let tasks = tasks.map(|task| TaskLine {
        id: id.clone(),
        title: of_station(upkeep::task(task.task)),
        ..task_line(task)
    });
    let jobs = station.jobs.iter().map(|job| TaskLine {
        id: id.clone(),
        title: of_station(upkeep::work(job.work)),
        ..job_line(job)
    });
    tasks.chain(jobs).collect()
}

fn task_line(task: &TaskDue) -> TaskLine {
    TaskLine {
        id: format!("task:{}", task.task.code()),
        title: words::capital(upkeep::task(task.task)),
        detail: words::capital(&due::when(task)),
        tone: tone(task.status),
        status: upkeep::status(task.status).to_owned(),
        ..TaskLine::default()
    }
}

fn job_line(job: &Job) -> TaskLine {
    TaskLine {
        title: words::capital(upkeep::work(job.work)),
        detail: format!(
            "Since {}, because {}",
            job.raised_on,
            upkeep::cause(job.cause)
        ),
        tone: Tone::Caution,
        status: "job".to_owned(),
        ..TaskLine::default()
    }
}

/// What there is to do at one station, being there.
#[must_use]
pub fn station(station: &StationDue, open: &[ProcedureView], proposals: &[Proposal]) -> ListBody {
    let mut lines = Vec::new();
    let mut group = |heading: &str, mut of: Vec<TaskLine>| {
        if !of.is_empty() {
            lines.push(TaskLine::heading(heading));
            lines.append(&mut of);
        }
    };
    let going = open.iter().enumerate();
    group(
        "Going on here",
        going
            .map(|(index, view)| TaskLine {
                is_next: index == 0,
                ..going_on(index, view)
            })
            .collect(),
    );
    let tasks = station.open_tasks().into_iter().map(task_line);
    group("To do here today", tasks.collect());
    let jobs = station.jobs.iter().enumerate();
    group(
        "Jobs",
        jobs.map(|(index, job)| TaskLine {
            id: format!("job:{index}"),
            ..job_line(job)
        })
        .collect(),
    );
    let proposed = proposals.iter().enumerate();
    group(
        "Suggested by the last reading",
        proposed
            .map(|(index, one)| TaskLine {
                id: format!("proposal:{index}"),
                title: words::capital(upkeep::work(one.work)),
                detail: format!("Because {}", upkeep::cause(one.cause)),
                tone: Tone::Unsure,
                status: one.probability.map_or_else(
                    || "no job yet".to_owned(),
                    |p| format!("{}, no job yet", percent(p)),
                ),
                ..TaskLine::default()
            })
            .collect(),
    );
    let later = station.tasks.iter().filter(|task| !task.status.is_open());
    group("Later", later.map(task_line).collect());
    ListBody {
        lines,
        nothing: "Nothing is known of this station yet.".to_owned(),
        keys: vec![
            Choice {
                is_on: true,
                ..Choice::new("open", "Open a procedure")
            },
            Choice::new("raise", "Raise a job"),
            Choice::new("gauges", "Read the gauges"),
        ],
    }
}

/// One task, with why it is due when it is.
#[must_use]
pub fn task(task: &TaskDue) -> DetailBody {
    let mut sayings = vec![Saying::plain(format!(
        "{}.",
        words::capital(&due::when(task))
    ))];
    sayings.extend(task.why.iter().map(|why| Saying::plain(upkeep::why(why))));
    let mut keys = Vec::new();
    match procedure_of(task.task) {
        Some(code) => keys.push(Choice {
            is_on: true,
            ..Choice::new(
                format!("do:{}", code.code()),
                format!("Open the {}", procedures::procedure(code)),
            )
        }),
        None if task.task == Task::LookRound => keys.push(Choice {
            is_on: true,
            ..Choice::new("gauges", "Read the gauges")
        }),
        None => {}
    }
    keys.push(Choice::new("note-done", "It was done: say when"));
    DetailBody {
        heading: words::capital(upkeep::task(task.task)),
        tone: tone(task.status),
        status: upkeep::status(task.status).to_owned(),
        sayings,
        keys,
    }
}

/// The days that can be named with one touch, newest first.
#[must_use]
pub fn days(task: Task, today: NaiveDate) -> ChoicesBody {
    let back = |days| Interval::Days(days).before(today);
    let days = [
        ("Today".to_owned(), today),
        ("Yesterday".to_owned(), back(1)),
        ("Two days ago".to_owned(), back(2)),
        ("Three days ago".to_owned(), back(3)),
        ("A week ago".to_owned(), back(7)),
        ("Two weeks ago".to_owned(), back(14)),
        ("Four weeks ago".to_owned(), back(28)),
    ];
    ChoicesBody {
        heading: format!("{}: done when?", words::capital(upkeep::task(task))),
        under: "The next one counts from that day.".to_owned(),
        offers: days
            .into_iter()
            .map(|(label, day)| Offer {
                detail: day.to_string(),
                ..Offer::new(format!("day:{day}"), label)
            })
            .chain([Offer::new("write", "Another day, typed")])
            .collect(),
        leave: "It was not done".to_owned(),
    }
}

/// One open job.
#[must_use]
pub fn job(job: &Job, left: Option<&Visit>, parts: &[PartUsed], now: Now) -> DetailBody {
    let mut sayings = vec![Saying::plain(format!(
        "Raised on {} by {}, because {}.",
        job.raised_on,
        job.raised.by,
        upkeep::cause(job.cause)
    ))];
    if !job.note.is_empty() {
        sayings.push(Saying::plain(format!("Note: \u{201c}{}\u{201d}", job.note)));
    }
    sayings.push(match left {
        Some(visit) => Saying::plain(format!("As left: {}.", gauges(visit, now))),
        None => Saying::of(
            Tone::Act,
            "It closes with the gauges as they are left: read them after the work.",
        ),
    });
    sayings.extend(
        parts
            .iter()
            .map(|part| Saying::plain(format!("Part used: {} \u{d7} {}.", part.count, part.what))),
    );
    let mut keys = vec![match left {
        Some(_) => Choice {
            is_on: true,
            ..Choice::new("job-done", "Done: close it")
        },
        None => Choice {
            is_on: true,
            ..Choice::new("gauges", "Read the gauges")
        },
    }];
    keys.push(Choice::new("part", "Add a part used"));
    keys.push(Choice::new("not-needed", "Not needed: say why"));
    DetailBody {
        heading: words::capital(upkeep::work(job.work)),
        tone: Tone::Caution,
        status: "job, open".to_owned(),
        sayings,
        keys,
    }
}

/// The gauges of a reading in a line.
fn gauges(visit: &Visit, (now_ms, offset): Now) -> String {
    let value = |typed| Option::map_or(typed, "\u{2013}".to_owned(), words::typed);
    format!(
        "{}, {}, {}, read {} at {}",
        value(visit.entry.inlet),
        value(visit.entry.interstage),
        value(visit.entry.outlet),
        moment::day(visit.taken_ms, now_ms, offset),
        moment::time(visit.taken_ms, offset)
    )
}

/// What work a new job is for.
#[must_use]
pub fn raise(station: &str) -> ChoicesBody {
    ChoicesBody {
        heading: format!("What is to be put right at {station}?"),
        under: String::new(),
        offers: JobWork::ALL
            .into_iter()
            .map(|work| {
                let label = match work {
                    JobWork::Other => "Something else, in words".to_owned(),
                    work => words::capital(upkeep::work(work)),
                };
                Offer::new(format!("work:{}", work.code()), label)
            })
            .collect(),
        leave: "Raise none".to_owned(),
    }
}

/// What was done with a job.
#[must_use]
pub fn job_closed(work: JobWork, end: JobEnd) -> Saying {
    Saying::of(
        Tone::Within,
        match end {
            JobEnd::Done { .. } => format!("Closed: {}.", upkeep::work(work)),
            JobEnd::NotNeeded => format!("Closed as not needed: {}.", upkeep::work(work)),
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_status_has_a_shape_of_its_own() {
        let shapes: BTreeSet<String> = Status::ALL
            .into_iter()
            .map(|status| format!("{:?}", tone(status)))
            .collect();
        assert_eq!(shapes.len(), Status::ALL.len());
    }

    #[test]
    fn days_to_choose_go_back_from_today() {
        let today = NaiveDate::from_ymd_opt(2028, 3, 1).expect("a day");
        let body = days(Task::YearlyClean, today);
        assert_eq!(body.offers[0].id, "day:2028-03-01");
        assert_eq!(body.offers[1].id, "day:2028-02-29");
        assert_eq!(body.offers.last().map(|one| one.id.as_str()), Some("write"));
    }

    #[test]
    fn every_work_can_be_raised() {
        assert_eq!(raise("T-07").offers.len(), JobWork::ALL.len());
    }
}
