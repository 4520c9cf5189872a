//! Recent visits seen from the baseline: level, spread, and how well a change explains them.
//!
//! The statistics of the watch; what is tried and weighed is in `evidence`.

use super::channel::{PRIOR_HALF_DEGREES, Sums};
use super::chart::Cusum;
use super::whiten::{Fresh, Whitener};

/// Level and spread as far as a number of visits show them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Fit {
    /// The level.
    pub level: f64,
    /// Weight of the level: its variance is `variance() / ones`.
    pub ones: f64,
    /// Sum of squares around the level, prior included; above zero.
    pub squares: f64,
    /// Half the degrees of freedom.
    pub half_degrees: f64,
    /// Visits counted.
    pub count: f64,
}

impl Fit {
    /// Variance from visit to visit.
    pub fn variance(&self) -> f64 {
        self.squares / (2.0 * self.half_degrees)
    }
}

/// The allowance of the CUSUM that screens visits, in standard deviations.
const UNREST_ALLOWANCE: f64 = 0.5;

/// The shape of a change over time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// All at once, and then it stays.
    Step,
    /// A little each week.
    Ramp,
    /// At one visit only.
    Once,
}

/// How strongly a change of unit size would show (`size`) and does show (`pull`).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Response {
    pub size: f64,
    pub pull: f64,
}

/// Recent visits seen from the baseline.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct View {
    pub weeks: Vec<f64>,
    pub fresh: Vec<Fresh>,
    /// The assumption about the memory under which they are seen.
    pub whitener: Whitener,
    pub settled: Sums,
    /// Prior sum of squares around the level.
    pub square_start: f64,
    /// Prior weight of the level.
    pub weight: f64,
    /// Baseline from all visits.
    pub whole: Fit,
}

/// A view under one assumption about the memory of its quantity.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Weighed {
    /// Logarithm of how probable the assumption is if nothing changed, by all visits.
    pub ln_weight: f64,
    pub view: View,
}

impl View {
    /// Baseline from the settled visits and the first `upto` recent ones.
    ///
    /// # Formula
    /// ```text
    /// level = sum(u g) / (k + sum g^2),   squares = 2 a s^2 + sum u^2 - level^2 (k + sum g^2)
    /// ```
    /// u, g the whitened value and one; s the starting spread, a its half degrees of freedom,
    /// k = (s / starting spread of the level)^2. The level starts from zero.
    ///
    /// # Source
    /// Normal linear model with conjugate prior; `core/FORMULAS.md`.
    pub fn fit(&self, upto: usize) -> Fit {
        let mut sums = self.settled;
        for fresh in self.fresh.iter().take(upto) {
            sums.add(fresh);
        }
        let ones = sums.ones + self.weight;
        let level = sums.cross / ones;
        Fit {
            level,
            ones,
            squares: (self.square_start + sums.squares - level * level * ones)
                .max(self.square_start * 1e-6),
            half_degrees: PRIOR_HALF_DEGREES + sums.count / 2.0,
            count: sums.count,
        }
    }

    /// Logarithm of how well the assumption explains all visits, but for what is the same under each.
    pub fn support(&self) -> f64 {
        let recent = self.fresh.iter().filter(|fresh| fresh.is_seen);
        let ln_variance = self.settled.ln_variance + recent.map(|f| f.variance.ln()).sum::<f64>();
        0.5 * (self.weight / self.whole.ones).ln()
            - 0.5 * ln_variance
            - self.whole.half_degrees * self.whole.squares.ln()
    }

    /// Spread of a lasting change: that of the average of many visits, times the root of their
    /// number.
    ///
    /// # Formula
    /// `s sqrt(w + (1 - w)(1 + c)/(1 - c))`, w the white share, c the weekly correlation.
    pub fn lasting_spread(&self) -> f64 {
        let Whitener {
            weekly_correlation,
            white_share,
        } = self.whitener;
        let wander = (1.0 + weekly_correlation) / (1.0 - weekly_correlation);
        (self.whole.variance() * (white_share + (1.0 - white_share) * wander)).sqrt()
    }

    /// The larger of the two sums of a CUSUM over the recent visits, in standard deviations: a quick
    /// look whether anything may have changed.
    pub fn unrest(&self) -> f64 {
        let deviation = self.whole.variance().sqrt();
        let mut chart = Cusum::new(UNREST_ALLOWANCE, f64::INFINITY);
        for fresh in self.fresh.iter().filter(|fresh| fresh.is_seen) {
            chart.take((fresh.value - fresh.one * self.whole.level) / deviation);
        }
        chart.larger()
    }

    /// The first recent visit at or after `weeks`.
    pub fn index_of(&self, weeks: f64) -> usize {
        self.weeks
            .iter()
            .position(|at| *at >= weeks)
            .unwrap_or(self.weeks.len())
    }

    /// Standard deviation of the newest visit's prediction.
    pub fn newest_spread(&self) -> f64 {
        let share = self
            .fresh
            .last()
            .filter(|fresh| fresh.is_seen)
            .map_or(1.0, |f| f.variance);
        (self.whole.variance() * share).sqrt()
    }

