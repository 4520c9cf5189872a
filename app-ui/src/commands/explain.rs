//! `winze explain`: everything that is known about one record.
//!
//! The record is named by the first digits of its id, or by its logbook and place in it as
//! `LOG:SEQ` (`8a88e3dd:12`). With files or folders, they are searched; a folder stands for all
//! files in it. Without any, and with `--logbook`, the logbook is asked, which also knows whether
//! the record counts. Told are: what it says, who wrote it and when, what it refers to and follows,
//! whether it counts and why not, and where it lies: in which segments, and in which of the files,
//! packed by whom. Which bundle brought a record is answered by naming the bundles that came: a
//! logbook keeps records, not their ways.
//!
//! `--json`, one object for each record, then one for the end:
//!
//! ```json
//! {"command":"explain","log":"<64 hex>","seq":3,"id":"<64 hex>","kind":40,"kind_name":"reading",
//!  "person":"Ada","wall_ms":1764054000000,"clock":"hand-set","held":false,"sentences":["..."],
//!  "diagnostic":"{0: 1, ...}","refs":[{"log":"<64 hex>","seq":2,"id":"<64 hex>"}],
//!  "prev":"<64 hex>","prev_is_here":true,"counts":true,"why":["It counts."],
//!  "found":[{"file":"...","offset":812,"length":190,"kind":"bundle","label":"Tablet A",
//!    "packed_by":"Ada","packed_ms":1764054000000}],"item":"<hex>"}
//! {"command":"explain","outcome":"done","records":1}
//! ```
//!
//! `prev_is_here`, `counts` and `why` are there when a logbook was asked. Outcome `findings` means
//! that a record does not count, or that more than one answers to the name.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::Serialize;
use winze_core::Logbook;
use winze_core::query::{RecordView, find_at_place, find_records, logs, record};
use winze_sync_format::bundle::{BundleEvent, BundleHeader, BundleReader};
use winze_sync_format::disk::{Disk as _, RealDisk};
use winze_sync_format::salvage::{Found, ItemScanner};
use winze_sync_format::{RecordId, RecordRef};

use super::output::{Output, note};
use super::pack::hex;
use super::place::Place;
use super::salvage::files_of;
use super::show::{RecordJson, Shown, from_file, from_logbook, from_newer};
use super::verify::threads;
use super::{CommandResult, Outcome};
use crate::messages::{UserMessage, file_failed, logbook_failed, no_such_record};
use crate::statements;

/// Most records explained at once: more have the same first digits by chance only.
const RECORDS_MAX: usize = 16;

/// Arguments of `winze explain`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The first digits of a record's id, or its logbook's and its place: 8a88e3dd:12.
    #[arg(value_name = "ID|LOG:SEQ")]
    what: String,
    /// Bundles, segments or folders to look in.
    #[arg(value_name = "FILE|DIR")]
    files: Vec<PathBuf>,
    #[command(flatten)]
    place: Place,
    /// Print JSON, one object per line.
    #[arg(long)]
    pub json: bool,
}

/// Which record is meant.
enum Wanted {
    Id(String),
    Place(String, u64),
}

impl Wanted {
    fn of(text: &str) -> Option<Self> {
        let is_name =
            |text: &str| text.len() >= 4 && text.bytes().all(|byte| byte.is_ascii_hexdigit());
        let lower = text.to_lowercase();
        match lower.split_once(':') {
            None if is_name(&lower) => Some(Self::Id(lower)),
            Some((log, seq)) if is_name(log) => {
                Some(Self::Place(log.to_owned(), seq.parse().ok()?))
            }
            _ => None,
        }
    }

    fn is(&self, at: &RecordRef) -> bool {
        match self {
            Self::Id(prefix) => at.id.to_string().starts_with(prefix),
            Self::Place(log, seq) => at.seq == *seq && at.log.to_string().starts_with(log),
        }
    }
}

