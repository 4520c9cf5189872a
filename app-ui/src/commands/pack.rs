//! `winze pack`: writes a bundle and reads it back.
//!
//! A tablet packs what no office has acknowledged, with `--not-backed-up` what is in no verified
//! backup of an office (to be done once in a while); an office packs definitions, answers,
//! enrolments and acknowledgements for the tablets; `--everything` packs every record here.
//!
//! `--json`:
//!
//! ```json
//! {"command":"pack","outcome":"done","file":"...","records":214,"bytes":48211,"sha256":"..."}
//! ```

use std::fmt::Write as _;
use std::path::PathBuf;

use serde::Serialize;
use winze_core::actions::{PackFor, pack_bundle};
use winze_core::record::Role;

use super::output::Output;
use super::place::{Person, Place};
use super::progress::Bar;
use super::{CommandResult, Outcome};
use crate::messages::{counted, logbook_failed};

/// Arguments of `winze pack`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Folder to write to: the stick or the share.
    #[arg(value_name = "FOLDER", default_value = ".")]
    to: PathBuf,
    /// Pack every record here, also what is acknowledged already.
    #[arg(long)]
    everything: bool,
    /// On a tablet: pack also what the office acknowledged and has in no backup yet.
    #[arg(long, conflicts_with = "everything")]
    not_backed_up: bool,
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
    file: PathBuf,
    records: u64,
    bytes: u64,
    sha256: String,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let mut logbook = args.place.open()?;
    let whom = match (args.everything, logbook.role()) {
        (true, _) => PackFor::Everything,
        (false, Role::Tablet) if args.not_backed_up => PackFor::OfficeBackup,
        (false, Role::Tablet) => PackFor::Office,
        (false, Role::Office) => PackFor::Tablets,
    };
    let mut bar = Bar::new();
    let by = args.person.name();
    let packed = pack_bundle(&mut logbook, &args.to, whom, &by, &mut |progress| {
        bar.step(progress)
    })
    .map_err(|error| logbook_failed(&error))?;
    drop(bar);
    let mut output = Output::new(args.json);
    output.line(format!(
        "Written and read back: {} with {}. It is safe to remove the drive.",
        packed.path.display(),
        counted(packed.records, "record", "records")
    ));
    output.json(&Json {
        command: "pack",
        outcome: Outcome::Done.code(),
        file: packed.path,
        records: packed.records,
        bytes: packed.bytes,
        sha256: hex(&packed.sha256),
    });
    Ok(Outcome::Done)
}

pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
