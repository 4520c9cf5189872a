//! The checks that tell suspects apart: what they cost, what to be careful of, what they tell.
//!
//! A check answers yes or no. How often each answer comes under each cause is common practice
//! without a source; the tool informs, people decide. Wording for people is not here.

use super::cause::Cause;
use super::rank::Ranking;

/// Something to look at or try at a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Check {
    /// Read the gauges again: does the odd value stand?
    ReadAgain,
    /// Tap the gauge lightly: does the pointer jump?
    TapGauge,
    /// Compare the inlet gauge with a test gauge: does it differ?
    TestInletGauge,
    /// Compare the interstage gauge with a test gauge: does it differ?
    TestInterstageGauge,
    /// Compare the outlet gauge with a test gauge: does it differ?
    TestOutletGauge,
    /// Ask for the pressure in the main, or read the next station: is it unusual there too?
    CompareMain,
    /// Flush the strainer: does dirt come, or the inlet pressure recover?
    FlushStrainer,
    /// Look at lock nut and cap of the adjusting screw: were they disturbed?
    LookAtScrew,
    /// Close the downstream valve slowly: does the outlet climb above lock-up?
    CloseDownstream,
    /// Change the draw-off slowly: does the interstage pressure follow in jerks?
    VaryDrawOff,
}

/// What to be careful of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Caution {
    /// Pressure is stored behind the fitting: relieve it first.
    StoredPressure,
    /// Move valves slowly: water hammer.
    MoveSlowly,
    /// Consumers lose water or pressure: tell them first.
    TellConsumers,
    /// Water comes out: mind where it goes.
    Discharge,
}

impl Caution {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::StoredPressure => "stored-pressure",
            Self::MoveSlowly => "move-slowly",
            Self::TellConsumers => "tell-consumers",
            Self::Discharge => "discharge",
        }
    }
}

/// A check that is worth its time, with what it is expected to tell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Advice {
    /// The check.
    pub check: Check,
    /// How much less unsure one is expected to be after it, in bits.
    pub information_bits: f64,
    /// How long it takes, in minutes.
    pub minutes: f64,
    /// What to be careful of.
    pub cautions: &'static [Caution],
}

/// Advice below this is not given.
const INFORMATION_LEAST_BITS: f64 = 0.05;

/// Each check means walking up, looking and writing down, whatever it takes by itself.
const MINUTES_EACH: f64 = 2.0;

