//! Writing a bundle to a stick or a share, and reading it back.

use std::path::{Path, PathBuf};

use crate::record::Role;
use crate::store::Level;
use crate::{Logbook, Result};

use super::OnProgress;

/// Whom a bundle is for, which says what goes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PackFor {
    /// The office: every record here, of any log, that no office has acknowledged.
    Office,
    /// The office, once in a while: every record here that is in no verified backup of an office,
    /// also what the office has acknowledged. It makes good what an office lost before its backup.
    OfficeBackup,
    /// The tablets: what counts of definitions, answers, enrolments, revocations, acknowledgements,
    /// and each station's recent readings with what was done about them.
    Tablets,
    /// Anybody: every record here.
    Everything,
}

/// A bundle that was written, synced and read back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    /// The file.
    pub path: PathBuf,
    /// Its length in bytes.
    pub bytes: u64,
    /// How many records it holds.
    pub records: u64,
    /// SHA-256 of the file.
    pub sha256: [u8; 32],
}

/// Writes a bundle into `folder` and reads it back. An office first writes down which logs it holds
/// how far, so that the bundle carries its acknowledgements.
///
/// # Errors
/// [`crate::Error::NothingToPack`], [`crate::Error::Cancelled`], those of the folder, and those of
/// writing.
pub fn pack_bundle(
    logbook: &mut Logbook,
    folder: &Path,
    to: PackFor,
    by: &str,
    progress: &mut OnProgress<'_>,
) -> Result<Packed> {
    if logbook.role() == Role::Office {
        let due = logbook.due_acknowledgements(Level::Committed, by)?;
        logbook.confirm(due)?;
    }
    logbook.write_bundle_for(folder, to, by, progress)
}
