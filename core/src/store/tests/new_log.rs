//! Folders that were copied, moved or rolled back go on in a new log; nothing of either is lost.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_sync_format::disk::RealDisk;

use crate::actions::{
    PackFor, enrol_logbook, merge_bundles, pack_bundle, record_reading, replace_office_key,
    report_lost, revoke_logbook,
};
use crate::clock::FixedClock;
use crate::query::{LogStanding, logs, not_yet_at_office, past_readings};
use crate::record::{NewLogWhy, Role};
use crate::samples::{Kept, MONDAY_MS, carry_on, code, entry, reading};
use crate::store::{NewLog, Whereabouts};
use crate::{Error, Logbook};

fn here(machine: &str) -> Whereabouts {
    Whereabouts::of(machine, [1; 32])
}

fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
    }
}

/// An office with a station and a tablet that knows it, both enrolled.
fn site() -> (Kept, Kept) {
    let (mut office, mut tablet) = (
        Kept::new(Role::Office, "Office"),
        Kept::new(Role::Tablet, "A"),
    );
    office.define("T-01");
    office.enrol(&tablet, "A", Role::Tablet);
    tablet.enrol(&office, "Office", Role::Office);
    let definitions = office.pack(PackFor::Tablets);
    tablet.merge(&[definitions]);
    (office, tablet)
}

fn take(book: &mut Logbook, nonce: u64) {
    record_reading(book, reading("T-01", entry(100, 40, 20), nonce)).unwrap();
}

fn pack(book: &mut Logbook, folder: &Path, to: PackFor) -> PathBuf {
    pack_bundle(book, folder, to, "p", &mut carry_on)
        .unwrap()
        .path
}

fn readings_of(book: &Logbook) -> usize {
    past_readings(book, &code("T-01"), 10_000).unwrap().len()
}

fn started(book: &Logbook) -> Option<NewLogWhy> {
    book.start_report().new_log.map(|new| new.why)
}

#[test]
fn a_folder_that_stays_where_it_is_keeps_its_log() {
    let (_, tablet) = site();
    let (dir, clock, log) = (tablet.dir(), tablet.clock.clone(), tablet.book.log_id());
    drop(tablet.book);
    for _ in 0..3 {
        let book = Logbook::open_here(&dir, clock.clone(), here("m")).unwrap();
        assert_eq!((book.log_id(), started(&book)), (log, None));
    }
}

#[test]
fn another_machine_installation_or_folder_begins_a_new_log() {
    for change in 0..4 {
        let (_, tablet) = site();
        let (mut dir, clock, former) = (tablet.dir(), tablet.clock.clone(), tablet.book.log_id());
        drop(tablet.book);
        drop(Logbook::open_here(&dir, clock.clone(), here("m")).unwrap());
        let mut there = here("m");
        let why = match change {
            0 => {
                there = here("n");
                NewLogWhy::OtherMachine
            }
            1 => {
                there = Whereabouts::of("m", [2; 32]);
                NewLogWhy::OtherInstallation
            }
            2 => {
                let moved = tablet.folder.path().join("moved");
                std::fs::rename(&dir, &moved).unwrap();
                dir = moved;
                NewLogWhy::OtherFolder
            }
            _ => {
                let copied = tablet.folder.path().join("copied");
                copy_folder(&dir, &copied);
                dir = copied;
                NewLogWhy::OtherFolder
            }
        };
        let mut book = Logbook::open_here(&dir, clock.clone(), there).unwrap();
        let new = book.start_report().new_log.unwrap();
        assert_eq!((new.why, new.former.log), (why, former));
        assert_eq!(new.at.log, book.log_id());
        assert_ne!(book.log_id(), former);
        assert_eq!(book.label(), "A");
        // Its stations and its office still count, and it takes readings.
        take(&mut book, 1);
        assert_eq!(readings_of(&book), 1);
        let log = book.log_id();
        let dump = book.dump_projection().unwrap();
        drop(book);
        let mut book = Logbook::open_here(&dir, clock.clone(), there).unwrap();
        assert_eq!((book.log_id(), started(&book)), (log, None));
        assert_eq!(book.dump_projection().unwrap(), dump);
        book.rebuild().unwrap();
        assert_eq!(book.dump_projection().unwrap(), dump);
    }
}

