//! Reading readings, with how each stands.

use rusqlite::{OptionalExtension, Row, params};
use winze_sync_format::{Opened, RecordRef};

use super::Logbook;
use super::database::{Database, During};
use super::facts::stored_item;
use crate::merge::heads::heads;
use crate::merge::{ReadingState, Standing};
use crate::query::Visit;
use crate::record::{Body, Source};
use crate::station::StationCode;
use crate::verdict::Verdict;
use crate::{Error, Result};

/// The columns from which a visit is made. A held log has no name here.
const VISIT: &str = "SELECT r.log, r.seq, r.id, t.name, (t.log IS NULL OR r.seq > t.reach),
        s.standing, s.other, s.corrected, s.disputed, c.item
 FROM reading r
 JOIN record c ON c.log = r.log AND c.seq = r.seq AND c.id = r.id
 LEFT JOIN trust t ON t.log = r.log
 LEFT JOIN reading_state s ON s.log = r.log AND s.seq = r.seq AND s.id = r.id";

impl Logbook {
    pub(crate) fn read_visits(
        &self,
        code: &StationCode,
        from_ms: i64,
        to_ms: i64,
        limit: Option<usize>,
    ) -> Result<Vec<Visit>> {
        let limit = limit.map_or(-1, |limit| i64::try_from(limit).unwrap_or(i64::MAX));
        self.database.visits(
            &format!(
                "{VISIT} JOIN log l ON l.n = r.log
                 WHERE r.station = ?1 AND r.taken_ms >= ?2 AND r.taken_ms < ?3
                 ORDER BY r.taken_ms DESC, l.id DESC, r.seq DESC, r.id DESC LIMIT ?4"
            ),
            params![code.as_str(), from_ms, to_ms, limit],
        )
    }

    pub(crate) fn read_counted_visits(
        &self,
        code: &StationCode,
        limit: usize,
    ) -> Result<Vec<Visit>> {
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        self.database.visits(
            &format!(
                "{VISIT} JOIN log l ON l.n = r.log
                 WHERE r.station = ?1 AND r.seq <= t.reach
                   AND coalesce(s.standing, 'counts') IN ('counts', 'open')
                 ORDER BY r.taken_ms DESC, l.id DESC, r.seq DESC, r.id DESC LIMIT ?2"
            ),
            params![code.as_str(), limit],
        )
    }

    pub(crate) fn read_visit(&self, at: RecordRef) -> Result<Visit> {
        let Some(Opened::Record(record)) = self.database.find_item(at)? else {
            return Err(Error::UnknownRecord { at });
        };
        let Ok(Body::Reading(reading)) = Body::decode(record.kind(), record.body()) else {
            return Err(Error::NotAReading { at });
        };
        let shown_ms = reading.taken_ms(record.record().clock.wall_ms);
        let taken_ms = match reading.source {
            Source::OnTheSpot => self.database.made_ms(at, shown_ms)?,
            Source::Sheet { .. } => shown_ms,
        };
        let (log, seq, id) = self.database.stored(at)?;
        let visits = self.database.visits(
            &format!(
                "{VISIT} WHERE r.station = ?1 AND r.taken_ms = ?2 AND r.log = ?3 AND r.seq = ?4
                   AND r.id = ?5"
            ),
            params![reading.station.as_str(), taken_ms, log, seq, &id[..]],
        )?;
        visits.into_iter().next().ok_or(Error::UnknownRecord { at })
    }

    /// The readings that the newest merge brought and that count, newest first.
    pub(crate) fn read_arrived(&self) -> Result<Vec<Visit>> {
        self.database.visits(
            &format!(
                "{VISIT} JOIN log l ON l.n = r.log
                 JOIN arrived a ON a.log = r.log AND a.seq = r.seq AND a.id = r.id
                 WHERE r.seq <= t.reach
                 ORDER BY r.taken_ms DESC, l.id DESC, r.seq DESC, r.id DESC"
            ),
            [],
        )
    }

    pub(crate) fn own_reading_with_nonce(
        &self,
        code: &StationCode,
        nonce: [u8; 8],
    ) -> Result<Option<RecordRef>> {
        let found: Option<(i64, i64, [u8; 32])> = self
            .database
            .connection
            .prepare_cached(
                "SELECT log, seq, id FROM reading
                 WHERE station = ?1 AND nonce = ?3 AND row_digest IS NULL
                   AND (log = ?2 OR log IN (SELECT log FROM own_former))
                 ORDER BY log, seq, id LIMIT 1",
            )
            .and_then(|mut query| {
                let own = self.database.find_number(self.own.log).ok().flatten();
                query
                    .query_row(params![code.as_str(), own, &nonce[..]], |row| {
                        Ok((row.get(0)?, row.get(1)?, row.get(2)?))
                    })
                    .optional()
            })
            .during("look for the same entry")?;
        found
            .map(|(log, seq, id)| self.database.reference(log, seq, id))
            .transpose()
    }

