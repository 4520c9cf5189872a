//! The item: a record's payload in its signed wrapping, as it is stored and carried.
//!
//! The wrapping is one fixed shape of `COSE_Sign1` (RFC 9052): tag 18, protected header exactly
//! `{1: -19}` (Ed25519, RFC 9864), unprotected header empty, payload attached. It begins with
//! seven constant bytes, which serve as the mark to find items again behind damage. Signatures
//! are checked strictly and one by one, never in batches, so that every reader agrees.

mod verify;

use crate::canonical::{self, Reader};
pub use verify::Verifier;
use verify::write_to_be_signed;

use crate::error::{Error, Result};
use crate::id::{LogId, RecordId, RecordRef};
use crate::key::LogKey;
use crate::record::{
    Draft, FORMAT_VERSION, KIND, LOG, LogHead, MAX_RECORD_BYTES, PREV, Record, SEQ, SignedRecord,
    VERSION, is_structural,
};

/// The first seven bytes of every item: tag 18, array of 4, protected header, empty map.
pub const MARK: [u8; 7] = [0xd2, 0x84, 0x43, 0xa1, 0x01, 0x32, 0xa0];

const SIGNATURE_HEAD: [u8; 2] = [0x58, 0x40];
const SIGNATURE_BYTES: usize = 64;
/// The longest item: mark, head of the payload, payload, head of the signature, signature.
pub(crate) const MAX_ITEM_BYTES: usize = 7 + 5 + MAX_RECORD_BYTES + 2 + SIGNATURE_BYTES;

/// An item whose signature was checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Opened {
    /// A record of this format version.
    Record(SignedRecord),
    /// An item of a newer format version: to be kept and passed on unread.
    Newer(NewerItem),
}

impl Opened {
    /// The full reference.
    #[must_use]
    pub fn reference(&self) -> RecordRef {
        match self {
            Self::Record(record) => record.reference(),
            Self::Newer(newer) => newer.reference,
        }
    }

    /// The bytes that travel and are stored.
    #[must_use]
    pub fn item(&self) -> &[u8] {
        match self {
            Self::Record(record) => record.item(),
            Self::Newer(newer) => &newer.item,
        }
    }
}

/// An item of a newer format version, whose envelope is understood only as far as its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewerItem {
    /// The format version that it claims.
    pub version: u64,
    /// Its name.
    pub reference: RecordRef,
    /// The bytes that travel and are stored.
    pub item: Vec<u8>,
}

/// An item in the one allowed form whose signature was not yet checked.
///
/// It can be sent to another thread and checked there; nothing of it counts before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unverified {
    opened: Opened,
    payload: std::ops::Range<usize>,
}

impl Unverified {
    /// The name that the item claims.
    #[must_use]
    pub fn claimed(&self) -> RecordRef {
        self.opened.reference()
    }

    /// The bytes of the item.
    #[must_use]
    pub fn item(&self) -> &[u8] {
        self.opened.item()
    }

    /// Checks the signature with a key unpacked for this one item.
    ///
    /// # Errors
    /// [`Error::BadKey`] and [`Error::BadSignature`].
    pub fn verify(self) -> Result<Opened> {
        Verifier::default().verify(self)
    }

    /// The record without its signature checked: for bytes that were checked before and whose
    /// hash is known to be unchanged.
    #[must_use]
    pub fn into_unchecked(self) -> Opened {
        self.opened
    }

    /// Whether it claims to be the header or trailer of a bundle.
    pub(crate) fn is_structural(&self) -> bool {
        matches!(&self.opened, Opened::Record(record) if is_structural(record.kind()))
    }

    fn payload(&self) -> &[u8] {
        &self.opened.item()[self.payload.clone()]
    }
}

