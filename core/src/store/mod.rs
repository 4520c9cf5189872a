//! A logbook on disk: the segments that prove, and the database that answers.
//!
//! ```text
//! FOLDER/key                  the logbook's signing key, readable by its owner only
//! FOLDER/key-next             the key that follows it, while a change of keys goes on
//! FOLDER/place                where the folder was when it was last opened
//! FOLDER/lock                 held while a program has the logbook open
//! FOLDER/own-000001.seg       the own log, append only, signed record after signed record
//! FOLDER/received-000001.seg  records that came in bundles, likewise
//! FOLDER/projection.sqlite    everything worked out from them; can be deleted
//! FOLDER/ballast              space kept back, given up for records when the disk is full
//! ```
//!
//! A record is *confirmed* once it is in a synced segment and committed in the database, in that
//! order. A crash in between leaves a record that nobody was told is safe: the next start finds it in
//! the segment and puts it in the database. `rusqlite` is used in this folder and nowhere else.
//!
//! Times are kept in UTC milliseconds. Where the local day or week matters, a reading keeps how far
//! local time was ahead of UTC.

mod admit;
mod attachments;
mod backup;
mod ballast;
mod branches;
mod chain;
mod confirm;
mod database;
mod derive;
mod drafts;
mod dump;
mod durable;
mod facts;
mod folder;
mod in_memory;
mod incoming;
mod insert;
mod judged;
mod judging;
mod new_log;
mod pack;
mod quota;
mod read_logs;
mod read_procedures;
mod read_questions;
mod read_readings;
mod read_records;
mod read_rounds;
mod read_stations;
mod read_upkeep;
mod rebuild;
mod restarts;
mod restore;
mod rows;
mod segments;
mod start;
mod steps;
mod times;
mod whereabouts;

#[cfg(test)]
pub(crate) mod tests;

use std::path::Path;
use std::sync::Arc;

use winze_sync_format::disk::{Disk, RealDisk};
use winze_sync_format::{LogHead, LogId, LogKey, RecordRef};

pub(crate) use admit::Merging;
pub use backup::BackedUp;
pub use confirm::NewRecord;
pub use in_memory::projection_of;
pub use new_log::NewLog;
pub use quota::Quota;
pub(crate) use read_logs::Level;
pub use restore::{Restored, restore};
pub use start::{SegmentDamage, StartReport};
pub use whereabouts::Whereabouts;

use crate::clock::Clock;
use crate::record::{Body, LogOpened, Role};
use crate::{Error, Result};
use database::Database;
use facts::Own;
use folder::Folder;
use segments::{Segments, Series};

/// An open logbook. Only one program at a time has it open.
pub struct Logbook {
    clock: Arc<dyn Clock>,
    key: LogKey,
    own: Own,
    head: LogHead,
    segments: Segments,
    database: Database,
    report: StartReport,
    /// Where the folder is, where the program told.
    here: Option<Whereabouts>,
    /// The first failed write; after it nothing is called safe until the logbook is opened anew.
    stopped: Option<String>,
    is_short_of_space: bool,
    quota: Quota,
    // Last, so that the lock outlives the open files.
    folder: Folder,
}

impl Logbook {
    /// Creates a logbook in a folder, which is made if need be, and writes its first record.
    ///
    /// # Errors
    /// [`Error::LogbookExists`], [`Error::NotAFolder`], [`Error::Locked`], [`Error::ReadOnly`],
    /// [`Error::NoSpace`].
    pub fn create(dir: &Path, role: Role, label: &str, clock: Arc<dyn Clock>) -> Result<Self> {
        Self::create_on(Arc::new(RealDisk), dir, role, label, clock)
    }

    /// Creates a logbook whose key and segments are on the given disk; the database and the lock are
    /// always real files.
    ///
    /// # Errors
    /// As [`Logbook::create`].
    pub fn create_on(
        disk: Arc<dyn Disk>,
        dir: &Path,
        role: Role,
        label: &str,
        clock: Arc<dyn Clock>,
    ) -> Result<Self> {
        Self::create_after(disk, dir, role, label, clock, Vec::new())
    }

