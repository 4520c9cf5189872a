//! The check of every stored record: is it the one its name says, and does it follow the one before?
//!
//! The names of records are hashes of their content and each names the record before it in its log,
//! so one pass over the table finds a changed byte, a missing place and a wrong link. Signatures are
//! not checked again: they were when the record came in, and the hash says that it is the same.

use winze_sync_format::{LogId, Opened, RecordId, RecordRef};

use super::database::{Database, During};
use super::facts::stored_item;
use crate::{Error, Result};

/// What the pass over all records found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Chains {
    /// Places of the own log that no record here fills, as first and last.
    pub(super) own_gaps: Vec<(u64, u64)>,
    /// Records whose named predecessor is not here although its place is filled by another: a log
    /// that was copied, or written to from two folders.
    pub(super) broken_links: Vec<RecordRef>,
    /// Records in all.
    pub(super) records: u64,
}

/// Where the pass is in one log.
struct Place {
    log: i64,
    seq: u64,
    /// Ids at the place before, empty when nothing fills it.
    before: Vec<RecordId>,
    here: Vec<RecordId>,
}

impl Database {
    /// Checks every record.
    ///
    /// # Errors
    /// [`Error::DatabaseDamaged`] when a stored record is not the one its name says.
    pub(super) fn check_chains(&self, own: LogId) -> Result<Chains> {
        let action = "check every record";
        let own = self.find_number(own)?;
        let mut chains = Chains::default();
        let mut place = Place {
            log: 0,
            seq: 0,
            before: Vec::new(),
            here: Vec::new(),
        };
        let mut query = self
            .connection
            .prepare("SELECT log, seq, id, item FROM record ORDER BY log, seq, id")
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        while let Some(row) = rows.next().during(action)? {
            let log: i64 = row.get(0).during(action)?;
            let at = self.reference_in(row)?;
            let item = row
                .get_ref(3)
                .and_then(|value| Ok(value.as_blob()?))
                .during(action)?;
            let opened = stored_item(item)?;
            if opened.reference() != at {
                return Err(Error::DatabaseDamaged {
                    action,
                    source: format!("another record under the name {at}").into(),
                });
            }
            let skipped = place.go_to(log, at.seq);
            if Some(log) == own {
                chains.own_gaps.extend(skipped);
            }
            if let Opened::Record(record) = &opened
                && let Some(prev) = record.record().prev
                && !place.before.is_empty()
                && !place.before.contains(&prev)
            {
                chains.broken_links.push(at);
            }
            place.here.push(at.id);
            chains.records += 1;
        }
        Ok(chains)
    }
}

impl Place {
    /// Moves on; returns the places that were passed over within the log.
    fn go_to(&mut self, log: i64, seq: u64) -> Option<(u64, u64)> {
        if log != self.log {
            self.before.clear();
            self.here.clear();
            (self.log, self.seq) = (log, seq);
            return seq.checked_sub(1).map(|last| (0, last));
        }
        let step = seq - self.seq;
        if step == 0 {
            return None;
        }
        self.before = std::mem::take(&mut self.here);
        let passed = (step > 1).then(|| (self.seq + 1, seq - 1));
        if passed.is_some() {
            self.before.clear();
        }
        self.seq = seq;
        passed
    }
}
