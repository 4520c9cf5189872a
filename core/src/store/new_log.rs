//! Going on in a new log, with a new key, in the same folder.
//!
//! Two holders of one key would write two logs under one name. So on any doubt whether this folder is
//! the only holder, the logbook makes a new key and begins a log whose first record names the last
//! known record of the former one. Nothing is removed but the old key, which nobody is to sign with
//! any more.
//!
//! The order is: the new key is saved beside the old one, the first record is written and committed,
//! the old key is removed, the new one gets its name. A start that finds both keys sees by the first
//! record whether to go on with the change or to forget about it.

use std::path::Path;
use std::sync::Arc;

use rusqlite::{OptionalExtension, params};
use winze_sync_format::disk::Disk;
use winze_sync_format::{LogHead, LogId, LogKey, RecordId, RecordRef};

use super::database::{Database, During};
use super::facts::Own;
use super::folder::{Folder, key_of, next_key_of};
use super::insert::Dirty;
use super::segments::Series;
use super::whereabouts::{Whereabouts, note_whereabouts};
use super::{Logbook, NewRecord};
use crate::clock::Clock;
use crate::merge::OwnLogs;
use crate::record::{Body, LogContinued, NewLogWhy, OfficeReplaced, Role};
use crate::{Error, Result};

/// A new log that was begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NewLog {
    /// Its first record.
    pub at: RecordRef,
    /// The last record of the former log that was here.
    pub former: RecordRef,
    /// Why it was begun.
    pub why: NewLogWhy,
}

impl Logbook {
    /// Makes a new key and goes on in a new log, whose first record names the last record of the
    /// present one. Everything of the present log stays and counts here as before; for others the new
    /// log is unknown until they compare its words.
    ///
    /// # Errors
    /// Those of writing.
    pub fn begin_new_log(&mut self, why: NewLogWhy, by: &str) -> Result<NewLog> {
        self.check_running()?;
        let key = next_key(self.segments.disk(), self.folder.path())?;
        self.go_on_in(key, why, by)
    }

    /// Opens a folder whose segments came from a backup and that has no key: makes a key and begins a
    /// new log that goes on where the records of `former` end.
    ///
    /// # Errors
    /// [`Error::LogbookExists`] when there is a key, [`Error::UnknownLog`] when no record of `former`
    /// is there, and those of opening.
    pub fn open_restored(
        disk: Arc<dyn Disk>,
        dir: &Path,
        former: LogId,
        clock: Arc<dyn Clock>,
        by: &str,
    ) -> Result<(Self, NewLog)> {
        if disk.exists(&key_of(dir)) {
            return Err(Error::LogbookExists {
                path: dir.to_owned(),
            });
        }
        let folder = Folder::lock(dir)?;
        let key = next_key(&*disk, dir)?;
        let own = Own {
            log: key.log_id(),
            role: Role::Tablet,
            label: String::new(),
        };
        let mut logbook = Self::assemble(folder, disk, key, own, clock)?;
        let Some(own) = logbook.database.own_opened(former)? else {
            return Err(Error::UnknownLog { log: former });
        };
        // A crash while restoring may have left the first record written and the key not renamed.
        if logbook.head.next_seq == 0 {
            logbook.own = own;
            logbook.head = logbook.database.head(former)?;
            let key = next_key(logbook.segments.disk(), dir)?;
            let new = logbook.go_on_in(key, NewLogWhy::Restored, by)?;
            return Ok((logbook, new));
        }
        logbook.finish_change()?;
        let new = logbook.database.first_of(logbook.own.log)?;
        let new = new.ok_or(Error::UnknownLog { log: former })?;
        Ok((logbook, new))
    }

