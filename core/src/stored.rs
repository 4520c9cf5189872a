//! Plain values as bytes, for states that are kept between runs.
//!
//! Not a format for others: whoever keeps a state puts a version in front and works it out again when
//! that is not its own. Reading is strict and never panics, so that a damaged state is noticed.

use std::collections::VecDeque;

use chrono::{DateTime, Utc};
use winze_sync_format::{Decimal, LogId, RecordId, RecordRef};

use crate::station::Quantity;
use crate::suspects::{Cause, Check, Ranking, Sign};
use crate::units::{Typed, Unit};
use crate::verdict::{Entry, FlowState};
use crate::watch::{Change, FlagQuantity, Watched};

/// Lists in a state are short; longer ones mean damage.
const LONGEST_LIST: u64 = 64;

/// A value that can be written and read back.
pub(crate) trait Stored: Sized {
    /// Appends the value.
    fn write(&self, out: &mut Vec<u8>);
    /// Reads a value off the front; `None` where the bytes are not one.
    fn read(from: &mut &[u8]) -> Option<Self>;
}

/// Takes bytes off the front.
pub(crate) fn take<const N: usize>(from: &mut &[u8]) -> Option<[u8; N]> {
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

/// Writes and reads the named fields in order.
macro_rules! stored {
    ($kind:ty: $($field:ident),+) => {
        impl $crate::stored::Stored for $kind {
            fn write(&self, out: &mut Vec<u8>) {
                $($crate::stored::Stored::write(&self.$field, out);)+
            }
            fn read(from: &mut &[u8]) -> Option<Self> {
                $(let $field = $crate::stored::Stored::read(from)?;)+
                Some(Self { $($field),+ })
            }
        }
    };
}

/// Writes a value of a closed list by its place in it.
macro_rules! stored_by_place {
    ($kind:ty: $all:expr) => {
        impl $crate::stored::Stored for $kind {
            fn write(&self, out: &mut Vec<u8>) {
                let place = $all.iter().position(|one| one == self).unwrap_or(0xff);
                out.push(u8::try_from(place).unwrap_or(0xff));
            }
            fn read(from: &mut &[u8]) -> Option<Self> {
                let [place] = $crate::stored::take(from)?;
                $all.get(usize::from(place)).copied()
            }
        }
    };
}

pub(crate) use {stored, stored_by_place};

stored!(Entry: inlet, interstage, outlet, flow);
stored!(Typed: digits, unit);
stored!(Decimal: mantissa, exponent);
stored!(RecordRef: log, seq, id);
stored_by_place!(Cause: Cause::ALL);
stored_by_place!(Check: Check::ALL);
stored_by_place!(Sign: Sign::ALL);
stored_by_place!(Unit: Unit::ALL);
stored_by_place!(Quantity: Quantity::ALL);
stored_by_place!(Watched: Watched::ALL);
stored_by_place!(FlagQuantity: FlagQuantity::ALL);
stored_by_place!(Change: Change::ALL);
stored_by_place!(FlowState: [FlowState::Still, FlowState::Flowing, FlowState::NotNoted]);

impl Stored for i8 {
    fn write(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.to_le_bytes());
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(Self::from_le_bytes(take(from)?))
    }
}

impl Stored for u8 {
    fn write(&self, out: &mut Vec<u8>) {
        out.push(*self);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(Self::from_le_bytes(take(from)?))
    }
}

impl<A: Stored, B: Stored> Stored for (A, B) {
    fn write(&self, out: &mut Vec<u8>) {
        self.0.write(out);
        self.1.write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some((A::read(from)?, B::read(from)?))
    }
}

impl Stored for LogId {
    fn write(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.0);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(Self(take(from)?))
    }
}

impl Stored for RecordId {
    fn write(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.0);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(Self(take(from)?))
    }
}

impl Stored for DateTime<Utc> {
    fn write(&self, out: &mut Vec<u8>) {
        self.timestamp().write(out);
        i64::from(self.timestamp_subsec_nanos()).write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        let seconds = i64::read(from)?;
        Self::from_timestamp(seconds, u32::try_from(i64::read(from)?).ok()?)
    }
}

impl Stored for Ranking {
    fn write(&self, out: &mut Vec<u8>) {
        self.probabilities().write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Ranking::from_probabilities(Stored::read(from)?)
    }
}
