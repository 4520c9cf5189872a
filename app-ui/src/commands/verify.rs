//! `winze verify`: says whether a bundle, a segment or a logbook is whole, and what exactly is lost.
//!
//! The content decides what a file is, never its name. A logbook folder is whole when every record
//! in its segments has a good signature, its own log runs from the first record without a gap, and
//! the logbook opens. Records that others sent may have gaps; those are named and are no damage
//! here. A last write that a crash left unfinished is named and is no damage either: nothing in
//! it was ever shown as saved.
//!
//! Opening does what every start does: what the database lacks is taken from the segments, and what
//! the segments lost is taken from the database. Exit code 0 means whole, 1 whole again after such
//! a repair, 2 damaged or unreadable.
//!
//! `--json`:
//!
//! ```json
//! {"command":"verify","outcome":"not-done","path":"...","files":[
//!   {"file":"...","kind":"bundle","state":"damaged","bytes":48211,"records":212,
//!    "damage":[{"offset":4120,"length":512,"reason":"bad-signature"}],
//!    "missing":[{"log":"<64 hex>","first":17,"last":18}],"unfinished_bytes":0}],
//!  "own_log_gaps":[],"gaps":[]}
//! ```
//!
//! `kind` is `bundle`, `segment` or `unknown`; `state` is `whole`, `damaged` or `not-a-bundle`.
//! `own_log_gaps` and `gaps` are those of a logbook, each like an entry of `missing`.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use serde::Serialize;
use winze_core::Logbook;
use winze_core::store::StartReport;
use winze_sync_format::bundle::{BundleReader, BundleReport, RangeSet, SeqRange, TrailerState};
use winze_sync_format::salvage::{Damage, DamageReason};
use winze_sync_format::segment::{SegmentEntry, SegmentReader};

use super::merge::bundles_in;
use super::output::Output;
use super::{CommandResult, Outcome};
use crate::messages::{self, UserMessage, counted, damage_code, file_failed, losses};

/// Arguments of `winze verify`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// A bundle, a segment, a logbook folder or a folder of bundles.
    #[arg(value_name = "FILE|DIR")]
    path: PathBuf,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Serialize)]
struct Json<'a> {
    command: &'static str,
    outcome: &'static str,
    path: &'a Path,
    files: Vec<FileJson>,
    own_log_gaps: Vec<MissingJson>,
    gaps: Vec<MissingJson>,
}

#[derive(Debug, Serialize)]
struct FileJson {
    file: PathBuf,
    kind: &'static str,
    state: &'static str,
    bytes: u64,
    records: u64,
    damage: Vec<DamageJson>,
    missing: Vec<MissingJson>,
    unfinished_bytes: u64,
}

/// A damaged stretch in `--json`.
#[derive(Debug, Serialize)]
pub(super) struct DamageJson {
    offset: u64,
    length: u64,
    reason: &'static str,
}

/// Records declared and not found, in `--json`.
#[derive(Debug, Serialize)]
pub(super) struct MissingJson {
    log: String,
    first: u64,
    last: u64,
}

impl From<&Damage> for DamageJson {
    fn from(damage: &Damage) -> Self {
        let reason = damage_code(damage.reason);
        Self {
            offset: damage.offset,
            length: damage.length,
            reason,
        }
    }
}

impl From<&SeqRange> for MissingJson {
    fn from(range: &SeqRange) -> Self {
        Self {
            log: range.log.to_string(),
            first: range.first,
            last: range.last,
        }
    }
}

pub(super) fn damage_json(report: &BundleReport) -> Vec<DamageJson> {
    report.damage.iter().map(DamageJson::from).collect()
}

pub(super) fn missing_json(report: &BundleReport) -> Vec<MissingJson> {
    report.missing.iter().map(MissingJson::from).collect()
}

/// The state of a bundle in one word.
pub(super) fn state_of(report: &BundleReport) -> &'static str {
    if report.is_whole() {
        "whole"
    } else if is_no_bundle(report) {
        "not-a-bundle"
    } else {
        "damaged"
    }
}

fn is_no_bundle(report: &BundleReport) -> bool {
    report.header.is_none()
        && report.trailer == TrailerState::Absent
        && report.records + report.newer == 0
}

