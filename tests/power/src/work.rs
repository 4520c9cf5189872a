//! What logbooks do all day, recorded: a tablet's rounds and an office's merges.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_core::actions::{
    NewAnswer, NewCorrection, NewReading, NewRound, NewSkip, PackFor, Progress, answer_question,
    back_up, clear_draft, close_round, correct_reading, enrol_logbook, merge_bundles, open_round,
    pack_bundle, record_reading, revise_station, save_draft, skip_station,
};
use winze_core::clock::FixedClock;
use winze_core::query;
use winze_core::record::{Choice, Role, SkipReason, Ticks};
use winze_core::station::{Station, StationCode, defaults};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;
use winze_core::{Error, Logbook, Result};
use winze_sync_format::{Decimal, LogId, LogKey, RecordRef, SignedRecord};

use crate::disk::{Event, Mark, Operation, PowerDisk};
use crate::images::Numbers;
use crate::medium::Medium;

/// 2026-03-02T06:00:00Z, a Monday.
pub const MONDAY_MS: i64 = 1_772_431_200_000;

/// The folder of the logbook, relative to the disk's root.
pub(crate) const BOOK: &str = "book";
const STICK: &str = "stick";
const SECOND_MEDIUM: &str = "second";

/// Whose day is recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Walk-rounds, drafts, a bundle for the office, one from it.
    Tablet,
    /// Bundles of two tablets, an answer, a bundle for the tablets.
    Office,
}

/// A recorded day.
pub struct Recorded {
    /// What was on the disk before; it lasts.
    pub before: Medium,
    /// What happened.
    pub events: Vec<Event>,
}

/// A logbook at work.
struct Worker {
    disk: PowerDisk,
    book: Logbook,
    clock: Arc<FixedClock>,
    numbers: Numbers,
    nonce: u64,
}

/// Records a day on an empty disk, which may have been told to lie. `without_key` lets the logbook
/// make its own key, so that two runs differ.
///
/// # Errors
/// Whatever the logbook's acts return: on a sound disk none.
pub fn record(disk: &PowerDisk, kind: Kind, seed: u64) -> Result<Recorded> {
    let mut numbers = Numbers::new(seed ^ 0x5eed);
    let own = key_of(kind, seed);
    let incoming = incoming(disk, kind, seed, own.log_id())?;
    disk.load([]);
    for (name, bytes) in &incoming.bundles {
        disk.put(name, bytes);
    }
    if numbers.below(8) > 0 {
        own.save(disk, &disk.root().join(BOOK).join("key"))?;
    }
    let before = disk.start_recording();
    let mut worker = Worker::create(disk, kind, seed)?;
    worker.enrol(&incoming)?;
    let bundles: Vec<PathBuf> = incoming.bundles.keys().cloned().collect();
    match kind {
        Kind::Tablet => worker.tablet_day(&bundles)?,
        Kind::Office => worker.office_day(&bundles)?,
    }
    Ok(Recorded {
        before,
        events: disk.stop_recording(),
    })
}

/// The same day with every promise of a record made at the beginning of its operation, before
/// anything is written: the seeded fault of a program that says "saved" too early.
#[must_use]
pub fn acknowledged_early(mut recorded: Recorded) -> Recorded {
    let mut early: Vec<Event> = Vec::with_capacity(recorded.events.len());
    let mut began = 0;
    for event in recorded.events {
        match &event {
            Event::Marked(Mark::Began(_)) => {
                early.push(event);
                began = early.len();
            }
            Event::Marked(Mark::Saved(_)) => early.insert(began, event),
            _ => early.push(event),
        }
    }
    recorded.events = early;
    recorded
}

fn key_of(kind: Kind, seed: u64) -> LogKey {
    let mut bytes = [kind as u8; 32];
    bytes[..8].copy_from_slice(&seed.to_le_bytes());
    LogKey::from_seed(&bytes)
}

/// Bundles that others packed, and who they are.
struct Incoming {
    bundles: BTreeMap<PathBuf, Vec<u8>>,
    logs: Vec<(LogId, Role)>,
}

