//! Crashes and damage: each witness makes good what the other lost.

use std::fs;
use std::path::{Path, PathBuf};

use winze_sync_format::disk::RealDisk;
use winze_sync_format::segment::SegmentWriter;

use crate::actions::save_draft;
use crate::query;
use crate::record::Role;
use crate::samples::{Kept, code, files_ending};
use crate::store::NewRecord;

fn filled() -> Kept {
    let mut kept = Kept::new(Role::Tablet, "A");
    kept.define("T-01");
    for n in 0..20 {
        kept.read("T-01", (100 + n, 40, 20));
    }
    kept
}

fn own_segment(dir: &Path) -> PathBuf {
    files_ending(&RealDisk, dir, ".seg")
        .into_iter()
        .next()
        .unwrap()
}

#[test]
fn a_record_that_reached_only_the_segment_is_replayed() {
    let mut kept = filled();
    let dir = kept.dir();
    // The database as it was before the last record: what a kill between append and commit leaves.
    kept.book.checkpoint().unwrap();
    let before = fs::read(dir.join("projection.sqlite")).unwrap();
    let last = kept.read("T-01", (111, 44, 20));
    let dump = kept.dump();
    let kept = kept.reopen_after(|dir| {
        fs::write(dir.join("projection.sqlite"), before).unwrap();
        let _ = fs::remove_file(dir.join("projection.sqlite-wal"));
    });
    assert_eq!(kept.book.start_report().replayed, 1);
    assert!(kept.book.start_report().is_clean());
    assert_eq!(
        query::past_readings(&kept.book, &code("T-01"), 1).unwrap()[0].at,
        last
    );
    assert_eq!(kept.dump(), dump);
}

#[test]
fn a_crash_before_the_first_commit_leaves_a_logbook_that_works() {
    let kept = Kept::new(Role::Tablet, "A");
    let empty = {
        // The database that creating makes before its first record is committed.
        let other = tempfile::tempdir().unwrap();
        let path = other.path().join("projection.sqlite");
        drop(crate::store::database::Database::open(&path, &RealDisk).unwrap());
        fs::read(path).unwrap()
    };
    let mut kept = kept.reopen_after(|dir| {
        fs::write(dir.join("projection.sqlite"), empty).unwrap();
        let _ = fs::remove_file(dir.join("projection.sqlite-wal"));
    });
    assert_eq!(kept.book.start_report().replayed, 1);
    kept.define("T-01");
    kept.read("T-01", (100, 40, 20));
    assert_eq!(
        query::past_readings(&kept.book, &code("T-01"), 9)
            .unwrap()
            .len(),
        1
    );
}

#[test]
fn a_deleted_database_is_made_anew() {
    let kept = filled();
    let dump = kept.dump();
    let kept = kept.reopen_after(|dir| fs::remove_file(dir.join("projection.sqlite")).unwrap());
    assert_eq!(kept.dump(), dump);
    assert_eq!(kept.book.start_report().replayed, 22);
}

#[test]
fn a_damaged_database_is_put_aside_and_made_anew_with_its_drafts() {
    let mut kept = filled();
    save_draft(&mut kept.book, "T-01", "10.").unwrap();
    kept.book.checkpoint().unwrap();
    let dump = kept.dump();
    let mut damaged = Vec::new();
    let kept = kept.reopen_after(|dir| {
        let path = dir.join("projection.sqlite");
        let mut bytes = fs::read(&path).unwrap();
        // The root page of some table: enough for the check of pages to fail, not for all to fail.
        let page = 4096 * 7;
        bytes[page..page + 64].fill(0xff);
        fs::write(&path, &bytes).unwrap();
        damaged = bytes;
    });
    let aside = kept.book.start_report().database_put_aside.clone().unwrap();
    assert_eq!(fs::read(aside).unwrap(), damaged);
    assert!(!kept.book.start_report().is_clean());
    assert_eq!(kept.dump(), dump);
}

#[test]
fn nonsense_in_place_of_the_database_is_put_aside() {
    let kept = filled();
    let dump = kept.dump();
    let kept = kept.reopen_after(|dir| {
        fs::write(dir.join("projection.sqlite"), b"not a database at all").unwrap();
    });
    assert!(kept.book.start_report().database_put_aside.is_some());
    assert_eq!(kept.dump(), dump);
}

#[test]
fn a_lost_segment_is_written_again_from_the_database() {
    let kept = filled();
    let dump = kept.dump();
    let kept = kept.reopen_after(|dir| fs::remove_file(own_segment(dir)).unwrap());
    assert_eq!(kept.book.start_report().restored_to_segments, 22);
    assert_eq!(kept.dump(), dump);
    // Now the database may go: the segments hold everything again.
    let mut kept = kept.reopen_after(|dir| fs::remove_file(dir.join("projection.sqlite")).unwrap());
    assert_eq!(kept.dump(), dump);
    let next = kept.read("T-01", (100, 40, 20));
    assert_eq!(next.seq, 22);
}