    /// Replaces the office's key on purpose: the old key signs that the office goes on under the new
    /// one and that its own records count no further than `last_seq`; up to there everything it
    /// acknowledged stays acknowledged. All when absent.
    ///
    /// # Errors
    /// [`Error::NotAnOffice`], and those of writing.
    pub(crate) fn write_replacement(
        &mut self,
        last_seq: Option<u64>,
        reason: String,
        by: &str,
    ) -> Result<NewLog> {
        if self.own.role != Role::Office {
            return Err(Error::NotAnOffice);
        }
        self.check_running()?;
        let key = next_key(self.segments.disk(), self.folder.path())?;
        let newest = self.head.next_seq;
        let body = OfficeReplaced {
            log: key.log_id(),
            last_seq: last_seq.map_or(newest, |last| last.min(newest)),
            reason,
        };
        self.confirm_one(NewRecord::new(Body::OfficeReplaced(body), by))?;
        self.go_on_in(key, NewLogWhy::KeyReplaced, by)
    }

    fn go_on_in(&mut self, key: LogKey, why: NewLogWhy, by: &str) -> Result<NewLog> {
        let former = self.last_record()?;
        let body = LogContinued {
            role: self.own.role,
            label: self.own.label.clone(),
            former,
            why,
        };
        // The records of a log stand in files of their own.
        self.segments.begin_file(Series::Own)?;
        self.own.log = key.log_id();
        self.head = LogHead::empty(self.own.log);
        self.key = key;
        let written = self.confirm_one(NewRecord::new(Body::LogContinued(body), by));
        let changed = written.and_then(|at| {
            self.finish_change()?;
            Ok(at)
        });
        match changed {
            Ok(at) => {
                let new = NewLog { at, former, why };
                self.report.new_log = Some(new);
                Ok(new)
            }
            Err(error) => {
                // Which key the folder has now is for the next start to find out.
                self.stopped = Some(error.to_string());
                Err(error)
            }
        }
    }

    /// Whether a log is the own one or one that it went on from.
    pub(crate) fn is_own(&self, log: LogId) -> Result<bool> {
        let own = self.database.own_logs(&self.own)?;
        Ok(log == own.log || own.former.iter().any(|(former, _)| *former == log))
    }

    /// The last record of the own log.
    fn last_record(&self) -> Result<RecordRef> {
        let seq = self.head.next_seq.checked_sub(1);
        match (seq, self.head.prev) {
            (Some(seq), Some(id)) => Ok(RecordRef {
                log: self.head.log,
                seq,
                id,
            }),
            _ => Err(Error::UnknownLog { log: self.head.log }),
        }
    }

    /// Removes the old key and gives the new one its name.
    fn finish_change(&mut self) -> Result<()> {
        take_next_key(self.segments.disk(), self.folder.path())?;
        if let Some(here) = &self.here {
            note_whereabouts(self.segments.disk(), self.folder.path(), here)?;
        }
        Ok(())
    }

    /// Completes a change of key whose first record was written. Returns whether there was one.
    pub(super) fn take_up(&mut self, next: LogKey) -> Result<bool> {
        let log = next.log_id();
        let (Some(_), Some(own)) = (self.database.first_of(log)?, self.database.own_opened(log)?)
        else {
            return Ok(false);
        };
        self.key = next;
        self.own = own;
        self.head = self.database.head(log)?;
        let dirty = Dirty {
            trust: true,
            ..Dirty::default()
        };
        self.database
            .in_transaction(|| self.database.derive(&self.own, dirty))?;
        take_next_key(self.segments.disk(), self.folder.path())?;
        Ok(true)
    }

    /// Sees to what a crash interrupted, and goes on in a new log where the old name is in doubt.
    pub(super) fn see_to_the_name(&mut self, here: Option<Whereabouts>) -> Result<()> {
        self.here = here;
        if self.database.was_replaced(self.own.log)? && self.own.role == Role::Office {
            self.begin_new_log(NewLogWhy::KeyReplaced, "")?;
        } else if let Some(why) = self.place_in_doubt()? {
            self.begin_new_log(why, "")?;
        } else if let Some(why) = self.name_in_doubt(self.head)? {
            self.begin_new_log(why, "")?;
        } else if self.here.is_some() && !self.has_noted_whereabouts() {
            self.finish_noting()?;
        }
        Ok(())
    }

