//! Reads a bundle in one pass with bounded memory, whatever state it is in.

use std::io::Read;

use super::parts::{BundleHeader, BundleTrailer, read_header};
use super::ranges::RangeSet;
use super::report::{Bundle, BundleReport, TrailerFault, TrailerState};
use crate::id::RecordRef;
use crate::item::NewerItem;
use crate::record::{KIND_BUNDLE_HEADER, KIND_BUNDLE_TRAILER, SignedRecord};
use crate::salvage::{Damage, DamageReason, Found, ItemScanner, ReadLimits};

/// Most broken links and damaged parts that are listed one by one.
const LISTED_MAX: usize = 1000;

/// What comes out of a bundle, in the order of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BundleEvent {
    /// The header.
    Header(BundleHeader),
    /// A record, its signature checked.
    Record(SignedRecord),
    /// A record that the caller holds already.
    Held(RecordRef),
    /// An item of a newer format version.
    Newer(NewerItem),
    /// A part that belongs to no item.
    Damage(Damage),
}

/// Reads a bundle; iterate to the end, then ask for the [`BundleReader::finish`] report.
pub struct BundleReader<'a, R> {
    scanner: ItemScanner<'a, R>,
    report: BundleReport,
    trailer: Option<BundleTrailer>,
    seen: RangeSet,
    last: Option<RecordRef>,
    /// The trailer's offset while its closing number has not come.
    hint_due: Option<u64>,
}

impl<'a, R: Read> BundleReader<'a, R> {
    /// A reader from the start of a bundle, checking signatures on this thread.
    pub fn new(stream: R) -> Self {
        let report = BundleReport {
            header: None,
            trailer: TrailerState::Absent,
            bytes: 0,
            records: 0,
            held: 0,
            newer: 0,
            damage: Vec::new(),
            missing: Vec::new(),
            broken_links: Vec::new(),
            lost_track: false,
        };
        Self {
            scanner: ItemScanner::new(stream),
            report,
            trailer: None,
            seen: RangeSet::new(),
            last: None,
            hint_due: None,
        }
    }

    /// Checks signatures on this many threads.
    #[must_use]
    pub fn threads(mut self, threads: usize) -> Self {
        self.scanner = self.scanner.threads(threads);
        self
    }

    /// Takes other limits.
    #[must_use]
    pub fn limits(mut self, limits: ReadLimits) -> Self {
        self.scanner = self.scanner.limits(limits);
        self
    }

    /// Reports records that the caller holds already as [`BundleEvent::Held`], without checking
    /// their signatures again.
    #[must_use]
    pub fn known(mut self, known: impl FnMut(&RecordRef) -> bool + 'a) -> Self {
        self.scanner = self.scanner.known(known);
        self
    }

    /// Bytes worked through so far.
    #[must_use]
    pub fn offset(&self) -> u64 {
        self.scanner.offset()
    }

    /// Reads what is left and tells what was learnt.
    #[must_use]
    pub fn finish(mut self) -> BundleReport {
        while self.next().is_some() {}
        if self.hint_due.is_some() {
            self.disagree(TrailerFault::Hint);
        }
        let mut report = self.report;
        report.bytes = self.scanner.offset();
        let declared = match (&report.header, &self.trailer) {
            (Some(header), Some(trailer)) => Some(header.ranges.union(&trailer.ranges)),
            (Some(header), None) => Some(header.ranges.clone()),
            (None, Some(trailer)) => Some(trailer.ranges.clone()),
            (None, None) => None,
        };
        report.missing = match declared {
            Some(declared) => declared.without(&self.seen),
            None => self.seen.gaps(),
        };
        report
    }

    fn take(&mut self, found: Found) -> Option<BundleEvent> {
        match found {
            Found::Hint { offset, value } => {
                self.close(offset, value);
                None
            }
            Found::Record {
                offset,
                record,
                hash_before,
            } => {
                self.follows_end();
                match record.kind() {
                    KIND_BUNDLE_HEADER => Some(self.header(offset, &record)),
                    KIND_BUNDLE_TRAILER => self.trailer(offset, &record, hash_before),
                    _ => {
                        self.count(&record.reference(), Some(&record));
                        Some(BundleEvent::Record(record))
                    }
                }
            }
            Found::Held { reference, .. } => {
                self.follows_end();
                self.report.held += 1;
                self.count(&reference, None);
                Some(BundleEvent::Held(reference))
            }
            Found::Newer { newer, .. } => {
                self.follows_end();
                self.report.newer += 1;
                self.count(&newer.reference, None);
                Some(BundleEvent::Newer(newer))
            }
            Found::Damage(damage) => {
                self.follows_end();
                Some(self.damaged(damage))
            }
        }
    }

    fn damaged(&mut self, damage: Damage) -> BundleEvent {
        if self.report.damage.len() < LISTED_MAX {
            self.report.damage.push(damage.clone());
        }
        self.last = None;
        BundleEvent::Damage(damage)
    }

