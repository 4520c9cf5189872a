//! What must hold for any bytes, over spoilt ones: the plain half of the fuzz targets of this crate,
//! the same in every run and on any machine. `tests/fuzz/run` is the half that searches.
//!
//! ```sh
//! cargo test --release -p winze-core --test fuzzed -- --include-ignored --nocapture
//! ```
#![allow(
    clippy::disallowed_macros,
    reason = "the counts are what the long run is for"
)]

mod records;
mod sheets;

/// A function that holds whatever it is given, or panics.
type Target = fn(&[u8]);

/// Most memory of this process in KiB: any input that makes it grow further fails the test.
const PEAK_KIB_MAX: u64 = 256 * 1024;

/// Numbers that look random and are the same in every run (`SplitMix64`, Steele et al. 2014).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        usize::try_from(z % (end.max(1) as u64)).expect("below a usize")
    }

    fn byte(&mut self) -> u8 {
        self.below(256).to_le_bytes()[0]
    }
}

/// Changes some bytes: one, a bit, a stretch taken out, doubled or moved.
fn spoil(bytes: &mut Vec<u8>, numbers: &mut Numbers) {
    const TELLING: &[u8] = b",;\t\"\r\n#-.0\xff\xe2\xa1\x18";
    let at = numbers.below(bytes.len());
    let end = at + numbers.below((bytes.len() - at).min(200) + 1);
    match numbers.below(7) {
        0 if at < bytes.len() => bytes[at] ^= 1 << numbers.below(8),
        1 if at < bytes.len() => bytes[at] = numbers.byte(),
        2 if at < bytes.len() => bytes[at] = TELLING[numbers.below(TELLING.len())],
        3 => drop(bytes.drain(at..end)),
        4 => {
            let copy = bytes[at..end].to_vec();
            let to = numbers.below(bytes.len() + 1);
            bytes.splice(to..to, copy);
        }
        5 => bytes.insert(at, numbers.byte()),
        _ if at < bytes.len() => bytes[at] = bytes[at].wrapping_add(1),
        _ => {}
    }
}

fn feed(name: &str, target: Target, seeds: &[Vec<u8>], numbers: std::ops::Range<u64>) {
    for seed in seeds {
        target(seed);
    }
    let count = numbers.end - numbers.start;
    for number in numbers {
        let mut numbers = Numbers(number);
        let mut bytes = seeds[numbers.below(seeds.len())].clone();
        for _ in 0..=numbers.below(6) {
            spoil(&mut bytes, &mut numbers);
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

/// Peak memory of this process in KiB, where the system tells it.
fn peak_kib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

#[test]
fn what_must_hold_holds_for_spoilt_bytes() {
    feed("sheet", sheets::sheet, &sheets::seeds(), 0..2_000);
    feed("projection", records::projection, &records::seeds(), 0..60);
}

#[test]
#[ignore = "some minutes; run by hand"]
fn what_must_hold_holds_for_very_many_spoilt_bytes() {
    feed(
        "sheet",
        sheets::sheet,
        &sheets::seeds(),
        1_000_000..1_200_000,
    );
    feed(
        "projection",
        records::projection,
        &records::seeds(),
        1_000_000..1_010_000,
    );
}
