//! The envelope: what every record says about itself, around a body that stays opaque here.
//!
//! Not here: signatures (`item`), and what kinds and bodies mean (the callers' business).

use crate::canonical::{Encoder, Limits, Reader, scan};
use crate::error::{Error, Result};
use crate::id::{LogId, RecordId, RecordRef};

/// The format version that this crate writes.
pub const FORMAT_VERSION: u64 = 1;
/// The kind of a bundle's header; never part of a log.
pub const KIND_BUNDLE_HEADER: u64 = 1;
/// The kind of a bundle's trailer; never part of a log.
pub const KIND_BUNDLE_TRAILER: u64 = 2;
/// The longest payload, in bytes.
pub const MAX_RECORD_BYTES: usize = 65_536;
/// The most references of one record.
pub const MAX_REFS: usize = 64;

/// Kinds from here on may be ignored by a reader that does not know them.
const FIRST_OPTIONAL_KIND: u64 = 64;

pub(crate) const VERSION: u64 = 0;
pub(crate) const KIND: u64 = 1;
pub(crate) const LOG: u64 = 2;
pub(crate) const SEQ: u64 = 3;
pub(crate) const PREV: u64 = 4;
const CLOCK: u64 = 5;
const MONOTONIC: u64 = 6;
const PERSON: u64 = 7;
const REFS: u64 = 8;
const BODY: u64 = 9;
const NONCE: u64 = 10;

/// Whether a reader that does not know this kind must show that it did not understand it.
#[must_use]
pub fn must_be_understood(kind: u64) -> bool {
    kind < FIRST_OPTIONAL_KIND
}

/// Whether this kind belongs to the bundle file and not to a log.
pub(crate) fn is_structural(kind: u64) -> bool {
    matches!(kind, KIND_BUNDLE_HEADER | KIND_BUNDLE_TRAILER)
}

/// How far the wall clock can be believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ClockStatus {
    /// Never set since it last lost power.
    Unset,
    /// Set by hand.
    HandSet,
    /// Set while at the office.
    SetAtOffice,
}

impl ClockStatus {
    /// The number on the wire.
    #[must_use]
    pub fn code(self) -> u64 {
        match self {
            Self::Unset => 0,
            Self::HandSet => 1,
            Self::SetAtOffice => 2,
        }
    }

    /// The status of a number on the wire.
    #[must_use]
    pub fn from_code(code: u64) -> Option<Self> {
        [Self::Unset, Self::HandSet, Self::SetAtOffice]
            .into_iter()
            .find(|s| s.code() == code)
    }
}

/// What the clocks of the device showed. Evidence, not order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ClockReading {
    /// Wall clock, milliseconds since 1970-01-01T00:00:00Z.
    pub wall_ms: i64,
    /// How far the wall clock can be believed.
    pub status: ClockStatus,
    /// Names the running period between two starts of the device.
    pub boot: [u8; 16],
    /// Milliseconds within that period, time asleep included.
    pub monotonic_ms: u64,
}

/// A statement about to be sealed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// What kind of statement; 1 and 2 are reserved for bundles.
    pub kind: u64,
    /// What the clocks showed.
    pub clock: ClockReading,
    /// Who makes the statement, at most 4 KiB; may be empty.
    pub person: String,
    /// The records that this one speaks about, at most 64.
    pub refs: Vec<RecordRef>,
    /// One map in canonical form.
    pub body: Vec<u8>,
    /// Chosen when the draft is begun, so that confirming it twice is seen.
    pub nonce: [u8; 8],
}

/// The decoded envelope of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record {
    /// What kind of statement.
    pub kind: u64,
    /// The log that holds it.
    pub log: LogId,
    /// Its place in the log, from 0 without gaps; 0 for a bundle's header and trailer.
    pub seq: u64,
    /// The record before it in the log; none at the first place.
    pub prev: Option<RecordId>,
    /// What the clocks showed.
    pub clock: ClockReading,
    /// Who made the statement.
    pub person: String,
    /// The records that this one speaks about.
    pub refs: Vec<RecordRef>,
    /// One map in canonical form.
    pub body: Vec<u8>,
    /// Chosen when the draft was begun.
    pub nonce: [u8; 8],
}

