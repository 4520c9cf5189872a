//! Reading which logs there are, how far each is held, and what an office has acknowledged.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{OptionalExtension, Row, params};
use winze_sync_format::{LogId, Opened, RecordId, RecordRef};

use super::Logbook;
use super::database::{Database, During};
use super::facts::{predecessor_in, stored_item};
use crate::Result;
use crate::query::{LogStanding, LogView, MergeRun};
use crate::record::{Kind, Role};

/// How safe an office has made a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Level {
    /// Committed there in both witnesses.
    Committed,
    /// Also in a backup of the office that was read back and checked.
    BackedUp,
}

impl Level {
    pub(super) const fn table(self) -> &'static str {
        match self {
            Self::Committed => "acknowledgement",
            Self::BackedUp => "backed_up",
        }
    }
}

impl Logbook {
    pub(crate) fn read_logs(&self) -> Result<Vec<LogView>> {
        let action = "read logs";
        let mut query = self
            .database
            .connection
            .prepare_cached(
                "SELECT l.n, t.role, t.name, t.reach, t.is_revoked FROM log l
                 LEFT JOIN trust t ON t.log = l.n
                 WHERE t.log IS NOT NULL OR EXISTS (SELECT 1 FROM record r WHERE r.log = l.n)
                 ORDER BY l.id",
            )
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        let mut logs = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            logs.push(self.log_in(row)?);
        }
        // Stable: equal names stay in order of id.
        logs.sort_by(|a: &LogView, b: &LogView| {
            let rank = |view: &LogView| view.standing != LogStanding::Own;
            (rank(a), &a.name).cmp(&(rank(b), &b.name))
        });
        Ok(logs)
    }

    fn log_in(&self, row: &Row<'_>) -> Result<LogView> {
        let action = "read a log";
        let number: i64 = row.get(0).during(action)?;
        let log = self.database.log(number)?;
        let granted: Option<String> = row.get(1).during(action)?;
        let name: Option<String> = row.get(2).during(action)?;
        let reach: Option<i64> = row.get(3).during(action)?;
        let is_revoked: Option<bool> = row.get(4).during(action)?;
        let claims = self.database.own_opened(log)?;
        let standing = match reach {
            _ if log == self.own.log => LogStanding::Own,
            None => LogStanding::Held,
            Some(reach) if is_revoked == Some(true) => LogStanding::Revoked {
                last_seq: u64::try_from(reach).ok(),
            },
            Some(_) => LogStanding::Counts,
        };
        let counts = self.database.counts_of(number, reach.unwrap_or(-1))?;
        let role = granted.as_deref().and_then(Role::from_code);
        Ok(LogView {
            log,
            words: log.words(),
            name: name
                .or(claims.as_ref().map(|own| own.label.clone()))
                .unwrap_or_default(),
            role: role.or(claims.map(|own| own.role)),
            standing,
            records: counts.records,
            readings: counts.readings,
            held: counts.held,
            whole_to: self.database.whole_tips(number)?.last().map(|tip| tip.seq),
            newest: counts.newest,
            acknowledged_to: self.database.acknowledged(log, Level::Committed)?,
            backed_up_to: self.database.acknowledged(log, Level::BackedUp)?,
            newest_ms: self.database.newest_ms(number)?,
            is_copied: counts.forks > 0,
        })
    }

    /// The last place of a log that this logbook has acknowledged, in its present log or a former one.
    pub(crate) fn acknowledged_by_us(&self, log: LogId) -> Result<Option<u64>> {
        let numbers = (
            self.database.find_number(log)?,
            self.database.find_number(self.own.log)?,
        );
        let (Some(target), Some(own)) = numbers else {
            return Ok(None);
        };
        let seq: Option<i64> = self
            .database
            .connection
            .prepare_cached(
                "SELECT max(to_seq) FROM acknowledgement WHERE target = ?1
                 AND (log = ?2 OR log IN (SELECT log FROM own_former))",
            )
            .and_then(|mut query| query.query_row([target, own], |row| row.get(0)))
            .during("read acknowledgements")?;
        Ok(seq.and_then(|seq| u64::try_from(seq).ok()))
    }

    /// Counts the records of the own log and of those it went on from that no office has acknowledged
    /// at this level.
    pub(crate) fn count_not_acknowledged(&self, level: Level) -> Result<u64> {
        let own = self.database.own_logs(&self.own)?;
        let mut total = 0;
        for log in own.former.iter().map(|(log, _)| *log).chain([own.log]) {
            let Some(number) = self.database.find_number(log)? else {
                continue;
            };
            let after = self.database.acknowledged(log, level)?;
            let after = after.map_or(-1, |seq| i64::try_from(seq).unwrap_or(i64::MAX));
            let count: i64 = self
                .database
                .connection
                .prepare_cached("SELECT count(*) FROM record WHERE log = ?1 AND seq > ?2")
                .and_then(|mut query| query.query_row([number, after], |row| row.get(0)))
                .during("count what the office lacks")?;
            total += count.unsigned_abs();
        }
        Ok(total)
    }

    /// The newest merge that brought anything.
    pub(crate) fn read_last_merge(&self) -> Result<Option<MergeRun>> {
        self.database
            .connection
            .prepare_cached(
                "SELECT finished_ms, bundles, new_records, new_readings FROM merge_run
                 ORDER BY n DESC LIMIT 1",
            )
            .and_then(|mut query| {
                query
                    .query_row([], |row| {
                        let count = |n| row.get::<_, i64>(n).map(i64::unsigned_abs);
                        Ok(MergeRun {
                            finished_ms: row.get(0)?,
                            bundles: count(1)?,
                            new_records: count(2)?,
                            new_readings: count(3)?,
                        })
                    })
                    .optional()
            })
            .during("read the last merge")
    }

    /// Counts the readings that count, and the records that were not understood.
    pub(crate) fn count_readings(&self) -> Result<(u64, u64)> {
        let count = |sql: &str| -> Result<u64> {
            let count: i64 = self
                .database
                .connection
                .prepare_cached(sql)
                .and_then(|mut query| query.query_row([], |row| row.get(0)))
                .during("count")?;
            Ok(count.unsigned_abs())
        };
        let readings = count(
            "SELECT (SELECT count(*) FROM reading r JOIN trust t ON t.log = r.log
                     AND r.seq <= t.reach)
                  - (SELECT count(*) FROM reading_state WHERE standing NOT IN ('counts', 'open'))",
        )?;
        Ok((readings, count("SELECT count(*) FROM not_understood")?))
    }
}

