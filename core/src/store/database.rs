//! Opening the database so that a commit lasts, and sorting what can go wrong with it.
//!
//! Not here: what the tables hold (see `sql/`), and what to do about a damaged file (see `start`).

use std::cell::RefCell;
use std::collections::HashMap;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags, OptionalExtension};
use winze_sync_format::disk::Disk;
use winze_sync_format::{LogId, RecordId, RecordRef};

use super::durable::{self, Journal};
use super::folder::{JOURNALS, with_suffix};

use crate::{Error, Result};

/// The version this program writes, in `user_version`.
pub(super) const VERSION: i64 = 1;

/// Marks the file as ours for tools that look at files: "Winz".
const APPLICATION_ID: i64 = 0x5769_6e7a;

/// Pages kept in memory, in KiB with a minus sign as the setting wants it: a merge of a million
/// records stays within this.
pub(super) const CACHE_KIB: i64 = -32_768;

/// Prepared statements kept: more than this program has.
const STATEMENTS: usize = 128;

const SCHEMA: &str = include_str!("sql/0001_projection.sql");

/// Tables that a database of before may lack.
const LATER: &str = concat!(
    include_str!("sql/0002_judged.sql"),
    include_str!("sql/0003_procedures.sql"),
    include_str!("sql/0004_backups.sql"),
    include_str!("sql/0004_trust.sql"),
    include_str!("sql/0005_attachments.sql")
);

/// An open database.
pub(super) struct Database {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
    numbers: RefCell<Numbers>,
}

/// The local numbers of logs, as far as they were asked for.
#[derive(Default)]
struct Numbers {
    of: HashMap<LogId, i64>,
    log: HashMap<i64, LogId>,
    /// The largest sequence number of each log, kept up to date by whoever adds records.
    newest: HashMap<i64, i64>,
}

/// Adds what was being done to an error of the database, and sorts it.
pub(super) trait During<T> {
    /// Names the doing.
    fn during(self, action: &'static str) -> Result<T>;
}

impl<T> During<T> for rusqlite::Result<T> {
    fn during(self, action: &'static str) -> Result<T> {
        self.map_err(|source| sorted(action, source))
    }
}

/// Sorts an error of the database by what can be done about it.
pub(super) fn sorted(action: &'static str, source: rusqlite::Error) -> Error {
    use rusqlite::ErrorCode;
    match source.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => Error::NoSpace {
            path: PathBuf::from("projection.sqlite"),
        },
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => Error::DatabaseDamaged {
            action,
            source: Box::new(source),
        },
        Some(ErrorCode::ReadOnly) => Error::ReadOnly {
            path: PathBuf::from("projection.sqlite"),
            source: std::io::Error::new(std::io::ErrorKind::PermissionDenied, source),
        },
        _ => Error::Database {
            action,
            source: Box::new(source),
        },
    }
}

