//! `winze attach`: lets a picture belong to a record.
//!
//! The file is not decoded: its first bytes say whether it is a JPEG or a PNG picture. The same
//! picture attached to the same record again changes nothing.
//!
//! `--json`; `new_pieces` are those that were not here yet:
//!
//! ```json
//! {"command":"attach","outcome":"done","id":"<64 hex>","pieces":12,"new_pieces":12,
//!  "was_there":false}
//! ```

use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use serde::Serialize;
use winze_core::Logbook;
use winze_core::actions::{NewAttachment, attach};
use winze_core::query::find_records;
use winze_core::record::MAX_PICTURE_BYTES;
use winze_sync_format::RecordRef;

use super::output::Output;
use super::place::{Person, Place};
use super::{CommandResult, Outcome};
use crate::messages::{UserMessage, counted, file_failed, logbook_failed};

/// Arguments of `winze attach`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The picture: a JPEG or PNG file.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The first digits of the id of the reading, job, procedure or step it belongs to.
    #[arg(value_name = "ID")]
    about: String,
    /// More about it.
    #[arg(long, value_name = "TEXT", default_value = "")]
    note: String,
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
    id: String,
    pieces: usize,
    new_pieces: usize,
    was_there: bool,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let (bytes, taken_ms) = read(&args.file)?;
    let mut logbook = args.place.open()?;
    let new = NewAttachment {
        about: one_record(&logbook, &args.about)?,
        bytes: &bytes,
        taken_ms,
        note: args.note.clone(),
        by: args.person.name(),
    };
    let attached = attach(&mut logbook, new).map_err(|error| logbook_failed(&error))?;
    let mut output = Output::new(args.json);
    let id = attached.at.id.short();
    output.line(if attached.was_there {
        format!("That picture belongs to it already, as record {id}. Nothing was changed.")
    } else {
        format!(
            "Saved as record {id}, in {}; {} not here before.",
            counted(attached.chunks as u64, "piece", "pieces"),
            attached.new_chunks
        )
    });
    output.json(&Json {
        command: "attach",
        outcome: Outcome::Done.code(),
        id: attached.at.id.to_string(),
        pieces: attached.chunks,
        new_pieces: attached.new_chunks,
        was_there: attached.was_there,
    });
    Ok(Outcome::Done)
}

/// Reads a file, at most a byte more than a picture may have, and when it was last written.
fn read(path: &Path) -> Result<(Vec<u8>, Option<i64>), UserMessage> {
    let failed = |error: std::io::Error| file_failed("read", path, &error);
    let file = File::open(path).map_err(failed)?;
    let metadata = file.metadata().map_err(failed)?;
    if metadata.is_dir() {
        return Err(failed(std::io::ErrorKind::IsADirectory.into()));
    }
    let since = metadata
        .modified()
        .ok()
        .and_then(|at| at.duration_since(UNIX_EPOCH).ok());
    let taken_ms = since.and_then(|since| i64::try_from(since.as_millis()).ok());
    let mut bytes = Vec::new();
    file.take(MAX_PICTURE_BYTES as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    Ok((bytes, taken_ms))
}

/// The one record whose id starts so.
pub(super) fn one_record(logbook: &Logbook, digits: &str) -> Result<RecordRef, UserMessage> {
    let found =
        find_records(logbook, &digits.to_lowercase()).map_err(|error| logbook_failed(&error))?;
    match found.as_slice() {
        [one] => Ok(*one),
        [] => Err(UserMessage::new(
            format!("No record here has an id that starts with {digits}."),
            "Nothing was changed.",
            "Check the digits, or name the logbook with --logbook.",
        )),
        many => Err(UserMessage::new(
            format!(
                "{} records here have an id that starts with {digits}.",
                many.len()
            ),
            "Nothing was changed.",
            "Give more of the digits.",
        )),
    }
}
