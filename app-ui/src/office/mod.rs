//! The office window without a window: where the clerk is, what was chosen, what is under way.
//!
//! Start at [`session::Session`]: intents in, views out. [`snapshot`] is what it knows of the
//! logbook, [`board`] what of upkeep, [`tray`] what it found in the tray folder, [`work`] what runs on a
//! thread of its own.
//! Nothing here knows Slint, and no rule about pressures or merging lives here.

pub mod board;
pub mod board_list;
pub mod cursor;
pub mod fleet_list;
pub mod folder;
#[cfg(test)]
pub(crate) mod samples;
#[cfg(test)]
pub(crate) mod scenario;
pub mod session;
pub mod snapshot;
pub mod tray;
#[cfg(test)]
pub(crate) mod upkeep_scenario;
pub mod work;
