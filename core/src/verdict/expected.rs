//! The pressures to expect at a station, given what its other gauges show.
//!
//! Not here: how far a reading may be wrong; see [`super::budget`].

use super::entry::{Entry, FlowState};
use crate::station::{Quantity, Station, defaults};
use crate::units::{Pressure, Typed, water};

/// What an expected band rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Basis {
    /// The usual inlet range.
    UsualRange,
    /// The inlet reading divided by the nominal ratio.
    NominalRatio,
    /// The inlet reading divided by the ratio found at set-up.
    AsLeftRatio,
    /// The usual inlet range divided by the ratio, the inlet gauge not being read.
    UsualRangeThroughRatio,
    /// The set point and its allowed band.
    SetPoint,
    /// Starved: the second stage is wide open and the outlet follows the interstage pressure.
    FollowsInterstage,
    /// No flow: from the set point up to lock-up.
    LockUp,
}

impl Basis {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::UsualRange => "usual-range",
            Self::NominalRatio => "nominal-ratio",
            Self::AsLeftRatio => "as-left-ratio",
            Self::UsualRangeThroughRatio => "usual-range-through-ratio",
            Self::SetPoint => "set-point",
            Self::FollowsInterstage => "follows-interstage",
            Self::LockUp => "lock-up",
        }
    }
}

/// How the second stage stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StationState {
    /// It has the pressure it needs and controls.
    Normal,
    /// The interstage pressure is below set point plus minimum differential: wide open. Judge the
    /// supply, not the second stage.
    Starved,
    /// No flow: the outlet shows lock-up only.
    LockUp,
}

impl StationState {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Starved => "starved",
            Self::LockUp => "lock-up",
        }
    }
}

/// The band a pressure should lie in, at the station datum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Expectation {
    /// What it rests on.
    pub basis: Basis,
    /// Lower end.
    pub low: Pressure,
    /// The value aimed at.
    pub target: Pressure,
    /// Upper end, never below `low`.
    pub high: Pressure,
}

/// What to expect of the three gauges.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Expected {
    /// How the second stage stands.
    pub state: StationState,
    /// The inlet.
    pub inlet: Option<Expectation>,
    /// Between the stages.
    pub interstage: Option<Expectation>,
    /// The outlet.
    pub outlet: Option<Expectation>,
}

impl Expected {
    /// One of the three; `None` where the definition gives nothing to expect.
    #[must_use]
    pub const fn get(&self, quantity: Quantity) -> Option<Expectation> {
        match quantity {
            Quantity::Inlet => self.inlet,
            Quantity::Interstage => self.interstage,
            Quantity::Outlet => self.outlet,
        }
    }

    /// The band as the needle should show it: the datum correction of the gauge taken off again.
    /// For painting on a dial.
    #[must_use]
    pub fn on_dial(&self, station: &Station, quantity: Quantity) -> Option<(Pressure, Pressure)> {
        let band = self.get(quantity)?;
        let head = correction(station, quantity);
        Some((band.low - head, band.high - head))
    }
}

/// What is added to a gauge's reading to bring it to the datum.
pub(super) fn correction(station: &Station, quantity: Quantity) -> Pressure {
    let elevation_mm = station.gauge(quantity).elevation_mm;
    water::datum_correction(elevation_mm, station.site.water_temperature())
}

/// A reading brought to the station datum by the height of its gauge.
#[must_use]
pub fn at_datum(station: &Station, quantity: Quantity, typed: Typed) -> Pressure {
    typed.to_pressure() + correction(station, quantity)
}

