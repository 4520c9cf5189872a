//! Opening the logbook on an image and asking for everything that was promised.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use winze_core::actions::{load_draft, record_reading};
use winze_core::clock::FixedClock;
use winze_core::query;
use winze_core::record::Role;
use winze_core::{Error, Logbook};
use winze_sync_format::RecordRef;
use winze_sync_format::disk::Disk as _;
use winze_sync_format::salvage::{Found, ItemScanner};

use crate::disk::{Mark, Operation, PowerDisk};
use crate::work::{BOOK, MONDAY_MS, plain_entry, reading};

/// What was promised up to a moment.
#[derive(Debug, Clone, Default)]
pub struct Promised {
    is_there: bool,
    saved: Vec<RecordRef>,
    packed: Vec<(PathBuf, u64)>,
    drafts: BTreeMap<String, String>,
    /// Folders of backups, each with how many of the saved records it holds.
    backups: BTreeMap<PathBuf, usize>,
    /// What is under way.
    pub(crate) doing: Option<Operation>,
    /// How many promises there are: two moments with the same number promise the same.
    pub(crate) version: u64,
}

impl Promised {
    /// Takes in what was told next.
    pub fn note(&mut self, mark: &Mark) {
        self.version += 1;
        match mark.clone() {
            Mark::Began(operation) => self.doing = Some(operation),
            Mark::Opened => self.is_there = true,
            Mark::Saved(records) => self.saved.extend(records),
            Mark::Packed(name, records) => self.packed.push((name, records)),
            Mark::Drafted(name, content) => {
                self.drafts.insert(name, content);
            }
            Mark::DraftCleared(name) => {
                self.drafts.remove(&name);
            }
            Mark::BackedUp(folder) => {
                self.backups.insert(folder, self.saved.len());
            }
            Mark::Committed(_) => {}
            Mark::Ended => self.doing = None,
        }
    }
}

/// A promise that was broken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Broken {
    /// The logbook cannot be opened any more.
    Unreadable(String),
    /// A saved record is in neither witness.
    Lost(RecordRef),
    /// Places of the own log are empty.
    Gap(u64, u64),
    /// A segment is damaged otherwise than by a torn tail.
    Damage(String),
    /// Saved records were not in the segments: so many had to be written there again.
    LackingInSegments(u64),
    /// Saved records were not in the database: so many had to be put there again.
    LackingInDatabase(u64),
    /// The database was found damaged.
    DatabaseDamaged,
    /// A bundle that was called whole is not.
    BundleSpoilt(PathBuf),
    /// A draft that was kept is gone.
    DraftLost(String),
    /// A record is not in a backup that was called whole.
    NotInBackup(RecordRef),
    /// The logbook opened, and saves nothing any more.
    DoesNotGoOn(String),
}

/// Opens the logbook on what is on the disk and checks every promise. With `goes_on` it must also
/// save another reading and still have it after the next start.
///
/// # Errors
/// The first broken promise.
pub fn check(disk: &PowerDisk, promised: &Promised, goes_on: bool) -> Result<(), Broken> {
    let dir = disk.root().join(BOOK);
    let shared = Arc::new(disk.clone());
    let clock = Arc::new(FixedClock::at(MONDAY_MS));
    let opened = match Logbook::open_on(shared.clone(), &dir, clock.clone()) {
        Err(Error::NoLogbook { .. }) if !promised.is_there => {
            Logbook::create_on(shared.clone(), &dir, Role::Tablet, "again", clock.clone())
        }
        opened => opened,
    };
    let mut book = opened.map_err(|error| Broken::Unreadable(error.to_string()))?;
    check_records(&book, promised)?;
    check_witnesses(&book, promised)?;
    for (name, records) in &promised.packed {
        check_bundle(disk, name, *records)?;
    }
    for (folder, count) in &promised.backups {
        check_backup(disk, folder, &promised.saved[..*count])?;
    }
    for (name, content) in &promised.drafts {
        // A kept draft proves nothing; while the database is being changed over it may be gone.
        let found = load_draft(&book, name).ok().flatten();
        if found.is_none_or(|found| found.content != *content) {
            return Err(Broken::DraftLost(name.clone()));
        }
    }
    if goes_on {
        let stuck = |error: Error| Broken::DoesNotGoOn(error.to_string());
        let at = if query::stations(&book).map_err(stuck)?.is_empty() {
            None
        } else {
            let new = reading("T-01", plain_entry(), u64::MAX, 0).map_err(stuck)?;
            Some(record_reading(&mut book, new).map_err(stuck)?.at)
        };
        drop(book);
        let book = Logbook::open_on(shared, &dir, clock)
            .map_err(|error| Broken::Unreadable(error.to_string()))?;
        check_records(&book, promised)?;
        if let Some(at) = at
            && query::record(&book, at).is_err()
        {
            return Err(Broken::Lost(at));
        }
    }
    Ok(())
}

