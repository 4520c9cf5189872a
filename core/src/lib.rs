//! What Winze's statements mean: pressures, stations, verdicts, slips, the logbook and merge.
//!
//! Pure rules ([`units`], [`station`], [`verdict`], [`slips`]) know no database, clock, screen or
//! file. Text for people is made in the app, never here.

pub mod sheet;
pub mod simulate;
pub mod slips;
pub mod station;
pub mod suspects;
pub mod units;
pub mod verdict;
