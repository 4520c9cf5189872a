//! The two reducing stages and the valve bodies they are made of.

use chrono::NaiveDate;
use winze_sync_format::Decimal;

use crate::units::{Typed, decimal_to_f64};

/// What is known of a valve body; all optional, needed only for the hydraulic check.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Valve {
    /// Nominal size (DN), millimetres.
    pub size_mm: Option<u32>,
    /// Rated flow coefficient Kv, m3/h at 1 bar of water.
    pub rated_kv: Option<Decimal>,
    /// Liquid pressure recovery factor FL (IEC 60534-2-1), 0 to 1.
    pub fl: Option<Decimal>,
    /// The smallest cavitation index sigma = (p1 - pv)/(p1 - p2) its maker permits.
    pub permitted_sigma: Option<Decimal>,
    /// The pressure ratio xFz at which cavitation is first heard (IEC 60534-8-4).
    pub xfz: Option<Decimal>,
}

/// The first stage: proportional, dividing the inlet pressure by a fixed ratio.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FirstStage {
    /// Nominal ratio, inlet over interstage (2.5 takes 10 bar to 4 bar).
    pub ratio: Decimal,
    /// How far the interstage pressure may lie from inlet / ratio, per cent.
    pub ratio_tolerance_percent: Decimal,
    /// The ratio found at set-up with the station's own gauges; it then stands instead of `ratio`.
    pub as_left_ratio: Option<Decimal>,
    /// The day the as-left ratio was found.
    pub as_left_on: Option<NaiveDate>,
    /// The valve body.
    pub valve: Valve,
}

impl FirstStage {
    /// The ratio to expect: as left where known, else nominal.
    ///
    /// `None` unless it is above zero, so that dividing by it is always safe.
    #[must_use]
    pub fn ratio_in_use(&self) -> Option<f64> {
        let ratio = decimal_to_f64(self.as_left_ratio.unwrap_or(self.ratio));
        // 1e-3..1e3 keeps quotients of held pressures finite and meaningful.
        (1.0e-3..=1.0e3).contains(&ratio).then_some(ratio)
    }

    /// The tolerance as a fraction (0.1 for 10 %), brought within 0 to 1.
    #[must_use]
    pub fn tolerance_fraction(&self) -> f64 {
        (decimal_to_f64(self.ratio_tolerance_percent) / 100.0).clamp(0.0, 1.0)
    }
}

/// The second stage: pilot-operated, holding its set point while the supply suffices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SecondStage {
    /// The outlet pressure it is set to hold.
    pub set_point: Typed,
    /// How far either side of the set point the outlet may lie.
    pub band: Typed,
    /// The difference across it below which it is wide open and no longer controls.
    pub minimum_differential: Typed,
    /// Lowest and highest set point of the pilot spring.
    pub spring_range: Option<(Typed, Typed)>,
    /// The valve body.
    pub valve: Valve,
}
