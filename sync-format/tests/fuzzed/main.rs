//! What must hold for any bytes, over spoilt ones: the plain half of the fuzz targets, the same in
//! every run and on any machine. `tests/fuzz/run` of the workspace is the half that searches.
//!
//! ```sh
//! cargo test --release -p winze-sync-format --test fuzzed -- --include-ignored --nocapture
//! ```
#![allow(
    clippy::disallowed_macros,
    reason = "the counts are what the long run is for"
)]

#[path = "../common/mod.rs"]
mod common;

use std::path::Path;

use common::forge;
use common::mutate::{Numbers, spoil};
use common::peak_kib;
use common::targets::{TARGETS, Target, seeds};

/// Most memory of this process in KiB: any input that makes it grow further fails the test.
const PEAK_KIB_MAX: u64 = 256 * 1024;

fn feed(name: &str, target: Target, count: u64, first: u64) {
    let vectors = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/v1");
    let seeds = seeds(name, &vectors);
    assert!(seeds.len() >= 2, "{name}");
    for seed in &seeds {
        target(seed);
    }
    for number in first..first + count {
        let mut numbers = Numbers(number);
        let mut bytes = seeds[numbers.below(seeds.len())].clone();
        for _ in 0..=numbers.below(4) {
            // Behind the first byte, which tells some targets what the rest is.
            if numbers.one_in(2) && !bytes.is_empty() {
                let rest = forge::change_one(&bytes[1..], &mut numbers);
                bytes.truncate(1);
                bytes.extend(rest);
            } else {
                spoil(&mut bytes, &mut numbers);
            }
        }
        bytes.truncate(16 * 1024);
        let caught = std::panic::catch_unwind(|| target(&bytes));
        assert!(caught.is_ok(), "{name}, number {number}: {bytes:02x?}");
    }
    if let Some(peak) = peak_kib() {
        assert!(peak <= PEAK_KIB_MAX, "{name}: {peak} KiB");
    }
    println!("{name}: {} seeds and {count} inputs, all held", seeds.len());
}

#[test]
fn what_must_hold_holds_for_spoilt_bytes() {
    for (name, target) in TARGETS {
        feed(name, target, 1_000, 0);
    }
}

#[test]
#[ignore = "some minutes; run by hand"]
fn what_must_hold_holds_for_very_many_spoilt_bytes() {
    for (name, target) in TARGETS {
        feed(name, target, 100_000, 1_000_000);
    }
}
