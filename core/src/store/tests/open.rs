//! What can be opened, what cannot, and what is said of it.

use std::sync::Arc;

use crate::clock::FixedClock;
use crate::record::Role;
use crate::samples::{Kept, MONDAY_MS};
use crate::{Error, Logbook};

fn error_of(dir: &std::path::Path) -> Error {
    match Logbook::open(dir, Arc::new(FixedClock::at(MONDAY_MS))) {
        Ok(book) => panic!("opened {book:?}"),
        Err(error) => error,
    }
}

#[test]
fn a_new_logbook_is_found_again_with_role_and_label() {
    let mut kept = Kept::new(Role::Office, "Office");
    kept.define("T-01");
    kept.read("T-01", (100, 40, 20));
    let (log, dump) = (kept.book.log_id(), kept.dump());
    let kept = kept.reopen();
    assert_eq!(kept.book.log_id(), log);
    assert_eq!(
        (kept.book.role(), kept.book.label()),
        (Role::Office, "Office")
    );
    assert_eq!(kept.dump(), dump);
    assert!(kept.book.start_report().is_clean());
    assert_eq!(kept.book.start_report().replayed, 0);
    assert_eq!(kept.book.start_report().records, 3);
}

#[test]
fn a_second_program_is_kept_out() {
    let kept = Kept::new(Role::Tablet, "A");
    assert!(matches!(error_of(&kept.dir()), Error::Locked { .. }));
    let clock = Arc::new(FixedClock::at(MONDAY_MS));
    let again = Logbook::create(&kept.dir(), Role::Tablet, "B", clock);
    assert!(matches!(again, Err(Error::Locked { .. })));
}

#[test]
fn what_is_no_logbook_is_told_apart_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    assert!(matches!(
        error_of(&folder.path().join("none")),
        Error::NoLogbook { .. }
    ));
    assert!(matches!(error_of(folder.path()), Error::NoLogbook { .. }));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    let file = folder.path().join("file");
    std::fs::write(&file, b"text").unwrap();
    assert!(matches!(error_of(&file), Error::NotAFolder { .. }));
    let clock = Arc::new(FixedClock::at(MONDAY_MS));
    let created = Logbook::create(&file, Role::Tablet, "A", clock);
    assert!(matches!(created, Err(Error::NotAFolder { .. })));
}

#[test]
fn a_logbook_is_not_created_over_another() {
    let kept = Kept::new(Role::Tablet, "A");
    let (dir, log) = (kept.dir(), kept.book.log_id());
    let Kept {
        book,
        folder,
        clock,
        ..
    } = kept;
    drop(book);
    let again = Logbook::create(&dir, Role::Office, "B", clock.clone());
    assert!(matches!(again, Err(Error::LogbookExists { .. })));
    assert_eq!(Logbook::open(&dir, clock).unwrap().log_id(), log);
    drop(folder);
}

#[test]
fn a_database_of_a_newer_program_is_refused_and_not_touched() {
    let kept = Kept::new(Role::Tablet, "A");
    let (dir, folder) = (kept.dir(), kept.folder);
    drop(kept.book);
    let path = dir.join("projection.sqlite");
    let database = rusqlite::Connection::open(&path).unwrap();
    database.pragma_update(None, "user_version", 9).unwrap();
    drop(database);
    assert!(matches!(
        error_of(&dir),
        Error::NewerThanProgram {
            found: 9,
            known: 1,
            ..
        }
    ));
    drop(folder);
}

#[test]
fn a_logbook_interrupted_while_it_was_created_can_be_created() {
    let kept = Kept::new(Role::Tablet, "A");
    let (dir, clock, folder) = (kept.dir(), kept.clock, kept.folder);
    drop(kept.book);
    for entry in std::fs::read_dir(&dir).unwrap() {
        let path = entry.unwrap().path();
        if !path.ends_with("key") {
            std::fs::remove_file(path).unwrap();
        }
    }
    assert!(matches!(error_of(&dir), Error::NoLogbook { .. }));
    Logbook::create(&dir, Role::Tablet, "A", clock).unwrap();
    drop(folder);
}

#[test]
fn drafts_outlive_the_program_and_are_no_records() {
    use crate::actions::{clear_draft, drafts, load_draft, save_draft};
    let mut kept = Kept::new(Role::Tablet, "A");
    let dump = kept.dump();
    save_draft(&mut kept.book, "T-01", "10.2").unwrap();
    kept.clock.advance_ms(1000);
    save_draft(&mut kept.book, "T-02", "9").unwrap();
    save_draft(&mut kept.book, "T-01", "10.2 4.1").unwrap();
    let mut kept = kept.reopen();
    assert_eq!(
        load_draft(&kept.book, "T-01").unwrap().unwrap().content,
        "10.2 4.1"
    );
    assert_eq!(drafts(&kept.book).unwrap().len(), 2);
    clear_draft(&mut kept.book, "T-01").unwrap();
    assert_eq!(load_draft(&kept.book, "T-01").unwrap(), None);
    assert_eq!(kept.dump(), dump);
}
