//! A disk that fills up while readings are taken: the space kept back is given up for them, and
//! nothing that was saved is lost, however much or little room there was.

use std::sync::Arc;

use winze_core::actions::{back_up, record_reading, revise_station};
use winze_core::clock::FixedClock;
use winze_core::record::Role;
use winze_core::{Error, Logbook, query};
use winze_power::{PowerDisk, samples};
use winze_sync_format::RecordRef;

const BALLAST: u64 = 1024 * 1024;

struct Filled {
    disk: PowerDisk,
    book: Logbook,
    saved: Vec<RecordRef>,
    /// Holds the lock file.
    folder: tempfile::TempDir,
}

/// A logbook with `room` more bytes, and readings until one is refused.
fn fill(room: usize, ballast: u64) -> Filled {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let disk = PowerDisk::mount(folder.path());
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let dir = folder.path().join("book");
    let shared = Arc::new(disk.clone());
    let mut book =
        Logbook::create_on(shared, &dir, Role::Tablet, "a", clock.clone()).expect("created");
    let station = samples::station("T-01").expect("sound");
    let mut saved = vec![revise_station(&mut book, station, String::new()).expect("defined")];
    assert!(ballast == 0 || book.keep_ballast(ballast).expect("kept back"));
    disk.leave_room(Some(room));
    for nonce in 0.. {
        clock.advance_ms(60_000);
        let new = samples::reading("T-01", samples::plain_entry(), nonce, 40).expect("sound");
        match record_reading(&mut book, new) {
            Ok(done) => saved.push(done.at),
            Err(Error::NoSpace { .. }) => break,
            Err(error) => panic!("{room} bytes, after {}: {error}", saved.len()),
        }
    }
    Filled {
        disk,
        book,
        saved,
        folder,
    }
}

/// Everything saved is there after the next start, on the disk as full as it is and after room was
/// made.
fn check(filled: Filled) -> usize {
    let Filled {
        disk,
        book,
        saved,
        folder,
    } = filled;
    let dir = book.dir().to_owned();
    drop(book);
    disk.leave_room(None);
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let book = Logbook::open_on(Arc::new(disk.clone()), &dir, clock).expect("opened");
    for at in &saved {
        assert!(query::record(&book, *at).is_ok(), "lost {at}");
    }
    assert!(book.start_report().own_gaps.is_empty());
    drop(folder);
    saved.len()
}

#[test]
fn space_kept_back_is_given_up_for_readings() {
    let room = 100_000;
    let without = check(fill(room, 0));
    let filled = fill(room, BALLAST);
    assert!(filled.book.is_short_of_space());
    let with = check(filled);
    println!("{without} readings without, {with} with {BALLAST} bytes kept back");
    assert!(with >= without + 20, "{without} without, {with} with");
}

#[test]
fn nothing_saved_is_lost_however_little_room_there_is() {
    let mut runs = 0;
    for room in (0..300_000).step_by(7_993) {
        for ballast in [0, 40_000] {
            check(fill(room, ballast));
            runs += 1;
        }
    }
    println!("{runs} full disks, 0 lost");
}

#[test]
fn a_backup_does_not_get_the_space_kept_back() {
    let mut filled = fill(0, 0);
    filled.disk.leave_room(None);
    filled.book.recover().expect("there is room again");
    assert!(filled.book.keep_ballast(BALLAST).expect("kept back"));
    filled.disk.leave_room(Some(0));
    let to = filled.disk.root().join("second");
    let refused = back_up(&mut filled.book, &to, "", &mut |_| true);
    assert!(matches!(refused, Err(Error::NoSpace { .. })), "{refused:?}");
    assert!(!filled.book.is_short_of_space());
}
