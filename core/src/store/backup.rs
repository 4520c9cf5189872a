//! The copy of a logbook on a second medium: its segments under their own names, nothing else.
//!
//! A segment that is there already is read and compared instead of copied. Each is written beside,
//! synced, read back from the medium, and only then given its name; the copy of before stands until
//! then. At the end every record of the logbook must be found in the copy.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use sha2::{Digest as _, Sha256};
use winze_sync_format::disk::Disk;
use winze_sync_format::salvage::{Found, ItemScanner};

use super::Logbook;
use super::database::Database;
use super::segments::Series;
use super::start::{NO_LIMITS, short, threads};
use crate::actions::{OnProgress, Progress, Stage};
use crate::{Error, Result};

/// Bytes read and written at a time.
const CHUNK: usize = 64 * 1024;

/// Letters of the label in the folder's name.
const LABEL_MAX: usize = 16;

/// A backup that was read back and holds every record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackedUp {
    /// The logbook's own folder on the second medium.
    pub folder: PathBuf,
    /// Segments copied now.
    pub copied: u64,
    /// Segments that were there already and were read and compared.
    pub compared: u64,
    /// Bytes of all segments.
    pub bytes: u64,
    /// Records in the backup.
    pub records: u64,
}

impl Logbook {
    /// Copies the segments and checks the copy.
    pub(crate) fn back_up_to(&self, to: &Path, progress: &mut OnProgress<'_>) -> Result<BackedUp> {
        self.check_running()?;
        let disk = self.segments.disk();
        let folder = to.join(self.folder_name());
        disk.create_folder(&folder)
            .map_err(|error| Error::of_io("create", &folder, error))?;
        let mut files = self.segments.files_of(Series::Own)?;
        files.extend(self.segments.files_of(Series::Received)?);
        let mut total = 0;
        for file in &files {
            total += length(disk, file)?;
        }
        let mut done = BackedUp {
            folder,
            copied: 0,
            compared: 0,
            bytes: 0,
            records: 0,
        };
        let mut copies = Vec::new();
        for file in &files {
            let name = file.file_name().unwrap_or_default();
            let copy = done.folder.join(name);
            if is_same(disk, file, &copy)? {
                done.compared += 1;
            } else {
                copy_file(disk, file, &copy)?;
                done.copied += 1;
            }
            done.bytes += length(disk, file)?;
            copies.push(copy);
            report(progress, Stage::Writing, done.bytes, total)?;
        }
        disk.sync_folder(&done.folder)
            .map_err(|error| Error::of_io("sync", &done.folder, error))?;
        done.records = check(disk, &self.database, &copies, &done.folder, progress, total)?;
        Ok(done)
    }

    /// `<label>-<first 8 hex of the log>`: several logbooks may share a medium.
    fn folder_name(&self) -> String {
        let plain = |letter: char| {
            if letter.is_ascii_alphanumeric() {
                letter.to_ascii_lowercase()
            } else {
                '-'
            }
        };
        let label: String = self.own.label.chars().take(LABEL_MAX).map(plain).collect();
        let label = label.trim_matches('-');
        let label = if label.is_empty() { "logbook" } else { label };
        format!("{label}-{}", self.own.log.short())
    }
}

fn report(progress: &mut OnProgress<'_>, stage: Stage, done: u64, total: u64) -> Result<()> {
    let total = Some(total);
    if progress(Progress { stage, done, total }) {
        Ok(())
    } else {
        Err(Error::Cancelled)
    }
}

fn length(disk: &dyn Disk, file: &Path) -> Result<u64> {
    disk.length(file)
        .map_err(|error| Error::of_io("measure", file, error))
}

/// Whether a copy is there with the same bytes, as far as the system reads them from the medium.
fn is_same(disk: &dyn Disk, file: &Path, copy: &Path) -> Result<bool> {
    if !disk.exists(copy) || length(disk, file)? != length(disk, copy)? {
        return Ok(false);
    }
    Ok(digest(disk, file)? == digest(disk, copy)?)
}

fn digest(disk: &dyn Disk, file: &Path) -> Result<[u8; 32]> {
    let mut stream = disk
        .open_uncached(file)
        .map_err(|error| Error::of_io("open", file, error))?;
    let (mut hash, mut chunk) = (Sha256::new(), vec![0; CHUNK]);
    loop {
        match stream.read(&mut chunk) {
            Ok(0) => return Ok(hash.finalize().into()),
            Ok(count) => hash.update(&chunk[..count]),
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
            Err(error) => return Err(Error::of_io("read", file, error)),
        }
    }
}

/// Copies a file beside its place, reads it back, and puts it in its place.
fn copy_file(disk: &dyn Disk, file: &Path, copy: &Path) -> Result<()> {
    let part = copy.with_extension("part");
    if disk.exists(&part) {
        disk.remove(&part)
            .map_err(|error| Error::of_io("remove", &part, error))?;
    }
    let failed = |action| move |error| Error::of_io(action, copy, error);
    let mut from = disk
        .open(file)
        .map_err(|error| Error::of_io("open", file, error))?;
    let mut out = disk.create(&part).map_err(failed("create"))?;
    let (mut hash, mut chunk) = (Sha256::new(), Vec::with_capacity(CHUNK));
    loop {
        chunk.clear();
        (&mut from)
            .take(CHUNK as u64)
            .read_to_end(&mut chunk)
            .map_err(|error| Error::of_io("read", file, error))?;
        if chunk.is_empty() {
            break;
        }
        hash.update(&chunk);
        out.append(&chunk).map_err(failed("write"))?;
    }
    out.sync().map_err(failed("sync"))?;
    drop(out);
    let written: [u8; 32] = hash.finalize().into();
    if digest(disk, &part)? != written {
        return Err(Error::BackupIncomplete {
            path: copy.to_owned(),
            missing: 0,
        });
    }
    disk.replace(&part, copy).map_err(failed("rename"))
}

/// Counts the records in the copy and makes sure that none of the logbook's is missing.
fn check(
    disk: &dyn Disk,
    database: &Database,
    copies: &[PathBuf],
    folder: &Path,
    progress: &mut OnProgress<'_>,
    total: u64,
) -> Result<u64> {
    let (mut seen, mut before) = (Vec::new(), 0);
    for copy in copies {
        let stream = disk
            .open(copy)
            .map_err(|error| Error::of_io("open", copy, error))?;
        // What the database holds under the same hash had its signature checked when it came in.
        let mut scanner = ItemScanner::new(stream)
            .threads(threads())
            .limits(NO_LIMITS)
            .known(|at| database.holds(at).unwrap_or(false));
        for found in scanner.by_ref() {
            match found {
                Found::Held { reference, .. } => seen.push(short(reference.id)),
                Found::Record { record, .. } => seen.push(short(record.id())),
                Found::Newer { newer, .. } => seen.push(short(newer.reference.id)),
                Found::Damage(_) | Found::Hint { .. } => {}
            }
        }
        before += scanner.offset();
        report(progress, Stage::ReadingBack, before, total)?;
    }
    seen.sort_unstable();
    seen.dedup();
    let mut missing = 0;
    database.each_item(|id, _| {
        let id = winze_sync_format::RecordId(id);
        missing += u64::from(seen.binary_search(&short(id)).is_err());
        Ok(())
    })?;
    if missing > 0 {
        return Err(Error::BackupIncomplete {
            path: folder.to_owned(),
            missing,
        });
    }
    Ok(seen.len() as u64)
}