impl Record {
    /// The payload: the one encoding of this envelope.
    ///
    /// # Errors
    /// A body that is not one canonical map, texts, references or the whole above the limits, a
    /// previous record that is missing or must not be there.
    pub fn encode(&self) -> Result<Vec<u8>> {
        self.check(0)?;
        scan(&self.body, &Limits::BODY)?;
        Reader::new(&self.body).map()?;
        let in_log = !is_structural(self.kind);
        let optional = [in_log, self.prev.is_some(), !self.refs.is_empty()]
            .map(usize::from)
            .iter()
            .sum::<usize>();
        let mut out = Encoder::new();
        out.map(8 + optional);
        out.key(VERSION).uint(FORMAT_VERSION);
        out.key(KIND).uint(self.kind);
        out.key(LOG).bytes(&self.log.0);
        if in_log {
            out.key(SEQ).uint(self.seq);
        }
        if let Some(prev) = &self.prev {
            out.key(PREV).bytes(&prev.0);
        }
        out.key(CLOCK)
            .array(2)
            .int(self.clock.wall_ms)
            .uint(self.clock.status.code());
        out.key(MONOTONIC)
            .array(2)
            .bytes(&self.clock.boot)
            .uint(self.clock.monotonic_ms);
        out.key(PERSON).text(&self.person);
        if !self.refs.is_empty() {
            out.key(REFS).array(self.refs.len());
            for reference in &self.refs {
                write_ref(&mut out, reference);
            }
        }
        out.key(BODY).raw(&self.body);
        out.key(NONCE).bytes(&self.nonce);
        out.finish()
    }

    /// Reads a payload; accepts exactly what [`Record::encode`] writes.
    ///
    /// # Errors
    /// Whatever is not in the one allowed form, with its byte offset in the payload.
    pub fn decode(payload: &[u8]) -> Result<Self> {
        let mut reader = Reader::new(payload);
        reader.map()?;
        reader.expect_key(VERSION)?;
        if reader.uint()? != FORMAT_VERSION {
            return Err(bad(&reader, "version", "another version"));
        }
        reader.expect_key(KIND)?;
        let kind = reader.uint()?;
        reader.expect_key(LOG)?;
        let log = LogId(reader.fixed_bytes()?);
        let seq = if is_structural(kind) {
            0
        } else {
            reader.expect_key(SEQ)?;
            reader.uint()?
        };
        // A bundle part has no such keys; one that is there is met as a wrong key below.
        let prev = if !is_structural(kind) && reader.optional_key(PREV)? {
            Some(RecordId(reader.fixed_bytes()?))
        } else {
            None
        };
        let clock = read_clock(&mut reader)?;
        reader.expect_key(PERSON)?;
        let person = reader.text()?.to_owned();
        let refs = if is_structural(kind) {
            Vec::new()
        } else {
            read_refs(&mut reader)?
        };
        reader.expect_key(BODY)?;
        let body_at = reader.offset();
        let body = reader.raw()?.to_vec();
        Reader::new(&body)
            .map()
            .map_err(|error| error.shifted(body_at))?;
        reader.expect_key(NONCE)?;
        let nonce = reader.fixed_bytes()?;
        reader.end()?;
        reader.finish()?;
        let record = Self {
            kind,
            log,
            seq,
            prev,
            clock,
            person,
            refs,
            body,
            nonce,
        };
        record.check(payload.len())?;
        Ok(record)
    }

    /// What types alone cannot say.
    fn check(&self, offset: usize) -> Result<()> {
        let fault = if is_structural(self.kind) {
            (self.seq != 0 || self.prev.is_some() || !self.refs.is_empty())
                .then_some(("bundle part", "stands in no log and refers to nothing"))
        } else if self.kind == 0 {
            Some(("kind", "zero is not used"))
        } else if self.prev.is_some() != (self.seq > 0) {
            Some(("previous record", "absent exactly at place 0"))
        } else if self.refs.len() > MAX_REFS {
            Some(("references", "more than 64"))
        } else {
            None
        };
        match fault {
            Some((field, what)) => Err(Error::BadField {
                offset,
                field,
                what,
            }),
            None => Ok(()),
        }
    }
}

