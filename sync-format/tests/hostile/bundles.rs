//! Bundles that lie about themselves, or were put together from several. True records are kept
//! whatever the bundle says; only what it says is not believed.

use winze_sync_format::SignedRecord;
use winze_sync_format::bundle::{Bundle, SeqRange, TrailerFault, TrailerState};
use winze_sync_format::{LogId, open_item};

use super::common::{
    Claims, HINT_BYTES, ONE, TWO, bundle_of, bytes_of, log, log_id, packed, payload_around, read,
    string, wrap,
};

fn fault(bundle: &Bundle) -> TrailerFault {
    assert!(!bundle.report.is_whole());
    match bundle.report.trailer {
        TrailerState::Disagrees(fault) => fault,
        other => panic!("{other:?}"),
    }
}

/// Header, items, trailer, closing number.
fn parts(bundle: &[u8]) -> [Vec<u8>; 4] {
    let header = open_item(bundle).unwrap().1;
    let closing = bundle.len() - HINT_BYTES;
    let hint: [u8; 8] = *bundle.last_chunk().unwrap();
    let trailer = usize::try_from(u64::from_be_bytes(hint)).unwrap();
    [
        &bundle[..header],
        &bundle[header..trailer],
        &bundle[trailer..closing],
        &bundle[closing..],
    ]
    .map(<[u8]>::to_vec)
}

fn claims(records: &[SignedRecord], lie: impl FnOnce(&mut Claims)) -> Bundle {
    let mut claims = Claims::honest(records);
    lie(&mut claims);
    let found = read(&claims.around(&bytes_of(records)));
    assert_eq!(found.records, records, "true records are kept");
    found
}

#[test]
fn an_honest_forgery_of_these_tests_is_whole() {
    let found = claims(&log(ONE, 5), |_| {});
    assert!(found.report.is_whole(), "{:?}", found.report);
}

#[test]
fn trailer_of_another_bundle() {
    let records = log(ONE, 6);
    let (one, two) = (bundle_of(&records), bundle_of(&records[..3]));
    let [header, items, ..] = parts(&one);
    let [.., trailer, hint] = parts(&two);
    let found = read(&[header, items, trailer, hint].concat());
    assert_eq!(fault(&found), TrailerFault::OtherBundle);
    assert_eq!(found.records, records);
}

#[test]
fn header_of_another_bundle() {
    let records = log(ONE, 6);
    // The same records under another label: only the header's hash tells.
    let (one, two) = (packed("A", &records).1, packed("B", &records).1);
    let [header, ..] = parts(&one);
    let [_, items, trailer, hint] = parts(&two);
    let found = read(&[header, items, trailer, hint].concat());
    assert_eq!(fault(&found), TrailerFault::OtherBundle);
    assert_eq!(found.records, records);
}

#[test]
fn trailer_signed_by_another_log() {
    let found = claims(&log(ONE, 4), |claims| claims.trailer_seed = TWO);
    assert_eq!(fault(&found), TrailerFault::OtherBundle);
}

#[test]
fn records_of_two_bundles_mixed() {
    let (one, two) = (log(ONE, 6), log(TWO, 4));
    let [header, _, trailer, hint] = parts(&bundle_of(&one));
    let mixed: Vec<_> = one[..3].iter().chain(&two).cloned().collect();
    let found = read(&[header, bytes_of(&mixed), trailer, hint].concat());
    assert_eq!(fault(&found), TrailerFault::Ranges);
    assert_eq!(found.records, mixed);
    let missing = SeqRange {
        log: log_id(ONE),
        first: 3,
        last: 5,
    };
    assert_eq!(found.report.missing, [missing]);
}

#[test]
fn two_bundles_joined() {
    let (one, two) = (log(ONE, 3), log(TWO, 3));
    let found = read(&[bundle_of(&one), bundle_of(&two)].concat());
    assert_eq!(fault(&found), TrailerFault::NotLast);
    assert_eq!(found.records, [one, two].concat());
}

#[test]
fn parts_twice_and_in_another_place() {
    let records = log(ONE, 4);
    let [header, items, trailer, hint] = &parts(&bundle_of(&records));
    for (order, whole) in [
        (&[header, items, trailer, hint][..], true),
        (&[header, header, items, trailer, hint], false),
        (&[header, items, trailer, hint, trailer, hint], false),
        (&[header, items, trailer, trailer, hint], false),
        (&[header, items, trailer, hint, hint], false),
        (&[header, items, hint, trailer, hint], false),
        (&[hint, header, items, trailer, hint], false),
        (&[items, header, trailer, hint], false),
        (&[header, trailer, hint, items], false),
        (&[trailer, hint, header, items], false),
        (&[items, trailer, hint], false),
        (&[header, items], false),
        (&[header, items, items, trailer, hint], false),
    ] {
        let bytes: Vec<u8> = order.iter().copied().flatten().copied().collect();
        let found = read(&bytes);
        assert_eq!(found.report.is_whole(), whole);
        assert_eq!(found.records[..4], records);
    }
}

