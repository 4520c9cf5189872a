//! The check at start: segments and database are two witnesses of one set of records, and each makes
//! good what the other lacks.
//!
//! A damaged database is put aside under another name and made anew from the segments; whatever the
//! old file still yields is taken over. A damaged segment is read around its damage, and what the
//! database has of the lost part is written to a segment again. Nothing is ever removed.

use std::num::NonZero;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags};
use winze_sync_format::salvage::{Damage, DamageReason, Found, ItemScanner, ReadLimits};
use winze_sync_format::{LogId, Opened, RecordId, RecordRef, open_item, parse_item};

use super::database::{Database, During};
use super::folder::{Folder, move_database};
use super::insert::{Dirty, Put};
use super::segments::{Segments, Series};
use crate::{Error, Result};

/// Records put into the database with one commit.
pub(super) const BATCH: usize = 4096;
/// Bytes of items put in at a time: a batch of pieces of pictures stays small too.
pub(super) const BATCH_BYTES: usize = 8 * 1024 * 1024;

/// A log may outgrow what is allowed to travel in one file.
pub(super) const NO_LIMITS: ReadLimits = ReadLimits {
    bytes: u64::MAX,
    items: u64::MAX,
    failures: u64::MAX,
};

/// What the check at start found and did.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StartReport {
    /// Records in all.
    pub records: u64,
    /// Records that were in a segment and not in the database, and were put there.
    pub replayed: u64,
    /// Records that were in the database and not in a segment, and were written there.
    pub restored_to_segments: u64,
    /// Parts of segments that cannot be read and in which nothing is missing: appends that a crash
    /// cut short, whose records nobody was told are saved, and damage made good at an earlier start.
    pub torn_tails: u64,
    /// Other damage in segments: something was missing, or the database could not say.
    pub damage: Vec<SegmentDamage>,
    /// Where a damaged or outdated database was put aside.
    pub database_put_aside: Option<PathBuf>,
    /// Whether commits go without a write-ahead log, because the medium has none. They last all the
    /// same and take longer.
    pub without_write_ahead: bool,
    /// Places of the own log that are in neither witness, as first and last.
    pub own_gaps: Vec<(u64, u64)>,
    /// Records whose named predecessor is not here although its place is filled by another: a log
    /// that was copied, or written to from two folders. Nothing is lost by it.
    pub broken_links: Vec<RecordRef>,
    /// The new log that was begun, where this folder may not be the only one with the old key.
    pub new_log: Option<super::NewLog>,
}

impl StartReport {
    /// Says whether anything was lost or doubtful; a torn tail and a replay are neither.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.damage.is_empty() && self.database_put_aside.is_none() && self.own_gaps.is_empty()
    }
}

/// A damaged part of a segment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SegmentDamage {
    /// The file.
    pub path: PathBuf,
    /// The part.
    pub damage: Damage,
}

/// Opens the database and brings both witnesses to the same set of records.
pub(super) fn start(
    folder: &Folder,
    segments: &mut Segments,
    own: LogId,
) -> Result<(Database, Dirty, StartReport)> {
    let mut report = StartReport::default();
    let opened = Database::open(&folder.database(), segments.disk().database_files());
    let attempt = opened.and_then(|database| {
        let mut dirty = database.noted_dirty()?;
        reconcile(&database, segments, &mut dirty, &mut report)?;
        let chains = database.check_chains(own)?;
        Ok((database, dirty, chains))
    });
    let (database, mut dirty, chains) = match attempt {
        Ok(found) => found,
        Err(Error::DatabaseDamaged { .. }) => {
            let (database, dirty) = anew(folder, segments, &mut report)?;
            let chains = database.check_chains(own)?;
            (database, dirty, chains)
        }
        Err(error) => return Err(error),
    };
    report.without_write_ahead = !database.has_write_ahead()?;
    report.records = chains.records;
    report.own_gaps = chains.own_gaps;
    report.broken_links = chains.broken_links;
    // A crash may have come before it was first worked out which logs count, and the work is small.
    dirty.trust = true;
    Ok((database, dirty, report))
}

/// Puts the database aside and makes another.
fn anew(
    folder: &Folder,
    segments: &mut Segments,
    report: &mut StartReport,
) -> Result<(Database, Dirty)> {
    *report = StartReport::default();
    let files = segments.disk().database_files();
    let aside = folder.aside(files, "damaged");
    move_database(files, &folder.database(), &aside)?;
    let database = Database::open(&folder.database(), files)?;
    let mut dirty = Dirty {
        trust: true,
        ..Dirty::default()
    };
    reconcile(&database, segments, &mut dirty, report)?;
    // The damaged file may still yield what a segment has lost, and drafts.
    if let Ok(old) = Connection::open_with_flags(&aside, OpenFlags::SQLITE_OPEN_READ_ONLY) {
        report.restored_to_segments += take_over(&old, &database, segments, &mut dirty)?;
        copy_drafts(&old, &database);
    }
    report.database_put_aside = Some(aside);
    Ok((database, dirty))
}

