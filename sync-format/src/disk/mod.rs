//! The few file operations that durability rests on, behind a trait.
//!
//! [`RealDisk`] is the machine's file system, [`FaultyDisk`] an in-memory one that remembers what
//! was synced, fails on demand and can lose its power. Files are only ever created new and
//! appended to: nothing of this format is changed in place.

mod faulty;
mod real;

use std::io::{self, Read};
use std::path::Path;

pub use faulty::{Fault, FaultyDisk};
pub use real::RealDisk;

/// File operations. A method that returns `Ok` has happened; only `sync` and `sync_folder` make
/// it last.
pub trait Disk: Send + Sync {
    /// Creates a file that must not exist yet.
    ///
    /// # Errors
    /// The system's, `AlreadyExists` among them.
    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>>;

    /// Creates a file that must not exist yet and that only its owner may read.
    ///
    /// # Errors
    /// The system's, `AlreadyExists` among them.
    fn create_private(&self, path: &Path) -> io::Result<Box<dyn AppendFile>>;

    /// Opens an existing file to append to it.
    ///
    /// # Errors
    /// The system's; a link, folder, pipe or device is refused.
    fn open_append(&self, path: &Path) -> io::Result<Box<dyn AppendFile>>;

    /// Opens an existing file to read it from its start.
    ///
    /// # Errors
    /// The system's; a link, folder, pipe or device is refused.
    fn open(&self, path: &Path) -> io::Result<Box<dyn Read + Send>>;

    /// Opens a file just written to read it from the medium itself, as far as the system allows.
    ///
    /// # Errors
    /// As [`Disk::open`].
    fn open_uncached(&self, path: &Path) -> io::Result<Box<dyn Read + Send>> {
        self.open(path)
    }

    /// The length of a file in bytes.
    ///
    /// # Errors
    /// The system's; a link, folder, pipe or device is refused.
    fn length(&self, path: &Path) -> io::Result<u64>;

    /// Whether anything has this name.
    fn exists(&self, path: &Path) -> bool;

    /// Gives a file another name in the same file system; the new name must be free.
    ///
    /// # Errors
    /// The system's, `AlreadyExists` among them.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Gives a file the name of another, which is gone then: at every moment one of the two has it.
    ///
    /// # Errors
    /// The system's.
    fn replace(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Removes a file's name.
    ///
    /// # Errors
    /// The system's.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Creates a folder and those above it.
    ///
    /// # Errors
    /// The system's.
    fn create_folder(&self, path: &Path) -> io::Result<()>;

    /// The names in a folder, sorted; folders and links among them are left out.
    ///
    /// # Errors
    /// The system's.
    fn file_names(&self, folder: &Path) -> io::Result<Vec<String>>;

    /// Makes the names in a folder last.
    ///
    /// # Errors
    /// The system's.
    fn sync_folder(&self, folder: &Path) -> io::Result<()>;

    /// Where the files of a database lie that belongs to the files of this disk. A database opens
    /// its files by itself, by path, so that only renaming and removing them goes through a disk.
    fn database_files(&self) -> &dyn Disk {
        &RealDisk
    }
}

/// An open file that grows at its end.
pub trait AppendFile: Send {
    /// Appends all bytes. After an error any first part of them may have been appended.
    ///
    /// # Errors
    /// The system's.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Makes everything appended last. After an error the file must be given up: the system may
    /// have thrown the bytes away, and a second call may report success without them.
    ///
    /// # Errors
    /// The system's.
    fn sync(&mut self) -> io::Result<()>;

    /// The length in bytes.
    ///
    /// # Errors
    /// The system's.
    fn length(&self) -> io::Result<u64>;
}

#[cfg(test)]
mod tests;
