//! Keeping the times that were worked out where a device's clock was wrong.
//!
//! The rule is [`crate::merge::clocks`]'s. A log is looked at again whenever a record of it or an
//! observation about its clock comes in, or who counts has changed; so the times are a function of the
//! set of records.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{OptionalExtension, params};
use winze_sync_format::{LogId, Opened, RecordRef};

use super::Logbook;
use super::database::{Database, During};
use super::facts::stored_item;
use super::insert::Dirty;
use crate::Result;
use crate::merge::clocks::{ClockFact, ClockSeen, CorrectedTime, corrected_times};
use crate::query::TimeWorkedOut;
use crate::record::{Body, ClockObserved, Role, Side, Source};
use crate::store::NewRecord;

/// How far a device's clock may be off before it is worth a record, in milliseconds: an honest clock
/// that drifts by minutes changes no walk-round, and a bundle may be days on its way.
const AHEAD_MS: i64 = 15 * 60_000;
const BEHIND_MS: i64 = 4 * 86_400_000;

impl Logbook {
    /// Writes down what a bundle shows of the clocks: at an office, that the packing device's clock
    /// was read not after now; on a tablet, that its own clock is read not before the office packed.
    /// Nothing while the clocks agree.
    pub(super) fn observe_clocks(
        &mut self,
        packed_by: LogId,
        packed: &winze_sync_format::ClockReading,
    ) -> Result<()> {
        let now = self.clock.now();
        let ahead = |ms: i64| (-BEHIND_MS..=AHEAD_MS).contains(&ms);
        let body = match self.own.role {
            Role::Office if packed_by != self.own.log => {
                if ahead(packed.wall_ms.saturating_sub(now.wall_ms)) {
                    return Ok(());
                }
                ClockObserved {
                    log: packed_by,
                    boot: packed.boot,
                    monotonic_ms: packed.monotonic_ms,
                    office_ms: now.wall_ms,
                    side: Side::NotAfter,
                }
            }
            Role::Tablet if self.database.is_counted_office(packed_by)? => {
                if ahead(packed.wall_ms.saturating_sub(now.wall_ms)) {
                    return Ok(());
                }
                ClockObserved {
                    log: self.own.log,
                    boot: now.boot,
                    monotonic_ms: now.monotonic_ms,
                    office_ms: packed.wall_ms,
                    side: Side::NotBefore,
                }
            }
            _ => return Ok(()),
        };
        if self.database.is_known_as_well(self.own.log, &body)? {
            return Ok(());
        }
        self.confirm_one(NewRecord::new(Body::ClockObserved(body), ""))?;
        Ok(())
    }

    /// What was worked out about the time of a record; none where its wall clock is believed.
    pub(crate) fn read_time_of(&self, at: RecordRef) -> Result<Option<TimeWorkedOut>> {
        self.database.time_of(at)
    }
}

impl Database {
    /// The mark of a log whose times must be worked out again.
    pub(super) fn mark_clock(&self, log: i64, dirty: &mut Dirty) -> Result<()> {
        let is_observed = self
            .connection
            .prepare_cached("SELECT 1 FROM clock_observed WHERE target = ?1 LIMIT 1")
            .and_then(|mut query| query.exists([log]))
            .during("look for observations")?;
        if is_observed {
            dirty.clocks.insert(log);
        }
        Ok(())
    }

    /// Every log about whose clock something was observed.
    pub(super) fn observed_logs(&self) -> Result<BTreeSet<i64>> {
        self.connection
            .prepare_cached("SELECT DISTINCT target FROM clock_observed")
            .and_then(|mut query| query.query_map([], |row| row.get(0))?.collect())
            .during("list observations")
    }

