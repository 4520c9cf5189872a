//! How much of logs that do not count is taken in: a stick full of strangers' records must not fill
//! the disk. Whatever counts has no limit.
//!
//! What is left aside stays in its bundle, is never acknowledged, and comes in by another merge once
//! its log is enrolled.

use std::collections::HashMap;

use rusqlite::{OptionalExtension, params};
use winze_sync_format::{LogId, Opened};

use super::Logbook;
use super::database::{Database, During};
use crate::Result;

/// How many bytes of signed items are kept that do not count: of logs that nobody enrolled, and of a
/// revoked log beyond its last number that counts. Segments and database together take up to three
/// times as much room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quota {
    /// Of any one log, in bytes: about 350,000 readings where nothing else is said.
    pub log_bytes: u64,
    /// Of all such logs together, in bytes.
    pub total_bytes: u64,
}

impl Quota {
    /// No limit: for what was kept here before.
    pub(super) const NONE: Self = Self {
        log_bytes: u64::MAX,
        total_bytes: u64::MAX,
    };
}

impl Default for Quota {
    fn default() -> Self {
        Self {
            log_bytes: 64 * 1024 * 1024,
            total_bytes: 256 * 1024 * 1024,
        }
    }
}

impl Logbook {
    /// Sets how much is taken in that does not count; what is here already stays.
    pub fn set_quota(&mut self, quota: Quota) {
        self.quota = quota;
    }

    /// How much is taken in that does not count.
    #[must_use]
    pub fn quota(&self) -> Quota {
        self.quota
    }

    /// Whether a record at this place of a log would count.
    pub(crate) fn covers(&self, log: LogId, seq: u64) -> Result<bool> {
        let reach = self.database.reach(log)?;
        Ok(reach.is_some_and(|reach| seq <= reach))
    }
}

/// The room that is left, during one merge. Who counts is looked up once for each log, as it is
/// worked out anew only after a merge.
#[derive(Default)]
pub(super) struct Room {
    quota: Quota,
    /// The reach of logs that count.
    reach: HashMap<LogId, u64>,
    /// Bytes of records that do not count, by log. It holds only logs of which something is kept, so
    /// the quota bounds it too.
    used: HashMap<LogId, u64>,
    total: Option<u64>,
}

impl Room {
    pub(super) fn of(quota: Quota) -> Self {
        Self {
            quota,
            ..Self::default()
        }
    }

    /// Takes the room for an item, and says whether there was some.
    pub(super) fn take(&mut self, database: &Database, opened: &Opened) -> Result<bool> {
        let at = opened.reference();
        if self
            .reach
            .get(&at.log)
            .is_some_and(|reach| at.seq <= *reach)
        {
            return Ok(true);
        }
        let is_looked_up = self.reach.contains_key(&at.log) || self.used.contains_key(&at.log);
        if !is_looked_up && let Some(reach) = database.reach(at.log)? {
            self.reach.insert(at.log, reach);
            if at.seq <= reach {
                return Ok(true);
            }
        }
        let total = match self.total {
            Some(total) => total,
            None => database.bytes_that_do_not_count()?,
        };
        let used = match self.used.get(&at.log) {
            Some(used) => *used,
            None => database.bytes_beyond(at.log, self.reach.get(&at.log).copied())?,
        };
        let bytes = opened.item().len() as u64;
        let has_room = used.saturating_add(bytes) <= self.quota.log_bytes
            && total.saturating_add(bytes) <= self.quota.total_bytes;
        self.total = Some(total + if has_room { bytes } else { 0 });
        if has_room {
            self.used.insert(at.log, used + bytes);
        }
        Ok(has_room)
    }
}

impl Database {
    /// The last sequence number of a log that counts; none when nothing of it does.
    pub(super) fn reach(&self, log: LogId) -> Result<Option<u64>> {
        let Some(number) = self.find_number(log)? else {
            return Ok(None);
        };
        let reach: Option<i64> = self
            .connection
            .prepare_cached("SELECT reach FROM trust WHERE log = ?1")
            .and_then(|mut query| query.query_row([number], |row| row.get(0)).optional())
            .during("read how far a log counts")?;
        Ok(reach.and_then(|reach| u64::try_from(reach).ok()))
    }

    /// Bytes of the items of a log that lie beyond what counts.
    fn bytes_beyond(&self, log: LogId, reach: Option<u64>) -> Result<u64> {
        let Some(number) = self.find_number(log)? else {
            return Ok(0);
        };
        let reach = reach.map_or(-1, |reach| i64::try_from(reach).unwrap_or(i64::MAX));
        let bytes: i64 = self
            .connection
            .prepare_cached(
                "SELECT coalesce(sum(length(item)), 0) FROM record WHERE log = ?1 AND seq > ?2",
            )
            .and_then(|mut query| query.query_row(params![number, reach], |row| row.get(0)))
            .during("measure what a log holds")?;
        Ok(bytes.unsigned_abs())
    }

    fn bytes_that_do_not_count(&self) -> Result<u64> {
        // Log by log, so that the records that count are not even looked at.
        let bytes: i64 = self
            .connection
            .prepare_cached(
                "SELECT coalesce(sum((SELECT coalesce(sum(length(r.item)), 0) FROM record r
                   WHERE r.log = l.n AND r.seq > coalesce(t.reach, -1))), 0)
                 FROM log l LEFT JOIN trust t ON t.log = l.n",
            )
            .and_then(|mut query| query.query_row([], |row| row.get(0)))
            .during("measure what does not count")?;
        Ok(bytes.unsigned_abs())
    }
}
