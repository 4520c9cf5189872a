//! What may be behind a condition, how probable each cause is, and what to check next.
//!
//! Pure rules over what `watch` found. Wording for people is not here.

mod cause;
mod rank;

pub use cause::{Cause, UnknownCause};
pub use rank::{Ranking, Suspect};
