//! `winze report`: a document as PDF/A.
//!
//! - `winze report STATION`: of the procedure that was ended last at the station, or is open there
//!   where none was ended: set-up certificate, recalibration sheet, yearly report or internal
//!   inspection report. With `--kind` the last one of that kind.
//! - `winze report ID`: of this procedure; ID is the id of the record that opened it, as the QR code
//!   gives it, or at least its first four digits.
//! - `winze report --week [BACK]`: the week's sheet, BACK weeks before this one: what to look at, every
//!   station with its newest reading, what falls due and the open jobs.
//!
//! The file is `--out FILE`; without it a file in the folder at hand, named after what it holds
//! (`certificate-T-07-2026-10-06.pdf`, `week-2026-W41.pdf`). A file of that name is replaced. The
//! same records give the same bytes; the sheet of this week also follows from today.
//!
//! Outcome `findings` when the document shows something to look at: work not completed, a step not
//! done, gauges not within as left, something found; for a week anything to look at. Nothing is
//! written to the logbook.
//!
//! `--json`, with `station` and `procedure`, or `week`:
//!
//! ```json
//! {"command":"report","outcome":"done","kind":"certificate","station":"T-07","procedure":"3f2a...",
//!  "file":"certificate-T-07-2026-10-06.pdf","pages":5,"bytes":116594}
//! {"command":"report","outcome":"findings","kind":"week","week":"2026-W41",
//!  "file":"week-2026-W41.pdf","pages":2,"bytes":57696}
//! ```

use std::path::PathBuf;

use chrono::TimeDelta;
use serde::Serialize;
use winze_core::query::{self, ProcedureView};
use winze_core::station::StationCode;
use winze_core::{Error, Logbook};

use super::output::Output;
use super::place::Place;
use super::{CommandResult, Outcome};
use crate::messages::reports::{file_name, week_code, week_file_name};
use crate::messages::{UserMessage, counted, logbook_failed, procedures};
use crate::office::snapshot::Snapshot;
use crate::papers::save;
use crate::presenters::office_attention::attention;
use crate::reports::{Document, WorkKind, account, document, kind_of, needs_a_look, week_sheet};

/// Fewest digits that name a procedure.
const ID_DIGITS_MIN: usize = 4;

/// Arguments of `winze report`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Code of a station, or id of a procedure.
    #[arg(value_name = "STATION|ID", required_unless_present = "week")]
    of: Option<String>,
    /// Which document of the station: certificate, recalibration, yearly or inspection.
    #[arg(long, value_name = "KIND", value_parser = kind, conflicts_with = "week")]
    kind: Option<WorkKind>,
    /// The week's sheet, so many weeks before this one.
    #[arg(
        long,
        value_name = "BACK",
        num_args = 0..=1,
        default_missing_value = "0",
        conflicts_with = "of"
    )]
    week: Option<u32>,
    /// The file to write.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    place: Place,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

fn kind(text: &str) -> Result<WorkKind, String> {
    let known: Vec<&str> = WorkKind::ALL.map(WorkKind::code).into();
    WorkKind::from_code(text).ok_or_else(|| format!("one of {}", known.join(", ")))
}

#[derive(Debug, Serialize)]
struct Json {
    command: &'static str,
    outcome: &'static str,
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    station: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    procedure: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    week: Option<String>,
    file: PathBuf,
    pages: usize,
    bytes: usize,
}

/// A document with what is said of it.
struct Made {
    document: Document,
    outcome: Outcome,
    kind: &'static str,
    station: Option<String>,
    procedure: Option<String>,
    week: Option<String>,
    name: String,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let logbook = args.place.open()?;
    let made = match (&args.of, args.week) {
        (Some(of), _) => of_work(&logbook, of, args.kind)?,
        (None, back) => of_week(&logbook, back.unwrap_or(0))?,
    };
    let file = args
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from(&made.name));
    let written = save(&made.document, &file)?;
    let mut output = Output::new(args.json);
    output.line(format!(
        "Written: {}, {}.",
        file.display(),
        counted(written.pages as u64, "page", "pages")
    ));
    output.json(&Json {
        command: "report",
        outcome: made.outcome.code(),
        kind: made.kind,
        station: made.station,
        procedure: made.procedure,
        week: made.week,
        file,
        pages: written.pages,
        bytes: written.bytes.len(),
    });
    Ok(made.outcome)
}

