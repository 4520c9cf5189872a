//! A station's definition as one value.

use super::{FirstStage, Gauge, Problem, Quantity, SecondStage, Site, StationCode};
use crate::units::{Pressure, Typed, Unit};

/// The range in which the inlet pressure usually lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UsualRange {
    /// Lower end.
    pub low: Typed,
    /// Upper end.
    pub high: Typed,
}

impl UsualRange {
    /// The middle of the range.
    #[must_use]
    pub fn middle(&self) -> Pressure {
        Pressure::from_pa(i64::midpoint(
            self.low.to_pressure().pa(),
            self.high.to_pressure().pa(),
        ))
    }
}

/// One revision of a station's definition.
///
/// Any value of this type may be held; [`Station::problems`] lists what is wrong with it, and the
/// rules answer "no expectation" rather than failing where a definition makes no sense.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Station {
    /// The code painted at the station.
    pub code: StationCode,
    /// What people call it.
    pub name: String,
    /// The level or place it belongs to.
    pub level: String,
    /// Place in the walking order.
    pub order: u32,
    /// The unit values are shown in.
    pub unit: Unit,
    /// The gauge before the first stage.
    pub inlet: Gauge,
    /// The gauge between the stages.
    pub interstage: Gauge,
    /// The gauge after the second stage.
    pub outlet: Gauge,
    /// The proportional stage.
    pub first_stage: FirstStage,
    /// The adjustable stage.
    pub second_stage: SecondStage,
    /// Where the inlet pressure usually lies.
    pub inlet_usual: UsualRange,
    /// Where it stands.
    pub site: Site,
}

impl Station {
    /// One of the three gauges.
    #[must_use]
    pub const fn gauge(&self, quantity: Quantity) -> &Gauge {
        match quantity {
            Quantity::Inlet => &self.inlet,
            Quantity::Interstage => &self.interstage,
            Quantity::Outlet => &self.outlet,
        }
    }

    /// Everything wrong with the definition, worst first; empty when it is sound.
    #[must_use]
    pub fn problems(&self) -> Vec<Problem> {
        super::problem::problems(self)
    }
}
