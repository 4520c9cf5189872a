//! What a reading means: the pressures to expect, how sure one can be, and the verdict.
//!
//! [`judge`] takes a station and an [`Entry`] and answers a [`Judgement`]: per gauge the expected
//! band, the reading brought to the station datum, every contribution to its uncertainty, the
//! probability that the true value lies in the band, and the [`Verdict`]. The arithmetic comes as
//! data ([`Judged::steps`]), so a screen and a file can show the same figures.
//!
//! Everything is total: any station and any entry, however absurd, gives finite numbers or
//! "no expectation". Not here: whether the entry was mistyped (see [`crate::slips`]), and whether
//! the station is drifting.

mod budget;
mod entry;
mod expected;
mod judgement;
mod normal;
mod ratio;
mod steps;
mod student;
#[cfg(test)]
mod tests;

pub use budget::{Contribution, Shape, Source, combined};
pub use entry::{Entry, FlowState};
pub use expected::{Basis, Expectation, Expected, StationState, at_datum, expected};
pub use judgement::{
    Judged, Judgement, OUTSIDE_AT_MOST, Verdict, WITHIN_AT_LEAST, conformance_probability, judge,
};
pub use normal::{normal_between, normal_cdf, normal_pdf, normal_quantile};
pub use ratio::{RatioRead, ratio_read};
pub use steps::{Amount, Step, StepKind, Term};
pub use student::{student_cdf, student_log_pdf, student_quantile, welch_satterthwaite};
