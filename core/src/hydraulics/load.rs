//! What each stage carries at one inlet pressure, whatever the flow.
//!
//! Not here: flows and coefficients; see [`super::duty`].

use super::cavitation::{onset_sigma, pressure_ratio, sigma, sigma_downstream};
use super::duty::StageDuty;
use super::figure::{Figure, Gap, Stage, both};
use super::inputs::{Inputs, StatedLimit};
use super::liquid::{Absolute, Liquid, SizingError};
use crate::units::Pressure;

/// Where in the usual inlet range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum InletPoint {
    /// Its lower end.
    Low,
    /// Its middle.
    Usual,
    /// Its upper end.
    High,
}

impl InletPoint {
    /// The three, lowest first.
    pub const ALL: [Self; 3] = [Self::Low, Self::Usual, Self::High];

    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::Usual => "usual",
            Self::High => "high",
        }
    }
}

/// What kind of cavitation limit the maker states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LimitKind {
    /// The smallest sigma permitted in service.
    Permitted,
    /// The sigma at which cavitation begins, from xFz: stricter than a damage limit.
    Onset,
}

impl LimitKind {
    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Permitted => "permitted",
            Self::Onset => "onset",
        }
    }
}

/// The sigma a stage is held against: its own maker's figure, never a generic band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SigmaLimit {
    /// What the maker states.
    pub kind: LimitKind,
    /// The limit on sigma = (p1 - pv)/(p1 - p2).
    pub sigma: f64,
}

/// How a stage stands with cavitation.
#[derive(Debug, Clone, PartialEq)]
pub struct Cavitation {
    /// The cavitation index (p1 - pv)/(p1 - p2), absolute pressures.
    pub sigma: f64,
    /// The other index in use, (p2 - pv)/(p1 - p2); exactly 1 less.
    pub sigma_downstream: f64,
    /// The ratio xF, one over sigma.
    pub pressure_ratio: f64,
    /// The limit it is held against.
    pub limit: Figure<SigmaLimit>,
}

impl Cavitation {
    /// Whether sigma keeps to the limit.
    ///
    /// # Errors
    ///
    /// The [`Gap`] of the limit where the maker's figure is missing.
    pub fn keeps_limit(&self) -> Figure<bool> {
        self.limit.clone().map(|limit| self.sigma >= limit.sigma)
    }
}

/// The drop from which a stage is choked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChokedDrop {
    /// That drop.
    pub drop: Pressure,
    /// Whether the stage's own drop reaches it.
    pub is_reached: bool,
}

/// One stage at one inlet pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct StageLoad {
    /// Which stage.
    pub stage: Stage,
    /// Pressure before it.
    pub upstream: Pressure,
    /// Pressure after it, never above the one before.
    pub downstream: Pressure,
    /// Its drop, never negative.
    pub drop: Pressure,
    /// Its share of the whole drop, and so of the power, 0 to 1.
    pub share: Figure<f64>,
    /// How it stands with cavitation.
    pub cavitation: Figure<Cavitation>,
    /// The drop from which it is choked.
    pub choked: Figure<ChokedDrop>,
    /// Its work at the duty flows: smallest, usual, largest.
    pub duties: [StageDuty; 3],
}

/// The station at one inlet pressure, with flow.
#[derive(Debug, Clone, PartialEq)]
pub struct InletCase {
    /// Where in the usual range.
    pub point: InletPoint,
    /// Inlet pressure.
    pub inlet: Pressure,
    /// Interstage pressure, inlet over ratio.
    pub interstage: Pressure,
    /// Outlet pressure: the set point, or the interstage pressure where that is lower.
    pub outlet: Pressure,
    /// Whether the interstage pressure is below set point plus minimum differential: the second
    /// stage is then wide open and does not hold the set point, which its figures assume.
    pub is_starved: bool,
    /// The first stage.
    pub first: StageLoad,
    /// The second stage.
    pub second: StageLoad,
}

impl InletCase {
    /// One of the stages.
    #[must_use]
    pub const fn stage(&self, stage: Stage) -> &StageLoad {
        match stage {
            Stage::First => &self.first,
            Stage::Second => &self.second,
        }
    }
}

/// Inlet over ratio.
pub(super) fn interstage(inputs: &Inputs, inlet: Pressure) -> Pressure {
    Pressure::from_f64_pa(inlet.as_f64_pa() / inputs.ratio).unwrap_or(Pressure::ZERO)
}

