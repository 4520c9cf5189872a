//! `winze salvage`: takes every whole record out of damaged files and writes them as a new bundle.
//!
//! The content decides what a file is, never its name: bundles, segments, pieces of either, a stick's
//! image. A folder stands for all files in it. Several damaged copies make up for each other. The
//! sources are only read; links, pipes and devices are refused. The new bundle is signed with a key
//! that is made for it and thrown away: it stands for the packing alone, each record keeps the
//! signature of its logbook.
//!
//! `--into` names the new bundle (ending in `.winze`) or the folder for it. More than one bundle is
//! written where one would pass a limit of the format; then all of them get names of their own.
//!
//! `--json`:
//!
//! ```json
//! {"command":"salvage","outcome":"findings","records":209,
//!  "files":[{"file":"...","kind":"bundle","state":"damaged","records":209,"new_records":209,
//!    "damage":[{"offset":4120,"length":512,"reason":"bad-signature"}],
//!    "missing":[{"log":"<64 hex>","first":17,"last":18}]}],
//!  "missing":[{"log":"<64 hex>","first":17,"last":18}],
//!  "written":[{"file":"...","records":209,"bytes":47001,"sha256":"..."}]}
//! ```
//!
//! `kind` is `bundle`, `segment` or `unknown`; `state` is `whole`, `damaged`, `no-record` or
//! `unreadable`. `missing` at the end is what no file holds. Outcome `done` means that nothing was
//! lost, `not-done` that no file holds a whole record; nothing is written then.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use serde::Serialize;
use winze_core::clock::Clock as _;
use winze_sync_format::bundle::{
    EXTENSION, Gathered, Gatherer, Gathering, Stage, TrailerState, WrittenBundle,
};
use winze_sync_format::disk::{Disk as _, RealDisk};
use winze_sync_format::{Error, LogKey};

use super::output::Output;
use super::pack::hex;
use super::place::Person;
use super::progress::Bar;
use super::verify::{DamageJson, MissingJson, damage_json, threads};
use super::{CommandResult, Outcome};
use crate::clock::SystemClock;
use crate::messages::{
    UserMessage, counted, damage, file_failed, format_failed, losses, missing, nothing_to_salvage,
};

/// What the new bundles call their origin.
const LABEL: &str = "salvaged";

/// Arguments of `winze salvage`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Damaged bundles or segments, copies of them, or folders with such files.
    #[arg(value_name = "FILE", required = true)]
    paths: Vec<PathBuf>,
    /// The new bundle, or the folder for it.
    #[arg(long, value_name = "BUNDLE|DIR")]
    into: PathBuf,
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
    records: u64,
    files: Vec<FileJson>,
    missing: Vec<MissingJson>,
    written: Vec<WrittenJson>,
}

#[derive(Debug, Serialize)]
struct FileJson {
    file: PathBuf,
    kind: &'static str,
    state: &'static str,
    records: u64,
    new_records: u64,
    damage: Vec<DamageJson>,
    missing: Vec<MissingJson>,
}

#[derive(Debug, Serialize)]
struct WrittenJson {
    file: PathBuf,
    records: u64,
    bytes: u64,
    sha256: String,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let target = Target::of(&args.into)?;
    let mut output = Output::new(args.json);
    let mut gathering = Gathering::new();
    let mut files = Vec::new();
    let mut bar = Bar::new();
    let paths = files_of(&args.paths)?;
    for (done, path) in paths.iter().enumerate() {
        bar.draw("reading", done as u64, Some(paths.len() as u64));
        files.push(add(&mut gathering, path, &mut output));
    }
    drop(bar);
    if gathering.records() == 0 {
        return Err(nothing_to_salvage(&args.paths));
    }
    let lost = gathering.missing();
    for range in &lost {
        output.line(format!("In none of these files: {}", missing(range)));
    }
    let written = write(&gathering, &target, &args.person.name())?;
    for bundle in &written {
        output.line(format!(
            "Written and read back: {} with {}. Merge it as any other bundle.",
            bundle.path.display(),
            counted(bundle.records, "record", "records")
        ));
    }
    let is_whole = lost.is_empty() && files.iter().all(|file| file.state == "whole");
    let outcome = Outcome::of_findings(!is_whole);
    output.json(&Json {
        command: "salvage",
        outcome: outcome.code(),
        records: gathering.records(),
        files,
        missing: lost.iter().map(MissingJson::from).collect(),
        written: written.into_iter().map(WrittenJson::from).collect(),
    });
    Ok(outcome)
}

/// Where the new bundle goes.
struct Target {
    folder: PathBuf,
    /// The name asked for; without one it gets its own.
    file: Option<PathBuf>,
}

