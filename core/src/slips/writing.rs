//! How values are written at this station: decimal places, and the steps the dial is read to.
//!
//! People read a needle to a fifth of a division, so the values of one gauge lie on a grid; a
//! mistyped number mostly falls off it. How firmly a station keeps to its grid is learned from its
//! past; without a past nothing is concluded.

use super::PastReading;
use super::predict::PAST_MAX;
use crate::station::{Quantity, Station, defaults};
use crate::units::{Typed, Unit};
use crate::verdict::Entry;

/// What each decimal place beyond the usual ones counts against a value, as a log probability
/// (common practice, no source).
const EXTRA_PLACE: f64 = -3.0;

/// What each place fewer counts against it: trailing zeros are often left off.
const FEWER_PLACE: f64 = -0.5;

/// How strongly "nothing known of a grid" holds, in visits.
const PRIOR_VISITS: f64 = 2.0;

/// Grids so fine that nearly every written value lies on one tell nothing.
const COVER_MAX: f64 = 0.6;

/// The writing habits at one station.
#[derive(Debug, Clone)]
pub(super) struct Writing([Habit; 3]);

#[derive(Debug, Clone, Copy)]
struct Habit {
    unit: Unit,
    /// Decimal places usually written.
    places: u8,
    /// Lower end of the scale and step of the grid, pascals; the step is zero where unknown.
    start_pa: f64,
    step_pa: f64,
    /// Share of past values on the grid; `None` without a past.
    on_grid: Option<f64>,
}

impl Writing {
    /// Learns from the last visits.
    pub(super) fn new(station: &Station, past: &[PastReading]) -> Self {
        let past = &past[past.len().saturating_sub(PAST_MAX)..];
        Self(Quantity::ALL.map(|quantity| {
            let gauge = station.gauge(quantity);
            let values = || {
                past.iter()
                    .filter_map(move |visit| visit.entry.get(quantity))
            };
            let unit = values()
                .next_back()
                .map_or(gauge.unit(), |typed| typed.unit);
            let mut written: Vec<u8> = values()
                .filter(|typed| typed.unit == unit)
                .map(Typed::decimals)
                .collect();
            written.sort_unstable();
            // Trailing zeros are left off often, places are added by slips seldom.
            let places = written
                .get(written.len() * 3 / 4)
                .map_or_else(|| gauge.decimals(), |&places| places);
            let division = gauge.division_pressure().as_f64_pa().max(0.0);
            let mut habit = Habit {
                unit,
                places,
                start_pa: gauge.low.to_pressure().as_f64_pa(),
                step_pa: division * defaults::READ_STEP_DIVISIONS,
                on_grid: None,
            };
            let (mut on, mut seen, mut by_chance) = (0.0, 0.0, 0.0);
            for typed in values() {
                if let Some((lies_on, cover)) = habit.grid(typed) {
                    on += f64::from(u8::from(lies_on));
                    by_chance += cover;
                    seen += 1.0;
                }
            }
            if seen > 0.0 {
                let cover = by_chance / seen;
                habit.on_grid = Some((on + PRIOR_VISITS * cover) / (seen + PRIOR_VISITS));
            }
            habit
        }))
    }

    /// The decimal places each gauge is usually written with.
    pub(super) fn places(&self) -> [u8; 3] {
        self.0.map(|habit| habit.places)
    }

    /// How well an entry fits these habits, as a log likelihood ratio against any writing at all.
    pub(super) fn ln(&self, entry: &Entry) -> f64 {
        self.sum(entry, Habit::ln)
    }

    /// The best the gauges read in `entry` could reach.
    pub(super) fn ln_best(&self, entry: &Entry) -> f64 {
        self.sum(entry, |habit, typed| habit.ln_grid(typed, Some(true)))
    }

    fn sum(&self, entry: &Entry, one: impl Fn(&Habit, Typed) -> f64) -> f64 {
        Quantity::ALL
            .into_iter()
            .filter_map(|quantity| Some(one(&self.0[quantity.index()], entry.get(quantity)?)))
            .sum()
    }
}

impl Habit {
    fn ln(&self, typed: Typed) -> f64 {
        let mut ln = self.ln_grid(typed, None);
        if typed.unit == self.unit {
            let (written, usual) = (f64::from(typed.decimals()), f64::from(self.places));
            ln += EXTRA_PLACE * (written - usual).max(0.0);
            ln += FEWER_PLACE * (usual - written).clamp(0.0, 3.0);
        }
        ln
    }

    fn ln_grid(&self, typed: Typed, assume: Option<bool>) -> f64 {
        let (Some(share), Some((lies_on, cover))) = (self.on_grid, self.grid(typed)) else {
            return 0.0;
        };
        if assume.unwrap_or(lies_on) {
            (share / cover).ln()
        } else {
            ((1.0 - share) / (1.0 - cover)).ln()
        }
    }

    /// Whether a value lies on the grid as nearly as it can be written, and the share of writable
    /// values that do; `None` where the grid is unknown or too fine to tell.
    fn grid(&self, typed: Typed) -> Option<(bool, f64)> {
        let places = if typed.unit == self.unit {
            typed.decimals().max(self.places)
        } else {
            typed.decimals()
        };
        let written = typed.unit.to_pa(0.1_f64.powi(i32::from(places)));
        let cover = written / self.step_pa;
        if !(cover > 0.0 && cover < COVER_MAX) {
            return None;
        }
        let steps = (typed.unit.to_pa(typed.value()) - self.start_pa) / self.step_pa;
        let off = (steps - steps.round()).abs() * self.step_pa;
        // A pascal for the rounding of what was typed.
        Some((off <= 0.501 * written + 1.0, cover))
    }
}
