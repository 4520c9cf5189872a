//! The week's sheet: what to look at, every station with its newest reading, what falls due.
//!
//! The same lists as the office window shows, on paper.

use winze_core::query::{DueList, StationDue, Visit};
use winze_core::station::Quantity;
use winze_core::upkeep::{Job, Task, TaskDue};

use super::super::document::{
    Block, Cell, Column, Dated, Document, Line, Opening, Sign, Table, Tone as Loud,
};
use super::gauges;
use crate::messages::reports as words;
use crate::messages::upkeep;
use crate::office::snapshot::{Snapshot, StationSummary};
use crate::presenters::due;
use crate::presenters::office_attention::{Attention, attention};
use crate::presenters::office_time as time;
use crate::presenters::view::Tone;
use crate::presenters::words as trade;

/// Puts the sheet of a week together.
#[must_use]
pub fn week_sheet(snapshot: &Snapshot, due: &DueList) -> Document {
    let week = snapshot.week.title();
    let all = attention(snapshot);
    let mut blocks = vec![Block::Heading(words::TO_LOOK_AT.to_owned())];
    blocks.extend(to_look_at(&all));
    blocks.push(Block::Heading(words::STATIONS.to_owned()));
    blocks.extend(stations(snapshot));
    blocks.push(Block::Heading(words::FALLS_DUE.to_owned()));
    blocks.extend(falls_due(due));
    blocks.push(Block::Heading(words::SEEN.to_owned()));
    let line = words::TO_FILL.map(str::to_owned);
    blocks.push(Block::ToFill(vec![line.clone(), line]));
    blocks.push(Block::Text(Line::quiet(words::WEEK_NOTE)));
    Document {
        title: words::WEEK_TITLE.to_owned(),
        running: words::running(&snapshot.label, &week),
        about: words::week_about(&snapshot.label, &week),
        id: String::new(),
        id_of: words::running(&snapshot.label, &week),
        dated: Dated {
            wall_ms: newest(snapshot),
            utc_offset_minutes: snapshot.week.utc_offset_minutes,
        },
        opening: Opening {
            subject: week,
            place: snapshot.label.clone(),
            states: states(snapshot, &all),
        },
        blocks,
    }
}

/// The newest reading of the week, else its beginning.
fn newest(snapshot: &Snapshot) -> i64 {
    let visits = snapshot.stations.iter().flat_map(|one| &one.visits);
    let of_week = visits.filter(|visit| snapshot.week.holds(visit.taken_ms));
    let newest = of_week.map(|visit| visit.taken_ms).max();
    newest.unwrap_or_else(|| snapshot.week.start_ms())
}

fn is_read(snapshot: &Snapshot, station: &StationSummary) -> bool {
    let mut visits = station.visits.iter();
    visits.any(|visit| snapshot.week.holds(visit.taken_ms))
}

fn states(snapshot: &Snapshot, all: &[Attention]) -> Vec<Line> {
    let read = snapshot
        .stations
        .iter()
        .filter(|station| is_read(snapshot, station))
        .count();
    let total = snapshot.stations.len();
    let sign = if read == total {
        Sign::Done
    } else {
        Sign::Open
    };
    let mut lines = vec![Line::strong(words::stations_read(read, total)).signed(sign)];
    let tallies = crate::presenters::office_attention::tallies(all, None);
    lines.extend(
        tallies
            .into_iter()
            .filter(|tally| tally.count > 0)
            .map(|tally| {
                let word = if tally.count == 1 {
                    &tally.id
                } else {
                    &tally.label
                };
                let line = Line::plain(format!("{} {word}", tally.count));
                signed(line, tally.tone)
            }),
    );
    lines
}

/// The shape of a tone, as far as paper knows one.
fn signed(line: Line, tone: Tone) -> Line {
    match tone {
        Tone::Within => line.signed(Sign::Within),
        Tone::Unsure => line.signed(Sign::Unsure),
        Tone::Outside => line.signed(Sign::Outside),
        Tone::Caution => line.signed(Sign::Caution),
        Tone::Act => line.signed(Sign::Open),
        Tone::None => line.signed(Sign::PassedOver),
    }
}

fn to_look_at(all: &[Attention]) -> Vec<Block> {
    if all.is_empty() {
        return vec![Block::Text(Line::plain(words::NOTHING_TO_LOOK_AT))];
    }
    let rows = all.iter().map(|one| {
        let line = &one.line;
        let place = format!("{} {}", line.code, line.name);
        vec![
            Cell(vec![signed(Line::plain(&line.word), line.tone)]),
            Cell::strong(place.trim()),
            Cell::plain(&line.sentence).and(Line::quiet(&line.when)),
        ]
    });
    vec![Block::Table(Table {
        columns: vec![
            Column::left(" ", 0.95),
            Column::left(words::STATION, 1.5),
            Column::left(words::MATTER, 3.6),
        ],
        rows: rows.collect(),
        is_small: true,
        is_ruled: true,
        ..Table::default()
    })]
}

