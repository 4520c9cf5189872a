//! One device of the simulated world: a logbook whose key and segments are on a disk that fails on
//! demand, and what its users were told is safe.

use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_sync_format::disk::{Disk, Fault, FaultyDisk};
use winze_sync_format::{LogId, LogKey, RecordRef, SignedRecord};

use crate::actions::{PackFor, merge_bundles, pack_bundle};
use crate::clock::FixedClock;
use crate::record::Role;
use crate::samples::carry_on;
use crate::store::folder;
use crate::{Logbook, Result};

pub struct Device {
    pub name: String,
    pub role: Role,
    pub log: LogId,
    pub clock: Arc<FixedClock>,
    /// What the program said is safe.
    pub safe: Vec<RecordRef>,
    /// Whether a second device goes on with the same log.
    pub is_copied: bool,
    pub nonce: u64,
    dir: PathBuf,
    disk: Arc<FaultyDisk>,
    book: Option<Logbook>,
    files: u64,
}

impl Device {
    /// A new device with a key that follows from the world's number.
    pub fn new(
        root: &Path,
        name: &str,
        role: Role,
        key: &LogKey,
        wall_ms: i64,
        nonce: u64,
    ) -> Self {
        let (dir, disk) = (root.join(name), Arc::new(FaultyDisk::new()));
        key.save(&*disk, &folder::key_of(&dir)).unwrap();
        let clock = Arc::new(FixedClock::at(wall_ms));
        let book = Logbook::create_on(disk.clone(), &dir, role, name, clock.clone()).unwrap();
        Self {
            name: name.to_owned(),
            role,
            log: key.log_id(),
            clock,
            safe: Vec::new(),
            is_copied: false,
            nonce,
            dir,
            disk,
            book: Some(book),
            files: 0,
        }
    }

    /// The logbook, opened anew where it was closed. Whatever happened before, it opens and has a gap
    /// nowhere in its own log.
    pub fn book(&mut self) -> &mut Logbook {
        if self.book.is_none() {
            let book = Logbook::open_on(self.disk.clone(), &self.dir, self.clock.clone())
                .unwrap_or_else(|error| panic!("{} does not open: {error}", self.name));
            let report = book.start_report();
            assert!(report.own_gaps.is_empty(), "{}: {report:?}", self.name);
            assert!(report.damage.is_empty(), "{}: {report:?}", self.name);
            self.book = Some(book);
        }
        self.book.as_mut().unwrap()
    }

    /// Does something that may be refused, or fail because the disk does. Keeps what it was told.
    pub fn act(
        &mut self,
        what: impl FnOnce(&mut Logbook) -> Result<RecordRef>,
    ) -> Option<RecordRef> {
        let outcome = what(self.book());
        if let Ok(at) = outcome {
            self.safe.push(at);
        }
        self.start_again_if_stopped();
        outcome.ok()
    }

    fn start_again_if_stopped(&mut self) {
        if self
            .book
            .as_ref()
            .is_some_and(|book| book.stopped().is_some())
        {
            self.kill(false);
        }
        self.disk.repair();
    }

    /// The disk will be full after some more operations, until the next act is over.
    pub fn fill_disk_after(&mut self, operations: u64, fault: Fault) {
        self.disk
            .fail_from(self.disk.operations() + operations, fault);
    }

    /// There is room again.
    pub fn empty_disk(&mut self) {
        self.disk.repair();
    }

    /// The program ends without warning and everything unsynced is gone; perhaps the database too.
    pub fn kill(&mut self, loses_database: bool) {
        self.book = None;
        self.disk.crash();
        if loses_database {
            for end in ["", "-wal", "-shm"] {
                // What is not there need not be removed.
                let _ = std::fs::remove_file(self.dir.join(format!("projection.sqlite{end}")));
            }
        }
    }

    /// Copies the device with its key, as a careless restore from a backup does.
    pub fn copied(&mut self, root: &Path, name: &str, nonce: u64) -> Self {
        self.kill(false);
        let (dir, disk) = (root.join(name), Arc::new(FaultyDisk::new()));
        std::fs::create_dir(&dir).unwrap();
        for entry in std::fs::read_dir(&self.dir).unwrap() {
            let entry = entry.unwrap();
            std::fs::copy(entry.path(), dir.join(entry.file_name())).unwrap();
        }
        for (path, bytes) in self.disk.files() {
            disk.put(&dir.join(path.file_name().unwrap()), &bytes);
        }
        self.is_copied = true;
        Self {
            name: name.to_owned(),
            role: self.role,
            log: self.log,
            clock: Arc::new(FixedClock::at(
                crate::clock::Clock::now(&*self.clock).wall_ms,
            )),
            safe: self.safe.clone(),
            is_copied: true,
            nonce,
            dir,
            disk,
            book: None,
            files: 0,
        }
    }

    /// Packs a bundle onto a stick; none when there is nothing to pack or the stick failed.
    pub fn pack(&mut self, to: PackFor) -> Option<Vec<u8>> {
        self.clock.advance_ms(1000);
        let dir = self.dir.clone();
        let packed = pack_bundle(self.book(), &dir, to, "C. Clerk", &mut carry_on).ok();
        self.start_again_if_stopped();
        let path = packed?.path;
        let mut bytes = Vec::new();
        self.disk
            .open(&path)
            .unwrap()
            .read_to_end(&mut bytes)
            .unwrap();
        self.disk.remove(&path).unwrap();
        Some(bytes)
    }

    /// Merges bundles. Says whether it came to its end.
    pub fn merge(&mut self, bundles: &[Vec<u8>], stop_after: Option<u32>) -> bool {
        let paths: Vec<PathBuf> = bundles
            .iter()
            .map(|bytes| {
                self.files += 1;
                let path = self.dir.join(format!("stick-{}.winze", self.files));
                self.disk.put(&path, bytes);
                path
            })
            .collect();
        let mut steps = 0;
        let outcome = merge_bundles(self.book(), &paths, &mut |_| {
            steps += 1;
            stop_after.is_none_or(|limit| steps <= limit)
        });
        self.start_again_if_stopped();
        for path in paths {
            self.disk.remove(&path).unwrap();
        }
        outcome.is_ok_and(|report| !report.was_cancelled)
    }

    /// Every record here that this program reads.
    pub fn records(&mut self) -> Vec<SignedRecord> {
        let mut records = Vec::new();
        self.book()
            .database
            .each_item(|_, item| {
                if let winze_sync_format::Opened::Record(record) = super::super::stored(item)? {
                    records.push(record);
                }
                Ok(())
            })
            .unwrap();
        records
    }
}