struct Counts {
    records: u64,
    readings: u64,
    held: u64,
    newest: Option<u64>,
    forks: u64,
}

impl Database {
    fn counts_of(&self, log: i64, reach: i64) -> Result<Counts> {
        let reading = Kind::Reading.number().cast_signed();
        self.connection
            .prepare_cached(
                "SELECT count(*), coalesce(sum(kind = ?2), 0)
                          - (SELECT count(*) FROM not_understood n WHERE n.log = ?1 AND n.kind = ?2),
                        coalesce(sum(seq > ?3), 0), max(seq),
                        (SELECT count(*) FROM fork f WHERE f.log = ?1)
                 FROM record WHERE log = ?1",
            )
            .and_then(|mut query| {
                query.query_row(params![log, reading, reach], |row| {
                    let count = |n| row.get::<_, i64>(n).map(i64::unsigned_abs);
                    Ok(Counts {
                        records: count(0)?,
                        readings: count(1)?,
                        held: count(2)?,
                        newest: row.get::<_, Option<i64>>(3)?.map(i64::unsigned_abs),
                        forks: count(4)?,
                    })
                })
            })
            .during("count a log")
    }

    fn newest_ms(&self, log: i64) -> Result<Option<i64>> {
        let item: Option<Vec<u8>> = self
            .connection
            .prepare_cached(
                "SELECT item FROM record WHERE log = ?1 AND kind <> 0
                 ORDER BY seq DESC, id DESC LIMIT 1",
            )
            .and_then(|mut query| query.query_row([log], |row| row.get(0)).optional())
            .during("read the newest record")?;
        let Some(item) = item else { return Ok(None) };
        Ok(match stored_item(&item)? {
            Opened::Record(record) => Some(record.record().clock.wall_ms),
            Opened::Newer(_) => None,
        })
    }