/// Every station with its newest reading, by level.
fn stations(snapshot: &Snapshot) -> Vec<Block> {
    if snapshot.stations.is_empty() {
        return vec![Block::Text(Line::plain(words::NO_STATIONS))];
    }
    let mut blocks = Vec::new();
    let mut rest = snapshot.stations.as_slice();
    while let Some(first) = rest.first() {
        let level = &first.row.level;
        let length = rest
            .iter()
            .take_while(|one| one.row.level == *level)
            .count();
        let (here, others) = rest.split_at(length);
        if !level.is_empty() {
            blocks.push(Block::Subheading(level.clone()));
        }
        blocks.push(Block::Table(Table {
            columns: vec![
                Column::left(words::STATION, 1.7),
                Column::left(words::LAST_READ, 1.35),
                Column::left(trade::gauge(Quantity::Inlet), 1.1),
                Column::left(trade::gauge(Quantity::Interstage), 1.1),
                Column::left(trade::gauge(Quantity::Outlet), 1.1),
            ],
            rows: here.iter().map(|one| station(snapshot, one)).collect(),
            is_small: true,
            is_ruled: true,
            ..Table::default()
        }));
        rest = others;
    }
    blocks
}

fn station(snapshot: &Snapshot, station: &StationSummary) -> Vec<Cell> {
    let name = format!("{} {}", station.row.code, station.row.name);
    let mut cells = vec![Cell::strong(name.trim())];
    let Some(visit) = station.visits.first() else {
        cells.push(Cell::quiet(words::NOT_READ_LATELY));
        cells.extend([(); 3].map(|()| Cell::quiet(words::NO_FIGURE)));
        return cells;
    };
    let when = time::moment(visit.taken_ms, snapshot.week.utc_offset_minutes);
    let is_old = !snapshot.week.holds(visit.taken_ms);
    let when = if is_old {
        Line::quiet(words::before_the_week(&when))
    } else {
        Line::plain(when)
    };
    cells.push(Cell(vec![when]).and(Line::quiet(&visit.by)));
    cells.extend(Quantity::ALL.map(|quantity| shown(visit, quantity)));
    cells
}

/// A value with the verdict that was shown on it.
fn shown(visit: &Visit, quantity: Quantity) -> Cell {
    let Some(typed) = visit.entry.get(quantity) else {
        return Cell::quiet(words::NOT_READ);
    };
    let value = Cell::plain(trade::typed(typed));
    match visit.shown.get(quantity) {
        Some(shown) => value.and(
            Line {
                tone: Loud::Quiet,
                ..Line::plain(trade::verdict(shown.verdict))
            }
            .signed(gauges::sign(shown.verdict)),
        ),
        None => value.and(Line::quiet(words::NOT_JUDGED)),
    }
}

fn falls_due(list: &DueList) -> Vec<Block> {
    let rows = list.stations.iter().flat_map(|station| {
        // The look-round is what the list of stations above is about.
        let tasks = station.open_tasks().into_iter();
        let tasks = tasks.filter(|task| task.task != Task::LookRound);
        let tasks = tasks.map(move |task| task_row(station, task));
        tasks.chain(station.jobs.iter().map(move |job| job_row(station, job)))
    });
    let rows: Vec<Vec<Cell>> = rows.collect();
    if rows.is_empty() {
        return vec![Block::Text(Line::plain(words::NOTHING_DUE))];
    }
    vec![Block::Table(Table {
        columns: vec![
            Column::left(words::STATION, 1.6),
            Column::left(words::TASK, 1.9),
            Column::left(words::STANDS, 2.6),
        ],
        rows,
        is_small: true,
        is_ruled: true,
        ..Table::default()
    })]
}

fn place_of(station: &StationDue) -> Cell {
    Cell::strong(format!("{} {}", station.code, station.name).trim())
}

fn task_row(station: &StationDue, task: &TaskDue) -> Vec<Cell> {
    vec![
        place_of(station),
        Cell::plain(upkeep::task(task.task)),
        Cell::strong(upkeep::status(task.status)).and(Line::quiet(due::when(task))),
    ]
}

pub(super) fn job_row(station: &StationDue, job: &Job) -> Vec<Cell> {
    vec![
        place_of(station),
        Cell::plain(words::JOB),
        Cell::plain(due::job_line(job)),
    ]
}
