//! Long work: it has what it needs with it, runs wherever it is called, says how far it has
//! come, and gives back what it took.

use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use winze_core::actions::{
    MergeReport, PackFor, Packed, Progress, Stage, merge_bundles, pack_bundle,
};
use winze_core::{Logbook, Result};

use super::tray::{self, TrayEntry};

/// Asks work to stop at its next safe point.
#[derive(Debug, Clone, Default)]
pub struct Stop(Arc<AtomicBool>);

impl Stop {
    /// Asks.
    pub fn ask(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether somebody asked.
    #[must_use]
    pub fn is_asked(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Work to be done.
pub enum Job {
    /// Read what lies in the tray.
    ReadTray {
        /// The folder.
        folder: PathBuf,
    },
    /// Take in bundles.
    Merge {
        /// The logbook, given back at the end.
        logbook: Box<Logbook>,
        /// The bundles.
        paths: Vec<PathBuf>,
    },
    /// Write a bundle for the tablets and read it back.
    Pack {
        /// The logbook, given back at the end.
        logbook: Box<Logbook>,
        /// Where to.
        folder: PathBuf,
        /// Who packs.
        by: String,
    },
}

/// What work came to.
pub enum Done {
    /// The tray was read, or work was stopped before it was.
    TrayRead {
        /// The folder.
        folder: PathBuf,
        /// What lies in it; `None` when stopped.
        entries: Option<io::Result<Vec<TrayEntry>>>,
    },
    /// Bundles were taken in.
    Merged {
        /// The logbook.
        logbook: Box<Logbook>,
        /// What came of it.
        result: Result<MergeReport>,
    },
    /// A bundle was written.
    Packed {
        /// The logbook.
        logbook: Box<Logbook>,
        /// What came of it.
        result: Result<Packed>,
    },
    /// The work broke off and took the logbook with it.
    Lost,
}

/// How far work has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HowFar {
    /// What is going on.
    pub stage: Stage,
    /// How much is done.
    pub done: u64,
    /// How much there is, where known.
    pub total: Option<u64>,
}

impl From<Progress> for HowFar {
    fn from(progress: Progress) -> Self {
        Self {
            stage: progress.stage,
            done: progress.done,
            total: progress.total,
        }
    }
}

impl Job {
    /// Does the work. `on_progress` may be called very often.
    pub fn run(self, stop: &Stop, on_progress: &mut dyn FnMut(HowFar)) -> Done {
        let mut on_step = |progress: Progress| {
            on_progress(progress.into());
            !stop.is_asked()
        };
        match self {
            Self::ReadTray { folder } => {
                let entries = read_tray(&folder, stop, on_progress);
                Done::TrayRead { folder, entries }
            }
            Self::Merge { mut logbook, paths } => {
                let result = merge_bundles(&mut logbook, &paths, &mut on_step);
                Done::Merged { logbook, result }
            }
            Self::Pack {
                mut logbook,
                folder,
                by,
            } => {
                let result =
                    pack_bundle(&mut logbook, &folder, PackFor::Tablets, &by, &mut on_step);
                Done::Packed { logbook, result }
            }
        }
    }
}

fn read_tray(
    folder: &std::path::Path,
    stop: &Stop,
    on_progress: &mut dyn FnMut(HowFar),
) -> Option<io::Result<Vec<TrayEntry>>> {
    let paths = match tray::bundles_in(folder) {
        Ok(paths) => paths,
        Err(error) => return Some(Err(error)),
    };
    let size = |path: &PathBuf| path.metadata().map_or(0, |metadata| metadata.len());
    let total: u64 = paths.iter().map(size).sum();
    let mut before = 0;
    let mut entries = Vec::new();
    for path in &paths {
        let entry = tray::read(path, &mut |bytes| {
            on_progress(HowFar {
                stage: Stage::Reading,
                done: before + bytes,
                total: Some(total),
            });
            !stop.is_asked()
        })?;
        before += entry.bytes;
        entries.push(entry);
    }
    Some(Ok(entries))
}
