//! The verdict on a reading, with everything it rests on.

use super::budget::{
    self, ClassPart, Contribution, as_left_line, class_part_of_ratio, gauge_lines,
};
use super::entry::Entry;
use super::expected::{
    Basis, Expectation, Expected, StationState, at_datum, correction, expected, needed_supply,
};
use super::normal::{normal_between, normal_cdf};
use crate::station::{Quantity, Station};
use crate::units::{Pressure, Typed};

/// Within when the true value lies in the band with at least this probability.
pub const WITHIN_AT_LEAST: f64 = 0.95;

/// Outside when the true value lies in the band with at most this probability.
pub const OUTSIDE_AT_MOST: f64 = 0.05;

/// What is said of one pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// In its band, at least 95 % sure.
    Within,
    /// Too close to a limit for this gauge to tell: read again, tap the gauge, use a test gauge.
    Unsure,
    /// Out of its band, at least 95 % sure.
    Outside,
}

impl Verdict {
    /// The verdict for a probability of lying in the band.
    #[must_use]
    pub fn from_probability(probability: f64) -> Self {
        if probability >= WITHIN_AT_LEAST {
            Self::Within
        } else if probability <= OUTSIDE_AT_MOST {
            Self::Outside
        } else {
            Self::Unsure
        }
    }

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::Unsure => "unsure",
            Self::Outside => "outside",
        }
    }

    /// The number kept in records. Never renumber.
    #[must_use]
    pub const fn number(self) -> u64 {
        match self {
            Self::Within => 0,
            Self::Unsure => 1,
            Self::Outside => 2,
        }
    }

    /// The verdict kept in records under `number`.
    #[must_use]
    pub const fn from_number(number: u64) -> Option<Self> {
        match number {
            0 => Some(Self::Within),
            1 => Some(Self::Unsure),
            2 => Some(Self::Outside),
            _ => None,
        }
    }
}

/// The probability that a value observed as `observed` with standard uncertainty `u` truly lies
/// between `low` and `high`; a limit that does not exist is `None`.
///
/// Never NaN: a `u` that is zero, negative or not a number is taken as exact knowledge, and
/// anything else not a number as knowing nothing (0.5).
///
/// # Formula
///
/// ```text
/// p = Phi((high - y) / u) - Phi((low - y) / u)
/// ```
///
/// # Source
///
/// JCGM 106:2012, 7.2 to 7.4 (check value U-7), with no prior knowledge of the process.
#[must_use]
pub fn conformance_probability(observed: f64, u: f64, low: Option<f64>, high: Option<f64>) -> f64 {
    let low = low.unwrap_or(f64::NEG_INFINITY);
    let high = high.unwrap_or(f64::INFINITY);
    if observed.is_nan() || low.is_nan() || high.is_nan() {
        return 0.5;
    }
    if u > 0.0 && u.is_finite() && observed.is_finite() {
        return normal_between((low - observed) / u, (high - observed) / u);
    }
    if (low..=high).contains(&observed) {
        1.0
    } else {
        0.0
    }
}

/// One pressure judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Which gauge.
    pub quantity: Quantity,
    /// As typed.
    pub typed: Typed,
    /// What was added to bring it to the station datum.
    pub correction: Pressure,
    /// The reading at the station datum.
    pub observed: Pressure,
    /// The band it is compared with.
    pub expectation: Expectation,
    /// The ratio used, where the band rests on one.
    pub ratio: Option<f64>,
    /// Every line of the uncertainty budget.
    pub contributions: Vec<Contribution>,
    /// Combined standard uncertainty, pascals; always above zero.
    pub uncertainty_pa: f64,
    /// Probability that the true value lies in the band, 0 to 1.
    pub probability: f64,
    /// What is said of it.
    pub verdict: Verdict,
}

impl Judged {
    /// How far the reading lies from the value aimed at.
    #[must_use]
    pub fn deviation(&self) -> Pressure {
        self.observed - self.expectation.target
    }

    /// Distance of the reading above the lower end of its band, in combined uncertainties.
    #[must_use]
    pub fn above_low(&self) -> f64 {
        (self.observed - self.expectation.low).as_f64_pa() / self.uncertainty_pa
    }

    /// Distance of the reading below the upper end of its band, in combined uncertainties.
    #[must_use]
    pub fn below_high(&self) -> f64 {
        (self.expectation.high - self.observed).as_f64_pa() / self.uncertainty_pa
    }

    /// Whether the reading lies above the middle of its band.
    #[must_use]
    pub fn is_high(&self) -> bool {
        self.deviation() > Pressure::ZERO
    }
}

