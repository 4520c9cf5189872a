//! Copies on a second medium, logbooks made from them, and what an office tells about them.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_sync_format::disk::{Disk as _, Fault, FaultyDisk, RealDisk};

use crate::actions::{PackFor, back_up, record_reading, revise_station};
use crate::clock::FixedClock;
use crate::query;
use crate::record::Role;
use crate::samples::{Kept, MONDAY_MS, carry_on, code, entry, files_ending, reading, station};
use crate::store::{Restored, restore};
use crate::{Error, Logbook};

/// An office and a tablet that count each other, three readings on the tablet.
fn site() -> (Kept, Kept) {
    let (mut office, mut tablet) = (Kept::new(Role::Office, "O"), Kept::new(Role::Tablet, "A"));
    office.enrol(&tablet, "A", Role::Tablet);
    tablet.enrol(&office, "O", Role::Office);
    tablet.define("T-01");
    for n in 0..3 {
        tablet.read("T-01", (100 + n, 40, 20));
    }
    (office, tablet)
}

fn backed_up(kept: &mut Kept) -> PathBuf {
    let to = kept.folder.path().join("second");
    back_up(&mut kept.book, &to, "C", &mut carry_on)
        .unwrap()
        .folder
}

fn restored(from: &Path, into: &Path) -> (Logbook, Restored) {
    let clock = Arc::new(FixedClock::at(MONDAY_MS));
    restore(Arc::new(RealDisk), from, into, "C", clock, &mut carry_on).unwrap()
}

#[test]
fn a_backup_holds_every_record_and_not_the_key() {
    let (mut office, _) = site();
    let folder = backed_up(&mut office);
    let names = RealDisk.file_names(&folder).unwrap();
    assert_eq!(names, ["own-000001.seg"]);
    // Again: what is there is compared, what grew is copied anew.
    office.define("T-02");
    let to = office.folder.path().join("second");
    let again = back_up(&mut office.book, &to, "C", &mut carry_on).unwrap();
    assert_eq!((again.copied, again.compared), (1, 0));
    let third = back_up(&mut office.book, &to, "C", &mut carry_on).unwrap();
    assert_eq!((third.copied, third.compared), (0, 1));
    // Opened, enrolled, defined: nothing of a tablet is here that could be acknowledged.
    assert_eq!(third.records, 3);
}

#[test]
fn damage_on_the_second_medium_is_copied_over() {
    let (mut office, _) = site();
    let folder = backed_up(&mut office);
    let copy = files_ending(&RealDisk, &folder, ".seg").remove(0);
    let sound = fs::read(&copy).unwrap();
    let mut spoilt = sound.clone();
    spoilt[70] ^= 1;
    fs::write(&copy, spoilt).unwrap();
    backed_up(&mut office);
    assert_eq!(fs::read(&copy).unwrap(), sound);
}

#[test]
fn both_levels_of_acknowledgement_travel_to_the_tablet() {
    let (mut office, mut tablet) = site();
    let own = tablet.book.log_id();
    let levels = |tablet: &Kept| {
        let logs = query::logs(&tablet.book).unwrap();
        let view = logs.iter().find(|view| view.log == own).unwrap();
        (view.acknowledged_to, view.backed_up_to)
    };
    let bundle = tablet.pack(PackFor::Office);
    office.merge(&[bundle]);
    let back = office.pack(PackFor::Tablets);
    tablet.merge(&[back]);
    assert_eq!(levels(&tablet), (Some(5), None));
    assert_eq!(query::not_yet_at_office(&tablet.book).unwrap(), 0);
    assert_eq!(query::not_yet_backed_up(&tablet.book).unwrap(), 6);
    // What is committed is not sent again by itself, what is in no backup on demand.
    tablet.read("T-01", (104, 40, 20));
    let delta = tablet.pack(PackFor::Office);
    let whole = tablet.pack(PackFor::OfficeBackup);
    let count = |path: &Path| {
        let bundle = winze_sync_format::bundle::read_bundle(&fs::read(path).unwrap()[..]);
        let own = |record: &&winze_sync_format::SignedRecord| record.reference().log == own;
        bundle.records.iter().filter(own).count()
    };
    assert_eq!((count(&delta), count(&whole)), (1, 7));
    office.merge(&[delta]);
    backed_up(&mut office);
    let back = office.pack(PackFor::Tablets);
    tablet.merge(&[back]);
    assert_eq!(levels(&tablet), (Some(6), Some(6)));
    assert_eq!(query::not_yet_backed_up(&tablet.book).unwrap(), 0);
}

