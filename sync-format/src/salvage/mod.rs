//! Finds every whole item in a stream of bytes, whatever damage lies between them.
//!
//! Segments and bundles are both plain sequences of items, so both are read by [`ItemScanner`].
//! Where no valid item stands, it searches for the next mark and tries again from there; the
//! bytes between are named as damage. Memory stays bounded: one window of the stream and one
//! batch of items. Not here: what a bundle declares about itself (`bundle`).

mod batch;
mod window;

use std::collections::VecDeque;
use std::io::Read;

use crate::error::Error;
use crate::id::RecordRef;
use crate::item::{MARK, MAX_ITEM_BYTES, NewerItem, Opened, Unverified, parse_item, peek_ref};
use crate::record::{KIND_BUNDLE_TRAILER, SignedRecord};

use batch::{Candidate, Verifiers};
use window::{Window, find_mark};

/// How much a reader takes before it stops.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReadLimits {
    /// Most bytes of one file.
    pub bytes: u64,
    /// Most items of one file.
    pub items: u64,
    /// Most places of one file that look like an item and are none.
    pub failures: u64,
}

impl Default for ReadLimits {
    /// 1 GiB, 5,000,000 items, 10,000 failures.
    fn default() -> Self {
        Self {
            bytes: 1 << 30,
            items: 5_000_000,
            failures: 10_000,
        }
    }
}

/// Bytes that belong to no valid item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// Where they start, in bytes from the start of the file.
    pub offset: u64,
    /// How many they are; for a file given up, as many as were looked at.
    pub length: u64,
    /// What was found first.
    pub reason: DamageReason,
}

/// Why bytes belong to no valid item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DamageReason {
    /// No mark of an item.
    NotAnItem,
    /// A mark, but not the one allowed form; the class of [`Error::class`].
    BadForm(&'static str),
    /// The signature does not match.
    BadSignature,
    /// The file ends inside an item.
    CutShort,
    /// A header or trailer where none belongs.
    Misplaced,
    /// The medium gave an error; nothing behind it was read.
    Unreadable(std::io::ErrorKind),
    /// More than the limits allow; nothing behind it was read.
    OverLimit(&'static str),
}

impl DamageReason {
    /// The stable name of the reason, as the frozen vectors write it.
    #[must_use]
    pub fn class(self) -> &'static str {
        match self {
            Self::NotAnItem => "not-an-item",
            Self::BadForm(class) => class,
            Self::BadSignature => "bad-signature",
            Self::CutShort => "truncated",
            Self::Misplaced => "misplaced",
            Self::Unreadable(_) => "unreadable",
            Self::OverLimit(_) => "over-limit",
        }
    }
}

/// What stands in the stream, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// A record.
    Record {
        /// Where it starts, in bytes.
        offset: u64,
        /// The record, its signature checked.
        record: SignedRecord,
        /// For a bundle's trailer: SHA-256 of everything before it.
        hash_before: Option<[u8; 32]>,
    },
    /// An item of a newer format version.
    Newer {
        /// Where it starts, in bytes.
        offset: u64,
        /// The item, its signature checked.
        newer: NewerItem,
    },
    /// A record that the caller holds already; its signature was not checked again.
    Held {
        /// Where it starts, in bytes.
        offset: u64,
        /// Its name; the id was computed from the bytes.
        reference: RecordRef,
    },
    /// The closing number of a bundle, directly behind a trailer.
    Hint {
        /// Where it starts, in bytes.
        offset: u64,
        /// The number.
        value: u64,
    },
    /// Bytes that belong to no item.
    Damage(Damage),
}

/// The answer of a caller who knows which records it holds.
type Known<'a> = Box<dyn FnMut(&RecordRef) -> bool + 'a>;

/// An iterator over everything in a stream of items.
pub struct ItemScanner<'a, R> {
    window: Window<R>,
    limits: ReadLimits,
    known: Option<Known<'a>>,
    verifiers: Verifiers,
    ready: VecDeque<Found>,
    damage: Option<Damage>,
    items: u64,
    failures: u64,
    batch: usize,
    behind_trailer: bool,
    /// Whether the item before was one that the caller holds.
    after_held: bool,
    done: bool,
}

/// Largest batch of items whose signatures are checked together.
const BATCH_MAX: usize = 1024;
/// Bytes after which a batch is large enough: small records stay far below, large ones are bounded.
const BATCH_BYTES: usize = 2 * 1024 * 1024;
/// Length of a bundle's closing number: a head and eight bytes.
pub(crate) const HINT_BYTES: usize = 9;
pub(crate) const HINT_HEAD: u8 = 0x1b;

impl<'a, R: Read> ItemScanner<'a, R> {
    /// A scanner from the start of a stream, checking signatures on this thread.
    pub fn new(stream: R) -> Self {
        let limits = ReadLimits::default();
        Self {
            window: Window::new(stream, limits.bytes),
            limits,
            known: None,
            verifiers: Verifiers::new(1),
            ready: VecDeque::new(),
            damage: None,
            items: 0,
            failures: 0,
            batch: BATCH_MAX,
            behind_trailer: false,
            after_held: false,
            done: false,
        }
    }

    /// Checks signatures on this many threads.
    #[must_use]
    pub fn threads(mut self, threads: usize) -> Self {
        self.verifiers = Verifiers::new(threads.max(1));
        self
    }

    /// Takes other limits.
    #[must_use]
    pub fn limits(mut self, limits: ReadLimits) -> Self {
        self.limits = limits;
        self.window.limit = limits.bytes;
        self
    }

    /// Reports records that the caller holds already as [`Found::Held`], without checking their
    /// signatures again: the same payload hash was checked when it came in.
    #[must_use]
    pub fn known(mut self, known: impl FnMut(&RecordRef) -> bool + 'a) -> Self {
        self.known = Some(Box::new(known));
        self
    }