/// Lets others work on the disk first and takes their bundles.
fn incoming(disk: &PowerDisk, kind: Kind, seed: u64, own: LogId) -> Result<Incoming> {
    let mut found = Incoming {
        bundles: BTreeMap::new(),
        logs: Vec::new(),
    };
    let others: &[(Kind, u64)] = match kind {
        Kind::Tablet => &[(Kind::Office, 1)],
        Kind::Office => &[(Kind::Tablet, 1), (Kind::Tablet, 2)],
    };
    for (other, number) in others {
        disk.load([]);
        let key = key_of(*other, seed.wrapping_mul(16).wrapping_add(*number));
        key.save(disk, &disk.root().join(BOOK).join("key"))?;
        let mut worker = Worker::create(disk, *other, seed.wrapping_add(*number))?;
        if *other == Kind::Office {
            worker.enrol_one(own, Role::Tablet)?;
        }
        worker.define("T-01")?;
        for _ in 0..=worker.numbers.below(5) {
            worker.read("T-01")?;
        }
        worker.pack(PackFor::Everything)?;
        found.logs.push((key.log_id(), worker.book.role()));
        drop(worker);
        for (name, content) in disk.files() {
            if name.starts_with(STICK) {
                found.bundles.insert(name, content.to_vec());
            }
        }
    }
    Ok(found)
}

impl Worker {
    fn create(disk: &PowerDisk, kind: Kind, seed: u64) -> Result<Self> {
        let clock = Arc::new(FixedClock::at(MONDAY_MS));
        let (role, label) = match kind {
            Kind::Tablet => (Role::Tablet, "tablet a"),
            Kind::Office => (Role::Office, "office"),
        };
        disk.mark(Mark::Began(Operation::Create));
        let dir = disk.root().join(BOOK);
        let shared = Arc::new(disk.clone());
        let book = Logbook::create_on(shared, &dir, role, label, clock.clone())?;
        disk.mark(Mark::Opened);
        disk.mark(Mark::Ended);
        Ok(Self {
            disk: disk.clone(),
            book,
            clock,
            numbers: Numbers::new(seed),
            nonce: 0,
        })
    }

    fn enrol(&mut self, incoming: &Incoming) -> Result<()> {
        for (log, role) in &incoming.logs {
            self.enrol_one(*log, *role)?;
        }
        Ok(())
    }

    fn tablet_day(mut self, bundles: &[PathBuf]) -> Result<()> {
        self.define("T-01")?;
        self.define("T-02")?;
        for round in 0..2 + self.numbers.below(2) {
            self.round()?;
            if round == 0 {
                self.merge(bundles)?;
                self.checkpoint()?;
            }
        }
        self.pack(PackFor::Office)?;
        self.back_up()?;
        self.rebuild()?;
        self.read("T-02")?;
        self = self.reopen()?;
        self.read("T-01")?;
        self.checkpoint()?;
        self.read("T-02")?;
        self.back_up()?;
        Ok(())
    }

    fn office_day(mut self, bundles: &[PathBuf]) -> Result<()> {
        self.define("T-01")?;
        for bundle in bundles {
            self.merge(std::slice::from_ref(bundle))?;
        }
        self.answer()?;
        self.checkpoint()?;
        self.back_up()?;
        self.pack(PackFor::Tablets)?;
        self.rebuild()?;
        self.read("T-01")?;
        self.answer()?;
        self = self.reopen()?;
        self.define("T-03")?;
        self.back_up()?;
        self.checkpoint()?;
        Ok(())
    }

    fn did<T>(
        &mut self,
        operation: Operation,
        act: impl FnOnce(&mut Self) -> Result<T>,
    ) -> Result<T> {
        self.disk.mark(Mark::Began(operation));
        self.clock.advance_ms(60_000);
        let outcome = act(self)?;
        self.disk.mark(Mark::Ended);
        Ok(outcome)
    }

    fn saved(&self, at: RecordRef) {
        self.disk.mark(Mark::Saved(vec![at]));
    }