#[test]
fn a_damaged_record_in_a_segment_is_made_good_and_named() {
    let kept = filled();
    let dump = kept.dump();
    let kept = kept.reopen_after(|dir| {
        let path = own_segment(dir);
        let mut bytes = fs::read(&path).unwrap();
        let middle = bytes.len() / 2;
        bytes[middle] ^= 1;
        fs::write(&path, bytes).unwrap();
    });
    let report = kept.book.start_report();
    assert_eq!((report.damage.len(), report.restored_to_segments), (1, 1));
    assert_eq!(kept.dump(), dump);
}

#[test]
fn behind_a_torn_tail_a_new_segment_is_begun() {
    let kept = filled();
    let dump = kept.dump();
    let mut kept = kept.reopen_after(|dir| {
        let path = own_segment(dir);
        let bytes = fs::read(&path).unwrap();
        let torn = [&bytes[..], &bytes[..40]].concat();
        fs::write(&path, torn).unwrap();
    });
    assert_eq!(kept.book.start_report().torn_tails, 1);
    assert!(kept.book.start_report().is_clean());
    assert_eq!(kept.dump(), dump);
    kept.read("T-01", (100, 40, 20));
    assert_eq!(files_ending(&RealDisk, &kept.dir(), ".seg").len(), 2);
    let (dump, kept) = (kept.dump(), kept.reopen_after(|_| {}));
    assert_eq!(kept.dump(), dump);
}

#[test]
fn a_record_lost_from_both_witnesses_leaves_a_named_gap() {
    let kept = filled();
    let kept = kept.reopen_after(|dir| {
        let path = own_segment(dir);
        let bytes = fs::read(&path).unwrap();
        let found = winze_sync_format::segment::scan_segment(&bytes);
        let _ = fs::remove_file(dir.join("projection.sqlite"));
        fs::remove_file(&path).unwrap();
        let mut writer = SegmentWriter::create(&RealDisk, &path).unwrap();
        for record in found.records.iter().filter(|record| record.seq() != 5) {
            writer.append(record.item()).unwrap();
        }
        writer.sync().unwrap();
    });
    assert_eq!(kept.book.start_report().own_gaps, [(5, 5)]);
    assert!(!kept.book.start_report().is_clean());
}

#[test]
fn rebuilding_gives_the_same_projection_and_keeps_drafts() {
    let mut kept = filled();
    save_draft(&mut kept.book, "T-01", "10.").unwrap();
    let dump = kept.dump();
    let report = kept.book.rebuild().unwrap();
    assert_eq!(report.records, 22);
    assert_eq!(kept.dump(), dump);
    kept.read("T-01", (100, 40, 20));
    assert!(
        crate::actions::load_draft(&kept.book, "T-01")
            .unwrap()
            .is_some()
    );
    let (dump, kept) = (kept.dump(), kept.reopen());
    assert_eq!(kept.dump(), dump);
    assert!(kept.book.start_report().is_clean());
    let databases = files_ending(&RealDisk, &kept.dir(), ".sqlite");
    assert_eq!(databases.len(), 1, "{databases:?}");
}

#[test]
fn a_full_segment_is_followed_by_the_next() {
    let mut kept = Kept::new(Role::Tablet, "A");
    kept.define("T-01");
    let revision = kept.define("T-01");
    let body = |n: i64| {
        crate::record::Body::Reading(Box::new(crate::record::Reading {
            station: code("T-01"),
            revision,
            round: None,
            entry: crate::samples::entry(n, 40, 20),
            ticks: crate::record::Ticks::NONE,
            note: "x".repeat(4000),
            doubts: Vec::new(),
            shown: crate::record::Shown::default(),
            source: crate::record::Source::OnTheSpot,
            utc_offset_minutes: None,
        }))
    };
    for batch in 0..11 {
        let records = (0..100)
            .map(|n| NewRecord::new(body(batch * 100 + n), "A"))
            .collect();
        kept.book.confirm(records).unwrap();
    }
    assert_eq!(files_ending(&RealDisk, &kept.dir(), ".seg").len(), 2);
    let (dump, kept) = (kept.dump(), kept.reopen());
    assert_eq!(kept.dump(), dump);
    assert_eq!(kept.book.start_report().records, 1102);
}

