//! Folders that may be read and not written: a clear message, and nothing is changed.
//!
//! The administrator's account may write anywhere, so there the program runs under another one.

#![cfg(unix)]

use std::collections::BTreeMap;
use std::os::unix::fs::{MetadataExt, PermissionsExt, chown};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use tempfile::TempDir;
use winze_core::Logbook;
use winze_core::actions::{record_reading, revise_station};
use winze_core::clock::FixedClock;
use winze_core::query;
use winze_core::record::Role;
use winze_tests::command::Ran;
use winze_tests::samples;

/// An account without rights of its own, by the number that Unix systems give it.
const NOBODY: u32 = 65_534;

const WRITABLE: u32 = 0o755;
const READ_ONLY: u32 = 0o555;

/// A folder with a tablet's logbook of three readings and the program, owned by the account that
/// the program runs under.
struct Site {
    folder: TempDir,
    account: Option<u32>,
}

impl Site {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let is_administrator = std::fs::metadata(folder.path()).expect("there").uid() == 0;
        let site = Self {
            folder,
            account: is_administrator.then_some(NOBODY),
        };
        // The folder of the build may be closed to other accounts.
        std::fs::copy(env!("CARGO_BIN_EXE_winze-commands"), site.at("winze")).expect("copied");
        let mut tablet = Self::create(&site.at("tablet"));
        revise_station(&mut tablet, samples::station("T-07"), "tester".to_owned())
            .expect("defined");
        for number in 0..3 {
            let reading = samples::new_reading("T-07", number);
            record_reading(&mut tablet, reading).expect("saved");
        }
        drop(tablet);
        std::fs::create_dir(site.at("stick")).expect("made");
        site.give_away(site.folder.path());
        site
    }

    fn create(folder: &Path) -> Logbook {
        let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
        Logbook::create(folder, Role::Tablet, "tablet a", clock).expect("created")
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn give_away(&self, path: &Path) {
        if let Some(account) = self.account {
            chown(path, Some(account), Some(account)).expect("given away");
        }
        if path.is_dir() {
            for entry in std::fs::read_dir(path).expect("listed") {
                self.give_away(&entry.expect("an entry").path());
            }
        }
    }

    fn allow(&self, name: &str, mode: u32) {
        let mode = std::fs::Permissions::from_mode(mode);
        std::fs::set_permissions(self.at(name), mode).expect("set");
    }

    fn winze(&self, arguments: &[&str]) -> Ran {
        let mut command = Command::new(self.at("winze"));
        if let Some(account) = self.account {
            command.uid(account).gid(account);
        }
        let output = command
            .args(arguments)
            .current_dir(self.folder.path())
            .env_clear()
            .env("USER", "tester")
            .output()
            .expect("started");
        Ran {
            code: output.status.code(),
            out: String::from_utf8_lossy(&output.stdout).into_owned(),
            err: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }

    /// Every file of a folder with its bytes.
    fn files(&self, name: &str) -> BTreeMap<PathBuf, Vec<u8>> {
        (std::fs::read_dir(self.at(name)).expect("listed"))
            .map(|entry| entry.expect("an entry").path())
            .map(|path| (path.clone(), std::fs::read(&path).expect("read")))
            .collect()
    }
}

/// The program stops with a message that says what happened and what to do, in this place.
#[track_caller]
fn refused(ran: &Ran, place: &str) {
    assert_eq!(ran.code, Some(2), "{ran:?}");
    for words in [
        "not allowed",
        place,
        "Nothing was changed",
        "Ask for access",
    ] {
        assert!(ran.err.contains(words), "{words:?} in {ran:?}");
    }
    assert!(!ran.err.contains("panicked"), "{ran:?}");
}

#[test]
fn logbook_in_a_read_only_folder_is_refused_whole_and_opens_when_it_may() {
    let site = Site::new();
    let ran = site.winze(&["pack", "stick", "--logbook", "tablet"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    // The lock is gone, as after a copy to another drive.
    std::fs::remove_file(site.at("tablet/lock")).expect("removed");
    let before = site.files("tablet");
    site.allow("tablet", READ_ONLY);
    for arguments in [
        ["pack", "stick", "--logbook", "tablet"].as_slice(),
        &["merge", "stick", "--logbook", "tablet"],
        &["enrol", "--logbook", "tablet"],
        &["assess", "--logbook", "tablet"],
    ] {
        refused(&site.winze(arguments), "tablet");
        assert_eq!(site.files("tablet"), before, "after {arguments:?}");
    }
    site.allow("tablet", WRITABLE);
    assert_eq!(site.winze(&["verify", "tablet"]).code, Some(0));
    let merged = site
        .winze(&["merge", "stick", "--logbook", "tablet", "--json"])
        .json();
    assert_eq!(merged["bundles"][0]["already_here"], 5, "{merged}");
}

#[test]
fn segment_that_may_not_be_written_is_left_alone_and_read_all_the_same() {
    let site = Site::new();
    site.allow("tablet/own-000001.seg", 0o444);
    let before = std::fs::read(site.at("tablet/own-000001.seg")).expect("read");
    let ran = site.winze(&["pack", "stick", "--logbook", "tablet", "--json"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert_eq!(ran.json()["records"], 5, "nothing is left out");
    assert!(
        std::fs::read(site.at("tablet/own-000001.seg")).expect("read") == before,
        "the segment is as it was"
    );
    assert_eq!(site.winze(&["verify", "tablet"]).code, Some(0));
    site.allow("tablet/own-000001.seg", 0o644);
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let tablet = Logbook::open(&site.at("tablet"), clock).expect("opens");
    let readings = query::past_readings(&tablet, &samples::code("T-07"), 10).expect("read");
    assert_eq!(readings.len(), 3);
}

#[test]
fn read_only_stick_takes_no_bundle_and_the_next_one_takes_all() {
    let site = Site::new();
    site.allow("stick", READ_ONLY);
    let ran = site.winze(&["pack", "stick", "--logbook", "tablet"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert!(ran.err.contains("not allowed"), "{ran:?}");
    assert!(site.files("stick").is_empty(), "no half bundle");
    site.allow("stick", WRITABLE);
    let ran = site.winze(&["pack", "stick", "--logbook", "tablet", "--json"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert_eq!(ran.json()["records"], 5, "opened, defined, three readings");
}

#[test]
fn nothing_is_made_where_nothing_may_be_made() {
    let site = Site::new();
    let register = "station,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,\
                    interstage_span,outlet_span\nT-01,2.5,2.0,10,bar,1.6,16,10,4\n";
    std::fs::write(site.at("register.csv"), register).expect("written");
    site.allow("stick", READ_ONLY);
    let load = [
        "load",
        "--register",
        "register.csv",
        "--logbook",
        "stick/office",
    ];
    refused(&site.winze(&load), "stick/office");
    refused(
        &site.winze(&["demo", "--headless", "stick/demo"]),
        "stick/demo",
    );
    refused(&site.winze(&["simulate", "stick/fleet"]), "stick/fleet");
    assert!(site.files("stick").is_empty());
}
