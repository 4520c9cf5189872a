//! The due board: every task of every station by level and in walking order, with why in words.

use chrono::NaiveDate;
use winze_core::query::StationDue;
use winze_core::station::StationCode;
use winze_core::upkeep::{DoneBy, Status, Task, TaskDue, Week, Why};

use super::office_upkeep::{ActKey, BoardDetail, BoardLine, Filter, is_found, on, sentences};
use super::office_view::{Fact, Tally};
use super::view::Tone;
use super::words::capital;
use crate::messages::{counted, upkeep};
use crate::office::board::Board;

/// Key: note that the chosen task was done.
pub const NOTE_DONE: &str = "note-done";
/// Key: open the station of the chosen line.
pub const STATION: &str = "station";
/// Key: write the calendar.
pub const CALENDAR: &str = "calendar";
/// Key: write the list as PDF.
pub const PRINT: &str = "print";
/// Filter: every task.
pub const ALL: &str = "all";
const GAUGES: &str = "gauges";

/// What the list is narrowed to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Narrowed {
    /// Only tasks that stand so; else all whose time has come.
    pub status: Option<Status>,
    /// Only this kind of task, by the id of its filter; empty for all.
    pub task: String,
    /// What was typed to find.
    pub find: String,
}

/// The statuses that are counted, in order.
const COUNTED: [Status; 5] = [
    Status::Overdue,
    Status::Due,
    Status::Early,
    Status::NeverDone,
    Status::NotYet,
];

/// What a status means.
#[must_use]
pub const fn tone(status: Status) -> Tone {
    match status {
        Status::Overdue => Tone::Outside,
        Status::Due => Tone::Act,
        Status::Early => Tone::Unsure,
        Status::NeverDone => Tone::Caution,
        Status::NotYet => Tone::None,
    }
}

/// A status in a word short enough for a column.
#[must_use]
pub const fn word(status: Status) -> &'static str {
    match status {
        Status::Early => "early",
        other => upkeep::status(other),
    }
}

/// The filter a task belongs to.
const fn group(task: Task) -> &'static str {
    match task {
        Task::GaugeCheck(_) => GAUGES,
        other => other.code(),
    }
}

/// How many tasks stand how.
#[must_use]
pub fn tallies(board: &Board, narrowed: &Narrowed) -> Vec<Tally> {
    let stands = |status: Status| {
        let stations = board.due.stations.iter();
        let tasks =
            stations.flat_map(|station| station.tasks.iter().map(move |task| (station, task)));
        tasks
            .filter(|(station, task)| task.status == status && fits(station, task, narrowed))
            .count()
    };
    let tally = |status: Status| Tally {
        id: status.code().to_owned(),
        label: word(status).to_owned(),
        count: stands(status),
        tone: tone(status),
        is_chosen: narrowed.status == Some(status),
    };
    COUNTED.map(tally).to_vec()
}

/// The kinds of task.
#[must_use]
pub fn filters(narrowed: &Narrowed) -> Vec<Filter> {
    let chosen = if narrowed.task.is_empty() {
        ALL
    } else {
        &narrowed.task
    };
    [
        (ALL, "All tasks"),
        (Task::LookRound.code(), "Look-round"),
        (Task::YearlyClean.code(), "Cleaning"),
        (Task::InternalInspection.code(), "Inspection"),
        (GAUGES, "Gauge checks"),
    ]
    .map(|(id, label)| Filter::new(id, label, chosen))
    .to_vec()
}

/// Finds the status that a tally stands for.
#[must_use]
pub fn status_of(id: &str) -> Option<Status> {
    COUNTED.into_iter().find(|status| status.code() == id)
}

fn fits(station: &StationDue, task: &TaskDue, narrowed: &Narrowed) -> bool {
    let is_of_kind =
        narrowed.task.is_empty() || narrowed.task == ALL || narrowed.task == group(task.task);
    is_of_kind
        && is_found(
            &narrowed.find,
            &[
                station.code.as_str(),
                &station.name,
                &station.level,
                upkeep::task(task.task),
            ],
        )
}

/// The list: by level and in walking order, at each station the most pressing first.
#[must_use]
pub fn lines(board: &Board, narrowed: &Narrowed) -> Vec<BoardLine> {
    let mut lines = Vec::new();
    for (level, stations) in board.due.by_level() {
        let of_level: Vec<BoardLine> = stations
            .into_iter()
            .flat_map(|station| of_station(board, station, narrowed))
            .collect();
        if of_level.is_empty() {
            continue;
        }
        lines.push(BoardLine {
            is_heading: true,
            name: if level.is_empty() { "No level" } else { level }.to_owned(),
            ..BoardLine::default()
        });
        lines.extend(of_level);
    }
    lines
}

