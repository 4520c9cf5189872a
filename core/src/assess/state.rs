//! The state of a chronicle as bytes, and what it told on the way, so that one more event needs
//! nothing but them.
//!
//! A cache, not a record; see [`crate::stored`].

use winze_sync_format::RecordRef;

use super::assessor::Assessor;
use super::chronicle::{Chronicle, Looked};
use super::event::{Answered, BaselineStart, BaselineWhy, Work};
use super::outside::Band;
use super::raised::{Raised, RaisedRule};
use super::standing::{Condition, Hold};
use crate::slips::{DoubtKind, PastReading};
use crate::stored::{Stored, stored, stored_by_place, take};
use crate::watch::{Begun, STATE_VERSION, Weights};

/// Changes whenever the rules or this layout change, so that stale states are not used; beside it
/// stands the version of the watch.
const VERSION: u8 = 1;
const VERSIONS: [u8; 2] = [VERSION, STATE_VERSION];

stored!(PastReading: taken_at_ms, entry);
stored!(Band: outside, inside, is_raised);
stored!(Looked: at, signs);
stored!(Answered: at, check, is_yes, record);
stored!(BaselineStart: watched, at, why);
stored!(
    Condition: rule, quantity, watched, raised_at, said_at, reading, onset, shift, is_worse,
    by_readings, signs, answers, hold
);
stored!(
    Raised: at, rule, quantity, watched, onset, shift, is_worse, suspects, likely
);
stored!(Chronicle: assessor, looks, standing, baselines);
stored_by_place!(RaisedRule: RaisedRule::ALL);
stored_by_place!(DoubtKind: DoubtKind::ALL);
stored_by_place!(Work: Work::ALL);

/// The weights belong to the rules, not to the state.
impl Stored for Assessor {
    fn write(&self, out: &mut Vec<u8>) {
        self.watch.write(out);
        self.past.write(out);
        self.bands.write(out);
        self.doubted.write(out);
        self.doubts_running.write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(Self {
            weights: Weights::default(),
            watch: Stored::read(from)?,
            past: Stored::read(from)?,
            bands: Stored::read(from)?,
            doubted: Stored::read(from)?,
            doubts_running: Stored::read(from)?,
        })
    }
}

impl Stored for Hold {
    fn write(&self, out: &mut Vec<u8>) {
        match self {
            Self::Watch(held) => {
                out.push(0);
                held.write(out);
            }
            Self::Stuck(gauge) => {
                out.push(1);
                gauge.write(out);
            }
            Self::Band(quantity) => {
                out.push(2);
                quantity.write(out);
            }
            Self::Newest => out.push(3),
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        match take(from)? {
            [0] => Some(Self::Watch(Stored::read(from)?)),
            [1] => usize::read(from)
                .filter(|gauge| *gauge < 3)
                .map(Self::Stuck),
            [2] => Some(Self::Band(Stored::read(from)?)),
            [3] => Some(Self::Newest),
            _ => None,
        }
    }
}

impl Stored for BaselineWhy {
    fn write(&self, out: &mut Vec<u8>) {
        match self {
            Self::Watch(Begun::FirstSeen) => out.push(0),
            Self::Watch(Begun::BecameUsual) => out.push(1),
            Self::Watch(Begun::Changed(change)) => {
                out.push(2);
                change.write(out);
            }
            Self::Work { work, record } => {
                out.push(3);
                work.write(out);
                record.write(out);
            }
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        match take(from)? {
            [0] => Some(Self::Watch(Begun::FirstSeen)),
            [1] => Some(Self::Watch(Begun::BecameUsual)),
            [2] => Some(Self::Watch(Begun::Changed(Stored::read(from)?))),
            [3] => Some(Self::Work {
                work: Stored::read(from)?,
                record: Stored::read(from)?,
            }),
            _ => None,
        }
    }
}

/// Something an event told that is kept beside the state.
#[derive(Debug, Clone, PartialEq)]
pub enum Note {
    /// A reading raised a flag.
    Raised {
        /// The reading.
        reading: RecordRef,
        /// The flag.
        raised: Box<Raised>,
    },
    /// A baseline started.
    Started(BaselineStart),
}

impl Note {
    /// The note as bytes.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = vec![VERSION];
        match self {
            Self::Raised { reading, raised } => {
                out.push(0);
                reading.write(&mut out);
                raised.write(&mut out);
            }
            Self::Started(start) => {
                out.push(1);
                start.write(&mut out);
            }
        }
        out
    }

    /// Reads a note; `None` where it is damaged or of another version.
    #[must_use]
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let mut from = bytes;
        let note = match take(&mut from)? {
            [VERSION, 0] => Self::Raised {
                reading: Stored::read(&mut from)?,
                raised: Box::new(Stored::read(&mut from)?),
            },
            [VERSION, 1] => Self::Started(Stored::read(&mut from)?),
            _ => return None,
        };
        from.is_empty().then_some(note)
    }
}

impl Chronicle {
    /// Bytes at the start of a state that tell its version.
    pub(crate) const VERSION_BYTES: u8 = 2;

    /// The state as bytes.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = VERSIONS.to_vec();
        self.write(&mut out);
        out
    }

    /// Reads a state; `None` where it is damaged or of another version, and then it is to be worked
    /// out again from the events.
    #[must_use]
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let mut from = bytes;
        if take(&mut from)? != VERSIONS {
            return None;
        }
        let chronicle = Self::read(&mut from)?;
        from.is_empty().then_some(chronicle)
    }
}
