//! Reading the register.

use rusqlite::Row;
use winze_sync_format::{Opened, RecordRef};

use super::Logbook;
use super::database::{Database, During};
use super::read_readings::verdict_of;
use crate::merge::{RevisionFact, Standing, heads::heads};
use crate::query::{LastVisit, StationDetail, StationRow};
use crate::station::{Station, StationCode};
use crate::{Error, Result};

impl Logbook {
    pub(crate) fn read_stations(&self) -> Result<Vec<StationRow>> {
        let action = "read stations";
        let mut query = self
            .database
            .connection
            .prepare_cached(
                "SELECT log, seq, id, code, name, level, walk_order, disputed FROM station
                 ORDER BY walk_order, code",
            )
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        let mut stations = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            let code = code_in(row, 3)?;
            let last = self.last_visit(&code)?;
            stations.push(StationRow {
                revision: self.database.reference_in(row)?,
                name: row.get(4).during(action)?,
                level: row.get(5).during(action)?,
                order: row.get(6).during(action)?,
                is_disputed: row.get(7).during(action)?,
                last,
                code,
            });
        }
        Ok(stations)
    }

    /// The newest reading of a station that counts.
    pub(super) fn last_visit(&self, code: &StationCode) -> Result<Option<LastVisit>> {
        let action = "read the last reading";
        let mut query = self
            .database
            .connection
            .prepare_cached(
                "SELECT r.log, r.seq, r.id, r.taken_ms, r.worst, s.standing FROM reading r
                 JOIN trust t ON t.log = r.log AND r.seq <= t.reach JOIN log l ON l.n = r.log
                 LEFT JOIN reading_state s ON s.log = r.log AND s.seq = r.seq AND s.id = r.id
                 WHERE r.station = ?1 AND coalesce(s.standing, 'counts') IN ('counts', 'open')
                 ORDER BY r.taken_ms DESC, l.id DESC, r.seq DESC, r.id DESC LIMIT 1",
            )
            .during(action)?;
        let mut rows = query.query([code.as_str()]).during(action)?;
        let Some(row) = rows.next().during(action)? else {
            return Ok(None);
        };
        let standing: Option<String> = row.get(5).during(action)?;
        let is_open = standing.as_deref() == Some(Standing::Open.code());
        Ok(Some(LastVisit {
            at: self.database.reference_in(row)?,
            taken_ms: row.get(3).during(action)?,
            worst: verdict_of(row.get(4).during(action)?),
            standing: if is_open {
                Standing::Open
            } else {
                Standing::Counts
            },
        }))
    }

    pub(crate) fn read_station(&self, code: &StationCode) -> Result<Option<StationDetail>> {
        let action = "read a station";
        let mut query = self
            .database
            .connection
            .prepare_cached("SELECT log, seq, id, disputed FROM station WHERE code = ?1")
            .during(action)?;
        let mut rows = query.query([code.as_str()]).during(action)?;
        let Some(row) = rows.next().during(action)? else {
            return Ok(None);
        };
        let revision = self.database.reference_in(row)?;
        let is_disputed = row.get(3).during(action)?;
        let Some(Opened::Record(record)) = self.database.find_item(revision)? else {
            return Err(Error::UnknownRecord { at: revision });
        };
        Ok(Some(StationDetail {
            definition: self.read_definition(revision)?,
            revision,
            revised_ms: record.record().clock.wall_ms,
            revised_by: record.record().person.clone(),
            is_disputed,
            revisions: self.database.count_counted("revision", code)?,
            readings: self.database.count_counted("reading", code)?,
        }))
    }

    pub(crate) fn read_definition(&self, at: RecordRef) -> Result<Station> {
        self.database
            .find_definition(at)?
            .ok_or(Error::UnknownRecord { at })
    }

    /// The definitions of a station that count, with those they replace.
    pub(crate) fn read_revisions(&self, code: &StationCode) -> Result<Vec<RevisionFact>> {
        self.database.revision_facts(code)
    }

    /// The definitions of a station that nobody replaced.
    pub(crate) fn revision_heads(&self, code: &StationCode) -> Result<Vec<RecordRef>> {
        let facts = self.database.revision_facts(code)?;
        let top = heads(facts.iter().map(|fact| (fact.at, &fact.replaces[..])));
        Ok(top.into_iter().map(|n| facts[n].at).collect())
    }
}

impl Database {
    pub(super) fn count_counted(&self, table: &'static str, code: &StationCode) -> Result<usize> {
        let count: i64 = self
            .connection
            .prepare_cached(&format!(
                "SELECT count(*) FROM {table} r JOIN trust t ON t.log = r.log AND r.seq <= t.reach
                 WHERE r.station = ?1"
            ))
            .and_then(|mut query| query.query_row([code.as_str()], |row| row.get(0)))
            .during("count")?;
        Ok(usize::try_from(count).unwrap_or(0))
    }
}

/// The station code in a column.
pub(super) fn code_in(row: &Row<'_>, column: usize) -> Result<StationCode> {
    let text: String = row.get(column).during("read a station code")?;
    StationCode::parse(&text).map_err(|_| Error::DatabaseContent {
        what: "not a station code",
    })
}
