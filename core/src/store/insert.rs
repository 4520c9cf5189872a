//! Putting one record into the tables: the record itself, and the rows that follow from it alone.
//!
//! Nothing here looks at other records, but for noticing that a place in a log is taken by another
//! one. What depends on several records is worked out in `derive`.

use std::collections::BTreeSet;

use rusqlite::{Params, params};
use winze_sync_format::{Opened, Record, RecordId, RecordRef, SignedRecord};

use super::database::{Database, During, stored_seq};
use crate::Result;
use crate::merge::station_plan::{Measured, Values};
use crate::record::{Body, Kind, Reading, Source};
use crate::station::StationCode;
use crate::units::Typed;
use crate::verdict::Entry;

/// The kind number under which an item of a newer format version is kept.
pub(super) const NEWER_KIND: u64 = 0;

/// What must be worked out anew after records came in.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Dirty {
    /// Stations about which something came in.
    pub(super) stations: BTreeSet<String>,
    /// Whether an enrolment or revocation came in.
    pub(super) trust: bool,
    /// Whether a place in a log turned out to be taken twice, or an answer about one came in.
    pub(super) forks: bool,
}

impl Dirty {
    pub(super) fn is_empty(&self) -> bool {
        self.stations.is_empty() && !self.trust && !self.forks
    }
}

/// What became of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Put {
    /// It was there already.
    Held,
    /// It is new.
    New {
        /// Whether it is a reading.
        is_reading: bool,
        /// Whether its body was understood.
        is_understood: bool,
    },
}

/// Where a record stands, in stored form.
struct At<'a> {
    log: i64,
    seq: i64,
    id: &'a [u8],
}

impl Database {
    /// Puts in a record or an item of a newer format version.
    pub(super) fn put_opened(&self, opened: &Opened, dirty: &mut Dirty) -> Result<Put> {
        match opened {
            Opened::Record(record) => self.put(record, dirty),
            Opened::Newer(newer) => {
                let at = newer.reference;
                if !self.put_item(at, NEWER_KIND, &newer.item, dirty)? {
                    return Ok(Put::Held);
                }
                self.put_not_understood(at, NEWER_KIND)?;
                Ok(Put::New {
                    is_reading: false,
                    is_understood: false,
                })
            }
        }
    }

    /// Puts in a record.
    pub(super) fn put(&self, record: &SignedRecord, dirty: &mut Dirty) -> Result<Put> {
        let at = record.reference();
        if !self.put_item(at, record.kind(), record.item(), dirty)? {
            return Ok(Put::Held);
        }
        let Ok(body) = Body::decode(record.kind(), record.body()) else {
            self.put_not_understood(at, record.kind())?;
            let is_reading = record.kind() == Kind::Reading.number();
            return Ok(Put::New {
                is_reading,
                is_understood: false,
            });
        };
        self.put_body(at, record.record(), &body, dirty)?;
        let is_reading = matches!(body, Body::Reading(_));
        Ok(Put::New {
            is_reading,
            is_understood: true,
        })
    }

    /// Says whether a record is here, by its full name.
    pub(super) fn holds(&self, at: &RecordRef) -> Result<bool> {
        let (Some(log), Ok(seq)) = (self.find_number(at.log)?, i64::try_from(at.seq)) else {
            return Ok(false);
        };
        self.connection
            .prepare_cached("SELECT 1 FROM record WHERE log = ?1 AND seq = ?2 AND id = ?3")
            .and_then(|mut query| query.exists(params![log, seq, &at.id.0[..]]))
            .during("look for a record")
    }