pub(super) fn run(args: &Args) -> CommandResult {
    let mut output = Output::new(args.json);
    let mut json = Json {
        command: "verify",
        outcome: "",
        path: &args.path,
        files: Vec::new(),
        own_log_gaps: Vec::new(),
        gaps: Vec::new(),
    };
    let facts =
        std::fs::metadata(&args.path).map_err(|error| file_failed("read", &args.path, &error))?;
    let outcome = if facts.is_dir() && Logbook::exists(&args.path) {
        verify_logbook(&args.path, &mut json, &mut output)?
    } else if facts.is_dir() {
        let bundles = bundles_in(&args.path)?;
        if bundles.is_empty() {
            return Err(UserMessage::new(
                format!(
                    "{} holds neither a logbook nor a bundle.",
                    args.path.display()
                ),
                "Nothing was changed.",
                "Name a bundle, a logbook folder or a folder of bundles.",
            ));
        }
        verify_bundles(&bundles, &mut json, &mut output)?
    } else {
        verify_bundles(std::slice::from_ref(&args.path), &mut json, &mut output)?
    };
    json.outcome = outcome.code();
    output.json(&json);
    Ok(outcome)
}

fn verify_bundles(paths: &[PathBuf], json: &mut Json<'_>, output: &mut Output) -> CommandResult {
    for path in paths {
        let file = verify_file(path, output)?;
        json.files.push(file);
    }
    let is_whole = json.files.iter().all(|file| file.state == "whole");
    Ok(if is_whole {
        Outcome::Done
    } else {
        Outcome::NotDone
    })
}

/// Checks one file, whatever it is.
fn verify_file(path: &Path, output: &mut Output) -> Result<FileJson, UserMessage> {
    let mut reader = BundleReader::new(open(path)?).threads(threads());
    for _ in &mut reader {}
    let report = reader.finish();
    let is_segment = report.header.is_none()
        && report.trailer == TrailerState::Absent
        && report.records + report.newer > 0
        && starts_with_a_record(path)?;
    if is_segment {
        let (file, _) = verify_segment(path)?;
        print_file(output, &file);
        return Ok(file);
    }
    let state = state_of(&report);
    output.line(format!(
        "{}: {}, {}.",
        path.display(),
        state.replace('-', " "),
        counted(report.records, "record", "records")
    ));
    for line in losses(&report) {
        output.line(format!("  {line}"));
    }
    if state == "damaged" {
        output.line("  Every other record in it is whole and can be merged.");
    }
    Ok(FileJson {
        file: path.to_owned(),
        kind: if is_no_bundle(&report) {
            "unknown"
        } else {
            "bundle"
        },
        state,
        bytes: report.bytes,
        records: report.records,
        damage: damage_json(&report),
        missing: missing_json(&report),
        unfinished_bytes: 0,
    })
}

/// Whether a record of a log, not a bundle's header, stands at the very start.
fn starts_with_a_record(path: &Path) -> Result<bool, UserMessage> {
    let first = SegmentReader::new(open(path)?, 1).next();
    Ok(matches!(
        first,
        Some(SegmentEntry::Record { .. } | SegmentEntry::Newer { .. })
    ))
}

/// Checks a segment; also answers which places of which logs it holds.
fn verify_segment(path: &Path) -> Result<(FileJson, RangeSet), UserMessage> {
    let mut held = RangeSet::new();
    let mut file = FileJson {
        file: path.to_owned(),
        kind: "segment",
        state: "whole",
        bytes: std::fs::metadata(path)
            .map_err(|error| file_failed("read", path, &error))?
            .len(),
        records: 0,
        damage: Vec::new(),
        missing: Vec::new(),
        unfinished_bytes: 0,
    };
    for entry in SegmentReader::new(open(path)?, threads()) {
        match entry {
            SegmentEntry::Record { record, .. } => {
                let at = record.reference();
                held.insert(at.log, at.seq);
                file.records += 1;
            }
            SegmentEntry::Newer { newer, .. } => {
                held.insert(newer.reference.log, newer.reference.seq);
                file.records += 1;
            }
            SegmentEntry::Damage(damage) if is_torn_tail(&damage, file.bytes) => {
                file.unfinished_bytes = damage.length;
            }
            SegmentEntry::Damage(damage) => file.damage.push((&damage).into()),
        }
    }
    if !file.damage.is_empty() {
        file.state = "damaged";
    }
    Ok((file, held))
}

fn is_torn_tail(damage: &Damage, bytes: u64) -> bool {
    damage.reason == DamageReason::CutShort && damage.offset + damage.length == bytes
}