/// All that was found out about one record.
#[derive(Default)]
struct Known {
    shown: Option<Shown>,
    item: Vec<u8>,
    prev: Option<RecordId>,
    refs: Vec<RecordRef>,
    view: Option<RecordView>,
    found: Vec<FoundJson>,
}

#[derive(Debug, Serialize)]
struct ExplainedJson {
    #[serde(flatten)]
    record: RecordJson,
    refs: Vec<RefJson>,
    prev: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    prev_is_here: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    counts: Option<bool>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    why: Vec<String>,
    found: Vec<FoundJson>,
    item: String,
}

#[derive(Debug, Serialize)]
struct RefJson {
    log: String,
    seq: u64,
    id: String,
}

/// One place where the record lies.
#[derive(Debug, Clone, Serialize)]
struct FoundJson {
    file: PathBuf,
    offset: u64,
    length: u64,
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    label: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    packed_by: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    packed_ms: Option<i64>,
}

#[derive(Debug, Serialize)]
struct EndJson {
    command: &'static str,
    outcome: &'static str,
    records: usize,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let Some(wanted) = Wanted::of(&args.what) else {
        return Err(UserMessage::new(
            format!("{} names no record.", args.what),
            "Nothing was changed.",
            "Give four or more digits of a record's id, or a logbook and a place in it, as in \
             8a88e3dd:12.",
        ));
    };
    let mut output = Output::new(args.json);
    let mut known: BTreeMap<RecordRef, Known> = BTreeMap::new();
    for path in files_of(&args.files)? {
        if let Err(message) = look_in(&path, &wanted, &mut known) {
            // Among many files one that cannot be read keeps none of the others from being looked in.
            note(&message.to_string());
        }
    }
    let mut logbook = None;
    if args.files.is_empty() || args.place.is_given() {
        let opened = args.place.open()?;
        ask(&opened, &wanted, &mut known)?;
        logbook = Some(opened);
    }
    if known.is_empty() {
        return Err(no_such_record(&args.what));
    }
    let mut has_findings = known.len() > 1;
    let records = known.len();
    for known in known.into_values() {
        has_findings |= print(&mut output, known, logbook.as_ref())? == Some(false);
    }
    let outcome = Outcome::of_findings(has_findings);
    output.json(&EndJson {
        command: "explain",
        outcome: outcome.code(),
        records,
    });
    Ok(outcome)
}

/// Looks in one file. Records that are not wanted are passed over without checking their signatures.
fn look_in(
    path: &Path,
    wanted: &Wanted,
    known: &mut BTreeMap<RecordRef, Known>,
) -> Result<(), UserMessage> {
    let open = || {
        RealDisk
            .open(path)
            .map_err(|error| file_failed("read", path, &error))
    };
    let mut header: Option<Option<BundleHeader>> = None;
    let scanner = ItemScanner::new(open()?)
        .threads(threads())
        .known(|at| !wanted.is(at));
    for found in scanner {
        let (offset, at, item) = match &found {
            Found::Record { offset, record, .. } => {
                (*offset, record.reference(), record.item().to_vec())
            }
            Found::Newer { offset, newer } => (*offset, newer.reference, newer.item.clone()),
            Found::Held { .. } | Found::Hint { .. } | Found::Damage(_) => continue,
        };
        let is_new = !known.contains_key(&at);
        if !wanted.is(&at) || is_new && known.len() == RECORDS_MAX {
            continue;
        }
        if header.is_none() {
            header = Some(match BundleReader::new(open()?).next() {
                Some(BundleEvent::Header(header)) => Some(header),
                _ => None,
            });
        }
        let header = header.as_ref().and_then(Option::as_ref);
        let entry = known.entry(at).or_default();
        entry.found.push(FoundJson {
            file: path.to_owned(),
            offset,
            length: item.len() as u64,
            kind: if header.is_some() {
                "bundle"
            } else {
                "segment"
            },
            label: header.map(|header| header.label.clone()),
            packed_by: header.map(|header| header.person.clone()),
            packed_ms: header.map(|header| header.clock.wall_ms),
        });
        if !is_new {
            continue;
        }
        entry.item = item;
        entry.shown = Some(match &found {
            Found::Record { record, .. } => {
                entry.prev = record.record().prev;
                entry.refs.clone_from(&record.record().refs);
                from_file(None, record)
            }
            Found::Newer { newer, .. } => from_newer(None, newer.version, at),
            Found::Held { .. } | Found::Hint { .. } | Found::Damage(_) => continue,
        });
    }
    Ok(())
}

