//! Copying the logbook's segments to a second medium, and telling others what is safe there.

use std::path::Path;

use super::OnProgress;
use crate::record::Role;
use crate::store::{BackedUp, Level};
use crate::{Logbook, Result};

/// Copies every segment into a folder of the logbook's own below `to`, reads all of it back from the
/// medium and checks that every record here is in it. The key is not copied: two holders of one key
/// would write two logs under one name. An office then writes down how far each log is safe, and the
/// next bundle carries that to the tablets.
///
/// # Errors
/// [`crate::Error::BackupIncomplete`], [`crate::Error::Cancelled`], those of the folder and those of
/// writing.
pub fn back_up(
    logbook: &mut Logbook,
    to: &Path,
    by: &str,
    progress: &mut OnProgress<'_>,
) -> Result<BackedUp> {
    let done = logbook.back_up_to(to, progress)?;
    if logbook.role() == Role::Office {
        let due = logbook.due_acknowledgements(Level::BackedUp, by)?;
        logbook.confirm(due)?;
    }
    Ok(done)
}