    /// When a change first seen at recent visit `from` began: halfway back to the visit before,
    /// but not more than two weeks back.
    pub fn onset_weeks(&self, from: usize) -> f64 {
        let gap = match from.checked_sub(1) {
            Some(before) => self.weeks[from] - self.weeks[before],
            None => 1.0,
        };
        self.weeks[from] - 0.5 * gap.clamp(0.0, 4.0)
    }

    /// The responses to changes of `shapes` first seen at recent visit `from`.
    ///
    /// # Formula
    /// ```text
    /// size = sum h^2 - (sum h g)^2 / G,   pull = sum h u - level sum h g
    /// ```
    /// h the whitened shape (per week for a ramp), G and level those of all visits: the unknown
    /// level is integrated out.
    pub fn responses<const N: usize>(&self, from: usize, shapes: [Shape; N]) -> [Response; N] {
        let onset = self.onset_weeks(from);
        // Squares, pull, sum with one, and the part of the shape that is foreseen as wander.
        let mut sums = [(0.0, 0.0, 0.0, 0.0); N];
        for (index, fresh) in self.fresh.iter().enumerate().skip(from) {
            let per_root = 1.0 / fresh.variance.sqrt();
            for (shape, (squares, pull, cross, foreseen)) in shapes.iter().zip(&mut sums) {
                *foreseen *= if index == from { 0.0 } else { fresh.kept };
                if !fresh.is_seen {
                    continue;
                }
                let height = match shape {
                    Shape::Step => 1.0,
                    Shape::Ramp => self.weeks[index] - onset,
                    Shape::Once => f64::from(u8::from(index == from)),
                };
                let off = height - *foreseen;
                *foreseen += fresh.gain * off;
                let seen = off * per_root;
                *squares += seen * seen;
                *pull += seen * fresh.value;
                *cross += seen * fresh.one;
            }
        }
        sums.map(|(squares, pull, cross, _)| Response {
            size: (squares - cross * cross / self.whole.ones).max(0.0),
            pull: pull - cross * self.whole.level,
        })
    }

    /// Logarithm of how much better a change by `amount` explains the visits than none.
    ///
    /// # Formula
    /// `-v ln(1 - (2 d B - d^2 A) / S)`, v half the degrees of freedom, d the amount, A the size
    /// and B the pull of the response, S the squares: the ratio of two Student densities.
    pub fn ln_ratio(&self, response: Response, amount: f64) -> f64 {
        let gain = amount * (2.0 * response.pull - amount * response.size);
        let left = (1.0 - gain / self.whole.squares).max(1e-12);
        -self.whole.half_degrees * left.ln()
    }

    /// The largest [`View::ln_ratio`] that any amount reaches.
    pub fn ln_ratio_bound(&self, response: Response) -> f64 {
        if response.size <= 0.0 {
            return 0.0;
        }
        self.ln_ratio(response, response.pull / response.size)
    }

    /// The newest value's distance from what was foreseen, over its standard deviation, judged by
    /// the first `upto` recent visits; `None` where the newest visit has no value.
    pub fn score(&self, upto: usize) -> Option<f64> {
        let newest = self.fresh.last().filter(|fresh| fresh.is_seen)?;
        let fit = self.fit(upto.min(self.fresh.len() - 1));
        let variance = fit.variance() * (1.0 + newest.one * newest.one / fit.ones);
        Some((newest.value - newest.one * fit.level) / variance.sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::super::channel::Channel;
    use super::super::setting::Prior;

    /// Level and spread that the watch finds in values without memory, its priors next to nothing.
    fn level_and_spread(values: impl IntoIterator<Item = f64>) -> (f64, f64) {
        let mut channel = Channel::new(Prior {
            spread: 1e-6,
            level: 1e6,
            white_share: 1.0,
        });
        // Without memory: the first assumption.
        channel.assumptions.truncate(1);
        for (week, value) in (0_u32..).zip(values) {
            channel.take(f64::from(week), Some(value));
        }
        channel.best = 0;
        let fit = channel.view().expect("it was seen").whole;
        // The published spread has n - 1 below the squares, the watch n and its prior's degrees.
        let spread = (fit.squares / (fit.count - 1.0)).sqrt();
        (fit.level, spread)
    }

    /// NIST `StRD`, univariate `NumAcc2`: 1.2, then 500 times 1.1 and 1.3. Certified mean 1.2 and
    /// standard deviation 0.1. What the watch sees are logarithms of ratios near zero, so that the
    /// offsets of a million and more of `NumAcc3` and `NumAcc4` cannot come.
    #[test]
    fn r_2_numacc2_level_and_spread_of_the_watch() {
        let pairs = (0..500).flat_map(|_| [1.1, 1.3]);
        let (level, spread) = level_and_spread(std::iter::once(1.2).chain(pairs));
        assert!((level - 1.2).abs() < 1e-12, "{level}");
        assert!((spread - 0.1).abs() < 1e-9, "{spread}");
    }

    /// The largest offset that can come: a pressure read as half a step of a scale of a thousand
    /// steps and more is ln 1e4 off, about 10.
    #[test]
    fn r_2_as_far_from_zero_as_a_logarithm_of_pressures_comes() {
        let pairs = (0..500).flat_map(|_| [10.1, 10.3]);
        let (level, spread) = level_and_spread(std::iter::once(10.2).chain(pairs));
        assert!((level - 10.2).abs() < 1e-12, "{level}");
        assert!((spread - 0.1).abs() < 1e-8, "{spread}");
    }
}
