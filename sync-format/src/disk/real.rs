//! The machine's file system.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Write as _};
use std::path::Path;

use super::{AppendFile, Disk};

/// The machine's file system. Follows no link at the end of a path and opens regular files only.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        Ok(Box::new(RealFile(
            OpenOptions::new()
                .append(true)
                .create_new(true)
                .open(path)?,
        )))
    }

    fn create_private(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let mut options = OpenOptions::new();
        options.append(true).create_new(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        Ok(Box::new(RealFile(options.open(path)?)))
    }

    fn open_append(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        Ok(Box::new(RealFile(open_regular(
            OpenOptions::new().append(true),
            path,
        )?)))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn Read + Send>> {
        Ok(Box::new(open_regular(OpenOptions::new().read(true), path)?))
    }

    fn open_uncached(&self, path: &Path) -> io::Result<Box<dyn Read + Send>> {
        let file = open_regular(OpenOptions::new().read(true), path)?;
        forget_cached(&file);
        Ok(Box::new(file))
    }

    fn length(&self, path: &Path) -> io::Result<u64> {
        let about = path.symlink_metadata()?;
        if about.is_file() {
            Ok(about.len())
        } else {
            Err(not_regular())
        }
    }

    fn exists(&self, path: &Path) -> bool {
        path.symlink_metadata().is_ok()
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        // The system call would replace; names are not given twice here, so looking first does.
        if self.exists(to) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        std::fs::rename(from, to)
    }

    fn replace(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        std::fs::remove_file(path)
    }

    fn create_folder(&self, path: &Path) -> io::Result<()> {
        std::fs::create_dir_all(path)
    }

    fn file_names(&self, folder: &Path) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for entry in std::fs::read_dir(folder)? {
            let entry = entry?;
            if entry.file_type()?.is_file()
                && let Ok(name) = entry.file_name().into_string()
            {
                names.push(name);
            }
        }
        names.sort();
        Ok(names)
    }

    #[cfg(unix)]
    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        File::open(or_here(folder))?.sync_all()
    }

    /// Windows keeps no separate state of folders that a program could sync.
    #[cfg(not(unix))]
    fn sync_folder(&self, _folder: &Path) -> io::Result<()> {
        Ok(())
    }
}

/// The parent of a bare file name is the empty path, which cannot be opened.
#[cfg(unix)]
fn or_here(folder: &Path) -> &Path {
    if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    }
}

fn not_regular() -> io::Error {
    io::Error::new(io::ErrorKind::InvalidInput, "not a regular file")
}

/// Opens without following a link, without waiting for a pipe, and looks again once open.
fn open_regular(options: &mut OpenOptions, path: &Path) -> io::Result<File> {
    #[cfg(unix)]
    {
        use rustix::fs::OFlags;
        let flags = OFlags::NOFOLLOW | OFlags::NONBLOCK;
        std::os::unix::fs::OpenOptionsExt::custom_flags(options, flags.bits().cast_signed());
    }
    if !path.symlink_metadata()?.is_file() {
        return Err(not_regular());
    }
    let file = options.open(path)?;
    if file.metadata()?.is_file() {
        Ok(file)
    } else {
        Err(not_regular())
    }
}

/// Asks the system to drop its copy of a synced file, so that reading reaches the medium. Advice
/// only: a stick that lies about its size is found out when the system follows it.
#[cfg(any(target_os = "linux", target_os = "android"))]
fn forget_cached(file: &File) {
    let _ = rustix::fs::fadvise(file, 0, None, rustix::fs::Advice::DontNeed);
}

#[cfg(not(any(target_os = "linux", target_os = "android")))]
fn forget_cached(_file: &File) {}

struct RealFile(File);

impl AppendFile for RealFile {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_all()
    }

    fn length(&self) -> io::Result<u64> {
        Ok(self.0.metadata()?.len())
    }
}
