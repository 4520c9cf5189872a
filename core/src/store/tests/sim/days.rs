//! What happens in the simulated world, day by day.

use winze_sync_format::bundle::{BundlePlan, RangeSet, write_bundle};
use winze_sync_format::disk::{Disk as _, Fault, FaultyDisk};
use winze_sync_format::{
    ClockReading, ClockStatus, Draft, LogHead, LogId, LogKey, RecordRef, SignedRecord, seal,
};

use super::super::world::Draw;
use super::device::Device;
use super::tally::Tally;
use crate::actions::{
    NewAnswer, NewCorrection, NewRound, NewSkip, PackFor, answer_question, clear_draft,
    close_round, correct_reading, enrol_logbook, load_draft, open_round, record_reading,
    revise_station, revoke_logbook, save_draft, skip_station, void_reading,
};
use crate::clock::DAY_MS;
use crate::query;
use crate::record::{Choice, Role, SkipReason};
use crate::samples::{MONDAY_MS, code, entry, reading, station};

pub const STATIONS: [&str; 3] = ["T-01", "T-02", "T-03"];
const YEAR_MS: i64 = 365 * DAY_MS;

/// A program newer than this one: its records are of kinds that nobody here knows.
pub struct Newer {
    key: LogKey,
    head: LogHead,
    pub records: Vec<SignedRecord>,
}

pub struct Site {
    pub tally: Tally,
    /// The first two are offices.
    pub devices: Vec<Device>,
    pub newer: Newer,
    /// What the first office said last of each log: revoked from there on, or enrolled.
    pub revoked: std::collections::BTreeMap<LogId, Option<u64>>,
    pub enrolled: std::collections::BTreeSet<LogId>,
    pub draw: Draw,
    /// Bundles that lie about.
    drawer: Vec<Vec<u8>>,
    pub folder: tempfile::TempDir,
}

/// Meetings after which everything is said: who meets whom, under which key, by which clock.
const MEETINGS_MOST: u32 = 8;

