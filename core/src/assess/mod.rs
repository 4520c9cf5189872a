//! Everything the tool raises about a station's readings, visit by visit: slips of the pen, change
//! over time, stuck gauges, and pressures outside their band; and what of it stands.
//!
//! Start at [`Chronicle`], which takes a station's events in order and keeps what stands. The
//! [`Assessor`] inside it knows readings only. [`outlook`](outlook()) looks ahead. Pure: no store
//! and no clock, and nothing is used that was not known at the visit.

mod assessor;
mod chronicle;
mod event;
mod outlook;
mod outside;
mod raised;
mod standing;
mod state;
#[cfg(test)]
mod tests;

pub use assessor::{Assessor, Taken};
pub use chronicle::{Chronicle, Told};
pub use event::{
    Answered, BaselineStart, BaselineWhy, Event, Restarted, Visited, Work, restarts_of_job,
};
pub use outlook::{Leaving, Outlook, OutlookPoint, outlook};
pub use raised::{Raised, RaisedRule};
pub use standing::Condition;
pub use state::Note;
