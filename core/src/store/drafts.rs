//! Drafts in the database. They are committed like records, but prove nothing.

use rusqlite::{OptionalExtension, Row, params};

use super::Logbook;
use super::database::During;
use crate::Result;
use crate::actions::SavedDraft;

impl Logbook {
    pub(crate) fn write_draft(&mut self, name: &str, content: &str) -> Result<()> {
        self.check_running()?;
        self.database.run(
            "INSERT OR REPLACE INTO draft (name, saved_ms, content) VALUES (?1, ?2, ?3)",
            params![name, self.clock.now().wall_ms, content],
        )
    }

    pub(crate) fn read_draft(&self, name: &str) -> Result<Option<SavedDraft>> {
        self.database
            .connection
            .prepare_cached("SELECT name, saved_ms, content FROM draft WHERE name = ?1")
            .and_then(|mut query| query.query_row([name], draft).optional())
            .during("read a draft")
    }

    pub(crate) fn read_drafts(&self) -> Result<Vec<SavedDraft>> {
        self.database
            .connection
            .prepare_cached(
                "SELECT name, saved_ms, content FROM draft ORDER BY saved_ms DESC, name",
            )
            .and_then(|mut query| query.query_map([], draft)?.collect())
            .during("read drafts")
    }

    pub(crate) fn remove_draft(&mut self, name: &str) -> Result<()> {
        self.check_running()?;
        self.database
            .run("DELETE FROM draft WHERE name = ?1", [name])
    }
}

fn draft(row: &Row<'_>) -> rusqlite::Result<SavedDraft> {
    Ok(SavedDraft {
        name: row.get(0)?,
        saved_ms: row.get(1)?,
        content: row.get(2)?,
    })
}
