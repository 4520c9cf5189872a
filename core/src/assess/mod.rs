//! Everything the tool raises about a station's readings, visit by visit: slips of the pen, change
//! over time, stuck gauges, and pressures outside their band.
//!
//! One [`Assessor`] per station takes the readings in order and answers what each of them raises.
//! Pure: it knows no store and no clock, and uses nothing that was not known at the visit.

mod assessor;
mod outside;
mod raised;
#[cfg(test)]
mod tests;

pub use assessor::Assessor;
pub use raised::{Raised, RaisedRule};
