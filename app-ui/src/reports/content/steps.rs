//! The steps in their order, those that were passed over with the reason, and the cautions noted.

use super::super::document::{Block, Cell, Column, Line, Sign, Table};
use super::super::work::{StepDone, StepState, WorkDone};
use crate::messages::reports as words;

const fn sign(state: &StepState) -> Sign {
    match state {
        StepState::Done => Sign::Done,
        StepState::PassedOver { .. } => Sign::PassedOver,
        StepState::TakenBack { .. } => Sign::TakenBack,
        StepState::Disputed => Sign::Unsure,
        StepState::Open | StepState::GoingOn => Sign::Open,
    }
}

/// All steps.
pub(super) fn table(work: &WorkDone) -> Vec<Block> {
    let rows = work.steps.iter().enumerate().map(|(index, step)| {
        vec![
            Cell::plain((index + 1).to_string()),
            title(step),
            Cell(vec![
                Line::plain(words::step_state(&step.state)).signed(sign(&step.state)),
            ]),
            who(work, step),
            recorded(step),
        ]
    });
    let table = Table {
        columns: vec![
            Column::right(words::NUMBER, 0.36),
            Column::left(words::STEP, 2.6),
            Column::left(words::STATE, 1.15),
            Column::left(words::WHEN_AND_WHO, 1.3),
            Column::left(words::RECORDED_THERE, 2.2),
        ],
        rows: rows.collect(),
        is_small: true,
        is_ruled: true,
        ..Table::default()
    };
    vec![Block::Heading(words::STEPS.to_owned()), Block::Table(table)]
}

fn title(step: &StepDone) -> Cell {
    let cell = Cell::plain(&step.title);
    if step.out_of_order.is_empty() {
        cell
    } else {
        cell.and(Line::quiet(words::out_of_order(&step.out_of_order)))
    }
}

fn who(work: &WorkDone, step: &StepDone) -> Cell {
    match &step.act {
        Some(act) => Cell::plain(words::moment_near(act, &work.opened))
            .and(Line::quiet(words::name_or_none(&act.by))),
        None => Cell::quiet(words::NO_FIGURE),
    }
}

fn recorded(step: &StepDone) -> Cell {
    let mut lines: Vec<Line> = step.values.iter().map(Line::plain).collect();
    lines.extend(step.ticks.iter().map(Line::plain));
    if !step.note.is_empty() {
        lines.push(Line::quiet(words::quoted(&step.note)));
    }
    match &step.state {
        StepState::PassedOver { reason } | StepState::TakenBack { reason } => {
            lines.push(Line::quiet(words::because(reason)));
        }
        StepState::Done | StepState::GoingOn | StepState::Disputed | StepState::Open => {}
    }
    if lines.is_empty() {
        Cell::quiet(words::NO_FIGURE)
    } else {
        Cell(lines)
    }
}

/// The steps that were passed over.
pub(super) fn passed_over(work: &WorkDone) -> Vec<Block> {
    let rows: Vec<Vec<Cell>> = work
        .steps
        .iter()
        .enumerate()
        .filter_map(|(index, step)| {
            let StepState::PassedOver { reason } = &step.state else {
                return None;
            };
            Some(vec![
                Cell::plain((index + 1).to_string()),
                Cell(vec![Line::plain(&step.title).signed(Sign::PassedOver)]),
                Cell::plain(words::reason_or_none(reason)),
            ])
        })
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Block::Heading(words::PASSED_OVER.to_owned()),
        Block::Table(Table {
            columns: vec![
                Column::right(words::NUMBER, 0.3),
                Column::left(words::STEP, 2.4),
                Column::left(words::REASON_HEAD, 2.4),
            ],
            rows,
            is_small: true,
            is_ruled: true,
            ..Table::default()
        }),
    ]
}

/// The cautions and the steps they stand at.
pub(super) fn cautions(work: &WorkDone) -> Vec<Block> {
    if work.cautions.is_empty() {
        return Vec::new();
    }
    let rows = work.cautions.iter().map(|caution| {
        let by = if caution.by.is_empty() {
            Cell::quiet(words::NOBODY)
        } else {
            Cell::plain(caution.by.join(", "))
        };
        vec![
            Cell(vec![Line::plain(&caution.text).signed(Sign::Caution)]),
            Cell::plain(words::at_steps(&caution.steps)),
            by,
        ]
    });
    vec![
        Block::Heading(words::CAUTIONS.to_owned()),
        Block::Text(Line::quiet(words::CAUTIONS_NOTE)),
        Block::Table(Table {
            columns: vec![
                Column::left(words::CAUTION, 3.4),
                Column::left(words::STANDS_AT, 1.2),
                Column::left(words::STEPS_BY, 1.1),
            ],
            rows: rows.collect(),
            is_small: true,
            is_ruled: true,
            ..Table::default()
        }),
    ]
}