impl Target {
    fn of(into: &Path) -> Result<Self, UserMessage> {
        let is_bundle = into.extension().is_some_and(|end| end == EXTENSION) && !into.is_dir();
        if !is_bundle {
            std::fs::create_dir_all(into).map_err(|error| file_failed("written", into, &error))?;
            return Ok(Self {
                folder: into.to_owned(),
                file: None,
            });
        }
        if RealDisk.exists(into) {
            let taken = std::io::ErrorKind::AlreadyExists.into();
            return Err(file_failed("written", into, &taken));
        }
        let folder = match into.parent() {
            Some(folder) if folder != Path::new("") => folder,
            _ => Path::new("."),
        };
        Ok(Self {
            folder: folder.to_owned(),
            file: Some(into.to_owned()),
        })
    }
}

/// The files meant: a folder stands for all files in it, in order of name.
pub(super) fn files_of(paths: &[PathBuf]) -> Result<Vec<PathBuf>, UserMessage> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            let names = RealDisk
                .file_names(path)
                .map_err(|error| file_failed("read", path, &error))?;
            files.extend(names.into_iter().map(|name| path.join(name)));
        } else {
            files.push(path.clone());
        }
    }
    Ok(files)
}

/// Takes what one file holds, and says what it is and what it lost. A file that cannot be opened
/// keeps none of the others from being read.
fn add(gathering: &mut Gathering, path: &Path, output: &mut Output) -> FileJson {
    let mut json = FileJson {
        file: path.to_owned(),
        kind: "unknown",
        state: "unreadable",
        records: 0,
        new_records: 0,
        damage: Vec::new(),
        missing: Vec::new(),
    };
    let found = match gathering.add(&RealDisk, path, threads()) {
        Ok(found) => found,
        Err(error) => {
            output.line(format_failed(&error).to_string());
            return json;
        }
    };
    let report = &found.report;
    let is_bundle = report.header.is_some() || report.trailer != TrailerState::Absent;
    json.records = report.records;
    json.new_records = found.new;
    json.damage = damage_json(report);
    json.missing = report.missing.iter().map(MissingJson::from).collect();
    json.kind = match (found.is_segment, is_bundle, report.records) {
        (true, _, _) => "segment",
        (false, false, 0) => "unknown",
        _ => "bundle",
    };
    let is_whole = report.is_whole() || found.is_segment && report.damage.is_empty();
    json.state = match (json.kind, is_whole) {
        ("unknown", _) => "no-record",
        (_, true) => "whole",
        (_, false) => "damaged",
    };
    output.line(format!(
        "{}: {}, {}, {} not found before.",
        path.display(),
        json.state.replace('-', " "),
        counted(report.records, "whole record", "whole records"),
        found.new
    ));
    for line in losses_of(&found, json.kind) {
        output.line(format!("  {line}"));
    }
    json
}

/// A segment has no beginning and no end to lose; what is none of both has nothing but bytes.
fn losses_of(found: &Gathered, kind: &str) -> Vec<String> {
    let report = &found.report;
    match kind {
        "bundle" => losses(report),
        "segment" => {
            let damage = report.damage.iter().map(damage);
            damage.chain(report.missing.iter().map(missing)).collect()
        }
        _ => Vec::new(),
    }
}

fn write(
    gathering: &Gathering,
    target: &Target,
    by: &str,
) -> Result<Vec<WrittenBundle>, UserMessage> {
    let failed = |error: Error| format_failed(&error);
    let key = LogKey::generate().map_err(failed)?;
    let by = Gatherer {
        label: LABEL.to_owned(),
        person: by.to_owned(),
        clock: SystemClock::new().now(),
    };
    let mut bar = Bar::new();
    let mut written = gathering
        .write(&RealDisk, &target.folder, &key, &by, &mut |progress| {
            let what = match progress.stage {
                Stage::Writing => "writing",
                Stage::ReadingBack => "reading back",
            };
            bar.draw(what, progress.records, Some(gathering.records()));
            ControlFlow::Continue(())
        })
        .map_err(failed)?;
    if let (Some(name), [only]) = (&target.file, &mut written[..]) {
        RealDisk
            .rename(&only.path, name)
            .and_then(|()| RealDisk.sync_folder(&target.folder))
            .map_err(|error| file_failed("written", name, &error))?;
        only.path.clone_from(name);
    }
    Ok(written)
}

impl From<WrittenBundle> for WrittenJson {
    fn from(bundle: WrittenBundle) -> Self {
        Self {
            file: bundle.path,
            records: bundle.records,
            bytes: bundle.bytes,
            sha256: hex(&bundle.sha256),
        }
    }
}