fn of_station(board: &Board, station: &StationDue, narrowed: &Narrowed) -> Vec<BoardLine> {
    let mut tasks: Vec<&TaskDue> = station.tasks.iter().collect();
    tasks.sort_by_key(|task| (task.status, task.window.map(|window| window.latest)));
    let is_asked = |task: &&TaskDue| {
        let stands = match narrowed.status {
            Some(status) => task.status == status,
            None => task.status.is_open(),
        };
        stands && fits(station, task, narrowed)
    };
    let asked = tasks.into_iter().filter(is_asked);
    asked.map(|task| line(board, station, task)).collect()
}

fn line(board: &Board, station: &StationDue, task: &TaskDue) -> BoardLine {
    let why: Vec<String> = telling(task).map(why).collect();
    BoardLine {
        id: id(&station.code, task.task),
        tone: tone(task.status),
        word: word(task.status).to_owned(),
        code: station.code.to_string(),
        name: sentences([
            capital(upkeep::task(task.task)).as_str(),
            in_place(station).as_str(),
        ]),
        sentence: sentences(why.iter().map(String::as_str)),
        when: when(board, task),
        ..BoardLine::default()
    }
}

fn in_place(station: &StationDue) -> String {
    if station.name.is_empty() {
        String::new()
    } else {
        format!("({})", station.name)
    }
}

/// What the screen answers with for a task of a station.
#[must_use]
pub fn id(station: &StationCode, task: Task) -> String {
    format!("{}/{station}", task.code())
}

/// The task and station behind an answer.
#[must_use]
pub fn find<'a>(board: &'a Board, id: &str) -> Option<(&'a StationDue, &'a TaskDue)> {
    let (task, code) = id.split_once('/')?;
    let task = Task::from_code(task)?;
    let mut stations = board.due.stations.iter();
    let station = stations.find(|station| station.code.as_str() == code)?;
    let found = station.tasks.iter().find(|one| one.task == task)?;
    Some((station, found))
}

/// Reasons that tell something about this station, not what is usual everywhere.
fn telling(task: &TaskDue) -> impl Iterator<Item = &Why> {
    let is_usual = |why: &&Why| {
        matches!(
            why,
            Why::UsualInterval { .. } | Why::EachWeek | Why::CavitationNotKnown
        )
    };
    task.why.iter().filter(move |why| !is_usual(why))
}

/// A reason with its days written as everywhere in the window.
fn why(reason: &Why) -> String {
    let sentence = upkeep::why(reason);
    let words = sentence.split(' ').map(|word| {
        let day = word.trim_end_matches(['.', ',', ':', ';', ')']);
        match NaiveDate::parse_from_str(day, "%Y-%m-%d") {
            Ok(found) => format!("{}{}", on(found), &word[day.len()..]),
            Err(_) => word.to_owned(),
        }
    });
    words.collect::<Vec<_>>().join(" ")
}

fn when(board: &Board, task: &TaskDue) -> String {
    match task.window {
        None => String::new(),
        Some(window) if task.task == Task::LookRound => Week::of(window.due).to_string(),
        Some(window) if task.status == Status::Overdue => {
            let days = (board.due.today - window.latest).num_days().unsigned_abs();
            format!("{} over", counted(days, "day", "days"))
        }
        Some(window) => format!("due {}", on(window.due)),
    }
}

/// The particulars of a task.
#[must_use]
pub fn detail(board: &Board, id: &str) -> BoardDetail {
    let Some((station, task)) = find(board, id) else {
        return BoardDetail::default();
    };
    let mut facts = vec![match task.last_done {
        Some(done) => Fact::new("last done", format!("{}, {}", on(done.on), by(done.by))),
        None => Fact::new("last done", "not known"),
    }];
    if let Some(window) = task.window {
        facts.push(Fact::new("due", on(window.due)));
        facts.push(Fact::new(
            "window",
            format!("{} to {}", on(window.earliest), on(window.latest)),
        ));
    }
    let others: Vec<String> = station
        .open_tasks()
        .into_iter()
        .filter(|other| other.task != task.task)
        .map(|other| format!("{} ({})", upkeep::task(other.task), word(other.status)))
        .chain(
            station
                .jobs
                .iter()
                .map(|job| upkeep::work(job.work).to_owned()),
        )
        .collect();
    if !others.is_empty() {
        facts.push(Fact::new("also here", others.join(", ")));
    }
    BoardDetail {
        heading: format!("{}: {}", station.code, upkeep::task(task.task)),
        place: board.place(&station.code),
        tone: tone(task.status),
        word: upkeep::status(task.status).to_owned(),
        facts,
        told_title: "Why".to_owned(),
        told: task.why.iter().map(why).collect(),
        keys: vec![
            ActKey::primary(NOTE_DONE, "Note that it was done"),
            ActKey::new(STATION, "See the station"),
        ],
    }
}

