//! The hydraulic check of a station as one value, for a screen, a certificate page or a command.

use super::advice::Recommendation;
use super::failure::{Failed, FailureCase, failure_case};
use super::figure::{Figure, Gap, Lack};
use super::inputs::{Conditions, Inputs};
use super::load::{InletCase, InletPoint, inlet_case, interstage};
use super::practice::Practice;
use super::recommend::recommend;
use super::window::{RatioWindow, ratio_window};
use crate::station::Station;
use crate::units::Pressure;

/// Where a set point lies in its pilot spring's range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpringPlace {
    /// Lowest set point of the spring.
    pub low: Pressure,
    /// Highest set point of the spring.
    pub high: Pressure,
    /// The place in the range, 0 at the low end and 1 at the high end; outside it beyond these.
    pub share: f64,
}

impl SpringPlace {
    /// Whether the set point lies within the range.
    #[must_use]
    pub fn is_inside(&self) -> bool {
        (0.0..=1.0).contains(&self.share)
    }
}

/// The set point against what it depends on.
#[derive(Debug, Clone, PartialEq)]
pub struct SetPointCheck {
    /// The set point.
    pub set_point: Pressure,
    /// The interstage pressure it needs: set point plus minimum differential.
    pub needed: Pressure,
    /// The interstage pressure to expect at the lowest usual inlet pressure.
    pub interstage_expected: Pressure,
    /// The least it may be there, the ratio's tolerance allowed for.
    pub interstage_least: Pressure,
    /// The place in the pilot spring's range.
    pub spring: Figure<SpringPlace>,
}

impl SetPointCheck {
    /// What the least interstage pressure leaves above the one needed; negative when too little.
    #[must_use]
    pub fn margin(&self) -> Pressure {
        self.interstage_least - self.needed
    }
}

/// Everything the check found.
#[derive(Debug, Clone, PartialEq)]
pub struct HydraulicCheck {
    /// Water and air.
    pub conditions: Conditions,
    /// The station at the low end, the middle and the high end of its usual inlet range.
    pub inlets: [InletCase; 3],
    /// The set point against interstage pressure and spring.
    pub set_point: SetPointCheck,
    /// First, second and both stages stuck open.
    pub failures: [FailureCase; 3],
    /// The ratios with which both stages would keep their own cavitation limits.
    pub ratio_window: Figure<RatioWindow>,
    /// What to do about it, gravest first.
    pub recommendations: Vec<Recommendation>,
    /// Every piece of data that some figure lacks, sorted; empty when the check is complete.
    pub lacking: Vec<Lack>,
}

impl HydraulicCheck {
    /// The station at one end or the middle of its usual inlet range.
    #[must_use]
    pub const fn at(&self, point: InletPoint) -> &InletCase {
        let [low, usual, high] = &self.inlets;
        match point {
            InletPoint::Low => low,
            InletPoint::Usual => usual,
            InletPoint::High => high,
        }
    }

    /// One failure case.
    #[must_use]
    pub const fn failure(&self, failed: Failed) -> &FailureCase {
        let [first, second, both] = &self.failures;
        match failed {
            Failed::First => first,
            Failed::Second => second,
            Failed::Both => both,
        }
    }
}

/// Checks a station against usual practice. See [`check_with`].
///
/// # Errors
///
/// As [`check_with`].
pub fn check(station: &Station) -> Result<HydraulicCheck, Gap> {
    check_with(station, &Practice::default())
}

/// Checks a station.
///
/// The stages are sized between the inlet pressure, that pressure over the ratio, and the set
/// point, all brought to the same height; pipe losses between the gauges are not counted.
///
/// # Errors
///
/// [`Gap::Lacking`] when inlet range, ratio, set point or minimum differential make no sense, so
/// that there is nothing to check. Anything else that is lacking is named in the result.
pub fn check_with(station: &Station, practice: &Practice) -> Result<HydraulicCheck, Gap> {
    let inputs = Inputs::read(station)?;
    let [low, usual, high] = inputs.inlets;
    let mut check = HydraulicCheck {
        conditions: inputs.conditions.clone(),
        inlets: [
            inlet_case(&inputs, InletPoint::Low, low),
            inlet_case(&inputs, InletPoint::Usual, usual),
            inlet_case(&inputs, InletPoint::High, high),
        ],
        set_point: set_point(&inputs),
        failures: Failed::ALL.map(|failed| failure_case(station, &inputs, failed)),
        ratio_window: ratio_window(&inputs),
        recommendations: Vec::new(),
        lacking: inputs.lacking(),
    };
    check.recommendations = recommend(&inputs, &check, practice);
    Ok(check)
}

fn set_point(inputs: &Inputs) -> SetPointCheck {
    let [low, _, _] = inputs.inlets;
    let expected = interstage(inputs, low);
    let least = expected.as_f64_pa() * (1.0 - inputs.ratio_tolerance);
    SetPointCheck {
        set_point: inputs.set_point,
        needed: inputs.needed_supply,
        interstage_expected: expected,
        interstage_least: Pressure::from_f64_pa(least).unwrap_or(Pressure::ZERO),
        spring: inputs.spring.clone().map(|(low, high)| SpringPlace {
            low,
            high,
            share: (inputs.set_point - low).as_f64_pa() / (high - low).as_f64_pa(),
        }),
    }
}
