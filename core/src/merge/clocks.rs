//! When something really happened, where a device's clock disagrees with what an office's clock says
//! of it. A pure function of the records of one log and of the observations about its clock.
//!
//! Within one running period of a device its monotonic clock is right, so one observation places every
//! record of that period: "not before" bounds the difference between the office's time and the
//! monotonic clock from below, "not after" from above, "at" from both. A period without an observation
//! of its own lies between its neighbours in the log. A wall clock that fits its bounds is believed as
//! it is; one that does not is moved as little as the bounds ask. No time is ever taken from another
//! device's wall clock but the office's, and nothing is changed in the records: what the clock showed
//! stays readable.

use std::collections::BTreeMap;

use winze_sync_format::{ClockReading, RecordRef};

use crate::record::Side;

/// A record with what the clocks of its device showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClockFact {
    /// The record.
    pub at: RecordRef,
    /// Its clocks.
    pub clock: ClockReading,
}

/// One observation of the device's clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClockSeen {
    /// The running period of the device.
    pub boot: [u8; 16],
    /// Its monotonic clock, milliseconds within that period.
    pub monotonic_ms: u64,
    /// The office's wall clock, milliseconds since 1970.
    pub office_ms: i64,
    /// On which side of it the moment lies.
    pub side: Side,
}

/// When a record was made, where its wall clock does not fit what is known of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CorrectedTime {
    /// The time worked out, milliseconds since 1970.
    pub ms: i64,
    /// The earliest it can have been, where known.
    pub low_ms: Option<i64>,
    /// The latest it can have been, where known.
    pub high_ms: Option<i64>,
}

/// Bounds of the difference between the office's time and a monotonic clock, in milliseconds. Wide
/// numbers, as both come from outside and may be anything.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Bounds {
    low: Option<i128>,
    high: Option<i128>,
}

impl Bounds {
    fn holds(self, difference: i128) -> bool {
        self.low.is_none_or(|low| low <= difference)
            && self.high.is_none_or(|high| difference <= high)
    }

    fn nearest(self, difference: i128) -> i128 {
        let raised = self.low.map_or(difference, |low| difference.max(low));
        self.high.map_or(raised, |high| raised.min(high))
    }

    fn raise(&mut self, low: i128) {
        self.low = Some(self.low.map_or(low, |known| known.max(low)));
    }

    fn lower(&mut self, high: i128) {
        self.high = Some(self.high.map_or(high, |known| known.min(high)));
    }

    /// Observations by two offices whose own clocks differ may cross: then the truth is taken to lie
    /// between them.
    fn uncrossed(self) -> Self {
        match (self.low, self.high) {
            (Some(low), Some(high)) if low > high => Self {
                low: Some(high),
                high: Some(low),
            },
            _ => self,
        }
    }
}

/// One running period: its records in order of the log, and what bounds it.
struct Period {
    facts: Vec<ClockFact>,
    bounds: Bounds,
    /// Whether an observation falls into it.
    is_seen: bool,
    /// How far its wall clock was ahead, at its first and last record; where it was seen.
    ahead: Option<(i128, i128)>,
}

/// Works out which records of a log were made at another time than their wall clock showed.
///
/// # Shape
/// `facts` are the records of one log and `seen` what counts of the observations about it, both in any
/// order and with or without repetitions. `is_forked` when two devices wrote the log: then the order of
/// its places says nothing about time.
#[must_use]
pub fn corrected_times(
    facts: &[ClockFact],
    seen: &[ClockSeen],
    is_forked: bool,
) -> BTreeMap<RecordRef, CorrectedTime> {
    if seen.is_empty() {
        return BTreeMap::new();
    }
    let mut periods = periods_of(facts, seen);
    if !is_forked {
        bound_by_neighbours(&mut periods);
    }
    for period in &mut periods {
        period.bounds = period.bounds.uncrossed();
        if period.is_seen {
            let ahead = |fact: &ClockFact| {
                let shown = difference(fact);
                shown - period.bounds.nearest(shown)
            };
            period.ahead = (period.facts.first().map(&ahead)).zip(period.facts.last().map(&ahead));
        }
    }
    let mut corrected = BTreeMap::new();
    for (place, period) in periods.iter().enumerate() {
        let carried = carried_error(&periods, place);
        for fact in &period.facts {
            let shown = difference(fact);
            let right = right_difference(period, fact, carried);
            if right != shown {
                let time =
                    |difference: i128| clamped(i128::from(fact.clock.monotonic_ms) + difference);
                let corrected_time = CorrectedTime {
                    ms: time(right),
                    low_ms: period.bounds.low.map(time),
                    high_ms: period.bounds.high.map(time),
                };
                corrected.insert(fact.at, corrected_time);
            }
        }
    }
    corrected
}

