//! How plausible an entry is as a good reading: healthy, or bad news that is true.

use super::dials::{Dials, ORDER, Seen};
use super::predict::Model;
use crate::station::Quantity;
use crate::verdict::normal_cdf;

/// Probability per visit that something has truly changed since the last one, by what moved
/// (common practice, no source; they only weigh bad news against slips).
const MOVED_ONE: f64 = 0.005;
const WIDE_OPEN: f64 = 0.001;
const MOVED_TWO: f64 = 0.000_2;
const MOVED_ALL: f64 = 0.000_05;

/// Typical size of a true change, in natural logarithms (common practice, no source).
const CHANGE_SIZE: f64 = 0.08;

/// What a wide-open second stage takes of the interstage pressure, at the most usual flows, as a
/// share of it (common practice, no source).
const WIDE_OPEN_LOSS: f64 = 0.2;

/// Share of true changes that may be of any size.
const CHANGE_ANY: f64 = 0.02;

/// The log probability of what a gauge cannot show.
const IMPOSSIBLE: f64 = -25.0;

/// The log density of an entry as a good reading, over the gauges that were read.
///
/// # Formula
///
/// ```text
/// f(x) = limits(x) sum over patterns of  P(pattern)  prod over gauges of  t(x_i | before) or b(x_i)
/// ```
///
/// A pattern says which gauges have truly moved: those follow the broad density b (Laplace in the
/// logarithm, with a small uniform part), the others their predictive density t. A wrong inlet
/// gauge moves the inlet alone and leaves the interstage where it was; a second stage wide open
/// brings the outlet near the interstage.
pub(super) fn ln_good(dials: &Dials, model: &Model, seen: &Seen) -> f64 {
    let inlet = seen.at(Quantity::Inlet);
    let one = |quantity, inlet| Densities::of(dials, model, seen, quantity, inlet);
    let first = one(Quantity::Inlet, None);
    let between = one(Quantity::Interstage, inlet);
    let last = one(Quantity::Outlet, inlet);
    let (t1, t2, t3) = (first.steady, between.steady, last.steady);
    let (b1, b2, b3) = (first.moved, between.moved, last.moved);
    let t2_alone = match inlet {
        Some(_) => one(Quantity::Interstage, None).steady,
        None => t2,
    };
    let open3 = wide_open(dials, seen).unwrap_or(b3);
    let patterns = [
        (1.0 - 4.0 * MOVED_ONE, t1 + t2 + t3),
        (MOVED_ONE, b1 + t2 + t3),
        (MOVED_ONE, t1 + b2 + t3),
        (MOVED_ONE, t1 + t2 + b3),
        (MOVED_ONE, b1 + t2_alone + t3),
        (WIDE_OPEN, t1 + t2 + open3),
        (MOVED_TWO, b1 + b2 + t3),
        (MOVED_TWO, b1 + t2 + b3),
        (MOVED_TWO, t1 + b2 + b3),
        (MOVED_ALL, b1 + b2 + b3),
    ];
    ln_weighted_sum(&patterns) + limits(dials, seen)
}

/// The greatest value [`ln_good`] can about take for the gauges that were read.
pub(super) fn ln_best(model: &Model, seen: &Seen, inlet: Option<f64>) -> f64 {
    Quantity::ALL
        .into_iter()
        .filter(|&quantity| seen.at(quantity).is_some())
        .filter_map(|quantity| model.of(quantity, inlet))
        .map(|predicted| predicted.ln(predicted.centre))
        .sum()
}

/// The two log densities of one gauge; both zero when it was not read.
struct Densities {
    steady: f64,
    moved: f64,
}

impl Densities {
    fn of(
        dials: &Dials,
        model: &Model,
        seen: &Seen,
        quantity: Quantity,
        inlet: Option<f64>,
    ) -> Self {
        let Some(x) = seen.at(quantity) else {
            return Self {
                steady: 0.0,
                moved: 0.0,
            };
        };
        let uniform = dials.ln_uniform(quantity);
        let Some(predicted) = model.of(quantity, inlet) else {
            return Self {
                steady: uniform,
                moved: uniform,
            };
        };
        let mut steady = predicted.ln(x);
        if quantity == Quantity::Outlet && dials.starves(seen) {
            // Wide open for want of pressure: anything from nothing to the interstage pressure.
            steady = ln_weighted_sum(&[(0.5, steady), (0.5, uniform)]);
        }
        let moved = if x > 0.0 && predicted.centre > 0.0 {
            let change = (x / predicted.centre).ln().abs() / CHANGE_SIZE;
            let near = -change - (2.0 * CHANGE_SIZE * x).ln();
            ln_weighted_sum(&[(1.0 - CHANGE_ANY, near), (CHANGE_ANY, uniform)])
        } else {
            CHANGE_ANY.ln() + uniform
        };
        Self { steady, moved }
    }
}

/// The log density of the outlet with the second stage wide open: from a little below the
/// interstage pressure up to it, with edges as soft as the two gauges' errors.
fn wide_open(dials: &Dials, seen: &Seen) -> Option<f64> {
    let (supply, x) = (seen.at(Quantity::Interstage)?, seen.at(Quantity::Outlet)?);
    let rise = dials.rise(seen, Quantity::Interstage, Quantity::Outlet)?;
    let width = (WIDE_OPEN_LOSS * supply).max(1.0);
    let below = (supply - width - x).max(0.0) / width;
    let above = rise.over_uncertainty.max(0.0);
    Some(-width.ln() - 0.5 * (above * above + 16.0 * below * below))
}

/// What dials and the order of the stages forbid, as a log factor.
fn limits(dials: &Dials, seen: &Seen) -> f64 {
    let mut ln = if dials.reach_all(seen) {
        0.0
    } else {
        IMPOSSIBLE
    };
    for (before, after) in ORDER {
        // A fall of many uncertainties is certain enough to skip the tail.
        match dials.rise(seen, before, after) {
            Some(rise) if rise.over_uncertainty > -6.0 => {
                ln += normal_cdf(-rise.over_uncertainty).ln().max(IMPOSSIBLE);
            }
            _ => {}
        }
    }
    ln
}

/// `ln(sum of weight * exp(value))`, without overflow.
pub(super) fn ln_weighted_sum(terms: &[(f64, f64)]) -> f64 {
    let greatest = terms
        .iter()
        .fold(f64::NEG_INFINITY, |most, &(_, value)| most.max(value));
    if greatest == f64::NEG_INFINITY {
        return greatest;
    }
    let sum: f64 = terms
        .iter()
        .map(|&(weight, value)| weight * (value - greatest).exp())
        .sum();
    greatest + sum.ln()
}
