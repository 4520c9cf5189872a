//! The state of a watch as bytes, so that it can be kept between runs.
//!
//! A cache, not a record: it says the same as the readings it came from. A state written by
//! another version is not read; the watch is then worked out again from the readings.

use std::collections::VecDeque;

use chrono::DateTime;

use super::channel::{Assumption, Channel, Kept, Sums};
use super::condition::{Condition, StuckCondition};
use super::setting::{Prior, Scale, Setting};
use super::stuck::Repeats;
use super::watcher::Watch;
use super::whiten::{Memory, Whitener};
use crate::suspects::Cause;

/// Changes whenever the rules or this layout change, so that stale states are not used.
const VERSION: u8 = 2;

/// Lists in a state are short; longer ones mean damage.
const LONGEST_LIST: u64 = 64;

/// A value that can be written and read back.
trait Stored: Sized {
    fn write(&self, out: &mut Vec<u8>);
    fn read(from: &mut &[u8]) -> Option<Self>;
}

fn take<const N: usize>(from: &mut &[u8]) -> Option<[u8; N]> {
    let (head, rest) = from.split_first_chunk::<N>()?;
    *from = rest;
    Some(*head)
}

impl Stored for f64 {
    fn write(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.to_le_bytes());
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        let value = Self::from_le_bytes(take(from)?);
        // Nothing in a state is ever not a number.
        (!value.is_nan()).then_some(value)
    }
}

impl Stored for i64 {
    fn write(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.to_le_bytes());
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(Self::from_le_bytes(take(from)?))
    }
}

impl Stored for u64 {
    fn write(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.to_le_bytes());
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(Self::from_le_bytes(take(from)?))
    }
}

impl Stored for bool {
    fn write(&self, out: &mut Vec<u8>) {
        out.push(u8::from(*self));
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        match take::<1>(from)? {
            [0] => Some(false),
            [1] => Some(true),
            _ => None,
        }
    }
}

impl Stored for usize {
    fn write(&self, out: &mut Vec<u8>) {
        u64::try_from(*self).unwrap_or(u64::MAX).write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Self::try_from(u64::read(from)?).ok()
    }
}

impl<T: Stored> Stored for Option<T> {
    fn write(&self, out: &mut Vec<u8>) {
        self.is_some().write(out);
        if let Some(value) = self {
            value.write(out);
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        if bool::read(from)? {
            T::read(from).map(Some)
        } else {
            Some(None)
        }
    }
}

impl<T: Stored, const N: usize> Stored for [T; N] {
    fn write(&self, out: &mut Vec<u8>) {
        for value in self {
            value.write(out);
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        let values: Option<Vec<T>> = (0..N).map(|_| T::read(from)).collect();
        values?.try_into().ok()
    }
}

impl<T: Stored> Stored for Vec<T> {
    fn write(&self, out: &mut Vec<u8>) {
        self.len().write(out);
        for value in self {
            value.write(out);
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        let count = u64::read(from).filter(|count| *count <= LONGEST_LIST)?;
        (0..count).map(|_| T::read(from)).collect()
    }
}

/// Writes and reads the named fields in order.
macro_rules! stored {
    ($kind:ident: $($field:ident),+) => {
        impl Stored for $kind {
            fn write(&self, out: &mut Vec<u8>) {
                $(self.$field.write(out);)+
            }
            fn read(from: &mut &[u8]) -> Option<Self> {
                $(let $field = Stored::read(from)?;)+
                Some(Self { $($field),+ })
            }
        }
    };
}

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

impl<T: Stored> Stored for VecDeque<T> {
    fn write(&self, out: &mut Vec<u8>) {
        self.len().write(out);
        for value in self {
            value.write(out);
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Vec::read(from).map(Self::from)
    }
}

impl Stored for Cause {
    fn write(&self, out: &mut Vec<u8>) {
        self.index().write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Self::ALL.get(usize::read(from)?).copied()
    }
}

impl Watch {
    /// The state as bytes.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = vec![VERSION];
        self.setting.write(&mut out);
        self.began.map(|began| began.timestamp()).write(&mut out);
        self.began
            .map_or(0, |began| i64::from(began.timestamp_subsec_nanos()))
            .write(&mut out);
        self.last_weeks.write(&mut out);
        self.channels.write(&mut out);
        self.wild.write(&mut out);
        self.repeats.write(&mut out);
        self.standing.write(&mut out);
        self.stuck.write(&mut out);
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
        let setting = Stored::read(&mut from)?;
        let seconds: Option<i64> = Stored::read(&mut from)?;
        let nanos = u32::try_from(i64::read(&mut from)?).ok()?;
        let began = match seconds {
            Some(seconds) => Some(DateTime::from_timestamp(seconds, nanos)?),
            None => None,
        };
        let watch = Self {
            setting,
            began,
            last_weeks: Stored::read(&mut from)?,
            channels: Stored::read(&mut from)?,
            wild: Stored::read(&mut from)?,
            repeats: Stored::read(&mut from)?,
            standing: Stored::read(&mut from)?,
            stuck: Stored::read(&mut from)?,
        };
        from.is_empty().then_some(watch)
    }
}
