//! Visits before and after the work, one strip for each gauge.

use winze_core::station::Quantity;
use winze_core::verdict::{Verdict, judge};

use super::super::document::{Block, Line};
use super::super::figures::{History, Standing, Strip, Visit};
use super::super::work::{PastVisit, WorkDone};
use crate::messages::reports as words;
use crate::presenters::words as trade;

const DAY_MS: f64 = 86_400_000.0;

/// Distances of days along the foot that may be used.
const STEPS_DAYS: [f64; 9] = [1.0, 7.0, 14.0, 28.0, 56.0, 91.0, 182.0, 364.0, 728.0];

/// The strips, or that there are no visits.
pub(super) fn blocks(work: &WorkDone) -> Vec<Block> {
    let heading = Block::Heading(words::HISTORY.to_owned());
    if work.visits.is_empty() {
        return vec![heading, Block::Text(Line::plain(words::NO_VISITS))];
    }
    vec![
        heading,
        Block::History(chart(work)),
        Block::Text(Line::quiet(words::HISTORY_NOTE)),
    ]
}

/// When the work changed the station: as left, else at its end, else at its beginning.
fn work_ms(work: &WorkDone) -> i64 {
    let left = work.as_left.as_ref().map(|reading| &reading.act);
    let closed = work.closed.as_ref().map(|closed| &closed.act);
    left.or(closed).unwrap_or(&work.opened).wall_ms
}

fn chart(work: &WorkDone) -> History {
    let unit = work.station.unit;
    let origin = work_ms(work);
    let days = |visit: &PastVisit| days_between(visit.wall_ms, origin);
    let strips = Quantity::ALL.map(|quantity| {
        let visits = work.visits.iter().filter_map(|visit| {
            let typed = visit.entry.get(quantity)?;
            let verdict = judge(&work.station, &visit.entry)
                .get(quantity)
                .map(|judged| judged.verdict);
            Some(Visit {
                days: days(visit),
                value: typed.value_in(unit),
                standing: match verdict {
                    Some(Verdict::Within) => Standing::Within,
                    Some(Verdict::Unsure) => Standing::Unsure,
                    Some(Verdict::Outside) => Standing::Outside,
                    None => Standing::NotJudged,
                },
            })
        });
        Strip {
            title: trade::gauge_capital(quantity).to_owned(),
            band: fixed_band(work, quantity),
            visits: visits.collect(),
        }
    });
    let (first, last) = (work.visits.first(), work.visits.last());
    let range = (
        first.map_or(0.0, days).min(0.0),
        last.map_or(0.0, days).max(0.0),
    );
    History {
        alt: words::history_alt(work.visits.len()),
        unit: unit.symbol().to_owned(),
        work: words::work_line(work.kind),
        days: labels(range, origin, work.opened.utc_offset_minutes),
        strips: strips.into(),
    }
}

/// A band that does not move with the other gauges: inlet by its usual range, outlet by its set
/// point. What is expected between the stages follows the inlet from visit to visit.
fn fixed_band(work: &WorkDone, quantity: Quantity) -> Option<(f64, f64)> {
    let station = &work.station;
    let unit = station.unit;
    match quantity {
        Quantity::Inlet => Some((
            station.inlet_usual.low.value_in(unit),
            station.inlet_usual.high.value_in(unit),
        )),
        Quantity::Interstage => None,
        Quantity::Outlet => {
            let second = &station.second_stage;
            let (set, half) = (second.set_point.to_pressure(), second.band.to_pressure());
            Some(((set - half).in_unit(unit), (set + half).in_unit(unit)))
        }
    }
}

#[allow(
    clippy::cast_precision_loss,
    reason = "milliseconds of any calendar lie far below 2^53"
)]
fn days_between(wall_ms: i64, origin_ms: i64) -> f64 {
    (wall_ms.saturating_sub(origin_ms)) as f64 / DAY_MS
}

/// Dates along the foot, whole steps from the work.
fn labels((from, to): (f64, f64), origin_ms: i64, utc_offset_minutes: i16) -> Vec<(f64, String)> {
    let step = STEPS_DAYS
        .into_iter()
        .find(|step| (to - from) / step <= 8.0)
        .unwrap_or((to - from) / 6.0);
    let mut labels = Vec::new();
    let mut day = (from / step).ceil() * step;
    while day <= to && labels.len() < 32 {
        let text = words::short_date(moved(origin_ms, day), utc_offset_minutes);
        labels.push((day, text));
        day += step;
    }
    labels
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "whole days of a chart, brought within a calendar first"
)]
fn moved(origin_ms: i64, days: f64) -> i64 {
    origin_ms.saturating_add((days.clamp(-1.0e6, 1.0e6) * DAY_MS) as i64)
}
