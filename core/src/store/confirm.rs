//! Confirming records: into the synced segment, then committed in the database, then returned. Of
//! several at once the database has them first.
//!
//! The first failed write stops the logbook: the system may have thrown away what it had accepted,
//! and a record that is in one witness only must not be sealed a second time under its number. The
//! next start reads both witnesses and makes good.

use sha2::{Digest, Sha256};
use winze_sync_format::{ClockReading, Draft, LogHead, LogId, Opened, RecordRef, seal};

use super::Logbook;
use super::database::{Database, During};
use super::facts::Own;
use super::insert::{Dirty, Put};
use super::segments::Series;
use crate::record::{Body, Role};
use crate::{Error, Result};

/// A record to be confirmed.
#[derive(Debug, Clone)]
pub struct NewRecord {
    body: Body,
    person: String,
    refs: Vec<RecordRef>,
    nonce: Option<[u8; 8]>,
}

impl NewRecord {
    /// A statement by a person.
    #[must_use]
    pub fn new(body: Body, person: impl Into<String>) -> Self {
        Self {
            body,
            person: person.into(),
            refs: Vec::new(),
            nonce: None,
        }
    }

    /// The same, naming the records it replaces.
    #[must_use]
    pub fn replacing(mut self, refs: Vec<RecordRef>) -> Self {
        self.refs = refs;
        self
    }

    /// The same, with the nonce of its draft.
    #[must_use]
    pub fn with_nonce(mut self, nonce: [u8; 8]) -> Self {
        self.nonce = Some(nonce);
        self
    }
}

impl Logbook {
    /// Confirms one record.
    pub(crate) fn confirm_one(&mut self, record: NewRecord) -> Result<RecordRef> {
        let confirmed = self.confirm(vec![record])?;
        confirmed.first().copied().ok_or(Error::DatabaseContent {
            what: "nothing was confirmed",
        })
    }

    /// Confirms records with one sync and one commit.
    pub(crate) fn confirm(&mut self, records: Vec<NewRecord>) -> Result<Vec<RecordRef>> {
        let confirmed = self.write_own(records, true)?;
        Ok(confirmed)
    }

    /// Confirms records and leaves what they come to for [`Logbook::settle`].
    pub(crate) fn confirm_unsettled(&mut self, records: Vec<NewRecord>) -> Result<Vec<RecordRef>> {
        self.write_own(records, false)
    }

    fn write_own(&mut self, records: Vec<NewRecord>, settle: bool) -> Result<Vec<RecordRef>> {
        self.check_running()?;
        if records.is_empty() {
            return Ok(Vec::new());
        }
        let clock = self.clock.now();
        let mut head = self.head;
        let mut sealed = Vec::with_capacity(records.len());
        for record in records {
            let nonce = record.nonce.unwrap_or_else(|| nonce_of(&head, &clock));
            let draft = Draft {
                kind: record.body.kind().number(),
                clock,
                person: record.person,
                refs: record.refs,
                body: record.body.encode()?,
                nonce,
            };
            sealed.push(Opened::Record(seal(&self.key, &mut head, draft)?));
        }
        self.write(Series::Own, &sealed, settle)?;
        self.head = head;
        Ok(sealed.iter().map(Opened::reference).collect())
    }

    /// Writes checked records that are not here yet. Returns what became of each.
    pub(super) fn write(
        &mut self,
        series: Series,
        records: &[Opened],
        settle: bool,
    ) -> Result<Vec<Put>> {
        self.check_running()?;
        let mut outcome = self.try_write(series, records, settle);
        if matches!(outcome, Err(Error::NoSpace { .. })) && series == Series::Own {
            // Also a ballast that cannot be given up stops the logbook.
            match self.release_ballast() {
                Ok(true) => outcome = self.write_after_release(records, settle),
                Ok(false) => {}
                Err(error) => outcome = Err(error),
            }
        }
        if let Err(error) = &outcome {
            self.stopped = Some(error.to_string());
        }
        outcome
    }

    fn try_write(&mut self, series: Series, records: &[Opened], settle: bool) -> Result<Vec<Put>> {
        if series == Series::Own && records.len() > 1 {
            // Of an append any part may outlast a power cut, the second record without the first too,
            // and a gap in the own log would stay for ever. A commit is whole or not at all.
            let became = self.commit(records, settle)?;
            self.append(series, records)?;
            return Ok(became);
        }
        self.append(series, records)?;
        self.commit(records, settle)
    }

