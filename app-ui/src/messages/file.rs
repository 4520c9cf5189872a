//! Failures of ordinary files: sheets, pictures, reports.

use std::io::ErrorKind;
use std::path::Path;

use super::UserMessage;

/// A file could not be read or written.
///
/// `action` is a plain verb in the past tense: `read`, `written`, `opened`.
#[must_use]
pub fn file_failed(action: &str, path: &Path, error: &std::io::Error) -> UserMessage {
    let shown = path.display();
    let (what, next) = match error.kind() {
        ErrorKind::NotFound => (
            format!("There is no file {shown}."),
            "Check the name and the folder.".to_owned(),
        ),
        ErrorKind::AlreadyExists => (
            format!("{shown} is there already."),
            "Choose another name or another folder.".to_owned(),
        ),
        ErrorKind::IsADirectory => (
            format!("{shown} is a folder, and a file is needed."),
            "Name the file inside it.".to_owned(),
        ),
        ErrorKind::NotADirectory => (
            format!("{shown} cannot be {action}: part of the path is a file, not a folder."),
            "Check the path.".to_owned(),
        ),
        ErrorKind::PermissionDenied => (
            format!("{shown} cannot be {action}: this account is not allowed to."),
            "Ask for access, or choose another folder.".to_owned(),
        ),
        ErrorKind::ReadOnlyFilesystem => (
            format!("{shown} cannot be {action}: the drive is read-only."),
            "Choose another folder.".to_owned(),
        ),
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => (
            format!("{shown} cannot be {action}: there is no space left."),
            "Free some space or choose another drive, then try again.".to_owned(),
        ),
        _ => (
            format!("{shown} cannot be {action}: {error}."),
            "Try again; if it stays so, use another drive.".to_owned(),
        ),
    };
    UserMessage::new(what, "Nothing was changed.", next)
}
