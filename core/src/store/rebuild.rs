//! Making the database anew from the segments, beside the old one, and changing them over.

use std::path::Path;

use super::database::Database;
use super::folder::{JOURNALS, sync_folder_of, with_suffix};
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
        // Left by a crash while rebuilding; it never held anything that is not elsewhere.
        self.remove_database(&path)?;
        let files = self.segments.disk().database_files();
        let fresh = Database::open(&path, files)?;
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

    /// Removes a database and what lies beside it, as far as they are there.
    fn remove_database(&self, path: &Path) -> Result<()> {
        let files = self.segments.disk().database_files();
        for suffix in ["", JOURNALS[0], JOURNALS[1], JOURNALS[2]] {
            let left = with_suffix(path, suffix);
            match files.remove(&left) {
                Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                    return Err(Error::of_io("remove", &left, error));
                }
                _ => {}
            }
        }
        sync_folder_of(files, path)
    }

    /// Closes both databases, gives the new one the name of the old, and opens it. At every moment
    /// one of them has the name, so that a crash costs no draft.
    fn change_over(&mut self, fresh: Database) -> Result<()> {
        let (new_path, old_path) = (fresh.path.clone(), self.database.path.clone());
        drop(fresh);
        // While the files change names, an empty database in memory stands in.
        let closed = std::mem::replace(&mut self.database, Database::stand_in()?);
        drop(closed);
        let files = self.segments.disk().database_files();
        // A closed database has taken in its journals. What is left would be taken for the other's.
        for path in [&old_path, &new_path] {
            for suffix in JOURNALS {
                let left = with_suffix(path, suffix);
                if files.length(&left).is_ok_and(|length| length > 0) {
                    return Err(Error::Database {
                        action: "close",
                        source: format!("{} is not empty", left.display()).into(),
                    });
                }
            }
        }
        sync_folder_of(files, &old_path)?;
        files
            .replace(&new_path, &old_path)
            .map_err(|error| Error::of_io("rename", &new_path, error))?;
        sync_folder_of(files, &old_path)?;
        self.database = Database::open(&old_path, files)?;
        self.remove_database(&new_path)
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
