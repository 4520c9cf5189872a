//! Making the database anew from the segments, beside the old one, and changing them over.

use super::database::Database;
use super::folder::move_database;
use super::insert::Dirty;
use super::segments::Series;
use super::start::{StartReport, copy_drafts, copy_merges, replay, take_over};
use super::{Logbook, segments::Segments};
use crate::{Error, Result};

impl Logbook {
    /// Makes the database anew from the segments. Records that only the old database has are taken
    /// over and written to a segment; drafts are copied.
    ///
    /// # Errors
    /// The database's, and those of reading the segments. The old database then stays.
    pub fn rebuild(&mut self) -> Result<StartReport> {
        self.check_running()?;
        let outcome = self.make_anew();
        if let Err(error) = &outcome {
            self.stopped = Some(error.to_string());
        }
        outcome
    }

    fn make_anew(&mut self) -> Result<StartReport> {
        let path = self.folder.path().join("projection-new.sqlite");
        for suffix in ["", "-wal", "-shm", "-journal"] {
            // Left by a crash while rebuilding; it never held anything that is not elsewhere.
            let left = self
                .folder
                .path()
                .join(format!("projection-new.sqlite{suffix}"));
            match std::fs::remove_file(&left) {
                Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                    return Err(Error::of_io("remove", &left, error));
                }
                _ => {}
            }
        }
        let fresh = Database::open(&path)?;
        let mut dirty = Dirty {
            trust: true,
            ..Dirty::default()
        };
        let mut report = from_segments(&fresh, &self.segments, &mut dirty)?;
        let old = &self.database.connection;
        report.restored_to_segments = take_over(old, &fresh, &mut self.segments, &mut dirty)?;
        report.records = report.replayed + report.restored_to_segments;
        copy_drafts(old, &fresh);
        fresh.in_transaction(|| {
            copy_merges(&self.database, &fresh)?;
            fresh.derive(&self.own, dirty)
        })?;
        fresh.checkpoint()?;
        self.change_over(fresh)?;
        Ok(report)
    }

    /// Closes both databases, gives the new one the name of the old, and opens it.
    fn change_over(&mut self, fresh: Database) -> Result<()> {
        let (new_path, old_path) = (fresh.path.clone(), self.database.path.clone());
        drop(fresh);
        // While the files change names, an empty database in memory stands in.
        let closed = std::mem::replace(&mut self.database, Database::stand_in()?);
        drop(closed);
        let aside = self.folder.aside("old");
        move_database(&old_path, &aside)?;
        move_database(&new_path, &old_path)?;
        self.database = Database::open(&old_path)?;
        // The old one was sound and everything in it is in the new one.
        std::fs::remove_file(&aside).map_err(|error| Error::of_io("remove", &aside, error))
    }
}

/// Puts everything in the segments into an empty database.
pub(super) fn from_segments(
    database: &Database,
    segments: &Segments,
    dirty: &mut Dirty,
) -> Result<StartReport> {
    let mut report = StartReport::default();
    for series in [Series::Own, Series::Received] {
        for path in segments.files_of(series)? {
            replay(
                database,
                segments,
                &path,
                dirty,
                &mut report,
                &mut Vec::new(),
            )?;
        }
    }
    Ok(report)
}
