//! The rows that follow from the body of one record, and from nothing else.
//!
//! One function for each table that has a kind of its own. Here is where "incremental equals
//! rebuilt" begins: no function looks at any other record.

use rusqlite::params;
use winze_sync_format::{Record, RecordRef};

use super::database::{Database, stored_seq};
use super::insert::Dirty;
use crate::Result;
use crate::merge::station_plan::{Measured, Values};
use crate::record::{
    Acknowledgement, Answer, Body, ClockObserved, Enrolment, LogContinued, LogOpened,
    OfficeReplaced, Reading, Revocation, RoundClosed, Source, StationSkipped,
};
use crate::station::StationCode;
use crate::units::Typed;
use crate::verdict::Entry;

/// Where a record stands, in stored form, and when it was made.
pub(super) struct At<'a> {
    pub(super) log: i64,
    pub(super) seq: i64,
    pub(super) id: &'a [u8],
    wall_ms: i64,
}

impl Database {
    /// Writes the rows that follow from a body, and marks what they make dirty.
    pub(super) fn put_rows(
        &self,
        at: RecordRef,
        record: &Record,
        body: &Body,
        dirty: &mut Dirty,
    ) -> Result<()> {
        let (log, seq) = (self.number(at.log)?, stored_seq(at.seq)?);
        let at = At {
            log,
            seq,
            id: &at.id.0,
            wall_ms: record.clock.wall_ms,
        };
        match body {
            Body::LogOpened(body) => self.put_log_opened(&at, body),
            Body::Enrolment(body) => {
                dirty.trust = true;
                self.put_enrolment(&at, body)
            }
            Body::Revocation(body) => {
                dirty.trust = true;
                self.put_revocation(&at, body)
            }
            Body::StationRevision(station) => {
                mark(dirty, &station.code);
                self.run(
                    "INSERT INTO revision (station, log, seq, id, wall_ms)
                     VALUES (?1, ?2, ?3, ?4, ?5)",
                    params![station.code.as_str(), at.log, at.seq, at.id, at.wall_ms],
                )
            }
            Body::RoundOpened(body) => self.run(
                "INSERT INTO round (log, seq, id, title, opened_ms) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![at.log, at.seq, at.id, body.title, at.wall_ms],
            ),
            Body::RoundClosed(body) => self.put_round_closed(&at, body),
            Body::StationSkipped(body) => self.put_skipped(&at, body),
            Body::Reading(body) => {
                mark(dirty, &body.station);
                self.put_reading(&at, record.nonce, body)
            }
            Body::Correction(body) => {
                mark(dirty, &body.station);
                self.run(
                    "INSERT INTO correction (station, log, seq, id) VALUES (?1, ?2, ?3, ?4)",
                    params![body.station.as_str(), at.log, at.seq, at.id],
                )
            }
            Body::CheckAnswered(body) => {
                mark(dirty, &body.station);
                self.run(
                    "INSERT INTO check_answered (station, log, seq, id) VALUES (?1, ?2, ?3, ?4)",
                    params![body.station.as_str(), at.log, at.seq, at.id],
                )
            }
            Body::Answer(body) => {
                match &body.station {
                    Some(station) => mark(dirty, station),
                    None => dirty.forks = true,
                }
                self.put_answer(&at, body)
            }
            Body::Acknowledgement(body) => self.put_acknowledgement(&at, body, "acknowledgement"),
            Body::BackedUp(body) => self.put_acknowledgement(&at, body, "backed_up"),
            // Folded from the records when asked for: a station has some tens of them.
            Body::LogContinued(body) => {
                dirty.trust = true;
                self.put_log_continued(&at, body)
            }
            Body::OfficeReplaced(body) => {
                dirty.trust = true;
                self.put_office_replaced(&at, body)
            }
            Body::AttachmentAdded(body) => self.run(
                "INSERT INTO attachment (station, log, seq, id) VALUES (?1, ?2, ?3, ?4)",
                params![body.station.as_str(), at.log, at.seq, at.id],
            ),
            Body::AttachmentChunk(body) => self.put_attachment_chunk(&at, body),
            // Folded from the records themselves when asked for.
            Body::TaskDone(_) => Ok(()),
            Body::ClockObserved(body) => {
                let target = self.number(body.log)?;
                dirty.clocks.insert(target);
                self.put_clock_observed(&at, target, body)
            }
            Body::JobRaised(body) => {
                // A closing of it may have come before.
                mark(dirty, &body.station);
                Ok(())
            }
            Body::JobClosed(body) => {
                mark(dirty, &body.station);
                self.run(
                    "INSERT INTO job_closed (station, log, seq, id) VALUES (?1, ?2, ?3, ?4)",
                    params![body.station.as_str(), at.log, at.seq, at.id],
                )
            }
            Body::ProcedureOpened(body) => self.put_procedure(&at, &body.station, dirty),
            Body::StepRecorded(body) => self.put_procedure(&at, &body.station, dirty),
            Body::StepUndone(body) => self.put_procedure(&at, &body.station, dirty),
            Body::ProcedureClosed(body) => self.put_procedure(&at, &body.station, dirty),
        }
    }

    fn put_procedure(&self, at: &At<'_>, station: &StationCode, dirty: &mut Dirty) -> Result<()> {
        mark(dirty, station);
        self.run(
            "INSERT INTO procedure_record (station, log, seq, id) VALUES (?1, ?2, ?3, ?4)",
            params![station.as_str(), at.log, at.seq, at.id],
        )
    }

