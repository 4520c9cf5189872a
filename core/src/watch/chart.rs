//! The tabular CUSUM: the quick look that decides whether anything is worth weighing.
//!
//! A plain chart of its own, reproducing the published tables; the watch runs it over the recent
//! visits (see `view`). It is not what raises flags.

/// The larger sum reached its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signal {
    /// Whether the upper sum signals (else the lower).
    pub is_upward: bool,
    /// Visits since that sum was last zero: the change probably began so many visits ago.
    pub visits: u32,
}

/// A two-sided tabular CUSUM.
///
/// # Units
/// Values, allowance and limit in the same measure, usually standard deviations.
///
/// # Formula
/// ```text
/// up = max(0, up + x - k),  down = max(0, down - x - k);  signal when a sum exceeds h
/// ```
///
/// # Source
/// Page 1954; Montgomery, Introduction to Statistical Quality Control, section 9.1 (check value
/// S-1); NIST/SEMATECH e-Handbook 6.3.2.3 (S-2).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cusum {
    /// Allowance k: half the shift to be found fastest.
    pub allowance: f64,
    /// Limit h.
    pub limit: f64,
    /// Upper sum.
    pub up: f64,
    /// Lower sum.
    pub down: f64,
    up_visits: u32,
    down_visits: u32,
}

impl Cusum {
    /// A chart with both sums at zero.
    #[must_use]
    pub const fn new(allowance: f64, limit: f64) -> Self {
        Self {
            allowance,
            limit,
            up: 0.0,
            down: 0.0,
            up_visits: 0,
            down_visits: 0,
        }
    }

    /// Takes in a value's distance from target. The sums run on after a signal; see
    /// [`Cusum::reset`]. A value that is not a number is passed over.
    pub fn take(&mut self, off: f64) -> Option<Signal> {
        if off.is_nan() {
            return None;
        }
        self.up = (self.up + off - self.allowance).max(0.0);
        self.down = (self.down - off - self.allowance).max(0.0);
        self.up_visits = if self.up > 0.0 {
            self.up_visits.saturating_add(1)
        } else {
            0
        };
        self.down_visits = if self.down > 0.0 {
            self.down_visits.saturating_add(1)
        } else {
            0
        };
        let is_upward = self.up >= self.down;
        (self.larger() > self.limit).then_some(Signal {
            is_upward,
            visits: if is_upward {
                self.up_visits
            } else {
                self.down_visits
            },
        })
    }

    /// The larger of the two sums.
    #[must_use]
    pub const fn larger(&self) -> f64 {
        self.up.max(self.down)
    }

    /// Sets both sums to zero, as after a signal was acted on.
    pub const fn reset(&mut self) {
        *self = Self::new(self.allowance, self.limit);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reset_chart_starts_from_zero() {
        let mut chart = Cusum::new(0.5, 2.0);
        assert!(chart.take(3.0).is_some());
        chart.reset();
        assert_eq!(chart, Cusum::new(0.5, 2.0));
    }

    #[test]
    fn what_is_no_number_changes_nothing() {
        let mut chart = Cusum::new(0.5, 2.0);
        chart.take(1.0);
        let before = chart;
        assert_eq!(chart.take(f64::NAN), None);
        assert_eq!(chart, before);
    }
}