    /// Bytes worked through so far.
    #[must_use]
    pub fn offset(&self) -> u64 {
        self.window.offset
    }

    /// Works through the next batch: valid items, then at most one place that is not valid.
    fn advance(&mut self) {
        let mut candidates = Vec::new();
        let mut at = 0;
        let mut failure = None;
        while candidates.len() < self.batch && at < BATCH_BYTES {
            let bytes = self.window.look(at, MAX_ITEM_BYTES);
            if bytes.is_empty() {
                break;
            }
            // Where the item before was here already this one may be too, and then its name says it
            // all: the hash of a payload that was checked when it came in.
            if self.after_held
                && let Ok((reference, length)) = peek_ref(bytes)
                && self.known.as_mut().is_some_and(|known| known(&reference))
            {
                at += length;
                candidates.push(Candidate::Held { reference, length });
                continue;
            }
            match parse_item(bytes) {
                Ok((item, length)) => {
                    at += length;
                    let reference = item.claimed();
                    self.after_held = !self.after_held
                        && !item.is_structural()
                        && self.known.as_mut().is_some_and(|known| known(&reference));
                    candidates.push(if self.after_held {
                        Candidate::Held { reference, length }
                    } else {
                        Candidate::New(item)
                    });
                }
                Err(error) => {
                    failure = Some(reason(&error));
                    break;
                }
            }
        }
        let good = self.verifiers.count_valid(&candidates);
        if good < candidates.len() {
            failure = Some(DamageReason::BadSignature);
        }
        // A failure makes the rest of its batch worthless, so batches shrink around damage and
        // grow again behind it: hostile files cannot make one signature be checked many times.
        self.batch = if failure.is_some() {
            1
        } else {
            (self.batch * 2).min(BATCH_MAX)
        };
        for candidate in candidates.into_iter().take(good) {
            self.accept(candidate);
            if self.done {
                return;
            }
        }
        match failure {
            Some(reason) => self.fail(reason),
            None if good == 0 => self.finish(),
            None => {}
        }
    }

    fn accept(&mut self, candidate: Candidate) {
        self.close_damage();
        if self.items == self.limits.items {
            return self.stop(DamageReason::OverLimit("items"));
        }
        self.items += 1;
        self.behind_trailer = false;
        let offset = self.window.offset;
        let (found, length) = match candidate {
            Candidate::Held { reference, length } => (Found::Held { offset, reference }, length),
            Candidate::New(item) => {
                let length = item.item().len();
                (self.open(offset, item), length)
            }
        };
        self.window.consume(length);
        self.ready.push_back(found);
    }

    fn open(&mut self, offset: u64, item: Unverified) -> Found {
        match item.into_unchecked() {
            Opened::Newer(newer) => Found::Newer { offset, newer },
            Opened::Record(record) => {
                self.behind_trailer = record.kind() == KIND_BUNDLE_TRAILER;
                let hash_before = self.behind_trailer.then(|| self.window.hash_so_far());
                Found::Record {
                    offset,
                    record,
                    hash_before,
                }
            }
        }
    }

    /// Steps over the place at the front of the window, to the next mark behind it.
    fn fail(&mut self, reason: DamageReason) {
        if self.take_hint() {
            return;
        }
        self.failures += 1;
        if self.failures > self.limits.failures {
            return self.stop(DamageReason::OverLimit("failures"));
        }
        let skipped = self.window.skip_to_next_mark();
        self.add_damage(skipped, reason);
    }

    fn take_hint(&mut self) -> bool {
        if !std::mem::take(&mut self.behind_trailer) {
            return false;
        }
        let bytes = self.window.look(0, HINT_BYTES + MARK.len() - 1);
        // A torn number may have something whole directly behind it.
        if find_mark(bytes.get(..HINT_BYTES + MARK.len() - 1).unwrap_or(bytes)).is_some() {
            return false;
        }
        let Some((&HINT_HEAD, digits)) = bytes.split_first() else {
            return false;
        };
        let Some(digits) = digits.first_chunk::<8>() else {
            return false;
        };
        let value = u64::from_be_bytes(*digits);
        let offset = self.window.offset;
        self.window.consume(HINT_BYTES);
        self.ready.push_back(Found::Hint { offset, value });
        true
    }

    fn add_damage(&mut self, length: u64, reason: DamageReason) {
        let offset = self.window.offset - length;
        self.damage
            .get_or_insert(Damage {
                offset,
                length: 0,
                reason,
            })
            .length += length;
    }

    fn close_damage(&mut self) {
        if let Some(damage) = self.damage.take() {
            self.ready.push_back(Found::Damage(damage));
        }
    }

    /// Reads on only to learn how much is left behind.
    fn stop(&mut self, reason: DamageReason) {
        self.close_damage();
        let length = self.window.drain();
        self.add_damage(length, reason);
        self.finish();
    }

    fn finish(&mut self) {
        self.close_damage();
        if let Some(reason) = self.window.trouble.take() {
            let damage = Damage {
                offset: self.window.offset,
                length: 0,
                reason,
            };
            self.ready.push_back(Found::Damage(damage));
        }
        self.done = true;
    }
}

fn reason(error: &Error) -> DamageReason {
    match error {
        Error::NotAnItem { .. } => DamageReason::NotAnItem,
        Error::Truncated { .. } => DamageReason::CutShort,
        other => DamageReason::BadForm(other.class()),
    }
}

impl<R: Read> Iterator for ItemScanner<'_, R> {
    type Item = Found;

    fn next(&mut self) -> Option<Found> {
        while self.ready.is_empty() && !self.done {
            self.advance();
        }
        self.ready.pop_front()
    }
}

#[cfg(test)]
mod tests;