    /// Works out the times of a log; returns the stations about which something has moved.
    pub(super) fn derive_times(&self, log: i64) -> Result<BTreeSet<String>> {
        let seen = self.clock_seen(log)?;
        let times = if seen.is_empty() {
            BTreeMap::new()
        } else {
            corrected_times(&self.clock_facts(log)?, &seen, self.is_forked(log)?)
        };
        let mut before = self.times_of(log)?;
        let mut moved = BTreeSet::new();
        for (at, time) in &times {
            let had = before.remove(at);
            if had.map(|(_, time)| time) == Some(*time) {
                continue;
            }
            let Some(Opened::Record(record)) = self.find_item(*at)? else {
                continue;
            };
            let shown_ms = record.record().clock.wall_ms;
            let had_ms = had.map_or(shown_ms, |(_, time)| time.ms);
            self.move_reading(*at, &record, had_ms, time.ms, &mut moved)?;
            let (log, seq, id) = self.stored(*at)?;
            self.run(
                "INSERT OR REPLACE INTO corrected_time
                 (log, seq, id, shown_ms, corrected_ms, low_ms, high_ms)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                params![
                    log,
                    seq,
                    &id[..],
                    shown_ms,
                    time.ms,
                    time.low_ms,
                    time.high_ms
                ],
            )?;
        }
        // What is left was corrected before and is believed now.
        for (at, (shown_ms, time)) in before {
            let (log, seq, id) = self.stored(at)?;
            self.run(
                "DELETE FROM corrected_time WHERE log = ?1 AND seq = ?2 AND id = ?3",
                params![log, seq, &id[..]],
            )?;
            if let Some(Opened::Record(record)) = self.find_item(at)? {
                self.move_reading(at, &record, time.ms, shown_ms, &mut moved)?;
            }
        }
        Ok(moved)
    }

    /// Moves a reading in its station's history, and notes the station of whatever has one.
    fn move_reading(
        &self,
        at: RecordRef,
        record: &winze_sync_format::SignedRecord,
        from_ms: i64,
        to_ms: i64,
        moved: &mut BTreeSet<String>,
    ) -> Result<()> {
        let station = match Body::decode(record.kind(), record.body()) {
            Ok(Body::Reading(reading)) => {
                if reading.source == Source::OnTheSpot {
                    let (log, seq, id) = self.stored(at)?;
                    self.run(
                        "UPDATE reading SET taken_ms = ?6 WHERE station = ?1 AND taken_ms = ?2
                         AND log = ?3 AND seq = ?4 AND id = ?5",
                        params![reading.station.as_str(), from_ms, log, seq, &id[..], to_ms],
                    )?;
                }
                reading.station
            }
            Ok(Body::CheckAnswered(body)) => body.station,
            Ok(Body::JobClosed(body)) => body.station,
            Ok(Body::ProcedureClosed(body)) => body.station,
            Ok(Body::StepRecorded(body)) => body.station,
            _ => return Ok(()),
        };
        moved.insert(station.as_str().to_owned());
        Ok(())
    }