fn read_clock(reader: &mut Reader<'_>) -> Result<ClockReading> {
    reader.expect_key(CLOCK)?;
    reader.array()?;
    let wall_ms = reader.int()?;
    let status = ClockStatus::from_code(reader.uint()?)
        .ok_or_else(|| bad(reader, "clock status", "unknown"))?;
    reader.end()?;
    reader.expect_key(MONOTONIC)?;
    reader.array()?;
    let boot = reader.fixed_bytes()?;
    let monotonic_ms = reader.uint()?;
    reader.end()?;
    Ok(ClockReading {
        wall_ms,
        status,
        boot,
        monotonic_ms,
    })
}

fn read_refs(reader: &mut Reader<'_>) -> Result<Vec<RecordRef>> {
    if !reader.optional_key(REFS)? {
        return Ok(Vec::new());
    }
    let count = reader.array()?;
    if count == 0 || count > MAX_REFS as u64 {
        return Err(bad(reader, "references", "none or more than 64"));
    }
    let refs = (0..count)
        .map(|_| read_ref(reader))
        .collect::<Result<Vec<_>>>()?;
    reader.end()?;
    Ok(refs)
}

/// Writes a reference: `[log, seq, id]`.
pub(crate) fn write_ref(out: &mut Encoder, reference: &RecordRef) {
    out.array(3)
        .bytes(&reference.log.0)
        .uint(reference.seq)
        .bytes(&reference.id.0);
}

/// Reads a reference: `[log, seq, id]`.
pub(crate) fn read_ref(reader: &mut Reader<'_>) -> Result<RecordRef> {
    reader.array()?;
    let log = LogId(reader.fixed_bytes()?);
    let seq = reader.uint()?;
    let id = RecordId(reader.fixed_bytes()?);
    reader.end()?;
    Ok(RecordRef { log, seq, id })
}

fn bad(reader: &Reader<'_>, field: &'static str, what: &'static str) -> Error {
    Error::BadField {
        offset: reader.offset(),
        field,
        what,
    }
}

/// A record with its signature checked: sealed here, or opened by [`crate::open_item`].
#[derive(Clone, PartialEq, Eq)]
pub struct SignedRecord {
    pub(crate) item: Vec<u8>,
    pub(crate) id: RecordId,
    pub(crate) record: Record,
}

impl SignedRecord {
    /// The bytes that travel and are stored, signature included.
    #[must_use]
    pub fn item(&self) -> &[u8] {
        &self.item
    }

    /// The bytes that travel and are stored, without a copy.
    #[must_use]
    pub fn into_item(self) -> Vec<u8> {
        self.item
    }

    /// The hash of the payload.
    #[must_use]
    pub fn id(&self) -> RecordId {
        self.id
    }

    /// The decoded envelope.
    #[must_use]
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// The full reference.
    #[must_use]
    pub fn reference(&self) -> RecordRef {
        RecordRef {
            log: self.record.log,
            seq: self.record.seq,
            id: self.id,
        }
    }

    /// What kind of statement.
    #[must_use]
    pub fn kind(&self) -> u64 {
        self.record.kind
    }

    /// The log that holds it.
    #[must_use]
    pub fn log(&self) -> LogId {
        self.record.log
    }

    /// Its place in the log.
    #[must_use]
    pub fn seq(&self) -> u64 {
        self.record.seq
    }

    /// The body: one map in canonical form.
    #[must_use]
    pub fn body(&self) -> &[u8] {
        &self.record.body
    }
}

impl std::fmt::Debug for SignedRecord {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (kind, bytes) = (self.record.kind, self.item.len());
        write!(
            f,
            "SignedRecord(kind {kind}, {:?}, {bytes} bytes)",
            self.reference()
        )
    }
}

/// Where a log ends: what the next record must name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LogHead {
    /// The log.
    pub log: LogId,
    /// The place of the next record.
    pub next_seq: u64,
    /// The last record; none in an empty log.
    pub prev: Option<RecordId>,
}

impl LogHead {
    /// The head of an empty log.
    #[must_use]
    pub fn empty(log: LogId) -> Self {
        Self {
            log,
            next_seq: 0,
            prev: None,
        }
    }

    /// The head behind a record.
    ///
    /// # Errors
    /// [`Error::LogFull`] behind the last possible place.
    pub fn after(last: &RecordRef) -> Result<Self> {
        let next_seq = last
            .seq
            .checked_add(1)
            .ok_or(Error::LogFull { log: last.log })?;
        Ok(Self {
            log: last.log,
            next_seq,
            prev: Some(last.id),
        })
    }
}

#[cfg(test)]
mod tests;
