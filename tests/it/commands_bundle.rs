//! `winze pack`, `merge`, `verify`, `show` and `enrol` between an office and two tablets.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use tempfile::TempDir;
use winze_core::Logbook;
use winze_core::actions::{record_reading, revise_station};
use winze_core::clock::FixedClock;
use winze_core::record::Role;
use winze_tests::command::{Ran, run};
use winze_tests::samples;

struct Site {
    folder: TempDir,
}

impl Site {
    /// An office and a tablet that nobody has let in, with three readings of its own station.
    fn new() -> Self {
        let site = Self {
            folder: tempfile::tempdir().expect("a folder"),
        };
        let office = site.create("office", Role::Office);
        drop(office);
        let mut tablet = site.create("tablet", Role::Tablet);
        revise_station(&mut tablet, samples::station("T-07"), "tester".to_owned())
            .expect("defined");
        for number in 0..3_u64 {
            let reading = samples::new_reading("T-07", number);
            record_reading(&mut tablet, reading).expect("saved");
        }
        site
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn create(&self, name: &str, role: Role) -> Logbook {
        let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
        Logbook::create(&self.path().join(name), role, name, clock).expect("created")
    }

    fn winze(&self, arguments: &[&str]) -> Ran {
        run(env!("CARGO_BIN_EXE_winze-commands"), self.path(), arguments)
    }

    /// Packs the tablet's records; answers the bundle's file name.
    fn pack(&self) -> String {
        let ran = self.winze(&["pack", "--logbook", "tablet", "--json"]);
        assert_eq!(ran.code, Some(0), "{ran:?}");
        let json = ran.json();
        assert_eq!(
            json["records"], 5,
            "opened, defined, three readings: {json}"
        );
        assert_eq!(json["sha256"].as_str().map(str::len), Some(64));
        let file = PathBuf::from(json["file"].as_str().expect("a file"));
        file.file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned()
    }
}

#[test]
fn unknown_tablet_is_held_until_its_words_are_given() {
    let site = Site::new();
    let bundle = site.pack();
    let ran = site.winze(&["merge", &bundle, "--logbook", "office", "--json"]);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let json = ran.json();
    assert_eq!(json["new_records"], 5);
    assert_eq!(json["new_readings"], 3);
    assert_eq!(json["bundles"][0]["state"], "whole");
    assert_eq!(json["bundles"][0]["held"], 5);
    assert_eq!(json["held"][0]["records"], 5);

    let list = site.winze(&["enrol", "--logbook", "office", "--json"]);
    assert_eq!(list.code, Some(1), "{list:?}");
    let list = list.json();
    let words: Vec<String> = list["unknown"][0]["words"]
        .as_array()
        .expect("words")
        .iter()
        .map(|word| word.as_str().expect("a word").to_owned())
        .collect();
    assert_eq!(words.len(), 8);
    assert_eq!(list["unknown"][0]["readings"], 3);

    let seven = words[..7].join(" ");
    let refused = site.winze(&["enrol", &seven, "--logbook", "office"]);
    assert_eq!(refused.code, Some(2), "{refused:?}");
    assert!(refused.err.contains("All eight words"), "{}", refused.err);
    let mut turned = words.clone();
    turned.reverse();
    if turned != words {
        let refused = site.winze(&["enrol", &turned.join(" "), "--logbook", "office"]);
        assert_eq!(refused.code, Some(2), "{refused:?}");
    }

    let all = words.join(" ").to_uppercase();
    let done = site.winze(&[
        "enrol",
        &all,
        "--logbook",
        "office",
        "--name",
        "Tablet A",
        "--json",
    ]);
    assert_eq!(done.code, Some(0), "{done:?}");
    assert_eq!(done.json()["enrolled"]["name"], "Tablet A");
    let list = site.winze(&["enrol", "--logbook", "office", "--json"]);
    assert_eq!(
        (list.code, list.json()["unknown"].as_array().map(Vec::len)),
        (Some(0), Some(0))
    );

    // Merging again adds nothing, and nothing is held any more.
    let again = site
        .winze(&["merge", ".", "--logbook", "office", "--json"])
        .json();
    assert_eq!(again["new_records"], 0);
    assert_eq!(again["bundles"][0]["already_here"], 5);
    assert_eq!(again["held"].as_array().map(Vec::len), Some(0));
}

#[test]
fn every_cut_and_flip_tried_is_damage_and_the_rest_is_merged() {
    let site = Site::new();
    let bundle = site.pack();
    let whole = std::fs::read(site.path().join(&bundle)).expect("read");
    let check = |name: &str, bytes: &[u8]| {
        std::fs::write(site.path().join(name), bytes).expect("written");
        let ran = site.winze(&["verify", name, "--json"]);
        assert_eq!(ran.code, Some(2), "{name}: {ran:?}");
        let file = &ran.json()["files"][0];
        assert_ne!(file["state"], "whole", "{name}");
        file.clone()
    };
    // Every byte is tried by the format's own tests; here a few, through the program.
    for part in 0..8 {
        let length = whole.len() * part / 8;
        let file = check("cut.winze", &whole[..length]);
        let records = file["records"].as_u64().expect("a count");
        assert!(records < 5 || file["state"] == "damaged", "{file}");
    }
    for part in 1..8 {
        let mut flipped = whole.clone();
        flipped[whole.len() * part / 8] ^= 0x10;
        let file = check("flipped.winze", &flipped);
        assert!(
            file["records"].as_u64() >= Some(4),
            "one flip costs one record at most: {file}"
        );
    }

    // Inside the last reading: four records come over, one is named as lost.
    let mut flipped = whole.clone();
    let third = whole.len() * 3 / 4;
    flipped[third - 200] ^= 1;
    let file = check("flipped.winze", &flipped);
    let ran = site.winze(&["merge", "flipped.winze", "--logbook", "office", "--json"]);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let json = ran.json();
    assert_eq!(json["bundles"][0]["state"], "damaged");
    assert_eq!(json["new_records"], file["records"]);
    assert_eq!(json["bundles"][0]["missing"], file["missing"]);
}

#[test]
fn what_is_no_bundle_is_said_to_be_none() {
    let site = Site::new();
    std::fs::write(site.path().join("letter.winze"), "Dear office,").expect("written");
    std::fs::create_dir(site.path().join("empty")).expect("a folder");
    let ran = site.winze(&["verify", "letter.winze", "--json"]);
    assert_eq!(
        (ran.code, &ran.json()["files"][0]["state"]),
        (Some(2), &"not-a-bundle".into())
    );
    for (arguments, expected) in [
        (vec!["verify", "nowhere"], "There is no file"),
        (vec!["verify", "empty"], "neither a logbook nor a bundle"),
        (
            vec!["merge", "empty", "--logbook", "office"],
            "no bundle in",
        ),
        (vec!["show", "letter.winze"], "holds no record"),
        (vec!["show", "office"], "is a folder"),
        (
            vec!["show", "abcdef01", "--logbook", "office"],
            "No record here",
        ),
        (
            vec!["merge", "letter.winze", "--logbook", "nowhere"],
            "no logbook in",
        ),
        (vec!["pack", "--logbook", "nowhere"], "no logbook in"),
        (vec!["enrol", "--logbook", "letter.winze"], "letter.winze"),
    ] {
        let ran = site.winze(&arguments);
        assert_eq!(ran.code, Some(2), "{arguments:?}: {ran:?}");
        assert!(ran.err.contains(expected), "{arguments:?}: {}", ran.err);
    }
}

#[test]
fn second_program_on_one_logbook_is_sent_away() {
    let site = Site::new();
    let folder = site.path().join("office");
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let open = Logbook::open(&folder, clock).expect("opened");
    let ran = site.winze(&["enrol", "--logbook", "office"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert!(ran.err.contains("open in another"), "{}", ran.err);
    // Looking is allowed all the same.
    let ran = site.winze(&["verify", "office"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    drop(open);
}

#[test]
fn logbook_is_whole_and_a_flip_in_its_segment_is_found() {
    let site = Site::new();
    let ran = site.winze(&["verify", "tablet", "--json"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert_eq!(ran.json()["files"][0]["records"], 5);

    let segment = site.path().join("tablet/own-000001.seg");
    let mut bytes = std::fs::read(&segment).expect("read");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&segment, &bytes).expect("written");
    let ran = site.winze(&["verify", "tablet", "--json"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    let json = ran.json();
    assert_eq!(json["files"][0]["state"], "damaged");
    assert_eq!(json["own_log_gaps"].as_array().map(Vec::len), Some(1));
}

#[test]
fn show_says_each_record_in_sentences_and_in_notation() {
    let site = Site::new();
    let bundle = site.pack();
    let ran = site.winze(&["show", &bundle]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert!(
        ran.out.contains("Station T-07 was read: inlet 10.2 bar"),
        "{}",
        ran.out
    );
    assert!(
        ran.out.contains("4([-1, 102])"),
        "the digits as typed: {}",
        ran.out
    );

    let lines = site.winze(&["show", &bundle, "--json"]);
    let values: Vec<serde_json::Value> = lines
        .out
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    let kinds: Vec<_> = values
        .iter()
        .filter_map(|value| value["kind_name"].as_str())
        .collect();
    assert_eq!(
        kinds,
        [
            "bundle-header",
            "log-opened",
            "station-revision",
            "reading",
            "reading",
            "reading",
            "bundle-trailer"
        ]
    );
    let last = values.last().expect("a last line");
    assert_eq!(
        (&last["outcome"], &last["damaged_parts"]),
        (&"done".into(), &0.into())
    );

    let id = values[3]["id"].as_str().expect("an id");
    let one = site.winze(&["show", &id[..12], "--logbook", "tablet", "--json"]);
    let first = one.out.lines().next().expect("a line");
    let value: serde_json::Value = serde_json::from_str(first).expect("JSON");
    assert_eq!(
        (value["id"].as_str(), value["held"].as_bool()),
        (Some(id), Some(false))
    );
    assert_eq!(value["diagnostic"], values[3]["diagnostic"]);
}

#[test]
fn bundle_cannot_be_written_where_no_folder_is() {
    let site = Site::new();
    std::fs::write(site.path().join("file"), "x").expect("written");
    for to in ["file", "file/below"] {
        let ran = site.winze(&["pack", to, "--logbook", "tablet"]);
        assert_eq!(ran.code, Some(2), "{to}: {ran:?}");
        assert!(!ran.err.is_empty());
    }
    // Nothing was lost by trying.
    site.pack();
}

#[test]
fn usage_errors_are_not_done_and_help_is_done() {
    let site = Site::new();
    for arguments in [
        vec!["frobnicate"],
        vec!["load"],
        vec!["merge"],
        vec!["show"],
    ] {
        assert_eq!(site.winze(&arguments).code, Some(2), "{arguments:?}");
    }
    for arguments in [vec!["--help"], vec!["--version"], vec!["load", "--help"]] {
        let ran = site.winze(&arguments);
        assert_eq!(ran.code, Some(0), "{arguments:?}");
        assert!(!ran.out.is_empty());
    }
    assert!(site.winze(&["--help"]).out.contains("Exit codes"));
}

#[test]
fn window_without_a_display_says_so() {
    let site = Site::new();
    let ran = site.winze(&["tablet", "--logbook", "tablet"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert!(ran.err.contains("window cannot be opened"), "{}", ran.err);
}
