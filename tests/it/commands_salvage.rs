//! `winze salvage` and `winze explain`, and what `merge`, `verify` and `show` do with the same damaged
//! sticks: bundles, segments, empty files and files of another kind.

use std::path::Path;
use std::sync::Arc;

use serde_json::Value;
use tempfile::TempDir;
use winze_core::Logbook;
use winze_core::actions::{record_reading, revise_station};
use winze_core::clock::FixedClock;
use winze_core::record::Role;
use winze_tests::command::{Ran, run};
use winze_tests::samples;

/// Records of the tablet: opened, defined, and as many readings.
const RECORDS: u64 = 12;

struct Stick {
    folder: TempDir,
    /// The bundle's file name.
    bundle: String,
    bytes: Vec<u8>,
}

impl Stick {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let create = |name: &str, role| {
            let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
            Logbook::create(&folder.path().join(name), role, name, clock).expect("created")
        };
        drop(create("office", Role::Office));
        let mut tablet = create("tablet", Role::Tablet);
        revise_station(&mut tablet, samples::station("T-07"), "tester".to_owned())
            .expect("defined");
        for number in 2..RECORDS {
            let reading = samples::new_reading("T-07", number);
            record_reading(&mut tablet, reading).expect("saved");
        }
        drop(tablet);
        let mut stick = Self {
            folder,
            bundle: String::new(),
            bytes: Vec::new(),
        };
        let json = stick
            .winze(&["pack", ".", "--logbook", "tablet", "--json"])
            .json();
        let file = Path::new(json["file"].as_str().expect("a file"));
        stick.bundle = file
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        stick.bytes = std::fs::read(stick.path().join(&stick.bundle)).expect("read");
        stick
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn winze(&self, arguments: &[&str]) -> Ran {
        run(env!("CARGO_BIN_EXE_winze-commands"), self.path(), arguments)
    }

    fn put(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.path().join(name), bytes).expect("written");
    }

    /// The records of the bundle as `show` tells them: offset, place and id.
    fn shown(&self) -> Vec<Value> {
        let ran = self.winze(&["show", &self.bundle, "--json"]);
        ran.out
            .lines()
            .map(|line| serde_json::from_str::<Value>(line).expect("JSON"))
            .filter(|line| line["kind"].as_u64() > Some(2))
            .collect()
    }
}

fn offset(record: &Value) -> usize {
    usize::try_from(record["offset"].as_u64().expect("an offset")).expect("it fits")
}

#[test]
fn salvage_keeps_every_record_around_the_damage_and_names_the_rest() {
    let stick = Stick::new();
    let records = stick.shown();
    assert_eq!(records.len() as u64, RECORDS);
    // Two records hit, and a block of zeros over the end.
    let mut bad = stick.bytes.clone();
    bad[offset(&records[4]) + 60] ^= 0x20;
    bad[offset(&records[5]) + 9] = 0xff;
    let end = offset(&records[11]) + 40;
    bad[end..].fill(0);
    stick.put("bad.winze", &bad);
    let ran = stick.winze(&["salvage", "bad.winze", "--into", "good.winze", "--json"]);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let json = ran.json();
    assert_eq!(json["records"], 9, "{json}");
    let log = records[0]["log"].clone();
    let range =
        |first: u64, last: u64| serde_json::json!({"log": log, "first": first, "last": last});
    assert_eq!(
        json["missing"],
        Value::from(vec![range(4, 5), range(11, 11)])
    );
    assert_eq!(json["files"][0]["state"], "damaged");
    assert_eq!(json["files"][0]["kind"], "bundle");
    assert_eq!(json["written"][0]["records"], 9);
    let now = std::fs::read(stick.path().join("bad.winze")).expect("read");
    assert!(now == bad, "the source is as it was");

    let again = stick.winze(&["salvage", "bad.winze", "--into", "more"]);
    assert!(
        again
            .out
            .contains("In none of these files: Lost: records 4 to 5 of logbook"),
        "{}",
        again.out
    );
    let verify = stick.winze(&["verify", "good.winze"]);
    assert_eq!(
        verify.code,
        Some(0),
        "what was salvaged is whole: {verify:?}"
    );
    let merged = stick.winze(&["merge", "good.winze", "--logbook", "office", "--json"]);
    assert_eq!(merged.json()["new_records"], 9);
    // The damaged bundle itself has nothing more to give, and the whole one has the rest.
    let merged = stick.winze(&["merge", "bad.winze", "--logbook", "office", "--json"]);
    assert_eq!(merged.json()["new_records"], 0);
    let merged = stick.winze(&["merge", &stick.bundle, "--logbook", "office", "--json"]);
    assert_eq!(merged.json()["new_records"], 3);
}