impl Database {
    /// Opens the database, making an empty one where there is none.
    ///
    /// # Errors
    /// [`Error::DatabaseDamaged`] when the file is no sound database of ours,
    /// [`Error::NewerThanProgram`], [`Error::NotDurable`].
    pub(super) fn open(path: &Path, files: &dyn Disk) -> Result<Self> {
        match Self::open_with(path, Journal::WriteAhead) {
            // Only a file without tables is tried, and trying marks it as one with a write-ahead log, so
            // that it can no longer be read.
            Err(error) if durable::lacks_write_ahead(&error) => {
                for suffix in ["", JOURNALS[0], JOURNALS[1], JOURNALS[2]] {
                    let left = with_suffix(path, suffix);
                    match files.remove(&left) {
                        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                            return Err(Error::of_io("remove", &left, error));
                        }
                        _ => {}
                    }
                }
                Self::open_with(path, Journal::Rollback)
            }
            opened => opened,
        }
    }

    fn open_with(path: &Path, journal: Journal) -> Result<Self> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(path, flags).during("open")?;
        connection.set_prepared_statement_cache_capacity(STATEMENTS);
        // Before anything is read: a file once read without it is locked anew for every query.
        lock(&connection)?;
        check_version(&connection, path)?;
        durable::make_durable(&connection, journal)?;
        let database = Self {
            connection,
            path: path.to_owned(),
            numbers: RefCell::default(),
        };
        database.make_tables()?;
        database.check_pages()?;
        Ok(database)
    }

    /// An empty database in memory, to stand in while files change names.
    pub(super) fn stand_in() -> Result<Self> {
        let connection = Connection::open_in_memory().during("open")?;
        Ok(Self {
            connection,
            path: PathBuf::new(),
            numbers: RefCell::default(),
        })
    }

    /// A database in memory with all its tables, for tests of what the tables come to.
    pub(super) fn in_memory() -> Result<Self> {
        let database = Self::stand_in()?;
        database
            .connection
            .set_prepared_statement_cache_capacity(STATEMENTS);
        database.make_tables()?;
        Ok(database)
    }

    /// Says whether commits go through a write-ahead log.
    pub(super) fn has_write_ahead(&self) -> Result<bool> {
        durable::has_write_ahead(&self.connection)
    }

    fn make_tables(&self) -> Result<()> {
        let version = pragma(&self.connection, "user_version")?;
        if version == VERSION {
            return self.connection.execute_batch(LATER).during("make tables");
        }
        let tables: i64 = self
            .connection
            .query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))
            .during("look for tables")?;
        if tables > 0 {
            // Neither a new file nor one of a version that this program knows: not ours to change.
            return Err(Error::DatabaseDamaged {
                action: "find the version",
                source: "tables without a version".into(),
            });
        }
        let script = format!(
            "BEGIN IMMEDIATE; {SCHEMA} {LATER} PRAGMA application_id = {APPLICATION_ID}; \
             PRAGMA user_version = {VERSION}; COMMIT;"
        );
        self.connection.execute_batch(&script).during("make tables")
    }

    /// Looks for damaged pages; the records themselves are checked against the segments.
    fn check_pages(&self) -> Result<()> {
        let found: String = self
            .connection
            .query_row("PRAGMA quick_check(1)", [], |row| row.get(0))
            .during("check pages")?;
        if found == "ok" {
            Ok(())
        } else {
            Err(Error::DatabaseDamaged {
                action: "check pages",
                source: found.into(),
            })
        }
    }

    /// Runs a change as a whole or not at all.
    pub(super) fn in_transaction<T>(&self, change: impl FnOnce() -> Result<T>) -> Result<T> {
        self.connection
            .execute_batch("BEGIN IMMEDIATE")
            .during("begin")?;
        let outcome = change().and_then(|value| {
            self.connection.execute_batch("COMMIT").during("commit")?;
            Ok(value)
        });
        if outcome.is_err() {
            // The database may have rolled back by itself; then this has nothing to do.
            let _ = self.connection.execute_batch("ROLLBACK");
            self.numbers.replace(Numbers::default());
        }
        outcome
    }

    /// Moves everything from the write-ahead log into the file.
    pub(super) fn checkpoint(&self) -> Result<()> {
        self.connection
            .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
            .during("checkpoint")
    }

    /// Finds the local number of a log.
    pub(super) fn find_number(&self, log: LogId) -> Result<Option<i64>> {
        if let Some(number) = self.numbers.borrow().of.get(&log) {
            return Ok(Some(*number));
        }
        let number: Option<i64> = self
            .connection
            .prepare_cached("SELECT n FROM log WHERE id = ?1")
            .and_then(|mut query| query.query_row([&log.0[..]], |row| row.get(0)).optional())
            .during("find a log")?;
        if let Some(number) = number {
            self.remember(log, number);
        }
        Ok(number)
    }

    /// Finds the local number of a log, or gives it one.
    pub(super) fn number(&self, log: LogId) -> Result<i64> {
        if let Some(number) = self.find_number(log)? {
            return Ok(number);
        }
        self.connection
            .prepare_cached("INSERT INTO log (id) VALUES (?1)")
            .and_then(|mut insert| insert.insert([&log.0[..]]))
            .during("number a log")
            .inspect(|number| self.remember(log, *number))
    }

    /// Finds the log of a local number.
    pub(super) fn log(&self, number: i64) -> Result<LogId> {
        if let Some(log) = self.numbers.borrow().log.get(&number) {
            return Ok(*log);
        }
        let bytes: [u8; 32] = self
            .connection
            .prepare_cached("SELECT id FROM log WHERE n = ?1")
            .and_then(|mut query| query.query_row([number], |row| row.get(0)))
            .during("name a log")?;
        self.remember(LogId(bytes), number);
        Ok(LogId(bytes))
    }

    /// The largest sequence number of a log, -1 when no record of it is here.
    pub(super) fn newest(&self, log: i64) -> Result<i64> {
        if let Some(newest) = self.numbers.borrow().newest.get(&log) {
            return Ok(*newest);
        }
        let newest: Option<i64> = self
            .connection
            .prepare_cached("SELECT max(seq) FROM record WHERE log = ?1")
            .and_then(|mut query| query.query_row([log], |row| row.get(0)))
            .during("find the newest record")?;
        let newest = newest.unwrap_or(-1);
        self.note_newest(log, newest);
        Ok(newest)
    }

    /// Remembers the largest sequence number of a log.
    pub(super) fn note_newest(&self, log: i64, seq: i64) {
        self.numbers.borrow_mut().newest.insert(log, seq);
    }

    /// Puts a reference together from its stored parts.
    pub(super) fn reference(&self, log: i64, seq: i64, id: [u8; 32]) -> Result<RecordRef> {
        let seq = u64::try_from(seq).map_err(|_| Error::DatabaseContent {
            what: "sequence number below zero",
        })?;
        Ok(RecordRef {
            log: self.log(log)?,
            seq,
            id: RecordId(id),
        })
    }

    fn remember(&self, log: LogId, number: i64) {
        let mut numbers = self.numbers.borrow_mut();
        numbers.of.insert(log, number);
        numbers.log.insert(number, log);
    }
}

