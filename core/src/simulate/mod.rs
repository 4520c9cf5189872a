//! Simulated stations with known faults: the proof of the watching rules, and the demo's history.
//!
//! Everything follows from a seed. Not for planning real stations: magnitudes are invented.
//! Start at [`station`] for one station or [`FleetPlan`] for many; [`Rig`] is a station that a
//! scripted operator brings into service.

mod conditions;
mod dice;
mod fault;
mod fleet;
mod pilot;
mod plant;
mod rig;
pub mod sheets;
mod slip;
mod station;
#[cfg(test)]
mod tests;

pub use conditions::Conditions;
pub use dice::Dice;
pub use fault::{Fault, FaultKind};
pub use fleet::FleetPlan;
pub use pilot::{Pilot, PilotConditions};
pub use rig::{Demand, IsolatingValve, Rig, RigConditions, RigStage, RigTruth, Vented};
pub use slip::{Slip, SlipKind, inject_slips};
pub use station::{SimulatedReading, SimulatedStation, StationPlan, station};
