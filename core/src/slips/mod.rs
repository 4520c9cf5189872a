//! Slips at entry: what was typed against what was probably meant.
//!
//! [`parse_entry`] reads the digits. [`first_doubt`] weighs the entry as typed against every slip
//! a hand can make (another unit, a lost or shifted decimal point, swapped, repeated, missing or
//! wrong digits, two gauges swapped) and answers the one plain question worth asking, with the
//! value probably meant. The operator's answer stands: an answered doubt is not raised again, and
//! nothing is refused for being bad news.
//!
//! Not here: whether a pressure is as it should be (see [`crate::verdict`]), and slow change.

mod candidates;
mod dials;
mod doubt;
mod parse;
mod predict;
mod score;
mod stuck;
mod weigh;
mod writing;

pub use doubt::{Answered, Doubt, DoubtKind, PastReading};
pub use parse::{ENTRY_LENGTH_MAX, EntryError, parse_entry};
pub use weigh::first_doubt;
