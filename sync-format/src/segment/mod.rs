//! A log on disk: items one after another, appended and synced, never changed.
//!
//! A segment file is a plain sequence of items without header or end. Its tail may be torn by a
//! crash; whole items before and behind any damage are always found again.

use std::io::Read;
use std::path::{Path, PathBuf};

use crate::disk::{AppendFile, Disk};
use crate::error::{Error, IoContext as _, Result};
use crate::item::{NewerItem, parse_item};
use crate::record::{SignedRecord, is_structural};
use crate::salvage::{Damage, DamageReason, Found, ItemScanner};

/// Appends items to one segment file.
///
/// After a failed append or sync the file is given up: every further call answers
/// [`Error::GivenUp`], because the system may have thrown away bytes that it had accepted. The
/// caller opens a new segment and appends the same items there; the doubtful file is read again
/// at the next start.
pub struct SegmentWriter {
    file: Box<dyn AppendFile>,
    path: PathBuf,
    length: u64,
    synced: u64,
    given_up: bool,
}

impl SegmentWriter {
    /// Creates a new segment file and makes its name last.
    ///
    /// # Errors
    /// [`Error::Io`] when the name is taken or the system refuses.
    pub fn create(disk: &dyn Disk, path: &Path) -> Result<Self> {
        let file = disk.create(path).at("create", path)?;
        let folder = path.parent().unwrap_or(Path::new(""));
        disk.sync_folder(folder).at("sync folder", folder)?;
        Ok(Self {
            file,
            path: path.to_owned(),
            length: 0,
            synced: 0,
            given_up: false,
        })
    }

    /// Opens an existing segment file to append to it, after making its content last: what a
    /// killed process left may not have been synced yet.
    ///
    /// # Errors
    /// [`Error::Io`].
    pub fn open(disk: &dyn Disk, path: &Path) -> Result<Self> {
        let mut file = disk.open_append(path).at("open", path)?;
        file.sync().at("sync", path)?;
        let length = file.length().at("measure", path)?;
        Ok(Self {
            file,
            path: path.to_owned(),
            length,
            synced: length,
            given_up: false,
        })
    }

    /// Appends one item and returns where it starts. It lasts only after [`SegmentWriter::sync`].
    ///
    /// # Errors
    /// Bytes that are not exactly one item in the allowed form (nothing is written then),
    /// [`Error::Io`] and [`Error::GivenUp`].
    pub fn append(&mut self, item: &[u8]) -> Result<u64> {
        self.check_usable()?;
        let (_, length) = parse_item(item)?;
        if length < item.len() {
            return Err(Error::TrailingBytes {
                offset: length,
                count: item.len() - length,
            });
        }
        let offset = self.length;
        let outcome = self.file.append(item).at("append to", &self.path);
        self.given_up = outcome.is_err();
        outcome?;
        self.length += item.len() as u64;
        Ok(offset)
    }

    /// Makes everything appended last.
    ///
    /// # Errors
    /// [`Error::Io`] and [`Error::GivenUp`].
    pub fn sync(&mut self) -> Result<()> {
        self.check_usable()?;
        let outcome = self.file.sync().at("sync", &self.path);
        self.given_up = outcome.is_err();
        outcome?;
        self.synced = self.length;
        Ok(())
    }

    /// Length in bytes, unsynced items included.
    #[must_use]
    pub fn length(&self) -> u64 {
        self.length
    }

    /// Length in bytes of what is sure to last.
    #[must_use]
    pub fn synced_length(&self) -> u64 {
        self.synced
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether the file was given up after a failed append or sync.
    #[must_use]
    pub fn is_given_up(&self) -> bool {
        self.given_up
    }

    fn check_usable(&self) -> Result<()> {
        if self.given_up {
            Err(Error::GivenUp {
                path: self.path.clone(),
            })
        } else {
            Ok(())
        }
    }
}

impl std::fmt::Debug for SegmentWriter {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "SegmentWriter({}, {} of {} bytes synced)",
            self.path.display(),
            self.synced,
            self.length
        )
    }
}

