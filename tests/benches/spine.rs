//! What the main job costs, each step beside the bare work it cannot avoid, in one run.
//!
//! `cargo bench -p winze-tests`. Verdict per reading against a fixed-limit comparison; encode and
//! sign against the bare hash and the bare signature; merge of 100,000 records against the bare
//! strict signature checks, the bare hashes and the bare database inserts of the same bytes.

use std::path::{Path, PathBuf};
use std::sync::{Arc, LazyLock};

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use ed25519_dalek::{Signer, SigningKey, VerifyingKey};
use sha2::{Digest, Sha256};
use winze_core::Logbook;
use winze_core::actions::{PackFor, load_readings, load_register, merge_bundles, pack_bundle};
use winze_core::clock::{Clock, FixedClock};
use winze_core::record::Role;
use winze_core::sheet::ReadingRow;
use winze_core::verdict::judge;
use winze_sync_format::{ClockReading, ClockStatus, Draft, LogHead, LogKey, MARK, seal};
use winze_tests::samples;

const RECORDS: u32 = 100_000;
/// Bytes of the record that the signing benches use: the size of an ordinary reading.
const PAYLOAD_BYTES: usize = 300;

fn main() {
    divan::main();
}

#[divan::bench]
fn verdict_per_reading(bencher: Bencher) {
    let station = samples::station("T-07");
    let entry = samples::entry("10.2", "4.1", "2.0");
    bencher
        .counter(ItemsCount::new(1_u32))
        .bench(|| judge(black_box(&station), black_box(&entry)));
}

#[divan::bench]
fn verdict_baseline_fixed_limits(bencher: Bencher) {
    let values = [10.2_f64, 4.1, 2.0];
    let limits = [(9.0, 11.0), (3.6, 4.4), (1.8, 2.2)];
    bencher.counter(ItemsCount::new(1_u32)).bench(|| {
        black_box(values)
            .iter()
            .zip(black_box(limits))
            .filter(|(value, (low, high))| (*low..=*high).contains(*value))
            .count()
    });
}

fn draft() -> Draft {
    // A map with one byte string, so that the payload has the size of an ordinary reading.
    let filler = PAYLOAD_BYTES - 160;
    let mut body = vec![0xa1, 0x00, 0x58, u8::try_from(filler).expect("short")];
    body.resize(body.len() + filler, 0x55);
    Draft {
        kind: 40,
        clock: ClockReading {
            wall_ms: samples::MONDAY_MS,
            status: ClockStatus::SetAtOffice,
            boot: [1; 16],
            monotonic_ms: 1,
        },
        person: "tester".to_owned(),
        refs: Vec::new(),
        body,
        nonce: [7; 8],
    }
}

#[divan::bench]
fn seal_encode_hash_sign(bencher: Bencher) {
    let key = LogKey::from_seed(&[3; 32]);
    let mut head = LogHead::empty(key.log_id());
    bencher
        .counter(ItemsCount::new(1_u32))
        .with_inputs(draft)
        .bench_local_values(|draft| seal(&key, &mut head, draft));
}

#[divan::bench]
fn seal_baseline_bare_signature(bencher: Bencher) {
    let key = SigningKey::from_bytes(&[3; 32]);
    let payload = [0x55_u8; PAYLOAD_BYTES];
    bencher
        .counter(ItemsCount::new(1_u32))
        .bench(|| key.sign(black_box(&payload)));
}

#[divan::bench]
fn seal_baseline_bare_hash(bencher: Bencher) {
    let payload = [0x55_u8; PAYLOAD_BYTES];
    bencher
        .counter(ItemsCount::new(1_u32))
        .bench(|| Sha256::digest(black_box(payload)));
}

/// A bundle with 100,000 readings, and the same records taken apart for the baselines.
struct Load {
    folder: tempfile::TempDir,
    bundle: PathBuf,
    items: Vec<Vec<u8>>,
    signed: Vec<(Vec<u8>, ed25519_dalek::Signature, usize)>,
    keys: Vec<VerifyingKey>,
}

static LOAD: LazyLock<Load> = LazyLock::new(|| {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let clock: Arc<dyn Clock> = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let mut logbook = Logbook::create(
        &folder.path().join("tablet"),
        Role::Tablet,
        "tablet a",
        clock,
    )
    .expect("created");
    let stations = vec![samples::station("T-07")];
    load_register(&mut logbook, stations, "tester", &mut |_| true).expect("register");
    let rows = (0..RECORDS).map(|number| {
        let minutes = i64::from(number) * 5;
        let at = samples::MONDAY_MS - minutes * 60_000;
        ReadingRow {
            line: u64::from(number) + 2,
            ..samples::reading_row("T-07", at)
        }
    });
    load_readings(&mut logbook, rows, "tester", &mut |_| true).expect("readings");
    let stick = folder.path().join("stick");
    std::fs::create_dir(&stick).expect("a folder");
    let packed = pack_bundle(
        &mut logbook,
        &stick,
        PackFor::Everything,
        "tester",
        &mut |_| true,
    )
    .expect("packed");
    let (items, signed, keys) = take_apart(&packed.path);
    Load {
        folder,
        bundle: packed.path,
        items,
        signed,
        keys,
    }
});

