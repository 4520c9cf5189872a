//! `winze extract`: writes a picture out of the logbook to a file.
//!
//! The bytes are checked against the hash in the picture's record first; while pieces are missing, or
//! where they do not fit, nothing is written (exit code 2). A file that is there is never replaced.
//!
//! `--json`:
//!
//! ```json
//! {"command":"extract","outcome":"done","file":"...","bytes":48211,"media":"image/jpeg"}
//! ```

use std::fs::OpenOptions;
use std::io::Write as _;
use std::path::PathBuf;

use serde::Serialize;
use winze_core::query::{attachment, attachment_bytes};

use super::attach::one_record;
use super::output::Output;
use super::place::Place;
use super::{CommandResult, Outcome};
use crate::messages::{file_failed, logbook_failed};

/// Arguments of `winze extract`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The first digits of the id of the picture's record.
    #[arg(value_name = "ID")]
    id: String,
    /// The file to write; named after the station and the id when absent.
    #[arg(value_name = "FILE")]
    to: Option<PathBuf>,
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
    file: PathBuf,
    bytes: u32,
    media: &'static str,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let logbook = args.place.open()?;
    let failed = |error: winze_core::Error| logbook_failed(&error);
    let at = one_record(&logbook, &args.id)?;
    let view = attachment(&logbook, at).map_err(failed)?;
    let bytes = attachment_bytes(&logbook, at).map_err(failed)?;
    let to = args.to.clone().unwrap_or_else(|| {
        let name = format!(
            "{}-{}.{}",
            view.station,
            at.id.short(),
            view.media.extension()
        );
        PathBuf::from(name)
    });
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&to)
        .and_then(|mut file| file.write_all(&bytes).and_then(|()| file.sync_all()));
    written.map_err(|error| file_failed("write", &to, &error))?;
    let mut output = Output::new(args.json);
    output.line(format!("Written: {}.", to.display()));
    output.json(&Json {
        command: "extract",
        outcome: Outcome::Done.code(),
        file: to,
        bytes: view.bytes,
        media: view.media.code(),
    });
    Ok(Outcome::Done)
}