    fn put_log_opened(&self, at: &At<'_>, body: &LogOpened) -> Result<()> {
        let role = body.role.code();
        self.run(
            "INSERT INTO log_opened (log, seq, id, role, label, wall_ms)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![at.log, at.seq, at.id, role, body.label, at.wall_ms],
        )
    }

    fn put_enrolment(&self, at: &At<'_>, body: &Enrolment) -> Result<()> {
        let (target, role) = (self.number(body.log)?, body.role.code());
        self.run(
            "INSERT INTO trust_statement (log, seq, id, target, role, name, last_seq)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, NULL)",
            params![at.log, at.seq, at.id, target, role, body.name],
        )
    }

    fn put_revocation(&self, at: &At<'_>, body: &Revocation) -> Result<()> {
        let target = self.number(body.log)?;
        // Beyond what the database can count nothing is cut off.
        let clamp = |seq| i64::try_from(seq).unwrap_or(i64::MAX);
        self.run(
            "INSERT INTO trust_statement (log, seq, id, target, role, name, last_seq)
             VALUES (?1, ?2, ?3, ?4, NULL, NULL, ?5)",
            params![at.log, at.seq, at.id, target, body.last_seq.map(clamp)],
        )
    }

    fn put_round_closed(&self, at: &At<'_>, body: &RoundClosed) -> Result<()> {
        let (log, seq, id) = self.stored(body.round)?;
        self.run(
            "INSERT INTO round_closed (round_log, round_seq, round_id, log, seq, id, wall_ms)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            params![log, seq, id, at.log, at.seq, at.id, at.wall_ms],
        )
    }

    fn put_skipped(&self, at: &At<'_>, body: &StationSkipped) -> Result<()> {
        let (log, seq, id) = self.stored(body.round)?;
        let (station, reason) = (body.station.as_str(), body.reason.code());
        self.run(
            "INSERT INTO skipped
             (round_log, round_seq, round_id, station, log, seq, id, reason, wall_ms)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
            params![
                log, seq, id, station, at.log, at.seq, at.id, reason, at.wall_ms
            ],
        )
    }

    fn put_reading(&self, at: &At<'_>, nonce: [u8; 8], body: &Reading) -> Result<()> {
        let round = body.round.map(|round| self.stored(round)).transpose()?;
        let (round_log, round_seq, round_id) = match round {
            Some((log, seq, id)) => (Some(log), Some(seq), Some(id)),
            None => (None, None, None),
        };
        let [inlet, interstage, outlet] = values_of(&body.entry);
        let pa = |value: Option<Measured>| value.map(|value| value.pa);
        let digit_pa = |value: Option<Measured>| value.map(|value| value.digit_pa);
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
                body.taken_ms(at.wall_ms),
                at.log,
                at.seq,
                at.id,
                round_log,
                round_seq,
                round_id,
                pa(inlet),
                pa(interstage),
                pa(outlet),
                digit_pa(inlet),
                digit_pa(interstage),
                digit_pa(outlet),
                worst,
                row,
                &nonce[..]
            ],
        )
    }

    /// It opens its log as any first record does, and says which log it goes on from.
    fn put_log_continued(&self, at: &At<'_>, body: &LogContinued) -> Result<()> {
        self.put_log_opened(
            at,
            &LogOpened {
                role: body.role,
                label: body.label.clone(),
            },
        )?;
        let (former_log, former_seq, former_id) = self.stored(body.former)?;
        self.run(
            "INSERT INTO log_continued (log, seq, id, former_log, former_seq, former_id, why)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            params![
                at.log,
                at.seq,
                at.id,
                former_log,
                former_seq,
                &former_id[..],
                body.why.code()
            ],
        )
    }

    fn put_office_replaced(&self, at: &At<'_>, body: &OfficeReplaced) -> Result<()> {
        self.run(
            "INSERT INTO office_replaced (log, seq, id, target, last_seq)
             VALUES (?1, ?2, ?3, ?4, ?5)",
            params![
                at.log,
                at.seq,
                at.id,
                self.number(body.log)?,
                i64::try_from(body.last_seq).unwrap_or(i64::MAX)
            ],
        )
    }

    fn put_clock_observed(&self, at: &At<'_>, target: i64, body: &ClockObserved) -> Result<()> {
        self.run(
            "INSERT INTO clock_observed
             (target, log, seq, id, boot, monotonic_ms, office_ms, side)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![
                target,
                at.log,
                at.seq,
                at.id,
                &body.boot[..],
                i64::try_from(body.monotonic_ms).unwrap_or(i64::MAX),
                body.office_ms,
                body.side.code()
            ],
        )
    }

    fn put_answer(&self, at: &At<'_>, body: &Answer) -> Result<()> {
        let station = body.station.as_ref().map(StationCode::as_str);
        self.run(
            "INSERT INTO answer (question, log, seq, id, station) VALUES (?1, ?2, ?3, ?4, ?5)",
            params![&body.question.0[..], at.log, at.seq, at.id, station],
        )
    }

    fn put_acknowledgement(
        &self,
        at: &At<'_>,
        body: &Acknowledgement,
        table: &'static str,
    ) -> Result<()> {
        let to = RecordRef {
            log: body.log,
            seq: body.seq,
            id: body.id,
        };
        let (target, to_seq, to_id) = self.stored(to)?;
        self.run(
            &format!(
                "INSERT INTO {table} (target, log, seq, id, to_seq, to_id, wall_ms)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)"
            ),
            params![target, at.log, at.seq, at.id, to_seq, to_id, at.wall_ms],
        )
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
