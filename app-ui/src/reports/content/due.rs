//! The due list: every task whose time has come and every open job, by level and in walking order,
//! with the reasons.

use winze_core::query::{DueList, StationDue};
use winze_core::upkeep::{Status, TaskDue};

use super::super::document::{Block, Cell, Column, Dated, Document, Line, Opening, Sign, Table};
use super::week::job_row;
use crate::messages::reports as words;
use crate::messages::upkeep;
use crate::presenters::due;

/// Puts the list together. `label` names the logbook it is from.
#[must_use]
pub fn due_sheet(list: &DueList, label: &str, utc_offset_minutes: i16) -> Document {
    let day = list.today.format("%-d %B %Y").to_string();
    let newest = list.stations.iter().map(|station| station.newest_ms).max();
    Document {
        title: words::DUE_TITLE.to_owned(),
        running: words::running(label, &day),
        about: words::due_about(label, &day),
        id: String::new(),
        id_of: words::running(label, &day),
        dated: Dated {
            wall_ms: newest.unwrap_or(0),
            utc_offset_minutes,
        },
        opening: Opening {
            subject: day,
            place: label.to_owned(),
            states: states(list),
        },
        blocks: blocks(list),
    }
}

fn states(list: &DueList) -> Vec<Line> {
    let counts = list.counts();
    let line = |count: usize, status: Status| {
        let text = format!("{count} {}", upkeep::status(status));
        (count > 0).then(|| Line::plain(text).signed(sign(status)))
    };
    let mut lines: Vec<Line> = [
        line(counts.overdue, Status::Overdue),
        line(counts.due, Status::Due),
        line(counts.early, Status::Early),
        line(counts.never_done, Status::NeverDone),
    ]
    .into_iter()
    .flatten()
    .collect();
    if counts.jobs > 0 {
        lines.push(Line::plain(words::jobs_open(counts.jobs)).signed(Sign::Open));
    }
    if lines.is_empty() {
        lines.push(Line::strong(words::NOTHING_DUE).signed(Sign::Done));
    }
    lines
}

const fn sign(status: Status) -> Sign {
    match status {
        Status::Overdue => Sign::Outside,
        Status::Due => Sign::Open,
        Status::Early => Sign::Unsure,
        Status::NeverDone => Sign::Caution,
        Status::NotYet => Sign::PassedOver,
    }
}

fn blocks(list: &DueList) -> Vec<Block> {
    let mut blocks = vec![Block::Heading(words::FALLS_DUE.to_owned())];
    for (level, stations) in list.by_level() {
        let rows: Vec<Vec<Cell>> = stations
            .into_iter()
            .flat_map(|station| {
                let tasks = station.open_tasks().into_iter();
                let tasks = tasks.map(move |task| task_row(station, task));
                tasks.chain(station.jobs.iter().map(move |job| job_row(station, job)))
            })
            .collect();
        if rows.is_empty() {
            continue;
        }
        if !level.is_empty() {
            blocks.push(Block::Subheading(level.to_owned()));
        }
        blocks.push(Block::Table(Table {
            columns: vec![
                Column::left(words::STATION, 1.5),
                Column::left(words::TASK, 1.9),
                Column::left(words::STANDS_AND_WHY, 3.2),
            ],
            rows,
            is_small: true,
            is_ruled: true,
            ..Table::default()
        }));
    }
    if blocks.len() == 1 {
        blocks.push(Block::Text(Line::plain(words::NOTHING_DUE)));
    }
    blocks.push(Block::Heading(words::SEEN.to_owned()));
    let line = words::TO_FILL.map(str::to_owned);
    blocks.push(Block::ToFill(vec![line.clone(), line]));
    blocks.push(Block::Text(Line::quiet(words::DUE_NOTE)));
    blocks
}

fn task_row(station: &StationDue, task: &TaskDue) -> Vec<Cell> {
    let stands = Line::strong(upkeep::status(task.status)).signed(sign(task.status));
    let mut cell = Cell(vec![stands]).and(Line::plain(due::when(task)));
    for why in &task.why {
        cell = cell.and(Line::quiet(upkeep::why(why)));
    }
    vec![
        Cell::strong(format!("{} {}", station.code, station.name).trim()),
        Cell::plain(upkeep::task(task.task)),
        cell,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::upkeep_scenario::board;
    use crate::reports::write;

    #[test]
    fn list_says_what_stands_where_and_why() {
        let board = board();
        let sheet = due_sheet(&board.due, "Office", 0);
        let text = format!("{:?}", sheet.blocks);
        for said in ["Level 180", "T-01 shaft station", "overdue", "Last done on"] {
            assert!(text.contains(said), "{said}");
        }
        let first = write(&sheet).expect("written");
        // As another reader of PDF sees it.
        let file = lopdf::Document::load_mem(&first.bytes).expect("a PDF");
        let pages: Vec<u32> = file.get_pages().keys().copied().collect();
        assert_eq!(pages.len(), first.pages);
        let text: String = file.extract_text(&pages).expect("text");
        let solid = |text: &str| text.split_whitespace().collect::<String>();
        for said in ["Due list", "T-01", "overdue", "Last done on 2025-09-19."] {
            assert!(solid(&text).contains(&solid(said)), "{said}: {text}");
        }
        assert_eq!(
            first,
            write(&sheet).expect("written"),
            "same list, same bytes"
        );
    }
}