fn write_string_head(out: &mut Vec<u8>, length: usize) {
    let wide = (length as u64).to_be_bytes();
    match length {
        0..=23 => out.push(0x40 | wide[7]),
        24..=0xff => out.extend_from_slice(&[0x58, wide[7]]),
        0x100..=0xffff => out.extend_from_slice(&[0x59, wide[6], wide[7]]),
        _ => {
            out.push(0x5a);
            out.extend_from_slice(&wide[4..]);
        }
    }
}

/// Wraps and signs a payload.
pub(crate) fn wrap(key: &LogKey, payload: &[u8]) -> Vec<u8> {
    let mut to_be_signed = Vec::with_capacity(payload.len() + 32);
    write_to_be_signed(&mut to_be_signed, payload);
    let mut item = Vec::with_capacity(payload.len() + 80);
    item.extend_from_slice(&MARK);
    write_string_head(&mut item, payload.len());
    item.extend_from_slice(payload);
    item.extend_from_slice(&SIGNATURE_HEAD);
    item.extend_from_slice(&key.sign(&to_be_signed));
    item
}

/// Gives a draft its place in the log, signs it and moves the head behind it.
///
/// The head moves only when this succeeds. Whoever then fails to store the record must store
/// this same record later, not seal another one for its place.
///
/// # Errors
/// [`Error::WrongLog`] when key and head do not belong together, [`Error::LogFull`], and
/// whatever [`Record::encode`] refuses.
pub fn seal(key: &LogKey, head: &mut LogHead, draft: Draft) -> Result<SignedRecord> {
    let log = key.log_id();
    if head.log != log {
        return Err(Error::WrongLog {
            expected: head.log,
            found: log,
        });
    }
    if is_structural(draft.kind) {
        let what = "reserved for bundles";
        return Err(Error::BadField {
            offset: 0,
            field: "kind",
            what,
        });
    }
    let sealed = sign_draft(key, head.next_seq, head.prev, draft)?;
    *head = LogHead::after(&sealed.reference())?;
    Ok(sealed)
}