/// Compares the segments with the database and makes good what either lacks.
fn reconcile(
    database: &Database,
    segments: &mut Segments,
    dirty: &mut Dirty,
    report: &mut StartReport,
) -> Result<()> {
    let mut seen = Vec::new();
    let before = database.count_records()?;
    for series in [Series::Own, Series::Received] {
        let newest = segments.newest(series);
        segments.resume(series);
        let mut is_whole = true;
        for path in segments.files_of(series)? {
            let is_sound = replay(database, segments, &path, dirty, report, &mut seen)?;
            if newest.as_deref() == Some(&path) {
                is_whole = is_sound;
            }
        }
        // Behind a doubtful tail nothing is appended: the next record begins a new file.
        if !is_whole {
            segments.begin_anew(series);
        }
    }
    seen.sort_unstable();
    seen.dedup();
    report.records = database.count_records()?;
    let mut restored = 0;
    if seen.len() as u64 != report.records {
        restored = restore(database, segments, &seen)?;
    }
    report.restored_to_segments += restored;
    if before > 0 && restored == 0 {
        // A power cut may leave holes and zeros anywhere in what was not synced. Everything confirmed
        // is in the database, and the segments have all of that: nothing confirmed was in the holes.
        report.torn_tails += report.damage.len() as u64;
        report.damage.clear();
    }
    Ok(())
}

/// Reads one segment; puts what is new into the database. Returns whether the file is sound to its
/// last byte.
pub(super) fn replay(
    database: &Database,
    segments: &Segments,
    path: &Path,
    dirty: &mut Dirty,
    report: &mut StartReport,
    seen: &mut Vec<u64>,
) -> Result<bool> {
    let stream = segments.read(path)?;
    let known = |at: &_| database.holds(at).unwrap_or(false);
    let mut scanner = ItemScanner::new(stream)
        .threads(threads())
        .limits(NO_LIMITS)
        .known(known);
    let (mut batch, mut batch_bytes) = (Vec::new(), 0);
    let mut last_damage = None;
    loop {
        let found = scanner.next();
        let is_end = found.is_none();
        match found {
            Some(Found::Held { reference, .. }) => seen.push(short(reference.id)),
            Some(Found::Record { record, .. }) if is_bundle_part(record.kind()) => {}
            Some(Found::Record { record, .. }) => {
                seen.push(short(record.id()));
                batch_bytes += record.item().len();
                batch.push(Opened::Record(record));
            }
            Some(Found::Newer { newer, .. }) => {
                seen.push(short(newer.reference.id));
                batch_bytes += newer.item.len();
                batch.push(Opened::Newer(newer));
            }
            Some(Found::Damage(damage)) => {
                last_damage = Some(damage.clone());
                report.damage.push(SegmentDamage {
                    path: path.to_owned(),
                    damage,
                });
            }
            Some(Found::Hint { .. }) | None => {}
        }
        let is_full = batch.len() == BATCH || batch_bytes >= BATCH_BYTES;
        if is_full || (is_end && !batch.is_empty()) {
            batch_bytes = 0;
            report.replayed += put_batch(database, &batch, dirty)?;
            batch.clear();
        }
        if is_end {
            break;
        }
    }
    let torn = last_damage.as_ref().is_some_and(|damage: &Damage| {
        damage.reason == DamageReason::CutShort && damage.offset + damage.length == scanner.offset()
    });
    if torn {
        report.torn_tails += 1;
        report.damage.pop();
    }
    Ok(last_damage.is_none())
}

fn put_batch(database: &Database, batch: &[Opened], dirty: &mut Dirty) -> Result<u64> {
    database.in_transaction(|| {
        let mut new = 0;
        for opened in batch {
            if database.put_opened(opened, dirty)? != Put::Held {
                new += 1;
            }
        }
        database.note_dirty(dirty)?;
        Ok(new)
    })
}

/// Writes to a segment what only the database has. `seen` holds the short ids of everything in the
/// segments, sorted.
fn restore(database: &Database, segments: &mut Segments, seen: &[u64]) -> Result<u64> {
    let (mut batch, mut batch_bytes, mut restored) = (Vec::with_capacity(BATCH), 0, 0);
    let mut write = |batch: &mut Vec<Vec<u8>>| {
        restored += batch.len() as u64;
        segments.append(Series::Received, batch.iter().map(Vec::as_slice))?;
        batch.clear();
        Ok(())
    };
    database.each_item(|id, item| {
        let is_missing = seen.binary_search(&short(RecordId(id))).is_err();
        // The database proves nothing: only what bears its log's signature goes back.
        if is_missing && open_item(item).is_ok_and(|(_, length)| length == item.len()) {
            batch_bytes += item.len();
            batch.push(item.to_vec());
        }
        if batch.len() < BATCH && batch_bytes < BATCH_BYTES {
            Ok(())
        } else {
            batch_bytes = 0;
            write(&mut batch)
        }
    })?;
    write(&mut batch)?;
    Ok(restored)
}

