//! Writes a bundle so that it is either whole on the medium or not there under its name.
//!
//! Order: write `*.part`, sync it, close it, open it again and compare every byte's hash with
//! what was written, give it its name, sync the folder. Only then is there a [`WrittenBundle`].

use std::io::Read as _;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use sha2::{Digest as _, Sha256};

use super::parts::{BundleTrailer, FRONTIER_MAX, header_body};
use super::ranges::RangeSet;
use super::{EXTENSION, PART_EXTENSION};
use crate::disk::{AppendFile, Disk};
use crate::error::{Error, IoContext as _, Result};
use crate::id::{RecordId, RecordRef, hex, sha256};
use crate::item::{Verifier, parse_item, sign_draft};
use crate::key::LogKey;
use crate::record::{ClockReading, Draft, KIND_BUNDLE_HEADER, KIND_BUNDLE_TRAILER, SignedRecord};
use crate::salvage::{HINT_BYTES, HINT_HEAD, ReadLimits};

/// Bytes written and compared at a time.
const CHUNK: usize = 64 * 1024;
/// Longest label within a file name.
const LABEL_IN_NAME: usize = 16;

/// What a bundle is going to hold, known before it is begun.
#[derive(Debug, Clone)]
pub struct BundlePlan {
    /// What the exporter calls itself.
    pub label: String,
    /// Who packs it.
    pub person: String,
    /// What the clocks show.
    pub clock: ClockReading,
    /// Fresh random bytes.
    pub nonce: [u8; 8],
    /// The places of all records.
    pub ranges: RangeSet,
    /// The number of records.
    pub records: u64,
    /// The last record of each log that the receiver is believed to hold, at most 512.
    pub frontier: Vec<RecordRef>,
}

/// A bundle that was written, read back and named.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrittenBundle {
    /// The file.
    pub path: PathBuf,
    /// Its length.
    pub bytes: u64,
    /// Records in it.
    pub records: u64,
    /// SHA-256 of the whole file.
    pub sha256: [u8; 32],
}

/// What the writer is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Writing; `total` of the progress is not known yet.
    Writing,
    /// Reading back.
    ReadingBack,
}

/// How far the writer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// What it is doing.
    pub stage: Stage,
    /// Records written.
    pub records: u64,
    /// Bytes written, or read back.
    pub bytes: u64,
}

