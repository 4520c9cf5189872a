//! The demo's whole day without a display, and the figures it must come to.

use std::path::Path;

use serde_json::Value;
use winze_tests::command::{Ran, run};

#[test]
fn headless_demo_tells_its_day_and_leaves_everything_whole() {
    let site = tempfile::tempdir().expect("a folder");
    let winze =
        |arguments: &[&str]| run(env!("CARGO_BIN_EXE_winze-commands"), site.path(), arguments);
    let ran = winze(&["demo", "--headless", "day", "--json"]);
    assert_eq!(ran.code, Some(1), "done, with findings: {ran:?}");
    let json = ran.json();
    let folder = site.path().join("day");
    let text = std::fs::read_to_string(folder.join("summary.json")).expect("a summary");
    let summary: Value = serde_json::from_str(&text).expect("JSON");
    for (name, value) in summary.as_object().expect("an object") {
        assert_eq!(&json[name], value, "{name}");
    }
    let sentences = std::fs::read_to_string(folder.join("summary.txt")).expect("a summary");
    assert!(sentences.contains("Tarrow Deep"), "{sentences}");

    assert_eq!(summary["stations"], 12);
    assert_eq!(summary["history"]["readings"], 720);
    assert_eq!(summary["history"]["added_when_loaded_again"], 0);
    assert_eq!(
        summary["history"]["refused"].as_array().map(Vec::len),
        Some(3)
    );
    assert_eq!(summary["faults"].as_array().map(Vec::len), Some(4));
    let assess = &summary["assess"];
    assert!(assess["flags"].as_u64().expect("a number") >= 4, "{assess}");
    assert_eq!(assess["without_a_fault"], 0, "{assess}");
    for found in assess["found"].as_array().expect("a list") {
        assert_eq!(found["is_right"], true, "{found}");
        let days = found["days_after"].as_i64().expect("a number");
        assert!((0..=91).contains(&days), "found within 13 weeks: {found}");
    }
    assert_eq!(assess["found"].as_array().map(Vec::len), Some(4));
    assert_eq!(summary["rounds"][0]["skipped"], 1);
    assert!(
        !summary["merge"]["lost"]
            .as_array()
            .expect("a list")
            .is_empty()
    );
    assert_eq!(summary["question"]["station"], "T-07");
    assert_eq!(summary["unknown"]["held_records"], 6);
    assert_eq!(summary["office"]["held"], 0);
    assert_eq!(summary["office"]["questions"], 0);

    due_is_told(&winze, &folder, &summary);

    // The damaged bundle, and only it, is damaged; every logbook is whole.
    for bundle in summary["bundles"].as_array().expect("a list") {
        let file = format!("day/{}", bundle["file"].as_str().expect("a file"));
        let expected = if bundle["state"] == "damaged" { 2 } else { 0 };
        assert_eq!(winze(&["verify", &file]).code, Some(expected), "{file}");
    }
    for logbook in ["day/office", "day/tablet-a", "day/tablet-b"] {
        let ran = winze(&["verify", logbook]);
        assert_eq!(ran.code, Some(0), "{logbook}: {ran:?}");
    }

    crate::second_reader::agrees_on_bundles(&folder, &summary);
    crate::second_reader::finds_every_reading(&winze, &folder, &summary);
    crate::papers::are_sound(&winze, &folder, &summary);

    pictures_are_whole(&folder, &summary);
    let mut names: Vec<_> = std::fs::read_dir(&folder)
        .expect("a folder")
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    let expected = [
        "bundles",
        "due.ics",
        "office",
        "pictures",
        "reports",
        "sheets",
        "summary.json",
        "summary.txt",
        "tablet-a",
        "tablet-b",
    ];
    assert_eq!(names, expected);

    // A folder with something in it is left alone.
    let again = winze(&["demo", "--headless", "day"]);
    assert_eq!(again.code, Some(2), "{again:?}");
    assert!(again.err.contains("not empty"), "{}", again.err);
}

/// What is due stands in the summary, as words and as figures, and in the calendar.
fn due_is_told(winze: &dyn Fn(&[&str]) -> Ran, folder: &Path, summary: &Value) {
    let list = winze(&[
        "due",
        "--logbook",
        "day/office",
        "--on",
        "2026-10-07",
        "--json",
    ]);
    for count in ["overdue", "due", "early", "jobs"] {
        assert_eq!(
            summary["due"][count],
            list.json()["counts"][count],
            "{count}"
        );
    }
    let calendar = winze(&[
        "due",
        "--logbook",
        "day/office",
        "--on",
        "2026-10-07",
        "--ics",
    ]);
    let left = std::fs::read_to_string(folder.join("due.ics")).expect("a calendar");
    assert_eq!(left.matches("BEGIN:VEVENT").count(), 1 + 2 * 12);
    let events = |ics: &str| {
        ics.split_once("BEGIN:VEVENT")
            .map(|(_, events)| events.to_owned())
    };
    assert_eq!(events(&left), events(&calendar.out));
}

fn pictures_are_whole(folder: &Path, summary: &Value) {
    for picture in summary["pictures"].as_array().expect("a list") {
        let path = folder.join(picture.as_str().expect("a file"));
        let image =
            image::open(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let pixels = (image.width(), image.height());
        assert!(
            pixels == (1280, 800) || pixels == (800, 1280),
            "{} is {pixels:?}",
            path.display()
        );
    }
}

#[test]
fn without_a_display_the_demo_says_so_and_runs_headless() {
    let site = tempfile::tempdir().expect("a folder");
    let ran = run(
        env!("CARGO_BIN_EXE_winze-commands"),
        site.path(),
        &["demo", "--folder", "day", "--seed", "7"],
    );
    assert_eq!(ran.code, Some(1), "{ran:?}");
    assert!(ran.err.contains("no display"), "{}", ran.err);
    assert!(site.path().join("day/summary.json").is_file());
}
