//! The laws of merging by the million: random histories of small sets, every order of six bundles,
//! and what must not make a difference to anybody else.
//!
//! A history is put into one database within a transaction that is rolled back at its end, so that
//! it costs little more than its records. The quick counts run with the other tests. All of them,
//! on every core, with their number (`WINZE_SETS` takes another one, `WINZE_FROM` another first seed):
//!
//! ```text
//! cargo test --release -p winze-core --lib tests::orders -- --include-ignored --nocapture
//! ```

#![allow(
    clippy::disallowed_macros,
    clippy::disallowed_methods,
    reason = "the long runs tell their counts and are told theirs"
)]

use std::sync::atomic::{AtomicU64, Ordering};

use winze_sync_format::{
    ClockReading, ClockStatus, Draft, LogHead, LogId, LogKey, SignedRecord, seal,
};

use super::judged::kept_of;
use super::world::{Draw, World, number_from_environment};
use crate::Error;
use crate::record::{Body, RoundOpened};
use crate::store::database::Database;
use crate::store::facts::Own;
use crate::store::insert::Dirty;

/// Histories of each set in the long run.
const HISTORIES: u64 = 50;

/// Does something with an empty database and leaves it empty again.
fn emptied<T>(database: &Database, work: impl FnOnce() -> T) -> T {
    let mut done = None;
    let rolled_back = database.in_transaction(|| {
        done = Some(work());
        Err::<(), _>(Error::Stopped {
            reason: String::new(),
        })
    });
    assert!(rolled_back.is_err());
    done.unwrap()
}

/// What portions come to, everything worked out after each.
fn history<'a>(
    database: &Database,
    own: &Own,
    portions: impl Iterator<Item = &'a [&'a SignedRecord]>,
) -> String {
    emptied(database, || {
        let mut dirty = Dirty {
            trust: true,
            ..Dirty::default()
        };
        for portion in portions {
            for record in portion {
                database.put(record, &mut dirty).unwrap();
            }
            database.derive(own, std::mem::take(&mut dirty)).unwrap();
        }
        let mut dump = String::new();
        database.dump(&mut dump).unwrap();
        dump + &kept_of(database)
    })
}

fn all_at_once(database: &Database, own: &Own, records: &[SignedRecord]) -> String {
    let records: Vec<&SignedRecord> = records.iter().collect();
    history(database, own, std::iter::once(&records[..]))
}

fn shuffle<T>(list: &mut [T], draw: &mut Draw) {
    for n in (1..list.len()).rev() {
        list.swap(n, draw.below(n + 1));
    }
}

/// Random histories of one random set: any order, some records twice, in one to four portions.
fn histories_of(database: &Database, seed: u64, count: u64) {
    let mut draw = Draw::of(seed ^ 0x6869_7374);
    let world = World::of(seed, 8 + draw.below(12));
    let own = world.own();
    let expected = all_at_once(database, &own, &world.records);
    for n in 0..count {
        let mut order: Vec<&SignedRecord> = world.records.iter().collect();
        for _ in 0..draw.below(4) {
            order.push(&world.records[draw.below(world.records.len())]);
        }
        shuffle(&mut order, &mut draw);
        let portion = order.len().div_ceil(1 + draw.below(4));
        let found = history(database, &own, order.chunks(portion));
        assert!(
            found == expected,
            "history {n} of set {seed} gives another projection; again: WINZE_FROM={seed} WINZE_SETS=1"
        );
    }
}

/// Runs `work` for seeds from `from` on, on every core; says now and then how many are done.
fn on_every_core(from: u64, sets: u64, each: u64, work: impl Fn(&Database, u64) + Sync) {
    let (next, done) = (AtomicU64::new(from), AtomicU64::new(0));
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                let database = Database::in_memory().unwrap();
                loop {
                    let seed = next.fetch_add(1, Ordering::Relaxed);
                    if seed >= from + sets {
                        return;
                    }
                    work(&database, seed);
                    let done = done.fetch_add(1, Ordering::Relaxed) + 1;
                    if done.is_multiple_of(500) || done == sets {
                        println!("{} histories of {done} sets, all the same", done * each);
                    }
                }
            });
        }
    });
}

#[test]
fn histories_of_small_sets_give_the_same_projection() {
    let database = Database::in_memory().unwrap();
    for seed in 0..25 {
        histories_of(&database, seed, 6);
    }
}

