//! What is seen on the look-round beside the gauges, and which causes it makes more probable.

use super::cause::Cause;
use super::rank::Ranking;

/// Something noticed at a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Sign {
    /// Water escapes.
    Leak,
    /// Something is broken or bent.
    Damage,
    /// A hiss, rattle or hum that is not usual.
    Noise,
}

impl Sign {
    /// Every sign.
    pub const ALL: [Self; 3] = [Self::Leak, Self::Damage, Self::Noise];

    /// How often the sign is noticed when `cause` is the true one: common practice, no source.
    #[must_use]
    #[allow(clippy::match_same_arms, reason = "a table is read row by row")]
    pub const fn noticed_under(self, cause: Cause) -> f64 {
        match (self, cause) {
            (Self::Leak, Cause::SupplyLow | Cause::SecondStageOpen) => 0.10,
            (Self::Leak, Cause::SecondStageRising | Cause::SecondStageFalling) => 0.06,
            (Self::Leak, _) => 0.03,
            (
                Self::Damage,
                Cause::GaugeStuck
                | Cause::InletGaugeWrong
                | Cause::InterstageGaugeWrong
                | Cause::OutletGaugeWrong,
            ) => 0.15,
            (Self::Damage, Cause::SetPointMoved) => 0.05,
            (Self::Damage, _) => 0.02,
            (Self::Noise, Cause::SecondStageOpen | Cause::FirstStageSticking) => 0.25,
            (Self::Noise, Cause::FirstStagePassing) => 0.15,
            (Self::Noise, _) => 0.04,
        }
    }
}

impl Ranking {
    /// The ranking with a sign taken into account.
    ///
    /// What was not noticed tells nothing here: look-rounds are short and drives are loud.
    ///
    /// # Formula
    /// Bayes: each probability times how often the sign comes with its cause, over the sum.
    #[must_use]
    pub fn with_sign(&self, sign: Sign) -> Self {
        let mut ln = [f64::NEG_INFINITY; Cause::COUNT];
        for cause in Cause::ALL {
            ln[cause.index()] = (self.of(cause) * sign.noticed_under(cause)).ln();
        }
        Self::from_ln_weights(&ln)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bent_gauge_speaks_for_the_gauge() {
        let mut ln = [f64::NEG_INFINITY; Cause::COUNT];
        ln[Cause::SetPointMoved.index()] = 0.0;
        ln[Cause::OutletGaugeWrong.index()] = 0.0;
        let ranking = Ranking::from_ln_weights(&ln).with_sign(Sign::Damage);
        // 0.15 against 0.05.
        assert!((ranking.of(Cause::OutletGaugeWrong) - 0.75).abs() < 1e-12);
    }
}