#[test]
fn closing_numbers_that_lie() {
    for closing in [0, 1, 1 << 30, 1 << 63, u64::MAX] {
        let found = claims(&log(ONE, 4), |claims| claims.closing = Some(closing));
        assert_eq!(fault(&found), TrailerFault::Hint);
        assert!(found.report.damage.is_empty() && found.report.missing.is_empty());
    }
}

#[test]
fn counts_that_lie() {
    let records = log(ONE, 4);
    for count in [0, 3, 5, 5_000_001, u64::MAX] {
        for (header, trailer) in [(count, 4), (4, count), (count, count)] {
            let found = claims(&records, |claims| {
                claims.header_records = header;
                claims.trailer_records = trailer;
            });
            assert_eq!(fault(&found), TrailerFault::Records);
        }
    }
}

#[test]
fn lengths_and_hashes_that_lie() {
    let records = log(ONE, 4);
    for bytes in [0, 1 << 40, u64::MAX] {
        let found = claims(&records, |claims| claims.bytes = Some(bytes));
        assert_eq!(fault(&found), TrailerFault::Length);
    }
    let found = claims(&records, |claims| claims.sha256 = Some([0; 32]));
    assert_eq!(fault(&found), TrailerFault::Hash);
}

#[test]
fn ranges_that_declare_what_was_never_there() {
    let records = log(ONE, 4);
    let other = LogId([0x55; 32]);
    let found = claims(&records, |claims| {
        for log in [log_id(ONE), other] {
            claims.ranges.insert_range(SeqRange {
                log,
                first: 0,
                last: u64::MAX,
            });
        }
    });
    assert!(!found.report.is_whole());
    assert_eq!(found.report.missing.len(), 2);
    assert_eq!(found.report.missing_count(), u64::MAX);
}

#[test]
fn ranges_that_leave_out_what_is_there() {
    let found = claims(&log(ONE, 5), |claims| {
        claims.ranges = Claims::honest(&log(ONE, 4)).ranges;
    });
    assert_eq!(fault(&found), TrailerFault::Ranges);
}

/// As many ranges as a header can hold, each missing: named one by one, and no more.
#[test]
fn ranges_in_the_thousands() {
    let records = log(ONE, 1);
    let found = claims(&records, |claims| {
        for log in 0..5 {
            for at in 1..1200 {
                let first = at * 1_000_000_000_000;
                let log = LogId([log; 32]);
                claims.ranges.insert_range(SeqRange {
                    log,
                    first,
                    last: first,
                });
            }
        }
    });
    // Too long for one payload: neither header nor trailer is valid, and the record is kept.
    assert!(found.report.header.is_none());
    let found = claims(&records, |claims| {
        for at in 1..2000 {
            let first = at * 1_000_000_000_000;
            let log = LogId([0x55; 32]);
            claims.ranges.insert_range(SeqRange {
                log,
                first,
                last: first,
            });
        }
    });
    assert!(found.report.header.is_some());
    assert_eq!(found.report.missing.len(), 1999);
}

/// A record may hold the bytes of another, or of a whole bundle. They count only where the outer
/// one is broken, and then as the true records that they are.
#[test]
fn records_within_a_record() {
    let inner = log(TWO, 3);
    let body = [&[0xa1, 0][..], &string(&bundle_of(&inner))].concat();
    let outer = wrap(ONE, &payload_around(&body));
    let found = read(&outer);
    assert_eq!((found.records.len(), found.report.damage.len()), (1, 0));
    assert_eq!(found.records[0].log(), log_id(ONE));
    let mut spoilt = outer;
    *spoilt.last_mut().unwrap() ^= 1;
    let found = read(&spoilt);
    assert_eq!(found.records, inner);
    assert!(!found.report.is_whole());
    assert!(
        found.report.header.is_some(),
        "of the inner bundle, and misplaced"
    );
}

/// A closing number that was torn, and something whole directly behind it: the number does not eat
/// the start of what follows.
#[test]
fn closing_numbers_that_reach_into_a_record() {
    let records = log(ONE, 2);
    let [header, items, trailer, hint] = parts(&bundle_of(&records));
    let other = log(TWO, 1);
    for kept in 0..HINT_BYTES {
        let torn = &hint[..kept];
        let bytes = [&header, &items, &trailer, torn, &bytes_of(&other)].concat();
        let found = read(&bytes);
        assert_eq!(found.records, [&records[..], &other].concat(), "{kept}");
        assert_eq!(fault(&found), TrailerFault::Hint);
        let damaged: u64 = found.report.damage.iter().map(|part| part.length).sum();
        assert_eq!(damaged, kept as u64);
    }
}