/// No act removes a record, whatever was acknowledged: every file of the segments only ever grows.
#[test]
fn nothing_is_removed_from_a_tablet_by_any_exchange() {
    let (mut office, mut tablet) = site();
    let segments = |tablet: &Kept| -> Vec<(PathBuf, Vec<u8>)> {
        let files = files_ending(&RealDisk, &tablet.dir(), ".seg");
        let read = |path: PathBuf| (path.clone(), fs::read(path).unwrap());
        files.into_iter().map(read).collect()
    };
    for round in 0..3 {
        let before = segments(&tablet);
        let bundle = tablet.pack(PackFor::Office);
        office.merge(&[bundle]);
        if round > 0 {
            backed_up(&mut office);
        }
        let back = office.pack(PackFor::Tablets);
        tablet.merge(&[back]);
        tablet.book.checkpoint().unwrap();
        tablet.book.rebuild().unwrap();
        for (path, bytes) in before {
            assert!(fs::read(&path).unwrap().starts_with(&bytes), "{path:?}");
        }
        tablet.read("T-01", (105 + round, 40, 20));
    }
}

/// A delta that presumes records the office lost is taken in, and the rest comes with the next bundle
/// of everything that is in no backup.
#[test]
fn a_delta_is_taken_in_by_an_office_that_lost_what_it_presumes() {
    let (mut office, mut tablet) = site();
    let first = backed_up(&mut office);
    let bundle = tablet.pack(PackFor::Office);
    office.merge(&[bundle]);
    let back = office.pack(PackFor::Tablets);
    tablet.merge(&[back]);
    tablet.read("T-01", (104, 40, 20));
    let delta = tablet.pack(PackFor::Office);
    let whole = tablet.pack(PackFor::OfficeBackup);
    // The office falls back to the backup made before the first bundle.
    let (mut book, report) = restored(&first, &office.folder.path().join("new"));
    assert!(report.is_whole());
    let merged = crate::actions::merge_bundles(&mut book, &[delta], &mut carry_on).unwrap();
    assert!(
        merged.is_whole() && merged.new_readings() == 1,
        "{merged:?}"
    );
    crate::actions::merge_bundles(&mut book, &[whole], &mut carry_on).unwrap();
    assert_eq!(query::overview(&book).unwrap().readings, 4);
}

#[test]
fn records_of_another_tablet_are_relayed() {
    let (mut office, mut tablet) = site();
    let mut other = Kept::new(Role::Tablet, "B");
    other.define("T-02");
    other.read("T-02", (100, 40, 20));
    let met = other.pack(PackFor::Everything);
    tablet.merge(&[met]);
    let bundle = tablet.pack(PackFor::Office);
    office.merge(&[bundle]);
    office.enrol(&other, "B", Role::Tablet);
    assert_eq!(query::overview(&office.book).unwrap().readings, 4);
    // And the acknowledgement comes back the same way, unread.
    let back = office.pack(PackFor::Tablets);
    tablet.merge(&[back]);
    let onward = tablet.pack(PackFor::Everything);
    other.enrol(&office, "O", Role::Office);
    other.merge(&[onward]);
    assert_eq!(query::not_yet_at_office(&other.book).unwrap(), 1);
}