    /// The observations about a log's clock that count: those of offices, and its own.
    fn clock_seen(&self, log: i64) -> Result<Vec<ClockSeen>> {
        let action = "read observations";
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT o.boot, o.monotonic_ms, o.office_ms, o.side FROM clock_observed o
                 JOIN trust t ON t.log = o.log AND o.seq <= t.reach
                 WHERE o.target = ?1 AND (t.role = 'office' OR o.log = o.target)",
            )
            .during(action)?;
        let mut rows = query.query([log]).during(action)?;
        let mut seen = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            let side: String = row.get(3).during(action)?;
            let Some(side) = Side::from_code(&side) else {
                continue;
            };
            seen.push(ClockSeen {
                boot: row.get(0).during(action)?,
                monotonic_ms: row.get::<_, i64>(1).during(action)?.unsigned_abs(),
                office_ms: row.get(2).during(action)?,
                side,
            });
        }
        Ok(seen)
    }

    fn clock_facts(&self, log: i64) -> Result<Vec<ClockFact>> {
        let action = "read the clocks of a log";
        let mut query = self
            .connection
            .prepare_cached("SELECT item FROM record WHERE log = ?1 AND kind <> 0 ORDER BY seq, id")
            .during(action)?;
        let mut rows = query.query([log]).during(action)?;
        let mut facts = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            let item = row
                .get_ref(0)
                .and_then(|value| Ok(value.as_blob()?))
                .during(action)?;
            if let Opened::Record(record) = stored_item(item)? {
                facts.push(ClockFact {
                    at: record.reference(),
                    clock: record.record().clock,
                });
            }
        }
        Ok(facts)
    }

    /// What is kept about a log, with what the wall clocks showed.
    fn times_of(&self, log: i64) -> Result<BTreeMap<RecordRef, (i64, CorrectedTime)>> {
        let action = "read times";
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT log, seq, id, shown_ms, corrected_ms, low_ms, high_ms FROM corrected_time
                 WHERE log = ?1",
            )
            .during(action)?;
        let mut rows = query.query([log]).during(action)?;
        let mut times = BTreeMap::new();
        while let Some(row) = rows.next().during(action)? {
            let time = CorrectedTime {
                ms: row.get(4).during(action)?,
                low_ms: row.get(5).during(action)?,
                high_ms: row.get(6).during(action)?,
            };
            times.insert(self.reference_in(row)?, (row.get(3).during(action)?, time));
        }
        Ok(times)
    }

    /// What was worked out about the time of a record.
    pub(super) fn time_of(&self, at: RecordRef) -> Result<Option<TimeWorkedOut>> {
        let (log, seq, id) = self.stored_if_known(at)?;
        self.connection
            .prepare_cached(
                "SELECT shown_ms, corrected_ms, low_ms, high_ms FROM corrected_time
                 WHERE log = ?1 AND seq = ?2 AND id = ?3",
            )
            .and_then(|mut query| {
                query
                    .query_row(params![log, seq, &id[..]], |row| {
                        Ok(TimeWorkedOut {
                            shown_ms: row.get(0)?,
                            corrected_ms: row.get(1)?,
                            low_ms: row.get(2)?,
                            high_ms: row.get(3)?,
                        })
                    })
                    .optional()
            })
            .during("read a time")
    }

    /// When a record was made: as worked out, else as its wall clock showed.
    pub(super) fn made_ms(&self, at: RecordRef, wall_ms: i64) -> Result<i64> {
        Ok(self.time_of(at)?.map_or(wall_ms, |time| time.corrected_ms))
    }

    /// Whether a log already holds an observation that says as much, but for minutes.
    fn is_known_as_well(&self, by: LogId, body: &ClockObserved) -> Result<bool> {
        let (Some(by), Some(target)) = (self.find_number(by)?, self.find_number(body.log)?) else {
            return Ok(false);
        };
        let known: Vec<i64> = self
            .connection
            .prepare_cached(
                "SELECT office_ms - monotonic_ms FROM clock_observed
                 WHERE target = ?1 AND log = ?2 AND boot = ?3 AND side = ?4
                   AND abs(office_ms / 4) < 1000000000000000000 AND monotonic_ms >= 0
                   AND monotonic_ms < 1000000000000000000",
            )
            .and_then(|mut query| {
                query
                    .query_map(
                        params![target, by, &body.boot[..], body.side.code()],
                        |row| row.get(0),
                    )?
                    .collect()
            })
            .during("look for an observation")?;
        let monotonic_ms = i64::try_from(body.monotonic_ms).unwrap_or(i64::MAX);
        let new = body.office_ms.saturating_sub(monotonic_ms);
        Ok(known.into_iter().any(|known| match body.side {
            Side::NotBefore => known >= new.saturating_sub(AHEAD_MS),
            Side::NotAfter => known <= new.saturating_add(AHEAD_MS),
            Side::At => known == new,
        }))
    }

    fn is_counted_office(&self, log: LogId) -> Result<bool> {
        let Some(number) = self.find_number(log)? else {
            return Ok(false);
        };
        self.connection
            .prepare_cached("SELECT 1 FROM trust WHERE log = ?1 AND role = 'office'")
            .and_then(|mut query| query.exists([number]))
            .during("look for an office")
    }
}
