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
use winze_sync_format::{LogId, Opened, RecordRef};

use super::database::{Database, During};
use super::start::threads;
use crate::Result;

/// Records handed over at a time.
const PORTION: u64 = 512;
/// Bytes of items handed over at a time: bounds the memory of portions of large records.
const PORTION_BYTES: usize = 1024 * 1024;
/// Portions that may wait to be written.
const WAITING: usize = 3;

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
    // Behind the newest record of its log nothing can be here: most records need no look-up.
    let known = |at: &RecordRef| {
        let newest = newest.get(&at.log).copied().unwrap_or(-1);
        i64::try_from(at.seq).is_ok_and(|seq| seq <= newest)
            && lock(database).holds(at).unwrap_or(false)
    };
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

/// The database, for a moment.
pub(super) fn lock(database: &Mutex<Database>) -> MutexGuard<'_, Database> {
    // A panic while writing is passed on by the scope; the database itself rolls back.
    database.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Database {
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
