//! The plainer rules that the watch is compared with.
//!
//! Each watches the same three quantities as the watch; the last two learn mean and standard
//! deviation from the first twelve visits.

use crate::measure::{Rule, Seen};

const LEARNING_VISITS: usize = 12;

/// Anything more than 10 % from where it is expected.
#[derive(Default)]
pub struct FixedLimit {
    was_out: [bool; 3],
}

impl Rule for FixedLimit {
    fn take(&mut self, seen: &Seen<'_>) -> bool {
        let mut is_new = false;
        for (value, was_out) in seen.quantities.iter().zip(&mut self.was_out) {
            let Some(value) = value else { continue };
            let is_out = (value.exp() - 1.0).abs() > 0.10;
            is_new |= is_out && !*was_out;
            *was_out = is_out;
        }
        is_new
    }
}

/// Mean and standard deviation of the first visits.
#[derive(Default, Clone)]
struct Learned {
    values: Vec<f64>,
}

impl Learned {
    /// Standardised value once the baseline is learned.
    fn score(&mut self, value: f64) -> Option<f64> {
        if self.values.len() < LEARNING_VISITS {
            self.values.push(value);
            return None;
        }
        let n = self.values.len() as f64;
        let mean = self.values.iter().sum::<f64>() / n;
        let squares = self.values.iter().map(|x| (x - mean).powi(2)).sum::<f64>();
        let deviation = (squares / (n - 1.0)).sqrt().max(1e-6);
        Some((value - mean) / deviation)
    }
}

/// More than three standard deviations from the mean of the first twelve weeks.
#[derive(Default)]
pub struct Shewhart {
    learned: [Learned; 3],
    was_out: [bool; 3],
}

impl Rule for Shewhart {
    fn take(&mut self, seen: &Seen<'_>) -> bool {
        let mut is_new = false;
        for index in 0..3 {
            let Some(value) = seen.quantities[index] else {
                continue;
            };
            let Some(score) = self.learned[index].score(value) else {
                continue;
            };
            let is_out = score.abs() > 3.0;
            is_new |= is_out && !self.was_out[index];
            self.was_out[index] = is_out;
        }
        is_new
    }
}

/// Two-sided tabular CUSUM with k 0.5 and h 5, reset after a signal.
#[derive(Default)]
pub struct CusumRule {
    learned: [Learned; 3],
    sums: [(f64, f64); 3],
}

impl Rule for CusumRule {
    fn take(&mut self, seen: &Seen<'_>) -> bool {
        let mut is_new = false;
        for index in 0..3 {
            let Some(value) = seen.quantities[index] else {
                continue;
            };
            let Some(score) = self.learned[index].score(value) else {
                continue;
            };
            let (up, down) = self.sums[index];
            let (up, down) = ((up + score - 0.5).max(0.0), (down - score - 0.5).max(0.0));
            let is_out = up > 5.0 || down > 5.0;
            self.sums[index] = if is_out { (0.0, 0.0) } else { (up, down) };
            is_new |= is_out;
        }
        is_new
    }
}