    fn misplaced(&mut self, offset: u64, record: &SignedRecord) -> BundleEvent {
        let length = record.item().len() as u64;
        self.damaged(Damage {
            offset,
            length,
            reason: DamageReason::Misplaced,
        })
    }

    /// Whatever comes, comes behind the end if there was one.
    fn follows_end(&mut self) {
        if self.trailer.is_some() {
            let fault = if self.hint_due.take().is_some() {
                TrailerFault::Hint
            } else {
                TrailerFault::NotLast
            };
            self.disagree(fault);
        }
    }

    /// Only the first disagreement is kept: it is the most telling.
    fn disagree(&mut self, fault: TrailerFault) {
        if !matches!(self.report.trailer, TrailerState::Disagrees(_)) {
            self.report.trailer = TrailerState::Disagrees(fault);
        }
    }

    fn count(&mut self, reference: &RecordRef, record: Option<&SignedRecord>) {
        self.report.records += 1;
        if !self.seen.insert(reference.log, reference.seq) {
            self.report.lost_track = true;
        }
        if let (Some(last), Some(record)) = (self.last, record)
            && last.log == reference.log
            && last.seq.checked_add(1) == Some(reference.seq)
            && record.record().prev != Some(last.id)
            && self.report.broken_links.len() < LISTED_MAX
        {
            self.report.broken_links.push(*reference);
        }
        self.last = Some(*reference);
    }

    fn header(&mut self, offset: u64, record: &SignedRecord) -> BundleEvent {
        match read_header(record.record(), record.id()) {
            Ok(header) if self.report.header.is_none() && self.trailer.is_none() => {
                // Behind anything else it still tells what belongs to the bundle.
                if offset > 0 {
                    self.misplaced(offset, record);
                }
                self.report.header = Some(header.clone());
                BundleEvent::Header(header)
            }
            _ => self.misplaced(offset, record),
        }
    }

    fn trailer(
        &mut self,
        offset: u64,
        record: &SignedRecord,
        hash_before: Option<[u8; 32]>,
    ) -> Option<BundleEvent> {
        let Ok(trailer) = BundleTrailer::read(record.body()) else {
            self.disagree(TrailerFault::Form);
            return Some(self.misplaced(offset, record));
        };
        let header = self.report.header.as_ref();
        let other = header.is_some_and(|h| h.id != trailer.header || h.exporter != record.log());
        if other || self.trailer.is_some() {
            self.disagree(TrailerFault::OtherBundle);
            return Some(self.misplaced(offset, record));
        }
        let other_ranges = header.is_some_and(|header| header.ranges != trailer.ranges)
            || !self.seen.without(&trailer.ranges).is_empty();
        let other_count = header.is_some_and(|header| header.records != trailer.records);
        let fault = if other_ranges {
            Some(TrailerFault::Ranges)
        } else if trailer.bytes != offset {
            Some(TrailerFault::Length)
        } else if other_count || trailer.records != self.report.records {
            Some(TrailerFault::Records)
        } else if hash_before != Some(trailer.sha256) {
            Some(TrailerFault::Hash)
        } else {
            None
        };
        match fault {
            Some(fault) => self.disagree(fault),
            None => self.report.trailer = TrailerState::Whole,
        }
        self.trailer = Some(trailer);
        self.hint_due = Some(offset);
        None
    }

    fn close(&mut self, offset: u64, value: u64) {
        match self.hint_due.take() {
            Some(trailer) if trailer == value => {}
            Some(_) => self.disagree(TrailerFault::Hint),
            // The closing number of a trailer that was not taken for this bundle's.
            None => {
                let length = crate::salvage::HINT_BYTES as u64;
                self.damaged(Damage {
                    offset,
                    length,
                    reason: DamageReason::Misplaced,
                });
            }
        }
    }
}

impl<R: Read> Iterator for BundleReader<'_, R> {
    type Item = BundleEvent;

    fn next(&mut self) -> Option<BundleEvent> {
        loop {
            let found = self.scanner.next()?;
            if let Some(event) = self.take(found) {
                return Some(event);
            }
        }
    }
}

/// Reads a bundle into memory at once; for bundles of a size that allows it.
#[must_use]
pub fn read_bundle<R: Read>(stream: R) -> Bundle {
    let mut reader = BundleReader::new(stream);
    let (mut records, mut newer) = (Vec::new(), Vec::new());
    for event in &mut reader {
        match event {
            BundleEvent::Record(record) => records.push(record),
            BundleEvent::Newer(item) => newer.push(item),
            BundleEvent::Header(_) | BundleEvent::Held(_) | BundleEvent::Damage(_) => {}
        }
    }
    Bundle {
        records,
        newer,
        report: reader.finish(),
    }
}
