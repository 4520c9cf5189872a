//! The one allowed encoding: a narrow, deterministic profile of CBOR (RFC 8949 section 4.2.1).
//!
//! Shortest heads, definite lengths, map keys that are unsigned integers and strictly rise, no
//! floats, one tag (4, decimal fraction). One value has exactly one form, so a hash over the
//! bytes is a hash over the meaning. [`Encoder`] writes only that form, [`Reader`] and [`scan`]
//! refuse everything else and never reserve memory from a declared length.
//!
//! Not here: what the keys mean. That is the caller's business.

mod decimal;
mod diagnostic;
mod encoder;
mod reader;
mod scan;

pub use decimal::Decimal;
pub use diagnostic::{to_diagnostic, to_value};
pub use encoder::Encoder;
pub use reader::{Kind, Reader};
pub(crate) use scan::{BYTES, head};
pub use scan::{Limits, scan, scan_prefix};

#[cfg(test)]
mod tests;
