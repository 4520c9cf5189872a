//! Sets of places in logs, kept as ranges: what a bundle declares and what was found.

use std::collections::BTreeMap;

use crate::canonical::{Encoder, Reader};
use crate::error::{Error, Result};
use crate::id::LogId;

/// Most ranges kept of one file; a hostile one could otherwise fill the memory with them.
const RANGES_MAX: usize = 65_536;

/// Places `first` to `last` of one log, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SeqRange {
    /// The log.
    pub log: LogId,
    /// The first place.
    pub first: u64,
    /// The last place.
    pub last: u64,
}

impl SeqRange {
    /// How many places.
    #[must_use]
    pub fn count(&self) -> u64 {
        (self.last - self.first).saturating_add(1)
    }
}

impl std::fmt::Display for SeqRange {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}..:{}-{}", self.log.short(), self.first, self.last)
    }
}

/// A set of places in logs. Ranges are sorted, apart and never adjacent.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RangeSet {
    logs: BTreeMap<LogId, Vec<(u64, u64)>>,
    ranges: usize,
}

impl RangeSet {
    /// An empty set.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one place. Answers false, and adds nothing, once the set holds 65,536 ranges and
    /// would need one more.
    pub fn insert(&mut self, log: LogId, seq: u64) -> bool {
        self.insert_range(SeqRange {
            log,
            first: seq,
            last: seq,
        })
    }

    /// Adds a range of places. Answers as [`RangeSet::insert`].
    pub fn insert_range(&mut self, range: SeqRange) -> bool {
        let SeqRange {
            log,
            mut first,
            mut last,
        } = range;
        let here = self.logs.entry(log).or_default();
        // All ranges that touch or overlap the new one melt into it.
        let from = here.partition_point(|old| old.1 < first.saturating_sub(1));
        let to = here.partition_point(|old| old.0 <= last.saturating_add(1));
        if from >= to {
            if self.ranges == RANGES_MAX {
                self.logs.retain(|_, ranges| !ranges.is_empty());
                return false;
            }
            self.ranges += 1;
            here.insert(from, (first, last));
            return true;
        }
        first = first.min(here[from].0);
        last = last.max(here[to - 1].1);
        self.ranges -= to - from - 1;
        here.splice(from..to, [(first, last)]);
        true
    }

    /// Whether the place is in the set.
    #[must_use]
    pub fn contains(&self, log: &LogId, seq: u64) -> bool {
        let Some(here) = self.logs.get(log) else {
            return false;
        };
        let at = here.partition_point(|range| range.1 < seq);
        here.get(at).is_some_and(|range| range.0 <= seq)
    }

    /// The ranges in order of log and place.
    pub fn iter(&self) -> impl Iterator<Item = SeqRange> + '_ {
        self.logs.iter().flat_map(|(&log, ranges)| {
            ranges
                .iter()
                .map(move |&(first, last)| SeqRange { log, first, last })
        })
    }

    /// How many places.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.iter()
            .fold(0, |sum, range| sum.saturating_add(range.count()))
    }

    /// Whether the set is empty.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.ranges == 0
    }

    /// What is in this set and not in the other.
    #[must_use]
    pub fn without(&self, other: &Self) -> Vec<SeqRange> {
        let mut rest = Vec::new();
        for SeqRange {
            log,
            mut first,
            last,
        } in self.iter()
        {
            let there = other.logs.get(&log).map_or(&[][..], Vec::as_slice);
            let from = there.partition_point(|range| range.1 < first);
            let mut open = true;
            for &(start, end) in there[from..].iter().take_while(|range| range.0 <= last) {
                if start > first {
                    rest.push(SeqRange {
                        log,
                        first,
                        last: start - 1,
                    });
                }
                match end.checked_add(1) {
                    Some(next) if next <= last => first = next,
                    _ => open = false,
                }
            }
            if open {
                rest.push(SeqRange { log, first, last });
            }
        }
        rest
    }

    /// Everything in either set.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        let mut all = self.clone();
        for range in other.iter() {
            all.insert_range(range);
        }
        all
    }

    /// The places between the first and the last of each log that are not in the set.
    #[must_use]
    pub fn gaps(&self) -> Vec<SeqRange> {
        let mut gaps = Vec::new();
        for (&log, ranges) in &self.logs {
            for pair in ranges.windows(2) {
                gaps.push(SeqRange {
                    log,
                    first: pair[0].1 + 1,
                    last: pair[1].0 - 1,
                });
            }
        }
        gaps
    }

    /// Writes `[[log, [first, last, first, last, ...]], ...]`.
    pub(super) fn write(&self, out: &mut Encoder) {
        out.array(self.logs.len());
        for (log, ranges) in &self.logs {
            out.array(2).bytes(&log.0).array(ranges.len() * 2);
            for &(first, last) in ranges {
                out.uint(first).uint(last);
            }
        }
    }

    /// Reads what [`RangeSet::write`] writes: logs and ranges rise, ranges do not touch.
    pub(super) fn read(reader: &mut Reader<'_>) -> Result<Self> {
        let mut set = Self::new();
        let mut previous = None;
        for _ in 0..reader.array()? {
            reader.array()?;
            let log = LogId(reader.fixed_bytes()?);
            let offset = reader.offset();
            let bad = |what| Error::BadField {
                offset,
                field: "ranges",
                what,
            };
            if previous.is_some_and(|previous| previous >= log) {
                return Err(bad("logs do not rise"));
            }
            previous = Some(log);
            let numbers = reader.array()?;
            if numbers == 0 || numbers % 2 == 1 {
                return Err(bad("no pairs"));
            }
            let mut smallest = 0;
            for index in 0..numbers / 2 {
                let (first, last) = (reader.uint()?, reader.uint()?);
                let apart = index == 0 || first >= smallest;
                if !apart || last < first {
                    return Err(bad("ranges do not rise"));
                }
                // The next range may not touch this one; behind the last place there is none.
                smallest = match last.checked_add(2) {
                    Some(next) => next,
                    None if index + 1 == numbers / 2 => 0,
                    None => return Err(bad("ranges do not rise")),
                };
                set.insert_range(SeqRange { log, first, last });
            }
            reader.end()?;
            reader.end()?;
        }
        reader.end()?;
        Ok(set)
    }
}

