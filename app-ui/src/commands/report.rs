//! `winze report`: a document as PDF/A.
//!
//! `winze report --week [BACK]` is the week's sheet: what to look at, every station with its newest
//! reading, what falls due and the open jobs; BACK weeks before this one.
//!
//! The file is `--out FILE`, or in the folder at hand `week-2026-W41.pdf`. A file of that name is
//! replaced. The same records give the same bytes; the sheet of this week also follows from today.
//!
//! Outcome `findings` when the document shows something to look at. Nothing is written to the
//! logbook.
//!
//! `--json`:
//!
//! ```json
//! {"command":"report","outcome":"done","kind":"week","week":"2026-W41","file":"week-2026-W41.pdf",
//!  "pages":2,"bytes":60512}
//! ```

use std::path::{Path, PathBuf};

use chrono::Datelike as _;
use serde::Serialize;
use winze_core::query;

use super::output::Output;
use super::place::Place;
use super::{CommandResult, Outcome};
use crate::messages::reports::report_failed;
use crate::messages::{UserMessage, counted, file_failed, logbook_failed};
use crate::office::snapshot::Snapshot;
use crate::presenters::office_attention::attention;
use crate::reports::{Document, Written, week_sheet, write};

/// Arguments of `winze report`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The week's sheet, so many weeks before this one.
    #[arg(long, value_name = "BACK", num_args = 0..=1, default_missing_value = "0", required = true)]
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

#[derive(Debug, Serialize)]
struct Json {
    command: &'static str,
    outcome: &'static str,
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    week: Option<String>,
    file: PathBuf,
    pages: usize,
    bytes: usize,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let logbook = args.place.open()?;
    let back = args.week.unwrap_or(0);
    let snapshot = Snapshot::load(&logbook, back).map_err(|error| logbook_failed(&error))?;
    let monday = snapshot.week.monday;
    let today = query::today(&logbook);
    let last_day = monday + chrono::TimeDelta::days(6);
    let list = query::due_on(&logbook, today.min(last_day));
    let list = list.map_err(|error| logbook_failed(&error))?;
    let week = format!(
        "{}-W{:02}",
        monday.iso_week().year(),
        monday.iso_week().week()
    );
    let file = args
        .out
        .clone()
        .unwrap_or_else(|| PathBuf::from(format!("week-{week}.pdf")));
    let written = save(&week_sheet(&snapshot, &list), &file)?;
    let outcome = Outcome::of_findings(!attention(&snapshot).is_empty());
    let mut output = Output::new(args.json);
    output.line(said(&file, &written));
    output.json(&Json {
        command: "report",
        outcome: outcome.code(),
        kind: "week",
        week: Some(week),
        file,
        pages: written.pages,
        bytes: written.bytes.len(),
    });
    Ok(outcome)
}

/// Writes a document to a file, whole or not at all.
fn save(document: &Document, file: &Path) -> Result<Written, UserMessage> {
    let written = write(document).map_err(|error| report_failed(&error))?;
    let failed = |error: std::io::Error| file_failed("written", file, &error);
    let part = file.with_extension("pdf.part");
    std::fs::write(&part, &written.bytes).map_err(failed)?;
    if let Err(error) = std::fs::rename(&part, file) {
        // What is left of it helps nobody; that it cannot go either changes nothing.
        let _ = std::fs::remove_file(&part);
        return Err(failed(error));
    }
    Ok(written)
}

fn said(file: &Path, written: &Written) -> String {
    format!(
        "Written: {}, {}.",
        file.display(),
        counted(written.pages as u64, "page", "pages")
    )
}
