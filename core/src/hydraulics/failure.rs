//! What the pressures become when a stage sticks open.
//!
//! With no draw-off, the worst case for pressure: a stage stuck open then takes nothing off. The
//! inlet is at the upper end of its usual range; a supply that can go higher needs that range
//! widened. Whether a relief valve can pass what comes is not checked here.

use super::figure::{Figure, Stage, both};
use super::inputs::Inputs;
use super::load::{Cavitation, ChokedDrop, cavitation, choked, interstage};
use crate::station::{Quantity, Station};
use crate::units::Pressure;

/// Which stage is stuck open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Failed {
    /// The first: the second sees the inlet pressure.
    First,
    /// The second: the outlet sees the interstage pressure.
    Second,
    /// Both: the outlet sees the inlet pressure.
    Both,
}

impl Failed {
    /// The three cases.
    pub const ALL: [Self; 3] = [Self::First, Self::Second, Self::Both];

    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::First => "first-stage-open",
            Self::Second => "second-stage-open",
            Self::Both => "both-stages-open",
        }
    }
}

/// What stands between the failure and what is downstream.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Protection {
    /// The outlet pressure stays within what is permitted.
    WithinPermitted {
        /// How far below.
        margin: Pressure,
    },
    /// It would not, but the relief valve opens at or below what is permitted.
    ReliefOpens {
        /// Its set pressure.
        relief: Pressure,
    },
    /// It exceeds what is permitted and no relief valve opens in time.
    None {
        /// How far above.
        excess: Pressure,
        /// The relief valve's set pressure, where there is one: above what is permitted.
        relief: Option<Pressure>,
    },
}

impl Protection {
    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::WithinPermitted { .. } => "within-permitted",
            Self::ReliefOpens { .. } => "relief-opens",
            Self::None { .. } => "none",
        }
    }
}

/// A gauge that would be driven past its full scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OverrangedGauge {
    /// Which gauge.
    pub quantity: Quantity,
    /// The pressure it would see.
    pub pressure: Pressure,
    /// Its full scale.
    pub full_scale: Pressure,
}

/// The stage that still works, and what it then carries.
#[derive(Debug, Clone, PartialEq)]
pub struct Survivor {
    /// Which.
    pub stage: Stage,
    /// Pressure before it.
    pub upstream: Pressure,
    /// Pressure after it.
    pub downstream: Pressure,
    /// How it stands with cavitation as soon as water is drawn.
    pub cavitation: Figure<Cavitation>,
    /// The drop from which it is choked.
    pub choked: Figure<ChokedDrop>,
}

/// One failure and its consequences.
#[derive(Debug, Clone, PartialEq)]
pub struct FailureCase {
    /// What has failed.
    pub failed: Failed,
    /// Inlet pressure, the upper end of the usual range.
    pub inlet: Pressure,
    /// Interstage pressure then.
    pub interstage: Pressure,
    /// Outlet pressure then.
    pub outlet: Pressure,
    /// What protects the pipework after the station.
    pub protection: Figure<Protection>,
    /// The stage that still works; none when both have failed.
    pub survivor: Option<Survivor>,
    /// Gauges driven past their full scale.
    pub overranged: Vec<OverrangedGauge>,
}

/// One failure case.
pub(super) fn failure_case(station: &Station, inputs: &Inputs, failed: Failed) -> FailureCase {
    let [_, _, inlet] = inputs.inlets;
    let reduced = interstage(inputs, inlet);
    let (middle, outlet, surviving) = match failed {
        Failed::First => (inlet, inputs.set_point.min(inlet), Some(Stage::Second)),
        Failed::Second => (reduced, reduced, Some(Stage::First)),
        Failed::Both => (inlet, inlet, None),
    };
    let survivor = surviving.map(|stage| {
        let (upstream, downstream) = match stage {
            Stage::First => (inlet, middle),
            Stage::Second => (middle, outlet),
        };
        Survivor {
            stage,
            upstream,
            downstream,
            cavitation: cavitation(inputs, stage, upstream, downstream),
            choked: choked(inputs, stage, upstream, downstream),
        }
    });
    FailureCase {
        failed,
        inlet,
        interstage: middle,
        outlet,
        protection: protection(inputs, outlet),
        survivor,
        overranged: overranged(station, middle, outlet),
    }
}

fn protection(inputs: &Inputs, outlet: Pressure) -> Figure<Protection> {
    let (permitted, relief) = both(inputs.downstream_max.clone(), inputs.relief.clone())?;
    Ok(if outlet <= permitted {
        Protection::WithinPermitted {
            margin: permitted - outlet,
        }
    } else {
        match relief {
            Some(relief) if relief <= permitted => Protection::ReliefOpens { relief },
            relief => Protection::None {
                excess: outlet - permitted,
                relief,
            },
        }
    })
}

fn overranged(station: &Station, middle: Pressure, outlet: Pressure) -> Vec<OverrangedGauge> {
    [(Quantity::Interstage, middle), (Quantity::Outlet, outlet)]
        .into_iter()
        .map(|(quantity, pressure)| OverrangedGauge {
            quantity,
            pressure,
            full_scale: station.gauge(quantity).high.to_pressure(),
        })
        .filter(|gauge| gauge.pressure > gauge.full_scale)
        .collect()
}
