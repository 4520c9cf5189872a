//! Power cuts over a tablet's and an office's day: nothing that was promised is missing on any image.
//!
//! The full count: `cargo test -p winze-power --test power_cuts -- --include-ignored --nocapture`

use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use winze_power::{Count, Kind, Plan, PowerDisk, record, run};

/// Images of the full count.
const FULL_IMAGES: u64 = 1_000_000;
const THREADS: usize = 2;

/// One day of each sort.
fn days(disk: &PowerDisk, seed: u64, plan: &Plan) -> Count {
    let mut count = Count::default();
    for kind in [Kind::Tablet, Kind::Office] {
        let day = record(disk, kind, seed).expect("a day on a sound disk");
        let plan = Plan { seed, ..*plan };
        let found = run(disk, &day, &plan);
        count.add(&found.unwrap_or_else(|broken| panic!("{kind:?}, seed {seed}: {broken:?}")));
    }
    count
}

#[test]
fn nothing_promised_is_lost_on_some_thousand_images() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let disk = PowerDisk::mount(folder.path());
    let plan = Plan {
        one_in: 8,
        ..Plan::POWER
    };
    let count = days(&disk, 0, &plan);
    assert!(count.opened >= 1_000 && count.went_on >= 50, "{count:?}");
    println!("{count:?}");
}

#[test]
fn nothing_promised_is_lost_where_there_is_no_write_ahead_log() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let disk = PowerDisk::mount(folder.path());
    disk.grant_wal(false);
    let plan = Plan {
        one_in: 16,
        ..Plan::POWER
    };
    let count = days(&disk, 0, &plan);
    assert!(count.opened >= 1_000, "{count:?}");
    println!("without a write-ahead log: {count:?}");
}

#[test]
#[ignore = "a quarter of an hour on two cores"]
fn nothing_promised_is_lost_on_a_million_images() {
    let (next, total) = (AtomicU64::new(0), Mutex::new(Count::default()));
    std::thread::scope(|scope| {
        for _ in 0..THREADS {
            scope.spawn(|| {
                let folder = tempfile::tempdir().expect("a temporary folder");
                let disk = PowerDisk::mount(folder.path());
                loop {
                    let seed = next.fetch_add(1, Ordering::Relaxed);
                    // A quarter of the days without a write-ahead log.
                    disk.grant_wal(seed % 4 != 3);
                    let count = days(&disk, seed, &Plan::POWER);
                    let mut total = total.lock().expect("no other thread failed");
                    total.add(&count);
                    println!("day {seed}: {} images so far, 0 lost", total.images);
                    if total.images >= FULL_IMAGES {
                        break;
                    }
                }
            });
        }
    });
    let total = total.into_inner().expect("no thread failed");
    println!(
        "power cuts: {} images of {} days, {} of them different and opened, {} of a second crash \
         during the start after the first, {} went on working: 0 acknowledged records lost, \
         0 logbooks unreadable\nby cut: {:?}\nmoments: {:?}",
        total.images,
        2 * next.load(Ordering::Relaxed),
        total.opened,
        total.twice,
        total.went_on,
        total.by_cut,
        total.moments
    );
}