/// A start may be cut short anywhere between the keys: whichever files are left, the next start
/// ends in one key, and no record is lost.
#[test]
fn a_change_of_keys_cut_short_is_completed_or_forgotten() {
    let (_, mut tablet) = site();
    tablet.read("T-01", (100, 40, 20));
    let (dir, clock) = (tablet.dir(), tablet.clock.clone());
    let before = tablet.folder.path().join("before");
    drop(tablet.book);
    copy_folder(&dir, &before);
    let mut book = Logbook::open(&dir, clock.clone()).unwrap();
    let former = book.log_id();
    book.begin_new_log(NewLogWhy::Restored, "p").unwrap();
    let log = book.log_id();
    drop(book);
    let new_key = std::fs::read(dir.join("key")).unwrap();
    let old_key = std::fs::read(before.join("key")).unwrap();
    let cut = |name: &str, from: &Path, key: Option<&[u8]>, next: Option<&[u8]>| {
        let folder = tablet.folder.path().join(name);
        copy_folder(from, &folder);
        std::fs::remove_file(folder.join("key")).unwrap();
        for (file, bytes) in [("key", key), ("key-next", next)] {
            if let Some(bytes) = bytes {
                std::fs::write(folder.join(file), bytes).unwrap();
            }
        }
        let book = Logbook::open(&folder, clock.clone()).unwrap();
        assert_eq!(readings_of(&book), 1, "{name}");
        let log = book.log_id();
        drop(book);
        let again = Logbook::open(&folder, clock.clone()).unwrap();
        assert_eq!(again.log_id(), log, "{name}");
        log
    };
    // The next key saved, or half of it; its first record not written.
    assert_eq!(cut("a", &before, Some(&old_key), Some(&new_key)), former);
    assert_eq!(
        cut("b", &before, Some(&old_key), Some(&new_key[..20])),
        former
    );
    // The first record written; the old key still there, or gone.
    assert_eq!(cut("c", &dir, Some(&old_key), Some(&new_key)), log);
    assert_eq!(cut("d", &dir, None, Some(&new_key)), log);
}

/// A tablet's folder brought back from an older copy of itself: the office's next bundle shows it.
#[test]
fn an_acknowledgement_ahead_of_the_own_head_begins_a_new_log() {
    let (mut office, mut tablet) = site();
    tablet.read("T-01", (100, 40, 20));
    let (dir, clock) = (tablet.dir(), tablet.clock.clone());
    let old = tablet.folder.path().join("old");
    drop(tablet.book);
    copy_folder(&dir, &old);
    let mut book = Logbook::open(&dir, clock.clone()).unwrap();
    for nonce in 10..13 {
        take(&mut book, nonce);
    }
    let bundle = pack(&mut book, tablet.folder.path(), PackFor::Office);
    office.merge(&[bundle]);
    let back = office.pack(PackFor::Tablets);

    let mut rolled_back = Logbook::open(&old, clock).unwrap();
    let former = rolled_back.log_id();
    let report = merge_bundles(&mut rolled_back, &[back], &mut carry_on).unwrap();
    let new: NewLog = report.bundles[0].new_log.unwrap();
    assert_eq!((new.why, new.former.log), (NewLogWhy::RolledBack, former));
    take(&mut rolled_back, 20);
    // The office sent the tablet its own readings back; with the new one all are there.
    assert_eq!(readings_of(&rolled_back), 5);
    let bundle = pack(&mut rolled_back, tablet.folder.path(), PackFor::Office);
    office.merge(&[bundle]);
    let held = logs(&office.book).unwrap();
    let held = held
        .iter()
        .find(|log| log.log == rolled_back.log_id())
        .unwrap();
    assert_eq!(held.standing, LogStanding::Held);
    assert!(office.dump().matches("\nfork\t").next().is_none());
}

