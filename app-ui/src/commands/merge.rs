//! `winze merge`: takes in bundles, whole or damaged.
//!
//! A folder stands for the bundles in it. Files are only read. Whatever is whole is kept, whoever
//! wrote it; what is damaged or missing is named. Merging a bundle again adds nothing.
//!
//! `--json`:
//!
//! ```json
//! {"command":"merge","outcome":"findings","new_records":212,"new_readings":23,
//!  "bundles":[{"file":"...","state":"damaged","new_records":106,"new_readings":11,
//!    "already_here":0,"held":0,"left_aside":0,"not_understood":0,
//!    "damage":[{"offset":4120,"length":512,"reason":"bad-signature"}],
//!    "missing":[{"log":"<64 hex>","first":17,"last":18}]}],
//!  "questions":1,"held":[{"log":"<64 hex>","words":["..."],"records":14}],
//!  "outside":2,"unsure":1,"missed":0}
//! ```
//!
//! `state` is `whole`, `damaged`, `not-a-bundle` or `unreadable`. `questions`, `outside`, `unsure`,
//! `missed` and `held` describe the logbook after the merge. Outcome `not-done` means that no
//! bundle could be read.
//!
//! Records that nobody enrolled are kept up to 64 MiB of one logbook and 256 MiB in all, counted as
//! they stand in the bundle; what lies beyond is left in the bundle (`left_aside`) and comes in when
//! the bundle is merged again after the logbook was enrolled.

use std::path::{Path, PathBuf};

use serde::Serialize;
use winze_core::Logbook;
use winze_core::actions::{BundleMerged, merge_bundles};
use winze_core::query::overview;
use winze_core::store::Quota;
use winze_sync_format::bundle::EXTENSION;

use super::output::Output;
use super::place::Place;
use super::progress::Bar;
use super::verify::{DamageJson, MissingJson, damage_json, missing_json, state_of};
use super::{CommandResult, Outcome};
use crate::messages::{UserMessage, counted, file_failed, left_aside, logbook_failed, losses};

/// Arguments of `winze merge`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Bundles, or folders with bundles in them.
    #[arg(value_name = "PATH", required = true)]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    place: Place,
    /// How much to keep of one logbook that nobody enrolled, in MiB; the rest stays in the bundle.
    #[arg(long, value_name = "MIB")]
    unknown_log_mib: Option<u32>,
    /// How much to keep of all such logbooks together, in MiB.
    #[arg(long, value_name = "MIB")]
    unknown_mib: Option<u32>,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Serialize)]
struct Json {
    command: &'static str,
    outcome: &'static str,
    new_records: u64,
    new_readings: u64,
    bundles: Vec<BundleJson>,
    questions: usize,
    held: Vec<HeldJson>,
    outside: usize,
    unsure: usize,
    missed: usize,
}

#[derive(Debug, Serialize)]
struct BundleJson {
    file: PathBuf,
    state: &'static str,
    new_records: u64,
    new_readings: u64,
    already_here: u64,
    held: u64,
    left_aside: u64,
    not_understood: u64,
    damage: Vec<DamageJson>,
    missing: Vec<MissingJson>,
}

#[derive(Debug, Serialize)]
struct HeldJson {
    log: String,
    words: Vec<&'static str>,
    records: u64,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let files = bundle_files(&args.paths)?;
    let mut logbook = args.place.open()?;
    let mib = |count: u32| u64::from(count) * 1024 * 1024;
    let usual = logbook.quota();
    logbook.set_quota(Quota {
        log_bytes: args.unknown_log_mib.map_or(usual.log_bytes, mib),
        total_bytes: args.unknown_mib.map_or(usual.total_bytes, mib),
    });
    let mut bar = Bar::new();
    let report = merge_bundles(&mut logbook, &files, &mut |progress| bar.step(progress))
        .map_err(|error| logbook_failed(&error))?;
    drop(bar);
    let mut output = Output::new(args.json);
    for bundle in &report.bundles {
        print_bundle(&mut output, bundle);
    }
    let is_any_read = report
        .bundles
        .iter()
        .any(|bundle| state_of_merged(bundle) != "unreadable");
    let is_whole = report.is_whole();
    let mut json = Json {
        command: "merge",
        outcome: "",
        new_records: report.new_records(),
        new_readings: report.new_readings(),
        bundles: report.bundles.iter().map(bundle_json).collect(),
        questions: 0,
        held: Vec::new(),
        outside: 0,
        unsure: 0,
        missed: 0,
    };
    describe(&logbook, &mut json)?;
    let has_findings = !is_whole
        || report.left_aside() > 0
        || json.questions + json.held.len() + json.outside + json.unsure + json.missed > 0;
    let outcome = if is_any_read {
        Outcome::of_findings(has_findings)
    } else {
        Outcome::NotDone
    };
    json.outcome = outcome.code();
    print_summary(&mut output, &json);
    output.json(&json);
    Ok(outcome)
}

