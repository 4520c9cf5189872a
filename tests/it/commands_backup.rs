//! `winze backup` and `winze restore`: a second medium, an office that burns down, a new one behind it.

use std::path::Path;
use std::sync::Arc;

use tempfile::TempDir;
use winze_core::Logbook;
use winze_core::actions::{record_reading, revise_station};
use winze_core::clock::FixedClock;
use winze_core::record::Role;
use winze_tests::command::{Ran, run};
use winze_tests::samples;

/// A logbook named `office` with a station and three readings.
fn site() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let dir = folder.path().join("office");
    let mut book = Logbook::create(&dir, Role::Office, "Office", clock).expect("created");
    revise_station(&mut book, samples::station("T-07"), "tester".to_owned()).expect("defined");
    for number in 0..3_u64 {
        record_reading(&mut book, samples::new_reading("T-07", number)).expect("saved");
    }
    folder
}

fn winze(folder: &Path, arguments: &[&str]) -> Ran {
    run(env!("CARGO_BIN_EXE_winze-commands"), folder, arguments)
}

/// Makes a backup; answers the name of its folder, relative to the site.
fn backup(folder: &Path) -> String {
    let ran = winze(
        folder,
        &["backup", "second", "--logbook", "office", "--json"],
    );
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let json = ran.json();
    assert_eq!(json["records"], 5, "{json}");
    json["folder"].as_str().expect("a folder").to_owned()
}

#[test]
fn backup_then_restore_is_a_new_logbook_with_the_same_readings() {
    let site = site();
    let from = backup(site.path());
    std::fs::remove_dir_all(site.path().join("office")).expect("the office burns down");
    let ran = winze(
        site.path(),
        &["restore", &from, "--logbook", "new", "--json"],
    );
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let json = ran.json();
    assert_eq!(
        (&json["records"], &json["role"]),
        (&5.into(), &"office".into())
    );
    assert_ne!(json["log"], json["old_log"]);
    assert!(
        json["old_head"].as_str().expect("a head").contains(":4:"),
        "{json}"
    );
    assert_eq!(json["words"].as_array().map(Vec::len), Some(8));
    let ran = winze(site.path(), &["verify", "new", "--json"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let ran = winze(site.path(), &["backup", "third", "--logbook", "new"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert!(
        ran.out.contains("7 records"),
        "old, first and enrolment: {ran:?}"
    );
}

#[test]
fn a_damaged_backup_is_restored_as_far_as_it_goes_and_says_so() {
    let site = site();
    let from = backup(site.path());
    let segment = site.path().join(&from).join("own-000001.seg");
    let mut bytes = std::fs::read(&segment).expect("there");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&segment, bytes).expect("spoilt");
    let ran = winze(
        site.path(),
        &["restore", &from, "--logbook", "new", "--json"],
    );
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let json = ran.json();
    assert_eq!(
        (&json["records"], &json["outcome"]),
        (&4.into(), &"findings".into())
    );
    assert_eq!(json["gaps"].as_array().map(Vec::len), Some(1), "{json}");
    assert_eq!(
        json["damaged_files"].as_array().map(Vec::len),
        Some(1),
        "{json}"
    );
}

#[test]
fn restoring_from_nothing_or_over_a_logbook_is_refused_in_words() {
    let site = site();
    let from = backup(site.path());
    std::fs::create_dir(site.path().join("empty")).expect("made");
    let ran = winze(
        site.path(),
        &["restore", "empty", "--logbook", "new", "--json"],
    );
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert!(
        ran.json()["message"]["what"]
            .as_str()
            .expect("words")
            .contains("no backup")
    );
    assert!(!site.path().join("new").exists(), "nothing was begun");
    let ran = winze(
        site.path(),
        &["restore", &from, "--logbook", "office", "--json"],
    );
    assert_eq!(ran.code, Some(2), "{ran:?}");
    let ran = winze(site.path(), &["verify", "office"]);
    assert_eq!(ran.code, Some(0), "untouched: {ran:?}");
}

#[test]
fn a_second_medium_that_cannot_be_written_is_named() {
    let site = site();
    std::fs::write(site.path().join("second"), b"a file").expect("written");
    let ran = winze(
        site.path(),
        &["backup", "second", "--logbook", "office", "--json"],
    );
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert_eq!(ran.json()["outcome"], "not-done");
}
