//! Sums of numbers of which only the logarithms are small enough to handle.
//!
//! Not for sums that cancel.

/// Sums exponentials without overflow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LogSum {
    most: f64,
    sum: f64,
}

impl LogSum {
    pub const NOTHING: Self = Self {
        most: f64::NEG_INFINITY,
        sum: 0.0,
    };

    pub fn add(&mut self, ln: f64) {
        if ln.is_nan() || ln == f64::NEG_INFINITY {
            return;
        }
        if ln > self.most {
            self.sum = self.sum * (self.most - ln).exp() + 1.0;
            self.most = ln;
        } else {
            self.sum += (ln - self.most).exp();
        }
    }

    pub fn ln(self) -> f64 {
        if self.sum > 0.0 {
            self.most + self.sum.ln()
        } else {
            f64::NEG_INFINITY
        }
    }
}
