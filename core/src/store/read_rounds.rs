//! Reading walk-rounds and their progress.

use std::collections::BTreeMap;

use rusqlite::{OptionalExtension, params};
use winze_sync_format::{Opened, RecordRef, SignedRecord};

use super::Logbook;
use super::database::{Database, During};
use super::read_readings::verdict_of;
use super::read_stations::code_in;
use crate::query::{RoundView, Stop, StopState};
use crate::record::{Body, Kind, RoundOpened, SkipReason, StationSkipped};
use crate::station::StationCode;
use crate::{Error, Result};

impl Logbook {
    /// The open round of the own log; of several, the newest.
    pub(crate) fn own_open_round(&self) -> Result<Option<RecordRef>> {
        let Some(own) = self.database.find_number(self.own.log)? else {
            return Ok(None);
        };
        let found: Option<(i64, i64, [u8; 32])> = self
            .database
            .connection
            .prepare_cached(
                "SELECT r.log, r.seq, r.id FROM round r
                 WHERE (r.log = ?1 OR EXISTS
                     (SELECT 1 FROM own_former o WHERE o.log = r.log AND r.seq <= o.last_seq))
                   AND NOT EXISTS
                   (SELECT 1 FROM round_closed c JOIN trust t ON t.log = c.log AND c.seq <= t.reach
                    WHERE c.round_log = r.log AND c.round_seq = r.seq AND c.round_id = r.id)
                 ORDER BY coalesce((SELECT place FROM own_former o WHERE o.log = r.log), -1),
                   r.seq DESC, r.id DESC LIMIT 1",
            )
            .and_then(|mut query| {
                query
                    .query_row([own], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
                    .optional()
            })
            .during("look for an open round")?;
        found
            .map(|(log, seq, id)| self.database.reference(log, seq, id))
            .transpose()
    }

    /// Whether a round is closed; none when it is not known.
    pub(crate) fn round_is_closed(&self, at: RecordRef) -> Result<Option<bool>> {
        if self.find_round(at)?.is_none() {
            return Ok(None);
        }
        Ok(Some(self.round_closed_ms(at)?.is_some()))
    }

    fn round_closed_ms(&self, at: RecordRef) -> Result<Option<i64>> {
        let (log, seq, id) = self.database.stored_if_known(at)?;
        self.database
            .connection
            .prepare_cached(
                "SELECT min(c.wall_ms) FROM round_closed c
                 JOIN trust t ON t.log = c.log AND c.seq <= t.reach
                 WHERE c.round_log = ?1 AND c.round_seq = ?2 AND c.round_id = ?3",
            )
            .and_then(|mut query| query.query_row(params![log, seq, &id[..]], |row| row.get(0)))
            .during("read whether a round is closed")
    }

    fn find_round(&self, at: RecordRef) -> Result<Option<(SignedRecord, RoundOpened)>> {
        let Some(Opened::Record(record)) = self.database.find_item(at)? else {
            return Ok(None);
        };
        match Body::decode(record.kind(), record.body()) {
            Ok(Body::RoundOpened(opened)) => Ok(Some((record, opened))),
            _ => Ok(None),
        }
    }

    pub(crate) fn read_round(&self, at: RecordRef) -> Result<RoundView> {
        let (record, opened) = self
            .find_round(at)?
            .ok_or(Error::UnknownRound { round: at })?;
        let mut states = self.round_states(at)?;
        let mut stops = Vec::with_capacity(opened.stations.len());
        for code in opened.stations {
            let (name, level) = self.station_name(&code)?;
            let state = states.remove(&code).unwrap_or(StopState::Left);
            stops.push(Stop {
                code,
                name,
                level,
                state,
            });
        }
        Ok(RoundView {
            at,
            title: opened.title,
            by: record.record().person.clone(),
            opened_ms: record.record().clock.wall_ms,
            closed_ms: self.round_closed_ms(at)?,
            stops,
        })
    }

    /// What has become of the stations of a round: the newest reading, else the newest skip.
    fn round_states(&self, at: RecordRef) -> Result<BTreeMap<StationCode, StopState>> {
        let action = "read a round";
        let (log, seq, id) = self.database.stored_if_known(at)?;
        let mut states = BTreeMap::new();
        let mut query = self
            .database
            .connection
            .prepare_cached(
                "SELECT c.item FROM skipped r
                 JOIN trust t ON t.log = r.log AND r.seq <= t.reach
                 JOIN record c ON c.log = r.log AND c.seq = r.seq AND c.id = r.id
                 JOIN log l ON l.n = r.log
                 WHERE r.round_log = ?1 AND r.round_seq = ?2 AND r.round_id = ?3
                 ORDER BY r.wall_ms, l.id, r.seq, r.id",
            )
            .during(action)?;
        let mut rows = query.query(params![log, seq, &id[..]]).during(action)?;
        while let Some(row) = rows.next().during(action)? {
            let item: Vec<u8> = row.get(0).during(action)?;
            if let Some((station, reason, note)) = skip_in(&item)? {
                states.insert(station, StopState::Skipped { reason, note });
            }
        }
        let mut query = self
            .database
            .connection
            .prepare_cached(
                "SELECT r.log, r.seq, r.id, r.station, r.taken_ms, r.worst FROM reading r
                 JOIN trust t ON t.log = r.log AND r.seq <= t.reach
                 JOIN log l ON l.n = r.log
                 WHERE r.round_log = ?1 AND r.round_seq = ?2 AND r.round_id = ?3
                 ORDER BY r.taken_ms, l.id, r.seq, r.id",
            )
            .during(action)?;
        let mut rows = query.query(params![log, seq, &id[..]]).during(action)?;
        while let Some(row) = rows.next().during(action)? {
            let done = StopState::Done {
                reading: self.database.reference_in(row)?,
                taken_ms: row.get(4).during(action)?,
                worst: verdict_of(row.get(5).during(action)?),
            };
            states.insert(code_in(row, 3)?, done);
        }
        Ok(states)
    }

    fn station_name(&self, code: &StationCode) -> Result<(String, String)> {
        let found = self
            .database
            .connection
            .prepare_cached("SELECT name, level FROM station WHERE code = ?1")
            .and_then(|mut query| {
                query
                    .query_row([code.as_str()], |row| Ok((row.get(0)?, row.get(1)?)))
                    .optional()
            })
            .during("read a station's name")?;
        Ok(found.unwrap_or_default())
    }

    pub(crate) fn newest_rounds(&self, limit: usize) -> Result<Vec<RecordRef>> {
        let action = "list rounds";
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        let mut query = self
            .database
            .connection
            .prepare_cached(
                "SELECT r.log, r.seq, r.id FROM round r
                 JOIN trust t ON t.log = r.log AND r.seq <= t.reach JOIN log l ON l.n = r.log
                 ORDER BY r.opened_ms DESC, l.id, r.seq DESC, r.id LIMIT ?1",
            )
            .during(action)?;
        let mut rows = query.query([limit]).during(action)?;
        let mut rounds = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            rounds.push(self.database.reference_in(row)?);
        }
        Ok(rounds)
    }