    /// Returns whether the item is new.
    fn put_item(&self, at: RecordRef, kind: u64, item: &[u8], dirty: &mut Dirty) -> Result<bool> {
        let (log, seq) = (self.number(at.log)?, stored_seq(at.seq)?);
        // Kind numbers are compared for equality only, so wrapping one above 2^63 is harmless.
        let kind = kind.cast_signed();
        let added = self
            .connection
            .prepare_cached("INSERT OR IGNORE INTO record (log, seq, id, kind, item) VALUES (?1, ?2, ?3, ?4, ?5)")
            .and_then(|mut insert| insert.execute(params![log, seq, &at.id.0[..], kind, item]))
            .during("add a record")?;
        if added == 0 {
            return Ok(false);
        }
        let others: i64 = self
            .connection
            .prepare_cached("SELECT count(*) FROM record WHERE log = ?1 AND seq = ?2")
            .and_then(|mut query| query.query_row(params![log, seq], |row| row.get(0)))
            .during("look for a second record")?;
        if others > 1 {
            self.run(
                "INSERT OR IGNORE INTO fork (log, seq) VALUES (?1, ?2)",
                params![log, seq],
            )?;
            dirty.forks = true;
        }
        Ok(true)
    }

    fn put_not_understood(&self, at: RecordRef, kind: u64) -> Result<()> {
        let (log, seq) = (self.number(at.log)?, stored_seq(at.seq)?);
        self.run(
            "INSERT INTO not_understood (log, seq, id, kind) VALUES (?1, ?2, ?3, ?4)",
            params![log, seq, &at.id.0[..], kind.cast_signed()],
        )
    }