/// A tablet's store and key, copied at every one of many points: the first bundle of the second
/// branch shows it, both branches are kept, one question is asked, and both tablets go on in new
/// logs once the other's records reach them.
#[test]
fn a_cloned_tablet_is_noticed_on_the_first_bundle_after_divergence() {
    let points = if std::env::var_os("WINZE_FULL").is_some() {
        1000
    } else {
        12
    };
    let (mut office, mut tablet) = site();
    let folder = tablet.folder.path().to_owned();
    for point in 0..points {
        let n = 1_000 * (point as u64 + 1);
        if point % 3 > 0 {
            tablet.read("T-01", (100, 40, 20));
        }
        if point % 4 == 3 {
            let bundle = tablet.pack(PackFor::Office);
            office.merge(&[bundle]);
        }
        let dir = tablet.dir();
        let copied = folder.join(format!("clone-{point}"));
        drop(tablet.book);
        copy_folder(&dir, &copied);
        // The clock only tells the two apart: everything else is the same.
        let clock = Arc::new(FixedClock::at(MONDAY_MS + 7 * 86_400_000));
        let mut clone = Logbook::open(&copied, clock).unwrap();
        tablet.book = Logbook::open(&dir, tablet.clock.clone()).unwrap();
        take(&mut tablet.book, n);
        take(&mut clone, n + 1);
        if point % 2 == 0 {
            take(&mut clone, n + 2);
        }
        let (here, there) = (readings_of(&tablet.book), readings_of(&clone));
        let (former, records) = (tablet.book.log_id(), office_records(&office));
        let first = pack(&mut tablet.book, &folder, PackFor::Office);
        office.merge(&[first]);
        assert!(!is_copied(&office, former), "point {point}: too early");
        let second = pack(&mut clone, &folder, PackFor::Office);
        let merged = office.merge(&[second]);
        assert!(is_copied(&office, former), "point {point}: not noticed");
        assert_eq!(merged.bundles[0].refused, 0);
        assert!(office_records(&office) > records);
        let clones = 1 + usize::from(point % 2 == 0);
        assert_eq!(readings_of(&office.book), here + clones, "point {point}");
        // Each learns of the other from the office's bundle, and goes on under a name of its own.
        let back = office.pack(PackFor::Tablets);
        tablet.merge(std::slice::from_ref(&back));
        merge_bundles(&mut clone, &[back], &mut carry_on).unwrap();
        let names = [former, tablet.book.log_id(), clone.log_id()];
        assert!(names[0] != names[1] && names[1] != names[2] && names[0] != names[2]);
        take(&mut tablet.book, n + 3);
        take(&mut clone, n + 4);
        assert!(readings_of(&tablet.book) > here && readings_of(&clone) > there);
        // The clerk lets the tablet count again; the clone stays away.
        let (log, by) = (tablet.book.log_id(), "C".to_owned());
        enrol_logbook(&mut office.book, log, "A".to_owned(), Role::Tablet, by).unwrap();
        let _ = std::fs::remove_dir_all(&copied);
    }
    let copies = office.dump().matches("\"copied-log\"").count();
    assert_eq!(copies, points);
}

fn office_records(office: &Kept) -> u64 {
    logs(&office.book)
        .unwrap()
        .iter()
        .map(|log| log.records)
        .sum()
}

fn is_copied(office: &Kept, log: winze_sync_format::LogId) -> bool {
    let logs = logs(&office.book).unwrap();
    logs.iter().any(|view| view.log == log && view.is_copied)
}

#[test]
fn a_folder_without_a_key_is_opened_from_its_segments_in_a_new_log() {
    let (_, mut tablet) = site();
    tablet.read("T-01", (100, 40, 20));
    let (dir, clock, former) = (tablet.dir(), tablet.clock.clone(), tablet.book.log_id());
    drop(tablet.book);
    let restored = tablet.folder.path().join("restored");
    copy_folder(&dir, &restored);
    for file in ["key", "projection.sqlite"] {
        std::fs::remove_file(restored.join(file)).unwrap();
    }
    let refused = Logbook::open(&restored, clock.clone());
    assert!(matches!(refused, Err(Error::KeyMissing { .. })));
    let open = |folder: &Path| {
        Logbook::open_restored(Arc::new(RealDisk), folder, former, clock.clone(), "p")
    };
    let (mut book, new) = open(&restored).unwrap();
    assert_eq!((new.why, new.former.log), (NewLogWhy::Restored, former));
    take(&mut book, 7);
    assert_eq!(readings_of(&book), 2);
    assert!(not_yet_at_office(&book).unwrap() > 3);
    drop(book);
    assert!(matches!(open(&restored), Err(Error::LogbookExists { .. })));
    let again = Logbook::open(&restored, clock.clone()).unwrap();
    assert_eq!(again.log_id(), new.at.log);
}

