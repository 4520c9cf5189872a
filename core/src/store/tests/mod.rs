//! Tests of the logbook on disk, from single crashes to whole histories.

mod crash;
mod disk_full;
mod laws;
mod open;
mod story;
mod world;