#[test]
fn damaged_copies_make_up_for_each_other() {
    let stick = Stick::new();
    let records = stick.shown();
    std::fs::create_dir(stick.path().join("copies")).expect("a folder");
    let mut one = stick.bytes.clone();
    one[offset(&records[2])..offset(&records[6])].fill(0);
    stick.put("copies/one", &one);
    stick.put("copies/two.part", &stick.bytes[..offset(&records[8]) + 11]);
    stick.put("copies/letter.txt", b"Dear office,");
    stick.put("copies/nothing", b"");
    let ran = stick.winze(&["salvage", "copies", "--into", "whole.winze", "--json"]);
    assert_eq!(ran.code, Some(1), "the copies were damaged: {ran:?}");
    let json = ran.json();
    assert_eq!(
        (json["records"].as_u64(), &json["missing"]),
        (Some(RECORDS), &Value::Array(vec![]))
    );
    let states = json["files"].as_array().expect("files").iter();
    let states: Vec<_> = states.map(|file| file["state"].as_str()).collect();
    assert_eq!(
        states,
        ["no-record", "no-record", "damaged", "damaged"].map(Some),
        "letter.txt, nothing, one, two.part"
    );
    let other = stick.winze(&["show", "whole.winze"]);
    assert!(other.out.contains("Station T-07 was read"), "{}", other.out);
}

#[test]
fn a_segment_is_salvaged_like_a_bundle() {
    let stick = Stick::new();
    let segment = stick.path().join("tablet/own-000001.seg");
    let mut bytes = std::fs::read(&segment).expect("read");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    bytes.truncate(bytes.len() - 3);
    stick.put("torn.seg", &bytes);
    let ran = stick.winze(&["salvage", "torn.seg", "--into", "out", "--json"]);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let json = ran.json();
    assert_eq!(
        (json["files"][0]["kind"].as_str(), json["records"].as_u64()),
        (Some("segment"), Some(RECORDS - 2))
    );
    assert_eq!(
        json["missing"].as_array().map(Vec::len),
        Some(1),
        "its tail nobody names"
    );
    for (command, code) in [("verify", 2), ("show", 1)] {
        let ran = stick.winze(&[command, "torn.seg", "--json"]);
        assert_eq!(ran.code, Some(code), "{command}: {ran:?}");
    }
    let verify = stick.winze(&["verify", "torn.seg", "--json"]).json();
    assert_eq!(
        (&verify["files"][0]["kind"], &verify["files"][0]["records"]),
        (&"segment".into(), &(RECORDS - 2).into())
    );
    let merged = stick.winze(&["merge", "torn.seg", "--logbook", "office", "--json"]);
    assert_eq!(merged.json()["new_records"], RECORDS - 2);
}

