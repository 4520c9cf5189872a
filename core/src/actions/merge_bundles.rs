//! Taking in bundles: every whole, correctly signed record is kept, whoever wrote it.

use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::PathBuf;

use winze_sync_format::bundle::BundleReport;
use winze_sync_format::{LogId, RecordRef};

use crate::{Logbook, Result};

use super::{OnProgress, Progress, Stage};
use crate::store::{Merging, NewLog};

/// Logs left aside that are remembered by name, of one bundle.
const LEFT_LOGS: usize = 1000;
/// How often bundles are read again when enrolments in them let more count: a chain of offices that
/// enrol one another needs one time for each.
const AGAIN: usize = 8;

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

    /// How many records were left in their bundles, because too much is here already that does not
    /// count.
    #[must_use]
    pub fn left_aside(&self) -> u64 {
        self.bundles.iter().map(|bundle| bundle.left_aside).sum()
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
    /// How many of them are readings that were understood.
    pub new_readings: u64,
    /// Records that were here already.
    pub already_held: u64,
    /// New records of logs that do not count here: kept, not counted. By log.
    pub held_back: BTreeMap<LogId, u64>,
    /// New records of a kind or form this program does not understand: kept, not counted.
    pub not_understood: u64,
    /// Records that were not taken in: their sequence numbers are beyond what any log reaches.
    pub refused: u64,
    /// Records that do not count and were left in the bundle, as [`Quota`](crate::store::Quota) allows no more of them.
    pub left_aside: u64,
    /// Their logs, each with the first place left aside; of a bundle with very many logs the first
    /// thousand.
    pub left_logs: BTreeMap<LogId, u64>,
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

    /// Notes a record that was left in the bundle.
    pub(crate) fn leave_aside(&mut self, at: RecordRef) {
        self.left_aside += 1;
        if self.left_logs.len() < LEFT_LOGS {
            self.left_logs.entry(at.log).or_insert(at.seq);
        }
        if let Some(first) = self.left_logs.get_mut(&at.log) {
            *first = at.seq.min(*first);
        }
    }

    /// Adds what another reading of the same bundle brought.
    fn add(&mut self, again: Self) {
        self.new_records += again.new_records;
        self.new_readings += again.new_readings;
        self.not_understood += again.not_understood;
        for (log, count) in again.held_back {
            *self.held_back.entry(log).or_default() += count;
        }
        self.left_aside = again.left_aside;
        self.left_logs = again.left_logs;
        self.new_log = self.new_log.or(again.new_log);
    }
}

/// Takes in bundles. Files are only read, never changed or moved. Damage, truncation and unreadable
/// files are no errors: whatever is whole is taken in and the report names the rest.
///
/// When `progress` stops it, everything until then is safe, and merging the same bundles again goes
/// on from there. Stopped while working out, a merge has taken in everything: stations that were not
/// judged yet are judged when they are looked at, and all of them when the logbook is opened anew.
///
/// Records that do not count are taken in as far as the logbook's [`Quota`](crate::store::Quota) goes; the rest of them
/// stays in the bundle and comes in by another merge once its log is enrolled.
///
/// # Errors
/// Those of writing.
pub fn merge_bundles(
    logbook: &mut Logbook,
    paths: &[PathBuf],
    progress: &mut OnProgress<'_>,
) -> Result<MergeReport> {
    let mut report = merge_once(logbook, paths, progress)?;
    // What was left aside as a stranger's counts where its enrolment came in by the same merge.
    for _ in 0..AGAIN {
        let again = counting_now(logbook, &report)?;
        if report.was_cancelled || again.is_empty() {
            break;
        }
        let paths: Vec<PathBuf> = again
            .iter()
            .map(|n| report.bundles[*n].path.clone())
            .collect();
        let more = merge_once(logbook, &paths, progress)?;
        report.was_cancelled = more.was_cancelled;
        for (n, merged) in again.into_iter().zip(more.bundles) {
            report.bundles[n].add(merged);
        }
    }
    if report.new_records() > 0 {
        let bundles = report.bundles.len() as u64;
        logbook.note_merge(bundles, report.new_records(), report.new_readings())?;
    }
    Ok(report)
}

/// The bundles in which something was left aside that counts now, by their places in the report.
fn counting_now(logbook: &Logbook, report: &MergeReport) -> Result<Vec<usize>> {
    let mut found = Vec::new();
    for (n, bundle) in report.bundles.iter().enumerate() {
        for (log, seq) in &bundle.left_logs {
            if logbook.covers(*log, *seq)? {
                found.push(n);
                break;
            }
        }
    }
    Ok(found)
}

/// One way through the bundles.
fn merge_once(
    logbook: &mut Logbook,
    paths: &[PathBuf],
    progress: &mut OnProgress<'_>,
) -> Result<MergeReport> {
    let total_bytes = paths.iter().map(|path| logbook.bundle_bytes(path)).sum();
    let mut merging = Merging::of(total_bytes, logbook.quota());
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
    Ok(report)
}
