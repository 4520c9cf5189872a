//! `winze lost`: what a thief writes does not count, and the wrong tablet is not reported by a slip.

use std::path::Path;
use std::sync::Arc;

use tempfile::TempDir;
use winze_core::actions::{
    PackFor, enrol_logbook, merge_bundles, pack_bundle, record_reading, revise_station,
};
use winze_core::clock::FixedClock;
use winze_core::record::Role;
use winze_core::{Logbook, query};
use winze_tests::command::{Ran, run};
use winze_tests::samples;

fn winze(folder: &Path, arguments: &[&str]) -> Ran {
    run(env!("CARGO_BIN_EXE_winze-commands"), folder, arguments)
}

fn open(folder: &Path, name: &str, hours: i64) -> Logbook {
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS + hours * 3_600_000));
    Logbook::open(&folder.join(name), clock).expect("opened")
}

fn read(folder: &Path, hours: i64) {
    let mut tablet = open(folder, "tablet", hours);
    let number = u64::try_from(hours).expect("later");
    record_reading(&mut tablet, samples::new_reading("T-07", number)).expect("saved");
}

/// The tablet hands over, the office takes in.
fn hand_over(folder: &Path, hours: i64) {
    let stick = tempfile::tempdir().expect("a stick");
    let mut tablet = open(folder, "tablet", hours);
    let packed = pack_bundle(
        &mut tablet,
        stick.path(),
        PackFor::Everything,
        "",
        &mut |_| true,
    );
    let path = packed.expect("packed").path;
    let mut office = open(folder, "office", hours);
    merge_bundles(&mut office, &[path], &mut |_| true).expect("merged");
}

/// An office and its tablet; a first reading is at the office and acknowledged.
fn site() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    let clock = || Arc::new(FixedClock::at(samples::MONDAY_MS));
    let mut tablet =
        Logbook::create(&here.join("tablet"), Role::Tablet, "Tablet C", clock()).expect("created");
    let log = tablet.log_id();
    revise_station(&mut tablet, samples::station("T-07"), "tester".to_owned()).expect("defined");
    drop(tablet);
    let mut office =
        Logbook::create(&here.join("office"), Role::Office, "Office", clock()).expect("created");
    enrol_logbook(
        &mut office,
        log,
        "Tablet C".to_owned(),
        Role::Tablet,
        "clerk".to_owned(),
    )
    .expect("enrolled");
    drop(office);
    read(here, 1);
    hand_over(here, 2);
    let mut office = open(here, "office", 3);
    let stick = tempfile::tempdir().expect("a stick");
    pack_bundle(
        &mut office,
        stick.path(),
        PackFor::Tablets,
        "clerk",
        &mut |_| true,
    )
    .expect("acknowledged");
    folder
}

fn counted(folder: &Path) -> usize {
    let office = open(folder, "office", 9);
    let visits = query::past_readings(&office, &samples::code("T-07"), 9).expect("read");
    visits.iter().filter(|visit| visit.counts()).count()
}

#[test]
fn what_a_lost_tablet_writes_later_is_kept_and_does_not_count() {
    let site = site();
    let here = site.path();
    assert_eq!(counted(here), 1);
    let ran = winze(here, &["lost", "Tablet", "C", "--logbook", "office"]);
    assert_eq!(ran.code, Some(1), "only read back: {ran:?}");
    assert!(ran.out.contains("Nothing was changed"), "{ran:?}");
    read(here, 4);
    hand_over(here, 5);
    assert_eq!(counted(here), 2, "nothing was reported yet");

    let ran = winze(
        here,
        &[
            "lost",
            "Tablet C",
            "--confirm",
            "--logbook",
            "office",
            "--json",
        ],
    );
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let json = ran.json();
    assert_eq!(json["is_reported"], true, "{json}");
    // What opened the log, the definition and the first reading were acknowledged.
    assert_eq!(
        (&json["counts_to"], &json["held"]),
        (&2.into(), &1.into()),
        "{json}"
    );
    assert_eq!(counted(here), 1);
    // What comes later is kept too.
    read(here, 6);
    hand_over(here, 7);
    assert_eq!(counted(here), 1);
    let ran = winze(here, &["verify", "office"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
}

#[test]
fn name_that_nobody_has_changes_nothing() {
    let site = site();
    for name in ["Tablet D", "Office", ""] {
        let ran = winze(
            site.path(),
            &["lost", name, "--confirm", "--logbook", "office"],
        );
        assert_eq!(ran.code, Some(2), "{name:?}: {ran:?}");
    }
    assert_eq!(counted(site.path()), 1);
}
