//! Records, items and bundles for the tests of this folder, made through the public interface;
//! and, beside it, items that the crate itself would never make.
//!
//! Every test binary uses a part of this, hence the `allow`.
#![allow(dead_code)]

pub mod forge;
pub mod mutate;
pub mod targets;

use std::ops::ControlFlow;
use std::path::Path;

use ed25519_dalek::{Signer as _, SigningKey};
use sha2::{Digest as _, Sha256};
use winze_sync_format::bundle::{Bundle, BundlePlan, BundleReader, RangeSet, write_bundle};
use winze_sync_format::canonical::Encoder;
use winze_sync_format::disk::FaultyDisk;
use winze_sync_format::{
    ClockReading, ClockStatus, Draft, Error, LogHead, LogId, LogKey, MARK, RecordId, RecordRef,
    SignedRecord, seal,
};

/// Seed of the log that most tests write.
pub const ONE: [u8; 32] = [1; 32];
/// Seed of a second log.
pub const TWO: [u8; 32] = [2; 32];

/// What binds a signature to this format (SPEC.md section 4).
pub const EXTERNAL_AAD: &[u8] = b"winze/1";
/// Bytes of the closing number of a bundle.
pub const HINT_BYTES: usize = 9;

pub fn key(seed: [u8; 32]) -> LogKey {
    LogKey::from_seed(&seed)
}

pub fn log_id(seed: [u8; 32]) -> LogId {
    key(seed).log_id()
}

pub fn clock() -> ClockReading {
    ClockReading {
        wall_ms: 1_800_000_000_000,
        status: ClockStatus::HandSet,
        boot: [7; 16],
        monotonic_ms: 42,
    }
}

/// A draft whose body is one text.
pub fn draft(text: &str) -> Draft {
    let body = Encoder::new().map(1).key(0).text(text).finish().unwrap();
    Draft {
        kind: 40,
        clock: clock(),
        person: "A. Other".into(),
        refs: Vec::new(),
        body,
        nonce: [1; 8],
    }
}

/// A log of so many records.
pub fn log(seed: [u8; 32], count: usize) -> Vec<SignedRecord> {
    let key = key(seed);
    let mut head = LogHead::empty(key.log_id());
    (0..count)
        .map(|n| seal(&key, &mut head, draft(&format!("number {n}"))).unwrap())
        .collect()
}

/// A file that begins like a JPEG picture.
pub fn file(length: usize) -> Vec<u8> {
    let mut bytes = vec![0xff, 0xd8, 0xff];
    bytes.extend((3..length).map(|n| u8::try_from(n * n % 251).unwrap()));
    bytes
}

/// A log of so many records, then the chunks of a file, then what names them.
pub fn log_with_attachment(count: usize, file: &[u8], chunk_bytes: usize) -> Vec<SignedRecord> {
    let key = key(ONE);
    let mut head = LogHead::empty(key.log_id());
    let mut add = |draft| seal(&key, &mut head, draft).unwrap();
    let mut records: Vec<_> = (0..count)
        .map(|n| add(draft(&format!("number {n}"))))
        .collect();
    let chunks: Vec<_> = file.chunks(chunk_bytes).collect();
    for chunk in &chunks {
        let body = Encoder::new().map(1).key(0).bytes(chunk).finish().unwrap();
        let kind = 54;
        records.push(add(Draft {
            kind,
            body,
            ..draft("")
        }));
    }
    let about = records[0].reference();
    let mut body = Encoder::new();
    body.map(7).key(0).text("image/jpeg");
    body.key(1).uint(file.len() as u64);
    body.key(2).bytes(&Sha256::digest(file));
    body.key(3).array(chunks.len());
    for chunk in &chunks {
        body.array(2)
            .bytes(&Sha256::digest(chunk))
            .uint(chunk.len() as u64);
    }
    body.key(4)
        .array(3)
        .bytes(&about.log.0)
        .uint(about.seq)
        .bytes(&about.id.0);
    body.key(5).text("A-1").key(8).int(0);
    let (kind, body) = (53, body.finish().unwrap());
    records.push(add(Draft {
        kind,
        body,
        ..draft("")
    }));
    records
}

pub fn bytes_of(records: &[SignedRecord]) -> Vec<u8> {
    records
        .iter()
        .flat_map(SignedRecord::item)
        .copied()
        .collect()
}

pub fn plan(label: &str, records: &[SignedRecord]) -> BundlePlan {
    let mut ranges = RangeSet::new();
    for record in records {
        ranges.insert(record.log(), record.seq());
    }
    BundlePlan {
        label: label.into(),
        person: "A. Other".into(),
        clock: clock(),
        nonce: [9; 8],
        ranges,
        records: records.len() as u64,
        frontier: Vec::new(),
    }
}