/// The station at one inlet pressure.
pub(super) fn inlet_case(inputs: &Inputs, point: InletPoint, inlet: Pressure) -> InletCase {
    let interstage = interstage(inputs, inlet);
    let outlet = inputs.set_point.min(interstage);
    let whole = inlet - outlet;
    let stage =
        |stage, upstream, downstream| stage_load(inputs, stage, upstream, downstream, whole);
    InletCase {
        point,
        inlet,
        interstage,
        outlet,
        is_starved: interstage < inputs.needed_supply,
        first: stage(Stage::First, inlet, interstage),
        second: stage(Stage::Second, interstage, outlet),
    }
}

fn stage_load(
    inputs: &Inputs,
    stage: Stage,
    upstream: Pressure,
    downstream: Pressure,
    whole: Pressure,
) -> StageLoad {
    let drop = upstream - downstream;
    let share = if whole > Pressure::ZERO {
        Ok(drop.as_f64_pa() / whole.as_f64_pa())
    } else {
        Err(Gap::NoDrop)
    };
    StageLoad {
        stage,
        upstream,
        downstream,
        drop,
        share,
        cavitation: cavitation(inputs, stage, upstream, downstream),
        choked: choked(inputs, stage, upstream, downstream),
        duties: StageDuty::at_flows(inputs, stage, upstream, downstream),
    }
}

/// The water and the two pressures as absolute ones.
pub(super) fn absolute(
    inputs: &Inputs,
    upstream: Pressure,
    downstream: Pressure,
) -> Figure<(Liquid, Absolute, Absolute)> {
    if upstream <= downstream {
        return Err(Gap::NoDrop);
    }
    let air = inputs.conditions.air_pressure_pa.clone();
    let (liquid, air) = both(inputs.liquid.clone(), air)?;
    let upstream = Absolute::from_gauge(upstream, air).map_err(gap)?;
    let downstream = Absolute::from_gauge(downstream, air).map_err(gap)?;
    Ok((liquid, upstream, downstream))
}

/// What an equation's refusal means for a figure, its inputs having been checked before.
pub(super) fn gap(error: SizingError) -> Gap {
    match error {
        SizingError::NoDrop { .. } | SizingError::BeyondFittings => Gap::NoDrop,
        SizingError::Boils { .. } | SizingError::OutOfRange { .. } => Gap::Boils,
    }
}

/// How a stage stands with cavitation between two pressures.
pub(super) fn cavitation(
    inputs: &Inputs,
    stage: Stage,
    upstream: Pressure,
    downstream: Pressure,
) -> Figure<Cavitation> {
    let (liquid, before, after) = absolute(inputs, upstream, downstream)?;
    Ok(Cavitation {
        sigma: sigma(&liquid, before, after).map_err(gap)?,
        sigma_downstream: sigma_downstream(&liquid, before, after).map_err(gap)?,
        pressure_ratio: pressure_ratio(&liquid, before, after).map_err(gap)?,
        limit: limit(inputs, stage, before),
    })
}

/// The limit of a stage with this pressure before it.
pub(super) fn limit(inputs: &Inputs, stage: Stage, upstream: Absolute) -> Figure<SigmaLimit> {
    match inputs.valve(stage).limit.clone()? {
        StatedLimit::Sigma(sigma) => Ok(SigmaLimit {
            kind: LimitKind::Permitted,
            sigma,
        }),
        StatedLimit::Xfz(xfz) => Ok(SigmaLimit {
            kind: LimitKind::Onset,
            sigma: onset_sigma(xfz, upstream).map_err(gap)?,
        }),
    }
}

/// The drop from which a stage is choked between two pressures.
pub(super) fn choked(
    inputs: &Inputs,
    stage: Stage,
    upstream: Pressure,
    downstream: Pressure,
) -> Figure<ChokedDrop> {
    let pressures = absolute(inputs, upstream, downstream);
    let ((liquid, before, after), fl) = both(pressures, inputs.valve(stage).fl.clone())?;
    let drop_pa = liquid.choked_drop_pa(before, fl).map_err(gap)?;
    Ok(ChokedDrop {
        drop: Pressure::from_f64_pa(drop_pa).unwrap_or(Pressure::ZERO),
        is_reached: before.pa() - after.pa() >= drop_pa,
    })
}
