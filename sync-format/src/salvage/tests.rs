//! Tests of the search for whole items: holes, hostile files, media that fail.

use std::io::{self, Cursor};

use proptest::prelude::*;

use super::*;
use crate::item::MARK;
use crate::samples::{key, log};

fn bytes_of(records: &[SignedRecord]) -> Vec<u8> {
    records
        .iter()
        .flat_map(SignedRecord::item)
        .copied()
        .collect()
}

fn records_of(found: &[Found]) -> Vec<&SignedRecord> {
    let mut records = Vec::new();
    for part in found {
        if let Found::Record { record, .. } = part {
            records.push(record);
        }
    }
    records
}

fn damage_of(found: &[Found]) -> Vec<Damage> {
    let damage = |found: &Found| match found {
        Found::Damage(damage) => Some(damage.clone()),
        _ => None,
    };
    found.iter().filter_map(damage).collect()
}

/// Everything found lies side by side and covers the whole stream.
fn assert_covers(found: &[Found], total: usize) {
    let mut at = 0;
    for part in found {
        let (offset, length) = match part {
            Found::Record { offset, record, .. } => (*offset, record.item().len() as u64),
            Found::Newer { offset, newer } => (*offset, newer.item.len() as u64),
            Found::Hint { offset, .. } => (*offset, 9),
            Found::Damage(damage) => (damage.offset, damage.length),
            Found::Held { .. } => panic!("nothing is held"),
        };
        assert_eq!(offset, at);
        at += length;
    }
    assert_eq!(at, total as u64);
}

/// All ways to zero some of the 512-byte sectors of a small file: only records that touch a
/// zeroed sector are lost.
#[test]
fn zeroed_sectors_cost_only_the_records_they_touch() {
    let records = log(&key(1), 24);
    let good = bytes_of(&records);
    let sectors = good.len().div_ceil(512);
    assert!((8..=12).contains(&sectors), "{sectors}");
    for pattern in 0..1u32 << sectors.min(9) {
        let mut bad = good.clone();
        for (index, sector) in bad.chunks_mut(512).enumerate() {
            if pattern >> index & 1 == 1 {
                sector.fill(0);
            }
        }
        let mut at = 0;
        let untouched: Vec<_> = records
            .iter()
            .filter(|record| {
                let range = at..at + record.item().len();
                at = range.end;
                bad[range.clone()] == good[range]
            })
            .collect();
        let found: Vec<_> = ItemScanner::new(&bad[..]).collect();
        assert_eq!(records_of(&found), untouched, "{pattern:b}");
        assert_covers(&found, bad.len());
    }
}

#[test]
fn threads_and_small_reads_change_nothing() {
    /// Gives one byte, then two, then three, ...
    struct Slow<'a>(&'a [u8], usize);
    impl Read for Slow<'_> {
        fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
            self.1 += 1;
            let count = self.1.min(out.len());
            self.0.read(&mut out[..count])
        }
    }
    let mut bytes = bytes_of(&log(&key(1), 300));
    for at in [100, 5_000, 5_001, 30_000, 60_000] {
        bytes[at] ^= 0x10;
    }
    let plain: Vec<_> = ItemScanner::new(&bytes[..]).collect();
    assert_eq!(records_of(&plain).len(), 300 - 4);
    assert_covers(&plain, bytes.len());
    for threads in [2, 3, 8] {
        let other: Vec<_> = ItemScanner::new(&bytes[..]).threads(threads).collect();
        assert_eq!(plain, other);
    }
    let slow: Vec<_> = ItemScanner::new(Slow(&bytes, 0)).collect();
    assert_eq!(plain, slow);
}

