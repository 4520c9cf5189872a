//! `winze load`: takes over a register and old sheets of readings.
//!
//! Rows that cannot be used are reported one by one and cost nothing but themselves. Loading the
//! same sheets again adds nothing. A logbook is made where there is none, but only once the
//! headings of the sheets have been understood.
//!
//! `--json`:
//!
//! ```json
//! {"command":"load","outcome":"findings","logbook":"DIR","created":true,
//!  "register":{"file":"register.csv","added":12,"revised":0,"unchanged":0,
//!    "refused":[{"line":3,"column":"ratio","found":"0","reason":"ratio-not-above-one",
//!                "message":"..."}],
//!    "notices":["..."],"concerns":[{"line":2,"station":"T-01","reason":"ratio-unusual",
//!                                   "message":"..."}]},
//!  "readings":{"file":"readings.csv","added":720,"already_there":0,"refused":[],"notices":[]}}
//! ```
//!
//! `register` and `readings` are absent when not asked for; `column` is null when a row as a whole
//! is meant. Outcome `findings` means that a row was refused or a column not understood; concerns
//! alone are no finding.

use std::path::{Path, PathBuf};

use serde::Serialize;
use winze_core::Logbook;
use winze_core::record::Role;
use winze_core::sheet::{
    RegisterRow, RowReport, SheetOptions, parse_site_offset, parse_unit_words,
};
use winze_core::units::Unit;

use super::output::Output;
use super::place::{self, Person, Place};
use super::progress::Bar;
use super::{CommandResult, Outcome};
use crate::messages::{UserMessage, counted, notice, problem_in_words, row_refused};
use crate::sheets::{self, Readings, Register, RegisterTaken};

/// Arguments of `winze load`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "register.csv: station,ratio,set_point,inlet_typical,unit,gauge_class,\
inlet_span,interstage_span,outlet_span and optional columns.\n\
readings.csv: station,taken_at,inlet,interstage,outlet,unit and optional flow,by,remark.\n\
An empty gauge cell means that the gauge was not read."
)]
pub(super) struct Args {
    /// Sheet with one station in each row.
    #[arg(long, value_name = "FILE", required_unless_present = "readings")]
    register: Option<PathBuf>,
    /// Sheet with one visit in each row.
    #[arg(long, value_name = "FILE")]
    readings: Option<PathBuf>,
    /// Offset from universal time of dates written without one, such as +02:00.
    #[arg(
        long,
        value_name = "OFFSET",
        default_value = "Z",
        allow_hyphen_values = true
    )]
    offset: String,
    /// Unit of rows that name none.
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// What the logbook is called, if it has to be made.
    #[arg(long, value_name = "NAME", default_value = "office")]
    label: String,
    #[command(flatten)]
    place: Place,
    #[command(flatten)]
    person: Person,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Serialize)]
struct Json<'a> {
    command: &'static str,
    outcome: &'static str,
    logbook: &'a Path,
    created: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    register: Option<RegisterJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    readings: Option<ReadingsJson>,
}

#[derive(Debug, Serialize)]
struct RegisterJson {
    file: PathBuf,
    added: usize,
    revised: usize,
    unchanged: usize,
    refused: Vec<RefusedJson>,
    notices: Vec<String>,
    concerns: Vec<ConcernJson>,
}

#[derive(Debug, Serialize)]
struct ReadingsJson {
    file: PathBuf,
    added: u64,
    already_there: u64,
    refused: Vec<RefusedJson>,
    notices: Vec<String>,
}

#[derive(Debug, Serialize)]
struct RefusedJson {
    line: u64,
    column: Option<String>,
    found: String,
    reason: &'static str,
    message: String,
}

#[derive(Debug, Serialize)]
struct ConcernJson {
    line: u64,
    station: String,
    reason: &'static str,
    message: String,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let options = options(args)?;
    let register = args
        .register
        .as_deref()
        .map(|path| sheets::read_register(path, options))
        .transpose()?;
    let readings = args
        .readings
        .as_deref()
        .map(|path| sheets::open_readings(path, options))
        .transpose()?;
    let folder = args.place.folder()?;
    let created = !Logbook::exists(&folder);
    let mut logbook = place::open_or_create(&folder, Role::Office, &args.label)?;
    let by = args.person.name();
    let mut output = Output::new(args.json);
    let register = register
        .map(|register| take_register(&mut logbook, register, &by, &mut output))
        .transpose()?;
    let readings = readings
        .map(|sheet| take_readings(&mut logbook, sheet, &by, &mut output))
        .transpose()?;
    let has_findings = register
        .as_ref()
        .is_some_and(|part| !part.refused.is_empty() || !part.notices.is_empty())
        || readings
            .as_ref()
            .is_some_and(|part| !part.refused.is_empty() || !part.notices.is_empty());
    let outcome = Outcome::of_findings(has_findings);
    output.json(&Json {
        command: "load",
        outcome: outcome.code(),
        logbook: &folder,
        created,
        register,
        readings,
    });
    Ok(outcome)
}

