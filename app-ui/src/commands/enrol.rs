//! `winze enrol`: lists unknown logbooks, or lets one count.
//!
//! Two people compare the eight words: those shown here and those on the machine itself. Only then
//! are the words given to this command. At least all eight must be given, in order, so that
//! nobody enrols a logbook whose words were not read out.
//!
//! `--json` of the list (outcome `findings` when there are unknown logbooks):
//!
//! ```json
//! {"command":"enrol","outcome":"findings","unknown":[
//!   {"log":"<64 hex>","words":["..."],"calls_itself":"Tablet C","role":"tablet",
//!    "records":14,"readings":5}]}
//! ```
//!
//! and of an enrolment:
//!
//! ```json
//! {"command":"enrol","outcome":"done","enrolled":{"log":"<64 hex>","name":"Tablet C",
//!  "role":"tablet","records":14,"readings":5}}
//! ```

use serde::Serialize;
use winze_core::Logbook;
use winze_core::actions::enrol_logbook;
use winze_core::query::{LogStanding, LogView, logs};
use winze_core::record::Role;

use super::output::Output;
use super::place::{Person, Place};
use super::{CommandResult, Outcome};
use crate::messages::{UserMessage, counted, logbook_failed};

/// Arguments of `winze enrol`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The eight words, after comparing them; none to list the unknown logbooks.
    #[arg(value_name = "WORD")]
    words: Vec<String>,
    /// What the logbook is to be called here; what it calls itself when absent.
    #[arg(long, value_name = "NAME", requires = "words")]
    name: Option<String>,
    /// Its role.
    #[arg(long, value_parser = ["tablet", "office"], default_value = "tablet")]
    role: String,
    #[command(flatten)]
    place: Place,
    #[command(flatten)]
    person: Person,
    /// Print one JSON object.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Serialize)]
struct ListJson {
    command: &'static str,
    outcome: &'static str,
    unknown: Vec<UnknownJson>,
}

#[derive(Debug, Serialize)]
struct UnknownJson {
    log: String,
    words: [&'static str; 8],
    calls_itself: String,
    role: Option<&'static str>,
    records: u64,
    readings: u64,
}

#[derive(Debug, Serialize)]
struct DoneJson {
    command: &'static str,
    outcome: &'static str,
    enrolled: EnrolledJson,
}

#[derive(Debug, Serialize)]
struct EnrolledJson {
    log: String,
    name: String,
    role: &'static str,
    records: u64,
    readings: u64,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let mut logbook = args.place.open()?;
    let unknown: Vec<LogView> = logs(&logbook)
        .map_err(|error| logbook_failed(&error))?
        .into_iter()
        .filter(|log| log.standing == LogStanding::Held)
        .collect();
    let mut output = Output::new(args.json);
    if args.words.is_empty() {
        return Ok(list(&unknown, &mut output));
    }
    enrol(args, &mut logbook, &unknown, &mut output)
}

fn list(unknown: &[LogView], output: &mut Output) -> Outcome {
    for log in unknown {
        let name = if log.name.is_empty() {
            "no name"
        } else {
            &log.name
        };
        output.line(format!(
            "{} calls itself {name} and sent {}, of which {}.",
            log.log.short(),
            counted(log.records, "record", "records"),
            counted(log.readings, "reading", "readings")
        ));
        output.line(format!("  Its words: {}", log.words.join(" ")));
    }
    if unknown.is_empty() {
        output.line("Every logbook here is known.");
    } else {
        output.line(
            "Compare the eight words with those on that machine. If they are the same, give them to \
             `winze enrol`.",
        );
    }
    let outcome = Outcome::of_findings(!unknown.is_empty());
    let unknown = unknown.iter().map(|log| UnknownJson {
        log: log.log.to_string(),
        words: log.words,
        calls_itself: log.name.clone(),
        role: log.role.map(Role::code),
        records: log.records,
        readings: log.readings,
    });
    output.json(&ListJson {
        command: "enrol",
        outcome: outcome.code(),
        unknown: unknown.collect(),
    });
    outcome
}

fn enrol(
    args: &Args,
    logbook: &mut Logbook,
    unknown: &[LogView],
    output: &mut Output,
) -> CommandResult {
    // Words may come as eight arguments or as one in quotes.
    let typed: Vec<String> = args
        .words
        .iter()
        .flat_map(|text| text.split(|c: char| c.is_whitespace() || c == ','))
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    let log = unknown
        .iter()
        .find(|log| typed == log.words)
        .ok_or_else(|| no_match(&typed))?;
    let role = Role::from_code(&args.role).unwrap_or(Role::Tablet);
    let name = args.name.clone().unwrap_or_else(|| log.name.clone());
    enrol_logbook(logbook, log.log, name.clone(), role, args.person.name())
        .map_err(|error| logbook_failed(&error))?;
    output.line(format!(
        "{name} counts from now on as {}, with {} and {} already here.",
        role.code(),
        counted(log.records, "record", "records"),
        counted(log.readings, "reading", "readings")
    ));
    output.json(&DoneJson {
        command: "enrol",
        outcome: Outcome::Done.code(),
        enrolled: EnrolledJson {
            log: log.log.to_string(),
            name,
            role: role.code(),
            records: log.records,
            readings: log.readings,
        },
    });
    Ok(Outcome::Done)
}

fn no_match(typed: &[String]) -> UserMessage {
    let what = if typed.len() == 8 {
        "No unknown logbook here has these words.".to_owned()
    } else {
        format!("All eight words are needed; {} were given.", typed.len())
    };
    UserMessage::new(
        what,
        "Nothing was enrolled.",
        "Run `winze enrol` without words to list the unknown logbooks, and compare again.",
    )
}
