//! Faults seeded on purpose: a check that cannot find these would prove nothing.

use winze_power::{
    Broken, Kind, Lie, Plan, PowerDisk, Probe, Violation, acknowledged_early, probe, record, run,
};

const PLAN: Plan = Plan {
    one_in: 3,
    again_every: 0,
    ..Plan::POWER
};

/// The first broken promise over a few days on a disk that lies.
fn caught(lie: Lie) -> Broken {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let disk = PowerDisk::mount(folder.path());
    disk.lie(lie);
    for seed in 0..4 {
        for kind in [Kind::Tablet, Kind::Office] {
            let day = record(&disk, kind, seed).expect("the program notices nothing");
            if let Err(Violation { broken, .. }) = run(&disk, &day, &Plan { seed, ..PLAN }) {
                return broken;
            }
        }
    }
    panic!("{lie:?} was not caught");
}

#[test]
fn a_segment_that_is_not_synced_is_caught() {
    println!("{:?}", caught(Lie::SegmentSync));
}

#[test]
fn a_journal_that_is_not_synced_is_caught() {
    let broken = caught(Lie::JournalSync);
    // The segments still have every record: it is the database alone that bears no witness.
    assert!(!matches!(broken, Broken::Lost(_)), "{broken:?}");
}

#[test]
fn a_database_that_is_not_synced_is_caught() {
    println!("{:?}", caught(Lie::DatabaseSync));
}

#[test]
fn a_folder_that_is_not_synced_is_caught() {
    println!("{:?}", caught(Lie::FolderSync));
}

#[test]
fn an_acknowledgement_before_the_write_is_caught() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let disk = PowerDisk::mount(folder.path());
    let day = record(&disk, Kind::Tablet, 0).expect("a day on a sound disk");
    let found = run(&disk, &acknowledged_early(day), &PLAN);
    let Err(Violation { broken, .. }) = found else {
        panic!("said too early and not caught: {found:?}")
    };
    assert!(matches!(broken, Broken::Lost(_)), "{broken:?}");
}

/// The settings of the database, each by itself: those that are known to lose commits do so here, and
/// those that the logbook chooses do not.
#[test]
fn settings_that_lose_commits_are_told_from_those_that_do_not() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let disk = PowerDisk::mount(folder.path());
    for (journal, synchronous, keeps) in [
        ("WAL", "FULL", true),
        ("TRUNCATE", "FULL", true),
        ("PERSIST", "FULL", true),
        ("DELETE", "EXTRA", true),
        ("WAL", "NORMAL", false),
        ("DELETE", "FULL", false),
        ("DELETE", "OFF", false),
    ] {
        let settings = Probe {
            journal,
            synchronous,
        };
        let (images, bad) = probe(&disk, settings, 60).expect("a database on a sound disk");
        println!("{journal}/{synchronous}: {bad} of {images} images lack a committed row");
        assert_eq!(
            bad == 0,
            keeps,
            "{journal}/{synchronous}: {bad} of {images}"
        );
    }
}
