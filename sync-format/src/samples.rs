//! Records and bundles for this crate's own tests.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use crate::bundle::{BundlePlan, RangeSet, WrittenBundle, write_bundle};
use crate::canonical::Encoder;
use crate::disk::{Disk, FaultyDisk};
use crate::{ClockReading, ClockStatus, Draft, Error, LogHead, LogKey, Result, SignedRecord, seal};

pub const CLOCK: ClockReading = ClockReading {
    wall_ms: 1_800_000_000_000,
    status: ClockStatus::HandSet,
    boot: [7; 16],
    monotonic_ms: 42,
};

pub fn key(seed: u8) -> LogKey {
    LogKey::from_seed(&[seed; 32])
}

/// A draft of kind 40 whose body is one text.
pub fn draft(text: &str) -> Draft {
    let body = Encoder::new().map(1).key(0).text(text).finish().unwrap();
    let person = "A. Other".to_owned();
    Draft {
        kind: 40,
        clock: CLOCK,
        person,
        refs: Vec::new(),
        body,
        nonce: [1; 8],
    }
}

/// A log of so many records.
pub fn log(key: &LogKey, count: usize) -> Vec<SignedRecord> {
    let mut head = LogHead::empty(key.log_id());
    (0..count)
        .map(|n| seal(key, &mut head, draft(&format!("number {n}"))).unwrap())
        .collect()
}

pub fn plan(records: &[SignedRecord]) -> BundlePlan {
    let mut ranges = RangeSet::new();
    for record in records {
        ranges.insert(record.log(), record.seq());
    }
    BundlePlan {
        label: "Tablet A".into(),
        person: "A. Other".into(),
        clock: CLOCK,
        nonce: [9; 8],
        ranges,
        records: records.len() as u64,
        frontier: Vec::new(),
    }
}

pub fn folder() -> PathBuf {
    PathBuf::from("/stick")
}

pub fn pack(disk: &dyn Disk, key: &LogKey, records: &[SignedRecord]) -> Result<WrittenBundle> {
    pack_into(disk, &folder(), key, records)
}

pub fn pack_into(
    disk: &dyn Disk,
    folder: &Path,
    key: &LogKey,
    records: &[SignedRecord],
) -> Result<WrittenBundle> {
    let items = records.iter().map(|record| Ok::<_, Error>(record.item()));
    write_bundle(disk, folder, key, &plan(records), items, &mut |_| {
        ControlFlow::Continue(())
    })
}

/// The bytes of a bundle of these records.
pub fn bundle_bytes(key: &LogKey, records: &[SignedRecord]) -> Vec<u8> {
    let disk = FaultyDisk::new();
    let written = pack(&disk, key, records).unwrap();
    disk.files().remove(&written.path).unwrap()
}

/// The bytes of a hex string.
pub fn unhex(text: &str) -> Vec<u8> {
    assert!(text.len().is_multiple_of(2), "odd hex: {text}");
    let byte = |at| u8::from_str_radix(&text[at..at + 2], 16).unwrap();
    (0..text.len()).step_by(2).map(byte).collect()
}

/// The rows of a table: no comments, no heading. Only the last column may hold commas.
pub fn rows(table: &str, columns: usize) -> Vec<Vec<&str>> {
    let lines = table
        .lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty());
    lines
        .skip(1)
        .map(|line| line.splitn(columns, ',').collect())
        .collect()
}
