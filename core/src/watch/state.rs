//! The state of a watch as bytes, so that it can be kept between runs.
//!
//! A cache, not a record: it says the same as the readings it came from. A state written by
//! another version is not read; the watch is then worked out again from the readings.

use super::channel::{Assumption, Channel, Kept, Sums};
use super::condition::{Condition, StuckCondition};
use super::setting::{Prior, Scale, Setting};
use super::stuck::Repeats;
use super::watcher::Watch;
use super::whiten::{Memory, Whitener};
use crate::stored::{Stored, stored, take};

/// Changes whenever the rules or this layout change, so that stale states are not used.
pub(crate) const VERSION: u8 = 4;

stored!(Scale: low_pa, span_pa, step_pa, look_pa, class_pa, head_pa);
stored!(Setting: inlet_usual_pa, ratio, set_point_pa, minimum_differential_pa, scales);
stored!(Prior: spread, level, white_share);
stored!(Memory: value, one, variance, is_begun);
stored!(Whitener: weekly_correlation, white_share);
stored!(Sums: count, squares, cross, ones, ln_variance);
stored!(Assumption: whitener, ln_prior, memory, sums, judged_memory, judged);
stored!(Kept: weeks, value);
stored!(
    Channel: prior, assumptions, best, recent, settled_weeks, judged_weeks, frozen_from_weeks
);
stored!(Repeats: last_pa, run, seen, expected, least_pa, changes);
stored!(Condition: cause, onset_weeks, flagged_weeks, shift, calm_from_weeks);
stored!(StuckCondition: flagged_weeks);

stored!(
    Watch: setting, began, last_weeks, channels, wild, repeats, standing, stuck
);

impl Watch {
    /// The state as bytes.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = vec![VERSION];
        self.write(&mut out);
        out
    }

    /// Reads a state; `None` where it is damaged or of another version, and then the watch is to
    /// be worked out again from the readings.
    #[must_use]
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let mut from = bytes;
        if take::<1>(&mut from)? != [VERSION] {
            return None;
        }
        let watch = Self::read(&mut from)?;
        from.is_empty().then_some(watch)
    }
}