impl Check {
    /// Every check.
    pub const ALL: [Self; 10] = [
        Self::ReadAgain,
        Self::TapGauge,
        Self::TestInletGauge,
        Self::TestInterstageGauge,
        Self::TestOutletGauge,
        Self::CompareMain,
        Self::FlushStrainer,
        Self::LookAtScrew,
        Self::CloseDownstream,
        Self::VaryDrawOff,
    ];

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::ReadAgain => "read-again",
            Self::TapGauge => "tap-gauge",
            Self::TestInletGauge => "test-inlet-gauge",
            Self::TestInterstageGauge => "test-interstage-gauge",
            Self::TestOutletGauge => "test-outlet-gauge",
            Self::CompareMain => "compare-main",
            Self::FlushStrainer => "flush-strainer",
            Self::LookAtScrew => "look-at-screw",
            Self::CloseDownstream => "close-downstream",
            Self::VaryDrawOff => "vary-draw-off",
        }
    }

    /// The check with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|check| check.code() == code)
    }

    /// How long it takes, in minutes: common practice, no source.
    #[must_use]
    pub const fn minutes(self) -> f64 {
        match self {
            Self::ReadAgain | Self::TapGauge => 1.0,
            Self::LookAtScrew => 2.0,
            Self::CompareMain => 5.0,
            Self::TestInletGauge | Self::TestInterstageGauge | Self::TestOutletGauge => 10.0,
            Self::CloseDownstream | Self::VaryDrawOff => 12.0,
            Self::FlushStrainer => 20.0,
        }
    }

    /// What to be careful of.
    #[must_use]
    pub const fn cautions(self) -> &'static [Caution] {
        match self {
            Self::ReadAgain | Self::TapGauge | Self::CompareMain | Self::LookAtScrew => &[],
            Self::TestInletGauge | Self::TestInterstageGauge | Self::TestOutletGauge => {
                &[Caution::StoredPressure]
            }
            Self::FlushStrainer => &[Caution::StoredPressure, Caution::Discharge],
            Self::CloseDownstream => &[Caution::TellConsumers, Caution::MoveSlowly],
            Self::VaryDrawOff => &[Caution::MoveSlowly],
        }
    }

    /// How often the answer is yes when `cause` is the true one, 0 to 1: common practice, no source.
    #[must_use]
    #[allow(clippy::match_same_arms, reason = "a table is read row by row")]
    pub const fn yes_under(self, cause: Cause) -> f64 {
        match (self, cause) {
            // A slip does not stand; everything else does.
            (Self::ReadAgain, Cause::EntrySlip) => 0.05,
            (Self::ReadAgain, Cause::FirstStageSticking) => 0.7,
            (Self::ReadAgain, _) => 0.97,
            (Self::TapGauge, Cause::GaugeStuck) => 0.7,
            (
                Self::TapGauge,
                Cause::InletGaugeWrong | Cause::InterstageGaugeWrong | Cause::OutletGaugeWrong,
            ) => 0.2,
            (Self::TestInletGauge, Cause::InletGaugeWrong)
            | (Self::TestInterstageGauge, Cause::InterstageGaugeWrong)
            | (Self::TestOutletGauge, Cause::OutletGaugeWrong) => 0.98,
            (
                Self::TestInletGauge | Self::TestInterstageGauge | Self::TestOutletGauge,
                Cause::GaugeStuck,
            ) => 0.3,
            (Self::CompareMain, Cause::SupplyLow | Cause::SupplyHigh) => 0.9,
            (Self::CompareMain, _) => 0.06,
            (Self::FlushStrainer, Cause::StrainerBlocking) => 0.9,
            (Self::FlushStrainer, Cause::FirstStageSticking | Cause::SecondStageOpen) => 0.15,
            (Self::LookAtScrew, Cause::SetPointMoved) => 0.75,
            (Self::LookAtScrew, Cause::SecondStageRising | Cause::SecondStageFalling) => 0.06,
            (Self::CloseDownstream, Cause::SecondStageOpen) => 0.95,
            (Self::CloseDownstream, Cause::SecondStageRising) => 0.5,
            (Self::VaryDrawOff, Cause::FirstStageSticking) => 0.85,
            (Self::VaryDrawOff, Cause::FirstStagePassing) => 0.2,
            (_, _) => 0.04,
        }
    }

    /// How much less unsure one is expected to be after the check, in bits.
    ///
    /// # Formula
    /// `H(answer) - sum P(cause) H(answer | cause)`: the mutual information of cause and answer.
    ///
    /// # Source
    /// Shannon 1948; Lindley 1956 for its use on experiments.
    #[must_use]
    pub fn information_bits(self, ranking: &Ranking) -> f64 {
        let (mut yes, mut given) = (0.0, 0.0);
        for cause in Cause::ALL {
            let probability = ranking.of(cause);
            let under = self.yes_under(cause);
            yes += probability * under;
            given += probability * entropy_bits(under);
        }
        (entropy_bits(yes) - given).max(0.0)
    }
}

fn entropy_bits(yes: f64) -> f64 {
    let part = |p: f64| if p > 0.0 { -p * p.log2() } else { 0.0 };
    part(yes) + part(1.0 - yes)
}