impl Site {
    pub fn of(seed: u64) -> Self {
        // Syncing costs nothing in memory, and what is tested here is not the file system.
        let folder = tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir());
        let mut draw = Draw::of(seed ^ 0x0077_6f72_6c64);
        let key = |n: u64| {
            let mut bytes = [0; 32];
            bytes[..8].copy_from_slice(&seed.to_le_bytes());
            bytes[8] = u8::try_from(n).unwrap();
            LogKey::from_seed(&bytes)
        };
        let newer_key = key(99);
        let mut site = Self {
            tally: Tally::default(),
            devices: Vec::new(),
            newer: Newer {
                head: LogHead::empty(newer_key.log_id()),
                key: newer_key,
                records: Vec::new(),
            },
            revoked: std::collections::BTreeMap::new(),
            enrolled: std::collections::BTreeSet::new(),
            drawer: Vec::new(),
            folder: folder.unwrap(),
            draw: Draw::of(0),
        };
        let count = 5 + draw.below(6);
        for n in 0..count {
            let (name, role) = match n {
                0 | 1 => (format!("office-{n}"), Role::Office),
                _ => (format!("tablet-{n}"), Role::Tablet),
            };
            let off_ms = match draw.below(6) {
                0 => YEAR_MS * (i64::try_from(draw.below(121)).unwrap() - 60),
                1 => -DAY_MS,
                _ => i64::try_from(draw.below(600_000)).unwrap(),
            };
            let wall_ms = MONDAY_MS + if n == 0 { 0 } else { off_ms };
            let nonce = (n as u64) << 32;
            let device = Device::new(
                site.folder.path(),
                &name,
                role,
                &key(n as u64),
                wall_ms,
                nonce,
            );
            site.devices.push(device);
        }
        site.tally.devices = count as u64;
        site.draw = draw;
        site.begin();
        site
    }

    /// The offices know each other and most tablets; the tablets know the first office.
    fn begin(&mut self) {
        for text in STATIONS {
            self.devices[0].act(|book| revise_station(book, station(text), "E".into()));
        }
        let logs: Vec<LogId> = self.devices.iter().map(|device| device.log).collect();
        for (n, log) in logs.iter().enumerate().skip(1) {
            // Now and then a tablet is forgotten, until somebody thinks of it.
            if n == 1 || self.draw.below(5) > 0 {
                self.enrol(0, n, *log);
            }
        }
        self.enrol(1, 0, logs[0]);
        for n in 2..self.devices.len() {
            self.enrol(n, 0, logs[0]);
        }
        if self.draw.below(2) == 0 {
            let log = self.newer.head.log;
            self.enrol(0, 99, log);
        }
        let definitions = self.devices[0].pack(PackFor::Tablets).unwrap();
        for device in &mut self.devices[1..] {
            assert!(device.merge(std::slice::from_ref(&definitions), None));
        }
    }

    fn enrol(&mut self, by: usize, n: usize, log: LogId) {
        let role = if n < 2 { Role::Office } else { Role::Tablet };
        let done = self.devices[by]
            .act(|book| enrol_logbook(book, log, format!("device {n}"), role, "C".into()));
        if done.is_some() {
            self.enrolled.insert(log);
            if by == 0 {
                self.revoked.remove(&log);
            }
        }
    }

    pub fn live(&mut self) {
        for _ in 0..3 + self.draw.below(5) {
            self.tally.days += 1;
            for n in 0..self.devices.len() {
                self.devices[n]
                    .clock
                    .advance_ms(u32::try_from(DAY_MS).unwrap());
                for _ in 0..self.draw.below(4) {
                    self.something(n);
                }
                self.carry(n);
            }
            self.check_day();
        }
        self.meet();
        self.check_end();
        self.tally.safe = self
            .devices
            .iter()
            .map(|device| device.safe.len() as u64)
            .sum();
    }

    /// Something goes wrong, or not; then somebody does something.
    fn something(&mut self, n: usize) {
        match self.draw.below(24) {
            0 => {
                self.tally.full += 1;
                let fault = [Fault::NoSpace, Fault::ShortWrite, Fault::Device][self.draw.below(3)];
                let after = self.draw.below(4) as u64;
                self.devices[n].book();
                self.devices[n].fill_disk_after(after, fault);
            }
            1 => {
                self.tally.kills += 1;
                let loses_database = self.draw.below(3) == 0;
                self.devices[n].kill(loses_database);
            }
            2 if n > 1 && self.devices.len() < 11 && self.draw.below(4) == 0 => {
                self.tally.copies += 1;
                let name = format!("copy-{}", self.devices.len());
                let nonce = (self.devices.len() as u64) << 32;
                let copy = self.devices[n].copied(self.folder.path(), &name, nonce);
                self.devices.push(copy);
            }
            3 if n > 1 => self.writes_something_newer(),
            _ => {}
        }
        let choice = self.draw.below(20);
        if n < 2 && choice < 12 {
            self.at_an_office(n, choice);
        } else {
            self.at_a_station(n, choice);
        }
        self.devices[n].empty_disk();
    }

    fn at_a_station(&mut self, n: usize, choice: usize) {
        let text = STATIONS[self.draw.below(3)];
        let value = [20, 20, 20, 21, 26][self.draw.below(5)];
        let picked = self.draw.below(1000);
        let device = &mut self.devices[n];
        device.clock.advance_ms(60_000);
        device.nonce += 1;
        let nonce = device.nonce;
        let own: Vec<RecordRef> = query::past_readings(device.book(), &code(text), 20)
            .unwrap()
            .iter()
            .map(|visit| visit.at)
            .collect();
        let some = (!own.is_empty()).then(|| own[picked % own.len()]);
        match (choice, some) {
            (0, _) => {
                let new = NewRound {
                    title: "round".into(),
                    stations: vec![],
                    by: "A".into(),
                };
                device.act(|book| open_round(book, new));
            }
            (1, _) => {
                device.act(|book| {
                    let round = book.own_open_round()?.unwrap_or_else(|| none(book));
                    close_round(book, round, String::new(), "A".into())
                });
            }
            (2, _) => {
                device.act(|book| {
                    let new = NewSkip {
                        round: book.own_open_round()?.unwrap_or_else(|| none(book)),
                        station: code(text),
                        reason: SkipReason::NoTime,
                        note: String::new(),
                        by: "A".into(),
                    };
                    skip_station(book, new)
                });
            }
            (3 | 4, Some(reading)) => {
                let new = NewCorrection {
                    reading,
                    entry: entry(100, 40, value),
                    reason: "misread".into(),
                    by: "A".into(),
                };
                device.act(|book| correct_reading(book, new));
            }
            (5, Some(reading)) => {
                device.act(|book| void_reading(book, reading, "wrong".into(), "A".into()));
            }
            (6, _) => {
                let text = format!("draft {nonce}");
                if save_draft(device.book(), "reading", &text).is_ok() {
                    let loaded = load_draft(device.book(), "reading").unwrap();
                    assert_eq!(loaded.map(|draft| draft.content), Some(text));
                    clear_draft(device.book(), "reading").unwrap();
                }
            }
            _ => {
                let new = reading(text, entry(100, 40, value), nonce);
                device.act(|book| record_reading(book, new).map(|saved| saved.at));
            }
        }
    }

    fn at_an_office(&mut self, n: usize, choice: usize) {
        let target = 2 + self.draw.below(self.devices.len() - 2);
        let log = self.devices[target].log;
        let picked = self.draw.below(1000);
        match choice {
            0 => self.enrol(n, target, log),
            1 if n == 0 => {
                let last_seq = [None, Some(3), Some(6)][self.draw.below(3)];
                let done = self.devices[0]
                    .act(|book| revoke_logbook(book, log, last_seq, "lost".into(), "C".into()));
                if done.is_some() {
                    self.tally.revoked += 1;
                    self.revoked.insert(log, last_seq);
                }
            }
            2 | 3 => {
                let mut definition = station(STATIONS[picked % 3]);
                definition.name = ["north", "south", "old"][picked % 3].to_owned();
                definition.order = u32::try_from(picked % 5).unwrap();
                self.devices[n].act(|book| revise_station(book, definition, "E".into()));
            }
            _ => {
                let device = &mut self.devices[n];
                let all = query::questions(device.book(), true).unwrap();
                if all.is_empty() {
                    return;
                }
                let question = &all[picked % all.len()].question;
                let about = question.about[picked % question.about.len()];
                let choices = [
                    Choice::Prefer(about),
                    Choice::KeepAll,
                    Choice::VoidAll,
                    Choice::AsFirstWritten,
                    Choice::Noted,
                ];
                let fits = |choice: &&Choice| question.kind.allows(choice);
                let fitting: Vec<&Choice> = choices.iter().filter(fits).collect();
                let new = NewAnswer {
                    question: question.id,
                    choice: fitting[picked % fitting.len()].clone(),
                    note: "seen".into(),
                    by: "C".into(),
                };
                device.act(|book| answer_question(book, new));
            }
        }
    }

    fn writes_something_newer(&mut self) {
        self.tally.unknown += 1;
        let kind = [58, 59, 70, 1_000_000][self.draw.below(4)];
        let draft = Draft {
            kind,
            clock: clock_of_the_newer(),
            person: String::new(),
            refs: Vec::new(),
            body: vec![0xa1, 0x01, 0x18, 0x2a],
            nonce: self.newer.head.next_seq.to_be_bytes(),
        };
        let record = seal(&self.newer.key, &mut self.newer.head, draft).unwrap();
        self.newer.records.push(record);
        let bundle = self.newer.bundle();
        self.drawer.push(bundle);
    }

    /// Somebody takes a stick from one device to others, or tries to.
    fn carry(&mut self, from: usize) {
        if self.draw.below(3) > 0 {
            return;
        }
        let to = match self.draw.below(4) {
            0 => PackFor::Everything,
            _ if from < 2 => PackFor::Tablets,
            _ => PackFor::Office,
        };
        let Some(mut bundle) = self.devices[from].pack(to) else {
            return;
        };
        self.tally.sticks += 1;
        match self.draw.below(8) {
            0 => {
                self.tally.lost += 1;
                return;
            }
            1 => {
                self.tally.stale += 1;
                self.drawer.push(bundle);
                return;
            }
            2 => {
                self.tally.damaged += 1;
                let at = self.draw.below(bundle.len());
                if self.draw.below(2) == 0 {
                    bundle.truncate(at);
                } else {
                    let end = bundle.len().min(at + 1 + self.draw.below(300));
                    bundle[at..end].fill(0);
                }
            }
            _ => {}
        }
        let mut stick = vec![bundle];
        if !self.drawer.is_empty() && self.draw.below(2) == 0 {
            let old = self.draw.below(self.drawer.len());
            stick.push(self.drawer[old].clone());
        }
        for _ in 0..=self.draw.below(2) {
            let receiver = match self.draw.below(3) {
                0 => self.draw.below(self.devices.len()),
                _ if from >= 2 => self.draw.below(2),
                _ => self.draw.below(self.devices.len()),
            };
            if self.draw.below(20) == 0 {
                self.tally.full += 1;
                let after = self.draw.below(6) as u64;
                self.devices[receiver].book();
                self.devices[receiver].fill_disk_after(after, Fault::NoSpace);
            }
            let stop_after = (self.draw.below(10) == 0).then(|| u32::from(self.draw.below(2) == 1));
            self.devices[receiver].merge(&stick, stop_after);
        }
    }

    /// In the end everybody meets and brings everything along.
    fn meet(&mut self) {
        // Taking in shows some that their log was copied or their clock is wrong, and they write that
        // down; what they write is brought to all as well, until nobody has anything to say.
        for meeting in 1.. {
            let before = self.records_here();
            let mut all: Vec<Vec<u8>> = vec![self.newer.bundle()];
            for device in &mut self.devices {
                all.extend(device.pack(PackFor::Everything));
            }
            for device in &mut self.devices {
                assert!(device.merge(&all, None), "{}: the last merge", device.name);
            }
            if self.records_here() == before {
                return;
            }
            assert!(
                meeting < MEETINGS_MOST,
                "they write about each other for ever"
            );
        }
    }

    /// How many records each device has.
    fn records_here(&mut self) -> Vec<usize> {
        let devices = self.devices.iter_mut();
        devices.map(|device| device.records().len()).collect()
    }
}

