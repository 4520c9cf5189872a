//! What Winze's statements mean: pressures, stations, verdicts, slips, the logbook and merge.
//!
//! Pure rules ([`units`], [`station`], [`verdict`], [`slips`], [`hydraulics`]) know no database,
//! clock, screen or file. [`record`] gives the bodies of records their meaning, [`merge`] says what a set of records
//! comes to, [`store`] keeps a logbook, [`actions`] are the acts of its users and [`query`] answers
//! what screens, commands and reports ask. Text for people is made in the app, never here.

pub mod actions;
pub mod assess;
pub mod calibration;
pub mod clock;
mod error;
pub mod hydraulics;
pub mod merge;
pub mod procedures;
pub mod query;
pub mod record;
#[cfg(test)]
mod samples;
pub mod sheet;
pub mod simulate;
pub mod slips;
pub mod station;
pub mod store;
mod stored;
pub mod suspects;
pub mod units;
pub mod upkeep;
pub mod verdict;
pub mod watch;

pub use error::{Error, Result};
pub use store::Logbook;
