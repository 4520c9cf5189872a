//! `winze attach` and `winze extract`: a picture goes in, travels in a bundle and comes out the same.

use std::path::Path;
use std::sync::Arc;

use tempfile::TempDir;
use winze_core::Logbook;
use winze_core::actions::{record_reading, revise_station};
use winze_core::clock::FixedClock;
use winze_core::record::Role;
use winze_tests::command::{Ran, run};
use winze_tests::samples;

/// A tablet's logbook named `tablet` with one reading, the id of which is answered.
fn site() -> (TempDir, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let dir = folder.path().join("tablet");
    let mut book = Logbook::create(&dir, Role::Tablet, "Tablet A", clock).expect("created");
    revise_station(&mut book, samples::station("T-07"), "tester".to_owned()).expect("defined");
    let saved = record_reading(&mut book, samples::new_reading("T-07", 1)).expect("saved");
    (folder, saved.at.id.to_string())
}

fn winze(folder: &Path, arguments: &[&str]) -> Ran {
    run(env!("CARGO_BIN_EXE_winze-commands"), folder, arguments)
}

/// Bytes that begin as a PNG file does; nothing decodes them.
fn picture(bytes: usize) -> Vec<u8> {
    let mut all = b"\x89PNG\r\n\x1a\n".to_vec();
    all.extend((0..=250_u8).cycle().take(bytes));
    all
}

#[test]
fn picture_is_attached_once_carried_and_taken_out_the_same() {
    let (site, reading) = site();
    let here = site.path();
    let bytes = picture(150_000);
    std::fs::write(here.join("leak.png"), &bytes).expect("written");
    let attach = [
        "attach",
        "leak.png",
        &reading[..12],
        "--logbook",
        "tablet",
        "--json",
    ];
    let ran = winze(here, &attach);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let json = ran.json();
    assert_eq!(
        (&json["pieces"], &json["was_there"]),
        (&3.into(), &false.into()),
        "{json}"
    );
    let id = json["id"].as_str().expect("an id").to_owned();
    // The same again changes nothing.
    let again = winze(here, &attach).json();
    assert_eq!(
        (&again["was_there"], &again["new_pieces"]),
        (&true.into(), &0.into()),
        "{again}"
    );

    std::fs::create_dir(here.join("stick")).expect("a stick");
    let ran = winze(here, &["pack", "stick", "--logbook", "tablet", "--json"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let bundle = std::fs::read_dir(here.join("stick")).expect("read").next();
    let bundle = bundle.expect("a bundle").expect("read").path();
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    drop(Logbook::create(&here.join("office"), Role::Office, "Office", clock).expect("created"));
    let bundle = bundle.to_str().expect("a name");
    let ran = winze(here, &["merge", bundle, "--logbook", "office"]);
    assert!(matches!(ran.code, Some(0 | 1)), "{ran:?}");

    // Held or not, it is whole.
    let ran = winze(
        here,
        &[
            "extract",
            &id[..12],
            "out.png",
            "--logbook",
            "office",
            "--json",
        ],
    );
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert_eq!(std::fs::read(here.join("out.png")).expect("read"), bytes);
    // A file that is there is never replaced.
    let ran = winze(
        here,
        &["extract", &id[..12], "out.png", "--logbook", "tablet"],
    );
    assert_eq!(ran.code, Some(2), "{ran:?}");
    let ran = winze(here, &["show", &id[..12], "--logbook", "office"]);
    assert!(
        ran.code == Some(0) && ran.out.contains("picture"),
        "{ran:?}"
    );
}

#[test]
fn what_is_no_picture_or_belongs_to_nothing_is_refused_in_words() {
    let (site, reading) = site();
    let here = site.path();
    std::fs::write(here.join("note.txt"), "not a picture").expect("written");
    std::fs::write(here.join("large.png"), picture(9 * 1024 * 1024)).expect("written");
    std::fs::write(here.join("fine.png"), picture(10)).expect("written");
    for (file, about) in [
        ("note.txt", reading.as_str()),
        ("large.png", &reading),
        ("missing.png", &reading),
        ("tablet", &reading),
        ("fine.png", "ffffffffffff"),
    ] {
        let ran = winze(here, &["attach", file, about, "--logbook", "tablet"]);
        assert_eq!(ran.code, Some(2), "{file}: {ran:?}");
        assert!(
            ran.err.lines().next().is_some_and(|line| line.len() > 10),
            "{file}: {ran:?}"
        );
    }
    let ran = winze(here, &["extract", &reading[..12], "--logbook", "tablet"]);
    assert_eq!(ran.code, Some(2), "a reading is no picture: {ran:?}");
    let ran = winze(here, &["verify", "tablet"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
}