#[test]
#[ignore = "a million histories"]
fn a_million_histories_give_the_same_projection() {
    let sets = number_from_environment("WINZE_SETS", 20_000);
    let from = number_from_environment("WINZE_FROM", 1_000_000);
    on_every_core(from, sets, HISTORIES, |database, seed| {
        histories_of(database, seed, HISTORIES);
    });
}

/// Six bundles of three logs: each log in two parts that overlap by one record.
fn six_bundles(world: &World) -> Vec<Vec<&SignedRecord>> {
    let mut logs: Vec<LogId> = world.records.iter().map(SignedRecord::log).collect();
    logs.sort_unstable();
    logs.dedup();
    let mut bundles = Vec::new();
    for log in logs {
        let of_log = |record: &&SignedRecord| record.log() == log;
        let mut records: Vec<&SignedRecord> = world.records.iter().filter(of_log).collect();
        records.sort_by_key(|record| record.reference());
        let cut = records.len() / 2;
        bundles.push(records[..=cut.min(records.len() - 1)].to_vec());
        bundles.push(records[cut..].to_vec());
    }
    assert_eq!(bundles.len(), 6);
    bundles
}

/// Every order of the numbers below `count`.
fn orders(count: usize) -> Vec<Vec<usize>> {
    let mut all = vec![Vec::new()];
    for _ in 0..count {
        all = all
            .into_iter()
            .flat_map(|order: Vec<usize>| {
                (0..count).filter_map(move |next| {
                    let mut longer = order.clone();
                    longer.push(next);
                    (!order.contains(&next)).then_some(longer)
                })
            })
            .collect();
    }
    all
}

/// Merges six bundles in an order, in two goes: the first `cut` bundles, then the others.
fn in_two_goes(
    database: &Database,
    own: &Own,
    bundles: &[Vec<&SignedRecord>],
    order: &[usize],
    cut: usize,
) -> String {
    let go = |part: &[usize]| -> Vec<&SignedRecord> {
        part.iter()
            .flat_map(|&n| bundles[n].iter().copied())
            .collect()
    };
    let goes = [go(&order[..cut]), go(&order[cut..])];
    history(database, own, goes.iter().map(Vec::as_slice))
}

#[test]
fn all_orders_of_six_bundles_give_the_same_projection() {
    let database = Database::in_memory().unwrap();
    let world = World::of(4711, 24);
    let (own, bundles) = (world.own(), six_bundles(&world));
    let expected = all_at_once(&database, &own, &world.records);
    let orders = orders(6);
    assert_eq!(orders.len(), 720);
    for (n, order) in orders.iter().enumerate() {
        let found = in_two_goes(&database, &own, &bundles, order, n % 6);
        assert!(
            found == expected,
            "order {order:?} in two goes at {}",
            n % 6
        );
    }
}

#[test]
#[ignore = "every order with every cut, of many sets"]
fn all_orders_of_six_bundles_with_every_cut_give_the_same_projection() {
    let sets = number_from_environment("WINZE_SETS", 40).min(40);
    let orders = orders(6);
    on_every_core(0, sets, 720 * 6, |database, seed| {
        let world = World::of(seed, 24);
        let (own, bundles) = (world.own(), six_bundles(&world));
        let expected = all_at_once(database, &own, &world.records);
        for order in &orders {
            for cut in 0..6 {
                let found = in_two_goes(database, &own, &bundles, order, cut);
                assert!(found == expected, "set {seed}, order {order:?}, cut {cut}");
            }
        }
    });
}

/// Lines of sections that are worked out from several records.
fn worked_out(dump: &str) -> Vec<&str> {
    let is_worked_out = |line: &&str| {
        ["trust\t", "station\t", "reading-state\t", "question\t"]
            .iter()
            .any(|section| line.starts_with(section))
    };
    dump.lines().filter(is_worked_out).collect()
}

/// Lines that do not mention a log.
fn without(dump: &str, log: LogId) -> Vec<&str> {
    let name = log.to_string();
    dump.lines().filter(|line| !line.contains(&name)).collect()
}

