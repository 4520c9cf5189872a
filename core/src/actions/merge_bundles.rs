//! Taking in bundles: every whole, correctly signed record is kept, whoever wrote it.

use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::PathBuf;

use winze_sync_format::LogId;
use winze_sync_format::bundle::BundleReport;

use crate::{Logbook, Result};

use super::{OnProgress, Progress, Stage};
use crate::store::{Merging, NewLog};

/// What became of a merge.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MergeReport {
    /// What became of each bundle, in the order given.
    pub bundles: Vec<BundleMerged>,
    /// Whether it was stopped before the end; what was taken in until then stays.
    pub was_cancelled: bool,
}

impl MergeReport {
    /// How many records are new.
    #[must_use]
    pub fn new_records(&self) -> u64 {
        self.bundles.iter().map(|bundle| bundle.new_records).sum()
    }

    /// How many readings are new.
    #[must_use]
    pub fn new_readings(&self) -> u64 {
        self.bundles.iter().map(|bundle| bundle.new_readings).sum()
    }

    /// Says whether every bundle was whole.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        !self.was_cancelled && self.bundles.iter().all(BundleMerged::is_whole)
    }
}

/// What became of one bundle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BundleMerged {
    /// The file.
    pub path: PathBuf,
    /// Why the file could not be opened, if so.
    pub unreadable: Option<ErrorKind>,
    /// What the bundle says of itself, and what of it is damaged or missing.
    pub report: Option<BundleReport>,
    /// Records that are new here.
    pub new_records: u64,
    /// How many of them are readings.
    pub new_readings: u64,
    /// Records that were here already.
    pub already_held: u64,
    /// New records of logs that do not count here: kept, not counted. By log.
    pub held_back: BTreeMap<LogId, u64>,
    /// New records of a kind or form this program does not understand: kept, not counted.
    pub not_understood: u64,
    /// Records that were not taken in: their sequence numbers are beyond what any log reaches.
    pub refused: u64,
    /// The new log that was begun, because the bundle shows that others hold the own log's key or a
    /// newer state of it.
    pub new_log: Option<NewLog>,
}

impl BundleMerged {
    /// Says whether the bundle was whole.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.report.as_ref().is_some_and(BundleReport::is_whole)
    }
}

/// Takes in bundles. Files are only read, never changed or moved. Damage, truncation and unreadable
/// files are no errors: whatever is whole is taken in and the report names the rest.
///
/// When `progress` stops it, everything until then is safe, and merging the same bundles again goes
/// on from there. Stopped while working out, a merge has taken in everything: stations that were not
/// judged yet are judged when they are looked at, and all of them when the logbook is opened anew.
///
/// # Errors
/// Those of writing.
pub fn merge_bundles(
    logbook: &mut Logbook,
    paths: &[PathBuf],
    progress: &mut OnProgress<'_>,
) -> Result<MergeReport> {
    let total_bytes = paths.iter().map(|path| logbook.bundle_bytes(path)).sum();
    let mut merging = Merging::of(total_bytes);
    let mut report = MergeReport::default();
    for path in paths {
        let (merged, is_finished) = logbook.take_in(path, &mut merging, progress)?;
        report.bundles.push(merged);
        merging.done_bytes += logbook.bundle_bytes(path);
        let at = Progress {
            stage: Stage::Reading,
            done: merging.done_bytes,
            total: Some(total_bytes),
        };
        if !is_finished || !progress(at) {
            report.was_cancelled = true;
            break;
        }
    }
    let mut is_wanted = !report.was_cancelled;
    logbook.settle_merge(&mut merging, &mut report.bundles, &mut |done, total| {
        is_wanted = is_wanted
            && progress(Progress {
                stage: Stage::WorkingOut,
                done,
                total: Some(total),
            });
        is_wanted
    })?;
    report.was_cancelled |= !is_wanted;
    if report.new_records() > 0 {
        let bundles = report.bundles.len() as u64;
        logbook.note_merge(bundles, report.new_records(), report.new_readings())?;
    }
    Ok(report)
}
