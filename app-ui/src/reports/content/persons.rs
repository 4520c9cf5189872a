//! Who recorded what: names as they were typed, lines to write on by hand, record ids.

use std::collections::BTreeMap;

use super::super::document::{Block, Cell, Column, Line, Table};
use super::super::work::{Act, RecordDone, WorkDone};
use crate::messages::reports as words;

/// Names as typed, and lines for what is to be written by hand.
pub(super) fn blocks(work: &WorkDone) -> Vec<Block> {
    let mut by_name: BTreeMap<(&str, &str), Vec<&Act>> = BTreeMap::new();
    for RecordDone { act, .. } in &work.records {
        let name = (act.by.as_str(), act.log_name.as_str());
        by_name.entry(name).or_default().push(act);
    }
    let rows = by_name.into_iter().filter_map(|((name, log), acts)| {
        let first = acts.iter().min_by_key(|act| (act.wall_ms, act.at))?;
        let last = acts.iter().max_by_key(|act| (act.wall_ms, act.at))?;
        Some(vec![
            Cell::strong(words::name_or_none(name)),
            Cell::plain(words::log_or_none(log)),
            Cell::plain(words::records(acts.len())),
            Cell::plain(words::span(first, last)),
        ])
    });
    let table = Table {
        columns: vec![
            Column::left(words::NAME_AS_TYPED, 1.4),
            Column::left(words::LOGBOOK, 1.2),
            Column::left(words::RECORDED, 0.8),
            Column::left(words::FROM_UNTIL, 1.7),
        ],
        rows: rows.collect(),
        is_small: true,
        is_ruled: true,
        ..Table::default()
    };
    let line = words::TO_FILL.map(str::to_owned);
    vec![
        Block::Heading(words::PERSONS.to_owned()),
        Block::Table(table),
        Block::Text(Line::quiet(words::PERSONS_NOTE)),
        Block::ToFill(vec![line.clone(), line]),
    ]
}

/// Every record with its id.
pub(super) fn records(work: &WorkDone) -> Vec<Block> {
    let rows = work.records.iter().map(|RecordDone { what, act }| {
        let id = act.at.id.to_string();
        let short: String = id.chars().take(16).collect();
        vec![
            Cell::plain(what),
            Cell::plain(words::log_or_none(&act.log_name)),
            Cell::plain(act.at.seq.to_string()),
            Cell::plain(short),
        ]
    });
    let table = Table {
        columns: vec![
            Column::left(words::RECORD, 2.6),
            Column::left(words::LOGBOOK, 1.1),
            Column::right(words::NUMBER, 0.5),
            Column::left(words::ID_BEGINS, 1.3),
        ],
        rows: rows.collect(),
        is_small: true,
        is_ruled: true,
        ..Table::default()
    };
    vec![
        Block::Heading(words::RECORDS.to_owned()),
        Block::Table(table),
    ]
}
