//! The three gauges as found and as left: table, dials, verdict in a line.

use winze_core::station::{Quantity, Station};
use winze_core::units::decimal_to_f64;
use winze_core::verdict::{Entry, Judged, Verdict, expected as expect, judge, ratio_read};

use super::super::document::{Block, Cell, Column, Group, Line, Sign, Table};
use super::super::figures::{Dial, Shown};
use super::super::work::{ReadingDone, WorkDone, WorkKind};
use crate::messages::number::significant;
use crate::messages::reports as words;
use crate::presenters::words as trade;

/// The shape of a verdict.
pub(super) const fn sign(verdict: Verdict) -> Sign {
    match verdict {
        Verdict::Within => Sign::Within,
        Verdict::Unsure => Sign::Unsure,
        Verdict::Outside => Sign::Outside,
    }
}

/// Table and dials.
pub(super) fn blocks(work: &WorkDone) -> Vec<Block> {
    vec![
        Block::Heading(heading(work).to_owned()),
        Block::Table(table(work)),
        Block::Text(Line::quiet(words::GAUGES_NOTE)),
        Block::Dials(Quantity::ALL.map(|quantity| dial(work, quantity)).into()),
    ]
}

/// How the gauges stand as left, in a line.
pub(super) fn worst_line(work: &WorkDone) -> Option<Line> {
    let Some(left) = &work.as_left else {
        // After an inspection a set-up follows, which reads the gauges as left.
        if work.kind == WorkKind::Inspection {
            return None;
        }
        return Some(Line::plain(words::NOT_READ_AS_LEFT).signed(Sign::Open));
    };
    let judgement = judge(&work.station, &left.entry);
    let worst = judgement.worst()?;
    let gauges: Vec<&str> = judgement
        .iter()
        .filter(|judged| judged.verdict == worst)
        .map(|judged| trade::gauge(judged.quantity))
        .collect();
    let text = words::as_left_state(worst, &trade::listed(&gauges));
    Some(Line::plain(text).signed(sign(worst)))
}

/// The ratio that the as-left readings give, with twice its standard uncertainty.
pub(super) fn as_left_ratio(work: &WorkDone) -> Option<String> {
    let left = work.as_left.as_ref()?;
    let found = ratio_read(&work.station, &left.entry)?;
    Some(words::plus_minus(
        &significant(found.ratio, 3),
        &significant(2.0 * found.uncertainty, 2),
    ))
}

/// Which of the two readings are shown: those that were taken, or as left where none was.
fn shown(work: &WorkDone) -> Vec<(&'static str, Option<&ReadingDone>, &Station)> {
    let before = work.before.as_ref().unwrap_or(&work.station);
    let found = work.as_found.as_ref();
    let left = work.as_left.as_ref();
    let mut all = Vec::new();
    if found.is_some() {
        all.push((words::AS_FOUND_HEAD, found, before));
    }
    if left.is_some() || found.is_none() {
        all.push((words::AS_LEFT_HEAD, left, &work.station));
    }
    all
}

fn heading(work: &WorkDone) -> &'static str {
    match (&work.as_found, &work.as_left) {
        (Some(_), Some(_)) => words::GAUGES,
        (Some(_), None) => words::AS_FOUND_HEAD,
        (None, _) => words::AS_LEFT_HEAD,
    }
}

fn table(work: &WorkDone) -> Table {
    let shown = shown(work);
    let rows = Quantity::ALL.map(|quantity| {
        let facts = words::gauge_facts(work.station.gauge(quantity));
        let mut row = vec![Cell::strong(trade::gauge(quantity)).and(Line::quiet(facts))];
        for &(_, reading, station) in &shown {
            row.extend(cells(station, reading, quantity));
        }
        row
    });
    let mut columns = vec![Column::left(words::GAUGE, 1.5)];
    let mut groups = Vec::new();
    for &(title, reading, _) in &shown {
        let from = columns.len();
        columns.extend([
            Column::left(words::READ, 1.1),
            Column::left(words::EXPECTED, 1.35),
            Column::left(words::VERDICT, 1.0),
        ]);
        let when = reading.map_or_else(
            || format!("{title}: {}", words::NOT_READ),
            |reading| format!("{title}, {}", words::moment(&reading.act)),
        );
        groups.push(Group {
            title: when,
            from,
            to: from + 3,
        });
    }
    Table {
        columns,
        groups,
        rows: rows.into(),
        is_small: true,
        is_ruled: true,
    }
}

/// Read, expected and verdict of one gauge.
fn cells(station: &Station, reading: Option<&ReadingDone>, quantity: Quantity) -> [Cell; 3] {
    let nothing = || Cell::quiet(words::NO_FIGURE);
    let Some(typed) = reading.and_then(|reading| reading.entry.get(quantity)) else {
        return [Cell::quiet(words::NOT_READ), nothing(), nothing()];
    };
    let entry = reading.map_or(Entry::default(), |reading| reading.entry);
    let judgement = judge(station, &entry);
    let read = Cell::strong(trade::typed(typed));
    let Some(judged) = judgement.get(quantity) else {
        return [
            read,
            Cell::quiet(words::NOTHING_EXPECTED),
            Cell::quiet(words::NOT_JUDGED),
        ];
    };
    [
        read.and(Line::quiet(expanded(station, judged)))
            .and(Line::quiet(at_datum(station, judged))),
        expected(station, judged),
        Cell(vec![
            Line::strong(trade::verdict(judged.verdict)).signed(sign(judged.verdict)),
            Line::quiet(words::in_band(judged.probability)),
        ]),
    ]
}

/// Twice the standard uncertainty, in the gauge's unit.
fn expanded(station: &Station, judged: &Judged) -> String {
    let unit = station.gauge(judged.quantity).unit();
    let value = unit.from_pa(2.0 * judged.uncertainty_pa);
    format!("\u{b1} {} {}", significant(value, 2), unit.symbol())
}

/// The reading at the station datum, where the gauge hangs at another height.
fn at_datum(station: &Station, judged: &Judged) -> String {
    if judged.correction.pa() == 0 {
        return String::new();
    }
    let gauge = station.gauge(judged.quantity);
    words::at_datum(&trade::amount(gauge, judged.observed))
}

fn expected(station: &Station, judged: &Judged) -> Cell {
    let gauge = station.gauge(judged.quantity);
    let band = &judged.expectation;
    let text = format!(
        "{} {}",
        trade::band(gauge, band.low, band.high),
        gauge.unit().symbol()
    );
    Cell::plain(text).and(Line::quiet(words::basis(band.basis, judged.ratio)))
}

fn dial(work: &WorkDone, quantity: Quantity) -> Dial {
    let gauge = work.station.gauge(quantity);
    let unit = gauge.unit();
    let shown = |reading: &Option<ReadingDone>| {
        let typed = reading.as_ref()?.entry.get(quantity)?;
        Some(Shown {
            value: typed.value_in(unit),
            text: trade::typed(typed),
        })
    };
    let entry = work.as_left.as_ref().map_or(Entry::default(), |r| r.entry);
    let expected = expect(&work.station, &entry);
    let band = expected.on_dial(&work.station, quantity);
    Dial {
        title: trade::gauge_capital(quantity).to_owned(),
        unit: unit.symbol().to_owned(),
        low: gauge.low.value_in(unit),
        high: gauge.high.value(),
        division: decimal_to_f64(gauge.division),
        band: band.map(|(low, high)| (low.in_unit(unit), high.in_unit(unit))),
        found: shown(&work.as_found),
        left: shown(&work.as_left),
    }
}