    pub(crate) fn has_sheet_row(
        &self,
        code: &StationCode,
        taken_ms: i64,
        digest: [u8; 32],
    ) -> Result<bool> {
        self.database
            .connection
            .prepare_cached(
                "SELECT 1 FROM reading r JOIN trust t ON t.log = r.log AND r.seq <= t.reach
                 WHERE r.station = ?1 AND r.taken_ms = ?2 AND r.row_digest = ?3",
            )
            .and_then(|mut query| query.exists(params![code.as_str(), taken_ms, &digest[..]]))
            .during("look for a row")
    }

    /// The corrections of a reading that nobody replaced.
    pub(crate) fn correction_heads(
        &self,
        code: &StationCode,
        reading: RecordRef,
    ) -> Result<Vec<RecordRef>> {
        let mut facts = self.database.correction_facts(code)?;
        facts.retain(|fact| fact.reading == reading);
        let top = heads(facts.iter().map(|fact| (fact.at, &fact.replaces[..])));
        Ok(top.into_iter().map(|n| facts[n].at).collect())
    }
}

impl Database {
    fn visits(&self, sql: &str, values: impl rusqlite::Params) -> Result<Vec<Visit>> {
        let action = "read readings";
        let mut query = self.connection.prepare_cached(sql).during(action)?;
        let mut rows = query.query(values).during(action)?;
        let mut visits = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            if let Some(visit) = self.visit_in(row)? {
                visits.push(visit);
            }
        }
        Ok(visits)
    }

    fn visit_in(&self, row: &Row<'_>) -> Result<Option<Visit>> {
        let action = "read a reading";
        let item = row
            .get_ref(9)
            .and_then(|value| Ok(value.as_blob()?))
            .during(action)?;
        let Opened::Record(record) = stored_item(item)? else {
            return Ok(None);
        };
        let Body::Reading(reading) = Body::decode(record.kind(), record.body())? else {
            return Ok(None);
        };
        let reading = *reading;
        let state = state_in(row, 5)?.unwrap_or_default();
        let correction = match state.corrected_by {
            Some(at) => self.find_correction(at)?,
            None => None,
        };
        let shown_ms = reading.taken_ms(record.record().clock.wall_ms);
        let time = match reading.source {
            Source::OnTheSpot => self.time_of(record.reference())?,
            Source::Sheet { .. } => None,
        };
        let taken_ms = time.map_or(shown_ms, |time| time.corrected_ms);
        let (entry, first_entry, shown) = match correction {
            Some((entry, shown)) => (entry, Some(reading.entry), shown),
            None => (reading.entry, None, reading.shown),
        };
        Ok(Some(Visit {
            at: record.reference(),
            station: reading.station,
            taken_ms,
            time,
            utc_offset_minutes: reading.utc_offset_minutes,
            by: record.record().person.clone(),
            log: record.log(),
            log_name: row
                .get::<_, Option<String>>(3)
                .during(action)?
                .unwrap_or_default(),
            entry,
            first_entry,
            shown,
            revision: reading.revision,
            round: reading.round,
            ticks: reading.ticks,
            note: reading.note,
            doubts: reading.doubts,
            source: reading.source,
            is_held: row.get(4).during(action)?,
            state,
        }))
    }

    pub(super) fn find_correction(
        &self,
        at: RecordRef,
    ) -> Result<Option<(crate::verdict::Entry, crate::record::Shown)>> {
        let Some(Opened::Record(record)) = self.find_item(at)? else {
            return Ok(None);
        };
        match Body::decode(record.kind(), record.body()) {
            Ok(Body::Correction(correction)) => Ok(Some((correction.entry, correction.shown))),
            _ => Ok(None),
        }
    }
}

/// The state of a reading in four columns from `first` on: standing, other, corrected, disputed.
/// None when the reading plainly counts.
pub(super) fn state_in(row: &Row<'_>, first: usize) -> Result<Option<ReadingState>> {
    let action = "read how a reading stands";
    let Some(code) = row.get::<_, Option<String>>(first).during(action)? else {
        return Ok(None);
    };
    let reference = |column: usize| -> Result<Option<RecordRef>> {
        let text: Option<String> = row.get(column).during(action)?;
        Ok(text.and_then(|text| text.parse().ok()))
    };
    let standing = match (code.as_str(), reference(first + 1)?) {
        ("counts", _) => Standing::Counts,
        ("open", _) => Standing::Open,
        ("repeats", Some(other)) => Standing::Repeats(other),
        ("set-aside", Some(other)) => Standing::SetAside(other),
        ("void", Some(other)) => Standing::Void(other),
        _ => {
            return Err(Error::DatabaseContent {
                what: "unknown standing of a reading",
            });
        }
    };
    Ok(Some(ReadingState {
        standing,
        corrected_by: reference(first + 2)?,
        correction_disputed: row.get(first + 3).during(action)?,
    }))
}

/// The verdict kept under a number.
pub(super) fn verdict_of(number: Option<i64>) -> Option<Verdict> {
    number.and_then(|number| Verdict::from_number(u64::try_from(number).ok()?))
}