    /// Why others must hold the own log's key or a newer state of it, if anything here shows it:
    /// records under its name that were not written here, or an office that holds more than `head`.
    pub(super) fn name_in_doubt(&self, head: LogHead) -> Result<Option<NewLogWhy>> {
        let Some(own) = self.database.find_number(self.own.log)? else {
            return Ok(None);
        };
        if self.database.is_forked(own)? {
            return Ok(Some(NewLogWhy::Copied));
        }
        let newest = self.database.head(self.own.log)?.next_seq;
        if newest > head.next_seq {
            return Ok(Some(NewLogWhy::RolledBack));
        }
        self.database.acknowledged_beyond(own, head.next_seq)
    }

    /// Goes on in a new log when a merge showed that the own name is in doubt; `before` is the head
    /// before the merge.
    pub(super) fn see_to_the_name_after(&mut self, before: LogHead) -> Result<Option<NewLog>> {
        let Some(why) = self.name_in_doubt(before)? else {
            return Ok(None);
        };
        // Of a copied log only the own branch is known to be ours.
        self.head = match why {
            NewLogWhy::Copied => before,
            _ => self.database.head(self.own.log)?,
        };
        self.begin_new_log(why, "").map(Some)
    }
}

/// The key that is to follow: one that is there already and was saved whole, else a new one.
fn next_key(disk: &dyn Disk, dir: &Path) -> Result<LogKey> {
    let path = next_key_of(dir);
    if disk.exists(&path) {
        if let Ok(key) = LogKey::load(disk, &path) {
            return Ok(key);
        }
        // Torn while it was being saved: nothing was ever signed with it.
        disk.remove(&path)
            .map_err(|error| Error::of_io("remove", &path, error))?;
    }
    let key = LogKey::generate()?;
    key.save(disk, &path)?;
    Ok(key)
}

/// Gives the next key the name of the key, which is removed.
fn take_next_key(disk: &dyn Disk, dir: &Path) -> Result<()> {
    let (key, next) = (key_of(dir), next_key_of(dir));
    if disk.exists(&next) {
        if disk.exists(&key) {
            disk.remove(&key)
                .map_err(|error| Error::of_io("remove", &key, error))?;
        }
        disk.rename(&next, &key)
            .map_err(|error| Error::of_io("rename", &next, error))?;
        disk.sync_folder(dir)
            .map_err(|error| Error::of_io("sync folder", dir, error))?;
    }
    Ok(())
}

/// The keys in a folder: one, or after a change that a crash interrupted also the next, or only that.
pub(super) struct Keys {
    pub(super) key: Option<LogKey>,
    pub(super) next: Option<LogKey>,
}

/// Finds the keys in a folder.
///
/// # Errors
/// A key that cannot be read; a next key that cannot be read was never used and counts as none.
pub(super) fn keys_in(disk: &dyn Disk, dir: &Path) -> Result<Keys> {
    let path = key_of(dir);
    let key = if disk.exists(&path) {
        Some(LogKey::load(disk, &path)?)
    } else {
        None
    };
    let next = LogKey::load(disk, &next_key_of(dir)).ok();
    Ok(Keys { key, next })
}

/// Where the first record of a log stands, the record it goes on from, and why.
type Row = (i64, i64, [u8; 32], i64, i64, [u8; 32], String);

impl Database {
    /// The own log with those it went on from, oldest first.
    pub(super) fn own_logs(&self, own: &Own) -> Result<OwnLogs> {
        let mut former = Vec::new();
        let mut at = own.log;
        while let Some(new) = self.first_of(at)? {
            at = new.former.log;
            // A log that claims to go on from itself, over whatever detour, ends here.
            if at == own.log || former.iter().any(|(log, _)| *log == at) {
                break;
            }
            former.push((at, new.former.seq));
        }
        former.reverse();
        Ok(OwnLogs {
            log: own.log,
            role: own.role,
            label: own.label.clone(),
            former,
        })
    }