    /// The last place of a log that an office has acknowledged, by a record that is here: an
    /// acknowledgement of another branch of a copied log says nothing about this one.
    pub(super) fn acknowledged(&self, log: LogId, level: Level) -> Result<Option<u64>> {
        let Some(number) = self.find_number(log)? else {
            return Ok(None);
        };
        if self.is_copied(number)? {
            return self.arrived_on_every_branch(number, level.table());
        }
        let seq: Option<i64> = self
            .connection
            .prepare_cached(&format!(
                "SELECT max(a.to_seq) FROM {} a
                 JOIN trust t ON t.log = a.log AND a.seq <= t.reach
                 JOIN record r ON r.log = a.target AND r.seq = a.to_seq AND r.id = a.to_id
                 WHERE a.target = ?1 AND t.role = 'office'",
                level.table()
            ))
            .and_then(|mut query| query.query_row([number], |row| row.get(0)))
            .during("read acknowledgements")?;
        Ok(seq.and_then(|seq| u64::try_from(seq).ok()))
    }

    /// The last records of a log that are held without a gap from its first: one, or in a copied log
    /// one for each branch. Ascending; empty when the first record is not here.
    pub(super) fn whole_tips(&self, log: i64) -> Result<Vec<RecordRef>> {
        let forks: i64 = self
            .connection
            .prepare_cached("SELECT count(*) FROM fork WHERE log = ?1")
            .and_then(|mut query| query.query_row([log], |row| row.get(0)))
            .during("look for forks")?;
        if forks > 0 {
            self.walk_tips(log)
        } else {
            self.single_tip(log)
        }
    }

    fn single_tip(&self, log: i64) -> Result<Vec<RecordRef>> {
        // Without a fork each place holds one record, so counting finds the first gap. Where the first
        // record is not here nothing is whole, whatever follows it.
        let last: Option<i64> = self
            .connection
            .prepare_cached(
                "SELECT CASE WHEN count(*) = 0 THEN NULL
                   WHEN count(*) = max(seq) + 1 THEN max(seq) ELSE
                   (SELECT min(a.seq) FROM record a WHERE a.log = ?1 AND NOT EXISTS
                     (SELECT 1 FROM record b WHERE b.log = ?1 AND b.seq = a.seq + 1)) END
                 FROM record WHERE log = ?1 AND EXISTS
                   (SELECT 1 FROM record WHERE log = ?1 AND seq = 0)",
            )
            .and_then(|mut query| query.query_row([log], |row| row.get(0)))
            .during("look for gaps")?;
        let Some(seq) = last else {
            return Ok(Vec::new());
        };
        let id = self
            .connection
            .prepare_cached("SELECT id FROM record WHERE log = ?1 AND seq = ?2")
            .and_then(|mut query| query.query_row([log, seq], |row| row.get(0)))
            .during("read the last record")?;
        Ok(vec![self.reference(log, seq, id)?])
    }

    /// Follows the links of a copied log from its first record.
    fn walk_tips(&self, log: i64) -> Result<Vec<RecordRef>> {
        let action = "follow a log";
        let mut query = self
            .connection
            .prepare_cached("SELECT log, seq, id, item FROM record WHERE log = ?1 ORDER BY seq, id")
            .during(action)?;
        let mut rows = query.query([log]).during(action)?;
        let mut tips = BTreeSet::new();
        // Records of the last place reached, and of the place being read.
        let mut before: BTreeMap<RecordId, RecordRef> = BTreeMap::new();
        let mut here: BTreeMap<RecordId, RecordRef> = BTreeMap::new();
        let mut place = 0;
        while let Some(row) = rows.next().during(action)? {
            let at = self.reference_in(row)?;
            if at.seq != place {
                before = std::mem::take(&mut here);
                if before.is_empty() || at.seq != place + 1 {
                    break;
                }
                place = at.seq;
            }
            let prev = predecessor_in(row)?;
            let parent = prev.and_then(|prev| before.get(&prev));
            if at.seq == 0 || parent.is_some() {
                if let Some(parent) = parent {
                    tips.remove(parent);
                }
                tips.insert(at);
                here.insert(at.id, at);
            }
        }
        Ok(tips.into_iter().collect())
    }
}
