//! Bundles spoilt in every way that can be thought of, the same in every run: bits, spans, blocks,
//! whole items, and payloads changed and signed anew, so that what lies behind the signature check
//! is reached too.
#![allow(dead_code)]

use winze_sync_format::canonical::Encoder;
use winze_sync_format::{Draft, LogHead, MARK, RecordRef, SignedRecord, parse_item, seal};

use super::{ONE, TWO, bundle_of, draft, forge, key, log, log_id, string, wrap};

/// Numbers that look random and are the same in every run (splitmix64).
pub struct Numbers(pub u64);

impl Numbers {
    pub fn any(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `end`; 0 if there is none.
    pub fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.any() % (end.max(1) as u64)).unwrap_or(0)
    }

    pub fn byte(&mut self) -> u8 {
        self.any().to_le_bytes()[0]
    }

    pub fn one_in(&mut self, count: usize) -> bool {
        self.below(count) == 0
    }
}

/// A record whose body holds one of everything.
fn rich(log: [u8; 32], head: &mut LogHead, refs: Vec<RecordRef>) -> SignedRecord {
    let body = Encoder::new()
        .map(6)
        .key(0)
        .text("4.10 bar \u{2013} \u{202e}x")
        .key(1)
        .decimal("4.10".parse().unwrap())
        .key(2)
        .array(4)
        .int(-5)
        .bool(true)
        .null()
        .uint(u64::MAX)
        .key(23)
        .bytes(&MARK)
        .key(24)
        .map(1)
        .key(0)
        .array(0)
        .key(300)
        .int(i64::MIN)
        .finish()
        .unwrap();
    let draft = Draft {
        body,
        refs,
        ..draft("")
    };
    seal(&key(log), head, draft).unwrap()
}

/// An item of a newer version.
pub fn newer() -> Vec<u8> {
    let mut payload = vec![0xa5, 0, 2, 1, 0x18, 41, 2];
    payload.extend_from_slice(&string(&log_id(ONE).0));
    payload.extend_from_slice(&[3, 9, 4]);
    payload.extend_from_slice(&string(&[5; 32]));
    wrap(ONE, &payload)
}

/// Good bundles to start from: one log, two logs with gaps, a fork, everything that a body can
/// hold, and none.
pub fn starts() -> Vec<Vec<u8>> {
    let one = log(ONE, 6);
    let mut head = LogHead::after(&one[5].reference()).unwrap();
    let refs = vec![one[0].reference(), one[3].reference()];
    let rich = [
        rich(ONE, &mut head, refs.clone()),
        rich(ONE, &mut head, Vec::new()),
    ];
    let mut fork = one.clone();
    let mut head = LogHead::after(&one[2].reference()).unwrap();
    fork.push(seal(&key(ONE), &mut head, draft("otherwise")).unwrap());
    fork.sort_by_key(SignedRecord::reference);
    let mut both: Vec<_> = [&one[..2], &one[4..], &log(TWO, 3)].concat();
    both.sort_by_key(SignedRecord::reference);
    let starts: [&[SignedRecord]; 6] =
        [&one, &fork, &both, &rich, &[], &[&one[..], &rich].concat()];
    starts.map(bundle_of).to_vec()
}

/// The whole items of a sequence, and what is left behind the last.
pub fn items(bytes: &[u8]) -> Vec<Vec<u8>> {
    let (mut items, mut at) = (Vec::new(), 0);
    while let Ok((_, length)) = parse_item(&bytes[at..]) {
        items.push(bytes[at..at + length].to_vec());
        at += length;
    }
    items.push(bytes[at..].to_vec());
    items
}

/// The payload of a whole item.
pub fn payload(item: &[u8]) -> Option<&[u8]> {
    let head = match item.get(7)? {
        0x40..=0x57 => 1,
        0x58 => 2,
        0x59 => 3,
        _ => 5,
    };
    item.get(7 + head..item.len().checked_sub(66)?)
}

/// Changes some bytes, as a careless or a clever hand would.
pub fn spoil(bytes: &mut Vec<u8>, numbers: &mut Numbers) {
    let length = bytes.len();
    let at = numbers.below(length);
    let span = 1 + numbers.below(length - at).min(1 << numbers.below(11));
    let span = at..(at + span).min(length);
    match numbers.below(13) {
        0..=2 if length > 0 => bytes[at] ^= 1 << numbers.below(8),
        3 if length > 0 => bytes[at] = numbers.byte(),
        4 if length > 0 => {
            const TELLING: [u8; 12] = [
                0, 0x17, 0x18, 0x1b, 0x5f, 0x7f, 0x9f, 0xa0, 0xbf, 0xd2, 0xf6, 0xff,
            ];
            bytes[at] = TELLING[numbers.below(TELLING.len())];
        }
        5 if length > 0 => bytes[at] = bytes[at].wrapping_add(1 + numbers.byte() % 3),
        6 => bytes.truncate(at),
        7 => drop(bytes.drain(span)),
        8 => bytes[span].fill(0),
        9 => {
            let copy = bytes[span].to_vec();
            bytes.splice(at..at, copy);
        }
        10 => {
            let junk: Vec<u8> = (0..=numbers.below(20)).map(|_| numbers.byte()).collect();
            bytes.splice(at..at, junk);
        }
        11 => {
            let few = 1 + numbers.below(MARK.len());
            bytes.splice(at..at, MARK[..few].iter().copied());
        }
        12 => {
            // Two blocks change places.
            let size = 1 << numbers.below(10);
            let other = numbers.below(length / size) * size;
            let one = at / size * size;
            if one.max(other) + size <= length && one.abs_diff(other) >= size {
                for offset in 0..size {
                    bytes.swap(one + offset, other + offset);
                }
            }
        }
        _ => {}
    }
}

/// Spoils the payload of an item, as bytes or as a value, and signs it again, so that only its form
/// can betray it.
fn spoil_and_sign(item: &[u8], numbers: &mut Numbers) -> Option<Vec<u8>> {
    let mut new = payload(item)?.to_vec();
    for _ in 0..=numbers.below(2) {
        if numbers.one_in(3) {
            spoil(&mut new, numbers);
        } else {
            new = forge::change_one(&new, numbers);
        }
    }
    Some(forge::sign(&new))
}

/// A spoilt bundle; the same number gives the same one.
pub fn spoilt(starts: &[Vec<u8>], number: u64) -> Vec<u8> {
    let mut numbers = Numbers(number);
    let mut parts = items(&starts[numbers.below(starts.len())]);
    if numbers.one_in(3) {
        let _ = forge::forge(&mut parts, &mut numbers);
        if numbers.one_in(2) {
            return parts.concat();
        }
    }
    for _ in 0..numbers.below(3) {
        let at = numbers.below(parts.len());
        let to = numbers.below(parts.len());
        match numbers.below(8) {
            0 => parts.swap(at, to),
            1 => parts.insert(to, parts[at].clone()),
            2 => drop(parts.remove(at)),
            3 => parts.insert(to, newer()),
            4 => {
                let other = items(&starts[numbers.below(starts.len())]);
                parts.insert(to, other[numbers.below(other.len())].clone());
            }
            _ => {
                if let Some(item) = spoil_and_sign(&parts[at], &mut numbers) {
                    parts[at] = item;
                }
            }
        }
        if parts.is_empty() {
            break;
        }
    }
    let mut bytes = parts.concat();
    for _ in 0..numbers.below(4) {
        spoil(&mut bytes, &mut numbers);
    }
    bytes
}