/// What the wall clock says of the difference between time and the monotonic clock.
fn difference(fact: &ClockFact) -> i128 {
    i128::from(fact.clock.wall_ms) - i128::from(fact.clock.monotonic_ms)
}

fn clamped(ms: i128) -> i64 {
    i64::try_from(ms).unwrap_or(if ms < 0 { i64::MIN } else { i64::MAX })
}

fn periods_of(facts: &[ClockFact], seen: &[ClockSeen]) -> Vec<Period> {
    let mut sorted = facts.to_vec();
    sorted.sort_by_key(|fact| fact.at);
    sorted.dedup_by_key(|fact| fact.at);
    let mut places: BTreeMap<[u8; 16], usize> = BTreeMap::new();
    let mut periods: Vec<Period> = Vec::new();
    for fact in sorted {
        let place = *places.entry(fact.clock.boot).or_insert(periods.len());
        if place == periods.len() {
            periods.push(Period {
                facts: Vec::new(),
                bounds: Bounds::default(),
                is_seen: false,
                ahead: None,
            });
        }
        periods[place].facts.push(fact);
    }
    for one in seen {
        let Some(place) = places.get(&one.boot) else {
            continue;
        };
        let period = &mut periods[*place];
        let difference = i128::from(one.office_ms) - i128::from(one.monotonic_ms);
        period.is_seen = true;
        if one.side != Side::NotAfter {
            period.bounds.raise(difference);
        }
        if one.side != Side::NotBefore {
            period.bounds.lower(difference);
        }
    }
    periods
}

/// Bounds what no observation bounds by the periods before and after it in the log.
fn bound_by_neighbours(periods: &mut [Period]) {
    let own: Vec<Bounds> = periods.iter().map(|period| period.bounds).collect();
    let moment = |fact: &ClockFact| i128::from(fact.clock.monotonic_ms);
    let mut earliest: Option<i128> = None;
    for (place, period) in periods.iter_mut().enumerate() {
        if own[place].low.is_none()
            && let (Some(earliest), Some(first)) = (earliest, period.facts.first())
        {
            period.bounds.raise(earliest - moment(first));
        }
        if let (Some(low), Some(last)) = (own[place].low, period.facts.last()) {
            let reached = low + moment(last);
            earliest = Some(earliest.map_or(reached, |known| known.max(reached)));
        }
    }
    let mut latest: Option<i128> = None;
    for (place, period) in periods.iter_mut().enumerate().rev() {
        if own[place].high.is_none()
            && let (Some(latest), Some(last)) = (latest, period.facts.last())
        {
            period.bounds.lower(latest - moment(last));
        }
        if let (Some(high), Some(first)) = (own[place].high, period.facts.first()) {
            let begun = high + moment(first);
            latest = Some(latest.map_or(begun, |known| known.min(begun)));
        }
    }
}

/// How far the wall clock was ahead in the next period that was seen, else in the one before.
fn carried_error(periods: &[Period], place: usize) -> i128 {
    let later = periods[place..].iter().find_map(|period| period.ahead);
    let earlier = || {
        periods[..place]
            .iter()
            .rev()
            .find_map(|period| period.ahead)
    };
    later
        .map(|(first, _)| first)
        .or_else(|| earlier().map(|(_, last)| last))
        .unwrap_or(0)
}

/// The difference to go by for one record.
fn right_difference(period: &Period, fact: &ClockFact, carried: i128) -> i128 {
    let shown = difference(fact);
    let bounds = period.bounds;
    if period.is_seen {
        if bounds.holds(shown) {
            return shown;
        }
        // A clock that jumped and was right before or after: the monotonic clock carries it over.
        let right = period
            .facts
            .iter()
            .filter(|other| bounds.holds(difference(other)));
        let distance =
            |other: &&ClockFact| other.clock.monotonic_ms.abs_diff(fact.clock.monotonic_ms);
        return right
            .min_by_key(distance)
            .map_or_else(|| bounds.nearest(shown), difference);
    }
    if bounds == Bounds::default() {
        // Nothing bounds it: the time is uncertain, and it still counts as it is.
        return shown;
    }
    // A clock is wrong by the same amount until somebody sets it. One that was ahead and still fits
    // its bounds is taken to be ahead still, if it then fits them too.
    let set_right = shown - carried;
    if carried > 0 && bounds.holds(set_right) {
        return set_right;
    }
    if bounds.holds(shown) {
        return shown;
    }
    if bounds.holds(set_right) {
        return set_right;
    }
    bounds.nearest(shown)
}

#[cfg(test)]
#[path = "clocks_tests.rs"]
mod tests;
