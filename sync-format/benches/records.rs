//! What a record costs, each next to the bare operation that it cannot do without.
//!
//! `cargo bench -p winze-sync-format`. Each figure is for one record of about 220 bytes, over a
//! run of 1,000.

use divan::Bencher;
use divan::counter::ItemsCount;
use ed25519_dalek::{Signer as _, SigningKey, VerifyingKey};
use sha2::{Digest as _, Sha256};
use winze_sync_format::canonical::{Encoder, Limits, scan};
use winze_sync_format::salvage::ItemScanner;
use winze_sync_format::{
    ClockReading, ClockStatus, Draft, LogHead, LogKey, SignedRecord, Verifier, parse_item, seal,
};

const RECORDS: usize = 1000;
const SEED: [u8; 32] = [1; 32];

fn main() {
    divan::main();
}

fn draft(number: usize) -> Draft {
    let status = ClockStatus::SetAtOffice;
    let clock = ClockReading {
        wall_ms: 1_800_000_000_000,
        status,
        boot: [3; 16],
        monotonic_ms: 1,
    };
    let text = format!("number {number}");
    let body = Encoder::new()
        .map(1)
        .key(0)
        .text(&text)
        .finish()
        .expect("a small body");
    Draft {
        kind: 40,
        clock,
        person: "A. Other".into(),
        refs: Vec::new(),
        body,
        nonce: [0; 8],
    }
}

fn log() -> Vec<SignedRecord> {
    let key = LogKey::from_seed(&SEED);
    let mut head = LogHead::empty(key.log_id());
    (0..RECORDS)
        .map(|n| seal(&key, &mut head, draft(n)).expect("a small record"))
        .collect()
}

fn items() -> Vec<Vec<u8>> {
    log().into_iter().map(SignedRecord::into_item).collect()
}

/// The payloads alone.
fn payloads() -> Vec<Vec<u8>> {
    log()
        .iter()
        .map(|record| record.record().encode().expect("it was encoded before"))
        .collect()
}

#[divan::bench]
fn seal_encode_hash_sign(bencher: Bencher<'_, '_>) {
    let key = LogKey::from_seed(&SEED);
    bencher.counter(ItemsCount::new(RECORDS)).bench(|| {
        let mut head = LogHead::empty(key.log_id());
        for number in 0..RECORDS {
            divan::black_box(seal(&key, &mut head, draft(number)).expect("a small record"));
        }
    });
}

#[divan::bench]
fn seal_baseline_sign_only(bencher: Bencher<'_, '_>) {
    let key = SigningKey::from_bytes(&SEED);
    let payloads = payloads();
    bencher.counter(ItemsCount::new(RECORDS)).bench(|| {
        for payload in &payloads {
            divan::black_box(key.sign(payload));
        }
    });
}

#[divan::bench]
fn open_scan_hash_verify(bencher: Bencher<'_, '_>) {
    let items = items();
    bencher.counter(ItemsCount::new(RECORDS)).bench(|| {
        let mut verifier = Verifier::default();
        for item in &items {
            let (parsed, _) = parse_item(item).expect("a good item");
            divan::black_box(verifier.verify(parsed).expect("a good signature"));
        }
    });
}

#[divan::bench]
fn open_baseline_verify_only(bencher: Bencher<'_, '_>) {
    let key = SigningKey::from_bytes(&SEED);
    let public = VerifyingKey::from(&key);
    let signed: Vec<_> = payloads().into_iter().map(|p| (key.sign(&p), p)).collect();
    bencher.counter(ItemsCount::new(RECORDS)).bench(|| {
        for (signature, payload) in &signed {
            let verdict = public.verify_strict(payload, signature);
            assert!(divan::black_box(verdict).is_ok());
        }
    });
}

#[divan::bench(args = [1, 2])]
fn stream_of_items(bencher: Bencher<'_, '_>, threads: usize) {
    let bytes = items().concat();
    bencher
        .counter(ItemsCount::new(RECORDS))
        .bench(|| divan::black_box(ItemScanner::new(&bytes[..]).threads(threads).count()));
}

#[divan::bench]
fn stream_of_items_already_held(bencher: Bencher<'_, '_>) {
    let bytes = items().concat();
    bencher
        .counter(ItemsCount::new(RECORDS))
        .bench(|| divan::black_box(ItemScanner::new(&bytes[..]).known(|_| true).count()));
}

#[divan::bench]
fn scan_and_hash(bencher: Bencher<'_, '_>) {
    let payloads = payloads();
    bencher.counter(ItemsCount::new(RECORDS)).bench(|| {
        for payload in &payloads {
            scan(payload, &Limits::RECORD).expect("a good payload");
            divan::black_box(Sha256::digest(payload));
        }
    });
}

#[divan::bench]
fn scan_baseline_hash_only(bencher: Bencher<'_, '_>) {
    let payloads = payloads();
    bencher.counter(ItemsCount::new(RECORDS)).bench(|| {
        for payload in &payloads {
            divan::black_box(Sha256::digest(payload));
        }
    });
}