    /// As [`Logbook::create_on`]; the first record names the last known ones of the log it follows.
    fn create_after(
        disk: Arc<dyn Disk>,
        dir: &Path,
        role: Role,
        label: &str,
        clock: Arc<dyn Clock>,
        after: Vec<RecordRef>,
    ) -> Result<Self> {
        if std::fs::metadata(dir).is_ok_and(|found| !found.is_dir()) {
            return Err(Error::NotAFolder {
                path: dir.to_owned(),
            });
        }
        std::fs::create_dir_all(dir).map_err(|error| Error::of_io("create", dir, error))?;
        disk.create_folder(dir)
            .map_err(|error| Error::of_io("create", dir, error))?;
        let folder = Folder::lock(dir)?;
        // A key without a first record is what a crash while creating leaves: go on from there.
        let key = if disk.exists(&folder.key()) {
            LogKey::load(&*disk, &folder.key())?
        } else {
            refuse_orphans(&*disk, dir)?;
            let key = LogKey::generate()?;
            key.save(&*disk, &folder.key())?;
            key
        };
        let own = Own {
            log: key.log_id(),
            role,
            label: label.to_owned(),
        };
        let mut logbook = Self::assemble(folder, disk, key, own, clock)?;
        if logbook.head.next_seq > 0 {
            return Err(Error::LogbookExists {
                path: dir.to_owned(),
            });
        }
        let opened = LogOpened {
            role,
            label: label.to_owned(),
        };
        let first = NewRecord::new(Body::LogOpened(opened), "").replacing(after);
        logbook.confirm_one(first)?;
        Ok(logbook)
    }

    /// Opens the logbook in a folder, after checking every record in it.
    ///
    /// # Errors
    /// [`Error::NoLogbook`], [`Error::NotAFolder`], [`Error::Locked`], [`Error::ReadOnly`],
    /// [`Error::NewerThanProgram`], [`Error::NotDurable`].
    pub fn open(dir: &Path, clock: Arc<dyn Clock>) -> Result<Self> {
        Self::open_on(Arc::new(RealDisk), dir, clock)
    }

    /// Opens a logbook whose key and segments are on the given disk.
    ///
    /// # Errors
    /// As [`Logbook::open`].
    pub fn open_on(disk: Arc<dyn Disk>, dir: &Path, clock: Arc<dyn Clock>) -> Result<Self> {
        let mut logbook = Self::open_as_it_is(disk, dir, clock)?;
        logbook.see_to_the_name(None)?;
        Ok(logbook)
    }

    /// Opens the logbook in a folder; where the folder is not where it was, or is an older copy of
    /// itself, it goes on in a new log, which the start report names.
    ///
    /// # Errors
    /// As [`Logbook::open`].
    pub fn open_here(dir: &Path, clock: Arc<dyn Clock>, here: Whereabouts) -> Result<Self> {
        let mut logbook = Self::open_as_it_is(Arc::new(RealDisk), dir, clock)?;
        logbook.see_to_the_name(Some(here))?;
        Ok(logbook)
    }

    /// Opens the logbook in a folder without asking whether it is the only one with its key: to check
    /// it, not to go on in it.
    ///
    /// # Errors
    /// As [`Logbook::open`].
    pub fn open_to_check(dir: &Path, clock: Arc<dyn Clock>) -> Result<Self> {
        Self::open_as_it_is(Arc::new(RealDisk), dir, clock)
    }

    fn open_as_it_is(disk: Arc<dyn Disk>, dir: &Path, clock: Arc<dyn Clock>) -> Result<Self> {
        let has_key = disk.exists(&folder::key_of(dir)) || disk.exists(&folder::next_key_of(dir));
        if dir.is_dir() && !has_key {
            // Before locking: a folder that is no logbook gets no lock file either.
            refuse_orphans(&*disk, dir)?;
            return Err(Error::NoLogbook {
                path: dir.to_owned(),
            });
        }
        let folder = Folder::lock(dir)?;
        let keys = new_log::keys_in(&*disk, folder.path())?;
        let is_left_alone = keys.key.is_none();
        let (key, next) = match (keys.key, keys.next) {
            (Some(key), next) => (key, next),
            (None, Some(next)) => (next.again(), Some(next)),
            (None, None) => {
                return Err(Error::KeyMissing {
                    path: dir.to_owned(),
                });
            }
        };
        let own = Own {
            log: key.log_id(),
            role: Role::Tablet,
            label: String::new(),
        };
        let mut logbook = Self::assemble(folder, disk, key, own, clock)?;
        let is_changed = match next {
            Some(next) => logbook.take_up(next)?,
            None => false,
        };
        if is_left_alone && !is_changed {
            // A next key that was never used: the folder was being brought back from a backup.
            return Err(Error::KeyMissing {
                path: dir.to_owned(),
            });
        }
        if logbook.head.next_seq == 0 {
            return Err(Error::NoLogbook {
                path: dir.to_owned(),
            });
        }
        Ok(logbook)
    }

    /// Opens the logbook in a folder, or creates one where there is none or where a crash left one
    /// half made.
    ///
    /// # Errors
    /// As [`Logbook::open`] and [`Logbook::create`].
    pub fn open_or_create(
        dir: &Path,
        role: Role,
        label: &str,
        clock: Arc<dyn Clock>,
    ) -> Result<Self> {
        match Self::open(dir, Arc::clone(&clock)) {
            Err(Error::NoLogbook { .. }) => Self::create(dir, role, label, clock),
            opened => opened,
        }
    }

