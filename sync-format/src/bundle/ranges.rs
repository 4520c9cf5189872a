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
