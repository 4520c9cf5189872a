//! Choosing what goes into a bundle and handing it over in order, a few hundred records at a time.

use std::ops::ControlFlow;
use std::path::Path;

use rusqlite::params;
use winze_sync_format::bundle::{self, BundlePlan, RangeSet, write_bundle};
use winze_sync_format::{LogId, RecordId, RecordRef};

use super::Logbook;
use super::confirm::nonce_of;
use super::database::{Database, During};
use super::read_logs::Level;
use crate::actions::{OnProgress, PackFor, Packed, Progress, Stage};
use crate::record::{Acknowledgement, Body};
use crate::store::NewRecord;
use crate::{Error, Result};

/// Records read from the database at a time:
/// few enough that so many pieces of pictures are no burden.
const CHUNK: i64 = 128;

/// Entries of the list of what the receiver is believed to hold that a bundle has room for.
const FRONTIER_MAX: usize = 512;

/// Readings of each station that tablets are sent: a year and a half of weekly rounds. With them a
/// tablet judges slow change at the station; all of ten years would fill the stick each week.
const RECENT_READINGS: i64 = 78;

/// What the tablets need of a log: definitions, upkeep, procedures, answers and what says who
/// counts, the recent readings with all that was done about them, but of acknowledgements only the
/// newest of each log (of a copied log all: each is for another branch). Rounds, skips and pictures
/// stay where they are.
const FOR_TABLETS: &str = "r.kind NOT IN (30, 31, 32, 53, 54)
  AND (r.kind <> 40 OR EXISTS (SELECT 1 FROM temp.recent n
    WHERE n.log = r.log AND n.seq = r.seq AND n.id = r.id))
  AND (r.kind <> 51 OR NOT EXISTS
   (SELECT 1 FROM acknowledgement a JOIN acknowledgement b
      ON b.target = a.target AND b.log = a.log AND b.seq > a.seq
    WHERE a.log = r.log AND a.seq = r.seq AND a.id = r.id
      AND NOT EXISTS (SELECT 1 FROM fork f WHERE f.log = a.target)))
  AND (r.kind <> 52 OR NOT EXISTS
   (SELECT 1 FROM backed_up a JOIN backed_up b
      ON b.target = a.target AND b.log = a.log AND b.seq > a.seq
    WHERE a.log = r.log AND a.seq = r.seq AND a.id = r.id
      AND NOT EXISTS (SELECT 1 FROM fork f WHERE f.log = a.target)))";

/// A part of one log that goes into a bundle.
#[derive(Debug, Clone, Copy)]
struct Part {
    log: i64,
    /// Records after this sequence number; -1 for all.
    after: i64,
    /// Records up to this sequence number.
    to: i64,
    filter: &'static str,
}

impl Logbook {
    /// Writes a bundle of what is chosen for a receiver.
    pub(crate) fn write_bundle_for(
        &mut self,
        folder: &Path,
        to: PackFor,
        by: &str,
        progress: &mut OnProgress<'_>,
    ) -> Result<Packed> {
        let (parts, frontier) = self.parts_for(to)?;
        let (mut ranges, mut records) = (RangeSet::new(), 0);
        for part in &parts {
            self.database.each_place(part, |log, seq| {
                ranges.insert(log, seq);
                records += 1;
            })?;
        }
        if records == 0 {
            return Err(Error::NothingToPack);
        }
        let clock = self.clock.now();
        let plan = BundlePlan {
            label: self.own.label.clone(),
            person: by.to_owned(),
            clock,
            nonce: nonce_of(&self.head, &clock),
            ranges,
            records,
            frontier,
        };
        let mut report = |at: bundle::Progress| {
            let (stage, done, total) = match at.stage {
                bundle::Stage::Writing => (Stage::Writing, at.records, Some(records)),
                bundle::Stage::ReadingBack => (Stage::ReadingBack, at.bytes, None),
            };
            if progress(Progress { stage, done, total }) {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(())
            }
        };
        let items = Items::new(&self.database, parts);
        let disk = self.segments.disk();
        let written = write_bundle(disk, folder, &self.key, &plan, items, &mut report)?;
        Ok(Packed {
            path: written.path,
            bytes: written.bytes,
            records: written.records,
            sha256: written.sha256,
        })
    }

