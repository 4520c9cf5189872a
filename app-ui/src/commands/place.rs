//! Which logbook a command works on, and in whose name.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_core::Logbook;

use crate::clock::SystemClock;
use crate::messages::{UserMessage, logbook_failed};

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
    Logbook::open(folder, Arc::new(SystemClock::new())).map_err(|error| logbook_failed(&error))
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