fn of_work(logbook: &Logbook, of: &str, kind: Option<WorkKind>) -> Result<Made, UserMessage> {
    let view = find(logbook, of, kind)?;
    let work = account(logbook, &view).map_err(|error| logbook_failed(&error))?;
    let work = work.ok_or_else(|| no_document(&view))?;
    Ok(Made {
        outcome: Outcome::of_findings(needs_a_look(&work)),
        kind: work.kind.code(),
        station: Some(view.station.to_string()),
        procedure: Some(view.at.id.to_string()),
        week: None,
        name: file_name(&work),
        document: document(&work),
    })
}

/// The procedure meant: by a station's code, else by the beginning of an id.
fn find(logbook: &Logbook, of: &str, kind: Option<WorkKind>) -> Result<ProcedureView, UserMessage> {
    let failed = |error: Error| logbook_failed(&error);
    if let Ok(code) = StationCode::parse(of)
        && query::station(logbook, &code).map_err(failed)?.is_some()
    {
        let all = query::procedures_at(logbook, &code).map_err(failed)?;
        return newest(all, kind).ok_or_else(|| nothing_done(&code));
    }
    let is_id = of.len() >= ID_DIGITS_MIN && of.bytes().all(|digit| digit.is_ascii_hexdigit());
    let of = of.to_ascii_lowercase();
    let mut found = Vec::new();
    if is_id {
        found = query::procedures(logbook).map_err(failed)?;
        found.retain(|view| view.at.id.to_string().starts_with(&of));
    }
    match (found.pop(), found.is_empty()) {
        (Some(view), true) => Ok(view),
        (None, _) => Err(unknown(&of)),
        (Some(_), false) => Err(UserMessage::new(
            format!("More than one procedure begins with {of}."),
            "Nothing was written.",
            "Give more digits.",
        )),
    }
}

/// The procedure that ended last, else the one that was opened last.
fn newest(all: Vec<ProcedureView>, kind: Option<WorkKind>) -> Option<ProcedureView> {
    let fits = |view: &ProcedureView| {
        let has = kind_of(view.code);
        has.is_some() && (kind.is_none() || has == kind)
    };
    all.into_iter().filter(fits).max_by_key(|view| {
        let closing = view.state.as_ref().map(|state| &state.closing);
        let ended = closing.and_then(|closing| closing.closed_by());
        (ended.map(|by| by.wall_ms), view.opened_ms, view.at)
    })
}

fn of_week(logbook: &Logbook, back: u32) -> Result<Made, UserMessage> {
    let failed = |error: Error| logbook_failed(&error);
    let snapshot = Snapshot::load(logbook, back).map_err(failed)?;
    let monday = snapshot.week.monday;
    let last_day = monday + TimeDelta::days(6);
    let list = query::due_on(logbook, query::today(logbook).min(last_day)).map_err(failed)?;
    Ok(Made {
        document: week_sheet(&snapshot, &list),
        outcome: Outcome::of_findings(!attention(&snapshot).is_empty()),
        kind: "week",
        station: None,
        procedure: None,
        name: week_file_name(monday),
        week: Some(week_code(monday)),
    })
}

fn unknown(of: &str) -> UserMessage {
    UserMessage::new(
        format!("There is no station and no procedure {of} in this logbook."),
        "Nothing was written.",
        "Check the code, or the id below the QR code.",
    )
}

fn nothing_done(code: &StationCode) -> UserMessage {
    UserMessage::new(
        format!("No work of this kind is recorded at station {code}."),
        "Nothing was written.",
        "Ask for another kind, or take in the bundle with the work.",
    )
}

fn no_document(view: &ProcedureView) -> UserMessage {
    UserMessage::new(
        format!(
            "No document is made of a {}.",
            procedures::procedure(view.code)
        ),
        "Nothing was written.",
        "Its records can be read with `winze show`.",
    )
}
