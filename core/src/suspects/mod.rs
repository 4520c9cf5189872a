//! What may be behind a condition, how probable each cause is, and what to check next.
//!
//! Pure rules over what [`crate::watch`] found. [`Cause`] is the closed list with its stable codes;
//! [`Ranking`] holds the probabilities, which signs ([`Ranking::with_sign`]) and answered checks
//! ([`Ranking::after`]) move; [`next_checks`] says what is worth doing next, with its time and its
//! cautions. Wording for people is not here.

mod cause;
mod check;
mod rank;
mod sign;

pub use cause::{Cause, UnknownCause};
pub use check::{Advice, Caution, Check, next_checks};
pub use rank::{Ranking, Suspect};
pub use sign::Sign;
