//! Reading a bundle on a thread of its own, so that signatures are checked while records are written.
//!
//! The reading thread hands over portions of checked records and asks the database only about
//! records that might be here already.

use std::collections::HashMap;
use std::io::Read;
use std::ops::ControlFlow;
use std::sync::mpsc::{SyncSender, sync_channel};
use std::sync::{Mutex, MutexGuard, PoisonError};

use winze_sync_format::bundle::{BundleEvent, BundleReader, BundleReport};
use winze_sync_format::{LogId, Opened, RecordId, RecordRef};

use super::database::{Database, During};
use super::start::threads;
use crate::Result;

/// Records handed over at a time.
const PORTION: u64 = 512;
/// Bytes of items handed over at a time: bounds the memory of portions of large records.
const PORTION_BYTES: usize = 1024 * 1024;
/// Portions that may wait to be written: as many as are checked while one batch is synced.
const WAITING: usize = 8;
/// Names of records here that are fetched at a time: few where records come in no order, many where
/// a bundle brings again what is here.
const AHEAD: std::ops::RangeInclusive<usize> = 8..=1024;

/// A portion of a bundle.
#[derive(Default)]
pub(super) struct Portion {
    /// Records and items whose signatures were checked, in the order of the file.
    pub(super) opened: Vec<Opened>,
    /// How many records were here already.
    pub(super) held: u64,
    /// Bytes of the file worked through so far.
    pub(super) offset: u64,
    bytes: usize,
}

/// Reads a bundle and hands its portions to `take`, until that breaks off. Returns what was learnt
/// about the bundle, or none when it was broken off.
///
/// # Errors
/// Whatever `take` answers.
pub(super) fn read_in_portions(
    stream: Box<dyn Read + Send>,
    database: &Mutex<Database>,
    mut take: impl FnMut(Portion) -> Result<ControlFlow<()>>,
) -> Result<Option<BundleReport>> {
    let newest = lock(database).newest_of_all()?;
    std::thread::scope(|scope| {
        let (send, receive) = sync_channel(WAITING);
        let reading = scope.spawn(move || read(stream, database, &newest, &send));
        let mut outcome = Ok(ControlFlow::Continue(()));
        for portion in &receive {
            outcome = take(portion);
            if !matches!(outcome, Ok(ControlFlow::Continue(()))) {
                break;
            }
        }
        // With nobody to receive, the reading thread stops at its next portion.
        drop(receive);
        let report = reading
            .join()
            .unwrap_or_else(|panicked| std::panic::resume_unwind(panicked));
        outcome.map(|flow| report.filter(|_| flow.is_continue()))
    })
}

/// The reading thread. Returns none when nobody receives any more.
fn read(
    stream: Box<dyn Read + Send>,
    database: &Mutex<Database>,
    newest: &HashMap<LogId, i64>,
    send: &SyncSender<Portion>,
) -> Option<BundleReport> {
    let mut here = Here::new(database, newest);
    let known = |at: &RecordRef| here.holds(at).unwrap_or(false);
    let mut reader = BundleReader::new(stream).threads(threads()).known(known);
    let mut portion = Portion::default();
    while let Some(event) = reader.next() {
        match event {
            BundleEvent::Record(record) => portion.add(Opened::Record(record)),
            BundleEvent::Newer(newer) => portion.add(Opened::Newer(newer)),
            BundleEvent::Held(_) => portion.held += 1,
            BundleEvent::Header(_) | BundleEvent::Damage(_) => {}
        }
        if portion.is_full() {
            portion.offset = reader.offset();
            send.send(std::mem::take(&mut portion)).ok()?;
        }
    }
    portion.offset = reader.offset();
    send.send(portion).ok()?;
    Some(reader.finish())
}

impl Portion {
    fn add(&mut self, opened: Opened) {
        self.bytes += opened.item().len();
        self.opened.push(opened);
    }

    fn is_full(&self) -> bool {
        self.opened.len() as u64 + self.held >= PORTION || self.bytes >= PORTION_BYTES
    }
}

/// Which records are here, asked in the order of a bundle: names are fetched ahead.
struct Here<'a> {
    database: &'a Mutex<Database>,
    newest: &'a HashMap<LogId, i64>,
    log: Option<LogId>,
    /// The places that `names` tells all about.
    places: std::ops::Range<u64>,
    /// Sorted.
    names: Vec<(u64, RecordId)>,
    ahead: usize,
}

impl<'a> Here<'a> {
    fn new(database: &'a Mutex<Database>, newest: &'a HashMap<LogId, i64>) -> Self {
        Self {
            database,
            newest,
            log: None,
            places: 0..0,
            names: Vec::new(),
            ahead: *AHEAD.start(),
        }
    }

    /// Says whether a record was here when its log was last looked at: what came in since is found
    /// out when it is written.
    fn holds(&mut self, at: &RecordRef) -> Result<bool> {
        // Behind the newest record of its log nothing can be here: most records need no look-up.
        let newest = self.newest.get(&at.log).copied().unwrap_or(-1);
        if i64::try_from(at.seq).is_ok_and(|seq| seq <= newest) {
            if self.log != Some(at.log) || !self.places.contains(&at.seq) {
                self.fetch(at)?;
            }
            if self.places.contains(&at.seq) {
                return Ok(self.names.binary_search(&(at.seq, at.id)).is_ok());
            }
            return lock(self.database).holds(at);
        }
        Ok(false)
    }

    fn fetch(&mut self, at: &RecordRef) -> Result<()> {
        let goes_on = self.log == Some(at.log) && self.places.end == at.seq;
        self.ahead = if goes_on {
            (self.ahead * 2).min(*AHEAD.end())
        } else {
            *AHEAD.start()
        };
        self.log = Some(at.log);
        self.names = lock(self.database).names_from(at, self.ahead)?;
        // Of the last place fetched there may be more, unless that was the last of all.
        let end = match self.names.last() {
            Some((last, _)) if self.names.len() == self.ahead => *last,
            _ => u64::MAX,
        };
        self.places = at.seq..end;
        Ok(())
    }
}

/// The database, for a moment.
pub(super) fn lock(database: &Mutex<Database>) -> MutexGuard<'_, Database> {
    // A panic while writing is passed on by the scope; the database itself rolls back.
    database.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Database {
    /// The names of the next records of a log from a place on, sorted.
    fn names_from(&self, at: &RecordRef, limit: usize) -> Result<Vec<(u64, RecordId)>> {
        let Some(log) = self.find_number(at.log)? else {
            return Ok(Vec::new());
        };
        let from = i64::try_from(at.seq).unwrap_or(i64::MAX);
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        self.connection
            .prepare_cached(
                "SELECT seq, id FROM record WHERE log = ?1 AND seq >= ?2 ORDER BY seq, id LIMIT ?3",
            )
            .and_then(|mut query| {
                let name = |row: &rusqlite::Row<'_>| {
                    Ok((row.get::<_, i64>(0)?.cast_unsigned(), RecordId(row.get(1)?)))
                };
                query.query_map([log, from, limit], name)?.collect()
            })
            .during("find the next records")
    }

    /// The largest sequence number of every log, -1 where none of its records is here.
    fn newest_of_all(&self) -> Result<HashMap<LogId, i64>> {
        self.connection
            .prepare_cached(
                "SELECT l.id, coalesce((SELECT max(r.seq) FROM record r WHERE r.log = l.n), -1)
                 FROM log l",
            )
            .and_then(|mut query| {
                query
                    .query_map([], |row| Ok((LogId(row.get(0)?), row.get(1)?)))?
                    .collect()
            })
            .during("find the newest records")
    }
}