    fn enrol_one(&mut self, log: LogId, role: Role) -> Result<()> {
        self.did(Operation::Entry, |worker| {
            let name = log.short();
            let at = enrol_logbook(&mut worker.book, log, name, role, "C. Clerk".to_owned())?;
            worker.saved(at);
            Ok(())
        })
    }

    fn define(&mut self, text: &str) -> Result<()> {
        let station = station(text)?;
        self.did(Operation::Entry, |worker| {
            let at = revise_station(&mut worker.book, station, "E. Engineer".to_owned())?;
            worker.saved(at);
            Ok(())
        })
    }

    fn round(&mut self) -> Result<()> {
        let round = self.did(Operation::Entry, |worker| {
            let new = NewRound {
                title: "morning".to_owned(),
                stations: vec![code("T-01")?, code("T-02")?],
                by: "A. Operator".to_owned(),
            };
            let round = open_round(&mut worker.book, new)?;
            worker.saved(round);
            Ok(round)
        })?;
        self.draft("T-01", "10.")?;
        let first = self.read("T-01")?;
        for _ in 0..self.numbers.below(3) {
            self.read("T-01")?;
        }
        if self.numbers.below(2) == 0 {
            self.draft("T-02", "4.")?;
            self.read("T-02")?;
        }
        self.did(Operation::Entry, |worker| {
            let new = NewSkip {
                round,
                station: code("T-02")?,
                reason: SkipReason::NoAccess,
                note: String::new(),
                by: "A. Operator".to_owned(),
            };
            let at = skip_station(&mut worker.book, new)?;
            worker.saved(at);
            let new = NewCorrection {
                reading: first,
                entry: entry(101, 41, 20),
                reason: "misread".to_owned(),
                by: "A. Operator".to_owned(),
            };
            let at = correct_reading(&mut worker.book, new)?;
            worker.saved(at);
            let (note, by) = (String::new(), "A. Operator".to_owned());
            let at = close_round(&mut worker.book, round, note, by)?;
            worker.saved(at);
            Ok(())
        })
    }

    fn draft(&mut self, name: &str, content: &str) -> Result<()> {
        self.did(Operation::Draft, |worker| {
            save_draft(&mut worker.book, name, content)?;
            let (name, content) = (name.to_owned(), content.to_owned());
            worker.disk.mark(Mark::Drafted(name, content));
            Ok(())
        })
    }

    fn read(&mut self, station: &str) -> Result<RecordRef> {
        let at = self.did(Operation::Entry, |worker| {
            worker.nonce += 1;
            let spread = i64::try_from(worker.numbers.below(7)).unwrap_or(0);
            let notes = worker.numbers.below(1500);
            let new = reading(station, entry(98 + spread, 40, 20), worker.nonce, notes)?;
            let at = record_reading(&mut worker.book, new)?.at;
            worker.saved(at);
            Ok(at)
        })?;
        self.did(Operation::Draft, |worker| {
            worker.disk.mark(Mark::DraftCleared(station.to_owned()));
            clear_draft(&mut worker.book, station)
        })?;
        Ok(at)
    }

    fn pack(&mut self, to: PackFor) -> Result<()> {
        let stick = self.disk.root().join(STICK);
        self.did(Operation::Pack, |worker| {
            let packed = pack_bundle(&mut worker.book, &stick, to, "C. Clerk", &mut carry_on)?;
            let name = packed.path.strip_prefix(worker.disk.root());
            let name = name.unwrap_or(Path::new("")).to_owned();
            worker.disk.mark(Mark::Packed(name, packed.records));
            Ok(())
        })
    }

    fn merge(&mut self, names: &[PathBuf]) -> Result<()> {
        let root = self.disk.root().to_owned();
        let paths: Vec<PathBuf> = names.iter().map(|name| root.join(name)).collect();
        self.did(Operation::Merge, |worker| {
            merge_bundles(&mut worker.book, &paths, &mut carry_on)?;
            let mut taken = Vec::new();
            for name in names {
                if let Some(content) = worker.disk.files().get(name) {
                    let bundle = winze_sync_format::bundle::read_bundle(&content.to_vec()[..]);
                    taken.extend(bundle.records.iter().map(SignedRecord::reference));
                }
            }
            worker.disk.mark(Mark::Saved(taken));
            Ok(())
        })
    }

