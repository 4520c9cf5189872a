//! When a quantity leaves its band if it goes on as it does.
//!
//! A sentence for people is made elsewhere; here are the dates. Nothing is forecast from a step,
//! from too few visits, or from a trend that chance explains.

use chrono::{DateTime, TimeDelta, Utc};

use super::trend::{TheilSen, mann_kendall, pettitt, theil_sen};

/// Fewest visits a forecast rests on.
const VISITS_LEAST: usize = 6;

/// A trend less certain than this is not told.
const CHANCE_MOST: f64 = 0.05;

/// Confidence of the interval.
const CONFIDENCE: f64 = 0.90;

/// Nothing is said about times further off than this.
pub(crate) const HORIZON_WEEKS: f64 = 104.0;

/// How a quantity moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// The slope and its 90 % limits, in the quantity's measure per week.
    pub slope: TheilSen,
    /// Probability that such a trend comes by chance (Mann-Kendall).
    pub chance: f64,
    /// Visits it rests on.
    pub visits: usize,
    /// Weeks of the first and of the last of them.
    pub weeks: (f64, f64),
    /// Where the fitted line is at the last visit.
    pub fitted: f64,
    /// Standard deviation of single visits around the line, from the median of their distances.
    pub scatter: f64,
    /// Whether one change of level explains the visits better than the line does: a step looks
    /// like a trend, and nothing is to be foreseen from it.
    pub is_step: bool,
}

impl Trend {
    /// Whether there is a slope that chance hardly explains.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.chance <= CHANCE_MOST && self.slope.slope != 0.0 && !self.is_step
    }
}

/// A normal distribution's standard deviation over the median distance from its middle.
const DEVIATION_PER_MEDIAN_DISTANCE: f64 = 1.4826;

/// Fits a line to points `(weeks, value)` in time order; `None` for fewer than six, or where all
/// were taken at one moment.
#[must_use]
pub fn trend(points: &[(f64, f64)]) -> Option<Trend> {
    let visits = points.len();
    if visits < VISITS_LEAST {
        return None;
    }
    let values: Vec<f64> = points.iter().map(|point| point.1).collect();
    let slope = theil_sen(points, CONFIDENCE)?;
    let weeks = (points.first()?.0, points.last()?.0);
    let line = |weeks: f64| slope.intercept + slope.slope * weeks;
    let mut distances: Vec<f64> = (points.iter())
        .map(|(weeks, value)| (value - line(*weeks)).abs())
        .collect();
    let off_line: f64 = distances.iter().sum();
    distances.sort_by(f64::total_cmp);
    Some(Trend {
        is_step: off_step(&values).is_some_and(|off_step| off_step < off_line),
        slope,
        chance: mann_kendall(&values).probability,
        visits,
        weeks,
        fitted: line(weeks.1),
        scatter: DEVIATION_PER_MEDIAN_DISTANCE * distances[visits / 2],
    })
}

/// How far the values lie, in sum, from the two levels before and after their most likely change;
/// `None` where the change test sees none (T-1, case G, and T-2 are its check values).
fn off_step(values: &[f64]) -> Option<f64> {
    let change = pettitt(values).filter(|change| change.probability <= CHANCE_MOST)?;
    let off = |part: &[f64]| {
        let mut sorted = part.to_vec();
        sorted.sort_by(f64::total_cmp);
        let middle = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
        part.iter().map(|value| (value - middle).abs()).sum::<f64>()
    };
    let (before, after) = values.split_at_checked(change.before)?;
    Some(off(before) + off(after))
}

/// When a quantity leaves its band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// Whether it leaves upwards.
    pub is_upward: bool,
    /// The most likely time.
    pub leaves_at: DateTime<Utc>,
    /// With the steepest slope that the readings allow.
    pub earliest: DateTime<Utc>,
    /// With the flattest; `None` when that takes longer than two years.
    pub latest: Option<DateTime<Utc>>,
    /// The slope and its limits, in the quantity's measure per week.
    pub slope: TheilSen,
    /// Probability that such a trend comes by chance.
    pub chance: f64,
    /// Visits it rests on.
    pub visits: usize,
}

