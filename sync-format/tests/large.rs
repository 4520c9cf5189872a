//! Bundles of many records are written and read with bounded memory.
//!
//! Peak memory is what the Linux kernel counts for the process; elsewhere only the contents are
//! checked. The million is run by hand: `cargo test --release -p winze-sync-format --test large
//! -- --ignored`.

use std::fs::File;
use std::ops::ControlFlow;

use winze_sync_format::bundle::{
    BundleEvent, BundlePlan, BundleReader, RangeSet, SeqRange, write_bundle,
};
use winze_sync_format::canonical::Encoder;
use winze_sync_format::disk::RealDisk;
use winze_sync_format::{
    ClockReading, ClockStatus, Draft, Error, LogHead, LogKey, SignedRecord, seal,
};

/// Most that the peak may rise while a bundle is written and read, whatever its size.
const RISE_MAX_KIB: u64 = 4 * 1024;

fn clock() -> ClockReading {
    let status = ClockStatus::SetAtOffice;
    ClockReading {
        wall_ms: 1_800_000_000_000,
        status,
        boot: [3; 16],
        monotonic_ms: 1,
    }
}

fn draft(number: u64) -> Draft {
    let text = format!("statement number {number}");
    let body = Encoder::new().map(1).key(0).text(&text).finish().unwrap();
    let (person, nonce) = ("A. Other".to_owned(), number.to_be_bytes());
    Draft {
        kind: 40,
        clock: clock(),
        person,
        refs: Vec::new(),
        body,
        nonce,
    }
}

/// Peak memory of this process in KiB, where the system tells it.
fn peak_kib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

fn write_and_read(records: u64) {
    let folder = tempfile::tempdir().unwrap();
    let key = LogKey::from_seed(&[1; 32]);
    let log = key.log_id();
    let range = SeqRange {
        log,
        first: 0,
        last: records - 1,
    };
    let plan = BundlePlan {
        label: "large".into(),
        person: String::new(),
        clock: clock(),
        nonce: [0; 8],
        ranges: [range].into_iter().collect::<RangeSet>(),
        records,
        frontier: Vec::new(),
    };
    let before = peak_kib();
    let mut head = LogHead::empty(log);
    let items = (0..records).map(|n| seal(&key, &mut head, draft(n)).map(SignedRecord::into_item));
    let go = &mut |_| ControlFlow::Continue(());
    let written =
        write_bundle::<_, _, Error>(&RealDisk, folder.path(), &key, &plan, items, go).unwrap();
    let file = File::open(&written.path).unwrap();
    let mut reader = BundleReader::new(file).threads(2);
    let mut next = 0;
    for event in &mut reader {
        match event {
            BundleEvent::Record(record) => {
                assert_eq!(record.seq(), next);
                next += 1;
            }
            BundleEvent::Header(header) => assert_eq!(header.records, records),
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(next, records);
    let report = reader.finish();
    assert!(report.is_whole(), "{report:?}");
    assert_eq!(report.bytes, written.bytes);
    assert!(report.broken_links.is_empty());
    if let (Some(before), Some(after)) = (before, peak_kib()) {
        let rise = after - before;
        assert!(
            written.bytes / 1024 > 2 * RISE_MAX_KIB,
            "too small to show anything"
        );

        assert!(rise <= RISE_MAX_KIB, "peak rose by {rise} KiB");
    }
}

#[test]
fn sixty_thousand_records_take_little_memory() {
    write_and_read(60_000);
}

#[test]
#[ignore = "takes a minute or two; run by hand"]
fn a_million_records_take_no_more() {
    write_and_read(1_000_000);
}
