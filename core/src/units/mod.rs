//! Pressures, the units they are read in, and the two fluids around them: water and air.
//!
//! What was typed is kept exactly ([`Typed`]: digits and unit); what is compared and added is
//! [`Pressure`], a gauge pressure in whole pascals. Water and air properties are here because a
//! column of water is a pressure and the cavitation check needs absolute ones.
//!
//! Not here: gauges and their errors (see [`crate::station`]), and any text for people.

mod atmosphere;
mod number;
mod pressure;
mod typed;
mod unit;
pub mod water;

pub use atmosphere::{air_pressure, air_pressure_at_geopotential};
pub use number::decimal_to_f64;
pub use pressure::Pressure;
pub use typed::Typed;
pub use unit::{Unit, UnknownUnit};
