//! Which logbook a command works on, and in whose name.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_core::Logbook;
use winze_core::record::Role;

use crate::clock::SystemClock;
use crate::messages::{UserMessage, logbook_failed, new_log_begun};
use crate::whereabouts;

/// The option every command with a logbook shares.
#[derive(Debug, Clone, Default, clap::Args)]
pub(super) struct Place {
    /// Folder of the logbook; the platform's data folder when absent.
    #[arg(long, value_name = "DIR")]
    logbook: Option<PathBuf>,
}

/// The option every command that signs for a person shares.
#[derive(Debug, Clone, Default, clap::Args)]
pub(super) struct Person {
    /// Name that goes into the records; the account's name when absent.
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
}

impl Place {
    /// Whether a folder was named.
    pub fn is_given(&self) -> bool {
        self.logbook.is_some()
    }

    /// The folder meant.
    pub fn folder(&self) -> Result<PathBuf, UserMessage> {
        if let Some(folder) = &self.logbook {
            return Ok(folder.clone());
        }
        directories::ProjectDirs::from("", "", "winze")
            .map(|folders| folders.data_dir().join("logbook"))
            .ok_or_else(|| {
                UserMessage::new(
                    "This account has no data folder.",
                    "Nothing was changed.",
                    "Name a folder with --logbook.",
                )
            })
    }

    /// Opens the logbook that is there.
    pub fn open(&self) -> Result<Logbook, UserMessage> {
        open(&self.folder()?)
    }
}

/// Opens the logbook in a folder.
pub(super) fn open(folder: &Path) -> Result<Logbook, UserMessage> {
    let clock = Arc::new(SystemClock::new());
    let opened = match whereabouts::find() {
        Some(here) => Logbook::open_here(folder, clock, here),
        None => Logbook::open(folder, clock),
    };
    told(opened)
}

/// Opens the logbook in a folder, or makes one.
pub(super) fn open_or_create(
    folder: &Path,
    role: Role,
    label: &str,
) -> Result<Logbook, UserMessage> {
    let clock = Arc::new(SystemClock::new());
    told(match whereabouts::find() {
        Some(here) => Logbook::open_or_create_here(folder, role, label, clock, here),
        None => Logbook::open_or_create(folder, role, label, clock),
    })
}

/// Says on standard error when the logbook went on in a new log.
fn told(opened: winze_core::Result<Logbook>) -> Result<Logbook, UserMessage> {
    let logbook = opened.map_err(|error| logbook_failed(&error))?;
    if let Some(new) = &logbook.start_report().new_log {
        eprintln!("{}", new_log_begun(new, logbook.role()));
    }
    Ok(logbook)
}

impl Person {
    /// The name given, if any: a window can ask.
    pub fn given(&self) -> Option<&str> {
        self.by.as_deref()
    }

    /// The name meant.
    pub fn name(&self) -> String {
        let account = || {
            ["USER", "USERNAME"]
                .into_iter()
                .find_map(|key| std::env::var(key).ok())
        };
        self.by
            .clone()
            .or_else(account)
            .filter(|name| !name.is_empty())
            .unwrap_or("office".into())
    }
}