/// Looks ahead from the points `(weeks, value)` in time order, the last of which was taken at `now`.
///
/// # Units
/// Weeks from any origin; values and `band` (low, high) in the same measure.
///
/// # Formula
/// `t = (edge - fitted value now) / slope`, with the Theil-Sen slope for the likely time and its
/// 90 % limits for the interval.
#[must_use]
pub fn forecast(points: &[(f64, f64)], band: (f64, f64), now: DateTime<Utc>) -> Option<Forecast> {
    let found = trend(points)?;
    if !found.is_clear() {
        return None;
    }
    let Trend {
        slope,
        chance,
        visits,
        fitted,
        ..
    } = found;
    let is_upward = slope.slope > 0.0;
    let room = if is_upward {
        band.1 - fitted
    } else {
        fitted - band.0
    };
    if room.is_nan() || room <= 0.0 {
        // It has left already: that is a verdict, not a forecast.
        return None;
    }
    let (flat, steep) = if is_upward {
        (slope.limits.0, slope.limits.1)
    } else {
        (-slope.limits.1, -slope.limits.0)
    };
    let after = |weekly: f64| {
        let weeks = room / weekly;
        (weekly > 0.0 && weeks <= HORIZON_WEEKS)
            .then(|| later(now, weeks))
            .flatten()
    };
    Some(Forecast {
        is_upward,
        leaves_at: after(slope.slope.abs())?,
        earliest: after(steep)?,
        latest: after(flat),
        slope,
        chance,
        visits,
    })
}

/// The moment so many weeks after another; `None` beyond the calendar.
pub(super) fn later(now: DateTime<Utc>, weeks: f64) -> Option<DateTime<Utc>> {
    #[allow(
        clippy::cast_possible_truncation,
        reason = "the conversion ends at the limits of i64, which the calendar refuses"
    )]
    let seconds = (weeks * 604_800.0) as i64;
    now.checked_add_signed(TimeDelta::try_seconds(seconds)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> DateTime<Utc> {
        DateTime::UNIX_EPOCH + TimeDelta::days(20_000)
    }

    #[test]
    fn a_steady_creep_leaves_its_band_when_the_line_does() {
        let points: Vec<(f64, f64)> = (0..12)
            .map(|week| (f64::from(week), 0.004 * f64::from(week)))
            .collect();
        let found = forecast(&points, (-0.1, 0.1), now()).expect("a clear trend");
        // 0.1 - 0.044 = 0.056 at 0.004 a week: 14 weeks.
        assert!(found.is_upward);
        assert!((found.leaves_at - now()).num_days().abs_diff(98) <= 1);
        assert!(found.earliest <= found.leaves_at && Some(found.leaves_at) <= found.latest);
    }

    #[test]
    fn chance_few_visits_and_what_is_out_already_give_no_forecast() {
        let flat = [4.0, 4.1, 3.9, 4.0, 4.1, 3.9, 4.0, 4.1, 3.9, 4.0];
        let flat: Vec<(f64, f64)> = (0..).map(f64::from).zip(flat).collect();
        assert_eq!(forecast(&flat, (3.0, 5.0), now()), None);
        let few: Vec<(f64, f64)> = (0..5).map(|i| (f64::from(i), f64::from(i))).collect();
        assert_eq!(forecast(&few, (-10.0, 10.0), now()), None);
        let out: Vec<(f64, f64)> = (0..9).map(|i| (f64::from(i), f64::from(i))).collect();
        assert_eq!(forecast(&out, (-1.0, 5.0), now()), None);
    }

    #[test]
    fn t_1_g_nothing_is_foreseen_from_a_step_that_looks_like_a_trend() {
        let step = |week: u32| if week < 8 { 4.0 } else { 4.5 };
        let wobble = [0.01, -0.02, 0.015, -0.01, 0.02, -0.015, 0.0];
        let points: Vec<(f64, f64)> = (0..16_u32)
            .map(|week| (f64::from(week), step(week) + wobble[week as usize % 7]))
            .collect();
        let found = trend(&points).expect("enough visits");
        assert!(found.chance < CHANCE_MOST && found.is_step && !found.is_clear());
        assert_eq!(forecast(&points, (3.0, 6.0), now()), None);
        let creep: Vec<(f64, f64)> = (points.iter().enumerate())
            .map(|(place, (weeks, _))| (*weeks, 4.0 + 0.03 * weeks + wobble[place % 7]))
            .collect();
        let found = trend(&creep).expect("enough visits");
        assert!(!found.is_step && found.is_clear());
    }

    #[test]
    fn readings_of_one_moment_give_no_slope() {
        let same: Vec<(f64, f64)> = (0..9).map(|i| (1.0, f64::from(i))).collect();
        assert_eq!(forecast(&same, (-100.0, 100.0), now()), None);
    }
}
