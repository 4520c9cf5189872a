//! What lies in the tray folder: every bundle read to its end, nothing taken in.
//!
//! Reading needs no logbook, so it can run while another part of the program has it.

use std::fs::{self, File};
use std::io::{self, BufReader};
use std::path::{Path, PathBuf};

use winze_sync_format::RecordRef;
use winze_sync_format::bundle::{BundleEvent, BundleReader, BundleReport, EXTENSION, TrailerState};
use winze_sync_format::salvage::DamageReason;

/// A bundle in the tray.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrayEntry {
    /// The file.
    pub path: PathBuf,
    /// Its length in bytes.
    pub bytes: u64,
    /// What reading it came to.
    pub found: Found,
}

/// What reading a bundle came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// The file could not be opened.
    Unreadable(io::ErrorKind),
    /// It was read to its end.
    Read {
        /// What it says and lacks.
        report: Box<BundleReport>,
        /// The whole records in it, each once, ascending.
        records: Vec<RecordRef>,
    },
}

/// The state of a bundle in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Condition {
    /// Nothing is missing.
    Whole,
    /// Its end is missing.
    CutShort,
    /// Something in it is damaged.
    Damaged,
    /// Nothing in it is a bundle's.
    NotABundle,
    /// It could not be opened.
    Unreadable,
}

impl TrayEntry {
    /// The file's name.
    #[must_use]
    pub fn name(&self) -> String {
        self.path
            .file_name()
            .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
    }

    /// What was learnt about it, if it could be read.
    #[must_use]
    pub fn report(&self) -> Option<&BundleReport> {
        match &self.found {
            Found::Read { report, .. } => Some(report),
            Found::Unreadable(_) => None,
        }
    }

    /// Its state in one word.
    #[must_use]
    pub fn condition(&self) -> Condition {
        match &self.found {
            Found::Unreadable(_) => Condition::Unreadable,
            Found::Read { report, .. } => condition(report),
        }
    }

    /// The whole records in it.
    #[must_use]
    pub fn records(&self) -> &[RecordRef] {
        match &self.found {
            Found::Read { records, .. } => records,
            Found::Unreadable(_) => &[],
        }
    }
}

/// The state of a bundle in one word.
#[must_use]
pub fn condition(report: &BundleReport) -> Condition {
    let is_cut = |damage: &winze_sync_format::salvage::Damage| {
        damage.reason == DamageReason::CutShort && damage.offset + damage.length >= report.bytes
    };
    if report.is_whole() {
        Condition::Whole
    } else if report.header.is_none() && report.records == 0 && report.newer == 0 {
        Condition::NotABundle
    } else if report.trailer == TrailerState::Absent
        && report.header.is_some()
        && report.damage.iter().all(is_cut)
    {
        Condition::CutShort
    } else {
        Condition::Damaged
    }
}

/// Finds the bundles in a folder, in order of name; a file that is named itself stands for itself.
///
/// # Errors
/// The system's, when the folder cannot be listed.
pub fn bundles_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
    if folder.is_file() {
        return Ok(vec![folder.to_owned()]);
    }
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let is_bundle = path
            .extension()
            .is_some_and(|end| end.eq_ignore_ascii_case(EXTENSION));
        if is_bundle && path.is_file() {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

/// Names and sizes of the bundles in a folder, to see whether something came or went; none for a
/// folder that cannot be listed.
#[must_use]
pub fn names_and_sizes(folder: &Path) -> Vec<(PathBuf, u64)> {
    let size = |path: &PathBuf| path.metadata().map_or(0, |metadata| metadata.len());
    let paths = bundles_in(folder).unwrap_or_default();
    paths
        .into_iter()
        .map(|path| (path.clone(), size(&path)))
        .collect()
}

/// Reads a bundle to its end. `on_bytes` is told how far it has come, and stops it by answering
/// false; a bundle that was stopped answers `None`.
pub fn read(path: &Path, on_bytes: &mut dyn FnMut(u64) -> bool) -> Option<TrayEntry> {
    let entry = |bytes, found| TrayEntry {
        path: path.to_owned(),
        bytes,
        found,
    };
    let opened = File::open(path).and_then(|file| Ok((file.metadata()?, file)));
    let (bytes, file) = match opened {
        Ok((metadata, file)) if metadata.is_file() => (metadata.len(), file),
        Ok(_) => return Some(entry(0, Found::Unreadable(io::ErrorKind::IsADirectory))),
        Err(error) => return Some(entry(0, Found::Unreadable(error.kind()))),
    };
    let mut reader = BundleReader::new(BufReader::new(file));
    let mut records = Vec::new();
    while let Some(event) = reader.next() {
        if let BundleEvent::Record(record) = event {
            records.push(record.reference());
        }
        if !on_bytes(reader.offset()) {
            return None;
        }
    }
    records.sort_unstable();
    records.dedup();
    let report = Box::new(reader.finish());
    Some(entry(bytes, Found::Read { report, records }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::samples;

    #[test]
    fn whole_cut_and_damaged_bundles_are_told_apart() {
        let folder = tempfile::tempdir().expect("a folder");
        let whole = samples::bundle(folder.path());
        let bytes = fs::read(&whole).expect("just written");
        let write = |name: &str, bytes: &[u8]| {
            let path = folder.path().join(name);
            fs::write(&path, bytes).expect("written");
            path
        };
        let cut = write("cut.winze", &bytes[..bytes.len() * 2 / 3]);
        let mut torn = bytes.clone();
        let middle = torn.len() / 2;
        torn[middle] ^= 0xff;
        let torn = write("torn.winze", &torn);
        let other = write("letter.winze", b"a letter");
        let condition = |path: &Path| read(path, &mut |_| true).expect("not stopped").condition();
        assert_eq!(condition(&whole), Condition::Whole);
        assert_eq!(condition(&cut), Condition::CutShort);
        assert_eq!(condition(&torn), Condition::Damaged);
        assert_eq!(condition(&other), Condition::NotABundle);
        assert_eq!(
            condition(&folder.path().join("gone.winze")),
            Condition::Unreadable
        );
        let cut = read(&cut, &mut |_| true).expect("not stopped");
        let report = cut.report().expect("read");
        assert!(
            report.missing_count() > 0,
            "the header says what is missing"
        );
        assert_eq!(
            report.records + report.missing_count(),
            samples::BUNDLE_RECORDS
        );
    }

    #[test]
    fn reading_can_be_stopped() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = samples::bundle(folder.path());
        assert_eq!(read(&path, &mut |_| false), None);
    }

    #[test]
    fn folder_lists_bundles_only() {
        let folder = tempfile::tempdir().expect("a folder");
        let bundle = samples::bundle(folder.path());
        fs::write(folder.path().join("note.txt"), "x").expect("written");
        fs::create_dir(folder.path().join("folder.winze")).expect("made");
        let listed = bundles_in(folder.path()).expect("listed");
        assert_eq!(listed, std::slice::from_ref(&bundle));
        assert_eq!(bundles_in(&bundle).expect("itself"), [bundle]);
        assert!(bundles_in(&folder.path().join("none")).is_err());
    }
}
