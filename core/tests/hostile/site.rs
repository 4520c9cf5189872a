//! An office, and pens that write whatever somebody wants to have written.

use std::cell::Cell;
use std::ops::ControlFlow;
use std::path::PathBuf;
use std::sync::Arc;

use tempfile::TempDir;
use winze_core::Logbook;
use winze_core::actions::{
    BundleMerged, enrol_logbook, merge_bundles, revise_station, revoke_logbook,
};
use winze_core::clock::FixedClock;
use winze_core::query::past_readings;
use winze_core::record::{Body, Reading, Role, Shown, Source, Ticks};
use winze_core::station::{Station, StationCode, defaults};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;
use winze_sync_format::bundle::{BundlePlan, RangeSet, write_bundle};
use winze_sync_format::disk::RealDisk;
use winze_sync_format::{
    ClockReading, ClockStatus, Decimal, Draft, Error, LogHead, LogId, LogKey, RecordRef,
    SignedRecord, seal,
};

/// 2026-03-02T06:00:00Z, a Monday, in milliseconds since 1970.
pub const MONDAY_MS: i64 = 1_772_431_200_000;

pub fn code() -> StationCode {
    StationCode::parse("T-07").expect("a code")
}

pub fn station() -> Station {
    let tenths = |mantissa| Decimal {
        mantissa,
        exponent: -1,
    };
    defaults::station(&defaults::RegisterRow {
        code: code(),
        unit: Unit::Bar,
        ratio: tenths(25),
        set_point: tenths(20),
        inlet_typical: tenths(100),
        gauge_class: tenths(16),
        spans: [tenths(160), tenths(100), tenths(40)],
    })
}

/// Somebody with a key, and what they write with it.
pub struct Pen {
    pub key: LogKey,
    pub head: LogHead,
    pub wall_ms: i64,
    pub written: Vec<SignedRecord>,
}

impl Pen {
    pub fn new(seed: u8) -> Self {
        let key = LogKey::from_seed(&[seed; 32]);
        let head = LogHead::empty(key.log_id());
        Self {
            key,
            head,
            wall_ms: MONDAY_MS,
            written: Vec::new(),
        }
    }

    pub fn log(&self) -> LogId {
        self.key.log_id()
    }

    pub fn write(&mut self, body: &Body) -> RecordRef {
        let kind = body.kind().number();
        self.write_raw(
            kind,
            body.encode().expect("a body of this test"),
            "A. Other",
        )
    }

    pub fn write_raw(&mut self, kind: u64, body: Vec<u8>, person: &str) -> RecordRef {
        self.wall_ms = self.wall_ms.saturating_add(60_000);
        let draft = Draft {
            kind,
            clock: ClockReading {
                wall_ms: self.wall_ms,
                status: ClockStatus::HandSet,
                boot: [1; 16],
                monotonic_ms: 0,
            },
            person: person.to_owned(),
            refs: Vec::new(),
            body,
            nonce: [2; 8],
        };
        let record = seal(&self.key, &mut self.head, draft).expect("sealed");
        let at = record.reference();
        self.written.push(record);
        at
    }

    pub fn read(&mut self, revision: RecordRef, outlet_tenths: i64) -> RecordRef {
        let tenths = |mantissa| Typed::of(mantissa, -1, Unit::Bar);
        self.write(&Body::Reading(Box::new(Reading {
            station: code(),
            revision,
            round: None,
            entry: Entry::of(tenths(100), tenths(40), tenths(outlet_tenths)),
            ticks: Ticks::NONE,
            note: String::new(),
            doubts: Vec::new(),
            shown: Shown::default(),
            source: Source::OnTheSpot,
            utc_offset_minutes: None,
        })))
    }
}

/// An office with one station.
pub struct Office {
    pub book: Logbook,
    pub folder: TempDir,
    pub revision: RecordRef,
    pub clock: Arc<FixedClock>,
    bundles: Cell<u32>,
}

impl Office {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let clock = Arc::new(FixedClock::at(MONDAY_MS));
        let mut book = Logbook::create(
            &folder.path().join("office"),
            Role::Office,
            "office",
            clock.clone(),
        )
        .expect("created");
        let revision = revise_station(&mut book, station(), "E. Engineer".into()).expect("defined");
        Self {
            book,
            folder,
            revision,
            clock,
            bundles: Cell::new(0),
        }
    }

    pub fn enrol(&mut self, pen: &Pen, role: Role) {
        enrol_logbook(
            &mut self.book,
            pen.log(),
            "T".into(),
            role,
            "C. Clerk".into(),
        )
        .expect("enrolled");
    }

    pub fn revoke(&mut self, pen: &Pen, last_seq: Option<u64>) {
        let (reason, by) = ("lost".to_owned(), "C. Clerk".to_owned());
        revoke_logbook(&mut self.book, pen.log(), last_seq, reason, by).expect("revoked");
    }

    /// A bundle of items, packed by nobody who matters.
    pub fn bundle(&self, records: &[SignedRecord]) -> PathBuf {
        let number = self.bundles.get();
        self.bundles.set(number + 1);
        let mut records = records.to_vec();
        records.sort_by_key(SignedRecord::reference);
        records.dedup();
        let mut ranges = RangeSet::new();
        for record in &records {
            ranges.insert(record.log(), record.seq());
        }
        let plan = BundlePlan {
            label: "tray".into(),
            person: String::new(),
            clock: records.first().map_or(
                ClockReading {
                    wall_ms: 0,
                    status: ClockStatus::Unset,
                    boot: [0; 16],
                    monotonic_ms: 0,
                },
                |record| record.record().clock,
            ),
            nonce: u64::from(number).to_be_bytes(),
            ranges,
            records: records.len() as u64,
            frontier: Vec::new(),
        };
        let key = LogKey::from_seed(&[99; 32]);
        let folder = self.folder.path().join(format!("tray-{number}"));
        std::fs::create_dir_all(&folder).expect("a folder");
        let items = records.iter().map(|record| Ok::<_, Error>(record.item()));
        let go = &mut |_| ControlFlow::Continue(());
        write_bundle(&RealDisk, &folder, &key, &plan, items, go)
            .expect("written")
            .path
    }

    pub fn merge(&mut self, records: &[SignedRecord]) -> BundleMerged {
        let path = self.bundle(records);
        self.merge_file(path)
    }

    pub fn merge_file(&mut self, path: PathBuf) -> BundleMerged {
        let mut report = merge_bundles(&mut self.book, &[path], &mut |_| true).expect("merged");
        report.bundles.remove(0)
    }

    /// The readings of the station that count, newest first.
    pub fn counted(&self) -> Vec<RecordRef> {
        let visits = past_readings(&self.book, &code(), 100).expect("read");
        let counted = visits.iter().filter(|visit| visit.counts());
        counted.map(|visit| visit.at).collect()
    }

    /// The same logbook opened anew: it checks every record and works everything out again.
    pub fn reopened(self) -> Self {
        let dump = self.book.dump_projection().expect("dumped");
        let dir = self.book.dir().to_owned();
        drop(self.book);
        let mut book = Logbook::open(&dir, Arc::new(FixedClock::at(MONDAY_MS))).expect("opened");
        assert!(book.dump_projection().expect("dumped") == dump);
        book.rebuild().expect("rebuilt");
        assert!(book.dump_projection().expect("dumped") == dump);
        Self { book, ..self }
    }
}
