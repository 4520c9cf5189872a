//! Tests of the logbook on disk, from single crashes to whole histories.

mod attachments;
mod backup;
mod crash;
mod disk_full;
mod disputes;
mod judged;
mod laws;
mod merging;
mod new_log;
mod open;
mod orders;
mod sim;
mod story;
mod times;
pub(crate) mod working;
mod world;

use super::facts::stored_item as stored;
