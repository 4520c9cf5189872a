//! A disk that fails at every single operation: what was confirmed is there, and nothing else is
//! claimed.

use std::path::PathBuf;
use std::sync::Arc;

use winze_sync_format::RecordRef;
use winze_sync_format::disk::{Disk, Fault, FaultyDisk};

use crate::actions::{PackFor, enrol_logbook, merge_bundles, record_reading, revise_station};
use crate::clock::FixedClock;
use crate::query;
use crate::record::Role;
use crate::samples::{Kept, MONDAY_MS, carry_on, entry, reading, station};
use crate::{Error, Logbook, Result};

/// Confirms readings until one fails; returns what was confirmed.
fn work(book: &mut Logbook, clock: &FixedClock) -> (Vec<RecordRef>, Option<Error>) {
    let mut confirmed = Vec::new();
    let mut step = || -> Result<()> {
        let at = revise_station(book, station("T-01"), "E".to_owned())?;
        confirmed.push(at);
        for n in 0..6 {
            clock.advance_ms(60_000);
            let value = i64::try_from(n).unwrap();
            let saved = record_reading(book, reading("T-01", entry(100 + value, 40, 20), n))?;
            confirmed.push(saved.at);
        }
        Ok(())
    };
    let outcome = step();
    (confirmed, outcome.err())
}

/// Every operation of a small working day fails, in each way, once or with all that come after it;
/// then the power goes.
#[test]
fn no_confirmed_record_is_lost_whichever_operation_fails() {
    let mut failures = 0;
    let faults = [Fault::NoSpace, Fault::Device, Fault::ShortWrite];
    for (fault, is_lasting) in faults
        .into_iter()
        .flat_map(|fault| [(fault, false), (fault, true)])
    {
        for operation in 0.. {
            let folder = tempfile::tempdir().unwrap();
            let dir = folder.path().join("book");
            let disk = Arc::new(FaultyDisk::new());
            let clock = Arc::new(FixedClock::at(MONDAY_MS));
            let shared: Arc<dyn Disk> = disk.clone();
            let book =
                Logbook::create_on(shared.clone(), &dir, Role::Tablet, "A", clock.clone()).unwrap();
            drop(book);
            let mut book = Logbook::open_on(shared.clone(), &dir, clock.clone()).unwrap();
            let first = disk.operations() + operation;
            if is_lasting {
                disk.fail_from(first, fault);
            } else {
                disk.fail_at(first, fault);
            }
            let (confirmed, error) = work(&mut book, &clock);
            let Some(error) = error else {
                assert!(operation > 10, "nothing failed: {operation}");
                break;
            };
            failures += 1;
            let again = book.stopped().is_some();
            assert!(again, "{error} did not stop the logbook");
            disk.repair();
            let refused = work(&mut book, &clock).1;
            assert!(
                matches!(refused, Some(Error::Stopped { .. })),
                "{refused:?}"
            );
            drop(book);
            disk.crash();
            let book = Logbook::open_on(shared, &dir, clock.clone()).unwrap();
            for at in confirmed {
                assert!(
                    crate::query::record(&book, at).is_ok(),
                    "lost {at} by {fault:?} at {operation}"
                );
            }
            assert!(book.start_report().own_gaps.is_empty());
            // Whatever was half done, the logbook goes on.
            let mut book = book;
            clock.advance_ms(60_000);
            let (_, error) = work(&mut book, &clock);
            assert!(error.is_none(), "{error:?} after {fault:?} at {operation}");
        }
    }
    assert!(failures >= 40, "only {failures} failures were tried");
}

/// After a failed sync the system still shows the bytes and a second sync reports success, while the
/// medium has nothing. The logbook reads the medium again, goes on in a new segment, and the record
/// in doubt is there or not there in both witnesses.
#[test]
fn a_failed_sync_is_never_tried_again_on_the_same_file() {
    let mut failures = 0;
    for operation in 0..12 {
        let folder = tempfile::tempdir().unwrap();
        let dir = folder.path().join("book");
        let disk = Arc::new(FaultyDisk::new());
        let clock = Arc::new(FixedClock::at(MONDAY_MS));
        let mut book =
            Logbook::create_on(disk.clone(), &dir, Role::Tablet, "A", clock.clone()).unwrap();
        disk.fail_at(disk.operations() + operation, Fault::Device);
        let (mut confirmed, error) = work(&mut book, &clock);
        if error.is_none() {
            continue;
        }
        failures += 1;
        let segments = crate::samples::files_ending(&*disk, &dir, ".seg");
        book.recover().unwrap();
        assert!(book.stopped().is_none() && book.start_report().own_gaps.is_empty());
        clock.advance_ms(60_000);
        let (more, error) = work(&mut book, &clock);
        assert!(error.is_none(), "{error:?} after recovering at {operation}");
        let now = crate::samples::files_ending(&*disk, &dir, ".seg");
        assert!(now.len() > segments.len(), "no new segment at {operation}");
        confirmed.extend(more);
        // Neither the power nor the loss of the database takes anything that was called saved.
        drop(book);
        disk.crash();
        std::fs::remove_file(dir.join("projection.sqlite")).unwrap();
        let book = Logbook::open_on(disk, &dir, clock).unwrap();
        for at in confirmed {
            assert!(
                crate::query::record(&book, at).is_ok(),
                "lost {at}: operation {operation}"
            );
        }
    }
    assert!(failures >= 8, "only {failures} failures were tried");
}