    /// Rounds that were open at any time from `from_ms` up to but not including `to_ms`.
    pub(crate) fn rounds_between(&self, from_ms: i64, to_ms: i64) -> Result<Vec<RecordRef>> {
        let action = "list rounds of a week";
        let mut query = self
            .database
            .connection
            .prepare_cached(
                "SELECT r.log, r.seq, r.id FROM round r
                 JOIN trust t ON t.log = r.log AND r.seq <= t.reach JOIN log l ON l.n = r.log
                 WHERE r.opened_ms >= ?1 AND r.opened_ms < ?2
                 ORDER BY r.opened_ms, l.id, r.seq, r.id",
            )
            .during(action)?;
        let mut rows = query.query([from_ms, to_ms]).during(action)?;
        let mut rounds = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            rounds.push(self.database.reference_in(row)?);
        }
        Ok(rounds)
    }
}

impl Database {
    /// A reference in stored form, for looking up only: a log that is not here gets no number.
    pub(super) fn stored_if_known(&self, at: RecordRef) -> Result<(i64, i64, [u8; 32])> {
        // Numbers of logs start at 1.
        let log = self.find_number(at.log)?.unwrap_or(0);
        Ok((log, i64::try_from(at.seq).unwrap_or(i64::MAX), at.id.0))
    }
}

fn skip_in(item: &[u8]) -> Result<Option<(StationCode, SkipReason, String)>> {
    let Opened::Record(record) = super::facts::stored_item(item)? else {
        return Ok(None);
    };
    if record.kind() != Kind::StationSkipped.number() {
        return Ok(None);
    }
    match Body::decode(record.kind(), record.body())? {
        Body::StationSkipped(StationSkipped {
            station,
            reason,
            note,
            ..
        }) => Ok(Some((station, reason, note))),
        _ => Ok(None),
    }
}