    fn put_body(
        &self,
        at: RecordRef,
        record: &Record,
        body: &Body,
        dirty: &mut Dirty,
    ) -> Result<()> {
        let place = At {
            log: self.number(at.log)?,
            seq: stored_seq(at.seq)?,
            id: &at.id.0,
        };
        let wall_ms = record.clock.wall_ms;
        match body {
            Body::LogOpened(opened) => self.run(
                "INSERT INTO log_opened (log, seq, id, role, label, wall_ms)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                params![
                    place.log,
                    place.seq,
                    place.id,
                    opened.role.code(),
                    opened.label,
                    wall_ms
                ],
            ),
            Body::Enrolment(body) => {
                dirty.trust = true;
                let target = self.number(body.log)?;
                self.run(
                    "INSERT INTO trust_statement (log, seq, id, target, role, name, last_seq)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, NULL)",
                    params![
                        place.log,
                        place.seq,
                        place.id,
                        target,
                        body.role.code(),
                        body.name
                    ],
                )
            }
            Body::Revocation(body) => {
                dirty.trust = true;
                let target = self.number(body.log)?;
                // Beyond what the database can count nothing is cut off.
                let last_seq = body
                    .last_seq
                    .map(|seq| i64::try_from(seq).unwrap_or(i64::MAX));
                self.run(
                    "INSERT INTO trust_statement (log, seq, id, target, role, name, last_seq)
                     VALUES (?1, ?2, ?3, ?4, NULL, NULL, ?5)",
                    params![place.log, place.seq, place.id, target, last_seq],
                )
            }
            Body::StationRevision(station) => {
                mark(dirty, &station.code);
                self.run(
                    "INSERT INTO revision (station, log, seq, id, wall_ms)
                     VALUES (?1, ?2, ?3, ?4, ?5)",
                    params![
                        station.code.as_str(),
                        place.log,
                        place.seq,
                        place.id,
                        wall_ms
                    ],
                )
            }
            Body::RoundOpened(body) => self.run(
                "INSERT INTO round (log, seq, id, title, opened_ms) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![place.log, place.seq, place.id, body.title, wall_ms],
            ),
            Body::RoundClosed(body) => {
                let round = self.stored(body.round)?;
                self.run(
                    "INSERT INTO round_closed (round_log, round_seq, round_id, log, seq, id, wall_ms)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                    params![round.0, round.1, round.2, place.log, place.seq, place.id, wall_ms],
                )
            }
            Body::StationSkipped(body) => {
                let (log, seq, id) = self.stored(body.round)?;
                self.run(
                    "INSERT INTO skipped
                     (round_log, round_seq, round_id, station, log, seq, id, reason, wall_ms)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                    params![
                        log,
                        seq,
                        id,
                        body.station.as_str(),
                        place.log,
                        place.seq,
                        place.id,
                        body.reason.code(),
                        wall_ms
                    ],
                )
            }
            Body::Reading(body) => {
                mark(dirty, &body.station);
                self.put_reading(&place, record, body)
            }
            Body::Correction(body) => {
                mark(dirty, &body.station);
                self.run(
                    "INSERT INTO correction (station, log, seq, id) VALUES (?1, ?2, ?3, ?4)",
                    params![body.station.as_str(), place.log, place.seq, place.id],
                )
            }
            Body::Answer(body) => {
                match &body.station {
                    Some(station) => mark(dirty, station),
                    None => dirty.forks = true,
                }
                let station = body.station.as_ref().map(StationCode::as_str);
                self.run(
                    "INSERT INTO answer (question, log, seq, id, station)
                     VALUES (?1, ?2, ?3, ?4, ?5)",
                    params![
                        &body.question.0[..],
                        place.log,
                        place.seq,
                        place.id,
                        station
                    ],
                )
            }
            Body::Acknowledgement(body) => {
                let (target, to_seq, to_id) = self.stored(RecordRef {
                    log: body.log,
                    seq: body.seq,
                    id: body.id,
                })?;
                self.run(
                    "INSERT INTO acknowledgement (target, log, seq, id, to_seq, to_id, wall_ms)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                    params![
                        target, place.log, place.seq, place.id, to_seq, to_id, wall_ms
                    ],
                )
            }
        }
    }

    fn put_reading(&self, place: &At<'_>, record: &Record, body: &Reading) -> Result<()> {
        let round = body.round.map(|round| self.stored(round)).transpose()?;
        let (round_log, round_seq, round_id) = match round {
            Some((log, seq, id)) => (Some(log), Some(seq), Some(id)),
            None => (None, None, None),
        };
        let values = values_of(&body.entry);
        let [inlet, interstage, outlet] = values.map(|value| value.map(|value| value.pa));
        let [digit_1, digit_2, digit_3] = values.map(|value| value.map(|value| value.digit_pa));
        let worst = body
            .shown
            .worst()
            .map(|verdict| verdict.number().cast_signed());
        let row = match &body.source {
            Source::OnTheSpot => None,
            Source::Sheet { row, .. } => Some(&row[..]),
        };
        self.run(
            "INSERT INTO reading
             (station, taken_ms, log, seq, id, round_log, round_seq, round_id, inlet_pa,
              interstage_pa, outlet_pa, digit_inlet, digit_inter, digit_outlet, worst, row_digest,
              nonce)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17)",
            params![
                body.station.as_str(),
                body.taken_ms(record.clock.wall_ms),
                place.log,
                place.seq,
                place.id,
                round_log,
                round_seq,
                round_id,
                inlet,
                interstage,
                outlet,
                digit_1,
                digit_2,
                digit_3,
                worst,
                row,
                &record.nonce[..]
            ],
        )
    }

    /// A reference in stored form.
    pub(super) fn stored(&self, at: RecordRef) -> Result<(i64, i64, [u8; 32])> {
        // A body may name any number; what is beyond the database's range names nothing here.
        let seq = i64::try_from(at.seq).unwrap_or(i64::MAX);
        let RecordId(id) = at.id;
        Ok((self.number(at.log)?, seq, id))
    }

    /// Runs one change.
    pub(super) fn run(&self, sql: &str, values: impl Params) -> Result<()> {
        self.connection
            .prepare_cached(sql)
            .and_then(|mut change| change.execute(values))
            .during("write a row")?;
        Ok(())
    }
}

fn mark(dirty: &mut Dirty, station: &StationCode) {
    if !dirty.stations.contains(station.as_str()) {
        dirty.stations.insert(station.as_str().to_owned());
    }
}

/// The values of an entry as comparisons want them.
pub(super) fn values_of(entry: &Entry) -> Values {
    [entry.inlet, entry.interstage, entry.outlet].map(|typed| {
        typed.map(|typed| {
            let digit = Typed::of(1, typed.digits.exponent, typed.unit);
            Measured {
                pa: typed.to_pressure().pa(),
                digit_pa: digit.to_pressure().pa(),
            }
        })
    })
}
