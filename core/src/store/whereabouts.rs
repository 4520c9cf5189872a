//! Where a logbook lives, so that a folder that was copied or moved with its key is noticed.
//!
//! The file `place` beside the key says where the folder was when it was last opened: machine,
//! installation, path and the moment the key file was made. It is no proof, and a copy of the whole
//! system disk fits; that is noticed at the office, when two different records claim one place.

use std::path::Path;

use sha2::{Digest, Sha256};
use winze_sync_format::canonical::{Encoder, Reader};
use winze_sync_format::disk::Disk;

use super::Logbook;
use super::folder::{key_of, place_of};
use crate::record::NewLogWhy;
use crate::{Error, Result};

/// Longest file worth reading, in bytes.
const PLACE_MAX: u64 = 512;

/// What the program knows about the machine it runs on. Both are digests: neither a machine's name
/// nor its number is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Whereabouts {
    /// Names the machine; the same after every start of it.
    pub machine: [u8; 32],
    /// Names this setting-up of the program; kept outside the logbook's folder.
    pub installation: [u8; 32],
}

impl Whereabouts {
    /// Of a machine with this name or number, of which only a digest is kept, and a random number
    /// that was drawn when the program was set up.
    #[must_use]
    pub fn of(machine: &str, installation: [u8; 32]) -> Self {
        Self {
            machine: Sha256::digest(format!("winze machine {machine}")).into(),
            installation,
        }
    }
}

/// What is written in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Noted {
    here: Whereabouts,
    /// SHA-256 of the folder's full path.
    path: [u8; 32],
    /// When the key file was made, milliseconds since 1970; none where the system does not tell.
    key_made_ms: Option<u64>,
}

impl Logbook {
    /// Why the folder is not where it was, if so.
    pub(super) fn place_in_doubt(&self) -> Result<Option<NewLogWhy>> {
        let (Some(here), Some(before)) = (&self.here, self.noted()) else {
            return Ok(None);
        };
        let now = noted_now(self.folder.path(), here)?;
        Ok(if now.here.machine != before.here.machine {
            Some(NewLogWhy::OtherMachine)
        } else if now.here.installation != before.here.installation {
            Some(NewLogWhy::OtherInstallation)
        } else if now.path != before.path || is_another(now.key_made_ms, before.key_made_ms) {
            Some(NewLogWhy::OtherFolder)
        } else {
            None
        })
    }

    pub(super) fn has_noted_whereabouts(&self) -> bool {
        self.noted().is_some()
    }

    /// Writes down where the folder is, where nothing was written yet.
    pub(super) fn finish_noting(&self) -> Result<()> {
        match &self.here {
            Some(here) => note_whereabouts(self.segments.disk(), self.folder.path(), here),
            None => Ok(()),
        }
    }

    /// What was written down; none where nothing was, or nothing whole.
    fn noted(&self) -> Option<Noted> {
        let file = self.segments.disk().open(&place_of(self.folder.path()));
        let mut bytes = Vec::new();
        std::io::Read::read_to_end(&mut std::io::Read::take(file.ok()?, PLACE_MAX), &mut bytes)
            .ok()?;
        decode(&bytes)
    }
}

/// Two moments that are both known and differ.
fn is_another(now: Option<u64>, before: Option<u64>) -> bool {
    now.zip(before).is_some_and(|(now, before)| now != before)
}

fn noted_now(dir: &Path, here: &Whereabouts) -> Result<Noted> {
    let path = std::fs::canonicalize(dir).map_err(|error| Error::of_io("find", dir, error))?;
    // Copying a file makes a new one, and no usual tool can set this moment back.
    let made = std::fs::metadata(key_of(dir)).and_then(|key| key.created());
    let made = made.ok().and_then(|made| {
        let since = made.duration_since(std::time::UNIX_EPOCH).ok()?;
        u64::try_from(since.as_millis()).ok()
    });
    Ok(Noted {
        here: *here,
        path: Sha256::digest(path.as_os_str().as_encoded_bytes()).into(),
        key_made_ms: made,
    })
}

/// Writes down where the folder is now.
pub(super) fn note_whereabouts(disk: &dyn Disk, dir: &Path, here: &Whereabouts) -> Result<()> {
    let path = place_of(dir);
    let bytes = encode(&noted_now(dir, here)?)?;
    // A crash in between leaves none, and the next start writes it: a copy made in that moment is
    // noticed at the office.
    if disk.exists(&path) {
        disk.remove(&path)
            .map_err(|error| Error::of_io("remove", &path, error))?;
    }
    let write = || -> std::io::Result<()> {
        let mut file = disk.create(&path)?;
        file.append(&bytes)?;
        file.sync()?;
        disk.sync_folder(dir)
    };
    write().map_err(|error| Error::of_io("write", &path, error))
}

fn encode(noted: &Noted) -> Result<Vec<u8>> {
    let mut out = Encoder::new();
    out.map(4 + usize::from(noted.key_made_ms.is_some()));
    out.key(0).uint(1);
    out.key(1).bytes(&noted.here.machine);
    out.key(2).bytes(&noted.here.installation);
    out.key(3).bytes(&noted.path);
    if let Some(made) = noted.key_made_ms {
        out.key(4).uint(made);
    }
    Ok(out.finish()?)
}

fn decode(bytes: &[u8]) -> Option<Noted> {
    let read = || -> winze_sync_format::Result<Option<Noted>> {
        let mut reader = Reader::new(bytes);
        reader.map()?;
        reader.expect_key(0)?;
        if reader.uint()? != 1 {
            return Ok(None);
        }
        reader.expect_key(1)?;
        let machine = reader.fixed_bytes()?;
        reader.expect_key(2)?;
        let installation = reader.fixed_bytes()?;
        reader.expect_key(3)?;
        let path = reader.fixed_bytes()?;
        let key_made_ms = if reader.optional_key(4)? {
            Some(reader.uint()?)
        } else {
            None
        };
        reader.end()?;
        reader.finish()?;
        Ok(Some(Noted {
            here: Whereabouts {
                machine,
                installation,
            },
            path,
            key_made_ms,
        }))
    };
    read().ok().flatten()
}
