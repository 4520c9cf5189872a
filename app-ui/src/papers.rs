//! Documents and calendars as files: whole or not at all. What `winze report`, the office window
//! and nobody else write.

use std::path::Path;

use crate::messages::reports::report_failed;
use crate::messages::{UserMessage, file_failed};
use crate::reports::{Document, Written, write};

/// Writes a document to a file, replacing one of that name.
///
/// # Errors
/// In words, when it cannot be made or written.
pub fn save(document: &Document, file: &Path) -> Result<Written, UserMessage> {
    let written = write(document).map_err(|error| report_failed(&error))?;
    save_bytes(&written.bytes, file)?;
    Ok(written)
}

/// Writes bytes to a file, replacing one of that name.
///
/// # Errors
/// In words, when it cannot be written.
pub fn save_bytes(bytes: &[u8], file: &Path) -> Result<(), UserMessage> {
    let failed = |error: std::io::Error| file_failed("written", file, &error);
    let mut name = file.file_name().unwrap_or_default().to_owned();
    name.push(".part");
    let part = file.with_file_name(name);
    std::fs::write(&part, bytes).map_err(failed)?;
    if let Err(error) = std::fs::rename(&part, file) {
        // What is left of it helps nobody; that it cannot go either changes nothing.
        let _ = std::fs::remove_file(&part);
        return Err(failed(error));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_is_replaced_and_nothing_else_is_left() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("due.ics");
        for text in ["one", "two"] {
            save_bytes(text.as_bytes(), &file).expect("written");
            assert_eq!(std::fs::read_to_string(&file).expect("read"), text);
        }
        assert_eq!(std::fs::read_dir(folder.path()).expect("read").count(), 1);
    }

    #[test]
    fn folder_that_is_not_there_is_told() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("none/due.ics");
        assert!(save_bytes(b"x", &file).is_err());
    }
}
