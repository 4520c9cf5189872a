//! Logs that no honest device writes: the end of the numbers, loops, forks, and what is unknown.

use winze_sync_format::bundle::{RangeSet, SeqRange};
use winze_sync_format::canonical::Encoder;
use winze_sync_format::segment::scan_segment;
use winze_sync_format::{
    Draft, Error, LogHead, Opened, RecordId, RecordRef, SignedRecord, open_item, seal,
};

use super::common::{
    ONE, bundle_of, bytes_of, draft, head, item_at, key, log, log_id, read, string, wrap,
};

fn opened(item: &[u8]) -> SignedRecord {
    match open_item(item).unwrap().0 {
        Opened::Record(record) => record,
        Opened::Newer(newer) => panic!("{newer:?}"),
    }
}

#[test]
fn the_last_place_and_one_beyond() {
    let key = key(ONE);
    let mut end = LogHead {
        log: key.log_id(),
        next_seq: u64::MAX,
        prev: Some(RecordId([7; 32])),
    };
    // The record could be made, but no head stands behind it: so it is not handed out.
    let outcome = seal(&key, &mut end, draft("one too many"));
    assert!(matches!(outcome, Err(Error::LogFull { .. })), "{outcome:?}");
    assert_eq!(end.next_seq, u64::MAX);

    // Somebody else's program may have made it; it is read, counted and named like any other.
    let last = opened(&item_at(u64::MAX, Some(RecordId([7; 32]))));
    let before = opened(&item_at(u64::MAX - 1, Some(RecordId([7; 32]))));
    let found = read(&bundle_of(&[before, last.clone()]));
    assert!(found.report.is_whole(), "{:?}", found.report);
    let found = read(&bytes_of(&[log(ONE, 1).remove(0), last]));
    let missing = SeqRange {
        log: log_id(ONE),
        first: 1,
        last: u64::MAX - 1,
    };
    assert_eq!(found.report.missing, [missing]);
    assert_eq!(found.report.missing_count(), u64::MAX - 1);
}

/// Every place of a log that can be, declared by nothing but its ends.
#[test]
fn ranges_of_all_places() {
    let all = SeqRange {
        log: log_id(ONE),
        first: 0,
        last: u64::MAX,
    };
    let set: RangeSet = [all].into_iter().collect();
    assert_eq!(set.count(), u64::MAX, "one less than there are, not zero");
    assert_eq!(set.union(&set), set);
    assert!(set.without(&set).is_empty());
}

/// A record cannot name its own hash; it can name one that comes later. Nothing follows the names.
#[test]
fn previous_records_in_a_loop() {
    let third = item_at(2, Some(RecordId([9; 32])));
    let second = item_at(1, Some(opened(&third).id()));
    let first = item_at(0, None);
    let records = [opened(&first), opened(&second), opened(&third)];
    let found = read(&bundle_of(&records));
    assert!(found.report.is_whole());
    assert_eq!(found.records, records);
    let broken = [records[1].reference(), records[2].reference()];
    assert_eq!(found.report.broken_links, broken);
}

#[test]
fn a_log_written_twice_keeps_both_branches() {
    let trunk = log(ONE, 3);
    let key = key(ONE);
    let branch = |text: &str| {
        let mut head = LogHead::after(&trunk[2].reference()).unwrap();
        [(); 3].map(|()| seal(&key, &mut head, draft(text)).unwrap())
    };
    let mut all = trunk.clone();
    all.extend(branch("here"));
    all.extend(branch("there"));
    all.sort_by_key(SignedRecord::reference);
    let found = read(&bundle_of(&all));
    assert!(found.report.is_whole(), "{:?}", found.report);
    assert_eq!(found.records, all);
    assert_eq!(found.report.records, 9);
    assert_eq!(found.report.header.unwrap().ranges.count(), 6);
    assert_eq!(scan_segment(&bytes_of(&all)).records, all);
}

#[test]
fn references_to_nowhere_and_to_itself() {
    let key = key(ONE);
    let nowhere = RecordRef {
        log: log_id(ONE),
        seq: 0,
        id: RecordId([0xee; 32]),
    };
    let refs = vec![nowhere; 64];
    let draft = Draft {
        refs: refs.clone(),
        ..draft("about nothing")
    };
    let record = seal(&key, &mut LogHead::empty(key.log_id()), draft).unwrap();
    assert_eq!(opened(record.item()).record().refs, refs);
}

/// What is of a newer version is carried under its name and nothing of it is believed.
#[test]
fn newer_versions_with_anything_behind_their_name() {
    let junk = [
        &[0xff; 3][..],
        &[0x9f; 400],
        &[0x1b],
        b"\xd2\x84\x43\xa1\x01\x32\xa0",
    ];
    for rest in junk {
        let mut payload = vec![0xb8, 64, 0, 2, 1, 0x18, 40, 2];
        payload.extend_from_slice(&string(&log_id(ONE).0));
        payload.extend_from_slice(&[3, 5]);
        payload.extend_from_slice(rest);
        let item = wrap(ONE, &payload);
        let (opened, length) = open_item(&item).unwrap();
        let Opened::Newer(newer) = opened else {
            panic!("{opened:?}");
        };
        assert_eq!((newer.version, newer.reference.seq), (2, 5));
        assert_eq!((newer.item, length), (item.clone(), item.len()));
        let mut spoilt = item;
        let at = spoilt.len() - 70;
        spoilt[at] ^= 1;
        assert!(open_item(&spoilt).is_err());
    }
}

#[test]
fn unknown_kinds_travel_unchanged() {
    for kind in [3, 39, 63, 64, 1 << 40, u64::MAX] {
        let key = key(ONE);
        let body = Encoder::new().map(1).key(u64::MAX).null().finish().unwrap();
        let draft = Draft {
            kind,
            body,
            ..draft("")
        };
        let record = seal(&key, &mut LogHead::empty(key.log_id()), draft).unwrap();
        let bundle = bundle_of(std::slice::from_ref(&record));
        assert!(
            bundle
                .windows(record.item().len())
                .any(|window| window == record.item())
        );
        let found = read(&bundle);
        assert!(found.report.is_whole());
        assert_eq!(found.records[0].item(), record.item());
    }
}

/// The parts of a bundle cannot be passed off as records of a log, nor sealed as such.
#[test]
fn bundle_parts_in_a_log() {
    let key = key(ONE);
    for kind in [1u8, 2] {
        let draft = Draft {
            kind: u64::from(kind),
            ..draft("")
        };
        let outcome = seal(&key, &mut LogHead::empty(key.log_id()), draft);
        assert!(matches!(outcome, Err(Error::BadField { .. })));
        // With a place in the log it has a key that a part has not.
        let mut payload = vec![0xa9, 0, 1, 1, kind, 2];
        payload.extend_from_slice(&string(&log_id(ONE).0));
        payload.push(3);
        payload.extend_from_slice(&head(0, 0));
        let outcome = open_item(&wrap(ONE, &payload));
        assert_eq!(outcome.unwrap_err().class(), "wrong-key");
    }
    let found = scan_segment(&bundle_of(&log(ONE, 2)));
    assert_eq!((found.records.len(), found.damage.len()), (2, 3));
}