    /// The records are sealed and may be in one witness already: they are written as they are, as far
    /// as they are not there after both were read again.
    fn write_after_release(&mut self, records: &[Opened], settle: bool) -> Result<Vec<Put>> {
        self.recover()?;
        let mut missing = Vec::new();
        for record in records {
            if !self.database.holds(&record.reference())? {
                missing.push(record.clone());
            }
        }
        if missing.is_empty() {
            return Ok(vec![Put::Held; records.len()]);
        }
        self.try_write(Series::Own, &missing, settle)
    }

    fn append(&mut self, series: Series, records: &[Opened]) -> Result<()> {
        let items = records.iter().map(Opened::item);
        self.segments.append(series, items)
    }

    fn commit(&self, records: &[Opened], settle: bool) -> Result<Vec<Put>> {
        let database = &self.database;
        database.in_transaction(|| {
            let mut dirty = Dirty::default();
            let mut became = Vec::with_capacity(records.len());
            for record in records {
                became.push(database.put_opened(record, &mut dirty)?);
            }
            // The very first record makes the own log count.
            dirty.trust |= self.head.next_seq == 0;
            if settle {
                database.derive(&self.own, dirty)?;
            } else {
                database.note_dirty(&dirty)?;
            }
            Ok(became)
        })
    }

    /// Works out what unsettled records come to.
    pub(crate) fn settle(&mut self) -> Result<()> {
        self.settle_watched(&mut |_, _| true)
    }

    /// As [`Logbook::settle`]; `goes_on` is told how many stations are done and how many there are
    /// in all. Once it says no, the rest is not judged until it is asked for or the logbook is opened
    /// anew; what counts and what is asked is worked out all the same.
    pub(crate) fn settle_watched(
        &mut self,
        goes_on: &mut dyn FnMut(u64, u64) -> bool,
    ) -> Result<()> {
        self.check_running()?;
        let database = &self.database;
        let outcome = database.in_transaction(|| {
            let dirty = database.noted_dirty()?;
            database.derive_watched(&self.own, dirty, goes_on)
        });
        if let Err(error) = &outcome {
            self.stopped = Some(error.to_string());
        }
        outcome
    }

    pub(super) fn check_running(&self) -> Result<()> {
        match &self.stopped {
            Some(reason) => Err(Error::Stopped {
                reason: reason.clone(),
            }),
            None => Ok(()),
        }
    }
}

/// A nonce for a record that has no draft: its place in the log makes it unique there.
pub(super) fn nonce_of(head: &LogHead, clock: &ClockReading) -> [u8; 8] {
    let mut hash = Sha256::new();
    hash.update(head.log.0);
    hash.update(head.next_seq.to_be_bytes());
    hash.update(clock.wall_ms.to_be_bytes());
    hash.update(clock.boot);
    hash.update(clock.monotonic_ms.to_be_bytes());
    let digest: [u8; 32] = hash.finalize().into();
    let mut nonce = [0; 8];
    nonce.copy_from_slice(&digest[..8]);
    nonce
}

impl Database {
    /// Where a log goes on: behind its last record here.
    pub(super) fn head(&self, log: LogId) -> Result<LogHead> {
        use rusqlite::OptionalExtension;
        let Some(number) = self.find_number(log)? else {
            return Ok(LogHead::empty(log));
        };
        let last: Option<(i64, [u8; 32])> = self
            .connection
            .query_row(
                "SELECT seq, id FROM record WHERE log = ?1 ORDER BY seq DESC, id DESC LIMIT 1",
                [number],
                |row| Ok((row.get(0)?, row.get(1)?)),
            )
            .optional()
            .during("find the head")?;
        match last {
            Some((seq, id)) => Ok(LogHead::after(&self.reference(number, seq, id)?)?),
            None => Ok(LogHead::empty(log)),
        }
    }

    /// What a log says of itself in its first record.
    pub(super) fn own_opened(&self, log: LogId) -> Result<Option<Own>> {
        use rusqlite::OptionalExtension;
        let Some(number) = self.find_number(log)? else {
            return Ok(None);
        };
        let opened: Option<(String, String)> = self
            .connection
            .query_row(
                "SELECT role, label FROM log_opened WHERE log = ?1 ORDER BY seq, id LIMIT 1",
                [number],
                |row| Ok((row.get(0)?, row.get(1)?)),
            )
            .optional()
            .during("read the first record")?;
        Ok(opened.and_then(|(role, label)| {
            Some(Own {
                log,
                role: Role::from_code(&role)?,
                label,
            })
        }))
    }
}
