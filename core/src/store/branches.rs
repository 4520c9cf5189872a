//! How far a copied log has arrived at an office: on every branch of it that is here.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::params;
use winze_sync_format::RecordId;

use super::database::{Database, During};
use super::facts::predecessor_in;
use crate::Result;

impl Database {
    /// Whether a place in a log is taken twice.
    pub(super) fn is_copied(&self, log: i64) -> Result<bool> {
        self.connection
            .prepare_cached("SELECT 1 FROM fork WHERE log = ?1")
            .and_then(|mut query| query.exists([log]))
            .during("look for forks")
    }

    /// The last place of a copied log up to which every record here was acknowledged by an office:
    /// its own record by name, or one that follows it on its branch. `table` holds the
    /// acknowledgements.
    ///
    /// The newest acknowledgement alone would not do: once both branches are here, that of the longer
    /// one says nothing about the other.
    pub(super) fn arrived_on_every_branch(&self, log: i64, table: &str) -> Result<Option<u64>> {
        let links = self.links(log)?;
        let mut left = self.acknowledged_names(log, table)?;
        let mut arrived = BTreeSet::new();
        while let Some(id) = left.pop() {
            if let Some((_, prev)) = links.get(&id)
                && arrived.insert(id)
            {
                left.extend(prev);
            }
        }
        let is_left = |(id, _): &(&RecordId, _)| !arrived.contains(*id);
        let places = |(_, (seq, _)): (_, &(u64, _))| *seq;
        let first_left = links.iter().filter(is_left).map(places).min();
        Ok(match first_left {
            Some(seq) => seq.checked_sub(1),
            None => links.values().map(|(seq, _)| *seq).max(),
        })
    }

    /// The place of every record of a log, and the record before it.
    fn links(&self, log: i64) -> Result<BTreeMap<RecordId, (u64, Option<RecordId>)>> {
        let action = "follow a log";
        let mut query = self
            .connection
            .prepare_cached("SELECT log, seq, id, item FROM record WHERE log = ?1")
            .during(action)?;
        let mut rows = query.query([log]).during(action)?;
        let mut links = BTreeMap::new();
        while let Some(row) = rows.next().during(action)? {
            let at = self.reference_in(row)?;
            let prev = predecessor_in(row)?;
            links.insert(at.id, (at.seq, prev));
        }
        Ok(links)
    }

    fn acknowledged_names(&self, log: i64, table: &str) -> Result<Vec<RecordId>> {
        self.connection
            .prepare_cached(&format!(
                "SELECT a.to_id FROM {table} a JOIN trust t ON t.log = a.log AND a.seq <= t.reach
                 WHERE a.target = ?1 AND t.role = 'office'"
            ))
            .and_then(|mut query| {
                query
                    .query_map(params![log], |row| Ok(RecordId(row.get(0)?)))?
                    .collect()
            })
            .during("read acknowledgements")
    }
}
