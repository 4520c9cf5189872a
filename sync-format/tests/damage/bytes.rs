//! Single bits, single bytes, cuts and shifts of a bundle of a hundred records.

use super::{Good, sum_of};

const RECORDS: usize = 100;

/// Flips one bit; returns how many records that cost.
fn flip(good: &Good, byte: usize, bits: u8) -> u64 {
    let mut bad = good.bytes.clone();
    bad[byte] ^= bits;
    let hit = good.owner(byte);
    let (found, report) = good.read(&bad, |at| Some(at) != hit);
    assert!(!report.is_whole(), "byte {byte} ^ {bits:#x} not noticed");
    let expected = (0..RECORDS).filter(|at| Some(*at) != hit);
    assert!(found.into_iter().eq(expected), "byte {byte} ^ {bits:#x}");
    let lost = u64::from(hit.is_some());
    assert_eq!(report.missing_count(), lost, "byte {byte} ^ {bits:#x}");
    lost
}

#[test]
fn one_bit_of_every_byte() {
    for good in [Good::of(RECORDS), Good::with_attachment(RECORDS)] {
        let [lost] = sum_of(good.bytes.len(), |byte| {
            [flip(&good, byte, 1 << (byte % 8))]
        });
        let in_records: usize = good.places.iter().map(ExactSizeIterator::len).sum();
        assert_eq!(lost, in_records as u64, "a bit of a record costs that one");
        println!("bits: {} flipped, all noticed", good.bytes.len());
    }
}

#[test]
#[ignore = "some minutes; run by hand"]
fn every_bit() {
    let bundles = [
        ("", Good::of(RECORDS)),
        (" with an attachment", Good::with_attachment(RECORDS)),
    ];
    for (what, good) in bundles {
        let bits = good.bytes.len() * 8;
        let [lost] = sum_of(bits, |bit| [flip(&good, bit / 8, 1 << (bit % 8))]);
        println!(
            "bits: {bits} of a bundle of {RECORDS} records{what} flipped one at a time: {bits} \
             noticed, 0 false records, at most 1 record lost ({lost} flips cost one)"
        );
    }
}

/// Every length: all whole records before the cut are found, and all others are missed by name.
#[test]
fn cut_at_every_byte() {
    cut_anywhere(&Good::of(RECORDS));
    cut_anywhere(&Good::with_attachment(RECORDS));
}

fn cut_anywhere(good: &Good) {
    let [kept] = sum_of(good.bytes.len(), |cut| {
        let whole = good.places.partition_point(|place| place.end <= cut);
        let (found, report) = good.read(&good.bytes[..cut], |at| at < whole);
        assert!(found.iter().copied().eq(0..whole), "cut at {cut}");
        assert!(!report.is_whole(), "cut at {cut}");
        if cut >= good.header.end {
            let missing = (RECORDS - whole) as u64;
            assert_eq!(report.missing_count(), missing, "cut at {cut}");
        }
        [whole as u64]
    });
    println!(
        "cuts: {} lengths, {kept} whole records before them, all found",
        good.bytes.len()
    );
}

/// The start is lost instead of the end: the trailer says what is missing.
#[test]
fn cut_off_before_every_byte() {
    let good = Good::of(RECORDS);
    sum_of(good.bytes.len(), |start| {
        let first = good.places.partition_point(|place| place.start < start);
        let (found, report) = good.read(&good.bytes[start..], |at| at >= first);
        assert!(found.iter().copied().eq(first..RECORDS), "from {start}");
        assert_eq!(report.is_whole(), start == 0);
        // As long as the trailer is whole; it stands right behind the last record.
        if start <= good.places[RECORDS - 1].end {
            assert_eq!(report.missing_count(), first as u64, "from {start}");
        }
        [0]
    });
}

/// A byte too few or too many anywhere shifts all that follows.
#[test]
fn a_byte_lost_or_put_in_anywhere() {
    let good = Good::of(RECORDS);
    sum_of(good.bytes.len() * 2, |case| {
        let (byte, put_in) = (case / 2, case % 2 == 1);
        let mut bad = good.bytes.clone();
        if put_in {
            bad.insert(byte, 0xa5);
        } else {
            bad.remove(byte);
        }
        // A byte put in right before a record does not touch it; nor does one equal to its
        // neighbour when that is the one taken out.
        let hit = good
            .owner(byte)
            .filter(|&at| !put_in || good.places[at].start != byte);
        let (found, report) = good.read(&bad, |at| Some(at) != hit);
        assert!(!report.is_whole(), "{case}");
        let expected = (0..RECORDS).filter(|at| Some(*at) != hit);
        assert!(found.into_iter().eq(expected), "{case}");
        assert_eq!(report.missing_count(), u64::from(hit.is_some()));
        [0]
    });
}
