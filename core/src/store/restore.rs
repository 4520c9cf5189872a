//! A new logbook out of a backup.
//!
//! It has a key and a log of its own: the old key may still be in use somewhere, and whoever goes on
//! under an old name from an old state writes a second record under a number that is taken. The first
//! record of the new log names the last known one of the old, and the old log is enrolled in the new
//! with the role and the name it had.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_sync_format::disk::Disk;
use winze_sync_format::{LogId, RecordRef};

use super::segments::{Series, is_segment};
use super::{Logbook, Merging, Quota};
use crate::actions::{BundleMerged, OnProgress};
use crate::clock::Clock;
use crate::record::{Body, Enrolment, LogOpened};
use crate::store::NewRecord;
use crate::{Error, Result};

/// What a restore came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// The log of the logbook that was backed up.
    pub old_log: LogId,
    /// Its last known record, which the first record of the new log names.
    pub head: RecordRef,
    /// Records taken in.
    pub records: u64,
    /// What became of each segment of the backup.
    pub files: Vec<BundleMerged>,
    /// Places of the old log that the backup does not hold, as first and last.
    pub gaps: Vec<(u64, u64)>,
}

impl Restored {
    /// Whether every segment was whole and the old log runs without a gap.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        let has_damage = |file: &BundleMerged| {
            let report = file.report.as_ref();
            report.is_none_or(|report| !report.damage.is_empty())
        };
        self.gaps.is_empty() && !self.files.iter().any(has_damage)
    }
}

/// Makes a new logbook in `dir` out of the backup in `from`. Stopped halfway, it is done again into
/// another folder: nothing in the backup is changed.
///
/// # Errors
/// [`Error::NoBackup`] where there is none, [`Error::LogbookExists`], [`Error::Cancelled`], and those
/// of writing.
pub fn restore(
    disk: Arc<dyn Disk>,
    from: &Path,
    dir: &Path,
    by: &str,
    clock: Arc<dyn Clock>,
    progress: &mut OnProgress<'_>,
) -> Result<(Logbook, Restored)> {
    let files = segments_in(&*disk, from)?;
    let old = predecessor(&*disk, from, &files)?;
    let (role, label) = (old.opened.role, old.opened.label.clone());
    let after = vec![old.head];
    let mut logbook = Logbook::create_after(disk, dir, role, &label, clock, after)?;
    let mut restored = Restored {
        old_log: old.head.log,
        head: old.head,
        records: 0,
        files: Vec::new(),
        gaps: old.gaps,
    };
    let body = Body::Enrolment(Enrolment {
        log: old.head.log,
        name: label,
        role,
    });
    logbook.confirm_one(NewRecord::new(body, by))?;
    let total = files.iter().map(|file| logbook.bundle_bytes(file)).sum();
    let mut merging = Merging::of(total, Quota::NONE);
    for file in &files {
        let (merged, is_finished) = logbook.take_in(file, &mut merging, progress)?;
        merging.done_bytes += logbook.bundle_bytes(file);
        restored.records += merged.new_records;
        restored.files.push(merged);
        if !is_finished {
            return Err(Error::Cancelled);
        }
    }
    logbook.settle_merge(&mut merging, &mut restored.files, &mut |_, _| true)?;
    Ok((logbook, restored))
}

fn segments_in(disk: &dyn Disk, from: &Path) -> Result<Vec<PathBuf>> {
    let names = disk
        .file_names(from)
        .map_err(|error| Error::of_io("list files in", from, error))?;
    let segments = names.into_iter().filter(|name| is_segment(name));
    Ok(segments.map(|name| from.join(name)).collect())
}

/// The log that was backed up.
struct Predecessor {
    head: RecordRef,
    opened: LogOpened,
    gaps: Vec<(u64, u64)>,
}

/// Reads who wrote the backup and how far, from all segments: a record made good from the database
/// stands among the received ones.
fn predecessor(disk: &dyn Disk, from: &Path, files: &[PathBuf]) -> Result<Predecessor> {
    let none = || Error::NoBackup {
        path: from.to_owned(),
    };
    let is_own = |file: &&PathBuf| {
        let name = file.file_name().and_then(|name| name.to_str());
        name.is_some_and(|name| Series::Own.holds(name))
    };
    let own = files.iter().find(is_own).ok_or_else(none)?;
    let mut places: Vec<RecordRef> = Vec::new();
    let mut log = None;
    let mut opened = None;
    // The own series first: its first record says whose backup it is.
    for file in std::iter::once(own).chain(files.iter().filter(|file| *file != own)) {
        let salvage =
            winze_sync_format::segment::load_segment(disk, file, super::start::threads())?;
        for record in salvage.records {
            let log = *log.get_or_insert(record.reference().log);
            if record.reference().log != log {
                continue;
            }
            if let Ok(Body::LogOpened(found)) = Body::decode(record.kind(), record.body())
                && record.seq() == 0
            {
                opened.get_or_insert(found);
            }
            places.push(record.reference());
        }
    }
    places.sort_unstable_by_key(|at| (at.seq, at.id));
    let head = *places.last().ok_or_else(none)?;
    let opened = opened.ok_or_else(none)?;
    let mut gaps = Vec::new();
    let mut next = 0;
    for at in &places {
        if at.seq > next {
            gaps.push((next, at.seq - 1));
        }
        next = at.seq + 1;
    }
    Ok(Predecessor { head, opened, gaps })
}
