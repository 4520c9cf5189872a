//! Shows a folder in whatever program the desktop has for it.

use std::io;
use std::path::Path;
use std::process::{Command, Stdio};

/// What opens a folder on this system.
#[cfg(target_os = "windows")]
const OPENER: &str = "explorer";
#[cfg(target_os = "macos")]
const OPENER: &str = "open";
#[cfg(not(any(target_os = "windows", target_os = "macos")))]
const OPENER: &str = "xdg-open";

/// Hands a folder to the desktop. That it answers `Ok` says that the desktop was asked, not that a
/// window came up.
///
/// # Errors
/// When there is no such program.
pub fn show(folder: &Path) -> io::Result<()> {
    let mut child = Command::new(OPENER)
        .arg(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    // Waited for on the side, so that it does not stay behind as a process nobody asked after.
    std::thread::spawn(move || child.wait());
    Ok(())
}