    fn back_up(&mut self) -> Result<()> {
        let to = self.disk.root().join(SECOND_MEDIUM);
        self.did(Operation::Backup, |worker| {
            let done = back_up(&mut worker.book, &to, "C. Clerk", &mut carry_on)?;
            let name = done.folder.strip_prefix(worker.disk.root());
            let name = name.unwrap_or(Path::new("")).to_owned();
            worker.disk.mark(Mark::BackedUp(name));
            Ok(())
        })
    }

    fn answer(&mut self) -> Result<()> {
        let Some(view) = query::questions(&self.book, false)?.into_iter().next() else {
            return Ok(());
        };
        self.did(Operation::Answer, |worker| {
            let new = NewAnswer {
                question: view.question.id,
                choice: Choice::KeepAll,
                note: "both stand".to_owned(),
                by: "C. Clerk".to_owned(),
            };
            match answer_question(&mut worker.book, new) {
                Ok(at) => worker.saved(at),
                // Not every question takes this answer; nothing is written then.
                Err(Error::ChoiceDoesNotFit { .. }) => {}
                Err(error) => return Err(error),
            }
            Ok(())
        })
    }

    fn checkpoint(&mut self) -> Result<()> {
        self.did(Operation::Checkpoint, |worker| worker.book.checkpoint())
    }

    fn rebuild(&mut self) -> Result<()> {
        self.did(Operation::Rebuild, |worker| worker.book.rebuild().map(drop))
    }

    /// Closes the logbook and opens it again, as at the start of a day.
    fn reopen(self) -> Result<Self> {
        let Self {
            disk,
            book,
            clock,
            numbers,
            nonce,
        } = self;
        disk.mark(Mark::Began(Operation::Start));
        let dir = book.dir().to_owned();
        drop(book);
        let book = Logbook::open_on(Arc::new(disk.clone()), &dir, clock.clone())?;
        disk.mark(Mark::Ended);
        Ok(Self {
            disk,
            book,
            clock,
            numbers,
            nonce,
        })
    }
}

pub(crate) fn code(text: &str) -> Result<StationCode> {
    StationCode::parse(text).map_err(|_| Error::DatabaseContent {
        what: "a code in a test",
    })
}

/// A sound station: 10 bar through ratio 2.5 to 4 bar, set to 2 bar.
///
/// # Errors
/// When the text is no code.
pub fn station(text: &str) -> Result<Station> {
    let tenths = |mantissa| Decimal {
        mantissa,
        exponent: -1,
    };
    Ok(defaults::station(&defaults::RegisterRow {
        code: code(text)?,
        unit: Unit::Bar,
        ratio: tenths(25),
        set_point: tenths(20),
        inlet_typical: tenths(100),
        gauge_class: tenths(16),
        spans: [tenths(160), tenths(100), tenths(40)],
    }))
}

fn entry(inlet: i64, interstage: i64, outlet: i64) -> Entry {
    let tenths = |mantissa| Typed::of(mantissa, -1, Unit::Bar);
    Entry::of(tenths(inlet), tenths(interstage), tenths(outlet))
}

/// A reading to confirm, with a note of so many letters.
///
/// # Errors
/// When the station is no code.
pub fn reading(station: &str, entry: Entry, nonce: u64, note: usize) -> Result<NewReading> {
    Ok(NewReading {
        station: code(station)?,
        revision: None,
        round: None,
        entry,
        ticks: Ticks::NONE,
        note: "x".repeat(note),
        doubts: Vec::new(),
        by: "A. Operator".to_owned(),
        nonce: nonce.to_be_bytes(),
    })
}

/// What the gauges of such a station show on a good day.
#[must_use]
pub fn plain_entry() -> Entry {
    entry(100, 40, 20)
}

pub(crate) fn carry_on(_: Progress) -> bool {
    true
}
