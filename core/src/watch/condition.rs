//! A condition that was flagged and stands: whether it clears, grows worse or becomes the usual.
//!
//! So that a condition is said once and not at every visit.

use super::channel::Channel;
use super::view::View;
use crate::suspects::Cause;

/// Visits averaged to see where a quantity stands now.
const NOW_VISITS: usize = 3;

/// Visits that must be calm before a condition counts as cleared.
const CALM_VISITS: usize = 4;

/// A quantity is calm when this share of the flagged shift is not reached any more,
const CALM_SHARE: f64 = 0.35;

/// or when the shift is less than so many of its standard deviations.
const CALM_DEVIATIONS: f64 = 1.0;

/// Clearly worse means larger by this factor,
const WORSE_FACTOR: f64 = 1.5;

/// and by so many standard deviations of the average.
const WORSE_DEVIATIONS: f64 = 2.0;

/// After so many visits without growing worse the new level is the usual one: half a year of
/// weekly rounds in which nobody acted on it.
const ACCEPTED_AFTER: usize = 26;

/// A standing condition of one quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Condition {
    pub cause: Cause,
    /// When it began.
    pub onset_weeks: f64,
    /// When it was last flagged.
    pub flagged_weeks: f64,
    /// How far the quantity was off when last flagged.
    pub shift: f64,
    /// From when the visits count as calm again, once cleared.
    pub calm_from_weeks: f64,
}

/// A gauge that was flagged as stuck.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct StuckCondition {
    /// When it was flagged.
    pub flagged_weeks: f64,
}

/// What became of a condition.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Course {
    GoesOn,
    Cleared,
    Accepted,
    Worse,
}

/// Average distance of the newest values from the baseline, and how many there were.
///
/// At most `most` values from `since_weeks` on.
fn shift_now(
    view: &View,
    channel: &Channel,
    onset_weeks: f64,
    since_weeks: f64,
    most: usize,
) -> Option<(f64, usize, f64)> {
    let level = view.fit(view.index_of(onset_weeks)).level;
    let (mut sum, mut count, mut earliest) = (0.0, 0, since_weeks);
    for kept in channel.recent.iter().rev() {
        if kept.weeks < since_weeks || count == most {
            break;
        }
        if let Some(value) = kept.value {
            sum += value - level;
            count += 1;
            earliest = kept.weeks;
        }
    }
    #[allow(clippy::cast_precision_loss, reason = "a handful of visits")]
    (count > 0).then(|| (sum / count as f64, count, earliest))
}

impl Condition {
    pub fn new(cause: Cause, onset_weeks: f64, weeks: f64, view: &View, channel: &Channel) -> Self {
        let shift = shift_now(view, channel, onset_weeks, onset_weeks, NOW_VISITS)
            .map_or(0.0, |(shift, ..)| shift);
        Self {
            cause,
            onset_weeks,
            flagged_weeks: weeks,
            shift,
            calm_from_weeks: weeks,
        }
    }

    /// Looks at the newest visit and says what became of the condition.
    pub fn follow(&mut self, view: &View, channel: &Channel, weeks: f64) -> Course {
        let spread = view.fit(view.index_of(self.onset_weeks)).variance().sqrt();
        // Strictly after the flag: the values that raised it are biased upwards.
        let after = self.flagged_weeks + 1e-9;
        if let Some((shift, count, from)) =
            shift_now(view, channel, self.onset_weeks, after, CALM_VISITS)
            && count == CALM_VISITS
            && shift.abs() < (CALM_SHARE * self.shift.abs()).max(CALM_DEVIATIONS * spread / 2.0)
        {
            self.calm_from_weeks = from;
            return Course::Cleared;
        }
        if let Some((shift, count, _)) =
            shift_now(view, channel, self.onset_weeks, after, NOW_VISITS)
            && count == NOW_VISITS
        {
            let growth = shift.abs() - self.shift.abs();
            #[allow(clippy::cast_precision_loss, reason = "three visits")]
            let least = WORSE_DEVIATIONS * spread / (NOW_VISITS as f64).sqrt();
            if growth > least && shift.abs() > WORSE_FACTOR * self.shift.abs() {
                self.shift = shift;
                self.flagged_weeks = weeks;
                return Course::Worse;
            }
        }
        let since = channel
            .recent
            .iter()
            .filter(|kept| kept.weeks > self.flagged_weeks)
            .count();
        if since + 1 >= ACCEPTED_AFTER {
            Course::Accepted
        } else {
            Course::GoesOn
        }
    }
}
