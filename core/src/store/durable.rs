//! The settings with which a commit lasts, chosen and read back.
//!
//! Which settings keep a commit through a power cut is measured in `tests/power`.

use rusqlite::Connection;

use super::database::{During, cannot_open, pragma, sorted};
use crate::{Error, Result};

/// How a commit is written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Journal {
    /// A write-ahead log where it can be had.
    WriteAhead,
    /// A rollback journal, cut to nothing after each commit.
    Rollback,
}

/// What [`Error::NotDurable`] finds where a write-ahead log cannot be had.
const NO_WRITE_AHEAD: &str = "no write-ahead log";

/// Chooses the journal and reads every setting back: a setting that was refused in silence would
/// make "saved" a lie.
pub(super) fn make_durable(connection: &Connection, journal: Journal) -> Result<()> {
    let action = "choose the journal";
    let tables: i64 = connection
        .query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))
        .during(action)?;
    // A database that was made without a write-ahead log stays without: trying again would leave it
    // unreadable where there still is none.
    let may_choose = tables == 0 || has_write_ahead(connection)?;
    if journal == Journal::Rollback || !may_choose || !try_write_ahead(connection)? {
        // DELETE with FULL would lose the last commit when the power fails before the folder is
        // synced; TRUNCATE with FULL does not.
        connection
            .query_row("PRAGMA journal_mode = TRUNCATE", [], |_| Ok(()))
            .during(action)?;
    }
    connection
        .execute_batch("PRAGMA synchronous = FULL")
        .during("choose the sync level")?;
    connection
        .execute_batch(&format!(
            "PRAGMA cache_size = {}; PRAGMA temp_store = MEMORY",
            super::database::CACHE_KIB
        ))
        .during("choose the cache")?;
    check_durable(connection)
}

/// Returns whether the database now has a write-ahead log.
///
/// # Errors
/// One for which [`lacks_write_ahead`] holds when its file cannot be had.
fn try_write_ahead(connection: &Connection) -> Result<bool> {
    let action = "choose the journal";
    let chosen = connection
        .query_row("PRAGMA journal_mode = WAL", [], |row| {
            row.get::<_, String>(0)
        })
        .and_then(|mode| {
            // Only reading opens the file beside the database.
            connection.query_row("SELECT count(*) FROM sqlite_schema", [], |_| Ok(()))?;
            Ok(mode == "wal")
        });
    chosen.map_err(|error| {
        if cannot_open(&error) {
            Error::NotDurable {
                setting: "journal_mode",
                found: NO_WRITE_AHEAD.to_owned(),
            }
        } else {
            sorted(action, error)
        }
    })
}

/// Says whether opening failed for want of a write-ahead log.
pub(super) fn lacks_write_ahead(error: &Error) -> bool {
    matches!(error, Error::NotDurable { found, .. } if found == NO_WRITE_AHEAD)
}

/// Says whether commits go through a write-ahead log.
pub(super) fn has_write_ahead(connection: &Connection) -> Result<bool> {
    let journal: String = connection
        .query_row("PRAGMA journal_mode", [], |row| row.get(0))
        .during("read the journal mode")?;
    Ok(journal == "wal")
}

/// Makes sure that a commit lasts.
///
/// # Errors
/// [`Error::NotDurable`] naming the setting that reads back differently.
pub(super) fn check_durable(connection: &Connection) -> Result<()> {
    let journal: String = connection
        .query_row("PRAGMA journal_mode", [], |row| row.get(0))
        .during("read the journal mode")?;
    if journal != "wal" && journal != "truncate" {
        return Err(Error::NotDurable {
            setting: "journal_mode",
            found: journal,
        });
    }
    // 2 is FULL, 3 is EXTRA.
    let synchronous = pragma(connection, "synchronous")?;
    if synchronous < 2 {
        return Err(Error::NotDurable {
            setting: "synchronous",
            found: synchronous.to_string(),
        });
    }
    Ok(())
}