    /// What to pack, in ascending order of logs, and what the receiver is believed to hold.
    fn parts_for(&self, to: PackFor) -> Result<(Vec<Part>, Vec<RecordRef>)> {
        let (mut parts, mut frontier) = (Vec::new(), Vec::new());
        let offices = self.database.counted_offices()?;
        if to == PackFor::Tablets {
            self.database.note_recent_readings()?;
        }
        for (number, log, reach) in self.database.logs_with_records()? {
            let mut part = Part {
                log: number,
                after: -1,
                to: i64::MAX,
                filter: "1",
            };
            match to {
                PackFor::Everything => {}
                PackFor::Tablets => {
                    let Some(reach) = reach else { continue };
                    part.to = reach;
                    part.filter = FOR_TABLETS;
                }
                PackFor::Office | PackFor::OfficeBackup => {
                    // A single office has its own records already.
                    if offices == [number] {
                        continue;
                    }
                    let level = match to {
                        PackFor::OfficeBackup => Level::BackedUp,
                        _ => Level::Committed,
                    };
                    if let Some(seq) = self.database.acknowledged(log, level)? {
                        part.after = i64::try_from(seq).unwrap_or(i64::MAX);
                        frontier.extend(self.database.record_at(number, seq)?);
                    }
                }
            }
            parts.push(part);
        }
        frontier.truncate(FRONTIER_MAX);
        Ok((parts, frontier))
    }

    /// Acknowledgements of a level that this logbook can give and has not given. Of the second level
    /// only right after everything here was found in a backup.
    ///
    /// New acknowledgements alone need none: two offices would thank each other for ever.
    pub(crate) fn due_acknowledgements(&self, level: Level, by: &str) -> Result<Vec<NewRecord>> {
        let mut due = Vec::new();
        for (number, log, _) in self.database.logs_with_records()? {
            if log == self.own.log {
                continue;
            }
            for tip in self.database.whole_tips(number)? {
                let is_due = !self.database.has_acknowledged(self.own.log, tip, level)?
                    && self.database.is_there_more(self.own.log, tip, level)?;
                if is_due {
                    let body = Acknowledgement {
                        log,
                        seq: tip.seq,
                        id: tip.id,
                    };
                    let body = match level {
                        Level::Committed => Body::Acknowledgement(body),
                        Level::BackedUp => Body::BackedUp(body),
                    };
                    due.push(NewRecord::new(body, by));
                }
            }
        }
        Ok(due)
    }
}

impl Database {
    /// Every log of which a record is here, in ascending order, with how far it counts.
    fn logs_with_records(&self) -> Result<Vec<(i64, LogId, Option<i64>)>> {
        self.connection
            .prepare_cached(
                "SELECT l.n, l.id, t.reach FROM log l LEFT JOIN trust t ON t.log = l.n
                 WHERE EXISTS (SELECT 1 FROM record r WHERE r.log = l.n) ORDER BY l.id",
            )
            .and_then(|mut query| {
                query
                    .query_map([], |row| Ok((row.get(0)?, LogId(row.get(1)?), row.get(2)?)))?
                    .collect()
            })
            .during("list logs")
    }

    fn counted_offices(&self) -> Result<Vec<i64>> {
        self.connection
            .prepare_cached("SELECT log FROM trust WHERE role = 'office' ORDER BY log")
            .and_then(|mut query| query.query_map([], |row| row.get(0))?.collect())
            .during("list offices")
    }

    fn record_at(&self, log: i64, seq: u64) -> Result<Option<RecordRef>> {
        use rusqlite::OptionalExtension;
        let id: Option<[u8; 32]> = self
            .connection
            .prepare_cached("SELECT id FROM record WHERE log = ?1 AND seq = ?2 ORDER BY id LIMIT 1")
            .and_then(|mut query| {
                query
                    .query_row(params![log, seq.cast_signed()], |row| row.get(0))
                    .optional()
            })
            .during("read a place")?;
        id.map(|id| {
            Ok(RecordRef {
                log: self.log(log)?,
                seq,
                id: RecordId(id),
            })
        })
        .transpose()
    }

    fn has_acknowledged(&self, by: LogId, tip: RecordRef, level: Level) -> Result<bool> {
        let (target, seq, id) = self.stored_if_known(tip)?;
        let by = self.find_number(by)?;
        self.connection
            .prepare_cached(&format!(
                "SELECT 1 FROM {}
                 WHERE target = ?1 AND log = ?2 AND to_seq = ?3 AND to_id = ?4",
                level.table()
            ))
            .and_then(|mut query| query.exists(params![target, by, seq, &id[..]]))
            .during("look for an acknowledgement")
    }

