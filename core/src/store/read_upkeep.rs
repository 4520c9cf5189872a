//! Reading what upkeep is worked out from: jobs, tasks noted as done, and since when a station is
//! read.

use std::collections::BTreeMap;

use winze_sync_format::{LogId, SignedRecord};

use super::Logbook;
use super::database::{Database, During};
use super::read_stations::code_in;
use crate::Result;
use crate::record::{Body, Kind, SkipReason};
use crate::station::StationCode;

impl Logbook {
    /// The records of a kind that count, in no particular order. For kinds without a table of their
    /// own.
    pub(crate) fn read_counted_of_kind(&self, kind: Kind) -> Result<Vec<(SignedRecord, Body)>> {
        self.database.counted_of_kind(kind)
    }

    /// When the oldest reading of a station that counts was taken, milliseconds since 1970, with the
    /// offset from UTC where known.
    pub(crate) fn first_visit_ms(&self, code: &StationCode) -> Result<Option<i64>> {
        use rusqlite::OptionalExtension;
        self.database
            .connection
            .prepare_cached(
                "SELECT r.taken_ms FROM reading r JOIN trust t ON t.log = r.log AND r.seq <= t.reach
                 LEFT JOIN reading_state s ON s.log = r.log AND s.seq = r.seq AND s.id = r.id
                 WHERE r.station = ?1 AND coalesce(s.standing, 'counts') IN ('counts', 'open')
                 ORDER BY r.taken_ms LIMIT 1",
            )
            .and_then(|mut query| query.query_row([code.as_str()], |row| row.get(0)).optional())
            .during("read the oldest reading")
    }

    /// When each station was last passed by, milliseconds since 1970, and why.
    pub(crate) fn last_passed_by(&self) -> Result<BTreeMap<StationCode, (i64, SkipReason)>> {
        let action = "read stations passed by";
        let mut query = self
            .database
            .connection
            .prepare_cached(
                "SELECT k.station, k.wall_ms, k.reason FROM skipped k
                 JOIN trust t ON t.log = k.log AND k.seq <= t.reach JOIN log l ON l.n = k.log
                 ORDER BY k.wall_ms, l.id, k.seq, k.id",
            )
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        let mut last = BTreeMap::new();
        while let Some(row) = rows.next().during(action)? {
            let reason: String = row.get(2).during(action)?;
            if let Some(reason) = SkipReason::from_code(&reason) {
                last.insert(code_in(row, 0)?, (row.get(1).during(action)?, reason));
            }
        }
        Ok(last)
    }

    /// How many readings and definitions of a station count.
    pub(crate) fn count_about(&self, code: &StationCode) -> Result<u64> {
        let readings = self.database.count_counted("reading", code)?;
        let revisions = self.database.count_counted("revision", code)?;
        Ok(readings as u64 + revisions as u64)
    }

    /// The log that stands for the site: of the offices that count the first by name, else the own.
    pub(crate) fn site_log(&self) -> Result<LogId> {
        let first: Option<[u8; 32]> = self
            .database
            .connection
            .prepare_cached(
                "SELECT min(l.id) FROM trust t JOIN log l ON l.n = t.log WHERE t.role = 'office'",
            )
            .and_then(|mut query| query.query_row([], |row| row.get(0)))
            .during("find the office")?;
        Ok(first.map_or(self.own.log, LogId))
    }
}

impl Database {
    fn counted_of_kind(&self, kind: Kind) -> Result<Vec<(SignedRecord, Body)>> {
        self.counted_records(
            "SELECT c.item FROM record c JOIN trust t ON t.log = c.log AND c.seq <= t.reach
             WHERE c.kind = ?1 AND c.kind > 41 AND c.kind <> 50 AND c.kind <> 51",
            [kind.number().cast_signed()],
        )
    }
}