/// What stands in a segment, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SegmentEntry {
    /// A record.
    Record {
        /// Where it starts, in bytes.
        offset: u64,
        /// The record, its signature checked.
        record: SignedRecord,
    },
    /// An item of a newer format version.
    Newer {
        /// Where it starts, in bytes.
        offset: u64,
        /// The item, its signature checked.
        newer: NewerItem,
    },
    /// Bytes that belong to no item. [`DamageReason::CutShort`] is the torn tail of a crash.
    Damage(Damage),
}

/// Reads a segment of any size with bounded memory.
pub struct SegmentReader<'a, R>(ItemScanner<'a, R>);

impl<R: Read> SegmentReader<'_, R> {
    /// A reader from the start of a segment; checks signatures on `threads` threads.
    pub fn new(stream: R, threads: usize) -> Self {
        // A log may outgrow what is allowed to travel in one file.
        let limits = crate::salvage::ReadLimits {
            bytes: u64::MAX,
            items: u64::MAX,
            failures: u64::MAX,
        };
        Self(ItemScanner::new(stream).threads(threads).limits(limits))
    }
}

impl<R: Read> Iterator for SegmentReader<'_, R> {
    type Item = SegmentEntry;

    fn next(&mut self) -> Option<SegmentEntry> {
        Some(match self.0.next()? {
            Found::Record { offset, record, .. } if is_structural(record.kind()) => {
                let length = record.item().len() as u64;
                SegmentEntry::Damage(Damage {
                    offset,
                    length,
                    reason: DamageReason::Misplaced,
                })
            }
            Found::Record { offset, record, .. } => SegmentEntry::Record { offset, record },
            Found::Newer { offset, newer } => SegmentEntry::Newer { offset, newer },
            Found::Damage(damage) => SegmentEntry::Damage(damage),
            // Only a misplaced trailer is followed by a closing number, only a caller that says
            // what it holds is told so.
            Found::Hint { offset, .. } | Found::Held { offset, .. } => {
                let reason = DamageReason::Misplaced;
                SegmentEntry::Damage(Damage {
                    offset,
                    length: 9,
                    reason,
                })
            }
        })
    }
}

/// All that was found in a segment.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Salvage {
    /// The records, in the order of the file.
    pub records: Vec<SignedRecord>,
    /// Items of a newer format version.
    pub newer: Vec<NewerItem>,
    /// What belongs to no item.
    pub damage: Vec<Damage>,
    /// Length of the segment in bytes.
    pub bytes: u64,
}

impl Salvage {
    /// The torn tail that a crash during an append leaves. A last record whose length was damaged
    /// looks the same: whether it had been confirmed, only a second witness can tell.
    #[must_use]
    pub fn torn_tail(&self) -> Option<&Damage> {
        self.damage.last().filter(|last| {
            last.reason == DamageReason::CutShort && last.offset + last.length == self.bytes
        })
    }

    /// Damage other than a torn tail.
    pub fn real_damage(&self) -> impl Iterator<Item = &Damage> {
        let torn = self.torn_tail();
        self.damage
            .iter()
            .filter(move |damage| Some(*damage) != torn)
    }
}

/// Finds every whole item of a segment held in memory.
#[must_use]
pub fn scan_segment(bytes: &[u8]) -> Salvage {
    collect(SegmentReader::new(bytes, 1))
}

/// Finds every whole item of a segment file.
///
/// # Errors
/// [`Error::Io`] when it cannot be opened; damage and unreadable parts are in the [`Salvage`].
pub fn load_segment(disk: &dyn Disk, path: &Path, threads: usize) -> Result<Salvage> {
    Ok(collect(SegmentReader::new(
        disk.open(path).at("open", path)?,
        threads,
    )))
}

fn collect<R: Read>(mut reader: SegmentReader<'_, R>) -> Salvage {
    let mut found = Salvage::default();
    for entry in &mut reader {
        match entry {
            SegmentEntry::Record { record, .. } => found.records.push(record),
            SegmentEntry::Newer { newer, .. } => found.newer.push(newer),
            SegmentEntry::Damage(damage) => found.damage.push(damage),
        }
    }
    found.bytes = reader.0.offset();
    found
}

#[cfg(test)]
mod tests;
