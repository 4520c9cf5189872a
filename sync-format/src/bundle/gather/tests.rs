//! Tests of putting the whole records of damaged files together.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use super::{Gatherer, Gathering};
use crate::bundle::{SeqRange, read_bundle};
use crate::disk::{Disk, FaultyDisk};
use crate::salvage::ReadLimits;
use crate::samples::{bundle_bytes, key, log, plan};
use crate::{Error, SignedRecord};

fn put(disk: &FaultyDisk, name: &str, bytes: &[u8]) -> PathBuf {
    let path = Path::new("/stick").join(name);
    let mut file = disk.create(&path).unwrap();
    file.append(bytes).unwrap();
    path
}

fn gatherer() -> Gatherer {
    Gatherer {
        label: "salvaged".into(),
        person: "A. Other".into(),
        clock: plan(&[]).clock,
    }
}

fn written(gathering: &Gathering, disk: &FaultyDisk) -> Vec<Vec<SignedRecord>> {
    let go = &mut |_| ControlFlow::Continue(());
    let bundles = gathering
        .write(disk, Path::new("/new"), &key(9), &gatherer(), go)
        .unwrap();
    let files = disk.files();
    let read = |path: &PathBuf| {
        let bundle = read_bundle(&files[path][..]);
        assert!(bundle.report.is_whole(), "{:?}", bundle.report);
        bundle.records
    };
    bundles.iter().map(|bundle| read(&bundle.path)).collect()
}

fn segment(records: &[SignedRecord]) -> Vec<u8> {
    records
        .iter()
        .flat_map(SignedRecord::item)
        .copied()
        .collect()
}

#[test]
fn two_damaged_copies_make_up_for_each_other() {
    let records = log(&key(1), 12);
    let good = bundle_bytes(&key(1), &records);
    let (mut one, mut two) = (good.clone(), good.clone());
    one[good.len() / 4..good.len() / 2].fill(0);
    two.truncate(good.len() * 3 / 4);
    let disk = FaultyDisk::new();
    let mut gathering = Gathering::new();
    let first = gathering.add(&disk, &put(&disk, "one", &one), 1).unwrap();
    assert!(!first.report.is_whole() && !first.is_segment);
    assert_eq!(gathering.missing(), first.report.missing);
    assert!(first.new < 12 && first.new == first.report.records);
    let second = gathering.add(&disk, &put(&disk, "two", &two), 2).unwrap();
    assert!(second.new > 0 && second.new < second.report.records);
    assert_eq!((gathering.records(), gathering.missing()), (12, vec![]));
    assert_eq!(written(&gathering, &disk), [records]);
    assert_eq!(disk.files()[Path::new("/stick/one")], one);
}

#[test]
fn what_no_file_holds_is_named() {
    let records = log(&key(1), 9);
    let good = bundle_bytes(&key(1), &records[..6]);
    let at = good
        .windows(records[3].item().len())
        .position(|part| part == records[3].item())
        .unwrap();
    let mut bad = good;
    bad[at + 30] ^= 1;
    let disk = FaultyDisk::new();
    let mut gathering = Gathering::new();
    gathering.add(&disk, &put(&disk, "bad", &bad), 1).unwrap();
    let lost = SeqRange {
        log: key(1).log_id(),
        first: 3,
        last: 3,
    };
    assert_eq!(gathering.missing(), [lost]);
    // Part of a logbook's folder that starts behind the loss.
    let path = put(&disk, "own-000002.seg", &segment(&records[5..]));
    assert!(gathering.add(&disk, &path, 1).unwrap().is_segment);
    assert_eq!((gathering.records(), gathering.missing()), (8, vec![lost]));
}

#[test]
fn files_without_a_record_give_none() {
    let disk = FaultyDisk::new();
    let mut gathering = Gathering::new();
    for bytes in [&b""[..], b"Dear office,", &[0; 5000]] {
        let name = format!("file-{}", bytes.len());
        let found = gathering.add(&disk, &put(&disk, &name, bytes), 1).unwrap();
        assert_eq!((found.report.records, found.is_segment), (0, false));
    }
    let absent = gathering.add(&disk, Path::new("/stick/absent"), 1);
    assert!(matches!(absent, Err(Error::Io { .. })), "{absent:?}");
    assert_eq!(gathering.records(), 0);
    assert!(written(&gathering, &disk).is_empty());
}

#[test]
fn more_than_one_bundle_holds_becomes_several() {
    let records = log(&key(1), 10);
    let disk = FaultyDisk::new();
    let mut gathering = Gathering {
        limits: ReadLimits {
            items: 6,
            ..ReadLimits::default()
        },
        ..Gathering::new()
    };
    for (at, part) in records.chunks(4).enumerate() {
        let path = put(&disk, &format!("part-{at}"), &segment(part));
        gathering.add(&disk, &path, 1).unwrap();
    }
    let parts = written(&gathering, &disk);
    assert_eq!(parts.iter().map(Vec::len).collect::<Vec<_>>(), [4, 4, 2]);
    assert_eq!(parts.concat(), records);
}

/// Every other record of a long log: more pieces than one header can name.
#[test]
fn more_gaps_than_one_header_names_become_several() {
    let records: Vec<_> = log(&key(1), 5000).into_iter().step_by(2).collect();
    let disk = FaultyDisk::new();
    let mut gathering = Gathering::new();
    let path = put(&disk, "holes", &segment(&records));
    gathering.add(&disk, &path, 2).unwrap();
    assert_eq!(gathering.missing().len(), 2499);
    let parts = written(&gathering, &disk);
    assert_eq!(parts.iter().map(Vec::len).collect::<Vec<_>>(), [2000, 500]);
    assert_eq!(parts.concat(), records);
}
