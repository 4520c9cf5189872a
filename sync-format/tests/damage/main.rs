//! Exhaustive damage: every bit, every cut, every pattern of lost blocks. What is untouched is
//! found, nothing false is found, and what is lost is named.
//!
//! A part that takes seconds runs with the other tests. All of it, with its counts (a minute or two
//! on two cores):
//!
//! ```sh
//! cargo test --release -p winze-sync-format --test damage -- --include-ignored --nocapture
//! ```
//!
//! Most records of a damaged file are byte for byte what they were, and a signature over the same
//! bytes has the same answer. So the reader is told that the caller holds the untouched records;
//! it reads, hashes and names them all the same, and checks every signature of what was touched.
#![allow(
    clippy::disallowed_macros,
    reason = "the counts are what the long runs are for"
)]

mod blocks;
mod bytes;
#[path = "../common/mod.rs"]
mod common;

use std::ops::Range;

use winze_sync_format::bundle::{BundleEvent, BundleReader, BundleReport};
use winze_sync_format::{SignedRecord, parse_item};

use common::{ONE, bundle_of, file, log, log_with_attachment};

/// The attachment of the bundle that has one, and where it is cut: the second chunk is the short one.
const FILE_BYTES: usize = 5_000;
const CHUNK_BYTES: usize = 4_096;

/// A whole bundle and where its records stand.
struct Good {
    records: Vec<SignedRecord>,
    bytes: Vec<u8>,
    header: Range<usize>,
    places: Vec<Range<usize>>,
}

impl Good {
    /// A bundle of so many records of one log, their places from 0.
    fn of(count: usize) -> Self {
        Self::with(log(ONE, count))
    }

    /// A bundle of so many records, the last three of them a file in two chunks and what names it.
    fn with_attachment(count: usize) -> Self {
        let records = log_with_attachment(count - 3, &file(FILE_BYTES), CHUNK_BYTES);
        assert_eq!(records.len(), count);
        Self::with(records)
    }

    fn with(records: Vec<SignedRecord>) -> Self {
        let count = records.len();
        let bytes = bundle_of(&records);
        let header = 0..parse_item(&bytes).unwrap().1;
        let mut at = header.end;
        let places: Vec<_> = records
            .iter()
            .map(|record| {
                let place = at..at + record.item().len();
                at = place.end;
                place
            })
            .collect();
        assert!(at < bytes.len());
        let good = Self {
            records,
            bytes,
            header,
            places,
        };
        let (found, report) = good.read(&good.bytes, |_| true);
        assert!(report.is_whole());
        assert_eq!(found, (0..count).collect::<Vec<_>>());
        good
    }

    /// Reads damaged bytes and returns the places found, in the order of the file. Every record
    /// is one of those that were packed, to the last byte, or this panics. Of the records that
    /// `untouched` names, only the hash is checked.
    fn read(&self, bad: &[u8], untouched: impl Fn(usize) -> bool) -> (Vec<usize>, BundleReport) {
        let place = |seq: u64| {
            usize::try_from(seq)
                .ok()
                .filter(|&at| at < self.records.len())
        };
        let mut reader = BundleReader::new(bad).known(|name| {
            place(name.seq).is_some_and(|at| untouched(at) && self.records[at].reference() == *name)
        });
        let mut found = Vec::new();
        for event in &mut reader {
            match event {
                BundleEvent::Held(name) => found.push(place(name.seq).unwrap()),
                BundleEvent::Record(record) => {
                    let at = place(record.seq()).expect("a place that was never packed");
                    assert_eq!(record, self.records[at], "a record that was never packed");
                    found.push(at);
                }
                BundleEvent::Newer(newer) => panic!("out of nothing: {newer:?}"),
                BundleEvent::Header(_) | BundleEvent::Damage(_) => {}
            }
        }
        (found, reader.finish())
    }

    /// Which record a byte belongs to; none for header, trailer and closing number.
    fn owner(&self, byte: usize) -> Option<usize> {
        let at = self.places.partition_point(|place| place.end <= byte);
        (self.places.get(at)?.start <= byte).then_some(at)
    }
}

/// Runs `one` for every number below `count`, on two threads, and adds up what it returns.
fn sum_of<const N: usize>(count: usize, one: impl Fn(usize) -> [u64; N] + Sync) -> [u64; N] {
    let half = |first: usize| {
        let mut sum = [0; N];
        for number in (first..count).step_by(2) {
            for (total, part) in sum.iter_mut().zip(one(number)) {
                *total += part;
            }
        }
        sum
    };
    let halves = std::thread::scope(|scope| {
        let half = &half;
        [0, 1]
            .map(|first| scope.spawn(move || half(first)))
            .map(|thread| thread.join().unwrap())
    });
    std::array::from_fn(|at| halves[0][at] + halves[1][at])
}
