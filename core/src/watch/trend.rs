//! Slope and its certainty without assuming a distribution: Mann-Kendall and Theil-Sen; and the
//! test that tells a step from a slope.
//!
//! Pairs of values are compared, so one wild value does little harm. Cost grows with the square
//! of the number of values; give it at most some tens (the watch keeps 26).

use crate::verdict::{normal_cdf, normal_quantile};

/// The Mann-Kendall test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannKendall {
    /// Rising less falling pairs.
    pub score: f64,
    /// Variance of the score if there is no trend, ties counted.
    pub variance: f64,
    /// Standardised score with continuity correction; 0 where the variance is 0.
    pub z: f64,
    /// Two-sided probability of such a score by chance, by the normal approximation.
    pub probability: f64,
}

fn ties_term(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let mut total = 0.0;
    #[allow(clippy::float_cmp, reason = "ties are equal records, not near ones")]
    for group in sorted.chunk_by(|a, b| a == b) {
        let t = count(group.len());
        total += t * (t - 1.0) * (2.0 * t + 5.0);
    }
    total
}

fn count(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::from(u32::MAX), f64::from)
}

fn score_variance(values: &[f64]) -> f64 {
    let n = count(values.len());
    (n * (n - 1.0) * (2.0 * n + 5.0) - ties_term(values)) / 18.0
}

/// Tests for a trend.
///
/// # Shape
/// Values in time order; none that is not a number. Fewer than two give a score of zero.
///
/// # Formula
/// ```text
/// S = sum sign(x_j - x_i), i < j;  Var = (n(n-1)(2n+5) - sum t(t-1)(2t+5)) / 18
/// Z = (S -/+ 1) / sqrt(Var),  p = 2 (1 - Phi(|Z|))
/// ```
/// t the sizes of groups of equal values. Ties are found by equality: give the values as recorded.
///
/// # Source
/// Mann 1945, Kendall 1975; check value T-1. For fewer than ten values the normal approximation is
/// rough (n = 4, S = 6: 0.089 instead of the exact 0.083).
#[must_use]
pub fn mann_kendall(values: &[f64]) -> MannKendall {
    let mut score = 0.0;
    for (place, first) in values.iter().enumerate() {
        for second in &values[place + 1..] {
            score += f64::from(i8::from(second > first) - i8::from(second < first));
        }
    }
    let variance = score_variance(values);
    let z = if variance > 0.0 && score != 0.0 {
        (score - f64::signum(score)) / variance.sqrt()
    } else {
        0.0
    };
    MannKendall {
        score,
        variance,
        z,
        probability: 2.0 * normal_cdf(-z.abs()),
    }
}

/// The Theil-Sen slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TheilSen {
    /// Median of the slopes of all pairs.
    pub slope: f64,
    /// Lower and upper confidence limit of the slope.
    pub limits: (f64, f64),
    /// Median of `y - slope x`.
    pub intercept: f64,
}

fn median(sorted: &[f64]) -> Option<f64> {
    let middle = sorted.len() / 2;
    let upper = *sorted.get(middle)?;
    if sorted.len() % 2 == 1 {
        return Some(upper);
    }
    Some(f64::midpoint(*sorted.get(middle.checked_sub(1)?)?, upper))
}

/// Fits a slope to points `(x, y)`.
///
/// # Shape
/// Any order; pairs with equal x count for nothing. `None` without two different x.
///
/// # Formula
/// Limits are the slopes at ranks `(N -/+ z sqrt(Var S)) / 2` of the N sorted slopes, z the normal
/// quantile of `confidence` (0.95 for 95 %), Var S with the ties of x and y taken off.
///
/// # Source
/// Theil 1950, Sen 1968; check value T-1. The joint intercept is the one whose residuals have
/// median zero.
#[must_use]
pub fn theil_sen(points: &[(f64, f64)], confidence: f64) -> Option<TheilSen> {
    let mut slopes = Vec::with_capacity(points.len() * points.len() / 2);
    for (place, (x, y)) in points.iter().enumerate() {
        for (other_x, other_y) in &points[place + 1..] {
            let apart = other_x - x;
            if apart != 0.0 {
                slopes.push((other_y - y) / apart);
            }
        }
    }
    slopes.sort_by(f64::total_cmp);
    let slope = median(&slopes)?;
    let x: Vec<f64> = points.iter().map(|point| point.0).collect();
    let y: Vec<f64> = points.iter().map(|point| point.1).collect();
    let variance = score_variance(&y) - ties_term(&x) / 18.0;
    let reach =
        normal_quantile(0.5 + confidence.clamp(0.0, 0.999_999) / 2.0) * variance.max(0.0).sqrt();
    let all = count(slopes.len());
    let rank = |place: f64| slopes[rank_index(place, slopes.len())];
    let limits = (
        rank(((all - reach) / 2.0).round_ties_even() - 1.0),
        rank(f64::midpoint(all, reach).round_ties_even()),
    );
    let mut rest: Vec<f64> = points.iter().map(|(x, y)| y - slope * x).collect();
    rest.sort_by(f64::total_cmp);
    Some(TheilSen {
        slope,
        limits,
        intercept: median(&rest)?,
    })
}

fn rank_index(place: f64, len: usize) -> usize {
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to zero and to the list"
    )]
    let index = place.max(0.0) as usize;
    index.min(len.saturating_sub(1))
}

/// The Pettitt test for one change of level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pettitt {
    /// Values before the most likely change.
    pub before: usize,
    /// The test's statistic K.
    pub statistic: f64,
    /// Approximate probability of such a statistic by chance, at most 1.
    pub probability: f64,
}

/// Looks for the most likely single change of level; `None` for fewer than two values.
///
/// # Formula
/// ```text
/// U_k = 2 sum_(i<=k) rank_i - k (n + 1),  K = max |U_k|,  p = 2 exp(-6 K^2 / (n^3 + n^2))
/// ```
/// Equal values share their middle rank.
///
/// # Source
/// Pettitt 1979, Applied Statistics 28:126; check value T-2.
#[must_use]
pub fn pettitt(values: &[f64]) -> Option<Pettitt> {
    let n = count(values.len());
    let rank = |value: f64| {
        let below = values.iter().filter(|other| **other < value).count();
        #[allow(clippy::float_cmp, reason = "ties are equal records, not near ones")]
        let equal = values.iter().filter(|other| **other == value).count();
        count(below) + f64::midpoint(count(equal), 1.0)
    };
    let (mut ranks, mut best) = (0.0, None::<Pettitt>);
    for (place, value) in values.iter().enumerate().take(values.len().checked_sub(1)?) {
        ranks += rank(*value);
        let before = place + 1;
        let statistic = (2.0 * ranks - count(before) * (n + 1.0)).abs();
        if best.is_none_or(|best| statistic > best.statistic) {
            let power = -6.0 * statistic * statistic / (n * n * n + n * n);
            best = Some(Pettitt {
                before,
                statistic,
                probability: (2.0 * power.exp()).min(1.0),
            });
        }
    }
    best
}