/// The checks worth their time, best first: most information for each minute.
#[must_use]
pub fn next_checks(ranking: &Ranking) -> Vec<Advice> {
    let mut all: Vec<Advice> = Check::ALL
        .into_iter()
        .map(|check| Advice {
            check,
            information_bits: check.information_bits(ranking),
            minutes: check.minutes(),
            cautions: check.cautions(),
        })
        .filter(|advice| advice.information_bits >= INFORMATION_LEAST_BITS)
        .collect();
    let worth = |advice: &Advice| advice.information_bits / (advice.minutes + MINUTES_EACH);
    all.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
    all
}

impl Ranking {
    /// The ranking after a check was answered.
    ///
    /// # Formula
    /// Bayes: each probability times how often that answer comes under its cause, over the sum.
    #[must_use]
    pub fn after(&self, check: Check, is_yes: bool) -> Self {
        let mut ln = [f64::NEG_INFINITY; Cause::COUNT];
        for cause in Cause::ALL {
            let yes = check.yes_under(cause);
            ln[cause.index()] = (self.of(cause) * if is_yes { yes } else { 1.0 - yes }).ln();
        }
        Self::from_ln_weights(&ln)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn even(causes: &[Cause]) -> Ranking {
        let mut ln = [f64::NEG_INFINITY; Cause::COUNT];
        for cause in causes {
            ln[cause.index()] = 0.0;
        }
        Ranking::from_ln_weights(&ln)
    }

    #[test]
    fn set_point_or_gauge_is_told_by_looking_at_the_screw_first() {
        let ranking = even(&[Cause::SetPointMoved, Cause::OutletGaugeWrong]);
        let advice = next_checks(&ranking);
        assert_eq!(advice[0].check, Check::LookAtScrew);
        // The test gauge tells more, but takes longer.
        let test = advice
            .iter()
            .find(|advice| advice.check == Check::TestOutletGauge);
        assert!(test.is_some_and(|test| test.information_bits > advice[0].information_bits));
        assert!(test.is_some_and(|test| test.cautions == [Caution::StoredPressure]));
    }

    #[test]
    fn information_of_a_perfect_even_question_is_one_bit_less_its_noise() {
        let ranking = even(&[Cause::SetPointMoved, Cause::OutletGaugeWrong]);
        // By hand: yes 0.04 and 0.98; H(0.51) - (H(0.04) + H(0.98)) / 2.
        let h = |p: f64| -p * p.log2() - (1.0 - p) * (1.0 - p).log2();
        let wanted = h(0.51) - f64::midpoint(h(0.04), h(0.98));
        let found = Check::TestOutletGauge.information_bits(&ranking);
        assert!((found - wanted).abs() < 1e-12);
    }

    #[test]
    fn answers_move_the_ranking_and_probabilities_still_add_up() {
        let ranking = even(&[
            Cause::SetPointMoved,
            Cause::OutletGaugeWrong,
            Cause::EntrySlip,
        ]);
        for check in Check::ALL {
            for is_yes in [true, false] {
                let after = ranking.after(check, is_yes);
                let total: f64 = Cause::ALL.into_iter().map(|cause| after.of(cause)).sum();
                assert!((total - 1.0).abs() < 1e-12);
            }
        }
        let differs = ranking.after(Check::TestOutletGauge, true);
        assert_eq!(differs.first(), Some(Cause::OutletGaugeWrong));
        assert!(differs.of(Cause::OutletGaugeWrong) > 0.9);
        let agrees = ranking.after(Check::TestOutletGauge, false);
        assert!(agrees.of(Cause::OutletGaugeWrong) < 0.05);
    }

    #[test]
    fn a_settled_matter_needs_no_check() {
        assert_eq!(next_checks(&even(&[Cause::SupplyLow])), vec![]);
        assert_eq!(next_checks(&even(&[])), vec![]);
    }

    #[test]
    fn codes_read_back() {
        for check in Check::ALL {
            assert_eq!(Check::from_code(check.code()), Some(check));
        }
        assert_eq!(Check::from_code("dig"), None);
    }
}
