//! `winze tablet`: the operator's window. It is also what `winze` alone opens.
//!
//! Where there is no logbook yet, one is made for a tablet: a new tablet needs nothing but this
//! program. Its stations come with the first bundle from an office.

use winze_core::record::Role;

use super::place::{self, Person, Place};
use super::{CommandResult, Outcome};
use crate::bindings;
use crate::messages::window_failed;

/// Space kept back for readings on a full disk: some thousands of them.
const BALLAST_BYTES: u64 = 64 * 1024 * 1024;

/// Arguments of `winze tablet`.
#[derive(Debug, Default, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    place: Place,
    #[command(flatten)]
    person: Person,
    /// What the tablet is called, if its logbook has to be made.
    #[arg(long, value_name = "NAME")]
    label: Option<String>,
}

pub(super) fn run(args: &Args) -> CommandResult {
    let folder = args.place.folder()?;
    let label = args.label.as_deref().unwrap_or("tablet");
    let mut logbook = place::open_or_create(&folder, Role::Tablet, label)?;
    // A tablet without room for it works all the same.
    let _ = logbook.keep_ballast(BALLAST_BYTES);
    bindings::tablet::run(logbook, &args.person.name())
        .map_err(|error| window_failed(&error.to_string()))?;
    Ok(Outcome::Done)
}