#[test]
fn a_restored_logbook_is_a_new_log_behind_the_old_one() {
    let (mut office, mut tablet) = site();
    let bundle = tablet.pack(PackFor::Office);
    office.merge(&[bundle]);
    let from = backed_up(&mut office);
    let (book, report) = restored(&from, &office.folder.path().join("new"));
    assert!(report.is_whole());
    assert_ne!(book.log_id(), office.book.log_id());
    assert_eq!(
        (report.old_log, book.role()),
        (office.book.log_id(), Role::Office)
    );
    let own = files_ending(&RealDisk, book.dir(), ".seg").remove(0);
    let own = winze_sync_format::segment::scan_segment(&fs::read(own).unwrap());
    assert_eq!(own.records[0].record().refs, [report.head]);
    let readings = |book: &Logbook| query::overview(book).unwrap().readings;
    assert_eq!((readings(&book), readings(&office.book)), (3, 3));
    // Both go on; nothing of either is lost or counted twice when they meet.
    drop(book);
    let clock = Arc::new(FixedClock::at(MONDAY_MS));
    let mut book = Logbook::open(&office.folder.path().join("new"), clock).unwrap();
    revise_station(&mut book, station("T-09"), "E".to_owned()).unwrap();
    office.define("T-08");
    let bundle = office.pack(PackFor::Everything);
    crate::actions::merge_bundles(&mut book, &[bundle], &mut carry_on).unwrap();
    assert_eq!(query::stations(&book).unwrap().len(), 3);
    assert!(query::logs(&book).unwrap().iter().all(|log| !log.is_copied));
}

#[test]
fn a_damaged_backup_gives_what_is_whole_and_names_the_rest() {
    let (_, mut tablet) = site();
    let from = backed_up(&mut tablet);
    let copy = files_ending(&RealDisk, &from, ".seg").remove(0);
    let mut bytes = fs::read(&copy).unwrap();
    let found = winze_sync_format::segment::scan_segment(&bytes);
    let lengths: usize = found.records[..3].iter().map(|r| r.item().len()).sum();
    bytes[lengths + 60] ^= 1;
    fs::write(&copy, bytes).unwrap();
    let (book, report) = restored(&from, &tablet.folder.path().join("new"));
    assert!(!report.is_whole());
    assert_eq!(report.gaps, [(3, 3)]);
    assert_eq!(
        query::past_readings(&book, &code("T-01"), 9).unwrap().len(),
        2
    );
}

#[test]
fn a_folder_without_a_backup_and_one_with_a_logbook_are_refused() {
    let (_, mut tablet) = site();
    let from = backed_up(&mut tablet);
    let clock = Arc::new(FixedClock::at(MONDAY_MS));
    let empty = tablet.folder.path().join("empty");
    fs::create_dir(&empty).unwrap();
    for (from, into) in [
        (&empty, tablet.folder.path().join("x")),
        (&from, tablet.dir()),
    ] {
        let disk = Arc::new(RealDisk);
        let refused = restore(disk, from, &into, "", clock.clone(), &mut carry_on);
        assert!(
            matches!(
                refused,
                Err(Error::NoBackup { .. } | Error::LogbookExists { .. } | Error::Locked { .. })
            ),
            "{refused:?}"
        );
    }
}

/// Every operation of a backup fails once, in each way: the logbook goes on, and the next backup is
/// whole.
#[test]
fn a_backup_that_fails_anywhere_harms_nothing() {
    let mut failures = 0;
    for fault in [Fault::NoSpace, Fault::Device, Fault::ShortWrite] {
        for operation in 0.. {
            let folder = tempfile::tempdir().unwrap();
            let dir = folder.path().join("book");
            let disk = Arc::new(FaultyDisk::new());
            let clock = Arc::new(FixedClock::at(MONDAY_MS));
            let mut book =
                Logbook::create_on(disk.clone(), &dir, Role::Tablet, "A", clock).unwrap();
            revise_station(&mut book, station("T-01"), "E".to_owned()).unwrap();
            let to = PathBuf::from("/second");
            disk.fail_at(disk.operations() + operation, fault);
            let outcome = back_up(&mut book, &to, "", &mut carry_on);
            disk.repair();
            let again = back_up(&mut book, &to, "", &mut carry_on).unwrap();
            assert_eq!(again.records, 2, "{fault:?} at {operation}");
            let new = reading("T-01", entry(100, 40, 20), operation);
            record_reading(&mut book, new).unwrap();
            if outcome.is_ok() {
                break;
            }
            failures += 1;
        }
    }
    assert!(failures >= 15, "only {failures} failures were tried");
}
