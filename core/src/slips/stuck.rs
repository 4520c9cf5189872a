//! The same value as ever: runs of equal readings that chance does not explain.

use super::PastReading;
use super::predict::PAST_MAX;
use super::weigh::Bench;
use crate::station::{Quantity, defaults};
use crate::units::Typed;
use crate::verdict::Entry;

/// A run is asked about when chance would bring it less often than this.
const RUN_PROBABILITY: f64 = 1.0e-6;

/// Readings closer together than this are one visit: reading again is no repeat.
const ONE_VISIT_MS: u64 = 12 * 3_600_000;

/// How strongly the expected share of repeats holds, in pairs of visits.
const PRIOR_PAIRS: f64 = 4.0;

/// What shows the same value as ever.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Same {
    /// One gauge.
    Gauge(Quantity),
    /// All three, together less likely than any one by itself.
    All,
}

/// What shows the same value as on too many visits for chance.
///
/// Asked once when a run becomes unlikely, and again whenever it has doubled.
pub(super) fn same_as_ever(bench: &Bench, entry: &Entry) -> Option<Same> {
    let visits = separate_visits(bench.past);
    let runs = Quantity::ALL.map(|quantity| run(bench, &visits, entry, quantity));
    let single = Quantity::ALL
        .into_iter()
        .zip(runs)
        .find(|(_, run)| run.is_some_and(|run| asked_at(run.chance, run.repeats)));
    if let Some((quantity, _)) = single {
        return Some(Same::Gauge(quantity));
    }
    let [Some(a), Some(b), Some(c)] = runs else {
        return None;
    };
    let together = a.repeats.min(b.repeats).min(c.repeats);
    asked_at(a.chance * b.chance * c.chance, together).then_some(Same::All)
}

/// Whether a run of `repeats`, each with probability `chance`, is to be asked about now.
fn asked_at(chance: f64, repeats: u32) -> bool {
    let first = (RUN_PROBABILITY.ln() / chance.ln()).ceil().max(2.0);
    let mut at = first;
    while at < f64::from(repeats) {
        at *= 2.0;
    }
    // Beyond the visits looked at, a run cannot be counted any further.
    repeats > 0 && f64::from(repeats) >= at && usize::try_from(repeats).is_ok_and(|n| n < PAST_MAX)
}

#[derive(Clone, Copy)]
struct Run {
    /// How often the value has come again, this entry included.
    repeats: u32,
    /// Probability that a healthy reading repeats the one before.
    chance: f64,
}

/// The last visits, one reading each.
fn separate_visits(past: &[PastReading]) -> Vec<PastReading> {
    let mut visits: Vec<PastReading> = Vec::new();
    for reading in &past[past.len().saturating_sub(PAST_MAX)..] {
        match visits.last_mut() {
            Some(last) if reading.taken_at_ms.abs_diff(last.taken_at_ms) < ONE_VISIT_MS => {
                *last = *reading;
            }
            _ => visits.push(*reading),
        }
    }
    visits
}

fn run(bench: &Bench, visits: &[PastReading], entry: &Entry, quantity: Quantity) -> Option<Run> {
    let now = entry.get(quantity)?.to_pressure();
    let values: Vec<_> = visits
        .iter()
        .filter_map(|visit| visit.entry.get(quantity))
        .map(Typed::to_pressure)
        .collect();
    let same = values
        .iter()
        .rev()
        .take_while(|&&value| value == now)
        .count();
    // The pairs before the run tell how often this gauge repeats when nothing is wrong.
    let before = &values[..values.len() - same];
    let pairs = before.len().saturating_sub(1);
    let repeated = before.windows(2).filter(|pair| pair[0] == pair[1]).count();
    let inlet = bench.dials.seen(entry).at(Quantity::Inlet);
    let predicted = bench.model.of(quantity, inlet)?;
    let gauge = bench.station.gauge(quantity);
    let read = gauge.division_pressure().as_f64_pa() * defaults::READ_STEP_DIVISIONS;
    let typed = entry.get(quantity)?;
    let written = typed.unit.to_pa(0.1_f64.powi(i32::from(typed.decimals())));
    // Two draws from a normal distribution of scale s fall in one cell of width d with d / (s sqrt(4 pi)).
    let expected = read.max(written) / (predicted.scale * 3.545);
    let chance =
        (count(repeated) + PRIOR_PAIRS * expected.clamp(0.02, 0.9)) / (count(pairs) + PRIOR_PAIRS);
    Some(Run {
        repeats: u32::try_from(same).unwrap_or(u32::MAX),
        chance: chance.clamp(0.02, 0.9),
    })
}

#[allow(clippy::cast_precision_loss, reason = "at most PAST_MAX")]
fn count(n: usize) -> f64 {
    n as f64
}