fn options(args: &Args) -> Result<SheetOptions, UserMessage> {
    let unchanged = "Nothing was changed.";
    let site_offset = parse_site_offset(&args.offset).map_err(|_| {
        UserMessage::new(
            format!("\"{}\" is not an offset from universal time.", args.offset),
            unchanged,
            "Write it as +02:00, -08:00 or Z.",
        )
    })?;
    let usual_unit = match args.unit.as_deref() {
        None => None,
        Some(text) => Some(parse_unit_words(text).ok_or_else(|| {
            let known: Vec<_> = Unit::ALL.iter().map(|unit| unit.code()).collect();
            UserMessage::new(
                format!("\"{text}\" is not a unit of pressure known here."),
                unchanged,
                format!("Use one of {}.", known.join(", ")),
            )
        })?),
    };
    Ok(SheetOptions {
        site_offset,
        usual_unit,
    })
}

fn take_register(
    logbook: &mut Logbook,
    register: Register,
    by: &str,
    output: &mut Output,
) -> Result<RegisterJson, UserMessage> {
    let RegisterTaken {
        added,
        revised,
        unchanged,
    } = sheets::take_register(logbook, &register, by)?;
    let Register {
        path: file,
        rows,
        refused,
        notices,
    } = register;
    let part = RegisterJson {
        added,
        revised,
        unchanged,
        refused: refused.iter().map(refused_json).collect(),
        notices: notices
            .iter()
            .map(|found| notice(found).to_string())
            .collect(),
        concerns: rows.iter().flat_map(concerns).collect(),
        file,
    };
    print_findings(output, &part.file, &part.refused, &part.notices);
    for concern in &part.concerns {
        output.line(format!(
            "{} line {}, station {}: {}",
            part.file.display(),
            concern.line,
            concern.station,
            concern.message
        ));
    }
    output.line(format!(
        "Stations: {} new, {} revised, {} unchanged, {} left out.",
        part.added,
        part.revised,
        part.unchanged,
        part.refused.len()
    ));
    Ok(part)
}

fn concerns(row: &RegisterRow) -> impl Iterator<Item = ConcernJson> {
    row.concerns.iter().map(|problem| ConcernJson {
        line: row.line,
        station: row.station.code.to_string(),
        reason: problem.code(),
        message: problem_in_words(problem, row.station.unit),
    })
}

fn take_readings(
    logbook: &mut Logbook,
    readings: Readings,
    by: &str,
    output: &mut Output,
) -> Result<ReadingsJson, UserMessage> {
    let mut bar = Bar::new();
    let taken = sheets::take_readings(logbook, readings, by, &mut |done, total| {
        bar.draw("loading", done, Some(total));
    })?;
    drop(bar);
    let part = ReadingsJson {
        added: taken.added,
        already_there: taken.already_there,
        refused: taken.refused.iter().map(refused_json).collect(),
        notices: taken
            .notices
            .iter()
            .map(|found| notice(found).to_string())
            .collect(),
        file: taken.path,
    };
    print_findings(output, &part.file, &part.refused, &part.notices);
    output.line(format!(
        "Readings: {} new, {} already there, {} left out.",
        part.added,
        part.already_there,
        counted(part.refused.len() as u64, "row", "rows"),
    ));
    taken.stopped.map_or(Ok(part), Err)
}

fn refused_json(report: &RowReport) -> RefusedJson {
    RefusedJson {
        line: report.line,
        column: report.column.clone(),
        found: report.found.clone(),
        reason: report.refusal.code(),
        message: row_refused(report).to_string(),
    }
}

fn print_findings(output: &mut Output, file: &Path, refused: &[RefusedJson], notices: &[String]) {
    for text in notices {
        output.line(format!("{}: {text}", file.display()));
    }
    for row in refused {
        output.line(format!("{}: {}", file.display(), row.message));
    }
}
