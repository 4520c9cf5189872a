//! Putting one record into the set: its item, whether its place is taken twice, and whether it was
//! understood.
//!
//! The rows that follow from its body are in `rows`, what depends on several records in `derive`.

use std::collections::BTreeSet;

use rusqlite::{Params, params};
use winze_sync_format::{Opened, RecordId, RecordRef, SignedRecord};

use super::database::{Database, During, stored_seq};
use crate::Result;
use crate::record::Body;

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
    /// Logs, by their local numbers, whose times must be worked out again.
    pub(super) clocks: BTreeSet<i64>,
}

impl Dirty {
    pub(super) fn is_empty(&self) -> bool {
        self.stations.is_empty() && self.clocks.is_empty() && !self.trust && !self.forks
    }
}

/// What became of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Put {
    /// It was there already.
    Held,
    /// It is new.
    New {
        /// Whether it is a reading that was understood.
        is_reading: bool,
        /// Whether its body was understood.
        is_understood: bool,
    },
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
        self.mark_clock(self.number(at.log)?, dirty)?;
        let Ok(body) = Body::decode(record.kind(), record.body()) else {
            self.put_not_understood(at, record.kind())?;
            return Ok(Put::New {
                is_reading: false,
                is_understood: false,
            });
        };
        self.put_rows(at, record.record(), &body, dirty)?;
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
        if seq > self.newest(log)? {
            return Ok(false);
        }
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
        let newest = self.newest(log)?;
        let added = self
            .connection
            .prepare_cached("INSERT OR IGNORE INTO record (log, seq, id, kind, item) VALUES (?1, ?2, ?3, ?4, ?5)")
            .and_then(|mut insert| insert.execute(params![log, seq, &at.id.0[..], kind, item]))
            .during("add a record")?;
        if added == 0 {
            return Ok(false);
        }
        // Behind the newest record of its log a place cannot be taken yet.
        if seq > newest {
            self.note_newest(log, seq);
        } else if self.is_taken_twice(log, seq)? {
            self.run(
                "INSERT OR IGNORE INTO fork (log, seq) VALUES (?1, ?2)",
                params![log, seq],
            )?;
            dirty.forks = true;
        }
        Ok(true)
    }

    fn is_taken_twice(&self, log: i64, seq: i64) -> Result<bool> {
        let records: i64 = self
            .connection
            .prepare_cached("SELECT count(*) FROM record WHERE log = ?1 AND seq = ?2")
            .and_then(|mut query| query.query_row(params![log, seq], |row| row.get(0)))
            .during("look for a second record")?;
        Ok(records > 1)
    }

    fn put_not_understood(&self, at: RecordRef, kind: u64) -> Result<()> {
        let (log, seq) = (self.number(at.log)?, stored_seq(at.seq)?);
        self.run(
            "INSERT INTO not_understood (log, seq, id, kind) VALUES (?1, ?2, ?3, ?4)",
            params![log, seq, &at.id.0[..], kind.cast_signed()],
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