fn check_records(book: &Logbook, promised: &Promised) -> Result<(), Broken> {
    for at in &promised.saved {
        if !query::holds(book, *at).unwrap_or(false) {
            return Err(Broken::Lost(*at));
        }
    }
    let report = book.start_report();
    if let Some((first, last)) = report.own_gaps.first() {
        return Err(Broken::Gap(*first, *last));
    }
    // Before there is a logbook nothing tells a crash from damage. And of several records at once,
    // which the database has first, a hole in the segment is made good; that none of them was promised
    // is checked with the witnesses.
    if promised.is_there
        && report.restored_to_segments == 0
        && let Some(damage) = report.damage.first()
    {
        return Err(Broken::Damage(format!("{damage:?}")));
    }
    Ok(())
}

/// "Saved" promises both witnesses, each by itself. What was not promised may be in either.
fn check_witnesses(book: &Logbook, promised: &Promised) -> Result<(), Broken> {
    let report = book.start_report();
    let not_promised = report.records.saturating_sub(promised.saved.len() as u64);
    if report.restored_to_segments > not_promised {
        return Err(Broken::LackingInSegments(report.restored_to_segments));
    }
    // While the database is made or changed over, the segments alone bear witness.
    if matches!(promised.doing, Some(Operation::Create | Operation::Rebuild)) {
        return Ok(());
    }
    if report.database_put_aside.is_some() {
        return Err(Broken::DatabaseDamaged);
    }
    if report.replayed > not_promised {
        return Err(Broken::LackingInDatabase(report.replayed));
    }
    Ok(())
}

fn check_backup(
    disk: &PowerDisk,
    folder: &std::path::Path,
    saved: &[RecordRef],
) -> Result<(), Broken> {
    let mut found = std::collections::BTreeSet::new();
    for (name, content) in disk.files() {
        if name.parent() == Some(folder) && name.extension().is_some_and(|end| end == "seg") {
            let bytes = content.to_vec();
            // Which records there are; their signatures are checked wherever they are taken in.
            let items = ItemScanner::new(&bytes[..]).known(|_| true);
            found.extend(items.filter_map(|item| match item {
                Found::Held { reference, .. } => Some(reference),
                _ => None,
            }));
        }
    }
    match saved.iter().find(|at| !found.contains(at)) {
        Some(at) => Err(Broken::NotInBackup(*at)),
        None => Ok(()),
    }
}

fn check_bundle(disk: &PowerDisk, name: &std::path::Path, records: u64) -> Result<(), Broken> {
    let spoilt = || Broken::BundleSpoilt(name.to_owned());
    let stream = disk.open(&disk.root().join(name)).map_err(|_| spoilt())?;
    let bundle = winze_sync_format::bundle::read_bundle(stream);
    if bundle.report.is_whole() && bundle.records.len() as u64 == records {
        Ok(())
    } else {
        Err(spoilt())
    }
}
