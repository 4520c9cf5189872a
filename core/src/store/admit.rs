//! Taking in the records of a bundle: batch by batch into a received segment, synced, then committed.

use std::collections::{BTreeMap, HashSet};
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use rusqlite::params;
use winze_sync_format::{LogHead, LogId, Opened, RecordRef};

use super::Logbook;
use super::database::Database;
use super::incoming::{lock, read_in_portions};
use super::insert::{Dirty, Put};
use super::quota::{Quota, Room};
use super::segments::{Segments, Series};
use super::start::{BATCH, BATCH_BYTES};
use crate::Result;
use crate::actions::{BundleMerged, OnProgress, Progress, Stage};

/// What a merge keeps in mind from bundle to bundle.
pub(crate) struct Merging {
    /// Bytes of all bundles together.
    pub(crate) total_bytes: u64,
    /// Bytes of the bundles that are done.
    pub(crate) done_bytes: u64,
    /// Whether anything new came in.
    has_new: bool,
    /// Sequence numbers of new records, by log, for each bundle.
    new: Vec<BTreeMap<LogId, Vec<u64>>>,
    /// The head of the own log before the first bundle.
    before: Option<LogHead>,
    /// The room for what does not count.
    room: Room,
}

impl Merging {
    /// A merge of bundles of this many bytes together.
    pub(crate) fn of(total_bytes: u64, quota: Quota) -> Self {
        Self {
            total_bytes,
            done_bytes: 0,
            has_new: false,
            new: Vec::new(),
            before: None,
            room: Room::of(quota),
        }
    }
}

/// What became of one bundle, while it is being read.
struct Taking {
    merged: BundleMerged,
    /// Sequence numbers of new records, by log.
    new: BTreeMap<LogId, Vec<u64>>,
    batch: Vec<Opened>,
    batch_bytes: usize,
    in_batch: HashSet<RecordRef>,
}

impl Taking {
    fn add(&mut self, opened: Opened, room: &mut Room, database: &Mutex<Database>) -> Result<()> {
        let at = opened.reference();
        if i64::try_from(at.seq).is_err() {
            self.merged.refused += 1;
        } else if self.in_batch.contains(&at) {
            self.merged.already_held += 1;
        } else if room.take(&lock(database), &opened)? {
            self.in_batch.insert(at);
            self.batch_bytes += opened.item().len();
            self.batch.push(opened);
        } else {
            self.merged.leave_aside(at);
        }
        Ok(())
    }

    fn is_full(&self) -> bool {
        self.batch.len() >= BATCH || self.batch_bytes >= BATCH_BYTES
    }
}

impl Logbook {
    /// The length of a bundle, or 0 where that cannot be told.
    pub(crate) fn bundle_bytes(&self, path: &Path) -> u64 {
        self.segments.disk().length(path).unwrap_or(0)
    }

    /// Takes in one bundle; returns what became of it and whether it was read to its end. What it
    /// comes to is left for [`Logbook::settle_merge`].
    pub(crate) fn take_in(
        &mut self,
        path: &Path,
        merging: &mut Merging,
        progress: &mut OnProgress<'_>,
    ) -> Result<(BundleMerged, bool)> {
        self.check_running()?;
        let mut taking = Taking {
            merged: BundleMerged::of(path),
            new: BTreeMap::new(),
            batch: Vec::new(),
            batch_bytes: 0,
            in_batch: HashSet::new(),
        };
        merging.before.get_or_insert(self.head);
        let outcome = self.read_bundle(path, &mut taking, merging, progress);
        if let Err(error) = &outcome {
            self.stopped = Some(error.to_string());
        }
        let is_finished = outcome?;
        if taking.new.contains_key(&self.own.log) {
            self.head = self.database.head(self.own.log)?;
        }
        merging.new.push(taking.new);
        Ok((taking.merged, is_finished))
    }

    /// Works out what came in, and notes in the reports what of it does not count: only now it is
    /// known which logs do, as an enrolment may have come in the last bundle.
    pub(crate) fn settle_merge(
        &mut self,
        merging: &mut Merging,
        bundles: &mut [BundleMerged],
        goes_on: &mut dyn FnMut(u64, u64) -> bool,
    ) -> Result<()> {
        self.settle_watched(goes_on)?;
        if let Some(before) = merging.before.take()
            && let Some(new) = self.see_to_the_name_after(before)?
            && let Some(merged) = bundles.last_mut()
        {
            merged.new_log = Some(new);
        }
        for merged in bundles.iter().filter(|merged| merged.new_records > 0) {
            let header = merged
                .report
                .as_ref()
                .and_then(|report| report.header.as_ref());
            if let Some(header) = header {
                let (exporter, clock) = (header.exporter, header.clock);
                self.observe_clocks(exporter, &clock)?;
            }
        }
        for (merged, new) in bundles.iter_mut().zip(merging.new.drain(..)) {
            for (log, seqs) in new {
                let reach = self.database.reach(log)?;
                let is_held = |seq: &&u64| reach.is_none_or(|reach| **seq > reach);
                let held = seqs.iter().filter(is_held).count();
                if held > 0 {
                    merged.held_back.insert(log, held as u64);
                }
            }
        }
        Ok(())
    }

