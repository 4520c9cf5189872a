//! How a statement is written down, identified, signed, carried, checked and salvaged.
//!
//! This crate is the ground floor: it knows envelopes, ids, signatures and opaque bodies. It
//! does not know what a body means, keeps no database, reads no clock and never speaks to the
//! user. The caller passes times and paths; `SPEC.md` beside this crate is the normative text.
//!
//! Where to start: [`seal`] turns a [`Draft`] into a [`SignedRecord`], [`open_item`] is the way
//! back, [`segment`] keeps records on disk, [`bundle`] carries them, [`canonical`] is the one
//! allowed encoding underneath.

pub mod bundle;
pub mod canonical;
pub mod disk;
mod error;
mod id;
mod item;
mod key;
mod record;
pub mod salvage;
#[cfg(test)]
mod samples;
pub mod segment;
mod words;

pub use canonical::Decimal;
pub use error::{Error, Result};
pub use id::{LogId, RecordId, RecordRef};
pub use item::{
    MARK, NewerItem, Opened, Unverified, Verifier, open_item, parse_item, peek_ref, seal,
};
pub use key::LogKey;
pub use record::{
    ClockReading, ClockStatus, Draft, FORMAT_VERSION, KIND_BUNDLE_HEADER, KIND_BUNDLE_TRAILER,
    LogHead, MAX_RECORD_BYTES, MAX_REFS, Record, SignedRecord, must_be_understood,
};
pub use words::{WORDS, words_for};
