//! A process killed at any disk call of any operation: what reached the system stays, the rest of the
//! call under way is missing.
//!
//! The full count: `cargo test -p winze-power --test kills -- --include-ignored --nocapture`

use winze_power::{Count, Kind, Operation, Plan, PowerDisk, record, run};

/// Every operation, and who does it most.
const OPERATIONS: [(Operation, Kind); 10] = [
    (Operation::Create, Kind::Tablet),
    (Operation::Start, Kind::Tablet),
    (Operation::Entry, Kind::Tablet),
    (Operation::Draft, Kind::Tablet),
    (Operation::Pack, Kind::Office),
    (Operation::Merge, Kind::Office),
    (Operation::Answer, Kind::Office),
    (Operation::Checkpoint, Kind::Office),
    (Operation::Rebuild, Kind::Office),
    (Operation::Backup, Kind::Office),
];

/// Instants of one operation, over as many days as it takes.
fn instants(disk: &PowerDisk, operation: Operation, kind: Kind, least: u64) -> Count {
    let mut count = Count::default();
    for seed in 0.. {
        let day = record(disk, kind, seed).expect("a day on a sound disk");
        let plan = Plan {
            seed,
            only: Some(operation),
            ..Plan::KILL
        };
        let found = run(disk, &day, &plan);
        let found = found.unwrap_or_else(|broken| panic!("{operation:?}, seed {seed}: {broken:?}"));
        count.add(&found);
        if count.opened >= least {
            break;
        }
        assert!(seed < 5_000, "{operation:?} hardly happens: {count:?}");
    }
    count
}

fn every_operation(least: u64) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let disk = PowerDisk::mount(folder.path());
    for (operation, kind) in OPERATIONS {
        let count = instants(&disk, operation, kind, least);
        println!(
            "{operation:?}: killed at {} different instants ({} disk calls), 0 lost, 0 unreadable",
            count.opened,
            count.moments.values().sum::<u64>()
        );
    }
}

#[test]
fn every_operation_may_be_killed_at_some_hundred_instants() {
    every_operation(150);
}

#[test]
#[ignore = "five minutes"]
fn every_operation_may_be_killed_at_ten_thousand_instants() {
    every_operation(10_000);
}
