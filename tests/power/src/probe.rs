//! A bare database under the same crashes: which of its settings keep a commit.
//!
//! It shows that the images are those that matter: settings known to lose commits must lose some here.

use rusqlite::{Connection, OpenFlags, Result};

use crate::disk::{Event, Mark, PowerDisk};
use crate::images::{Cut, Numbers};

/// Settings of a database.
#[derive(Debug, Clone, Copy)]
pub struct Probe {
    /// `journal_mode`.
    pub journal: &'static str,
    /// `synchronous`.
    pub synchronous: &'static str,
}

impl Probe {
    /// The write-ahead log needs the exclusive lock, with which a rollback journal is not removed.
    fn locking(self) -> &'static str {
        if self.journal == "WAL" {
            "EXCLUSIVE"
        } else {
            "NORMAL"
        }
    }
}

const CUTS: [Cut; 4] = [Cut::AllDropped, Cut::AllKept, Cut::Subset, Cut::Torn];

/// Commits `commits` rows one by one and opens the database on every image. Returns how many images
/// there were and how many of them lacked a committed row or could not be read.
///
/// # Errors
/// Those of the database while nothing crashes.
pub fn probe(disk: &PowerDisk, settings: Probe, commits: u64) -> Result<(u64, u64)> {
    disk.load([]);
    // The database's own name is taken to last, as that of any database that was used before.
    let connection = open(disk)?;
    connection.execute_batch(&format!(
        "PRAGMA locking_mode = {}; PRAGMA journal_mode = {}; PRAGMA synchronous = {};
         PRAGMA wal_autocheckpoint = 20; CREATE TABLE row (n INTEGER PRIMARY KEY, text TEXT);",
        settings.locking(),
        settings.journal,
        settings.synchronous
    ))?;
    let mut medium = disk.start_recording();
    for n in 0..commits {
        connection.execute(
            "INSERT INTO row (n, text) VALUES (?1, ?2)",
            (n.cast_signed(), "x".repeat(200)),
        )?;
        disk.mark(Mark::Committed(n + 1));
    }
    let events = disk.stop_recording();
    drop(connection);
    let mut numbers = Numbers::new(1);
    let (mut images, mut bad, mut promised) = (0, 0, 0);
    for event in &events {
        match event {
            Event::Marked(Mark::Committed(rows)) => promised = *rows,
            event => {
                medium.apply(event);
            }
        }
        for cut in CUTS {
            disk.load(medium.image(cut, &mut numbers).files);
            images += 1;
            bad += u64::from(rows(disk, settings).is_none_or(|found| found < promised));
        }
    }
    Ok((images, bad))
}

fn open(disk: &PowerDisk) -> Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
    Connection::open_with_flags(disk.root().join("probe.sqlite"), flags)
}

/// How many rows there are, each found whole; none when the database cannot be read.
fn rows(disk: &PowerDisk, settings: Probe) -> Option<u64> {
    let connection = open(disk).ok()?;
    let locking = format!("PRAGMA locking_mode = {}", settings.locking());
    connection.execute_batch(&locking).ok()?;
    let ok: String = connection
        .query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))
        .ok()?;
    let count: i64 = connection
        .query_row("SELECT count(*) FROM row", [], |row| row.get(0))
        .ok()?;
    (ok == "ok").then_some(count.unsigned_abs())
}
