//! The logbook's folder: the names in it, and the lock that keeps a second program out.

use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};

use winze_sync_format::disk::Disk;

use crate::{Error, Result};

const KEY: &str = "key";
const NEXT_KEY: &str = "key-next";
const PLACE: &str = "place";
const LOCK: &str = "lock";
const DATABASE: &str = "projection.sqlite";

/// A folder that this program has locked. The lock goes with the value, also when the process dies.
pub(super) struct Folder {
    path: PathBuf,
    _lock: File,
}

impl Folder {
    /// Locks a folder that must be there.
    ///
    /// # Errors
    /// [`Error::NoLogbook`], [`Error::NotAFolder`], [`Error::Locked`], [`Error::ReadOnly`].
    pub(super) fn lock(path: &Path) -> Result<Self> {
        match std::fs::metadata(path) {
            Ok(found) if !found.is_dir() => {
                return Err(Error::NotAFolder {
                    path: path.to_owned(),
                });
            }
            Ok(_) => {}
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                return Err(Error::NoLogbook {
                    path: path.to_owned(),
                });
            }
            Err(error) => return Err(Error::of_io("look at", path, error)),
        }
        let lock_path = path.join(LOCK);
        if lock_path.is_dir() {
            return Err(Error::NotAFile { path: lock_path });
        }
        let lock = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&lock_path)
            .map_err(|error| Error::of_io("open", &lock_path, error))?;
        match lock.try_lock() {
            Ok(()) => Ok(Self {
                path: path.to_owned(),
                _lock: lock,
            }),
            Err(TryLockError::WouldBlock) => Err(Error::Locked {
                path: path.to_owned(),
            }),
            Err(TryLockError::Error(error)) => Err(Error::of_io("lock", &lock_path, error)),
        }
    }

    /// The folder.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// The database.
    pub(super) fn database(&self) -> PathBuf {
        self.path.join(DATABASE)
    }

    /// The signing key.
    pub(super) fn key(&self) -> PathBuf {
        key_of(&self.path)
    }

    /// A free name for a database that is put aside, never to be overwritten.
    pub(super) fn aside(&self, files: &dyn Disk, why: &str) -> PathBuf {
        let name = |n: u32| self.path.join(format!("projection-{why}-{n:03}.sqlite"));
        let free = (1..u32::MAX).find(|n| !files.exists(&name(*n)));
        name(free.unwrap_or(u32::MAX))
    }
}

/// The signing key of the logbook in a folder.
pub(super) fn key_of(dir: &Path) -> PathBuf {
    dir.join(KEY)
}

/// The key that is to follow the present one, while a change goes on.
pub(super) fn next_key_of(dir: &Path) -> PathBuf {
    dir.join(NEXT_KEY)
}

/// The file that says where the folder was when it was last opened.
pub(super) fn place_of(dir: &Path) -> PathBuf {
    dir.join(PLACE)
}

/// The files that may lie beside a database, by what follows its name.
pub(super) const JOURNALS: [&str; 3] = ["-wal", "-shm", "-journal"];

/// Renames a database together with the files that belong to it, and makes that last: a journal left
/// behind must not meet the next database of that name. The database goes first, since without it the
/// journals are thrown away, while it must never be read without them.
///
/// # Errors
/// The system's, sorted.
pub(super) fn move_database(files: &dyn Disk, from: &Path, to: &Path) -> Result<()> {
    for suffix in ["", JOURNALS[0], JOURNALS[1], JOURNALS[2]] {
        let (from, to) = (with_suffix(from, suffix), with_suffix(to, suffix));
        match files.rename(&from, &to) {
            Err(error) if suffix.is_empty() || error.kind() != std::io::ErrorKind::NotFound => {
                return Err(Error::of_io("rename", &from, error));
            }
            _ => {}
        }
    }
    sync_folder_of(files, from)
}

/// Makes the names beside a file last.
///
/// # Errors
/// The system's, sorted.
pub(super) fn sync_folder_of(files: &dyn Disk, path: &Path) -> Result<()> {
    let folder = path.parent().unwrap_or(Path::new(""));
    files
        .sync_folder(folder)
        .map_err(|error| Error::of_io("sync", folder, error))
}

/// The name of a file beside a database.
pub(super) fn with_suffix(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    PathBuf::from(name)
}

#[cfg(test)]
mod tests {
    use winze_sync_format::disk::RealDisk;

    use super::*;

    fn error_of(path: &Path) -> Error {
        match Folder::lock(path) {
            Ok(_) => panic!("locked {}", path.display()),
            Err(error) => error,
        }
    }

    #[test]
    fn what_cannot_be_a_logbook_is_told_apart() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path();
        assert!(matches!(
            error_of(&path.join("absent")),
            Error::NoLogbook { .. }
        ));
        std::fs::write(path.join("file"), b"x").unwrap();
        assert!(matches!(
            error_of(&path.join("file")),
            Error::NotAFolder { .. }
        ));
        std::fs::create_dir_all(path.join("odd/lock")).unwrap();
        assert!(matches!(
            error_of(&path.join("odd")),
            Error::NotAFile { .. }
        ));
    }

    #[test]
    fn a_locked_folder_is_not_locked_again() {
        let folder = tempfile::tempdir().unwrap();
        let held = Folder::lock(folder.path()).unwrap();
        assert!(matches!(error_of(folder.path()), Error::Locked { .. }));
        drop(held);
        assert!(Folder::lock(folder.path()).is_ok());
    }

    #[test]
    fn a_name_aside_is_never_one_that_is_taken() {
        let folder = tempfile::tempdir().unwrap();
        let held = Folder::lock(folder.path()).unwrap();
        let first = held.aside(&RealDisk, "damaged");
        std::fs::write(&first, b"x").unwrap();
        assert_ne!(held.aside(&RealDisk, "damaged"), first);
    }
}
