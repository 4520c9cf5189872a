//! What the tests of this crate build on: a sound station, entries, logbooks in temporary folders.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_sync_format::disk::Disk;
use winze_sync_format::{Decimal, RecordRef};

use crate::actions::{
    MergeReport, NewReading, PackFor, Progress, enrol_logbook, merge_bundles, pack_bundle,
    record_reading, revise_station,
};
use crate::clock::FixedClock;
use crate::record::{Role, Ticks};
use crate::station::{Station, StationCode, defaults};
use crate::units::{Typed, Unit};
use crate::verdict::Entry;
use crate::{Logbook, Result};

/// 2026-01-05T06:00:00Z, a Monday.
pub const MONDAY_MS: i64 = 20_458 * 86_400_000 + 6 * 3_600_000;

/// A station code.
pub fn code(text: &str) -> StationCode {
    StationCode::parse(text).unwrap()
}

/// A sound station: 10 bar through ratio 2.5 to 4 bar, set to 2 bar.
pub fn station(text: &str) -> Station {
    let whole = |mantissa| Decimal {
        mantissa,
        exponent: 0,
    };
    defaults::station(&defaults::RegisterRow {
        code: code(text),
        unit: Unit::Bar,
        ratio: Decimal {
            mantissa: 25,
            exponent: -1,
        },
        set_point: Decimal {
            mantissa: 20,
            exponent: -1,
        },
        inlet_typical: whole(10),
        gauge_class: Decimal {
            mantissa: 16,
            exponent: -1,
        },
        spans: [whole(16), whole(10), whole(4)],
    })
}

/// An entry in tenths of a bar.
pub fn entry(inlet: i64, interstage: i64, outlet: i64) -> Entry {
    let tenths = |mantissa| Typed::of(mantissa, -1, Unit::Bar);
    Entry::of(tenths(inlet), tenths(interstage), tenths(outlet))
}

/// A reading to confirm; `nonce` tells two of them apart.
pub fn reading(text: &str, entry: Entry, nonce: u64) -> NewReading {
    NewReading {
        station: code(text),
        revision: None,
        round: None,
        entry,
        ticks: Ticks::NONE,
        note: String::new(),
        doubts: Vec::new(),
        by: "A. Operator".to_owned(),
        nonce: nonce.to_be_bytes(),
    }
}

/// A logbook in a folder of its own.
pub struct Kept {
    pub book: Logbook,
    pub clock: Arc<FixedClock>,
    pub folder: tempfile::TempDir,
    nonces: u64,
}

impl Kept {
    /// A new logbook.
    pub fn new(role: Role, label: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let clock = Arc::new(FixedClock::at(MONDAY_MS));
        let book =
            Logbook::create(&folder.path().join("book"), role, label, clock.clone()).unwrap();
        Self {
            book,
            clock,
            folder,
            nonces: 0,
        }
    }

    /// The logbook's own folder.
    pub fn dir(&self) -> PathBuf {
        self.folder.path().join("book")
    }

    /// Defines a station, as in the samples.
    pub fn define(&mut self, text: &str) -> RecordRef {
        revise_station(&mut self.book, station(text), "E. Engineer".to_owned()).unwrap()
    }

    /// Confirms a reading in tenths of a bar, one minute after whatever was before.
    pub fn read(&mut self, text: &str, values: (i64, i64, i64)) -> RecordRef {
        self.try_read(text, values).unwrap()
    }

    /// As [`Kept::read`], with its result.
    pub fn try_read(&mut self, text: &str, values: (i64, i64, i64)) -> Result<RecordRef> {
        self.nonces += 1;
        self.clock.advance_ms(60_000);
        let new = reading(text, entry(values.0, values.1, values.2), self.nonces);
        record_reading(&mut self.book, new).map(|saved| saved.at)
    }

    /// Lets another logbook count here.
    pub fn enrol(&mut self, other: &Self, name: &str, role: Role) -> RecordRef {
        let log = other.book.log_id();
        enrol_logbook(
            &mut self.book,
            log,
            name.to_owned(),
            role,
            "C. Clerk".to_owned(),
        )
        .unwrap()
    }

    /// Packs a bundle beside the logbook.
    pub fn pack(&mut self, to: PackFor) -> PathBuf {
        self.clock.advance_ms(1);
        pack_bundle(
            &mut self.book,
            self.folder.path(),
            to,
            "C. Clerk",
            &mut carry_on,
        )
        .unwrap()
        .path
    }

    /// Merges bundles.
    pub fn merge(&mut self, paths: &[PathBuf]) -> MergeReport {
        merge_bundles(&mut self.book, paths, &mut carry_on).unwrap()
    }

    /// Closes the logbook and opens it anew.
    pub fn reopen(self) -> Self {
        self.reopen_after(|_| {})
    }

    /// Closes the logbook, changes its folder, opens it.
    pub fn reopen_after(self, change: impl FnOnce(&Path)) -> Self {
        let Self {
            book,
            clock,
            folder,
            nonces,
        } = self;
        let dir = book.dir().to_owned();
        drop(book);
        change(&dir);
        let book = Logbook::open(&dir, clock.clone()).unwrap();
        Self {
            book,
            clock,
            folder,
            nonces,
        }
    }

    /// The projection as text.
    pub fn dump(&self) -> String {
        self.book.dump_projection().unwrap()
    }
}

/// A progress callback that never stops anything.
pub fn carry_on(_: Progress) -> bool {
    true
}

/// The files of a folder whose names end in `end`, sorted.
pub fn files_ending(disk: &dyn Disk, dir: &Path, end: &str) -> Vec<PathBuf> {
    let names = disk.file_names(dir).unwrap();
    names
        .into_iter()
        .filter(|name| name.ends_with(end))
        .map(|name| dir.join(name))
        .collect()
}