type TakenApart = (
    Vec<Vec<u8>>,
    Vec<(Vec<u8>, ed25519_dalek::Signature, usize)>,
    Vec<VerifyingKey>,
);

fn take_apart(bundle: &Path) -> TakenApart {
    let bytes = std::fs::read(bundle).expect("the bundle is readable");
    let mut rest = &bytes[..bytes.len() - 9];
    let (mut items, mut signed, mut keys) = (Vec::new(), Vec::new(), Vec::<VerifyingKey>::new());
    while !rest.is_empty() {
        let (item, length) = winze_sync_format::parse_item(rest).expect("a whole item");
        let log = item.claimed().log;
        let key = keys
            .iter()
            .position(|key| key.as_bytes() == &log.0)
            .unwrap_or_else(|| {
                keys.push(VerifyingKey::from_bytes(&log.0).expect("a key"));
                keys.len() - 1
            });
        let (content, signature) = rest[..length]
            .split_last_chunk::<64>()
            .expect("long enough");
        // `Sig_structure` ends with the payload as it stands in the item, head included.
        let mut message = b"\x84\x6aSignature1\x43\xa1\x01\x32\x47winze/1".to_vec();
        message.extend_from_slice(&content[MARK.len()..content.len() - 2]);
        signed.push((
            message,
            ed25519_dalek::Signature::from_bytes(signature),
            key,
        ));
        items.push(rest[..length].to_vec());
        rest = &rest[length..];
    }
    (items, signed, keys)
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn merge_100000_records(bencher: Bencher) {
    let load = &*LOAD;
    let mut number = 0;
    bencher
        .counter(ItemsCount::new(RECORDS))
        .with_inputs(|| {
            number += 1;
            let clock: Arc<dyn Clock> = Arc::new(FixedClock::at(samples::MONDAY_MS));
            let dir = load.folder.path().join(format!("office-{number}"));
            Logbook::create(&dir, Role::Office, "office", clock).expect("created")
        })
        .bench_local_values(|mut office| {
            let report =
                merge_bundles(&mut office, std::slice::from_ref(&load.bundle), &mut |_| {
                    true
                });
            assert!(report.expect("merged").new_records() > u64::from(RECORDS));
        });
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn merge_100000_records_again(bencher: Bencher) {
    let load = &*LOAD;
    let clock: Arc<dyn Clock> = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let dir = load.folder.path().join("office-again");
    let mut office = Logbook::create(&dir, Role::Office, "office", clock).expect("created");
    merge_bundles(&mut office, std::slice::from_ref(&load.bundle), &mut |_| {
        true
    })
    .expect("merged");
    bencher.counter(ItemsCount::new(RECORDS)).bench_local(|| {
        let report = merge_bundles(&mut office, std::slice::from_ref(&load.bundle), &mut |_| {
            true
        });
        assert_eq!(report.expect("merged").new_records(), 0);
    });
}

#[divan::bench(sample_count = 3, sample_size = 1, args = [1, 2])]
fn merge_baseline_bare_signature_checks(bencher: Bencher, threads: usize) {
    let load = &*LOAD;
    bencher
        .counter(ItemsCount::new(load.signed.len()))
        .bench_local(|| {
            std::thread::scope(|scope| {
                for part in load.signed.chunks(load.signed.len().div_ceil(threads)) {
                    scope.spawn(move || {
                        for (message, signature, key) in part {
                            load.keys[*key]
                                .verify_strict(message, signature)
                                .expect("a good one");
                        }
                    });
                }
            });
        });
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn merge_baseline_bare_hashes(bencher: Bencher) {
    let load = &*LOAD;
    bencher
        .counter(ItemsCount::new(load.items.len()))
        .bench_local(|| {
            load.items
                .iter()
                .map(Sha256::digest)
                .fold(0_u8, |sum, d| sum ^ d[0])
        });
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn merge_baseline_bare_database_inserts(bencher: Bencher) {
    let load = &*LOAD;
    let mut number = 0;
    bencher
        .counter(ItemsCount::new(load.items.len()))
        .with_inputs(|| {
            number += 1;
            let path = load.folder.path().join(format!("bare-{number}.sqlite"));
            let database = rusqlite::Connection::open(path).expect("opened");
            database
                .execute_batch(
                    "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;
                     CREATE TABLE record (log INTEGER, seq INTEGER, id BLOB, item BLOB,
                                          PRIMARY KEY (log, seq, id)) WITHOUT ROWID;",
                )
                .expect("a table");
            database
        })
        .bench_local_values(|mut database| {
            for (first, part) in load.items.chunks(10_000).enumerate() {
                let transaction = database.transaction().expect("begun");
                let mut insert = transaction
                    .prepare("INSERT INTO record VALUES (1, ?, ?, ?)")
                    .expect("valid");
                for (number, item) in part.iter().enumerate() {
                    let id = Sha256::digest(item);
                    let seq = first * 10_000 + number;
                    insert
                        .execute((i64::try_from(seq).expect("small"), id.as_slice(), item))
                        .expect("inserted");
                }
                drop(insert);
                transaction.commit().expect("committed");
            }
        });
}
