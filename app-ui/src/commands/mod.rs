//! The command line: one command per file, the same actions and messages as the windows.
//!
//! Exit codes: 0 done; 1 done, with findings or questions to look at; 2 not done. With `--json` a
//! command prints one JSON object on standard output (`show` one per line); the shapes are in each
//! command's module and only ever grow. Every object has `command` and `outcome` (`done`,
//! `findings`, `not-done`); with `not-done` it has `message` with `what`, `safe` and `next`.
//! Standard error carries what people read: failures, and progress when it is a terminal.

pub(crate) mod assess;
mod assess_arithmetic;
mod attach;
mod backup;
mod demo;
mod due;
mod enrol;
mod explain;
mod extract;
mod hydraulics;
mod hydraulics_json;
mod load;
mod lost;
mod merge;
mod office;
mod output;
mod pack;
mod place;
mod progress;
mod report;
mod restore;
mod salvage;
mod show;
mod simulate;
mod tablet;
mod verify;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::messages::UserMessage;
use output::Output;

/// What a command came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Done, nothing to look at.
    Done,
    /// Done, with findings or questions.
    Findings,
    /// Not done.
    NotDone,
}

impl Outcome {
    /// The word in `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Findings => "findings",
            Self::NotDone => "not-done",
        }
    }

    /// The exit code.
    #[must_use]
    pub const fn exit_code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Findings => 1,
            Self::NotDone => 2,
        }
    }

    /// `Findings` where there are some, else `Done`.
    #[must_use]
    pub const fn of_findings(has_findings: bool) -> Self {
        if has_findings {
            Self::Findings
        } else {
            Self::Done
        }
    }
}

/// A command's end: an outcome, or what to tell the person.
pub type CommandResult = Result<Outcome, UserMessage>;

#[derive(Debug, Parser)]
#[command(
    name = "winze",
    version,
    about = "Logs walk-rounds of two-stage pressure reducing stations, and merges them",
    long_about = "Logs walk-rounds of two-stage pressure reducing stations without a network, \
                  judges each reading on the spot, and merges what many tablets bring back.\n\n\
                  Without a command the tablet window opens on the usual logbook.",
    after_help = "Exit codes: 0 done; 1 done, with findings or questions; 2 not done.\n\
                  It informs and records. Local codes, site permits and licensed people decide."
)]
struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Open the operator's window.
    Tablet(tablet::Args),
    /// Open the clerk's window.
    Office(office::Args),
    /// Show an invented mine with its tablets, office and a year of readings.
    Demo(demo::Args),
    /// Take over a register of stations and old sheets of readings.
    Load(load::Args),
    /// Say what each reading raised: change, stuck gauges, pressures outside their band, slips.
    Assess(assess::Args),
    /// Let a picture belong to a reading, a job, a procedure or a step.
    Attach(attach::Args),
    /// Write a picture out of the logbook to a file.
    Extract(extract::Args),
    /// Write a bundle to a stick or a share, and read it back.
    Pack(pack::Args),
    /// Take in bundles.
    Merge(merge::Args),
    /// Copy the logbook's records to a second medium, read them back and check them.
    Backup(backup::Args),
    /// Make a new logbook out of a backup.
    Restore(restore::Args),
    /// Print what stands in a file or in one record.
    Show(show::Args),
    /// Say everything about one record: what, who, when, whether it counts, where it lies.
    Explain(explain::Args),
    /// Write the sheets of a simulated fleet, with the truth beside them.
    Simulate(simulate::Args),
    /// Say whether a bundle or a logbook is whole, and what exactly is lost.
    Verify(verify::Args),
    /// Take every whole record out of damaged files and write them as a new bundle.
    Salvage(salvage::Args),
    /// List unknown logbooks, or let one count after its eight words were compared.
    Enrol(enrol::Args),
    /// Report a tablet lost: what it writes from now on no longer counts.
    Lost(lost::Args),
    /// List what is due at each station, and why; or write it as a calendar.
    Due(due::Args),
    /// Write a document as PDF/A: the week's sheet.
    Report(report::Args),
    /// Check that the two stages of a station suit their duty and fail safely.
    Hydraulics(hydraulics::Args),
}

/// Runs the program with these arguments, the first being its name.
#[must_use]
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let cli = match Cli::try_parse_from(arguments) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version go to standard output and are no failures.
            let code = if error.use_stderr() {
                Outcome::NotDone
            } else {
                Outcome::Done
            };
            let _ = error.print();
            return ExitCode::from(code.exit_code());
        }
    };
    let command = cli
        .command
        .unwrap_or_else(|| Command::Tablet(tablet::Args::default()));
    ExitCode::from(run_command(command).exit_code())
}

fn run_command(command: Command) -> Outcome {
    let (name, json, result) = match command {
        Command::Tablet(args) => ("tablet", false, tablet::run(&args)),
        Command::Office(args) => ("office", false, office::run(&args)),
        Command::Demo(args) => ("demo", args.json, demo::run(&args)),
        Command::Load(args) => ("load", args.json, load::run(&args)),
        Command::Assess(args) => ("assess", args.json, assess::run(&args)),
        Command::Attach(args) => ("attach", args.json, attach::run(&args)),
        Command::Extract(args) => ("extract", args.json, extract::run(&args)),
        Command::Pack(args) => ("pack", args.json, pack::run(&args)),
        Command::Backup(args) => ("backup", args.json, backup::run(&args)),
        Command::Restore(args) => ("restore", args.json, restore::run(&args)),
        Command::Merge(args) => ("merge", args.json, merge::run(&args)),
        Command::Show(args) => ("show", args.json, show::run(&args)),
        Command::Explain(args) => ("explain", args.json, explain::run(&args)),
        Command::Simulate(args) => ("simulate", args.json, simulate::run(&args)),
        Command::Verify(args) => ("verify", args.json, verify::run(&args)),
        Command::Salvage(args) => ("salvage", args.json, salvage::run(&args)),
        Command::Enrol(args) => ("enrol", args.json, enrol::run(&args)),
        Command::Lost(args) => ("lost", args.json, lost::run(&args)),
        Command::Due(args) => ("due", args.json, due::run(&args)),
        Command::Report(args) => ("report", args.json, report::run(&args)),
        Command::Hydraulics(args) => ("hydraulics", args.json, hydraulics::run(&args)),
    };
    result.unwrap_or_else(|message| {
        let mut output = Output::new(json);
        output.failure(name, &message);
        Outcome::NotDone
    })
}
