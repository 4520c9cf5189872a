//! Takes the memory out of a wandering quantity.
//!
//! The inlet of a station wanders: a high week is followed by a high week. Charts and sums of
//! squares need independent values, so each visit is reduced to what was not to be foreseen.
//! Not for smoothing or for showing.

/// What a filter remembers between visits, for unit total variance.
///
/// The model is `value = level + wander + noise`, the wander with correlation `c` over a week
/// (Ornstein-Uhlenbeck), the noise without memory. Because all is linear, the same filter is run
/// on the values and on the number one, which is what a level of one would look like.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Memory {
    /// Foreseen wander of the values.
    pub value: f64,
    /// Foreseen wander of the number one.
    pub one: f64,
    /// Variance of the wander after the last visit.
    pub variance: f64,
    /// Whether any visit was seen.
    pub is_begun: bool,
}

/// One visit after the memory was taken out.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Fresh {
    /// The value's unforeseen part over its standard deviation.
    pub value: f64,
    /// The same of the number one.
    pub one: f64,
    /// Variance of the unforeseen part, for unit total variance.
    pub variance: f64,
    /// Share of the unforeseen part that is carried on as wander.
    pub gain: f64,
    /// What is left of an earlier wander at this visit.
    pub kept: f64,
    /// Whether there was a value at this visit.
    pub is_seen: bool,
}

/// A whitening filter with fixed correlation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Whitener {
    /// Correlation of the wander over one week, in `[0, 1)`.
    pub weekly_correlation: f64,
    /// Share of the variance without memory, in `(0, 1]`.
    pub white_share: f64,
}

impl Whitener {
    /// Takes in one visit, `elapsed_weeks` after the one before.
    ///
    /// # Formula
    /// ```text
    /// k = c^dt,  P- = k^2 P + (1 - w)(1 - k^2),  F = P- + w,  K = P- / F
    /// fresh = (value - k x) / sqrt(F),  x' = k x + K (value - k x),  P' = P- (1 - K)
    /// ```
    /// w the white share, x and P the foreseen wander and its variance.
    ///
    /// # Source
    /// Kalman 1960, scalar case; see `core/FORMULAS.md`.
    pub fn take(&self, memory: &mut Memory, elapsed_weeks: f64, value: Option<f64>) -> Fresh {
        self.take_keeping(memory, self.kept(elapsed_weeks), value)
    }

    /// What is left of a wander after a time. Dear to work out, and visits are mostly a week apart:
    /// [`Whitener::take_keeping`] takes it from the caller.
    pub fn kept(&self, elapsed_weeks: f64) -> f64 {
        if self.weekly_correlation > 0.0 {
            libm::pow(self.weekly_correlation, elapsed_weeks.max(0.0))
        } else {
            0.0
        }
    }

    /// [`Whitener::take`] with the share of the wander that is left since the visit before.
    pub fn take_keeping(&self, memory: &mut Memory, kept: f64, value: Option<f64>) -> Fresh {
        let kept = if memory.is_begun { kept } else { 0.0 };
        memory.is_begun = true;
        let wander = 1.0 - self.white_share;
        let before = kept * kept * memory.variance + wander * (1.0 - kept * kept);
        memory.value *= kept;
        memory.one *= kept;
        memory.variance = before;
        let Some(value) = value else {
            return Fresh {
                kept,
                ..Fresh::default()
            };
        };
        let variance = before + self.white_share;
        let gain = before / variance;
        let (value_off, one_off) = (value - memory.value, 1.0 - memory.one);
        memory.value += gain * value_off;
        memory.one += gain * one_off;
        memory.variance = before * (1.0 - gain);
        let root = variance.sqrt();
        Fresh {
            value: value_off / root,
            one: one_off / root,
            variance,
            gain,
            kept,
            is_seen: true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulate::Dice;

    #[test]
    fn without_memory_values_pass_unchanged() {
        let whitener = Whitener {
            weekly_correlation: 0.0,
            white_share: 1.0,
        };
        let mut memory = Memory::default();
        for value in [0.3, -1.2, 0.0] {
            let fresh = whitener.take(&mut memory, 1.0, Some(value));
            assert!((fresh.value - value).abs() < 1e-15 && (fresh.one - 1.0).abs() < 1e-15);
        }
    }

    #[test]
    fn a_wander_with_noise_comes_out_independent_and_of_unit_variance() {
        let whitener = Whitener {
            weekly_correlation: 0.6,
            white_share: 0.2,
        };
        let mut memory = Memory::default();
        let mut dice = Dice::new(3, 9);
        let mut wander = 0.8_f64.sqrt() * dice.normal();
        let count = 20_000;
        let fresh: Vec<f64> = (0..count)
            .map(|_| {
                wander = 0.6 * wander + (0.8 * (1.0 - 0.36_f64)).sqrt() * dice.normal();
                let value = wander + 0.2_f64.sqrt() * dice.normal();
                whitener.take(&mut memory, 1.0, Some(value)).value
            })
            .collect();
        let n = f64::from(count);
        let variance = fresh.iter().map(|x| x * x).sum::<f64>() / n;
        let lagged = fresh.windows(2).map(|pair| pair[0] * pair[1]).sum::<f64>() / n;
        // Four standard errors of a variance and of a lag-one correlation.
        assert!((variance - 1.0).abs() < 4.0 * (2.0 / n).sqrt());
        assert!(lagged.abs() < 4.0 / n.sqrt());
    }

    #[test]
    fn a_long_gap_forgets_the_wander() {
        let whitener = Whitener {
            weekly_correlation: 0.6,
            white_share: 0.1,
        };
        let mut memory = Memory::default();
        whitener.take(&mut memory, 0.0, Some(2.0));
        let fresh = whitener.take(&mut memory, 52.0, Some(2.0));
        assert!((fresh.value - 2.0).abs() < 1e-6);
    }
}