impl FromIterator<SeqRange> for RangeSet {
    fn from_iter<I: IntoIterator<Item = SeqRange>>(ranges: I) -> Self {
        let mut set = Self::new();
        for range in ranges {
            set.insert_range(range);
        }
        set
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use proptest::prelude::*;

    use super::*;

    const A: LogId = LogId([1; 32]);

    fn range(first: u64, last: u64) -> SeqRange {
        SeqRange {
            log: A,
            first,
            last,
        }
    }

    fn places(set: &RangeSet) -> BTreeSet<(LogId, u64)> {
        set.iter()
            .flat_map(|r| (r.first..=r.last).map(move |seq| (r.log, seq)))
            .collect()
    }

    fn round_trip(set: &RangeSet) -> Result<RangeSet> {
        let mut out = Encoder::new();
        set.write(&mut out);
        let bytes = out.finish()?;
        let mut reader = Reader::new(&bytes);
        let read = RangeSet::read(&mut reader)?;
        reader.finish()?;
        Ok(read)
    }

    #[test]
    fn the_last_place_of_all_is_no_trouble() {
        let mut set = RangeSet::new();
        assert!(set.insert(A, u64::MAX) && set.insert(A, 0) && set.insert(A, u64::MAX - 1));
        assert_eq!(
            set.iter().collect::<Vec<_>>(),
            [range(0, 0), range(u64::MAX - 1, u64::MAX)]
        );
        assert_eq!(round_trip(&set).unwrap(), set);
        let all: RangeSet = [range(0, u64::MAX)].into_iter().collect();
        assert_eq!(all.count(), u64::MAX);
        assert_eq!(all.without(&set), [range(1, u64::MAX - 2)]);
        assert!(set.without(&all).is_empty());
        assert_eq!(set.gaps(), [range(1, u64::MAX - 2)]);
    }

    #[test]
    fn a_set_does_not_grow_without_end() {
        let mut set = RangeSet::new();
        for index in 0..RANGES_MAX as u64 {
            assert!(set.insert(A, index * 2));
        }
        assert!(!set.insert(LogId([2; 32]), 7));
        assert!(!set.insert(A, RANGES_MAX as u64 * 2));
        assert!(set.insert(A, 1), "one that joins two ranges needs no room");
        assert!(set.insert(LogId([2; 32]), 7));
    }

    #[test]
    fn ranges_that_are_never_written_are_refused() {
        let read = |pairs: &[u64]| {
            let mut out = Encoder::new();
            out.array(1).array(2).bytes(&A.0).array(pairs.len());
            for &number in pairs {
                out.uint(number);
            }
            let bytes = out.finish().unwrap();
            RangeSet::read(&mut Reader::new(&bytes))
        };
        read(&[0, 0, 2, 5, 7, u64::MAX]).unwrap();
        for bad in [
            &[][..],
            &[0],
            &[5, 4],
            &[0, 4, 5, 6],
            &[0, 4, 4, 6],
            &[6, 7, 0, 1],
            &[0, u64::MAX, 3, 4],
            &[0, u64::MAX - 1, u64::MAX, u64::MAX],
        ] {
            assert_eq!(read(bad).unwrap_err().class(), "bad-field", "{bad:?}");
        }
    }

    proptest! {
        /// Against a plain set of numbers.
        #[test]
        fn ranges_behave_as_sets(
            one in prop::collection::vec((0u8..3, 0u64..60, 0u64..6), 0..30),
            two in prop::collection::vec((0u8..3, 0u64..60, 0u64..6), 0..30),
        ) {
            let build = |parts: &[(u8, u64, u64)]| {
                let range = |&(log, first, more): &(u8, u64, u64)| SeqRange {
                    log: LogId([log; 32]),
                    first,
                    last: first + more,
                };
                parts.iter().map(range).collect::<RangeSet>()
            };
            let (a, b) = (build(&one), build(&two));
            let (plain_a, plain_b) = (places(&a), places(&b));
            let expected: BTreeSet<_> = one.iter().flat_map(|&(log, first, more)| {
                (first..=first + more).map(move |seq| (LogId([log; 32]), seq))
            }).collect();
            prop_assert_eq!(&plain_a, &expected);
            prop_assert_eq!(a.count(), expected.len() as u64);
            for window in a.iter().collect::<Vec<_>>().windows(2) {
                prop_assert!(window[0].log < window[1].log || window[0].last + 1 < window[1].first);
            }
            prop_assert_eq!(a.ranges, a.iter().count());
            let rest: RangeSet = a.without(&b).into_iter().collect();
            prop_assert_eq!(places(&rest), &plain_a - &plain_b);
            prop_assert_eq!(places(&a.union(&b)), &plain_a | &plain_b);
            for (log, seq) in &plain_b {
                prop_assert_eq!(a.contains(log, *seq), plain_a.contains(&(*log, *seq)));
            }
            prop_assert_eq!(round_trip(&a).unwrap(), a);
        }
    }
}