impl Newer {
    fn bundle(&self) -> Vec<u8> {
        let mut ranges = RangeSet::new();
        for record in &self.records {
            ranges.insert(record.log(), record.seq());
        }
        let plan = BundlePlan {
            label: "newer".into(),
            person: String::new(),
            clock: clock_of_the_newer(),
            nonce: [5; 8],
            ranges,
            records: self.records.len() as u64,
            frontier: Vec::new(),
        };
        let disk = FaultyDisk::new();
        let items = self.records.iter();
        let items = items.map(|record| Ok::<_, winze_sync_format::Error>(record.item()));
        let folder = std::path::Path::new("/stick");
        let mut on = |_| std::ops::ControlFlow::Continue(());
        let written = write_bundle(&disk, folder, &self.key, &plan, items, &mut on).unwrap();
        assert!(disk.exists(&written.path));
        disk.files().remove(&written.path).unwrap()
    }
}

fn clock_of_the_newer() -> ClockReading {
    ClockReading {
        wall_ms: MONDAY_MS + 60 * YEAR_MS,
        status: ClockStatus::Unset,
        boot: [9; 16],
        monotonic_ms: 0,
    }
}

/// A record that is not there.
fn none(book: &crate::Logbook) -> RecordRef {
    RecordRef {
        log: book.log_id(),
        seq: 1 << 40,
        id: winze_sync_format::RecordId([0; 32]),
    }
}