    /// Whether anything but acknowledgements came to a log since its last one of a level; of a copied
    /// log always, as each branch needs its own.
    fn is_there_more(&self, by: LogId, tip: RecordRef, level: Level) -> Result<bool> {
        let (target, seq, _) = self.stored_if_known(tip)?;
        let by = self.find_number(by)?;
        self.connection
            .prepare_cached(&format!(
                "SELECT 1 FROM record WHERE log = ?1 AND seq <= ?3 AND kind NOT IN (51, 52)
                   AND seq > coalesce((SELECT max(to_seq) FROM {} WHERE target = ?1 AND log = ?2), -1)
                 UNION ALL SELECT 1 FROM fork WHERE log = ?1",
                level.table()
            ))
            .and_then(|mut query| query.exists(params![target, by, seq]))
            .during("look for what is new in a log")
    }

    /// Notes which readings are recent, for [`FOR_TABLETS`]: the newest of each station, so that one
    /// wrong clock does not hide the readings of all others.
    fn note_recent_readings(&self) -> Result<()> {
        self.connection
            .execute_batch(&format!(
                "CREATE TEMP TABLE IF NOT EXISTS recent (
                   log INTEGER NOT NULL, seq INTEGER NOT NULL, id BLOB NOT NULL,
                   PRIMARY KEY (log, seq, id)) WITHOUT ROWID;
                 DELETE FROM temp.recent;
                 INSERT INTO temp.recent SELECT log, seq, id FROM (
                   SELECT log, seq, id, row_number() OVER (
                     PARTITION BY station ORDER BY taken_ms DESC, log, seq, id) AS place
                   FROM reading) WHERE place <= {RECENT_READINGS};"
            ))
            .during("note recent readings")
    }

    fn each_place(&self, part: &Part, mut take: impl FnMut(LogId, u64)) -> Result<()> {
        let action = "choose records";
        let log = self.log(part.log)?;
        let mut query = self
            .connection
            .prepare_cached(&format!(
                "SELECT r.seq FROM record r WHERE r.log = ?1 AND r.seq > ?2 AND r.seq <= ?3
                 AND {} ORDER BY r.seq",
                part.filter
            ))
            .during(action)?;
        let mut rows = query
            .query(params![part.log, part.after, part.to])
            .during(action)?;
        while let Some(row) = rows.next().during(action)? {
            take(log, row.get::<_, i64>(0).during(action)?.unsigned_abs());
        }
        Ok(())
    }

    /// The next items of a part behind a place.
    fn next_items(&self, part: &Part, seq: i64, id: &[u8; 32]) -> Result<Vec<Row>> {
        self.connection
            .prepare_cached(&format!(
                "SELECT r.seq, r.id, r.item FROM record r
                 WHERE r.log = ?1 AND (r.seq, r.id) > (?2, ?3) AND r.seq > ?4 AND r.seq <= ?5
                 AND {} ORDER BY r.seq, r.id LIMIT {CHUNK}",
                part.filter
            ))
            .and_then(|mut query| {
                query
                    .query_map(
                        params![part.log, seq, &id[..], part.after, part.to],
                        |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
                    )?
                    .collect()
            })
            .during("read records to pack")
    }
}

/// Place, id and item of one record.
type Row = (i64, [u8; 32], Vec<u8>);

/// The items of all parts in order.
struct Items<'a> {
    database: &'a Database,
    parts: std::vec::IntoIter<Part>,
    part: Option<Part>,
    behind: (i64, [u8; 32]),
    ready: std::vec::IntoIter<Row>,
}

impl<'a> Items<'a> {
    fn new(database: &'a Database, parts: Vec<Part>) -> Self {
        let (parts, ready) = (parts.into_iter(), Vec::new().into_iter());
        Self {
            database,
            parts,
            part: None,
            behind: (-1, [0; 32]),
            ready,
        }
    }

    fn advance(&mut self) -> Result<Option<Vec<u8>>> {
        loop {
            if let Some((seq, id, item)) = self.ready.next() {
                self.behind = (seq, id);
                return Ok(Some(item));
            }
            if let Some(part) = self.part {
                let rows = self
                    .database
                    .next_items(&part, self.behind.0, &self.behind.1)?;
                if !rows.is_empty() {
                    self.ready = rows.into_iter();
                    continue;
                }
            }
            let Some(next) = self.parts.next() else {
                return Ok(None);
            };
            self.part = Some(next);
            self.behind = (-1, [0; 32]);
        }
    }
}

impl Iterator for Items<'_> {
    type Item = Result<Vec<u8>>;

    fn next(&mut self) -> Option<Result<Vec<u8>>> {
        self.advance().transpose()
    }
}
