//! Strangers' records are kept, but not without limit; what is left aside is not lost. And news that
//! is kept from a tablet.

use winze_core::actions::revise_station;
use winze_core::query::{LogStanding, logs, rejudged};
use winze_core::record::{Enrolment, LogOpened};
use winze_core::store::Quota;

use super::site::station;
use super::*;

/// The bytes of some records.
fn bytes(records: &[SignedRecord]) -> u64 {
    records
        .iter()
        .map(|record| record.item().len() as u64)
        .sum()
}

fn readings_of(seed: u8, office: &Office, count: usize) -> Pen {
    let mut pen = Pen::new(seed);
    for _ in 0..count {
        pen.read(office.revision, 20);
    }
    pen
}

fn records_of(office: &Office, pen: &Pen) -> u64 {
    let logs = logs(&office.book).expect("read");
    let log = logs.iter().find(|log| log.log == pen.log());
    log.map_or(0, |log| log.records)
}

#[test]
fn a_stranger_that_fills_the_disk() {
    let mut office = Office::new();
    let stranger = readings_of(1, &office, 100);
    let friend = readings_of(2, &office, 40);
    office.enrol(&friend, Role::Tablet);
    office.book.set_quota(Quota {
        log_bytes: bytes(&stranger.written[..30]),
        total_bytes: u64::MAX,
    });
    let all = [&stranger.written[..], &friend.written].concat();
    let path = office.bundle(&all);
    let before = std::fs::read(&path).expect("read");
    let merged = office.merge_file(path.clone());
    // What counts has no limit; of the stranger what there is room for.
    assert_eq!((merged.new_records, merged.left_aside), (70, 70));
    assert_eq!(merged.left_logs, [(stranger.log(), 30)].into());
    assert_eq!(office.counted().len(), 40);
    // Neither another merge nor opening anew makes more room.
    let again = office.merge_file(path.clone());
    assert_eq!((again.new_records, again.left_aside), (0, 70));
    let mut office = office.reopened();
    office.book.set_quota(Quota {
        log_bytes: bytes(&stranger.written[..30]),
        total_bytes: u64::MAX,
    });
    assert_eq!(office.merge_file(path.clone()).left_aside, 70);
    // The bundle is as it was, and all of it comes in once its log is known.
    assert_eq!(std::fs::read(&path).expect("read"), before);
    office.enrol(&stranger, Role::Tablet);
    let merged = office.merge_file(path);
    assert_eq!((merged.new_records, merged.left_aside), (70, 0));
    assert_eq!(records_of(&office, &stranger), 100);
}

#[test]
fn many_strangers_that_fill_the_disk() {
    let mut office = Office::new();
    let strangers: Vec<Pen> = (1..=60).map(|seed| readings_of(seed, &office, 2)).collect();
    let all: Vec<SignedRecord> = strangers
        .iter()
        .flat_map(|pen| pen.written.clone())
        .collect();
    let total_bytes = bytes(&strangers[0].written) * 10;
    office.book.set_quota(Quota {
        log_bytes: u64::MAX,
        total_bytes,
    });
    let merged = office.merge(&all);
    assert_eq!((merged.new_records, merged.left_aside), (20, 100));
    let held: u64 = strangers.iter().map(|pen| records_of(&office, pen)).sum();
    assert_eq!(held, 20);
    // By another bundle, one stranger at a time, no more comes in either.
    for pen in &strangers {
        assert_eq!(office.merge(&pen.written).new_records, 0);
    }
    office.reopened();
}

/// The enrolment stands in the same bundle as what it lets count, behind it or before it.
#[test]
fn a_stranger_that_the_same_bundle_enrols() {
    for (granter, tablet) in [(1, 2), (2, 1), (3, 9), (9, 3)] {
        let mut office = Office::new();
        let mut other = Pen::new(granter);
        let tablet = readings_of(tablet, &office, 50);
        office.enrol(&other, Role::Office);
        other.write(&Body::LogOpened(LogOpened {
            role: Role::Office,
            label: "other".to_owned(),
        }));
        other.write(&Body::Enrolment(Enrolment {
            log: tablet.log(),
            name: "T".to_owned(),
            role: Role::Tablet,
        }));
        office.book.set_quota(Quota {
            log_bytes: bytes(&tablet.written[..5]),
            total_bytes: bytes(&tablet.written[..5]),
        });
        let merged = office.merge(&[&other.written[..], &tablet.written].concat());
        assert_eq!((merged.new_records, merged.left_aside), (52, 0));
        assert_eq!((merged.new_readings, merged.held_back.len()), (50, 0));
        assert_eq!(office.counted().len(), 50);
    }
}

#[test]
fn a_thief_that_goes_on_after_a_revocation() {
    let mut office = Office::new();
    let tablet = readings_of(1, &office, 40);
    office.enrol(&tablet, Role::Tablet);
    office.revoke(&tablet, Some(9));
    office.book.set_quota(Quota {
        log_bytes: bytes(&tablet.written[10..15]),
        total_bytes: u64::MAX,
    });
    let merged = office.merge(&tablet.written);
    assert_eq!((merged.new_records, merged.left_aside), (15, 25));
    assert_eq!(office.counted().len(), 10);
}

/// No room at all still costs nothing that counts, and makes no logbook unreadable.
#[test]
fn no_room_for_strangers() {
    let mut office = Office::new();
    office.book.set_quota(Quota {
        log_bytes: 0,
        total_bytes: 0,
    });
    let (stranger, friend) = (readings_of(1, &office, 3), readings_of(2, &office, 3));
    office.enrol(&friend, Role::Tablet);
    let merged = office.merge(&[&stranger.written[..], &friend.written].concat());
    assert_eq!((merged.new_records, merged.left_aside), (3, 3));
    office.reopened();
}

/// Freeze: newer definitions and revocations never reach a tablet. It goes on; what it writes is
/// judged at the office by what the office knows, and told where that differs.
#[test]
fn a_tablet_that_is_kept_from_news() {
    let mut office = Office::new();
    let old = office.revision;
    let (mut frozen, mut lost) = (Pen::new(1), Pen::new(2));
    office.enrol(&frozen, Role::Tablet);
    office.enrol(&lost, Role::Tablet);
    let mut news = station();
    news.second_stage.set_point = Typed::of(30, -1, Unit::Bar);
    office.clock.advance_ms(30_000);
    revise_station(&mut office.book, news, "E. Engineer".into()).expect("defined");
    office.revoke(&lost, None);
    // Both still write under the old definition; the second does not know that it is revoked.
    let at = frozen.read(old, 20);
    lost.read(old, 20);
    office.merge(&[&frozen.written[..], &lost.written].concat());
    assert_eq!(office.counted(), [at]);
    let view = record(&office.book, at).expect("read");
    assert_eq!(view.not_understood, None);
    let told = rejudged(&office.book, &code()).expect("read");
    assert_eq!(told.iter().filter(|told| told.visit.at == at).count(), 1);
    let logs = logs(&office.book).expect("read");
    let standing = |pen: &Pen| {
        let log = logs.iter().find(|log| log.log == pen.log());
        log.map(|log| log.standing)
    };
    assert_eq!(standing(&frozen), Some(LogStanding::Counts));
    assert_eq!(
        standing(&lost),
        Some(LogStanding::Revoked { last_seq: None })
    );
    office.reopened();
}