/// Takes a sequence number into the range of the database.
///
/// # Errors
/// [`Error::DatabaseContent`] beyond 2^63 - 1, which no honest log reaches.
pub(super) fn stored_seq(seq: u64) -> Result<i64> {
    i64::try_from(seq).map_err(|_| Error::DatabaseContent {
        what: "sequence number above 2^63",
    })
}

fn check_version(connection: &Connection, path: &Path) -> Result<()> {
    let found = match pragma(connection, "user_version") {
        Err(Error::Database { action, source }) if cannot_open(&*source) => {
            // The file itself is open: it is its write-ahead log that cannot be had here. Read without
            // it the database would be wrong; the segments have everything.
            return Err(Error::DatabaseDamaged { action, source });
        }
        found => found?,
    };
    if found > VERSION {
        return Err(Error::NewerThanProgram {
            path: path.to_owned(),
            found,
            known: VERSION,
        });
    }
    Ok(())
}

/// One program at a time has the logbook open; the exclusive lock spares the shared-memory file and
/// two system calls for every query.
fn lock(connection: &Connection) -> Result<()> {
    connection
        .query_row("PRAGMA locking_mode = EXCLUSIVE", [], |_| Ok(()))
        .during("lock")
}

/// Says whether the database could not open a file.
pub(super) fn cannot_open(error: &(dyn std::error::Error + 'static)) -> bool {
    let error = error.downcast_ref::<rusqlite::Error>();
    error.and_then(rusqlite::Error::sqlite_error_code) == Some(rusqlite::ErrorCode::CannotOpen)
}

/// Reads a setting.
pub(super) fn pragma(connection: &Connection, name: &str) -> Result<i64> {
    connection
        .query_row(&format!("PRAGMA {name}"), [], |row| row.get(0))
        .during("read a setting")
}

#[cfg(test)]
mod tests {
    use winze_sync_format::disk::RealDisk;

    use super::durable::check_durable;
    use super::*;

    #[test]
    fn a_new_database_is_in_wal_with_full_sync() {
        let folder = tempfile::tempdir().unwrap();
        let database = Database::open(&folder.path().join("projection.sqlite"), &RealDisk).unwrap();
        check_durable(&database.connection).unwrap();
        assert_eq!(
            pragma(&database.connection, "user_version").unwrap(),
            VERSION
        );
    }

    #[test]
    fn a_weaker_setting_is_noticed() {
        let folder = tempfile::tempdir().unwrap();
        let database = Database::open(&folder.path().join("projection.sqlite"), &RealDisk).unwrap();
        database
            .connection
            .execute_batch("PRAGMA synchronous = NORMAL")
            .unwrap();
        let error = check_durable(&database.connection).unwrap_err();
        assert!(
            matches!(
                error,
                Error::NotDurable {
                    setting: "synchronous",
                    ..
                }
            ),
            "{error}"
        );
        let memory = Connection::open_in_memory().unwrap();
        let error = check_durable(&memory).unwrap_err();
        assert!(
            matches!(
                error,
                Error::NotDurable {
                    setting: "journal_mode",
                    ..
                }
            ),
            "{error}"
        );
    }

    #[test]
    fn a_newer_database_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("projection.sqlite");
        let newer = Connection::open(&path).unwrap();
        newer
            .execute_batch("CREATE TABLE t (a); PRAGMA user_version = 99")
            .unwrap();
        drop(newer);
        let before = std::fs::read(&path).unwrap();
        let Err(error) = Database::open(&path, &RealDisk) else {
            panic!("opened a newer database")
        };
        assert!(
            matches!(error, Error::NewerThanProgram { found: 99, .. }),
            "{error}"
        );
        assert_eq!(std::fs::read(&path).unwrap(), before);
    }

    #[test]
    fn a_file_that_is_no_database_is_called_damaged() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("projection.sqlite");
        std::fs::write(&path, vec![7; 8192]).unwrap();
        let Err(error) = Database::open(&path, &RealDisk) else {
            panic!("opened nonsense")
        };
        assert!(matches!(error, Error::DatabaseDamaged { .. }), "{error}");
    }

    #[test]
    fn a_failed_change_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let database = Database::open(&folder.path().join("projection.sqlite"), &RealDisk).unwrap();
        let log = LogId([7; 32]);
        let outcome: Result<()> = database.in_transaction(|| {
            database.number(log)?;
            Err(Error::Cancelled)
        });
        assert!(matches!(outcome, Err(Error::Cancelled)));
        assert_eq!(database.find_number(log).unwrap(), None);
    }
}
