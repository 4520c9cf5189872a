//! Drafts: what is being typed, kept so that a dead battery costs a second of it. A draft is no
//! record: it stays in this folder and proves nothing.

use crate::{Logbook, Result};

/// A kept draft.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SavedDraft {
    /// What it belongs to; chosen by the caller, such as a station code.
    pub name: String,
    /// When it was kept, milliseconds since 1970.
    pub saved_ms: i64,
    /// The content, in the caller's own form.
    pub content: String,
}

/// Keeps a draft, replacing the one of the same name.
///
/// # Errors
/// The database's.
pub fn save_draft(logbook: &mut Logbook, name: &str, content: &str) -> Result<()> {
    logbook.write_draft(name, content)
}

/// Finds the draft of this name.
///
/// # Errors
/// The database's.
pub fn load_draft(logbook: &Logbook, name: &str) -> Result<Option<SavedDraft>> {
    logbook.read_draft(name)
}

/// Lists all drafts, the newest first.
///
/// # Errors
/// The database's.
pub fn drafts(logbook: &Logbook) -> Result<Vec<SavedDraft>> {
    logbook.read_drafts()
}

/// Forgets the draft of this name; none is fine too.
///
/// # Errors
/// The database's.
pub fn clear_draft(logbook: &mut Logbook, name: &str) -> Result<()> {
    logbook.remove_draft(name)
}
