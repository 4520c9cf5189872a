//! `winze backup`: copies a logbook's records to a second medium, reads them back and checks them.
//!
//! The copy holds the segments, which are all that proves anything; not the database, which is made
//! again from them, and not the key, which must have one holder. An office then writes down how far
//! each log is safe, and the next bundle tells the tablets. Run again it adds what is new; what is
//! there already is read and compared. Exit code 0 means that every record here was found in the
//! copy, 2 that the backup was not made.
//!
//! `--json`:
//!
//! ```json
//! {"command":"backup","outcome":"done","folder":"...","records":4120,"bytes":812345,
//!  "copied":1,"compared":3}
//! ```
//!
//! `copied` and `compared` count segments.

use std::path::PathBuf;

use serde::Serialize;
use winze_core::actions::back_up;

use super::output::Output;
use super::place::{Person, Place};
use super::progress::Bar;
use super::{CommandResult, Outcome};
use crate::messages::{counted, logbook_failed};

/// Arguments of `winze backup`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Folder on the second medium; a folder of the logbook's own is made in it.
    #[arg(value_name = "FOLDER")]
    to: PathBuf,
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
    folder: PathBuf,
    records: u64,
    bytes: u64,
    copied: u64,
    compared: u64,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let mut logbook = args.place.open()?;
    let mut bar = Bar::new();
    let by = args.person.name();
    let done = back_up(&mut logbook, &args.to, &by, &mut |at| bar.step(at))
        .map_err(|error| logbook_failed(&error))?;
    drop(bar);
    let mut output = Output::new(args.json);
    output.line(format!(
        "Backed up, read back and checked: {} in {}. The key is not in it: a restored logbook gets \
         one of its own.",
        counted(done.records, "record", "records"),
        done.folder.display()
    ));
    output.json(&Json {
        command: "backup",
        outcome: Outcome::Done.code(),
        folder: done.folder,
        records: done.records,
        bytes: done.bytes,
        copied: done.copied,
        compared: done.compared,
    });
    Ok(Outcome::Done)
}
