//! Collecting the facts that count about one station, for the pure plan.

use std::collections::BTreeMap;

use rusqlite::{Row, params};
use sha2::{Digest, Sha256};
use winze_sync_format::{LogId, Opened, RecordId, RecordRef, SignedRecord, parse_item};

use super::database::{Database, During};
use super::rows::values_of;
use crate::merge::station_plan::Measured;
use crate::merge::{
    AnswerFact, CorrectionFact, QuestionId, ReadingFact, RevisionFact, StationFacts,
};
use crate::record::{Body, Kind, Role};
use crate::station::{Quantity, Station, StationCode};
use crate::{Error, Result};

/// Whose logbook this is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Own {
    pub(super) log: LogId,
    pub(super) role: Role,
    pub(super) label: String,
}

impl Database {
    /// Collects the facts about a station.
    pub(super) fn station_facts(&self, own: &Own, code: &StationCode) -> Result<StationFacts> {
        Ok(StationFacts {
            code: code.clone(),
            revisions: self.revision_facts(code)?,
            readings: self.reading_facts(code)?,
            corrections: self.correction_facts(code)?,
            answers: self.answers_about(own, code)?,
        })
    }

    /// The definitions of a station that count. Where none does, the last ones of logs that once
    /// counted stay in use: a tablet whose office was revoked goes on taking readings.
    pub(super) fn revision_facts(&self, code: &StationCode) -> Result<Vec<RevisionFact>> {
        let mut records = self.counted_about("revision", code)?;
        if records.is_empty() {
            records = self.counted_records(
                "SELECT c.item FROM revision r JOIN trust t ON t.log = r.log
                 JOIN record c ON c.log = r.log AND c.seq = r.seq AND c.id = r.id
                 WHERE r.station = ?1",
                [code.as_str()],
            )?;
        }
        let mut facts = Vec::new();
        for (record, body) in records {
            let Body::StationRevision(station) = body else {
                continue;
            };
            facts.push(RevisionFact {
                at: record.reference(),
                wall_ms: record.record().clock.wall_ms,
                replaces: record.record().refs.clone(),
                digest: Sha256::digest(record.body()).into(),
                divisions_pa: Quantity::ALL
                    .map(|quantity| station.gauge(quantity).division_pressure().pa()),
            });
        }
        Ok(facts)
    }