/// Name and bytes of a bundle of these records, packed by the first log.
pub fn packed(label: &str, records: &[SignedRecord]) -> (String, Vec<u8>) {
    let disk = FaultyDisk::new();
    let items = records.iter().map(|record| Ok::<_, Error>(record.item()));
    let go = &mut |_| ControlFlow::Continue(());
    let folder = Path::new("/stick");
    let plan = plan(label, records);
    let written = write_bundle(&disk, folder, &key(ONE), &plan, items, go).unwrap();
    assert_eq!(written.path.parent(), Some(folder));
    let name = written.path.file_name().unwrap().to_str().unwrap();
    (name.to_owned(), disk.files().remove(&written.path).unwrap())
}

/// The bytes of a bundle of these records.
pub fn bundle_of(records: &[SignedRecord]) -> Vec<u8> {
    packed("Tablet A", records).1
}

/// Reads a bundle, and knows nothing of it before.
pub fn read(bytes: &[u8]) -> Bundle {
    winze_sync_format::bundle::read_bundle(bytes)
}

/// A reader of bytes, for tests that set limits or look at events.
pub fn reader(bytes: &[u8]) -> BundleReader<'_, &[u8]> {
    BundleReader::new(bytes)
}

/// `d2 84 .. <payload> 58 40 <signature>`, whatever the payload, signed for whatever context.
pub fn wrap_for(seed: [u8; 32], aad: &[u8], payload: &[u8]) -> Vec<u8> {
    let signed = Encoder::new()
        .array(4)
        .text("Signature1")
        .bytes(&[0xa1, 0x01, 0x32])
        .bytes(aad)
        .bytes(payload)
        .finish();
    // The encoder keeps to the limits of a record; what is longer is laid out by hand.
    let signed = signed.unwrap_or_else(|_| {
        let mut bytes = vec![0x84, 0x6a];
        bytes.extend_from_slice(b"Signature1\x43\xa1\x01\x32");
        bytes.extend_from_slice(&string(aad));
        bytes.extend_from_slice(&string(payload));
        bytes
    });
    let signature = SigningKey::from_bytes(&seed).sign(&signed).to_bytes();
    wrap_with(payload, &signature)
}

/// An item of this payload, signed as this format wants it.
pub fn wrap(seed: [u8; 32], payload: &[u8]) -> Vec<u8> {
    wrap_for(seed, EXTERNAL_AAD, payload)
}

/// An item of this payload with this signature.
pub fn wrap_with(payload: &[u8], signature: &[u8; 64]) -> Vec<u8> {
    let mut item = MARK.to_vec();
    item.extend_from_slice(&string(payload));
    item.extend_from_slice(&[0x58, 0x40]);
    item.extend_from_slice(signature);
    item
}

/// A CBOR byte string.
pub fn string(bytes: &[u8]) -> Vec<u8> {
    let mut out = head(2, bytes.len() as u64);
    out.extend_from_slice(bytes);
    out
}

/// The shortest head of a CBOR value.
pub fn head(major: u8, number: u64) -> Vec<u8> {
    let wide = number.to_be_bytes();
    let (info, digits) = match number {
        0..24 => (wide[7], &wide[..0]),
        24..0x100 => (24, &wide[7..]),
        0x100..0x1_0000 => (25, &wide[6..]),
        0x1_0000..0x1_0000_0000 => (26, &wide[4..]),
        _ => (27, &wide[..]),
    };
    [&[(major << 5) | info], digits].concat()
}

/// An envelope of the first log at place 0 around any bytes as its body.
pub fn payload_around(body: &[u8]) -> Vec<u8> {
    payload_at(0, None, body)
}

/// An envelope of the first log at any place around any bytes as its body.
pub fn payload_at(seq: u64, prev: Option<RecordId>, body: &[u8]) -> Vec<u8> {
    let mut out = head(5, if prev.is_some() { 10 } else { 9 });
    out.extend_from_slice(&[0, 1, 1, 0x18, 40, 2]);
    out.extend_from_slice(&string(&log_id(ONE).0));
    out.push(3);
    out.extend_from_slice(&head(0, seq));
    if let Some(prev) = prev {
        out.push(4);
        out.extend_from_slice(&string(&prev.0));
    }
    out.extend_from_slice(&[5, 0x82, 0, 1, 6, 0x82]);
    out.extend_from_slice(&string(&[7; 16]));
    out.extend_from_slice(&[0, 7, 0x60, 9]);
    out.extend_from_slice(body);
    out.push(10);
    out.extend_from_slice(&string(&[1; 8]));
    out
}

