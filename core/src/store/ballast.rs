//! Space kept back: a file that is given up when the disk is full, so that readings in hand can still
//! be written down.
//!
//! Only records of the own log may have it. Merges, copies and photographs can wait for another day;
//! somebody standing at a gauge cannot.

use std::io::ErrorKind;
use std::path::PathBuf;

use super::Logbook;
use crate::{Error, Result};

const NAME: &str = "ballast";
const PART: &str = "ballast.part";

/// Bytes written at a time.
const CHUNK: usize = 64 * 1024;

impl Logbook {
    /// Keeps `bytes` of the disk back. Where the disk has not that much left nothing is kept back and
    /// the answer is no. A file of another length is made anew.
    ///
    /// # Errors
    /// The system's, other than for want of space.
    pub fn keep_ballast(&mut self, bytes: u64) -> Result<bool> {
        let path = self.ballast();
        let disk = self.segments.disk();
        if disk.length(&path).is_ok_and(|length| length == bytes) {
            return Ok(true);
        }
        let part = self.dir().join(PART);
        for left in [&path, &part] {
            if disk.exists(left) {
                disk.remove(left)
                    .map_err(|error| Error::of_io("remove", left, error))?;
            }
        }
        match self.fill(&part, bytes) {
            Ok(()) => {
                self.is_short_of_space = false;
                Ok(true)
            }
            Err(Error::NoSpace { .. }) => {
                // What cannot be removed now is removed by the next attempt.
                let _ = disk.remove(&part);
                Ok(false)
            }
            Err(error) => Err(error),
        }
    }

    fn fill(&self, part: &std::path::Path, bytes: u64) -> Result<()> {
        let (disk, path) = (self.segments.disk(), self.ballast());
        let failed = |action| move |error| Error::of_io(action, part, error);
        let mut file = disk.create(part).map_err(failed("create"))?;
        // Not zeros: a file system may keep those without giving them space.
        let chunk: Vec<u8> = (0..CHUNK).map(pattern).collect();
        let mut left = bytes;
        while left > 0 {
            let count = usize::try_from(left).map_or(CHUNK, |left| left.min(CHUNK));
            file.append(&chunk[..count]).map_err(failed("write"))?;
            left -= count as u64;
        }
        file.sync().map_err(failed("sync"))?;
        drop(file);
        disk.rename(part, &path).map_err(failed("rename"))?;
        disk.sync_folder(self.dir()).map_err(failed("sync"))
    }

    /// Gives the space up. Returns whether there was any.
    ///
    /// # Errors
    /// The system's.
    pub(super) fn release_ballast(&mut self) -> Result<bool> {
        let path = self.ballast();
        let disk = self.segments.disk();
        match disk.remove(&path) {
            Ok(()) => {}
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(false),
            Err(error) => return Err(Error::of_io("remove", &path, error)),
        }
        // Some file systems free the space of a name only when its folder is synced.
        disk.sync_folder(self.dir())
            .map_err(|error| Error::of_io("sync", self.dir(), error))?;
        self.is_short_of_space = true;
        Ok(true)
    }

    fn ballast(&self) -> PathBuf {
        self.dir().join(NAME)
    }
}

/// A byte that does not repeat in any short pattern: the high byte of a linear congruence.
fn pattern(place: usize) -> u8 {
    let mixed = (place as u64).wrapping_mul(6_364_136_223_846_793_005);
    mixed.to_be_bytes()[0]
}