    /// Reads a bundle to its end, or until it is stopped; returns whether it came to the end.
    fn read_bundle(
        &mut self,
        path: &Path,
        taking: &mut Taking,
        merging: &mut Merging,
        progress: &mut OnProgress<'_>,
    ) -> Result<bool> {
        let stream = match self.segments.disk().open(path) {
            Ok(stream) => stream,
            Err(error) => {
                taking.merged.unreadable = Some(error.kind());
                return Ok(true);
            }
        };
        // Both the reading thread and this one ask the database while the bundle is read.
        let database = Mutex::new(std::mem::replace(&mut self.database, Database::stand_in()?));
        let segments = &mut self.segments;
        let outcome = read_in_portions(stream, &database, |portion| {
            taking.merged.already_held += portion.held;
            let at = Progress {
                stage: Stage::Reading,
                done: merging.done_bytes + portion.offset,
                total: Some(merging.total_bytes),
            };
            for opened in portion.opened {
                taking.add(opened, &mut merging.room, &database)?;
                if taking.is_full() {
                    write_batch(&lock(&database), segments, taking, merging)?;
                }
            }
            Ok(if progress(at) {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(())
            })
        });
        self.database = database
            .into_inner()
            .unwrap_or_else(PoisonError::into_inner);
        let Some(report) = outcome? else {
            return Ok(false);
        };
        write_batch(&self.database, &mut self.segments, taking, merging)?;
        taking.merged.report = Some(report);
        Ok(true)
    }

    /// Remembers a merge that brought something.
    pub(crate) fn note_merge(&mut self, bundles: u64, records: u64, readings: u64) -> Result<()> {
        let count = |n: u64| i64::try_from(n).unwrap_or(i64::MAX);
        self.database.run(
            "INSERT INTO merge_run (finished_ms, bundles, new_records, new_readings)
             VALUES (?1, ?2, ?3, ?4)",
            params![
                self.clock.now().wall_ms,
                count(bundles),
                count(records),
                count(readings)
            ],
        )
    }
}

fn write_batch(
    database: &Database,
    segments: &mut Segments,
    taking: &mut Taking,
    merging: &mut Merging,
) -> Result<()> {
    // What was committed since the reading thread looked is not written a second time.
    let mut here = Vec::with_capacity(taking.batch.len());
    for opened in taking.batch.drain(..) {
        if database.holds(&opened.reference())? {
            taking.merged.already_held += 1;
        } else {
            here.push(opened);
        }
    }
    taking.batch = here;
    if taking.batch.is_empty() {
        return Ok(());
    }
    segments.append(Series::Received, taking.batch.iter().map(Opened::item))?;
    let became = database.in_transaction(|| {
        if !merging.has_new {
            database.run("DELETE FROM arrived", [])?;
        }
        let mut dirty = Dirty::default();
        let mut became = Vec::with_capacity(taking.batch.len());
        for opened in &taking.batch {
            let put = database.put_opened(opened, &mut dirty)?;
            if matches!(
                put,
                Put::New {
                    is_reading: true,
                    ..
                }
            ) {
                let (log, seq, id) = database.stored(opened.reference())?;
                database.run(
                    "INSERT OR IGNORE INTO arrived (log, seq, id) VALUES (?1, ?2, ?3)",
                    params![log, seq, &id[..]],
                )?;
            }
            became.push(put);
        }
        database.note_dirty(&dirty)?;
        Ok(became)
    })?;
    for (opened, put) in taking.batch.drain(..).zip(became) {
        let Put::New {
            is_reading,
            is_understood,
        } = put
        else {
            taking.merged.already_held += 1;
            continue;
        };
        merging.has_new = true;
        taking.merged.new_records += 1;
        taking.merged.new_readings += u64::from(is_reading);
        taking.merged.not_understood += u64::from(!is_understood);
        let at = opened.reference();
        taking.new.entry(at.log).or_default().push(at.seq);
    }
    taking.batch_bytes = 0;
    taking.in_batch.clear();
    Ok(())
}

impl BundleMerged {
    fn of(path: &Path) -> Self {
        Self {
            path: path.to_owned(),
            unreadable: None,
            report: None,
            new_records: 0,
            new_readings: 0,
            already_held: 0,
            held_back: BTreeMap::new(),
            not_understood: 0,
            refused: 0,
            left_aside: 0,
            left_logs: BTreeMap::new(),
            new_log: None,
        }
    }
}
