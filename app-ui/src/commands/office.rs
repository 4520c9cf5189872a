//! `winze office`: the clerk's window.
//!
//! Bundles are looked for in the folder `tray` of the logbook, or in the one named with `--tray`;
//! another one can be named in the window.

use std::path::PathBuf;

use winze_core::record::Role;

use super::place::{self, Person, Place};
use super::{CommandResult, Outcome};
use crate::bindings;

/// Arguments of `winze office`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    place: Place,
    #[command(flatten)]
    person: Person,
    /// Folder or stick to look for bundles in; the folder `tray` of the logbook when absent.
    #[arg(long, value_name = "DIR")]
    tray: Option<PathBuf>,
    /// What the office is called, if its logbook has to be made.
    #[arg(long, value_name = "NAME")]
    label: Option<String>,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let folder = args.place.folder()?;
    let label = args.label.as_deref().unwrap_or("office");
    let logbook = place::open_or_create(&folder, Role::Office, label)?;
    bindings::office::run(logbook, args.person.given(), args.tray.as_deref())?;
    Ok(Outcome::Done)
}
