//! Whole records out of several files, damaged or not, put together into new bundles.
//!
//! Two damaged copies of one bundle make up for each other: what one lost the other may hold. The
//! files are only read. What was found is held in memory, as much as the files hold. Not here: what
//! the records mean, and which of them count.

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::path::Path;

use super::ranges::{RangeSet, SeqRange};
use super::reader::{BundleEvent, BundleReader};
use super::report::{BundleReport, TrailerState};
use super::writer::{BundlePlan, Progress, WrittenBundle, write_bundle};
use crate::disk::Disk;
use crate::error::{Error, IoContext as _, Result};
use crate::id::RecordRef;
use crate::key::LogKey;
use crate::record::ClockReading;
use crate::salvage::ReadLimits;

/// Most logs that one new bundle names: with [`RANGES_MAX`] its header stays a payload.
const LOGS_MAX: usize = 512;
/// Most ranges that one new bundle names.
const RANGES_MAX: usize = 2_000;
/// Bytes of a new bundle that are left for its header, its trailer and its closing number.
const PARTS_BYTES: u64 = 1 << 20;

/// Who puts records together, and when.
#[derive(Debug, Clone)]
pub struct Gatherer {
    /// What the new bundles call their origin.
    pub label: String,
    /// Who does it.
    pub person: String,
    /// What the clocks show.
    pub clock: ClockReading,
}

/// What one file was found to hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gathered {
    /// What was learnt about it by reading it to its end.
    pub report: BundleReport,
    /// Whether it begins with a record and has neither header nor trailer: part of a logbook's
    /// folder, not a bundle.
    pub is_segment: bool,
    /// Records in it that no file before it held.
    pub new: u64,
}

/// The whole records of several files, each once, in order.
#[derive(Debug, Default)]
pub struct Gathering {
    items: BTreeMap<RecordRef, Vec<u8>>,
    found: RangeSet,
    named: RangeSet,
    limits: ReadLimits,
}

impl Gathering {
    /// Nothing yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes the whole records of one file, whatever it is; checks signatures on `threads` threads.
    ///
    /// # Errors
    /// [`Error::Io`] when it cannot be opened. Damage and unreadable parts are in the report.
    pub fn add(&mut self, disk: &dyn Disk, path: &Path, threads: usize) -> Result<Gathered> {
        let stream = disk.open(path).at("open", path)?;
        let mut reader = BundleReader::new(stream)
            .threads(threads)
            .limits(self.limits);
        let (mut first_is_record, mut new) = (None, 0);
        for event in &mut reader {
            let is_record = matches!(event, BundleEvent::Record(_) | BundleEvent::Newer(_));
            first_is_record.get_or_insert(is_record);
            let (at, item) = match event {
                BundleEvent::Record(record) => (record.reference(), record.item().to_vec()),
                BundleEvent::Newer(newer) => (newer.reference, newer.item),
                BundleEvent::Header(_) | BundleEvent::Held(_) | BundleEvent::Damage(_) => continue,
            };
            self.found.insert(at.log, at.seq);
            new += u64::from(self.items.insert(at, item).is_none());
        }
        let report = reader.finish();
        for range in &report.missing {
            self.named.insert_range(*range);
        }
        Ok(Gathered {
            is_segment: first_is_record == Some(true)
                && report.header.is_none()
                && report.trailer == TrailerState::Absent,
            report,
            new,
        })
    }

    /// How many records there are.
    #[must_use]
    pub fn records(&self) -> u64 {
        self.items.len() as u64
    }

    /// Places that some file names and none holds.
    #[must_use]
    pub fn missing(&self) -> Vec<SeqRange> {
        self.named.without(&self.found)
    }

    /// Writes the records into a folder: one bundle, or more where one would pass a limit of the
    /// format. They are signed with `key`, which stands for nothing but the packing.
    ///
    /// # Errors
    /// As [`write_bundle`]. Bundles written before the failure stay.
    pub fn write(
        &self,
        disk: &dyn Disk,
        folder: &Path,
        key: &LogKey,
        by: &Gatherer,
        progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
    ) -> Result<Vec<WrittenBundle>> {
        let mut written = Vec::new();
        for part in self.parts() {
            let mut nonce = [0; 8];
            getrandom::fill(&mut nonce).map_err(|source| Error::Random { source })?;
            let plan = BundlePlan {
                label: by.label.clone(),
                person: by.person.clone(),
                clock: by.clock,
                nonce,
                ranges: part.ranges,
                records: part.items.len() as u64,
                frontier: Vec::new(),
            };
            let items = part.items.into_iter().map(Ok::<_, Error>);
            written.push(write_bundle(disk, folder, key, &plan, items, progress)?);
        }
        Ok(written)
    }

    /// The records, cut where one bundle could not hold or name more.
    fn parts(&self) -> Vec<Part<'_>> {
        let mut parts = Vec::new();
        let mut part = Part::default();
        for (at, item) in &self.items {
            if !part.has_room(item, &self.limits) {
                parts.push(std::mem::take(&mut part));
            }
            part.add(at, item);
        }
        if !part.items.is_empty() {
            parts.push(part);
        }
        parts
    }
}

/// The records of one new bundle.
#[derive(Default)]
struct Part<'a> {
    items: Vec<&'a [u8]>,
    ranges: RangeSet,
    bytes: u64,
    last: Option<RecordRef>,
    logs: usize,
    pieces: usize,
}

impl<'a> Part<'a> {
    /// Whether another item has room, wherever its place is.
    fn has_room(&self, item: &[u8], limits: &ReadLimits) -> bool {
        self.logs < LOGS_MAX
            && self.pieces < RANGES_MAX
            && (self.items.len() as u64) < limits.items - 2
            && self.bytes + item.len() as u64 + PARTS_BYTES <= limits.bytes
    }

    fn add(&mut self, at: &RecordRef, item: &'a [u8]) {
        let before = self.last.replace(*at);
        let is_same_log = before.is_some_and(|before| before.log == at.log);
        let is_next = before
            .is_some_and(|before| before.log == at.log && at.seq.saturating_sub(before.seq) <= 1);
        self.logs += usize::from(!is_same_log);
        self.pieces += usize::from(!is_next);
        self.bytes += item.len() as u64;
        self.ranges.insert(at.log, at.seq);
        self.items.push(item);
    }
}

#[cfg(test)]
mod tests;
