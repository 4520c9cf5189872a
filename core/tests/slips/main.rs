//! How well slips at entry are caught, measured on invented fleets, and single cases by name.
//!
//! The fleets are made here, apart from the rules they measure: see [`fleet`].

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "small counts and bits of chance"
)]
#![allow(clippy::disallowed_macros, reason = "the measured figures are printed")]

mod cases;
mod fleet;
mod inject;
mod measured;
mod verdicts;