/// Writes a bundle into a folder.
///
/// `items` yields signed items in rising order of (log, seq, id): exactly those that the plan
/// declares. Each is checked once more, signature included. `progress` is called after every 64 KiB and may break off. When anything fails, the
/// unfinished file is removed as far as the medium allows, and no file has the final name.
///
/// # Errors
/// [`Error::PlanMismatch`] when other items come than declared, [`Error::SpoiltItem`] when one is
/// not whole, [`Error::ReadBack`] when the
/// medium does not hold what was written, [`Error::Cancelled`], [`Error::TooLong`] above the
/// limits of a bundle, [`Error::Io`], and whatever `items` yields.
pub fn write_bundle<I, B, E>(
    disk: &dyn Disk,
    folder: &Path,
    key: &LogKey,
    plan: &BundlePlan,
    items: I,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<WrittenBundle, E>
where
    I: IntoIterator<Item = Result<B, E>>,
    B: AsRef<[u8]>,
    E: From<Error>,
{
    let header = make_header(key, plan)?;
    let part_name = format!("{}-{}.{PART_EXTENSION}", stem(key, plan), hex(&plan.nonce));
    let part = folder.join(part_name);
    let mut out = Output::create(disk, &part)?;
    let outcome = fill(&mut out, key, plan, &header, items, progress)
        .and_then(|()| Ok(publish(disk, folder, key, plan, out, progress)?));
    if outcome.is_err() {
        // Best effort: what cannot be removed keeps a name that no reader takes for a bundle.
        let _ = disk.remove(&part);
    }
    outcome
}

fn make_header(key: &LogKey, plan: &BundlePlan) -> Result<SignedRecord> {
    if plan.frontier.len() > FRONTIER_MAX {
        return Err(Error::PlanMismatch {
            what: "frontier of more than 512 records",
        });
    }
    let body = header_body(&plan.label, &plan.ranges, plan.records, &plan.frontier)?;
    sign_draft(key, 0, None, part_draft(plan, KIND_BUNDLE_HEADER, body))
}

fn part_draft(plan: &BundlePlan, kind: u64, body: Vec<u8>) -> Draft {
    let (clock, person, nonce) = (plan.clock, plan.person.clone(), plan.nonce);
    Draft {
        kind,
        clock,
        person,
        refs: Vec::new(),
        body,
        nonce,
    }
}

fn fill<I, B, E>(
    out: &mut Output,
    key: &LogKey,
    plan: &BundlePlan,
    header: &SignedRecord,
    items: I,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<(), E>
where
    I: IntoIterator<Item = Result<B, E>>,
    B: AsRef<[u8]>,
    E: From<Error>,
{
    let limits = ReadLimits::default();
    out.write(header.item())?;
    let mut verifier = Verifier::default();
    let mut written = RangeSet::new();
    let mut previous: Option<RecordRef> = None;
    let mut reported = 0;
    for item in items {
        let item = item?;
        let item = item.as_ref();
        let reference = check_item(&mut verifier, item).map_err(|source| Error::SpoiltItem {
            index: out.records,
            source: Box::new(source),
        })?;
        if previous.is_some_and(|previous| previous >= reference) {
            return Err(Error::PlanMismatch {
                what: "records do not rise",
            }
            .into());
        }
        previous = Some(reference);
        written.insert(reference.log, reference.seq);
        out.records += 1;
        if out.records > plan.records {
            return Err(Error::PlanMismatch {
                what: "more records than declared",
            }
            .into());
        }
        // Header, trailer and closing number count too.
        let (declared, limit) = (out.records + 2, limits.items);
        if declared > limit {
            return Err(Error::TooLong {
                offset: 0,
                what: "bundle",
                declared,
                limit,
            }
            .into());
        }
        out.write(item)?;
        if out.length - reported >= CHUNK as u64 {
            reported = out.length;
            report(progress, Stage::Writing, out.records, out.length)?;
        }
    }
    if out.records != plan.records || written != plan.ranges {
        return Err(Error::PlanMismatch {
            what: "other records than declared",
        }
        .into());
    }
    write_end(out, key, plan, header.id())?;
    let (declared, limit) = (out.length, limits.bytes);
    if declared > limit {
        return Err(Error::TooLong {
            offset: 0,
            what: "bundle",
            declared,
            limit,
        }
        .into());
    }
    report(progress, Stage::Writing, out.records, out.length)?;
    Ok(())
}

/// What has spoiled in the store must be found here, where another copy may exist.
fn check_item(verifier: &mut Verifier, item: &[u8]) -> Result<RecordRef> {
    let (parsed, length) = parse_item(item)?;
    if length != item.len() {
        return Err(Error::TrailingBytes {
            offset: length,
            count: item.len() - length,
        });
    }
    if parsed.is_structural() {
        return Err(Error::BadField {
            offset: 0,
            field: "kind",
            what: "reserved for bundles",
        });
    }
    verifier.check(&parsed)?;
    Ok(parsed.claimed())
}

fn write_end(out: &mut Output, key: &LogKey, plan: &BundlePlan, header: RecordId) -> Result<()> {
    let offset = out.length;
    let sha256 = out.hash.clone().finalize().into();
    let ranges = plan.ranges.clone();
    let trailer = BundleTrailer {
        header,
        records: out.records,
        bytes: offset,
        sha256,
        ranges,
    };
    let draft = part_draft(plan, KIND_BUNDLE_TRAILER, trailer.body()?);
    out.write(sign_draft(key, 0, None, draft)?.item())?;
    let mut hint = [HINT_HEAD; HINT_BYTES];
    hint[1..].copy_from_slice(&offset.to_be_bytes());
    out.write(&hint)
}

fn publish(
    disk: &dyn Disk,
    folder: &Path,
    key: &LogKey,
    plan: &BundlePlan,
    out: Output,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<WrittenBundle> {
    let (part, records) = (out.path.clone(), out.records);
    let written = out.close()?;
    read_back(disk, &part, &written, records, progress)?;
    let (from, to) = name_range(key, plan);
    let short_hash = hex(&written.sha256[..8]);
    let path = folder.join(format!(
        "{}-{from}-{to}-{short_hash}.{EXTENSION}",
        stem(key, plan)
    ));
    disk.rename(&part, &path).at("rename to", &path)?;
    disk.sync_folder(folder).at("sync folder", folder)?;
    Ok(WrittenBundle {
        path,
        bytes: written.bytes,
        records,
        sha256: written.sha256,
    })
}

/// Compares the medium with what was written, chunk by chunk.
fn read_back(
    disk: &dyn Disk,
    part: &Path,
    written: &Written,
    records: u64,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<()> {
    let mut file = disk.open_uncached(part).at("open again", part)?;
    let mut chunk = Vec::with_capacity(CHUNK);
    let mut offset = 0;
    let differs = |offset| Error::ReadBack {
        path: part.to_owned(),
        offset,
    };
    for expected in &written.chunks {
        chunk.clear();
        (&mut file)
            .take(CHUNK as u64)
            .read_to_end(&mut chunk)
            .at("read back", part)?;
        if sha256(&chunk) != *expected {
            return Err(differs(offset));
        }
        offset += chunk.len() as u64;
        report(progress, Stage::ReadingBack, records, offset)?;
    }
    chunk.clear();
    (&mut file)
        .take(1)
        .read_to_end(&mut chunk)
        .at("read back", part)?;
    if offset == written.bytes && chunk.is_empty() {
        Ok(())
    } else {
        Err(differs(offset))
    }
}

fn report(
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
    stage: Stage,
    records: u64,
    bytes: u64,
) -> Result<()> {
    match progress(Progress {
        stage,
        records,
        bytes,
    }) {
        ControlFlow::Continue(()) => Ok(()),
        ControlFlow::Break(()) => Err(Error::Cancelled),
    }
}

/// `<label>-<first 8 hex of the log>`: plain ASCII, the same on every file system.
fn stem(key: &LogKey, plan: &BundlePlan) -> String {
    let mut label = String::new();
    for letter in plan.label.chars() {
        let letter = letter.to_ascii_lowercase();
        let kept = if letter.is_ascii_alphanumeric() {
            letter
        } else {
            '-'
        };
        let doubled = kept == '-' && (label.is_empty() || label.ends_with('-'));
        if label.len() < LABEL_IN_NAME && !doubled {
            label.push(kept);
        }
    }
    let label = label.trim_end_matches('-');
    let label = if label.is_empty() { "logbook" } else { label };
    format!("{label}-{}", key.log_id().short())
}

/// The exporter's own places if any are in the bundle, else those of all logs together.
fn name_range(key: &LogKey, plan: &BundlePlan) -> (u64, u64) {
    let own = |log| log == key.log_id();
    let any_own = plan.ranges.iter().any(|range| own(range.log));
    let ranges = || {
        plan.ranges
            .iter()
            .filter(|range| !any_own || own(range.log))
    };
    let from = ranges().map(|range| range.first).min().unwrap_or(0);
    let to = ranges().map(|range| range.last).max().unwrap_or(0);
    (from, to)
}

/// The file being written, hashed on the way: as a whole, and in chunks for reading back.
struct Output {
    file: Box<dyn AppendFile>,
    path: PathBuf,
    pending: Vec<u8>,
    chunks: Vec<[u8; 32]>,
    hash: Sha256,
    length: u64,
    records: u64,
}

struct Written {
    bytes: u64,
    sha256: [u8; 32],
    chunks: Vec<[u8; 32]>,
}

impl Output {
    fn create(disk: &dyn Disk, path: &Path) -> Result<Self> {
        Ok(Self {
            file: disk.create(path).at("create", path)?,
            path: path.to_owned(),
            pending: Vec::with_capacity(2 * CHUNK),
            chunks: Vec::new(),
            hash: Sha256::new(),
            length: 0,
            records: 0,
        })
    }

    fn write(&mut self, bytes: &[u8]) -> Result<()> {
        self.hash.update(bytes);
        self.length += bytes.len() as u64;
        self.pending.extend_from_slice(bytes);
        while self.pending.len() >= CHUNK {
            self.flush(CHUNK)?;
        }
        Ok(())
    }

    fn flush(&mut self, count: usize) -> Result<()> {
        let chunk = &self.pending[..count];
        self.chunks.push(sha256(chunk));
        self.file.append(chunk).at("write", &self.path)?;
        self.pending.drain(..count);
        Ok(())
    }

    /// Writes the rest, syncs and closes.
    fn close(mut self) -> Result<Written> {
        if !self.pending.is_empty() {
            self.flush(self.pending.len())?;
        }
        self.file.sync().at("sync", &self.path)?;
        let sha256 = self.hash.finalize().into();
        Ok(Written {
            bytes: self.length,
            sha256,
            chunks: self.chunks,
        })
    }
}