fn verify_logbook(folder: &Path, json: &mut Json<'_>, output: &mut Output) -> CommandResult {
    let mut segments = Vec::new();
    let failed = |error: std::io::Error| file_failed("read", folder, &error);
    for entry in std::fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path.extension().is_some_and(|end| end == "seg") {
            segments.push(path);
        }
    }
    segments.sort();
    let (mut own, mut all) = (RangeSet::new(), RangeSet::new());
    for path in segments {
        let (file, held) = verify_segment(&path)?;
        print_file(output, &file);
        let is_own = path
            .file_name()
            .is_some_and(|name| name.to_string_lossy().starts_with("own"));
        if is_own {
            own = own.union(&held);
        }
        all = all.union(&held);
        json.files.push(file);
    }
    let own_gaps = gaps_from_first(&own);
    for gap in &own_gaps {
        output.line(format!("Own log: {}", messages::missing(gap)));
    }
    let gaps: Vec<_> = all
        .gaps()
        .into_iter()
        .filter(|gap| !own_gaps.contains(gap))
        .collect();
    for gap in &gaps {
        output.line(messages::not_sent(gap));
    }
    json.own_log_gaps = own_gaps.iter().map(MissingJson::from).collect();
    json.gaps = gaps.iter().map(MissingJson::from).collect();
    let is_whole = own_gaps.is_empty() && json.files.iter().all(|file| file.state == "whole");
    let (outcome, state) = match (is_whole, check_opens(folder, output)) {
        (true, Opens::Clean) => (Outcome::Done, "whole"),
        (true, Opens::Repaired) => (Outcome::Findings, "whole again"),
        (false, _) | (_, Opens::Failed) => (Outcome::NotDone, "damaged"),
    };
    output.line(format!("{}: {state}.", folder.display()));
    Ok(outcome)
}

/// Gaps of a log that must start at its first record.
fn gaps_from_first(held: &RangeSet) -> Vec<SeqRange> {
    let mut gaps = held.gaps();
    let mut seen = Vec::new();
    for range in held.iter() {
        if !seen.contains(&range.log) {
            seen.push(range.log);
            if range.first > 0 {
                gaps.push(SeqRange {
                    log: range.log,
                    first: 0,
                    last: range.first - 1,
                });
            }
        }
    }
    gaps
}

/// What opening a logbook showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Opens {
    Clean,
    Repaired,
    Failed,
}

/// Opens the logbook, which checks its database against its records. Being open elsewhere is no
/// damage: that program checked it.
fn check_opens(folder: &Path, output: &mut Output) -> Opens {
    match Logbook::open_to_check(
        folder,
        std::sync::Arc::new(crate::clock::SystemClock::new()),
    ) {
        Ok(logbook) => print_start(logbook.start_report(), output),
        Err(winze_core::Error::Locked { .. }) => {
            output.line("The logbook is open in another program, so its database was not checked.");
            Opens::Clean
        }
        Err(error) => {
            output.line(messages::logbook_failed(&error).to_string());
            Opens::Failed
        }
    }
}

fn print_start(report: &StartReport, output: &mut Output) -> Opens {
    let mut opens = Opens::Clean;
    if let Some(aside) = &report.database_put_aside {
        opens = Opens::Repaired;
        output.line(format!(
            "The database was damaged and put aside as {}; another was made from the records.",
            aside.display()
        ));
    }
    if report.replayed > 0 && opens == Opens::Clean {
        output.line(format!(
            "The database lacked {} and was brought up to date from the segments.",
            counted(report.replayed, "record", "records")
        ));
    }
    if report.without_write_ahead {
        output.line(
            "The medium has no write-ahead log for the database, so each record is written down the \
             slower way. Nothing is less safe; a local drive would be quicker.",
        );
    }
    if report.restored_to_segments > 0 {
        opens = Opens::Repaired;
        output.line(format!(
            "{} lost from the segments came back from the database.",
            counted(report.restored_to_segments, "record", "records")
        ));
    }
    opens
}

fn print_file(output: &mut Output, file: &FileJson) {
    output.line(format!(
        "{}: {}, {}.",
        file.file.display(),
        file.state,
        counted(file.records, "record", "records")
    ));
    for damage in &file.damage {
        output.line(format!(
            "  Damaged: {} from byte {} ({}).",
            counted(damage.length, "byte", "bytes"),
            damage.offset,
            damage.reason
        ));
    }
    if file.unfinished_bytes > 0 {
        output.line(format!(
            "  Its last {} are an unfinished write; nothing in it was shown as saved.",
            counted(file.unfinished_bytes, "byte", "bytes")
        ));
    }
}

fn open(path: &Path) -> Result<BufReader<File>, UserMessage> {
    File::open(path)
        .map(BufReader::new)
        .map_err(|error| file_failed("read", path, &error))
}

pub(super) fn threads() -> usize {
    std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
}