fn projection(database: &Database, own: &Own, records: &[SignedRecord]) -> String {
    emptied(database, || {
        let mut dirty = Dirty {
            trust: true,
            ..Dirty::default()
        };
        for record in records {
            database.put(record, &mut dirty).unwrap();
        }
        database.derive(own, dirty).unwrap();
        let mut dump = String::new();
        database.dump(&mut dump).unwrap();
        let states = "SELECT station || hex(state) FROM judged WHERE events > 0 ORDER BY station";
        let mut query = database.connection.prepare(states).unwrap();
        let states = query.query_map([], |row| row.get::<_, String>(0)).unwrap();
        for state in states {
            dump += "judged\t";
            dump += &state.unwrap();
            dump.push('\n');
        }
        dump
    })
}

/// Law 10: whatever logs say that nobody enrolled, nothing that counts is different for it, although
/// they enrol each other, revoke, answer, define the same stations and read them.
#[test]
fn what_nobody_enrolled_changes_nothing_that_counts() {
    let database = Database::in_memory().unwrap();
    let mut differ = 0;
    for seed in 0..60 {
        let (world, strangers) = (World::of(seed, 20), World::of(seed ^ 0x80, 30));
        let own = world.own();
        let before = projection(&database, &own, &world.records);
        let all = [&world.records[..], &strangers.records].concat();
        let after = projection(&database, &own, &all);
        assert_eq!(worked_out(&before), worked_out(&after), "set {seed}");
        let judged = |dump: &str| -> Vec<String> {
            let judged = dump.lines().filter(|line| line.starts_with("judged\t"));
            judged.map(str::to_owned).collect()
        };
        assert_eq!(judged(&before), judged(&after), "set {seed}");
        // Seen from among themselves they do count: the set has something to ignore.
        differ +=
            usize::from(!worked_out(&projection(&database, &strangers.own(), &all)).is_empty());
    }
    assert_eq!(differ, 60);
}

fn sealed(key: &LogKey, head: &mut LogHead, kind: u64, body: Vec<u8>) -> SignedRecord {
    let clock = ClockReading {
        wall_ms: 0,
        status: ClockStatus::HandSet,
        boot: [0; 16],
        monotonic_ms: 0,
    };
    let draft = Draft {
        kind,
        clock,
        person: String::new(),
        refs: Vec::new(),
        body,
        nonce: [0; 8],
    };
    seal(key, head, draft).unwrap()
}

/// Law 7: records of kinds that are not known here change nothing else.
#[test]
fn unknown_kinds_change_nothing_else() {
    let database = Database::in_memory().unwrap();
    for seed in 0..60_u64 {
        let world = World::of(seed, 20);
        let own = world.own();
        let before = projection(&database, &own, &world.records);
        let key = LogKey::from_seed(&[0xee; 32]);
        let mut head = LogHead::empty(key.log_id());
        let mut records = world.records.clone();
        for kind in [58, 59, 64, 1 << 20, u64::MAX] {
            let body = vec![0xa1, 0x01, 0x18, 0x2a];
            records.push(sealed(&key, &mut head, kind, body));
        }
        shuffle(&mut records, &mut Draw::of(seed));
        let after = projection(&database, &own, &records);
        assert_ne!(before, after);
        let before: Vec<&str> = before.lines().collect();
        assert_eq!(before, without(&after, key.log_id()), "set {seed}");
    }
}

/// Law 14: that one log was copied makes no difference to what is said of any other.
#[test]
fn a_fork_in_one_log_changes_no_other_logs_result() {
    let database = Database::in_memory().unwrap();
    for seed in 0..60 {
        let world = World::of(seed, 20);
        let own = world.own();
        let key = world.key(2);
        let before = projection(&database, &own, &world.records);
        let round = Body::RoundOpened(RoundOpened {
            title: "twin".to_owned(),
            stations: Vec::new(),
            utc_offset_minutes: 0,
        });
        // Where its second record was, another.
        let log = key.log_id();
        let first = world.records.iter().find(|record| record.log() == log);
        let mut head = LogHead::after(&first.unwrap().reference()).unwrap();
        let twin = sealed(
            key,
            &mut head,
            round.kind().number(),
            round.encode().unwrap(),
        );
        let records = [&world.records[..], &[twin]].concat();
        let after = projection(&database, &own, &records);
        assert_eq!(without(&before, log), without(&after, log), "set {seed}");
    }
}