const fn by(by: DoneBy) -> &'static str {
    match by {
        DoneBy::Reading => "by a reading",
        DoneBy::Procedure => "by a procedure",
        DoneBy::Job => "by a job",
        DoneBy::Note => "as noted",
        DoneBy::Definition => "as the definition says",
    }
}

/// What can be done with the whole list.
#[must_use]
pub fn head_keys() -> Vec<ActKey> {
    vec![
        ActKey::new(CALENDAR, "Save as calendar"),
        ActKey::new(PRINT, "Save as PDF"),
    ]
}

/// What the list holds.
#[must_use]
pub fn title(board: &Board, narrowed: &Narrowed, shown: usize) -> String {
    let what = match narrowed.status {
        Some(status) => upkeep::status(status),
        None => "to be seen to",
    };
    format!("{shown} {what}, as of {}", on(board.due.today))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::upkeep_scenario;

    fn narrowed(find: &str) -> Narrowed {
        Narrowed {
            find: find.to_owned(),
            ..Narrowed::default()
        }
    }

    #[test]
    fn list_goes_by_level_and_leaves_out_what_has_time() {
        let board = upkeep_scenario::board();
        let lines = lines(&board, &Narrowed::default());
        assert!(
            lines[0].is_heading && lines[0].name == "Level 180",
            "{lines:?}"
        );
        let first = &lines[1];
        assert_eq!(
            (first.code.as_str(), first.word.as_str()),
            ("T-01", "overdue")
        );
        assert_eq!(first.sentence, "Last done on 19 Sep 2025.");
        assert_eq!(first.when, "31 days over");
        assert!(lines.iter().all(|line| line.word != "not yet"));
    }

    #[test]
    fn list_is_narrowed_by_status_task_and_words() {
        let board = upkeep_scenario::board();
        let later = Narrowed {
            status: Some(Status::NotYet),
            ..Narrowed::default()
        };
        let found = lines(&board, &later);
        assert!(
            found
                .iter()
                .filter(|line| !line.is_heading)
                .all(|line| line.word == "not yet")
        );
        assert!(found.len() > 1, "{found:?}");
        let gauges = Narrowed {
            task: GAUGES.to_owned(),
            ..Narrowed::default()
        };
        assert!(
            lines(&board, &gauges)
                .iter()
                .all(|line| line.is_heading || line.name.contains("gauge"))
        );
        let on_180 = lines(&board, &narrowed("180 cleaning"));
        assert!(on_180.iter().any(|line| line.code == "T-01"));
        assert!(lines(&board, &narrowed("no such level")).is_empty());
    }

    #[test]
    fn tallies_count_what_the_filters_let_through() {
        let board = upkeep_scenario::board();
        let all = tallies(&board, &Narrowed::default());
        let few = tallies(&board, &narrowed("T-01"));
        let sum = |tallies: &[Tally]| tallies.iter().map(|tally| tally.count).sum::<usize>();
        assert!(sum(&few) < sum(&all), "{few:?}");
        let counts = board.due.counts();
        assert_eq!(all[0].count, counts.overdue);
        assert_eq!(all[4].count, counts.not_yet);
    }

    #[test]
    fn particulars_say_when_and_why() {
        let board = upkeep_scenario::board();
        let of = id(&board.due.stations[0].code, Task::YearlyClean);
        let detail = detail(&board, &of);
        assert_eq!(detail.heading, "T-01: strainer and control loop cleaning");
        assert_eq!(detail.place, "Level 180, shaft station");
        assert!(
            detail
                .told
                .iter()
                .any(|why| why.contains("10 to 13 months")),
            "{detail:?}"
        );
        assert_eq!(detail.keys[0].id, NOTE_DONE);
        let nothing = super::detail(&board, "yearly-clean/X");
        assert_eq!(nothing, BoardDetail::default());
    }
}
