//! `winze restore`: makes a new logbook out of a backup.
//!
//! The new logbook has a key and a log of its own, whose first record names the last known record of
//! the old log; the old log is enrolled in it with the role and the name it had. So the old logbook
//! may still turn up and be used: both go on, and nothing is counted twice. Other logbooks must let
//! the new one count, by its eight words. Exit code 0: the backup was whole; 1: it was damaged or has
//! gaps, which are named, and everything else was taken in; 2: nothing was restored.
//!
//! `--json`:
//!
//! ```json
//! {"command":"restore","outcome":"done","logbook":"...","role":"office","label":"...",
//!  "log":"<64 hex>","words":["..."],"old_log":"<64 hex>","old_head":"<reference>",
//!  "records":4120,"damaged_files":[],"gaps":[{"first":17,"last":18}]}
//! ```
//!
//! `gaps` are those of the old log.

use std::path::PathBuf;
use std::sync::Arc;

use serde::Serialize;
use winze_core::store::{Restored, restore};
use winze_sync_format::disk::RealDisk;

use super::output::Output;
use super::place::{Person, Place};
use super::progress::Bar;
use super::{CommandResult, Outcome};
use crate::clock::SystemClock;
use crate::messages::{counted, logbook_failed};

/// Arguments of `winze restore`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Folder of the backup: the one with the .seg files.
    #[arg(value_name = "BACKUP")]
    from: PathBuf,
    #[command(flatten)]
    place: Place,
    #[command(flatten)]
    person: Person,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Serialize)]
struct Json {
    command: &'static str,
    outcome: &'static str,
    logbook: PathBuf,
    role: &'static str,
    label: String,
    log: String,
    words: Vec<&'static str>,
    old_log: String,
    old_head: String,
    records: u64,
    damaged_files: Vec<PathBuf>,
    gaps: Vec<GapJson>,
}

#[derive(Debug, Serialize)]
struct GapJson {
    first: u64,
    last: u64,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let folder = args.place.folder()?;
    let mut bar = Bar::new();
    let clock = Arc::new(SystemClock::new());
    let by = args.person.name();
    let disk = Arc::new(RealDisk);
    let (logbook, restored) = restore(disk, &args.from, &folder, &by, clock, &mut |at| {
        bar.step(at)
    })
    .map_err(|error| logbook_failed(&error))?;
    drop(bar);
    let mut output = Output::new(args.json);
    let log = logbook.log_id();
    output.line(format!(
        "Restored: {} in a new logbook in {}. It follows {} behind record {}.",
        counted(restored.records, "record", "records"),
        folder.display(),
        restored.old_log.short(),
        restored.head.seq
    ));
    output.line(format!(
        "Let it count at the others by its words: {}.",
        log.words().join(" ")
    ));
    let damaged = damaged_files(&restored);
    for file in &damaged {
        output.line(format!(
            "{} is damaged; every whole record in it was taken in.",
            file.display()
        ));
    }
    for (first, last) in &restored.gaps {
        output.line(format!(
            "The backup lacks records {first} to {last} of the old logbook. If it can still be \
             opened, pack everything there and merge it here."
        ));
    }
    let outcome = Outcome::of_findings(!restored.is_whole());
    output.json(&Json {
        command: "restore",
        outcome: outcome.code(),
        logbook: folder,
        role: logbook.role().code(),
        label: logbook.label().to_owned(),
        log: log.to_string(),
        words: log.words().to_vec(),
        old_log: restored.old_log.to_string(),
        old_head: restored.head.to_string(),
        records: restored.records,
        damaged_files: damaged,
        gaps: restored
            .gaps
            .iter()
            .map(|(first, last)| GapJson {
                first: *first,
                last: *last,
            })
            .collect(),
    });
    Ok(outcome)
}

fn damaged_files(restored: &Restored) -> Vec<PathBuf> {
    let is_damaged = |report: &winze_sync_format::bundle::BundleReport| !report.damage.is_empty();
    restored
        .files
        .iter()
        .filter(|file| file.report.as_ref().is_none_or(is_damaged))
        .map(|file| file.path.clone())
        .collect()
}