#[test]
fn no_space_is_said_to_be_no_space() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("book");
    let disk = Arc::new(FaultyDisk::new());
    let clock = Arc::new(FixedClock::at(MONDAY_MS));
    let mut book =
        Logbook::create_on(disk.clone(), &dir, Role::Tablet, "A", clock.clone()).unwrap();
    disk.fail_from(disk.operations(), Fault::NoSpace);
    let (confirmed, error) = work(&mut book, &clock);
    assert!(confirmed.is_empty());
    assert!(matches!(error, Some(Error::NoSpace { .. })), "{error:?}");
}

#[test]
fn a_full_database_stops_the_logbook_and_the_next_start_makes_good() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("book");
    let clock = Arc::new(FixedClock::at(MONDAY_MS));
    let mut book = Logbook::create(&dir, Role::Tablet, "A", clock.clone()).unwrap();
    revise_station(&mut book, station("T-01"), "E".to_owned()).unwrap();
    let pages: i64 = book
        .database
        .connection
        .query_row("PRAGMA page_count", [], |row| row.get(0))
        .unwrap();
    let limit = format!("PRAGMA max_page_count = {pages}");
    book.database
        .connection
        .query_row(&limit, [], |_| Ok(()))
        .unwrap();
    let mut confirmed = Vec::new();
    let error = (0..2000).find_map(|n| {
        clock.advance_ms(1000);
        match record_reading(&mut book, reading("T-01", entry(100, 40, 20), n)) {
            Ok(saved) => {
                confirmed.push(saved.at);
                None
            }
            Err(error) => Some(error),
        }
    });
    assert!(matches!(error, Some(Error::NoSpace { .. })), "{error:?}");
    drop(book);
    let book = Logbook::open(&dir, clock).unwrap();
    // The one that was not confirmed had reached the segment: present though not confirmed.
    assert_eq!(book.start_report().replayed, 1);
    assert!(
        confirmed
            .iter()
            .all(|at| crate::query::record(&book, *at).is_ok())
    );
}

/// Every operation of a merge fails once, in each way; then the power goes and the merge is run again.
#[test]
fn a_merge_that_fails_anywhere_can_be_run_again_and_comes_to_the_same() {
    let mut tablet = Kept::new(Role::Tablet, "A");
    tablet.define("T-01");
    for n in 0..5 {
        tablet.read("T-01", (100 + n, 40, 20));
    }
    let packed = tablet.pack(PackFor::Everything);
    let bytes = std::fs::read(&packed).unwrap();
    let bundle = [PathBuf::from("/stick/a.winze")];
    let mut failures = 0;
    for fault in [Fault::NoSpace, Fault::Device, Fault::ShortWrite] {
        for operation in 0.. {
            let folder = tempfile::tempdir().unwrap();
            let dir = folder.path().join("book");
            let disk = Arc::new(FaultyDisk::new());
            disk.put(&bundle[0], &bytes);
            let shared: Arc<dyn Disk> = disk.clone();
            let clock = Arc::new(FixedClock::at(MONDAY_MS));
            let mut book =
                Logbook::create_on(shared.clone(), &dir, Role::Office, "O", clock.clone()).unwrap();
            let log = tablet.book.log_id();
            enrol_logbook(&mut book, log, "A".into(), Role::Tablet, String::new()).unwrap();
            disk.fail_at(disk.operations() + operation, fault);
            let outcome = merge_bundles(&mut book, &bundle, &mut carry_on);
            let was_whole = outcome.is_ok_and(|report| report.is_whole());
            let has_failed = disk.operations() > 0 && book.stopped().is_some();
            disk.repair();
            drop(book);
            disk.crash();
            let mut book = Logbook::open_on(shared, &dir, clock).unwrap();
            merge_bundles(&mut book, &bundle, &mut carry_on).unwrap();
            assert_eq!(
                query::overview(&book).unwrap().readings,
                5,
                "{fault:?} at {operation}"
            );
            assert!(book.start_report().own_gaps.is_empty());
            if was_whole {
                assert!(operation > 3, "nothing failed: {operation}");
                break;
            }
            failures += usize::from(has_failed);
        }
    }
    assert!(failures >= 6, "only {failures} failures stopped the merge");
}