    fn reading_facts(&self, code: &StationCode) -> Result<Vec<ReadingFact>> {
        let action = "read readings";
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT r.log, r.seq, r.id, r.taken_ms, r.inlet_pa, r.interstage_pa, r.outlet_pa,
                        r.digit_inlet, r.digit_inter, r.digit_outlet
                 FROM reading r JOIN trust t ON t.log = r.log AND r.seq <= t.reach
                 WHERE r.station = ?1",
            )
            .during(action)?;
        let mut rows = query.query([code.as_str()]).during(action)?;
        let mut facts = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            facts.push(ReadingFact {
                at: self.reference_in(row)?,
                taken_ms: row.get(3).during(action)?,
                values: [
                    measured(row, 4, 7).during(action)?,
                    measured(row, 5, 8).during(action)?,
                    measured(row, 6, 9).during(action)?,
                ],
            });
        }
        Ok(facts)
    }

    /// The corrections about a station that count.
    pub(super) fn correction_facts(&self, code: &StationCode) -> Result<Vec<CorrectionFact>> {
        let records = self.counted_about("correction", code)?;
        let mut facts = Vec::new();
        for (record, body) in records {
            let Body::Correction(correction) = body else {
                continue;
            };
            facts.push(CorrectionFact {
                at: record.reference(),
                reading: correction.reading,
                replaces: record.record().refs.clone(),
                values: values_of(&correction.entry),
            });
        }
        Ok(facts)
    }

    fn answers_about(
        &self,
        own: &Own,
        code: &StationCode,
    ) -> Result<BTreeMap<QuestionId, Vec<AnswerFact>>> {
        let records = self.counted_records(
            "SELECT c.item FROM answer r
             JOIN trust t ON t.log = r.log AND r.seq <= t.reach
             JOIN record c ON c.log = r.log AND c.seq = r.seq AND c.id = r.id
             WHERE r.station = ?1 AND (t.role = 'office' OR r.log = ?2
               OR r.log IN (SELECT log FROM own_former))",
            params![code.as_str(), self.find_number(own.log)?],
        )?;
        let mut answers: BTreeMap<QuestionId, Vec<AnswerFact>> = BTreeMap::new();
        for (record, body) in records {
            if let Some((question, fact)) = answer_fact(&record, body) {
                answers.entry(question).or_default().push(fact);
            }
        }
        Ok(answers)
    }

    /// The answers to a question that count: those of offices and of the own log.
    pub(super) fn answers_to(&self, own: &Own, question: QuestionId) -> Result<Vec<AnswerFact>> {
        let records = self.answer_records(own, question)?;
        Ok(records
            .into_iter()
            .filter_map(|(record, body)| answer_fact(&record, body))
            .map(|(_, fact)| fact)
            .collect())
    }

    /// The records of the answers to a question that count.
    pub(super) fn answer_records(
        &self,
        own: &Own,
        question: QuestionId,
    ) -> Result<Vec<(SignedRecord, Body)>> {
        self.counted_records(
            "SELECT c.item FROM answer r
             JOIN trust t ON t.log = r.log AND r.seq <= t.reach
             JOIN record c ON c.log = r.log AND c.seq = r.seq AND c.id = r.id
             WHERE r.question = ?1 AND (t.role = 'office' OR r.log = ?2
               OR r.log IN (SELECT log FROM own_former))",
            params![&question.0[..], self.find_number(own.log)?],
        )
    }

    /// The records about a station that count and have a row in `table`.
    pub(super) fn counted_about(
        &self,
        table: &'static str,
        code: &StationCode,
    ) -> Result<Vec<(SignedRecord, Body)>> {
        self.counted_records(
            &format!(
                "SELECT c.item FROM {table} r
                 JOIN trust t ON t.log = r.log AND r.seq <= t.reach
                 JOIN record c ON c.log = r.log AND c.seq = r.seq AND c.id = r.id
                 WHERE r.station = ?1"
            ),
            [code.as_str()],
        )
    }

    /// Reads the records that a query selects, with their bodies.
    pub(super) fn counted_records(
        &self,
        sql: &str,
        values: impl rusqlite::Params,
    ) -> Result<Vec<(SignedRecord, Body)>> {
        let action = "read records";
        let mut query = self.connection.prepare_cached(sql).during(action)?;
        let mut rows = query.query(values).during(action)?;
        let mut records = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            let item = row
                .get_ref(0)
                .and_then(|value| Ok(value.as_blob()?))
                .during(action)?;
            if let Opened::Record(record) = stored_item(item)? {
                let body = Body::decode(record.kind(), record.body())?;
                records.push((record, body));
            }
        }
        Ok(records)
    }

    /// Reads a stored item by its name.
    pub(super) fn find_item(&self, at: RecordRef) -> Result<Option<Opened>> {
        use rusqlite::OptionalExtension;
        let (Some(log), Ok(seq)) = (self.find_number(at.log)?, i64::try_from(at.seq)) else {
            return Ok(None);
        };
        let item: Option<Vec<u8>> = self
            .connection
            .prepare_cached("SELECT item FROM record WHERE log = ?1 AND seq = ?2 AND id = ?3")
            .and_then(|mut query| {
                query
                    .query_row(params![log, seq, &at.id.0[..]], |row| row.get(0))
                    .optional()
            })
            .during("read a record")?;
        item.map(|item| stored_item(&item)).transpose()
    }

    /// Reads a definition by the name of its record, whether or not it counts.
    pub(super) fn find_definition(&self, at: RecordRef) -> Result<Option<Station>> {
        let Some(Opened::Record(record)) = self.find_item(at)? else {
            return Ok(None);
        };
        if record.kind() != Kind::StationRevision.number() {
            return Ok(None);
        }
        match Body::decode(record.kind(), record.body()) {
            Ok(Body::StationRevision(station)) => Ok(Some(*station)),
            _ => Ok(None),
        }
    }

    /// The reference in the first three columns of a row.
    pub(super) fn reference_in(&self, row: &Row<'_>) -> Result<RecordRef> {
        let get = |n: usize| row.get::<_, i64>(n).during("read a reference");
        self.reference(get(0)?, get(1)?, row.get(2).during("read a reference")?)
    }
}

/// The record before the one of a row `log, seq, id, item`. What a newer format says of its predecessor
/// is not understood.
pub(super) fn predecessor_in(row: &Row<'_>) -> Result<Option<RecordId>> {
    let item = row
        .get_ref(3)
        .and_then(|value| Ok(value.as_blob()?))
        .during("read an item")?;
    Ok(match stored_item(item)? {
        Opened::Record(record) => record.record().prev,
        Opened::Newer(_) => None,
    })
}

/// Reads an item that was checked when it was stored.
pub(super) fn stored_item(item: &[u8]) -> Result<Opened> {
    match parse_item(item) {
        Ok((parsed, length)) if length == item.len() => Ok(parsed.into_unchecked()),
        Ok(_) => Err(Error::DatabaseContent {
            what: "bytes after an item",
        }),
        Err(error) => Err(Error::DatabaseDamaged {
            action: "read an item",
            source: Box::new(error),
        }),
    }
}

fn measured(row: &Row<'_>, value: usize, digit: usize) -> rusqlite::Result<Option<Measured>> {
    let (pa, digit_pa): (Option<i64>, Option<i64>) = (row.get(value)?, row.get(digit)?);
    Ok(pa
        .zip(digit_pa)
        .map(|(pa, digit_pa)| Measured { pa, digit_pa }))
}

fn answer_fact(record: &SignedRecord, body: Body) -> Option<(QuestionId, AnswerFact)> {
    let Body::Answer(answer) = body else {
        return None;
    };
    let fact = AnswerFact {
        at: record.reference(),
        about: answer.about,
        replaces: record.record().refs.clone(),
        choice: answer.choice,
    };
    Some((answer.question, fact))
}