/// Signs a draft for a given place; for bundle parts, which have none, that is 0.
pub(crate) fn sign_draft(
    key: &LogKey,
    seq: u64,
    prev: Option<RecordId>,
    draft: Draft,
) -> Result<SignedRecord> {
    let Draft {
        kind,
        clock,
        person,
        refs,
        body,
        nonce,
    } = draft;
    let log = key.log_id();
    let record = Record {
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
    let payload = record.encode()?;
    Ok(SignedRecord {
        item: wrap(key, &payload),
        id: RecordId::of(&payload),
        record,
    })
}

/// Where the payload and the whole item end, judged by the head of the item alone.
struct Extent {
    payload: std::ops::Range<usize>,
    length: usize,
}

/// Reads the head of an item; needs the whole item to be there.
fn extent(bytes: &[u8]) -> Result<Extent> {
    let shown = bytes.len().min(MARK.len());
    if bytes[..shown] != MARK[..shown] {
        return Err(Error::NotAnItem { offset: 0 });
    }
    if shown < MARK.len() {
        return Err(Error::Truncated { offset: 0 });
    }
    let at = MARK.len();
    // The head is read before the string, so that a huge length is refused and not waited for.
    let head = canonical::head(bytes, at)?;
    if head.major != canonical::BYTES {
        let byte = bytes[at];
        return Err(Error::WrongType {
            offset: at,
            expected: "payload",
            byte,
        });
    }
    if head.value > MAX_RECORD_BYTES as u64 {
        let limit = MAX_RECORD_BYTES as u64;
        return Err(Error::TooLong {
            offset: at,
            what: "record",
            declared: head.value,
            limit,
        });
    }
    let end = head.next + usize::try_from(head.value).unwrap_or(MAX_RECORD_BYTES);
    let whole = end + SIGNATURE_HEAD.len() + SIGNATURE_BYTES;
    let behind = bytes.get(end..).unwrap_or_default();
    let shown = behind.len().min(SIGNATURE_HEAD.len());
    if behind[..shown] != SIGNATURE_HEAD[..shown] {
        return Err(Error::WrongType {
            offset: end,
            expected: "signature of 64 bytes",
            byte: behind[0],
        });
    }
    if bytes.len() < whole {
        return Err(Error::Truncated { offset: 0 });
    }
    Ok(Extent {
        payload: head.next..end,
        length: whole,
    })
}

/// Reads one item from the start of `bytes` without checking its signature.
///
/// Returns the item and its length.
///
/// # Errors
/// Whatever is not in the one allowed form, with its byte offset. [`Error::Truncated`] only when
/// more bytes could make it whole.
pub fn parse_item(bytes: &[u8]) -> Result<(Unverified, usize)> {
    let Extent { payload, length } = extent(bytes)?;
    let item = bytes[..length].to_vec();
    let content = &bytes[payload.clone()];
    let opened = parse_payload(content, item).map_err(|error| {
        // The payload is all there; ending inside it is not a matter of more bytes.
        match error.shifted(payload.start) {
            Error::Truncated { offset } => Error::BadField {
                offset,
                field: "payload",
                what: "ends inside a value",
            },
            other => other,
        }
    })?;
    Ok((Unverified { opened, payload }, length))
}

fn parse_payload(payload: &[u8], item: Vec<u8>) -> Result<Opened> {
    let id = RecordId::of(payload);
    let (version, log, seq) = peek_payload(payload)?;
    if version == FORMAT_VERSION {
        let record = Record::decode(payload)?;
        return Ok(Opened::Record(SignedRecord { item, id, record }));
    }
    let reference = RecordRef { log, seq, id };
    Ok(Opened::Newer(NewerItem {
        version,
        reference,
        item,
    }))
}

/// Reads as much of an envelope as every version has: version, kind, log, place, previous.
fn peek_payload(payload: &[u8]) -> Result<(u64, LogId, u64)> {
    let mut reader = Reader::new(payload);
    reader.map()?;
    reader.expect_key(VERSION)?;
    let version = reader.uint()?;
    if version < FORMAT_VERSION {
        let offset = reader.offset();
        return Err(Error::BadField {
            offset,
            field: "version",
            what: "zero is not used",
        });
    }
    reader.expect_key(KIND)?;
    let kind = reader.uint()?;
    reader.expect_key(LOG)?;
    let log = LogId(reader.fixed_bytes()?);
    if version == FORMAT_VERSION && is_structural(kind) {
        return Ok((version, log, 0));
    }
    reader.expect_key(SEQ)?;
    let seq = reader.uint()?;
    // Whatever else stands here belongs to the rest, which is not this function's to judge.
    if reader.optional_key(PREV).unwrap_or(false) {
        reader.fixed_bytes::<32>()?;
    }
    Ok((version, log, seq))
}

/// Reads one item from the start of `bytes` and checks its signature.
///
/// Returns the item and its length.
///
/// # Errors
/// As [`parse_item`] and [`Verifier::verify`].
pub fn open_item(bytes: &[u8]) -> Result<(Opened, usize)> {
    let (item, length) = parse_item(bytes)?;
    Ok((item.verify()?, length))
}

/// The name that the item at the start of `bytes` claims, and its length.
///
/// Reads the head of the envelope and hashes the payload; checks neither the rest of the form
/// nor the signature. For bytes that were checked before.
///
/// # Errors
/// Whatever keeps the head of the envelope from being read.
pub fn peek_ref(bytes: &[u8]) -> Result<(RecordRef, usize)> {
    let Extent { payload, length } = extent(bytes)?;
    let content = &bytes[payload.clone()];
    let (_, log, seq) = peek_payload(content).map_err(|error| error.shifted(payload.start))?;
    Ok((
        RecordRef {
            log,
            seq,
            id: RecordId::of(content),
        },
        length,
    ))
}

#[cfg(test)]
mod tests;
