//! A logbook on disk: the segments that prove, and the database that answers.
//!
//! ```text
//! FOLDER/key                  the logbook's signing key, readable by its owner only
//! FOLDER/lock                 held while a program has the logbook open
//! FOLDER/own-000001.seg       the own log, append only, signed record after signed record
//! FOLDER/received-000001.seg  records that came in bundles, likewise
//! FOLDER/projection.sqlite    everything worked out from them; can be deleted
//! ```
//!
//! A record is *confirmed* once it is in a synced segment and committed in the database, in that
//! order. A crash in between leaves a record that nobody was told is safe: the next start finds it in
//! the segment and puts it in the database. `rusqlite` is used in this folder and nowhere else.

use std::path::Path;
use std::sync::Arc;

use winze_sync_format::{LogId, RecordRef};

use crate::Result;
use crate::clock::Clock;
use crate::record::{Body, Role};

/// A record to be confirmed.
#[derive(Debug, Clone)]
pub struct NewRecord {
    pub(crate) body: Body,
    pub(crate) person: String,
    pub(crate) refs: Vec<RecordRef>,
    pub(crate) nonce: Option<[u8; 8]>,
}

impl NewRecord {
    /// A statement by a person.
    #[must_use]
    pub fn new(body: Body, person: impl Into<String>) -> Self {
        Self {
            body,
            person: person.into(),
            refs: Vec::new(),
            nonce: None,
        }
    }

    /// The same, naming the records it replaces.
    #[must_use]
    pub fn replacing(mut self, refs: Vec<RecordRef>) -> Self {
        self.refs = refs;
        self
    }

    /// The same, with the nonce of its draft.
    #[must_use]
    pub fn with_nonce(mut self, nonce: [u8; 8]) -> Self {
        self.nonce = Some(nonce);
        self
    }
}

/// An open logbook. Only one program at a time has it open.
pub struct Logbook {
    _private: (),
}

/// What the check at start found and did.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StartReport {
    /// Records that were in a segment and not in the database.
    pub replayed: u64,
    /// Records that were in the database and not in a segment.
    pub restored_to_segments: u64,
}

impl Logbook {
    /// Creates a logbook in a folder, which is made if need be, and writes its first record.
    ///
    /// # Errors
    /// [`crate::Error::LogbookExists`], [`crate::Error::NotAFolder`], [`crate::Error::ReadOnly`],
    /// [`crate::Error::NoSpace`].
    pub fn create(dir: &Path, role: Role, label: &str, clock: Arc<dyn Clock>) -> Result<Self> {
        let _ = (dir, role, label, clock);
        todo!()
    }

    /// Opens the logbook in a folder, after checking every record in it.
    ///
    /// # Errors
    /// [`crate::Error::NoLogbook`], [`crate::Error::NotAFolder`], [`crate::Error::Locked`],
    /// [`crate::Error::ReadOnly`], [`crate::Error::NewerThanProgram`].
    pub fn open(dir: &Path, clock: Arc<dyn Clock>) -> Result<Self> {
        let _ = (dir, clock);
        todo!()
    }

    /// Says whether there is a logbook in a folder.
    #[must_use]
    pub fn exists(dir: &Path) -> bool {
        dir.join("key").is_file()
    }

    /// The folder.
    #[must_use]
    pub fn dir(&self) -> &Path {
        todo!()
    }

    /// The own log.
    #[must_use]
    pub fn log_id(&self) -> LogId {
        todo!()
    }

    /// What the logbook is for.
    #[must_use]
    pub fn role(&self) -> Role {
        todo!()
    }

    /// What its people call it.
    #[must_use]
    pub fn label(&self) -> &str {
        todo!()
    }

    /// The clock it was opened with.
    #[must_use]
    pub fn clock(&self) -> &dyn Clock {
        todo!()
    }

    /// What the check at start found and did.
    #[must_use]
    pub fn start_report(&self) -> &StartReport {
        todo!()
    }

    /// Makes the database anew from the segments.
    ///
    /// # Errors
    /// The database's, and those of reading the segments.
    pub fn rebuild(&mut self) -> Result<StartReport> {
        todo!()
    }

    /// Writes the projection as text: the same set of records gives the same bytes, whatever the
    /// order in which they came.
    ///
    /// # Errors
    /// The database's.
    pub fn dump_projection(&self) -> Result<String> {
        todo!()
    }

    /// Moves everything from the write-ahead log into the database file.
    ///
    /// # Errors
    /// The database's.
    pub fn checkpoint(&self) -> Result<()> {
        todo!()
    }
}

mod skeleton;
