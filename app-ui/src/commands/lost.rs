//! `winze lost`: reports a tablet lost or stolen.
//!
//! Its logbook counts up to the last record that this office has acknowledged: whoever has the tablet
//! can date back what he writes. Without `--confirm` the command only says which logbook is meant and
//! what would follow, so that the wrong tablet is not reported by a slip.
//!
//! `--json` (outcome `findings` while it is only read back):
//!
//! ```json
//! {"command":"lost","outcome":"done","log":"<64 hex>","name":"Tablet C","is_reported":true,
//!  "counts_to":41,"held":3}
//! ```
//!
//! `counts_to` is the last number that counts, absent when none does; `held` are the records that are
//! kept here and do not count.

use serde::Serialize;
use winze_core::Logbook;
use winze_core::actions::report_lost;
use winze_core::query::{LogStanding, LogView, logs};

use super::output::Output;
use super::place::{Person, Place};
use super::{CommandResult, Outcome};
use crate::messages::{UserMessage, counted, logbook_failed};

/// Arguments of `winze lost`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The name the tablet has here, or its eight words.
    #[arg(value_name = "NAME", required = true)]
    name: Vec<String>,
    /// Why, in a few words.
    #[arg(long, value_name = "TEXT", default_value = "lost")]
    reason: String,
    /// Report it; without this it is only said what would follow.
    #[arg(long)]
    confirm: bool,
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
    log: String,
    name: String,
    is_reported: bool,
    counts_to: Option<u64>,
    held: u64,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let mut logbook = args.place.open()?;
    let mut found = find(&logbook, &args.name.join(" "))?;
    let mut output = Output::new(args.json);
    let outcome = if args.confirm {
        let (reason, by) = (args.reason.clone(), args.person.name());
        report_lost(&mut logbook, found.log, reason, by).map_err(|error| logbook_failed(&error))?;
        let all = logs(&logbook).map_err(|error| logbook_failed(&error))?;
        if let Some(now) = all.into_iter().find(|log| log.log == found.log) {
            found = now;
        }
        output.line(format!(
            "{} is reported lost. {} kept here that no longer count.",
            found.name,
            counted(found.held, "record is", "records are")
        ));
        output.line("Hand the next bundle to every tablet, so that they know it too.");
        Outcome::Done
    } else {
        output.line(format!(
            "Meant is {}, with {} here. Its words: {}.",
            found.name,
            counted(found.records, "record", "records"),
            found.words.join(" ")
        ));
        output.line(
            "If it is reported lost, it counts up to the last record that this office has \
             acknowledged. What comes later is kept and does not count. Nothing is removed, and \
             enrolling it again takes the report back.",
        );
        output.line("Nothing was changed. Give the same command with --confirm to report it.");
        Outcome::Findings
    };
    let counts_to = match found.standing {
        LogStanding::Revoked { last_seq } => last_seq,
        LogStanding::Own | LogStanding::Counts | LogStanding::Held => None,
    };
    output.json(&Json {
        command: "lost",
        outcome: outcome.code(),
        log: found.log.to_string(),
        name: found.name,
        is_reported: args.confirm,
        counts_to,
        held: found.held,
    });
    Ok(outcome)
}

/// The one other logbook with this name or these words.
fn find(logbook: &Logbook, said: &str) -> Result<LogView, UserMessage> {
    let all = logs(logbook).map_err(|error| logbook_failed(&error))?;
    let is_meant = |log: &LogView| {
        log.standing != LogStanding::Own
            && (log.name == said || log.words.join(" ") == said.to_lowercase())
    };
    let mut meant: Vec<LogView> = all.into_iter().filter(is_meant).collect();
    match (meant.pop(), meant.is_empty()) {
        (Some(one), true) => Ok(one),
        (None, _) => Err(UserMessage::new(
            format!("No other logbook here is called \u{201c}{said}\u{201d}."),
            "Nothing was changed.",
            "Give the name it was enrolled under, or its eight words.",
        )),
        (Some(_), false) => Err(UserMessage::new(
            format!("Several logbooks here are called \u{201c}{said}\u{201d}."),
            "Nothing was changed.",
            "Give the eight words of the one that is lost.",
        )),
    }
}