/// A signed item of the first log at any place, named as if by its own bytes.
pub fn item_at(seq: u64, prev: Option<RecordId>) -> Vec<u8> {
    wrap(ONE, &payload_at(seq, prev, &[0xa0]))
}

/// A header or trailer by the holder of a seed, around any body.
pub fn part(seed: [u8; 32], kind: u8, body: &[u8]) -> Vec<u8> {
    wrap(seed, &part_payload(seed, kind, body))
}

/// The payload of a header or trailer.
pub fn part_payload(seed: [u8; 32], kind: u8, body: &[u8]) -> Vec<u8> {
    let mut out = vec![0xa8, 0, 1, 1, kind, 2];
    out.extend_from_slice(&string(&log_id(seed).0));
    out.extend_from_slice(&[5, 0x82, 0, 1, 6, 0x82]);
    out.extend_from_slice(&string(&[7; 16]));
    out.extend_from_slice(&[0, 7, 0x60, 9]);
    out.extend_from_slice(body);
    out.push(10);
    out.extend_from_slice(&string(&[9; 8]));
    out
}

/// What a forged bundle says of itself; fields are what an honest one of these items would say.
pub struct Claims {
    pub header_seed: [u8; 32],
    pub trailer_seed: [u8; 32],
    pub header_records: u64,
    pub trailer_records: u64,
    pub bytes: Option<u64>,
    pub sha256: Option<[u8; 32]>,
    pub ranges: RangeSet,
    pub closing: Option<u64>,
}

impl Claims {
    pub fn honest(records: &[SignedRecord]) -> Self {
        let plan = plan("", records);
        Self {
            header_seed: ONE,
            trailer_seed: ONE,
            header_records: plan.records,
            trailer_records: plan.records,
            bytes: None,
            sha256: None,
            ranges: plan.ranges,
            closing: None,
        }
    }

    fn ranges(&self) -> Vec<u8> {
        let mut logs: Vec<(LogId, Vec<u64>)> = Vec::new();
        for range in self.ranges.iter() {
            match logs.last_mut() {
                Some((log, numbers)) if *log == range.log => {
                    numbers.extend([range.first, range.last]);
                }
                _ => logs.push((range.log, vec![range.first, range.last])),
            }
        }
        let mut out = head(4, logs.len() as u64);
        for (log, numbers) in logs {
            out.push(0x82);
            out.extend_from_slice(&string(&log.0));
            out.extend_from_slice(&head(4, numbers.len() as u64));
            for number in numbers {
                out.extend_from_slice(&head(0, number));
            }
        }
        out
    }

    /// The bundle that says so of these items.
    pub fn around(&self, items: &[u8]) -> Vec<u8> {
        let mut body = vec![0xa4, 0, 0x60, 1];
        body.extend_from_slice(&self.ranges());
        body.push(2);
        body.extend_from_slice(&head(0, self.header_records));
        body.extend_from_slice(&[3, 0x80]);
        let header = part_payload(self.header_seed, 1, &body);
        let mut bytes = wrap(self.header_seed, &header);
        bytes.extend_from_slice(items);
        let offset = bytes.len() as u64;
        let mut body = vec![0xa5, 0];
        body.extend_from_slice(&string(&Sha256::digest(&header)));
        body.push(1);
        body.extend_from_slice(&head(0, self.trailer_records));
        body.push(2);
        body.extend_from_slice(&head(0, self.bytes.unwrap_or(offset)));
        body.push(3);
        let hash = self.sha256.unwrap_or_else(|| Sha256::digest(&bytes).into());
        body.extend_from_slice(&string(&hash));
        body.push(4);
        body.extend_from_slice(&self.ranges());
        bytes.extend_from_slice(&part(self.trailer_seed, 2, &body));
        bytes.push(0x1b);
        bytes.extend_from_slice(&self.closing.unwrap_or(offset).to_be_bytes());
        bytes
    }
}

pub fn references(records: &[SignedRecord]) -> Vec<RecordRef> {
    records.iter().map(SignedRecord::reference).collect()
}

/// The bytes of a frozen vector.
pub fn vector(name: &str) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/v1");
    let text = std::fs::read_to_string(folder.join(format!("{name}.txt"))).unwrap();
    let digits: String = text
        .split_once("\n\n")
        .unwrap()
        .1
        .split_whitespace()
        .collect();
    unhex(&digits)
}

pub fn unhex(digits: &str) -> Vec<u8> {
    let byte = |at| u8::from_str_radix(&digits[at..at + 2], 16).unwrap();
    (0..digits.len()).step_by(2).map(byte).collect()
}

/// Peak memory of this process in KiB, where the system tells it.
pub fn peak_kib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}