fn describe(logbook: &Logbook, json: &mut Json) -> Result<(), UserMessage> {
    let view = overview(logbook).map_err(|error| logbook_failed(&error))?;
    json.questions = view.questions.len();
    json.outside = view.outside.len();
    json.unsure = view.unsure.len();
    json.missed = view.missed.len();
    let held = view.held.iter().map(|log| HeldJson {
        log: log.log.to_string(),
        words: log.words.to_vec(),
        records: log.held,
    });
    json.held = held.collect();
    Ok(())
}

/// The files meant: a folder stands for the bundles in it, in order of name.
fn bundle_files(paths: &[PathBuf]) -> Result<Vec<PathBuf>, UserMessage> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            files.extend(bundles_in(path)?);
        } else {
            files.push(path.clone());
        }
    }
    if files.is_empty() {
        let names: Vec<_> = paths
            .iter()
            .map(|path| path.display().to_string())
            .collect();
        return Err(UserMessage::new(
            format!("There is no bundle in {}.", names.join(", ")),
            "Nothing was changed.",
            format!("Name a folder with .{EXTENSION} files, or the files themselves."),
        ));
    }
    Ok(files)
}

/// The bundles in a folder, in order of name.
pub(super) fn bundles_in(folder: &Path) -> Result<Vec<PathBuf>, UserMessage> {
    let failed = |error: std::io::Error| file_failed("read", folder, &error);
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path
            .extension()
            .is_some_and(|end| end.eq_ignore_ascii_case(EXTENSION))
        {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

fn state_of_merged(bundle: &BundleMerged) -> &'static str {
    bundle.report.as_ref().map_or("unreadable", state_of)
}

fn bundle_json(bundle: &BundleMerged) -> BundleJson {
    let report = bundle.report.as_ref();
    BundleJson {
        file: bundle.path.clone(),
        state: state_of_merged(bundle),
        new_records: bundle.new_records,
        new_readings: bundle.new_readings,
        already_here: bundle.already_held,
        held: bundle.held_back.values().sum(),
        left_aside: bundle.left_aside,
        not_understood: bundle.not_understood,
        damage: report.map(damage_json).unwrap_or_default(),
        missing: report.map(missing_json).unwrap_or_default(),
    }
}

fn print_bundle(output: &mut Output, bundle: &BundleMerged) {
    let name = bundle.path.display();
    match (&bundle.report, bundle.unreadable) {
        (Some(report), _) => {
            output.line(format!(
                "{name}: {}, {} new ({}), {} already here.",
                state_of(report),
                counted(bundle.new_records, "record", "records"),
                counted(bundle.new_readings, "reading", "readings"),
                bundle.already_held,
            ));
            for line in losses(report) {
                output.line(format!("  {line}"));
            }
            if bundle.left_aside > 0 {
                let (head, sentence) = left_aside(bundle.left_aside);
                output.line(format!("  {head} {sentence}"));
            }
        }
        (None, kind) => {
            let error = kind.unwrap_or(std::io::ErrorKind::Other).into();
            output.line(file_failed("read", &bundle.path, &error).to_string());
        }
    }
}

fn print_summary(output: &mut Output, json: &Json) {
    output.line(format!(
        "New: {}, of which {}.",
        counted(json.new_records, "record", "records"),
        counted(json.new_readings, "reading", "readings")
    ));
    output.line(format!(
        "Now: {} outside, {} unsure, {} missed, {}.",
        json.outside,
        json.unsure,
        json.missed,
        counted(json.questions as u64, "question", "questions")
    ));
    for held in &json.held {
        output.line(format!(
            "Held, not counted: {} of an unknown logbook. Its words: {}. Compare them with those \
             on that machine, then `winze enrol`.",
            counted(held.records, "record", "records"),
            held.words.join(" ")
        ));
    }
}
