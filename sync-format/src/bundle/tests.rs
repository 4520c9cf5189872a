//! Tests of bundles: whole, damaged in every place, cut at every length, failing media.

use std::ops::ControlFlow;

use super::*;
use crate::disk::{Fault, FaultyDisk};
use crate::samples::{bundle_bytes, key, log, pack, plan};
use crate::{Error, SignedRecord};

fn assert_subset(found: &[SignedRecord], sent: &[SignedRecord]) {
    for record in found {
        assert!(
            sent.contains(record),
            "a record that was never sent: {record:?}"
        );
    }
}

#[test]
fn a_whole_bundle_gives_back_its_records() {
    let records = log(&key(1), 12);
    let bundle = read_bundle(&bundle_bytes(&key(1), &records)[..]);
    assert!(bundle.report.is_whole(), "{:?}", bundle.report);
    assert_eq!(bundle.records, records);
    let header = bundle.report.header.unwrap();
    assert_eq!((header.exporter, header.records), (key(1).log_id(), 12));
    assert_eq!(header.ranges.count(), 12);
}

#[test]
fn an_empty_bundle_is_whole() {
    let bundle = read_bundle(&bundle_bytes(&key(1), &[])[..]);
    assert!(bundle.report.is_whole(), "{:?}", bundle.report);
}

#[test]
fn every_single_bit_flip_is_detected_and_costs_at_most_one_record() {
    let records = log(&key(1), 12);
    let good = bundle_bytes(&key(1), &records);
    let mut worst = 0;
    for bit in 0..good.len() * 8 {
        let mut bad = good.clone();
        bad[bit / 8] ^= 1 << (bit % 8);
        let bundle = read_bundle(&bad[..]);
        assert!(!bundle.report.is_whole(), "bit {bit} not detected");
        assert_subset(&bundle.records, &records);
        let lost = records.len() - bundle.records.len();
        assert_eq!(bundle.report.missing_count(), lost as u64, "bit {bit}");
        worst = worst.max(lost);
    }
    assert_eq!(worst, 1);
}

#[test]
fn every_cut_keeps_the_whole_records_before_it_and_names_the_rest() {
    let records = log(&key(1), 12);
    let good = bundle_bytes(&key(1), &records);
    let header_end = crate::parse_item(&good).unwrap().1;
    let mut ends = vec![header_end];
    for record in &records {
        ends.push(ends.last().unwrap() + record.item().len());
    }
    for cut in 0..good.len() {
        let bundle = read_bundle(&good[..cut]);
        let whole = ends
            .iter()
            .filter(|&&end| end <= cut)
            .count()
            .saturating_sub(1);
        assert_eq!(bundle.records, records[..whole], "cut at {cut}");
        assert!(!bundle.report.is_whole(), "cut at {cut}");
        if cut >= header_end {
            assert_eq!(
                bundle.report.missing_count(),
                (records.len() - whole) as u64
            );
        }
    }
}

#[test]
fn a_bundle_of_several_logs_is_whole() {
    let (a, b) = (log(&key(1), 5), log(&key(2), 3));
    let mut all: Vec<_> = a.into_iter().skip(2).chain(b).collect();
    all.sort_by_key(SignedRecord::reference);
    let bundle = read_bundle(&bundle_bytes(&key(1), &all)[..]);
    assert!(bundle.report.is_whole());
    assert_eq!(bundle.records, all);
    assert!(bundle.report.broken_links.is_empty());
}

#[test]
fn other_records_than_declared_are_not_written() {
    let records = log(&key(1), 4);
    let plan = plan(&records);
    let go = &mut |_| ControlFlow::Continue(());
    let mut swapped = records.clone();
    swapped.swap(1, 2);
    let foreign = log(&key(2), 4);
    for wrong in [&records[..3], &swapped[..], &foreign[..], &[]] {
        let disk = FaultyDisk::new();
        let items = wrong.iter().map(|record| Ok::<_, Error>(record.item()));
        let outcome = write_bundle(&disk, &crate::samples::folder(), &key(1), &plan, items, go);
        assert!(
            matches!(outcome, Err(Error::PlanMismatch { .. })),
            "{outcome:?}"
        );
        assert!(disk.files().is_empty());
    }
}

#[test]
fn failing_media_never_leave_a_broken_bundle_under_a_final_name() {
    let records = log(&key(1), 12);
    let disk = FaultyDisk::new();
    pack(&disk, &key(1), &records).unwrap();
    let operations = disk.operations();
    assert!(operations >= 6, "{operations}");
    for fault in [Fault::NoSpace, Fault::Device, Fault::ShortWrite] {
        for at in 0..operations {
            for lasting in [false, true] {
                let disk = FaultyDisk::new();
                if lasting {
                    disk.fail_from(at, fault);
                } else {
                    disk.fail_at(at, fault);
                }
                let outcome = pack(&disk, &key(1), &records);
                assert!(outcome.is_err(), "{fault:?} at {at}");
                for (name, bytes) in disk.files() {
                    if name.extension().is_some_and(|end| end == EXTENSION) {
                        assert!(
                            read_bundle(&bytes[..]).report.is_whole(),
                            "{fault:?} at {at}"
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn a_written_bundle_survives_losing_power() {
    let records = log(&key(1), 12);
    let disk = FaultyDisk::new();
    let written = pack(&disk, &key(1), &records).unwrap();
    disk.crash();
    let bundle = read_bundle(&disk.files()[&written.path][..]);
    assert!(bundle.report.is_whole());
    let hash = crate::id::hex(&written.sha256[..8]);
    let name = written.path.file_name().unwrap().to_str().unwrap();
    let log = key(1).log_id().short();
    assert_eq!(name, format!("tablet-a-{log}-0-11-{hash}.winze"));
}

#[test]
fn breaking_off_leaves_nothing() {
    let records = log(&key(1), 12);
    for stop_at in 0..2 {
        let disk = FaultyDisk::new();
        let mut calls = 0;
        let items = records.iter().map(|record| Ok::<_, Error>(record.item()));
        let mut progress = |_| {
            calls += 1;
            if calls > stop_at {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        };
        let folder = crate::samples::folder();
        let outcome = write_bundle(
            &disk,
            &folder,
            &key(1),
            &plan(&records),
            items,
            &mut progress,
        );
        assert!(matches!(outcome, Err(Error::Cancelled)));
        assert!(disk.files().is_empty());
    }
}
