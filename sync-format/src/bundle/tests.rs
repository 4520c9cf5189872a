//! Tests of bundles: whole, damaged in every place, cut at every length, failing media.

use std::io;
use std::ops::ControlFlow;
use std::path::Path;

use proptest::prelude::*;
use proptest::sample::Index;

use super::*;
use crate::disk::{AppendFile, Disk, Fault, FaultyDisk};
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
    // Two halves side by side: each flip means some fourteen signatures to check.
    let worst = std::thread::scope(|scope| {
        let half = |first: usize| {
            let (good, records) = (&good, &records);
            scope.spawn(move || worst_loss_of_flips(good, records, first, 2))
        };
        [half(0), half(1)].map(|half| half.join().unwrap())
    });
    assert_eq!(worst, [1, 1]);
}

/// Flips every `step`-th bit, one at a time; returns the most records that one flip cost.
fn worst_loss_of_flips(good: &[u8], records: &[SignedRecord], first: usize, step: usize) -> usize {
    let mut worst = 0;
    for bit in (first..good.len() * 8).step_by(step) {
        let mut bad = good.to_vec();
        bad[bit / 8] ^= 1 << (bit % 8);
        let bundle = read_bundle(&bad[..]);
        assert!(!bundle.report.is_whole(), "bit {bit} not detected");
        assert_subset(&bundle.records, records);
        let lost = records.len() - bundle.records.len();
        assert_eq!(bundle.report.missing_count(), lost as u64, "bit {bit}");
        worst = worst.max(lost);
    }
    worst
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
fn a_spoilt_item_is_found_before_it_travels() {
    let records = log(&key(1), 3);
    let mut spoilt: Vec<_> = records
        .iter()
        .map(|record| record.item().to_vec())
        .collect();
    let last = spoilt[1].len() - 70;
    spoilt[1][last] ^= 1;
    let disk = FaultyDisk::new();
    let go = &mut |_| ControlFlow::Continue(());
    let items = spoilt.iter().map(Ok::<_, Error>);
    let folder = crate::samples::folder();
    let outcome = write_bundle(&disk, &folder, &key(1), &plan(&records), items, go);
    assert!(
        matches!(outcome, Err(Error::SpoiltItem { index: 1, .. })),
        "{outcome:?}"
    );
    assert!(disk.files().is_empty());
}

/// Whatever else is left, a file with the name of a bundle is a whole bundle.
fn assert_final_names_are_whole(disk: &FaultyDisk) {
    for (name, bytes) in disk.files() {
        if name.extension().is_some_and(|end| end == EXTENSION) {
            assert!(read_bundle(&bytes[..]).report.is_whole(), "{name:?}");
        }
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
                assert_final_names_are_whole(&disk);
                disk.crash();
                assert_final_names_are_whole(&disk);
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

/// A medium that keeps the first bytes and forgets the rest, as sticks of false size do.
#[test]
fn what_the_medium_forgot_is_found_by_reading_back() {
    /// Claims success of everything, and keeps so many bytes of each file.
    struct Forgetful(FaultyDisk, usize);
    impl Disk for Forgetful {
        fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
            self.0.create(path)
        }
        fn create_private(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
            self.0.create_private(path)
        }
        fn open_append(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
            self.0.open_append(path)
        }
        fn open(&self, path: &Path) -> io::Result<Box<dyn io::Read + Send>> {
            self.0.open(path)
        }
        fn open_uncached(&self, path: &Path) -> io::Result<Box<dyn io::Read + Send>> {
            let mut bytes = self.0.files().remove(path).unwrap();
            let keep = self.1.min(bytes.len());
            bytes[keep..].fill(0xff);
            Ok(Box::new(io::Cursor::new(bytes)))
        }
        fn length(&self, path: &Path) -> io::Result<u64> {
            self.0.length(path)
        }
        fn exists(&self, path: &Path) -> bool {
            self.0.exists(path)
        }
        fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
            self.0.rename(from, to)
        }
        fn replace(&self, from: &Path, to: &Path) -> io::Result<()> {
            self.0.replace(from, to)
        }
        fn remove(&self, path: &Path) -> io::Result<()> {
            self.0.remove(path)
        }
        fn create_folder(&self, path: &Path) -> io::Result<()> {
            self.0.create_folder(path)
        }
        fn file_names(&self, folder: &Path) -> io::Result<Vec<String>> {
            self.0.file_names(folder)
        }
        fn sync_folder(&self, folder: &Path) -> io::Result<()> {
            self.0.sync_folder(folder)
        }
    }
    let records = log(&key(1), 700);
    let length = bundle_bytes(&key(1), &records).len();
    assert!(length > 2 * 65_536);
    for (keep, chunk) in [(0, 0), (65_535, 0), (65_536, 65_536), (length - 1, 131_072)] {
        let disk = Forgetful(FaultyDisk::new(), keep);
        let outcome = pack(&disk, &key(1), &records);
        let Err(Error::ReadBack { offset, .. }) = outcome else {
            panic!("{keep}: {outcome:?}")
        };
        assert_eq!(offset, chunk, "{keep}");
        assert!(disk.0.files().is_empty());
    }
    pack(&Forgetful(FaultyDisk::new(), length), &key(1), &records).unwrap();
}

/// One way to damage a bundle.
#[derive(Debug, Clone)]
enum Harm {
    Flip(Index, u8),
    Cut(Index, Index),
    Insert(Index, Vec<u8>),
    Swap(Index, Index),
}

fn any_harm() -> impl Strategy<Value = Harm> {
    prop_oneof![
        (any::<Index>(), 1u8..).prop_map(|(at, bits)| Harm::Flip(at, bits)),
        (any::<Index>(), any::<Index>()).prop_map(|(a, b)| Harm::Cut(a, b)),
        (any::<Index>(), prop::collection::vec(any::<u8>(), 1..80))
            .prop_map(|(at, junk)| Harm::Insert(at, junk)),
        (any::<Index>(), any::<Index>()).prop_map(|(a, b)| Harm::Swap(a, b)),
    ]
}

fn harm(bytes: &mut Vec<u8>, harm: &Harm) {
    let length = bytes.len();
    match harm {
        _ if length == 0 => {}
        Harm::Flip(at, bits) => bytes[at.index(length)] ^= bits,
        Harm::Cut(a, b) => {
            let (a, b) = (a.index(length), b.index(length));
            bytes.drain(a.min(b)..a.max(b));
        }
        Harm::Insert(at, junk) => {
            let at = at.index(length);
            bytes.splice(at..at, junk.iter().copied());
        }
        // Two blocks of 512 bytes change places.
        Harm::Swap(a, b) => {
            let blocks = length / 512;
            let (a, b) = (a.index(blocks.max(1)), b.index(blocks.max(1)));
            for at in 0..if blocks == 0 { 0 } else { 512 } {
                bytes.swap(a * 512 + at, b * 512 + at);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Several harms at once: never a false record, never a whole verdict, and what is found and
    /// what is missing together are what was sent.
    #[test]
    fn no_harm_makes_a_false_record(harms in prop::collection::vec(any_harm(), 1..6)) {
        let records = log(&key(1), 30);
        let good = bundle_bytes(&key(1), &records);
        let mut bad = good.clone();
        for one in &harms {
            harm(&mut bad, one);
        }
        let bundle = read_bundle(&bad[..]);
        assert_subset(&bundle.records, &records);
        prop_assert_eq!(bundle.report.is_whole(), bad == good);
        if bundle.report.header.is_some() {
            let found: RangeSet = bundle.records.iter().map(|record| {
                SeqRange { log: record.log(), first: record.seq(), last: record.seq() }
            }).collect();
            prop_assert_eq!(found.count() + bundle.report.missing_count(), 30);
        }
    }
}
