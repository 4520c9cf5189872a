//! Tests of segment files: torn, failing and damaged ones.

use super::*;
use crate::disk::{Fault, FaultyDisk};
use crate::samples::{key, log};

const PATH: &str = "/log/own-000001.seg";

fn path() -> &'static Path {
    Path::new(PATH)
}

fn bytes(disk: &FaultyDisk) -> Vec<u8> {
    disk.files().get(path()).cloned().unwrap_or_default()
}

#[test]
fn what_was_appended_is_found_again() {
    let disk = FaultyDisk::new();
    let records = log(&key(1), 6);
    let mut segment = SegmentWriter::create(&disk, path()).unwrap();
    for record in &records[..3] {
        segment.append(record.item()).unwrap();
    }
    assert_eq!(segment.synced_length(), 0);
    segment.sync().unwrap();
    assert_eq!(segment.synced_length(), segment.length());
    drop(segment);
    let mut segment = SegmentWriter::open(&disk, path()).unwrap();
    let offset = segment.append(records[3].item()).unwrap();
    assert_eq!(
        offset,
        records[..3]
            .iter()
            .map(|r| r.item().len() as u64)
            .sum::<u64>()
    );
    segment.sync().unwrap();
    disk.crash();
    let found = load_segment(&disk, path(), 1).unwrap();
    assert_eq!(found.records, records[..4]);
    assert!(found.damage.is_empty());
    assert_eq!(found.bytes, bytes(&disk).len() as u64);
}

#[test]
fn only_exact_items_are_appended() {
    let disk = FaultyDisk::new();
    let mut segment = SegmentWriter::create(&disk, path()).unwrap();
    let item = log(&key(1), 1).remove(0).into_item();
    assert!(segment.append(&item[1..]).is_err());
    assert!(segment.append(&item[..item.len() - 1]).is_err());
    assert!(segment.append(&[&item[..], &[0]].concat()).is_err());
    assert!(bytes(&disk).is_empty() && !segment.is_given_up());
    segment.append(&item).unwrap();
}

/// At every operation and for every kind of fault: what was confirmed (appended and synced) is
/// there after the power is lost, and a failed file takes nothing more.
#[test]
fn nothing_confirmed_is_lost_whatever_fails() {
    let records = log(&key(1), 5);
    let run = |disk: &FaultyDisk| {
        let mut confirmed = Vec::new();
        let Ok(mut segment) = SegmentWriter::create(disk, path()) else {
            return confirmed;
        };
        for record in &records {
            let outcome = segment.append(record.item()).and_then(|_| segment.sync());
            if outcome.is_ok() {
                confirmed.push(record.clone());
                continue;
            }
            assert!(segment.is_given_up());
            assert!(matches!(
                segment.append(record.item()),
                Err(Error::GivenUp { .. })
            ));
            assert!(matches!(segment.sync(), Err(Error::GivenUp { .. })));
        }
        confirmed
    };
    let calm = FaultyDisk::new();
    assert_eq!(run(&calm).len(), 5);
    let operations = calm.operations();
    assert_eq!(operations, 2 + 2 * 5);
    for fault in [Fault::NoSpace, Fault::Device, Fault::ShortWrite] {
        for at in 0..operations {
            let disk = FaultyDisk::new();
            disk.fail_at(at, fault);
            let confirmed = run(&disk);
            disk.crash();
            let found = scan_segment(&bytes(&disk));
            assert_eq!(found.records, confirmed, "{fault:?} at {at}");
        }
    }
}

/// Every length at which a power cut can tear the last append.
#[test]
fn every_torn_tail_is_named_and_written_on_behind() {
    let records = log(&key(1), 4);
    let last = records[2].item().len();
    for kept in 0..=last {
        let disk = FaultyDisk::new();
        let mut segment = SegmentWriter::create(&disk, path()).unwrap();
        segment.append(records[0].item()).unwrap();
        segment.append(records[1].item()).unwrap();
        segment.sync().unwrap();
        segment.append(records[2].item()).unwrap();
        disk.crash_keeping(|_, _| kept);
        let found = scan_segment(&bytes(&disk));
        let whole = if kept == last { 3 } else { 2 };
        assert_eq!(found.records, records[..whole], "{kept}");
        assert_eq!(
            found.torn_tail().is_some(),
            kept > 0 && kept < last,
            "{kept}"
        );
        assert_eq!(found.real_damage().count(), 0);
        let mut segment = SegmentWriter::open(&disk, path()).unwrap();
        segment.append(records[3].item()).unwrap();
        segment.sync().unwrap();
        let found = scan_segment(&bytes(&disk));
        assert_eq!(found.records.last(), Some(&records[3]), "{kept}");
        assert_eq!(found.records.len(), whole + 1, "{kept}");
        let damaged: u64 = found.damage.iter().map(|damage| damage.length).sum();
        assert_eq!(damaged, if kept == last { 0 } else { kept as u64 });
    }
}

#[test]
fn bundle_parts_do_not_belong_in_a_segment() {
    let bundle = crate::samples::bundle_bytes(&key(1), &log(&key(1), 3));
    let found = scan_segment(&bundle);
    assert_eq!(found.records.len(), 3);
    let reasons: Vec<_> = found.damage.iter().map(|damage| damage.reason).collect();
    assert_eq!(reasons, [DamageReason::Misplaced; 3]);
}