/// Asks the logbook, and finds the place in its segments.
fn ask(
    logbook: &Logbook,
    wanted: &Wanted,
    known: &mut BTreeMap<RecordRef, Known>,
) -> Result<(), UserMessage> {
    let failed = |error: winze_core::Error| logbook_failed(&error);
    let found = match wanted {
        Wanted::Id(prefix) => find_records(logbook, prefix),
        Wanted::Place(log, seq) => find_at_place(logbook, log, *seq),
    };
    let found = found.map_err(failed)?;
    if found.is_empty() {
        return Ok(());
    }
    for path in files_of(&[logbook.dir().to_owned()])? {
        if path.extension().is_some_and(|end| end == "seg") {
            look_in(&path, wanted, known)?;
        }
    }
    for at in found {
        let view = record(logbook, at).map_err(failed)?;
        let entry = known.entry(at).or_default();
        entry.item.clone_from(&view.item);
        entry.prev = view.prev;
        entry.refs.clone_from(&view.refs);
        entry.shown = Some(from_logbook(&view));
        entry.view = Some(view);
    }
    Ok(())
}

/// Prints what is known about one record; answers whether it counts, if that is known.
fn print(
    output: &mut Output,
    known: Known,
    logbook: Option<&Logbook>,
) -> Result<Option<bool>, UserMessage> {
    let Some(Shown { head, mut json }) = known.shown else {
        return Ok(None);
    };
    output.line(format!("{}  {}", json.kind_name, json.id));
    output.line(format!("  {head}"));
    for sentence in &json.sentences {
        output.line(format!("  {sentence}"));
    }
    for at in &known.refs {
        output.line(format!("  Refers to {}.", statements::named(at)));
    }
    let (mut counts, mut why) = (None, Vec::new());
    if let (Some(view), Some(logbook)) = (&known.view, logbook) {
        let logs = logs(logbook).map_err(|error| logbook_failed(&error))?;
        let log = logs.iter().find(|log| log.log == view.at.log);
        output.line(format!("  {}", statements::follows(view)));
        let (is_counted, lines) = statements::counts(view, log);
        (counts, why) = (Some(is_counted), lines);
    }
    for line in &why {
        output.line(format!("  {line}"));
    }
    for place in &known.found {
        output.line(format!("  {}", lies(place)));
    }
    output.line("");
    json.command = "explain";
    output.json(&ExplainedJson {
        record: json,
        refs: known.refs.iter().map(RefJson::from).collect(),
        prev: known.prev.map(|id| id.to_string()),
        prev_is_here: known.view.as_ref().map(|view| view.is_linked),
        counts,
        why,
        found: known.found,
        item: hex(&known.item),
    });
    Ok(counts)
}

/// Where a record lies, in a sentence.
fn lies(place: &FoundJson) -> String {
    let at = format!(
        "Lies in {} from byte {}, {} bytes",
        place.file.display(),
        place.offset,
        place.length
    );
    match (&place.label, &place.packed_by, place.packed_ms) {
        (Some(label), Some(person), Some(ms)) => format!(
            "{at}; that bundle was packed by {person} with \"{label}\" on {}.",
            statements::moment(ms, None)
        ),
        _ => format!("{at}."),
    }
}

impl From<&RecordRef> for RefJson {
    fn from(at: &RecordRef) -> Self {
        Self {
            log: at.log.to_string(),
            seq: at.seq,
            id: at.id.to_string(),
        }
    }
}
