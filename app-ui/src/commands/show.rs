//! `winze show`: prints what stands in a file, or in one record of a logbook.
//!
//! For each record: who wrote it and when, what it says in plain sentences, and its payload in the
//! diagnostic notation of RFC 8949 section 8. A file is read as far as it goes; damaged parts are
//! named where they stand.
//!
//! `--json`, one object per line:
//!
//! ```json
//! {"command":"show","offset":812,"log":"<64 hex>","seq":3,"id":"<64 hex>","kind":40,
//!  "kind_name":"reading","person":"Ada","wall_ms":1764054000000,"clock":"hand-set",
//!  "sentences":["..."],"diagnostic":"{0: 1, ...}"}
//! {"command":"show","offset":4120,"length":512,"damage":"bad-signature"}
//! {"command":"show","outcome":"done","records":212,"damaged_parts":0}
//! ```
//!
//! `offset` is absent when a record is shown out of a logbook; `held` is then there. Outcome
//! `findings` means that something in the file is damaged.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use serde::Serialize;
use winze_core::query::{RecordView, find_records, record};
use winze_core::record::{Body, Kind};
use winze_sync_format::canonical::to_diagnostic;
use winze_sync_format::salvage::{Damage, Found, ItemScanner, ReadLimits};
use winze_sync_format::{
    ClockReading, ClockStatus, KIND_BUNDLE_HEADER, KIND_BUNDLE_TRAILER, Opened, Record, RecordRef,
    SignedRecord, parse_item,
};

use super::output::Output;
use super::place::Place;
use super::verify::threads;
use super::{CommandResult, Outcome};
use crate::messages::{self, UserMessage, damage_code, file_failed, logbook_failed};
use crate::statements;

/// Arguments of `winze show`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// A bundle or segment, or the first digits of a record's id in the logbook.
    #[arg(value_name = "FILE|ID")]
    what: String,
    #[command(flatten)]
    place: Place,
    /// Print JSON, one object per line.
    #[arg(long)]
    pub json: bool,
}

/// One record in `--json`.
#[derive(Debug, Serialize)]
pub(super) struct RecordJson {
    pub command: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    offset: Option<u64>,
    log: String,
    seq: u64,
    pub id: String,
    kind: u64,
    pub kind_name: &'static str,
    person: String,
    wall_ms: Option<i64>,
    clock: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    held: Option<bool>,
    pub sentences: Vec<String>,
    diagnostic: String,
}

#[derive(Debug, Serialize)]
struct DamageLine {
    command: &'static str,
    offset: u64,
    length: u64,
    damage: &'static str,
}

#[derive(Debug, Serialize)]
struct EndJson {
    command: &'static str,
    outcome: &'static str,
    records: u64,
    damaged_parts: u64,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let mut output = Output::new(args.json);
    let path = PathBuf::from(&args.what);
    // A name that looks like an id and is no file is an id.
    let is_id = args.what.len() >= 4 && args.what.bytes().all(|byte| byte.is_ascii_hexdigit());
    let (records, damaged_parts) = if is_id && !path.exists() {
        (show_record(args, &mut output)?, 0)
    } else {
        show_file(&path, &mut output)?
    };
    let outcome = Outcome::of_findings(damaged_parts > 0);
    output.json(&EndJson {
        command: "show",
        outcome: outcome.code(),
        records,
        damaged_parts,
    });
    Ok(outcome)
}

fn show_file(path: &Path, output: &mut Output) -> Result<(u64, u64), UserMessage> {
    let failed = |error: std::io::Error| file_failed("read", path, &error);
    let file = File::open(path).map_err(failed)?;
    if file.metadata().map_err(failed)?.is_dir() {
        return Err(failed(std::io::ErrorKind::IsADirectory.into()));
    }
    let limits = ReadLimits::default();
    let scanner = ItemScanner::new(BufReader::new(file))
        .threads(threads())
        .limits(limits);
    let (mut records, mut damaged_parts) = (0, 0);
    for found in scanner {
        match found {
            Found::Record { offset, record, .. } => {
                records += 1;
                print_record(output, &from_file(Some(offset), &record));
            }
            Found::Newer { offset, newer } => {
                records += 1;
                let shown = from_newer(Some(offset), newer.version, newer.reference);
                print_record(output, &shown);
            }
            Found::Hint { offset, value } => {
                output.line(format!(
                    "@{offset}  closing number: the end starts at byte {value}\n"
                ));
            }
            // Nothing is told to be held already, so nothing is answered as such.
            Found::Held { .. } => {}
            Found::Damage(damage) => {
                damaged_parts += 1;
                print_damage(output, &damage);
            }
        }
    }
    if records == 0 {
        return Err(UserMessage::new(
            format!("{} holds no record.", path.display()),
            "Nothing was changed.",
            "Name a bundle or a segment of a logbook.",
        ));
    }
    Ok((records, damaged_parts))
}

fn show_record(args: &Args, output: &mut Output) -> Result<u64, UserMessage> {
    let logbook = args.place.open()?;
    let failed = |error: winze_core::Error| logbook_failed(&error);
    let found = find_records(&logbook, &args.what.to_lowercase()).map_err(failed)?;
    if found.is_empty() {
        return Err(UserMessage::new(
            format!(
                "No record here has an id that starts with {}, and no file is called so.",
                args.what
            ),
            "Nothing was changed.",
            "Check the digits, or name the logbook with --logbook.",
        ));
    }
    for at in &found {
        let view = record(&logbook, *at).map_err(failed)?;
        print_record(output, &from_logbook(&view));
    }
    Ok(found.len() as u64)
}

/// A record ready to print.
pub(super) struct Shown {
    /// Who wrote it, and when.
    pub head: String,
    /// All of it.
    pub json: RecordJson,
}

