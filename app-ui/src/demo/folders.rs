//! Where the demo puts things, and the clock everybody in it shares.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use winze_core::Logbook;
use winze_core::clock::{Clock, FixedClock};
use winze_core::record::Role;

use crate::messages::{UserMessage, file_failed, logbook_failed};

/// The folders of one demo.
#[derive(Debug, Clone)]
pub struct Folders {
    /// The folder that holds everything.
    pub root: PathBuf,
    /// Every bundle of the day, as the office's tray holds it.
    pub bundles: PathBuf,
    /// The old sheets.
    pub sheets: PathBuf,
    /// Certificates and sheets.
    pub reports: PathBuf,
    /// Pictures of the screens.
    pub pictures: PathBuf,
    /// A stick that goes from hand to hand; gone at the end.
    pub stick: PathBuf,
    /// The visitor's tablet; gone at the end, as visitors are.
    pub visitor: PathBuf,
    /// A tablet's logbook as it was in the middle of a round, for pictures; gone at the end.
    pub kept_tablet: PathBuf,
    /// The office's logbook as it was before the merge, with its tray, for pictures; gone at the end.
    pub kept_office: PathBuf,
    /// The office's logbook with all work of the next day, for pictures; gone at the end.
    pub kept_works: PathBuf,
}

impl Folders {
    /// Makes the folders in `root`, which must be new or empty.
    ///
    /// # Errors
    /// When something is in it already, or it cannot be written.
    pub fn make(root: &Path) -> Result<Self, UserMessage> {
        let failed = |error: std::io::Error| file_failed("written", root, &error);
        std::fs::create_dir_all(root).map_err(failed)?;
        if std::fs::read_dir(root).map_err(failed)?.next().is_some() {
            return Err(UserMessage::new(
                format!("{} is not empty.", root.display()),
                "Nothing in it was touched.",
                "Name a new or an empty folder.",
            ));
        }
        let folders = Self {
            root: root.to_owned(),
            bundles: root.join("bundles"),
            sheets: root.join("sheets"),
            reports: root.join("reports"),
            pictures: root.join("pictures"),
            stick: root.join("stick"),
            visitor: root.join("visitor"),
            kept_tablet: root.join("kept-tablet"),
            kept_office: root.join("kept-office"),
            kept_works: root.join("kept-works"),
        };
        let made = [
            &folders.bundles,
            &folders.sheets,
            &folders.reports,
            &folders.pictures,
            &folders.stick,
        ];
        for folder in made {
            std::fs::create_dir(folder).map_err(|error| file_failed("written", folder, &error))?;
        }
        Ok(folders)
    }

    /// The folder of one of the logbooks that stay.
    #[must_use]
    pub fn logbook(&self, name: &str) -> PathBuf {
        self.root.join(name)
    }

    /// Writes a file below the root.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn write(&self, path: &Path, bytes: &[u8]) -> Result<(), UserMessage> {
        std::fs::write(path, bytes).map_err(|error| file_failed("written", path, &error))
    }

    /// Reads a file whole.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn read(&self, path: &Path) -> Result<Vec<u8>, UserMessage> {
        std::fs::read(path).map_err(|error| file_failed("read", path, &error))
    }

    /// Puts nothing but copies of these files on the stick.
    ///
    /// # Errors
    /// When the stick cannot be written.
    pub fn fill_stick(&self, files: &[&Path]) -> Result<(), UserMessage> {
        let failed = |error: std::io::Error| file_failed("written", &self.stick, &error);
        std::fs::remove_dir_all(&self.stick).map_err(failed)?;
        std::fs::create_dir(&self.stick).map_err(failed)?;
        for file in files {
            if let Some(name) = file.file_name() {
                std::fs::copy(file, self.stick.join(name)).map_err(failed)?;
            }
        }
        Ok(())
    }

    /// The one bundle on the stick.
    ///
    /// # Errors
    /// When there is none.
    pub fn on_stick(&self) -> Result<PathBuf, UserMessage> {
        let failed = |error: std::io::Error| file_failed("read", &self.stick, &error);
        let first = std::fs::read_dir(&self.stick)
            .map_err(failed)?
            .flatten()
            .next();
        first
            .map(|entry| entry.path())
            .ok_or_else(|| failed(std::io::ErrorKind::NotFound.into()))
    }

    /// Takes away what only the story needed.
    pub fn clear(&self) {
        for folder in [
            &self.stick,
            &self.visitor,
            &self.kept_tablet,
            &self.kept_office,
            &self.kept_works,
        ] {
            // Only folders this demo made; one that stays behind is harmless.
            let _ = std::fs::remove_dir_all(folder);
        }
    }
}

/// The clock that everybody in the demo shares. It moves only when the story does.
#[derive(Debug, Clone)]
pub struct DayClock(Arc<FixedClock>);

impl DayClock {
    /// A clock that stands at a moment.
    #[must_use]
    pub fn at(moment: DateTime<Utc>) -> Self {
        Self(Arc::new(FixedClock::at(moment.timestamp_millis())))
    }

    /// Moves on.
    pub fn advance(&self, minutes: u32) {
        self.0.advance_ms(minutes * 60_000);
    }

    /// Moves to a moment.
    pub fn set(&self, moment: DateTime<Utc>) {
        self.0.set(moment.timestamp_millis());
    }

    /// What it shows.
    #[must_use]
    pub fn now(&self) -> DateTime<Utc> {
        DateTime::UNIX_EPOCH + TimeDelta::milliseconds(self.0.now().wall_ms)
    }

    /// Makes a logbook that goes by this clock.
    ///
    /// # Errors
    /// Those of the logbook.
    pub fn create(&self, folder: &Path, role: Role, label: &str) -> Result<Logbook, UserMessage> {
        Logbook::create(folder, role, label, self.0.clone()).map_err(|error| logbook_failed(&error))
    }

    /// Opens a logbook that goes by this clock.
    ///
    /// # Errors
    /// Those of the logbook.
    pub fn open(&self, folder: &Path) -> Result<Logbook, UserMessage> {
        Logbook::open(folder, self.0.clone()).map_err(|error| logbook_failed(&error))
    }
}