/// The old key signs for the new one: tablets go on trusting the office, and what it acknowledged
/// before stays acknowledged.
#[test]
fn a_replaced_office_key_is_trusted_because_the_old_one_signed_for_it() {
    let (mut office, mut tablet) = site();
    tablet.read("T-01", (100, 40, 20));
    let bundle = tablet.pack(PackFor::Office);
    office.merge(&[bundle]);
    let back = office.pack(PackFor::Tablets);
    tablet.merge(&[back]);
    assert_eq!(not_yet_at_office(&tablet.book).unwrap(), 0);
    let old = office.book.log_id();
    let reason = "a stick with the key was lost".to_owned();
    let new = replace_office_key(&mut office.book, None, reason, "C").unwrap();
    assert_eq!(new.former.log, old);
    office.define("T-02");
    let back = office.pack(PackFor::Tablets);
    tablet.merge(&[back]);
    assert_eq!(not_yet_at_office(&tablet.book).unwrap(), 0);
    tablet.read("T-02", (100, 40, 20));
    let counted: Vec<_> = logs(&tablet.book)
        .unwrap()
        .into_iter()
        .filter(|log| log.standing == LogStanding::Counts)
        .map(|log| log.log)
        .collect();
    assert!(counted.contains(&old) && counted.contains(&office.book.log_id()));
    let refused = replace_office_key(&mut tablet.book, None, String::new(), "p");
    assert!(matches!(refused, Err(Error::NotAnOffice)));
}

#[test]
fn what_a_lost_tablet_wrote_after_its_last_hand_over_is_held_until_the_clerk_decides() {
    let (mut office, mut tablet) = site();
    tablet.read("T-01", (100, 40, 20));
    let bundle = tablet.pack(PackFor::Office);
    office.merge(&[bundle]);
    office.pack(PackFor::Tablets);
    tablet.read("T-01", (101, 40, 20));
    let later = tablet.pack(PackFor::Office);
    let (log, by) = (tablet.book.log_id(), || "C".to_owned());
    report_lost(&mut office.book, log, "left on a train".to_owned(), by()).unwrap();
    office.merge(&[later]);
    let visits = past_readings(&office.book, &code("T-01"), 10).unwrap();
    let held: Vec<bool> = visits.iter().map(|visit| visit.is_held).collect();
    assert_eq!(held, [true, false]);
    // Found again: the clerk lets the rest count.
    revoke_logbook(&mut office.book, log, Some(99), "found".to_owned(), by()).unwrap();
    let visits = past_readings(&office.book, &code("T-01"), 10).unwrap();
    assert!(visits.iter().all(|visit| !visit.is_held));
}

/// Whatever is said about it or its office, a tablet takes readings.
#[test]
fn a_tablet_never_refuses_a_reading_because_of_trust() {
    let (mut office, mut tablet) = site();
    let (own, office_log) = (tablet.book.log_id(), office.book.log_id());
    let by = || "C".to_owned();
    // The office revokes the tablet from its first record on.
    revoke_logbook(&mut office.book, own, None, String::new(), by()).unwrap();
    let back = office.pack(PackFor::Tablets);
    tablet.merge(&[back]);
    tablet.read("T-01", (100, 40, 20));
    // The office's key is replaced back to its first record, and then the tablet revokes it whole.
    replace_office_key(&mut office.book, Some(0), String::new(), "C").unwrap();
    let back = office.pack(PackFor::Everything);
    tablet.merge(&[back]);
    tablet.read("T-01", (100, 40, 20));
    revoke_logbook(&mut tablet.book, office_log, None, String::new(), by()).unwrap();
    tablet.read("T-01", (100, 40, 20));
    // Everything on the tablet from before its log was copied, and no clock that anybody set.
    tablet.book.begin_new_log(NewLogWhy::Copied, "").unwrap();
    tablet.clock.set(-1);
    tablet.read("T-01", (100, 40, 20));
    assert_eq!(readings_of(&tablet.book), 4);
}

/// A record signed for one site is held at another: its logbook is not enrolled there.
#[test]
fn a_record_replayed_from_another_site_is_held() {
    let (mut office, mut tablet) = site();
    tablet.read("T-01", (100, 40, 20));
    let mut other = Kept::new(Role::Office, "Other site");
    other.define("T-01");
    let before = readings_that_count(&other);
    let bundles = [
        tablet.pack(PackFor::Everything),
        office.pack(PackFor::Everything),
    ];
    let report = other.merge(&bundles);
    assert!(report.new_readings() > 0);
    assert_eq!(readings_that_count(&other), before);
    let held: u64 = report
        .bundles
        .iter()
        .flat_map(|bundle| bundle.held_back.values())
        .sum();
    assert_eq!(held, report.new_records());
}

fn readings_that_count(kept: &Kept) -> usize {
    past_readings(&kept.book, &code("T-01"), 100)
        .unwrap()
        .iter()
        .filter(|visit| visit.counts())
        .count()
}
