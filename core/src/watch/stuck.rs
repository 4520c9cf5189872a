//! How surprising it is that a gauge shows the very same value again.
//!
//! Each repeat has a probability that follows from the station's own scatter and the finest step
//! read; a run is as improbable as the product of its repeats.

/// A gauge that repeats itself more often than its scatter explains is read coarsely; so many
/// visits the first guess of that counts for.
const HABIT_WEIGHT: f64 = 8.0;

/// Repeats longer than this are not counted as a habit of reading: they may be the fault itself.
const HABIT_RUN: usize = 3;

/// Changes of value after which the step that shows is trusted more than the scale's.
const CHANGES_THAT_TELL: u64 = 8;

/// Longest run kept one by one; by then the matter is settled.
const LONGEST: usize = 16;

/// A repeat is never taken as less probable than this: some gauges are read from memory.
const PROBABILITY_LEAST: f64 = 0.04;

/// Nor as more probable than this.
const PROBABILITY_MOST: f64 = 0.9;

/// A run that is not conclusive after so many repeats no longer gains by haste:
const HASTY_REPEATS: usize = 4;

/// its evidence is then held against a threshold higher by this.
const PATIENCE: f64 = 2.4;

/// The repeats of one gauge.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Repeats {
    /// The last value, Pa.
    pub last_pa: Option<i64>,
    /// Minus logarithms of the probabilities of the present run's repeats, oldest first.
    pub run: Vec<f64>,
    /// Repeats that were seen and that were to be expected.
    pub seen: f64,
    pub expected: f64,
    /// The two smallest differences between neighbouring values, Pa, smallest first.
    pub least_pa: [Option<i64>; 2],
    /// How often the value changed.
    pub changes: u64,
}

impl Repeats {
    /// The step this gauge is really read to, Pa.
    ///
    /// A scale's own step is often only assumed. The second smallest difference seen tells better,
    /// once there were some; the smallest may be a value noted with one more digit.
    pub fn step_pa(&self, scale_step_pa: f64) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "held pressures convert exactly")]
        let seen = self.least_pa[1].map_or(0.0, |pa| pa as f64);
        if self.changes >= CHANGES_THAT_TELL {
            seen
        } else {
            seen.max(scale_step_pa)
        }
    }

    /// Takes in a pointer that rests at an end of the scale, where any pressure shows the same.
    pub fn take_at_end(&mut self) {
        self.last_pa = None;
        self.run.clear();
    }

    /// Takes in a value; `probability` is that of seeing the last value again by chance.
    pub fn take(&mut self, pa: i64, probability: f64) {
        let Some(last) = self.last_pa.replace(pa) else {
            return;
        };
        let is_same = last == pa;
        if !is_same {
            self.note_difference((pa - last).abs());
        }
        let habit = (HABIT_WEIGHT + self.seen) / (HABIT_WEIGHT + self.expected);
        if is_same {
            let likely = (probability * habit.max(1.0)).clamp(PROBABILITY_LEAST, PROBABILITY_MOST);
            if self.run.len() < LONGEST {
                self.run.push(-likely.ln());
            }
        } else {
            self.run.clear();
        }
        if self.run.len() <= HABIT_RUN {
            self.expected += probability;
            self.seen += f64::from(u8::from(is_same));
        }
    }

    fn note_difference(&mut self, difference: i64) {
        self.changes += 1;
        self.least_pa = match self.least_pa {
            [Some(least), _] if difference < least => [Some(difference), Some(least)],
            [Some(least), Some(second)] => [Some(least), Some(second.min(difference))],
            [Some(least), None] => [Some(least), Some(difference)],
            [None, _] => [Some(difference), None],
        };
    }

    /// The evidence to be held against the threshold.
    pub fn ln_patient(&self) -> f64 {
        let patience = if self.run.len() > HASTY_REPEATS {
            PATIENCE
        } else {
            0.0
        };
        self.ln_evidence() - patience
    }

    /// Logarithm of the summed likelihood ratios of "stuck since" over the repeats of the run.
    pub fn ln_evidence(&self) -> f64 {
        let (mut total, mut sum) = (0.0_f64, 0.0_f64);
        for surprise in self.run.iter().rev() {
            total += surprise;
            sum += total.exp();
        }
        sum.ln()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_is_as_improbable_as_its_repeats_together() {
        let mut repeats = Repeats::default();
        for _ in 0..4 {
            repeats.take(400_000, 0.25);
        }
        // Three repeats; the reading habit is guessed from them, which makes each a little less
        // surprising than 1 in 4.
        let evidence = repeats.ln_evidence().exp();
        assert!(
            evidence > 40.0 && evidence < 4.0 + 16.0 + 64.0,
            "{evidence}"
        );
    }

    #[test]
    fn another_value_ends_the_run() {
        let mut repeats = Repeats::default();
        for pa in [1, 1, 1, 2] {
            repeats.take(pa, 0.2);
        }
        assert!(repeats.ln_evidence() < -1e300);
    }

    #[test]
    fn a_gauge_read_coarsely_may_repeat_itself() {
        let mut fine = Repeats::default();
        let mut coarse = Repeats::default();
        for visit in 0..60 {
            fine.take(visit, 0.1);
            coarse.take(visit / 3, 0.1);
        }
        for _ in 0..4 {
            fine.take(99, 0.1);
            coarse.take(99, 0.1);
        }
        assert!(coarse.ln_evidence() < fine.ln_evidence() - 3.0);
    }

    #[test]
    fn a_very_long_run_stays_finite() {
        let mut repeats = Repeats::default();
        for _ in 0..10_000 {
            repeats.take(7, 0.01);
        }
        assert!(repeats.ln_evidence().is_finite());
    }
}