/// A visit judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// How the second stage stands.
    pub state: StationState,
    /// Probability that the interstage pressure is too low for the second stage to control;
    /// `None` where that pressure was not read.
    pub starved_probability: Option<f64>,
    /// What was expected, also of gauges that were not read.
    pub expected: Expected,
    /// The inlet; `None` where it was not read or nothing can be expected.
    pub inlet: Option<Judged>,
    /// Between the stages.
    pub interstage: Option<Judged>,
    /// The outlet.
    pub outlet: Option<Judged>,
}

impl Judgement {
    /// One of the three.
    #[must_use]
    pub const fn get(&self, quantity: Quantity) -> Option<&Judged> {
        match quantity {
            Quantity::Inlet => self.inlet.as_ref(),
            Quantity::Interstage => self.interstage.as_ref(),
            Quantity::Outlet => self.outlet.as_ref(),
        }
    }

    /// Those judged, in flow order.
    pub fn iter(&self) -> impl Iterator<Item = &Judged> {
        Quantity::ALL
            .into_iter()
            .filter_map(|quantity| self.get(quantity))
    }

    /// The worst verdict; `None` when nothing could be judged.
    #[must_use]
    pub fn worst(&self) -> Option<Verdict> {
        self.iter().map(|judged| judged.verdict).max()
    }
}

/// Judges a visit against a station's definition, as far as gauges were read and the definition
/// gives something to expect.
#[must_use]
pub fn judge(station: &Station, entry: &Entry) -> Judgement {
    let expected = expected(station, entry);
    let one = |quantity| judge_one(station, entry, &expected, quantity);
    Judgement {
        state: expected.state,
        starved_probability: starved_probability(station, entry),
        inlet: one(Quantity::Inlet),
        interstage: one(Quantity::Interstage),
        outlet: one(Quantity::Outlet),
        expected,
    }
}

fn judge_one(
    station: &Station,
    entry: &Entry,
    expected: &Expected,
    quantity: Quantity,
) -> Option<Judged> {
    let typed = entry.get(quantity)?;
    let expectation = expected.get(quantity)?;
    let observed = at_datum(station, quantity, typed);
    let ratio = match expectation.basis {
        Basis::NominalRatio | Basis::AsLeftRatio | Basis::UsualRangeThroughRatio => {
            station.first_stage.ratio_in_use()
        }
        _ => None,
    };
    let contributions = lines(station, entry, quantity, typed, expectation.basis);
    let uncertainty_pa = budget::combined(&contributions);
    let probability = conformance_probability(
        observed.as_f64_pa(),
        uncertainty_pa,
        Some(expectation.low.as_f64_pa()),
        Some(expectation.high.as_f64_pa()),
    );
    Some(Judged {
        quantity,
        typed,
        correction: correction(station, quantity),
        observed,
        expectation,
        ratio,
        contributions,
        uncertainty_pa,
        probability,
        verdict: Verdict::from_probability(probability),
    })
}

/// The budget of what is really compared: a reading with fixed limits, or the difference of two
/// readings where the band follows another gauge.
fn lines(
    station: &Station,
    entry: &Entry,
    quantity: Quantity,
    typed: Typed,
    basis: Basis,
) -> Vec<Contribution> {
    let own = |part| gauge_lines(station, quantity, typed.to_pressure(), 1.0, part);
    let other = |quantity: Quantity, sensitivity, part| {
        entry.get(quantity).map_or_else(Vec::new, |typed| {
            gauge_lines(station, quantity, typed.to_pressure(), sensitivity, part)
        })
    };
    match basis {
        Basis::UsualRange | Basis::UsualRangeThroughRatio | Basis::SetPoint | Basis::LockUp => {
            own(ClassPart::Whole)
        }
        Basis::FollowsInterstage => {
            let mut lines = own(ClassPart::Whole);
            lines.extend(other(Quantity::Interstage, -1.0, ClassPart::Whole));
            lines
        }
        Basis::NominalRatio | Basis::AsLeftRatio => {
            let Some(ratio) = station.first_stage.ratio_in_use() else {
                return own(ClassPart::Whole);
            };
            let part = class_part_of_ratio(station);
            let mut lines = own(part);
            lines.extend(other(Quantity::Inlet, -1.0 / ratio, part));
            let inlet = entry
                .inlet
                .map(|typed| at_datum(station, Quantity::Inlet, typed));
            lines.extend(inlet.and_then(|inlet| as_left_line(station, inlet, ratio)));
            lines
        }
    }
}

fn starved_probability(station: &Station, entry: &Entry) -> Option<f64> {
    let typed = entry.interstage?;
    let quantity = Quantity::Interstage;
    let lines = gauge_lines(
        station,
        quantity,
        typed.to_pressure(),
        1.0,
        ClassPart::Whole,
    );
    let room = at_datum(station, quantity, typed) - needed_supply(station);
    Some(normal_cdf(-room.as_f64_pa() / budget::combined(&lines)))
}