    /// As [`Logbook::open_or_create`], where the folder is told apart from a copy of it elsewhere.
    ///
    /// # Errors
    /// As [`Logbook::open`] and [`Logbook::create`].
    pub fn open_or_create_here(
        dir: &Path,
        role: Role,
        label: &str,
        clock: Arc<dyn Clock>,
        here: Whereabouts,
    ) -> Result<Self> {
        match Self::open_here(dir, Arc::clone(&clock), here) {
            Err(Error::NoLogbook { .. }) => {
                let mut logbook = Self::create(dir, role, label, clock)?;
                logbook.see_to_the_name(Some(here))?;
                Ok(logbook)
            }
            opened => opened,
        }
    }

    fn assemble(
        folder: Folder,
        disk: Arc<dyn Disk>,
        key: LogKey,
        mut own: Own,
        clock: Arc<dyn Clock>,
    ) -> Result<Self> {
        let mut segments = Segments::find(disk, folder.path())?;
        let (database, report) = bring_up(&folder, &mut segments, &mut own)?;
        let head = database.head(own.log)?;
        Ok(Self {
            clock,
            key,
            own,
            head,
            segments,
            database,
            report,
            here: None,
            stopped: None,
            is_short_of_space: false,
            quota: Quota::default(),
            folder,
        })
    }

    /// Goes on after a failed write, as closing and opening does: both witnesses are read again from
    /// the medium and brought to the same records. Nothing is ever synced again that failed to sync
    /// once: the next record begins a new segment.
    ///
    /// # Errors
    /// As [`Logbook::open`]; the logbook then stays stopped.
    pub fn recover(&mut self) -> Result<()> {
        self.stopped.get_or_insert_with(|| "recovering".to_owned());
        // Closes the database; whatever it could not write is in the segments or was not confirmed.
        self.database = Database::stand_in()?;
        let mut segments = Segments::find(self.segments.shared_disk(), self.folder.path())?;
        let (database, report) = bring_up(&self.folder, &mut segments, &mut self.own)?;
        segments.begin_anew(Series::Own);
        segments.begin_anew(Series::Received);
        self.head = database.head(self.own.log)?;
        (self.segments, self.database, self.report) = (segments, database, report);
        self.stopped = None;
        Ok(())
    }

    /// Whether the space kept back for full disks had to be given up.
    #[must_use]
    pub fn is_short_of_space(&self) -> bool {
        self.is_short_of_space
    }

    /// Says whether there is a logbook in a folder.
    #[must_use]
    pub fn exists(dir: &Path) -> bool {
        folder::key_of(dir).is_file()
    }

    /// The folder.
    #[must_use]
    pub fn dir(&self) -> &Path {
        self.folder.path()
    }

    /// The own log.
    #[must_use]
    pub fn log_id(&self) -> LogId {
        self.own.log
    }

    /// What the logbook is for.
    #[must_use]
    pub fn role(&self) -> Role {
        self.own.role
    }

    /// What its people call it.
    #[must_use]
    pub fn label(&self) -> &str {
        &self.own.label
    }

    /// The clock it was opened with.
    #[must_use]
    pub fn clock(&self) -> &dyn Clock {
        &*self.clock
    }

    /// What the check at start found and did.
    #[must_use]
    pub fn start_report(&self) -> &StartReport {
        &self.report
    }

    /// Why nothing is saved any more until the logbook is opened anew, if so.
    #[must_use]
    pub fn stopped(&self) -> Option<&str> {
        self.stopped.as_deref()
    }

    /// Moves everything from the write-ahead log into the database file: at the end of a round, and
    /// before the device may go to sleep.
    ///
    /// # Errors
    /// The database's.
    pub fn checkpoint(&self) -> Result<()> {
        self.database.checkpoint()
    }
}

/// Brings both witnesses to the same records and works out what they come to.
fn bring_up(
    folder: &Folder,
    segments: &mut Segments,
    own: &mut Own,
) -> Result<(Database, StartReport)> {
    let (database, mut dirty, report) = start::start(folder, segments, own.log)?;
    if let Some(opened) = database.own_opened(own.log)? {
        *own = opened;
    }
    dirty.stations.extend(database.not_judged()?);
    if !dirty.is_empty() {
        database.in_transaction(|| database.derive(own, dirty))?;
    }
    Ok((database, report))
}

/// Refuses a folder with segments whose key is gone: they belong to a log that nobody can continue.
fn refuse_orphans(disk: &dyn Disk, dir: &Path) -> Result<()> {
    let names = disk
        .file_names(dir)
        .map_err(|error| Error::of_io("list files in", dir, error))?;
    if names.iter().any(|name| segments::is_segment(name)) {
        return Err(Error::KeyMissing {
            path: dir.to_owned(),
        });
    }
    Ok(())
}

impl std::fmt::Debug for Logbook {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "Logbook({}, {})",
            self.own.log.short(),
            self.dir().display()
        )
    }
}
