//! Power cuts and process kills, played through in memory.
//!
//! A logbook works on a [`PowerDisk`], which lies below both its segments and its database and writes
//! down every write, sync and change of name. From that trace [`Medium`] makes the images that a
//! crash at any moment may leave on a medium, and [`check`] opens the logbook on each: everything
//! that was promised must be there, in both witnesses.
//!
//! What a crash may leave: bytes last once their file was synced, names once their folder was. Of
//! what was not, any part may be there: each write wholly, by sectors of 512 bytes or not at all,
//! a file grown with zeros in place of its bytes, names changed up to any point or out of order.
//!
//! Not for real kills of real processes (`tests/it`) and not for what records come to.

mod check;
mod content;
mod disk;
mod images;
mod medium;
mod probe;
mod run;
mod vfs;
mod work;

pub use check::{Broken, Promised, check};
pub use content::Content;
pub use disk::{Event, Lie, Mark, Operation, PowerDisk};
pub use images::{Cut, Numbers};
pub use medium::Medium;
pub use probe::{Probe, probe};
pub use run::{Count, Plan, Violation, run};
pub use work::{Kind, Recorded, acknowledged_early, record};

/// Invented stations and readings.
pub mod samples {
    pub use crate::work::{MONDAY_MS, plain_entry, reading, station};
}