/// Takes over records that another database has and this logbook lacks. Stops at the first part that
/// cannot be read.
pub(super) fn take_over(
    old: &Connection,
    database: &Database,
    segments: &mut Segments,
    dirty: &mut Dirty,
) -> Result<u64> {
    let mut lacking = Vec::new();
    let read = old
        .prepare("SELECT item FROM record")
        .and_then(|mut query| {
            let mut rows = query.query([])?;
            while let Some(row) = rows.next()? {
                let item: Vec<u8> = row.get(0)?;
                // Only what is lacking is worth a signature check.
                if let Ok((parsed, length)) = parse_item(&item)
                    && length == item.len()
                    && !database.holds(&parsed.claimed()).unwrap_or(true)
                    && let Ok(opened) = parsed.verify()
                {
                    lacking.push(opened);
                }
            }
            Ok(())
        });
    // What a damaged file does not yield is not an error: the segments are the proof.
    drop(read);
    segments.append(Series::Received, lacking.iter().map(Opened::item))?;
    for batch in lacking.chunks(BATCH) {
        put_batch(database, batch, dirty)?;
    }
    Ok(lacking.len() as u64)
}

/// Copies what is local to the folder and can be copied by itself: which merges were run, and what
/// the newest brought.
pub(super) fn copy_merges(old: &Database, database: &Database) -> Result<()> {
    let action = "copy merges";
    let runs: Vec<[i64; 4]> = old
        .connection
        .prepare("SELECT finished_ms, bundles, new_records, new_readings FROM merge_run ORDER BY n")
        .and_then(|mut query| {
            query
                .query_map([], |row| {
                    Ok([row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?])
                })?
                .collect()
        })
        .during(action)?;
    for run in runs {
        database.run(
            "INSERT INTO merge_run (finished_ms, bundles, new_records, new_readings)
             VALUES (?1, ?2, ?3, ?4)",
            run,
        )?;
    }
    let mut query = old
        .connection
        .prepare("SELECT log, seq, id FROM arrived")
        .during(action)?;
    let mut rows = query.query([]).during(action)?;
    while let Some(row) = rows.next().during(action)? {
        let (log, seq, id) = database.stored(old.reference_in(row)?)?;
        database.run(
            "INSERT INTO arrived (log, seq, id) VALUES (?1, ?2, ?3)",
            rusqlite::params![log, seq, id],
        )?;
    }
    Ok(())
}

/// Copies drafts as far as the other database yields them.
pub(super) fn copy_drafts(old: &Connection, database: &Database) {
    let copied = old
        .prepare("SELECT name, saved_ms, content FROM draft")
        .and_then(|mut query| {
            let mut rows = query.query([])?;
            while let Some(row) = rows.next()? {
                let (name, saved_ms, content): (String, i64, String) =
                    (row.get(0)?, row.get(1)?, row.get(2)?);
                database.connection.execute(
                    "INSERT OR IGNORE INTO draft (name, saved_ms, content) VALUES (?1, ?2, ?3)",
                    rusqlite::params![name, saved_ms, content],
                )?;
            }
            Ok(())
        });
    // A draft proves nothing and may be lost.
    drop(copied);
}

impl Database {
    fn count_records(&self) -> Result<u64> {
        let count: i64 = self
            .connection
            .query_row("SELECT count(*) FROM record", [], |row| row.get(0))
            .during("count records")?;
        Ok(count.unsigned_abs())
    }

    /// Hands out every stored item with its id.
    pub(super) fn each_item(
        &self,
        mut take: impl FnMut([u8; 32], &[u8]) -> Result<()>,
    ) -> Result<()> {
        let action = "read every record";
        let mut query = self
            .connection
            .prepare("SELECT id, item FROM record")
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        while let Some(row) = rows.next().during(action)? {
            let id = row.get(0).during(action)?;
            let item = row
                .get_ref(1)
                .and_then(|value| Ok(value.as_blob()?))
                .during(action)?;
            take(id, item)?;
        }
        Ok(())
    }
}

/// The first eight bytes of an id. Two records that share them by a trick only cost a closer look.
pub(super) fn short(id: RecordId) -> u64 {
    let mut first = [0; 8];
    first.copy_from_slice(&id.0[..8]);
    u64::from_be_bytes(first)
}

fn is_bundle_part(kind: u64) -> bool {
    use winze_sync_format::{KIND_BUNDLE_HEADER, KIND_BUNDLE_TRAILER};
    matches!(kind, KIND_BUNDLE_HEADER | KIND_BUNDLE_TRAILER)
}

/// How many threads check signatures.
pub(super) fn threads() -> usize {
    std::thread::available_parallelism().map_or(1, NonZero::get)
}