#[test]
fn held_records_are_named_and_not_checked_again() {
    let records = log(&key(1), 50);
    let mut bytes = bytes_of(&records);
    // The last byte is the signature of a held record: its payload and so its name are intact.
    *bytes.last_mut().unwrap() ^= 1;
    let found: Vec<_> = ItemScanner::new(&bytes[..])
        .known(|name| name.seq % 2 == 1)
        .collect();
    for (found, record) in found.iter().zip(&records) {
        match found {
            Found::Held { reference, .. } => assert_eq!(*reference, record.reference()),
            Found::Record { record: found, .. } => assert_eq!(found, record),
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(records_of(&found).len(), 25);
}

/// A file of nothing but marks, and one of nothing but forged signatures, are given up early.
#[test]
fn a_file_of_fake_marks_is_given_up() {
    let marks = MARK.repeat(200_000);
    let mut forged = log(&key(1), 1).remove(0).into_item();
    *forged.last_mut().unwrap() ^= 1;
    let limits = ReadLimits {
        failures: 2_000,
        ..ReadLimits::default()
    };
    for bytes in [marks, forged.repeat(5_000)] {
        let mut scanner = ItemScanner::new(&bytes[..]).limits(limits);
        let damage = damage_of(&scanner.by_ref().collect::<Vec<_>>());
        assert_eq!(scanner.failures, 2_001);
        let last = damage.last().unwrap();
        assert_eq!(last.reason, DamageReason::OverLimit("failures"));
        assert_eq!(last.offset + last.length, bytes.len() as u64);
    }
}

#[test]
fn more_items_or_bytes_than_allowed_are_not_read() {
    let records = log(&key(1), 20);
    let bytes = bytes_of(&records);
    let limits = ReadLimits {
        items: 10,
        ..ReadLimits::default()
    };
    let found: Vec<_> = ItemScanner::new(&bytes[..]).limits(limits).collect();
    assert_eq!(records_of(&found).len(), 10);
    assert_eq!(
        damage_of(&found).last().unwrap().reason,
        DamageReason::OverLimit("items")
    );
    let eleven: usize = records[..11].iter().map(|record| record.item().len()).sum();
    let limits = ReadLimits {
        bytes: eleven as u64,
        ..ReadLimits::default()
    };
    let found: Vec<_> = ItemScanner::new(&bytes[..]).limits(limits).collect();
    assert_eq!(records_of(&found).len(), 11);
    assert_eq!(
        damage_of(&found).last().unwrap().reason,
        DamageReason::OverLimit("bytes")
    );
    // Exactly as long as allowed is allowed.
    let limits = ReadLimits {
        bytes: bytes.len() as u64,
        items: 20,
        ..ReadLimits::default()
    };
    let found: Vec<_> = ItemScanner::new(&bytes[..]).limits(limits).collect();
    assert_eq!((records_of(&found).len(), damage_of(&found).len()), (20, 0));
}

/// An endless stream ends at the limit.
#[test]
fn an_endless_stream_is_left() {
    let limits = ReadLimits {
        bytes: 3_000_000,
        ..ReadLimits::default()
    };
    let found: Vec<_> = ItemScanner::new(io::repeat(0)).limits(limits).collect();
    let damage = damage_of(&found);
    assert_eq!(damage[0].length, 3_000_000);
    assert_eq!(damage[1].reason, DamageReason::OverLimit("bytes"));
}

#[test]
fn a_medium_that_fails_keeps_what_came_before() {
    struct Failing<'a>(Cursor<&'a [u8]>);
    impl Read for Failing<'_> {
        fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
            match self.0.read(out)? {
                0 => Err(io::ErrorKind::TimedOut.into()),
                count => Ok(count),
            }
        }
    }
    let records = log(&key(1), 5);
    let bytes = bytes_of(&records);
    let found: Vec<_> = ItemScanner::new(Failing(Cursor::new(&bytes))).collect();
    assert_eq!(records_of(&found).len(), 5);
    let reason = DamageReason::Unreadable(io::ErrorKind::TimedOut);
    let offset = bytes.len() as u64;
    assert_eq!(
        damage_of(&found),
        [Damage {
            offset,
            length: 0,
            reason
        }]
    );
}

/// An item hidden inside a damaged one is a true record and is found; nothing is found twice.
#[test]
fn a_record_inside_damage_is_found_once() {
    let key = key(1);
    let inner = log(&key, 1).remove(0);
    let body = crate::canonical::Encoder::new()
        .map(1)
        .key(0)
        .bytes(inner.item())
        .finish()
        .unwrap();
    let draft = crate::Draft {
        body,
        ..crate::samples::draft("")
    };
    let mut head = crate::LogHead::empty(key.log_id());
    let mut outer = crate::seal(&key, &mut head, draft).unwrap().into_item();
    let found: Vec<_> = ItemScanner::new(&outer[..]).collect();
    assert_eq!(records_of(&found).len(), 1);
    *outer.last_mut().unwrap() ^= 1;
    let found: Vec<_> = ItemScanner::new(&outer[..]).collect();
    assert_eq!(records_of(&found), [&inner]);
    assert_covers(&found, outer.len());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Random cuts, holes, repeats and junk: every record whose bytes are all there is found,
    /// nothing else is, and every byte is accounted for.
    #[test]
    fn whole_records_are_found_between_junk(
        parts in prop::collection::vec((0usize..6, any::<bool>(), any::<prop::sample::Index>(), any::<u8>()), 1..12),
    ) {
        let records = log(&key(1), 6);
        let (mut bytes, mut whole) = (Vec::new(), Vec::new());
        for (which, cut, at, junk) in parts {
            let item = records[which].item();
            if cut {
                // At least 16 bytes are lost, so that no junk can happen to complete the record;
                // shorter losses are tried one by one elsewhere.
                bytes.extend_from_slice(&item[..at.index(item.len() - 16)]);
                bytes.extend(std::iter::repeat_n(junk, usize::from(junk) / 4));
            } else {
                bytes.extend_from_slice(item);
                whole.push(&records[which]);
            }
        }
        let found: Vec<_> = ItemScanner::new(&bytes[..]).collect();
        prop_assert_eq!(records_of(&found), whole);
        assert_covers(&found, bytes.len());
    }
}
