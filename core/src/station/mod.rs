//! What a station is: its gauges, its two stages, where it stands, and what must hold of them.
//!
//! In flow order: inlet gauge, first stage (proportional, fixed ratio), interstage gauge, second
//! stage (pilot-operated, adjustable), outlet gauge. A definition is revised, never edited; which
//! revision a reading was judged against is kept by the records, not here. Start at [`Station`];
//! [`Station::problems`] says what is wrong with one, [`defaults`] fills in what a sheet leaves out.

mod code;
pub mod defaults;
mod definition;
mod gauge;
mod problem;
mod site;
mod stage;
#[cfg(test)]
mod tests;

pub use code::{CodeError, StationCode};
pub use definition::{Station, UsualRange};
pub use gauge::{AsmeGrade, Gauge, Quantity};
pub use problem::{Problem, StationField};
pub use site::{Duty, Site};
pub use stage::{FirstStage, SecondStage, Valve};