    /// Writes down which logs the own log went on from. Returns whether anything has changed.
    pub(super) fn derive_former(&self, own: &OwnLogs) -> Result<()> {
        self.run("DELETE FROM own_former", [])?;
        for (place, (log, last_seq)) in own.former.iter().rev().enumerate() {
            self.run(
                "INSERT INTO own_former (log, place, last_seq) VALUES (?1, ?2, ?3)",
                params![
                    self.number(*log)?,
                    i64::try_from(place).unwrap_or(i64::MAX),
                    i64::try_from(*last_seq).unwrap_or(i64::MAX)
                ],
            )?;
        }
        Ok(())
    }

    /// What the first record of a log says about the log it goes on from.
    pub(super) fn first_of(&self, log: LogId) -> Result<Option<NewLog>> {
        let action = "read what a log goes on from";
        let Some(number) = self.find_number(log)? else {
            return Ok(None);
        };
        let row: Option<Row> = self
            .connection
            .prepare_cached(
                "SELECT log, seq, id, former_log, former_seq, former_id, why FROM log_continued
                 WHERE log = ?1 AND seq = 0 ORDER BY id LIMIT 1",
            )
            .and_then(|mut query| {
                query
                    .query_row([number], |row| {
                        Ok((
                            row.get(0)?,
                            row.get(1)?,
                            row.get(2)?,
                            row.get(3)?,
                            row.get(4)?,
                            row.get(5)?,
                            row.get(6)?,
                        ))
                    })
                    .optional()
            })
            .during(action)?;
        let Some((log, seq, id, former_log, former_seq, former_id, why)) = row else {
            return Ok(None);
        };
        let why = NewLogWhy::from_code(&why).ok_or(Error::DatabaseContent {
            what: "unknown reason of a new log",
        })?;
        Ok(Some(NewLog {
            at: self.reference(log, seq, id)?,
            former: self.reference(former_log, former_seq, former_id)?,
            why,
        }))
    }

    fn was_replaced(&self, log: LogId) -> Result<bool> {
        let Some(number) = self.find_number(log)? else {
            return Ok(false);
        };
        self.connection
            .prepare_cached("SELECT 1 FROM office_replaced WHERE log = ?1")
            .and_then(|mut query| query.exists([number]))
            .during("look for a replaced key")
    }

    pub(super) fn is_forked(&self, log: i64) -> Result<bool> {
        self.connection
            .prepare_cached("SELECT 1 FROM fork WHERE log = ?1")
            .and_then(|mut query| query.exists([log]))
            .during("look for forks")
    }

    /// Whether an office that counts holds records of a log that are not here: behind its end, or
    /// others at its places.
    fn acknowledged_beyond(&self, log: i64, next_seq: u64) -> Result<Option<NewLogWhy>> {
        let action = "compare acknowledgements with the own log";
        let next_seq = i64::try_from(next_seq).unwrap_or(i64::MAX);
        let lacking: Vec<(i64, [u8; 32])> = self
            .connection
            .prepare_cached(
                "SELECT a.to_seq, a.to_id FROM acknowledgement a
                 JOIN trust t ON t.log = a.log AND a.seq <= t.reach AND t.role = 'office'
                 WHERE a.target = ?1 AND NOT EXISTS (SELECT 1 FROM record r
                   WHERE r.log = a.target AND r.seq = a.to_seq AND r.id = a.to_id)",
            )
            .and_then(|mut query| {
                query
                    .query_map([log], |row| Ok((row.get(0)?, row.get(1)?)))?
                    .collect()
            })
            .during(action)?;
        let mut found = None;
        for (seq, id) in lacking {
            if seq >= next_seq {
                return Ok(Some(NewLogWhy::RolledBack));
            }
            // A place that no record here fills is a gap, and says nothing about copies.
            if self.is_filled_otherwise(log, seq, RecordId(id))? {
                found = Some(NewLogWhy::Copied);
            }
        }
        Ok(found)
    }

    fn is_filled_otherwise(&self, log: i64, seq: i64, id: RecordId) -> Result<bool> {
        self.connection
            .prepare_cached("SELECT 1 FROM record WHERE log = ?1 AND seq = ?2 AND id <> ?3")
            .and_then(|mut query| query.exists(params![log, seq, &id.0[..]]))
            .during("look at a place of the own log")
    }
}
