//! What may be behind a condition, how probable each cause is, and what to check next.
//!
//! Pure rules over what `watch` found. Wording for people is not here.

mod cause;
mod check;
mod rank;
mod sign;

pub use cause::{Cause, UnknownCause};
pub use check::{Advice, Caution, Check, next_checks};
pub use rank::{Ranking, Suspect};
pub use sign::Sign;
