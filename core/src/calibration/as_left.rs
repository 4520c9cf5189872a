//! The pressure as left, with its uncertainty, for the record and the certificate.

use super::point::DrawOff;
use super::setting::TOLERANCE_SHARE;
use crate::station::Station;
use crate::units::{Pressure, Typed};
use crate::verdict::{Contribution, Entry, FlowState, Judgement, conformance_probability, judge};

/// Coverage factor of the expanded uncertainty: about 95 % for a normal distribution (JCGM 100:2008,
/// 6.3.3).
const COVERAGE: f64 = 2.0;

/// What is left at the outlet after calibration.
#[derive(Debug, Clone, PartialEq)]
pub struct AsLeft {
    /// As typed.
    pub typed: Typed,
    /// At the station datum.
    pub observed: Pressure,
    /// How much water was drawn off.
    pub draw_off: DrawOff,
    /// Observed less set point.
    pub deviation: Pressure,
    /// The deviation as a share of the set point; 0 where the set point is not above zero.
    pub deviation_share: f64,
    /// Every line of the uncertainty budget (gauge class, temperature, reading, elevation).
    pub contributions: Vec<Contribution>,
    /// Combined standard uncertainty, pascals; above zero.
    pub uncertainty_pa: f64,
    /// Expanded uncertainty, pascals: [`Self::coverage`] times the standard one.
    pub expanded_pa: f64,
    /// The coverage factor, 2.
    pub coverage: f64,
    /// Whether the reading lies within 2 % of the set point.
    pub is_reached_by_gauge: bool,
    /// Probability that the true pressure lies within 2 % of the set point, gauge error counted.
    pub reached_probability: f64,
    /// Probability that the true pressure lies in the station's allowed band.
    pub band_probability: f64,
}

/// The as-left value of the outlet; `None` without draw-off (the gauge shows lock-up only) or where
/// the definition has no set point above zero.
///
/// # Source
///
/// The uncertainty budget of the verdict (JCGM 100:2008), expanded by k = 2; probabilities by JCGM
/// 106:2012, 7.2.
#[must_use]
pub fn as_left(station: &Station, outlet: Typed, draw_off: DrawOff) -> Option<AsLeft> {
    if draw_off == DrawOff::None {
        return None;
    }
    let entry = Entry {
        outlet: Some(outlet),
        flow: FlowState::Flowing,
        ..Entry::default()
    };
    let Judgement { outlet: judged, .. } = judge(station, &entry);
    let judged = judged?;
    let set_point = station.second_stage.set_point.to_pressure();
    let band = station.second_stage.band.to_pressure().abs().as_f64_pa();
    let deviation = judged.observed - set_point;
    let set = set_point.as_f64_pa();
    let within = |half: f64| {
        conformance_probability(
            judged.observed.as_f64_pa(),
            judged.uncertainty_pa,
            Some(set - half),
            Some(set + half),
        )
    };
    let tolerance = TOLERANCE_SHARE * set;
    Some(AsLeft {
        typed: outlet,
        observed: judged.observed,
        draw_off,
        deviation,
        deviation_share: if set > 0.0 {
            deviation.as_f64_pa() / set
        } else {
            0.0
        },
        uncertainty_pa: judged.uncertainty_pa,
        expanded_pa: COVERAGE * judged.uncertainty_pa,
        coverage: COVERAGE,
        is_reached_by_gauge: deviation.abs().as_f64_pa() <= tolerance,
        reached_probability: within(tolerance),
        band_probability: within(band),
        contributions: judged.contributions,
    })
}