#[test]
fn a_changed_byte_in_a_stored_record_is_noticed_at_the_next_start() {
    let mut kept = filled();
    let dump = kept.dump();
    for seq in [0, 1, 7] {
        kept.book.checkpoint().unwrap();
        kept = kept.reopen_after(|dir| {
            let database = rusqlite::Connection::open(dir.join("projection.sqlite")).unwrap();
            let mut item: Vec<u8> = database
                .query_row("SELECT item FROM record WHERE seq = ?1", [seq], |row| {
                    row.get(0)
                })
                .unwrap();
            let place = item.len() / 3;
            item[place] ^= 4;
            database
                .execute("UPDATE record SET item = ?1 WHERE seq = ?2", (item, seq))
                .unwrap();
        });
        assert!(
            kept.book.start_report().database_put_aside.is_some(),
            "record {seq}"
        );
        assert_eq!(kept.dump(), dump);
    }
}

#[test]
fn two_stored_records_that_changed_places_are_noticed() {
    let kept = filled();
    let dump = kept.dump();
    let kept = kept.reopen_after(|dir| {
        let database = rusqlite::Connection::open(dir.join("projection.sqlite")).unwrap();
        let swap = "UPDATE record SET item = (SELECT item FROM record WHERE seq = 6) WHERE seq = 5";
        database.execute(swap, []).unwrap();
    });
    assert!(kept.book.start_report().database_put_aside.is_some());
    assert_eq!(kept.dump(), dump);
}

#[test]
fn a_logbook_copied_and_used_twice_is_one_forked_log_with_both_branches() {
    let mut office = Kept::new(Role::Office, "Office");
    office.define("T-01");
    let mut tablet = Kept::new(Role::Tablet, "A");
    tablet.define("T-01");
    tablet.read("T-01", (100, 40, 20));
    office.enrol(&tablet, "A", Role::Tablet);
    tablet.enrol(&office, "Office", Role::Office);
    let copy = tablet.folder.path().join("copy");
    fs::create_dir(&copy).unwrap();
    tablet.book.checkpoint().unwrap();
    for entry in fs::read_dir(tablet.dir()).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), copy.join(entry.file_name())).unwrap();
    }
    let mut twin = crate::Logbook::open(&copy, tablet.clock.clone()).unwrap();
    let mut at_twin = Vec::new();
    for n in 0..2 {
        let new = crate::samples::reading("T-01", crate::samples::entry(97, 39, 20), 900 + n);
        at_twin.push(crate::actions::record_reading(&mut twin, new).unwrap().at);
    }
    let at_tablet = tablet.read("T-01", (103, 41, 20));
    assert_eq!(
        (at_tablet.log, at_tablet.seq),
        (at_twin[0].log, at_twin[0].seq)
    );
    let bundle = crate::actions::pack_bundle(
        &mut twin,
        tablet.folder.path(),
        crate::actions::PackFor::Everything,
        "",
        &mut crate::samples::carry_on,
    );
    office.merge(&[
        tablet.pack(crate::actions::PackFor::Everything),
        bundle.unwrap().path,
    ]);
    let overview = query::overview(&office.book).unwrap();
    assert_eq!(overview.readings, 4);
    let question = overview
        .questions
        .iter()
        .find(|view| view.question.station.is_none())
        .unwrap();
    assert_eq!(
        question.question.kind,
        crate::merge::QuestionKind::CopiedLog
    );
    assert_eq!(question.question.about.len(), 2);
    let logs = query::logs(&office.book).unwrap();
    assert!(
        logs.iter()
            .any(|log| log.is_copied && log.log == at_tablet.log)
    );
    // Both branches are acknowledged, each by its own tip.
    let back = office.pack(crate::actions::PackFor::Tablets);
    tablet.merge(std::slice::from_ref(&back));
    // All but the first record of the new log that the tablet went on in, now that it knows.
    assert_eq!(query::not_yet_at_office(&tablet.book).unwrap(), 1);
    crate::actions::merge_bundles(&mut twin, &[back], &mut crate::samples::carry_on).unwrap();
}

#[test]
fn segments_without_their_key_are_not_taken_for_an_empty_folder() {
    let kept = filled();
    let Kept {
        book,
        folder,
        clock,
        ..
    } = kept;
    let dir = book.dir().to_owned();
    drop(book);
    fs::remove_file(dir.join("key")).unwrap();
    for opened in [
        crate::Logbook::open(&dir, clock.clone()),
        crate::Logbook::create(&dir, Role::Tablet, "B", clock),
    ] {
        assert!(
            matches!(opened, Err(crate::Error::KeyMissing { .. })),
            "{opened:?}"
        );
    }
    // What is in them goes into another logbook like any bundle.
    let mut other = Kept::new(Role::Office, "Office");
    let report = other.merge(&files_ending(&RealDisk, &dir, ".seg"));
    assert_eq!(report.new_records(), 22);
    drop(folder);
}
