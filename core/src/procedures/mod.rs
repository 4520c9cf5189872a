//! Procedures: bring a station into service, recalibrate, clean, inspect, look round.
//!
//! Data, not code paths: [`procedure`] gives the steps with their needs, measures, ticks and
//! cautions as codes; what they say to people is the app's. [`state`] works out from the records
//! what is done, what comes next and what blocks. Pure: no clock, no store, no text for people.
//!
//! # The rules in short
//!
//! - Each step is a record, and so is each turn of a calibration. What is left open is resumed from
//!   the records alone, on any tablet.
//! - A step record names the records of the steps it needs. It stands while it was not taken back,
//!   says what its step asks, and all it rests on stands: undoing a step opens again what depended
//!   on it. Nothing is erased.
//! - A step done before steps that come first, passed over, or done although the figures say stop
//!   counts only with a stated reason; some needs no reason can replace.
//! - The state is a function of the set of records. Two tablets that record the same step agree, or
//!   the step is *disputed* until one of the records is undone; nothing is complete with a dispute.
//! - A procedure is completed by a record that names those it rests on. It counts only while nothing
//!   required is lacking among them, so no order of arrival and no late undoing leaves a station
//!   "in service" with a required step open.

mod bases;
mod check;
mod codes;
mod data;
mod error;
mod fact;
mod fit;
mod list;
mod measure;
mod outcome;
mod state;
mod step;
#[cfg(test)]
mod tests;
mod weigh;

pub use crate::calibration::{DrawOff, Point, Steadiness};
pub use bases::{bases_of_end, bases_of_step};
pub use check::{Attempt, Unfit};
pub use codes::{
    Branch, Caution, OpenReason, ProcedureCode, Reason, ReasonCode, StepCode, TickCode,
};
pub use data::{EDITION, in_edition, procedure};
pub use error::ProcedureError;
pub use fact::{Says, StepFact};
pub use fit::{Compatibility, Fit, FitQuestion, Level, compatibility, left, shown, worst};
pub use measure::{Air, Dirt, Inside, Measurand, MeasureCode, Measured, Value, flow_state};
pub use outcome::{RestartFrom, ratio_left, restart_of, revised};
pub use state::{
    ClosedBy, Closing, EndIgnored, ProcedureState, StepEntry, StepState, Way, entry_of, state,
};
pub use step::{Act, Measure, Procedure, Step};
pub use weigh::{Standing, StepStatus};
