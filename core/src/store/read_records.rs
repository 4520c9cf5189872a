//! Reading any record by name.

use rusqlite::params;
use winze_sync_format::{Opened, RecordRef};

use super::Logbook;
use super::database::During;
use crate::query::RecordView;
use crate::record::Body;
use crate::{Error, Result};

impl Logbook {
    pub(crate) fn read_record(&self, at: RecordRef) -> Result<RecordView> {
        let opened = self
            .database
            .find_item(at)?
            .ok_or(Error::UnknownRecord { at })?;
        let (log_name, is_held) = self.standing_of(at)?;
        let mut view = RecordView {
            at,
            prev: None,
            is_linked: false,
            kind: super::insert::NEWER_KIND,
            person: String::new(),
            clock: None,
            refs: Vec::new(),
            body: None,
            not_understood: None,
            log_name,
            is_held,
            state: None,
            item: opened.item().to_vec(),
        };
        match opened {
            Opened::Newer(newer) => {
                view.not_understood = Some(format!("format version {}", newer.version));
            }
            Opened::Record(signed) => {
                let record = signed.record();
                view.kind = record.kind;
                view.prev = record.prev;
                view.person.clone_from(&record.person);
                view.clock = Some(record.clock);
                view.refs.clone_from(&record.refs);
                match Body::decode(record.kind, &record.body) {
                    Ok(body) => view.body = Some(body),
                    Err(error) => view.not_understood = Some(error.to_string()),
                }
                view.is_linked = match (record.prev, at.seq.checked_sub(1)) {
                    (Some(id), Some(seq)) => self.database.holds(&RecordRef {
                        log: at.log,
                        seq,
                        id,
                    })?,
                    _ => true,
                };
            }
        }
        if matches!(view.body, Some(Body::Reading(_))) {
            view.state = Some(self.read_visit(at)?.state);
        }
        Ok(view)
    }

    /// What the record's log is called here, and whether the record is kept without counting.
    fn standing_of(&self, at: RecordRef) -> Result<(String, bool)> {
        let (log, seq, _) = self.database.stored_if_known(at)?;
        let mut query = self
            .database
            .connection
            .prepare_cached("SELECT name, ?2 > reach FROM trust WHERE log = ?1")
            .during("read whether a record counts")?;
        let mut rows = query
            .query(params![log, seq])
            .during("read whether a record counts")?;
        match rows.next().during("read whether a record counts")? {
            Some(row) => Ok((
                row.get(0).during("read whether a record counts")?,
                row.get(1).during("read whether a record counts")?,
            )),
            None => Ok((String::new(), true)),
        }
    }

    pub(crate) fn holds_record(&self, at: &RecordRef) -> Result<bool> {
        self.database.holds(at)
    }

    pub(crate) fn find_by_id_prefix(&self, prefix: &str, limit: usize) -> Result<Vec<RecordRef>> {
        self.find_where_hex(
            prefix,
            "SELECT r.log, r.seq, r.id FROM record r JOIN log l ON l.n = r.log
             WHERE lower(hex(r.id)) LIKE ?1 || '%' AND ?3 IS NULL
             ORDER BY l.id, r.seq, r.id LIMIT ?2",
            None,
            limit,
        )
    }

    pub(crate) fn find_by_place(
        &self,
        log_prefix: &str,
        seq: u64,
        limit: usize,
    ) -> Result<Vec<RecordRef>> {
        let Ok(seq) = i64::try_from(seq) else {
            return Ok(Vec::new());
        };
        self.find_where_hex(
            log_prefix,
            "SELECT r.log, r.seq, r.id FROM log l JOIN record r ON r.log = l.n
             WHERE lower(hex(l.id)) LIKE ?1 || '%' AND r.seq = ?3
             ORDER BY l.id, r.seq, r.id LIMIT ?2",
            Some(seq),
            limit,
        )
    }

    fn find_where_hex(
        &self,
        prefix: &str,
        query: &str,
        seq: Option<i64>,
        limit: usize,
    ) -> Result<Vec<RecordRef>> {
        let action = "look for a record";
        let prefix = prefix.to_ascii_lowercase();
        let is_hex = prefix.bytes().all(|byte| byte.is_ascii_hexdigit());
        if prefix.is_empty() || !is_hex {
            return Ok(Vec::new());
        }
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        let mut query = self
            .database
            .connection
            .prepare_cached(query)
            .during(action)?;
        let mut rows = query.query(params![prefix, limit, seq]).during(action)?;
        let mut found = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            found.push(self.database.reference_in(row)?);
        }
        Ok(found)
    }
}