/// The pressures to expect, as far as the definition and the entry allow.
///
/// Each gauge is expected from those before it: the interstage from the inlet reading (or the
/// usual range, when the inlet was not read), the outlet from the set point, the flow state and
/// the interstage reading (or what the inlet makes likely there).
///
/// # Formula
///
/// ```text
/// p2 = p1 / R  within  +-tolerance
/// p3 = set point +- band                       while p2 >= set point + minimum differential
/// min(set, p2 - minimum differential) - band <= p3 <= min(p2, set) + band      when starved
/// set point - band <= p3 <= set point + band + lock-up rise                    with no flow
/// ```
///
/// # Source
///
/// Working principle of the two stages; tolerances and lock-up rise are common practice, see
/// [`defaults`].
#[must_use]
pub fn expected(station: &Station, entry: &Entry) -> Expected {
    let read = |quantity| {
        entry
            .get(quantity)
            .map(|typed| at_datum(station, quantity, typed))
    };
    let inlet = usual_range(station);
    let interstage = from_ratio(station, read(Quantity::Inlet), inlet);
    let supply = read(Quantity::Interstage).or(interstage.map(|band| band.target));
    let (state, outlet) = from_set_point(station, entry.flow, supply);
    Expected {
        state,
        inlet,
        interstage,
        outlet,
    }
}

fn usual_range(station: &Station) -> Option<Expectation> {
    let usual = station.inlet_usual;
    let (low, high) = (usual.low.to_pressure(), usual.high.to_pressure());
    (low <= high && high > Pressure::ZERO).then(|| Expectation {
        basis: Basis::UsualRange,
        low,
        target: usual.middle(),
        high,
    })
}

fn from_ratio(
    station: &Station,
    inlet: Option<Pressure>,
    usual: Option<Expectation>,
) -> Option<Expectation> {
    let ratio = station.first_stage.ratio_in_use()?;
    let tolerance = station.first_stage.tolerance_fraction();
    let divided = |inlet: Pressure, share: f64| {
        Pressure::from_f64_pa(inlet.as_f64_pa().max(0.0) / ratio * share).unwrap_or(Pressure::ZERO)
    };
    let band = |basis, low, target, high| Expectation {
        basis,
        low: divided(low, 1.0 - tolerance),
        target: divided(target, 1.0),
        high: divided(high, 1.0 + tolerance),
    };
    match (inlet, usual) {
        (Some(p1), _) if station.first_stage.as_left_ratio.is_some() => {
            Some(band(Basis::AsLeftRatio, p1, p1, p1))
        }
        (Some(p1), _) => Some(band(Basis::NominalRatio, p1, p1, p1)),
        (None, Some(usual)) => Some(band(
            Basis::UsualRangeThroughRatio,
            usual.low,
            usual.target,
            usual.high,
        )),
        (None, None) => None,
    }
}

/// The pressure below which the second stage is starved.
pub(super) fn needed_supply(station: &Station) -> Pressure {
    let second = &station.second_stage;
    second.set_point.to_pressure() + second.minimum_differential.to_pressure()
}

fn from_set_point(
    station: &Station,
    flow: FlowState,
    supply: Option<Pressure>,
) -> (StationState, Option<Expectation>) {
    let second = &station.second_stage;
    let set_point = second.set_point.to_pressure();
    let band = second.band.to_pressure().max(Pressure::ZERO);
    let starved_by = supply.filter(|&supply| supply < needed_supply(station));
    let state = match (flow, starved_by) {
        (FlowState::Still, _) => StationState::LockUp,
        (_, Some(_)) => StationState::Starved,
        (_, None) => StationState::Normal,
    };
    if set_point <= Pressure::ZERO {
        return (state, None);
    }
    // What a wide-open second stage leaves of the supply at the least.
    let least = match starved_by {
        Some(supply) => set_point.min(supply - second.minimum_differential.to_pressure()),
        None => set_point,
    };
    let low = (least - band).max(Pressure::ZERO);
    let expectation = match (state, starved_by) {
        (StationState::Starved, Some(supply)) => {
            let most = supply.min(set_point).max(Pressure::ZERO);
            let high = most + band;
            let target = most;
            Expectation {
                basis: Basis::FollowsInterstage,
                low: low.min(high),
                target,
                high,
            }
        }
        (StationState::LockUp, _) => {
            let rise = set_point.as_f64_pa() * defaults::LOCK_UP_RISE_SHARE;
            let high = set_point + band + Pressure::from_f64_pa(rise).unwrap_or(Pressure::ZERO);
            Expectation {
                basis: Basis::LockUp,
                low,
                target: set_point,
                high,
            }
        }
        _ => Expectation {
            basis: Basis::SetPoint,
            low,
            target: set_point,
            high: set_point + band,
        },
    };
    (state, Some(expectation))
}
