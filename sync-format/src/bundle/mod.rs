//! The file that travels: a header, records, a trailer and the trailer's offset.
//!
//! Header and trailer both name every record that belongs to the bundle, so that a bundle that
//! was cut short or damaged still says exactly what is missing. Records are useful without
//! either: every whole one is always found. Not here: which records to send, and what to do with
//! those that arrive.

mod gather;
mod parts;
mod ranges;
mod reader;
mod report;
mod writer;

pub use gather::{Gathered, Gatherer, Gathering};
pub use parts::{BundleHeader, BundleTrailer};
pub use ranges::{RangeSet, SeqRange};
pub use reader::{BundleEvent, BundleReader, read_bundle};
pub use report::{Bundle, BundleReport, MissingRange, TrailerFault, TrailerState};
pub use writer::{BundlePlan, Progress, Stage, WrittenBundle, write_bundle};

/// The end of a bundle's file name.
pub const EXTENSION: &str = "winze";
/// The end of the name of a bundle that is still being written.
pub const PART_EXTENSION: &str = "part";

#[cfg(test)]
mod tests;