/// A record as it stands in a file.
pub(super) fn from_file(offset: Option<u64>, signed: &SignedRecord) -> Shown {
    let record = signed.record();
    let (kind_name, sentences) = sentences(record);
    let at = signed.reference();
    let json = RecordJson {
        command: "show",
        offset,
        held: None,
        ..json_of(at, record, kind_name, sentences, diagnostic(signed.item()))
    };
    let is_part_of_bundle = matches!(record.kind, KIND_BUNDLE_HEADER | KIND_BUNDLE_TRAILER);
    let head = if is_part_of_bundle {
        statements::packed(&at.log, &record.person, &record.clock)
    } else {
        statements::signature(&at, &record.person, &record.clock, "")
    };
    Shown { head, json }
}

/// A record of a newer format version as it stands in a file.
pub(super) fn from_newer(offset: Option<u64>, version: u64, at: RecordRef) -> Shown {
    let sentence = format!("Written by a newer Winze (format version {version}); kept as it is.");
    Shown {
        head: format!("Record {} of {}.", at.seq, at.log.short()),
        json: RecordJson {
            command: "show",
            offset,
            log: at.log.to_string(),
            seq: at.seq,
            id: at.id.to_string(),
            kind: 0,
            kind_name: "newer",
            person: String::new(),
            wall_ms: None,
            clock: None,
            held: None,
            sentences: vec![sentence],
            diagnostic: String::new(),
        },
    }
}

/// A record as a logbook holds it.
pub(super) fn from_logbook(view: &RecordView) -> Shown {
    let kind = Kind::from_number(view.kind);
    let sentences = match (&view.body, &view.not_understood) {
        (Some(body), _) => statements::body(body),
        (None, Some(why)) => vec![format!("Not understood: {why}.")],
        (None, None) => vec!["Not understood.".to_owned()],
    };
    let head = match &view.clock {
        Some(clock) => statements::signature(&view.at, &view.person, clock, &view.log_name),
        None => format!("Record {} of {}.", view.at.seq, view.at.log.short()),
    };
    Shown {
        head,
        json: RecordJson {
            command: "show",
            offset: None,
            log: view.at.log.to_string(),
            seq: view.at.seq,
            id: view.at.id.to_string(),
            kind: view.kind,
            kind_name: kind.map_or("unknown", Kind::code),
            person: view.person.clone(),
            wall_ms: view.clock.as_ref().map(|clock| clock.wall_ms),
            clock: view.clock.as_ref().map(clock_code),
            held: Some(view.is_held),
            sentences,
            diagnostic: diagnostic(&view.item),
        },
    }
}

fn json_of(
    at: RecordRef,
    record: &Record,
    kind_name: &'static str,
    sentences: Vec<String>,
    diagnostic: String,
) -> RecordJson {
    RecordJson {
        command: "show",
        offset: None,
        log: at.log.to_string(),
        seq: at.seq,
        id: at.id.to_string(),
        kind: record.kind,
        kind_name,
        person: record.person.clone(),
        wall_ms: Some(record.clock.wall_ms),
        clock: Some(clock_code(&record.clock)),
        held: None,
        sentences,
        diagnostic,
    }
}

/// The kind in a word, and what the record says.
fn sentences(record: &Record) -> (&'static str, Vec<String>) {
    match record.kind {
        KIND_BUNDLE_HEADER => (
            "bundle-header",
            vec!["Opens a bundle and names the records in it.".to_owned()],
        ),
        KIND_BUNDLE_TRAILER => (
            "bundle-trailer",
            vec!["Closes a bundle, with its length and hash.".to_owned()],
        ),
        kind => {
            let name = Kind::from_number(kind).map_or("unknown", Kind::code);
            match Body::decode(kind, &record.body) {
                Ok(body) => (name, statements::body(&body)),
                Err(error) => (
                    name,
                    vec![messages::body_not_understood(&error).to_string()],
                ),
            }
        }
    }
}

const fn clock_code(clock: &ClockReading) -> &'static str {
    match clock.status {
        ClockStatus::Unset => "unset",
        ClockStatus::HandSet => "hand-set",
        ClockStatus::SetAtOffice => "set-at-office",
    }
}

/// The payload of an item in diagnostic notation.
fn diagnostic(item: &[u8]) -> String {
    let opened = parse_item(item).and_then(|(unverified, _)| unverified.verify());
    match opened {
        Ok(Opened::Record(signed)) => signed
            .record()
            .encode()
            .and_then(|payload| to_diagnostic(&payload))
            .unwrap_or_else(|error| error.to_string()),
        Ok(Opened::Newer(_)) => String::new(),
        Err(error) => error.to_string(),
    }
}

fn print_record(output: &mut Output, shown: &Shown) {
    let place = shown
        .json
        .offset
        .map_or_else(String::new, |offset| format!("@{offset}  "));
    output.line(format!(
        "{place}{}  {}",
        shown.json.kind_name, shown.json.id
    ));
    output.line(format!("  {}", shown.head));
    for sentence in &shown.json.sentences {
        output.line(format!("  {sentence}"));
    }
    if shown.json.held == Some(true) {
        output.line("  Held: its logbook is not enrolled, so it does not count.");
    }
    if !shown.json.diagnostic.is_empty() {
        output.line(format!("  {}", shown.json.diagnostic));
    }
    output.line("");
    output.json(&shown.json);
}

fn print_damage(output: &mut Output, damage: &Damage) {
    output.line(format!(
        "@{}  {}\n",
        damage.offset,
        messages::damage(damage)
    ));
    output.json(&DamageLine {
        command: "show",
        offset: damage.offset,
        length: damage.length,
        damage: damage_code(damage.reason),
    });
}
