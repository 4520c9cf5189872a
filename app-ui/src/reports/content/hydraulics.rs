//! The page of the certificate with the hydraulic check: what was found, the figures, the failure cases.

use winze_core::hydraulics::check;

use super::super::document::{Block, Cell, Column, Line, Sign, Table};
use super::super::work::WorkDone;
use crate::messages::hydraulics::nothing_to_check;
use crate::messages::reports as words;
use crate::presenters::hydraulics::{Finding, Sheet, Table as Figures, summary};
use crate::presenters::view::Tone;

/// The page; it says so where there is nothing to check.
pub(super) fn page(work: &WorkDone) -> Block {
    let mut blocks = vec![Block::Heading(words::HYDRAULICS.to_owned())];
    match check(&work.station) {
        Ok(found) => blocks.extend(sheet(&summary(&work.station, &found))),
        Err(gap) => blocks.push(Block::Text(
            Line::plain(nothing_to_check(&gap).what).signed(Sign::Open),
        )),
    }
    Block::OnePage(blocks)
}

fn sheet(sheet: &Sheet) -> Vec<Block> {
    let mut all = Vec::new();
    if sheet.findings.is_empty() {
        all.push(Block::Text(
            Line::strong(words::NOTHING_TO_OBJECT).signed(Sign::Within),
        ));
    } else {
        all.push(Block::Table(findings(&sheet.findings)));
    }
    for table in &sheet.tables {
        all.push(Block::Subheading(table.title.clone()));
        all.push(Block::Table(if table.columns.is_empty() {
            plain_list(table)
        } else {
            figures(table)
        }));
        if !table.note.is_empty() {
            all.push(Block::Text(Line::quiet(&table.note)));
        }
    }
    all
}

fn findings(findings: &[Finding]) -> Table {
    let rows = findings.iter().map(|finding| {
        let word = Line::strong(&finding.word);
        let word = match finding.tone {
            Tone::Outside => word.signed(Sign::Outside),
            Tone::Unsure => word.signed(Sign::Unsure),
            Tone::Caution => word.signed(Sign::Caution),
            Tone::Within => word.signed(Sign::Within),
            Tone::None | Tone::Act => word,
        };
        let what = format!("{} {}", finding.what, finding.next);
        vec![Cell(vec![word]), Cell::plain(what.trim())]
    });
    Table {
        columns: vec![Column::left("", 0.55), Column::left("", 4.4)],
        rows: rows.collect(),
        is_small: true,
        is_ruled: true,
        ..Table::default()
    }
}

fn figures(table: &Figures) -> Table {
    let mut columns = vec![Column::left(" ", 1.7)];
    columns.extend(table.columns.iter().map(|head| Column::right(head, 1.0)));
    let rows = table.rows.iter().map(|row| {
        let mut cells = vec![Cell::plain(&row.name)];
        cells.extend(row.cells.iter().map(Cell::plain));
        cells
    });
    Table {
        columns,
        rows: rows.collect(),
        is_small: true,
        ..Table::default()
    }
}

/// Names and figures side by side, half of them in each pair of columns.
fn plain_list(table: &Figures) -> Table {
    let half = table.rows.len().div_ceil(2);
    let cells = |index: usize| match table.rows.get(index) {
        Some(row) => [Cell::plain(&row.name), Cell::plain(row.cells.join(" "))],
        None => [Cell::default(), Cell::default()],
    };
    let rows = (0..half).map(|row| {
        let [name, value] = cells(row);
        let [other, other_value] = cells(half + row);
        vec![name, value, other, other_value]
    });
    Table {
        columns: [1.7, 0.8, 1.5, 1.2]
            .map(|share| Column::left("", share))
            .into(),
        rows: rows.collect(),
        is_small: true,
        ..Table::default()
    }
}
