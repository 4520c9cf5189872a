//! How the second stage was set: the decision on the set point it came with, the chart of turns
//! against pressure, what a turn does, and every reading on the way.

use winze_core::units::{Pressure, Unit};

use super::super::document::{Block, Cell, Column, Fact, Line, Sign, Table};
use super::super::figures::{Turns, TurnsPoint};
use super::super::work::{Draw, PerTurn, PointRead, Setting, WorkDone};
use crate::messages::number::{amount, significant};
use crate::messages::reports as words;
use crate::presenters::words as trade;

/// The factory set point against the one required, and what was decided.
pub(super) fn decision(work: &WorkDone) -> Vec<Block> {
    if work.factory_set_point.is_none() && work.keeps_setting.is_none() {
        return Vec::new();
    }
    let unit = work.station.unit;
    let required = work.station.second_stage.set_point;
    let mut facts = vec![Fact {
        label: words::FACTORY_SET_POINT.to_owned(),
        value: Cell::plain(
            work.factory_set_point
                .map_or(words::NOT_READ.to_owned(), trade::typed),
        ),
    }];
    if let Some(factory) = work.factory_set_point {
        let away = factory.to_pressure() - required.to_pressure();
        facts[0].value = facts[0]
            .value
            .clone()
            .and(Line::quiet(words::away_from_required(&signed(away, unit))));
    }
    facts.push(Fact {
        label: words::DECIDED.to_owned(),
        value: Cell::plain(words::decided(work.keeps_setting)),
    });
    vec![
        Block::Heading(words::SETTING.to_owned()),
        Block::Facts(facts),
    ]
}

/// Chart and figures of the setting.
pub(super) fn blocks(work: &WorkDone) -> Vec<Block> {
    let Some(setting) = &work.setting else {
        return Vec::new();
    };
    let mut all = Vec::new();
    // The set-up has its own heading where the set point it came with was looked at.
    let has_heading = work.factory_set_point.is_some() || work.keeps_setting.is_some();
    if !has_heading || work.kind != super::WorkKind::SetUp {
        all.push(Block::Heading(words::SETTING.to_owned()));
    }
    if setting.points.is_empty() {
        all.push(Block::Text(Line::plain(words::NO_POINTS)));
        return all;
    }
    all.push(Block::Turns(chart(work, setting)));
    all.push(Block::Facts(figures(work, setting)));
    let is_small = |point: &PointRead| point.draw == Draw::Minimum;
    let note = if setting.points.iter().all(is_small) {
        words::ONLY_SMALLEST_DRAW
    } else if setting.points.iter().any(is_small) {
        words::SOME_SMALLEST_DRAW
    } else {
        return all;
    };
    all.push(Block::Text(Line::plain(note).signed(Sign::Caution)));
    all
}

/// Every reading of the setting.
pub(super) fn points(work: &WorkDone) -> Vec<Block> {
    let Some(setting) = work.setting.as_ref().filter(|s| !s.points.is_empty()) else {
        return Vec::new();
    };
    let opened = &work.opened;
    let rows = setting.points.iter().enumerate().map(|(index, point)| {
        vec![
            Cell::plain((index + 1).to_string()),
            Cell::plain(turns(point.turns)),
            Cell::strong(trade::typed(point.outlet)),
            Cell::plain(words::draw(point.draw)),
            Cell::plain(words::moment_near(&point.act, opened)),
            Cell::plain(&point.act.by),
        ]
    });
    let table = Table {
        columns: vec![
            Column::right(words::NUMBER, 0.4),
            Column::right(words::TURNS, 0.8),
            Column::right(words::OUTLET, 1.0),
            Column::left(words::DRAW_OFF, 1.1),
            Column::left(words::WHEN, 1.0),
            Column::left(words::BY, 1.6),
        ],
        rows: rows.collect(),
        is_small: true,
        is_ruled: true,
        ..Table::default()
    };
    vec![
        Block::Heading(words::POINTS.to_owned()),
        Block::Table(table),
    ]
}

fn figures(work: &WorkDone, setting: &Setting) -> Vec<Fact> {
    let unit = work.station.unit;
    let mut all = Vec::new();
    let mut fact = |label: &str, value: String| {
        all.push(Fact {
            label: label.to_owned(),
            value: Cell::plain(value),
        });
    };
    let first = setting.points.first();
    let last = setting.points.last();
    if let (Some(first), Some(last)) = (first, last) {
        fact(
            words::FROM_TO,
            words::from_to(&trade::typed(first.outlet), &trade::typed(last.outlet)),
        );
        fact(words::TURNS_IN_ALL, turns(last.turns - first.turns));
    }
    fact(
        words::PER_TURN,
        setting
            .per_turn
            .map_or(words::NOT_ENOUGH_POINTS.to_owned(), |found| {
                per_turn(found, unit)
            }),
    );
    if let Some(backlash) = setting.backlash_turns {
        fact(words::BACKLASH, words::turns_of(&significant(backlash, 2)));
    }
    all
}

fn per_turn(found: PerTurn, unit: Unit) -> String {
    let show = |pa: f64| significant(unit.from_pa(pa), 3);
    let value = format!("{} {}", show(found.pa), unit.symbol());
    match found.interval_pa {
        Some((low, high)) => words::with_interval(&value, &show(low), &show(high)),
        None => value,
    }
}

fn chart(work: &WorkDone, setting: &Setting) -> Turns {
    let unit = work.station.unit;
    let second = &work.station.second_stage;
    let (set, half) = (second.set_point.to_pressure(), second.band.to_pressure());
    let points = setting.points.iter().map(|point| TurnsPoint {
        turns: point.turns,
        pressure: point.outlet.value_in(unit),
        is_usual_flow: point.draw == Draw::Usual,
    });
    let line = setting.per_turn.map(|found| {
        let at = |turns: f64| (turns, unit.from_pa(found.at_zero_pa + found.pa * turns));
        [at(found.holds.0), at(found.holds.1)]
    });
    let texts = setting
        .points
        .iter()
        .map(|point| trade::typed(point.outlet));
    let texts: Vec<String> = texts.collect();
    Turns {
        alt: words::turns_alt(&texts, &amount(set, unit)),
        unit: unit.symbol().to_owned(),
        foot: words::TURNS_FOOT.to_owned(),
        side: words::outlet_in(unit.symbol()),
        band_label: words::set_point_label(&amount(set, unit)),
        band: (
            (set - half).in_unit(unit),
            set.in_unit(unit),
            (set + half).in_unit(unit),
        ),
        points: points.collect(),
        line,
        legend: words::DRAW_LEGEND.map(str::to_owned),
    }
}

/// Turns with a sign: in is positive.
fn turns(value: f64) -> String {
    let text = format!("{value:+.2}");
    if text.trim_start_matches(['+', '-']) == "0.00" {
        "0.00".to_owned()
    } else {
        text.replace('-', "\u{2212}")
    }
}

/// A difference with its sign.
fn signed(difference: Pressure, unit: Unit) -> String {
    let text = amount(difference.abs(), unit);
    match difference.pa() {
        0 => text,
        pa if pa < 0 => format!("\u{2212}{text}"),
        _ => format!("+{text}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_and_differences_carry_their_sign() {
        assert_eq!(turns(1.25), "+1.25");
        assert_eq!(turns(-0.5), "\u{2212}0.50");
        assert_eq!(turns(-0.001), "0.00");
        let bar = |pa| signed(Pressure::from_pa(pa), Unit::Bar);
        assert_eq!(bar(25_000), "+0.25 bar");
        assert_eq!(bar(-25_000), "\u{2212}0.25 bar");
    }
}