#[test]
fn what_holds_no_record_is_said_to_hold_none_by_every_command() {
    let stick = Stick::new();
    let zeros = vec![0; 70_000];
    let png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".repeat(40);
    for (name, bytes) in [
        ("empty.winze", &b""[..]),
        ("zeros.winze", &zeros),
        ("picture.winze", &png),
    ] {
        stick.put(name, bytes);
        let ran = stick.winze(&["salvage", name, "--into", "new.winze"]);
        assert_eq!(ran.code, Some(2), "{name}: {ran:?}");
        assert!(
            ran.err.contains("no whole record in"),
            "{name}: {}",
            ran.err
        );
        assert!(
            !stick.path().join("new.winze").exists(),
            "{name}: nothing is written"
        );
        let ran = stick.winze(&["verify", name, "--json"]);
        assert_eq!(
            (ran.code, &ran.json()["files"][0]["state"]),
            (Some(2), &"not-a-bundle".into())
        );
        let ran = stick.winze(&["show", name]);
        assert_eq!(ran.code, Some(2), "{name}: {ran:?}");
        let merged = stick
            .winze(&["merge", name, "--logbook", "office", "--json"])
            .json();
        assert_eq!(
            (&merged["new_records"], &merged["bundles"][0]["state"]),
            (&0.into(), &"not-a-bundle".into())
        );
    }
    let ran = stick.winze(&["salvage", "nowhere", "--into", "new.winze"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
}

#[test]
fn salvage_writes_over_nothing() {
    let stick = Stick::new();
    let ran = stick.winze(&["salvage", &stick.bundle, "--into", &stick.bundle]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert!(ran.err.contains("is there already"), "{}", ran.err);
    let now = std::fs::read(stick.path().join(&stick.bundle)).expect("read");
    assert!(now == stick.bytes);
}

/// A link in the place of a file may lead anywhere; a pipe would never end.
#[cfg(unix)]
#[test]
fn links_in_a_tray_are_refused_and_the_rest_is_taken() {
    let stick = Stick::new();
    let tray = stick.path().join("tray");
    std::fs::create_dir(&tray).expect("a folder");
    std::os::unix::fs::symlink(stick.path().join("tablet/key"), tray.join("a.winze"))
        .expect("linked");
    std::os::unix::fs::symlink(stick.path().join(&stick.bundle), tray.join("b.winze"))
        .expect("linked");
    std::fs::copy(stick.path().join(&stick.bundle), tray.join("c.winze")).expect("copied");
    let ran = stick.winze(&["merge", "tray", "--logbook", "office", "--json"]);
    let json = ran.json();
    let states = json["bundles"].as_array().expect("bundles").iter();
    let states: Vec<_> = states.map(|bundle| bundle["state"].as_str()).collect();
    assert_eq!(states, ["unreadable", "unreadable", "whole"].map(Some));
    assert_eq!(json["new_records"], RECORDS);
    let link = stick.winze(&["salvage", "tray/b.winze", "--into", "new.winze"]);
    assert_eq!(link.code, Some(2), "{link:?}");
}

#[test]
fn explain_says_who_when_where_and_why_a_record_does_not_count() {
    let stick = Stick::new();
    let records = stick.shown();
    let id = records[3]["id"].as_str().expect("an id");
    let log = records[3]["log"].as_str().expect("a log");
    stick.winze(&["merge", &stick.bundle, "--logbook", "office"]);

    let here = stick.winze(&["explain", &id[..10], "--logbook", "tablet"]);
    assert_eq!(here.code, Some(0), "{here:?}");
    for words in [
        "Record 3 of tablet, by tester on",
        "Station T-07 was read: inlet 10.2 bar",
        "Follows record 2",
        "It counts.",
        "own-000001.seg from byte",
    ] {
        assert!(here.out.contains(words), "{words}: {}", here.out);
    }

    // At the office it is held; the bundle that brought it is named among those in the tray.
    let place = format!("{}:3", &log[..8]);
    let ran = stick.winze(&["explain", &place, ".", "--logbook", "office", "--json"]);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let lines: Vec<Value> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    let record = &lines[0];
    assert_eq!(
        (record["id"].as_str(), record["seq"].as_u64()),
        (Some(id), Some(3))
    );
    assert_eq!(
        (&record["counts"], &record["held"]),
        (&false.into(), &true.into())
    );
    assert!(
        record["why"][0]
            .as_str()
            .is_some_and(|why| why.contains("not enrolled")),
        "{record}"
    );
    assert_eq!(record["prev"], records[2]["id"]);
    assert_eq!(record["diagnostic"], records[3]["diagnostic"]);
    let found = record["found"].as_array().expect("places");
    assert_eq!(
        found.len(),
        2,
        "the bundle and the office's segment: {record}"
    );
    let bundle = found
        .iter()
        .find(|place| place["kind"] == "bundle")
        .expect("the bundle");
    assert_eq!(
        (&bundle["label"], &bundle["offset"]),
        (&"tablet".into(), &records[3]["offset"])
    );
    let item = record["item"].as_str().expect("hex");
    let at = offset(&records[3]);
    let bytes: String = stick.bytes[at..at + item.len() / 2]
        .iter()
        .fold(String::new(), |text, byte| text + &format!("{byte:02x}"));
    assert_eq!(item, bytes);
    assert_eq!(
        (&lines[1]["outcome"], &lines[1]["records"]),
        (&"findings".into(), &1.into())
    );

    // Out of a file alone nobody can say whether it counts.
    let ran = stick.winze(&["explain", id, &stick.bundle, "--json"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert!(!ran.out.contains("\"counts\""), "{}", ran.out);
}

#[test]
fn explain_says_so_when_there_is_nothing_to_explain() {
    let stick = Stick::new();
    for (arguments, expected) in [
        (
            vec!["explain", "abcdef01", "--logbook", "office"],
            "No whole record called",
        ),
        (
            vec!["explain", "zz", "--logbook", "office"],
            "names no record",
        ),
        (
            vec!["explain", "abcdef01:x", "--logbook", "office"],
            "names no record",
        ),
        (
            vec!["explain", "abcdef01:7", &stick.bundle],
            "No whole record called",
        ),
        (
            vec!["explain", "abcdef01", "nowhere.winze"],
            "There is no file",
        ),
    ] {
        let ran = stick.winze(&arguments);
        assert_eq!(ran.code, Some(2), "{arguments:?}: {ran:?}");
        assert!(ran.err.contains(expected), "{arguments:?}: {}", ran.err);
    }
}
