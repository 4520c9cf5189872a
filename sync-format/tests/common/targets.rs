//! What must hold for any bytes whatever, one function a part of the crate. A plain test feeds them
//! spoilt vectors; the programs of `tests/fuzz` feed them what a coverage-guided search thinks up.

use std::io::{self, Read};

use sha2::{Digest as _, Sha256};
use winze_sync_format::bundle::{BundleEvent, BundleReader};
use winze_sync_format::canonical::{Limits, Reader, scan, scan_prefix, to_diagnostic};
use winze_sync_format::salvage::{Found, ItemScanner};
use winze_sync_format::segment::scan_segment;
use winze_sync_format::{Error, Opened, open_item, parse_item, peek_ref};

use super::{Claims, ONE, bytes_of, forge, log, mutate, part_payload, read, string, wrap};

/// A function that holds whatever it is given, or panics.
pub type Target = fn(&[u8]);

/// All of them, by name.
pub const TARGETS: [(&str, Target); 5] = [
    ("scanner", scanner),
    ("item", item),
    ("salvage", salvage),
    ("bundle", bundle),
    ("trailer", trailer),
];

/// Classes that bytes can have.
fn is_of_bytes(error: &Error) -> bool {
    !matches!(
        error,
        Error::EncoderMisuse { .. } | Error::Io { .. } | Error::LogFull { .. }
    )
}

/// The strict scan: what it takes has one form only, the cursor agrees, and a shorter or longer
/// piece of the same bytes is not taken.
pub fn scanner(data: &[u8]) {
    let verdict = scan(data, &Limits::RECORD);
    let mut cursor = Reader::new(data);
    let other = cursor.skip().and_then(|()| cursor.finish());
    // The cursor has no limit of length.
    if data.len() <= Limits::RECORD.total_bytes {
        let class = |outcome: &Result<(), Error>| outcome.as_ref().err().map(Error::class);
        assert_eq!(class(&verdict), class(&other));
    }
    match verdict {
        Ok(()) => {
            let value = forge::decode(data).expect("another decoder reads it too");
            assert_eq!(forge::encode(&value), data, "it has one form only");
            assert!(to_diagnostic(data).is_ok());
            for end in [0, data.len() / 2, data.len() - 1] {
                let cut = scan(&data[..end], &Limits::RECORD);
                assert!(matches!(cut, Err(Error::Truncated { .. })), "{cut:?}");
            }
            let more = [data, &[0]].concat();
            assert!(scan(&more, &Limits::RECORD).is_err());
        }
        Err(error) => assert!(is_of_bytes(&error), "{error:?}"),
    }
    if let Ok(length) = scan_prefix(data, &Limits::RECORD) {
        assert!(scan(&data[..length], &Limits::RECORD).is_ok());
    }
}

/// Reading one item. An odd first byte: the rest is a payload, which is signed first.
pub fn item(data: &[u8]) {
    let Some((&how, rest)) = data.split_first() else {
        return;
    };
    let bytes = if how % 2 == 1 {
        forge::sign(rest)
    } else {
        rest.to_vec()
    };
    let peeked = peek_ref(&bytes);
    match open_item(&bytes) {
        Ok((opened, length)) => {
            assert_eq!(opened.item(), &bytes[..length]);
            let payload = mutate::payload(opened.item()).expect("an item has one");
            let reference = opened.reference();
            assert_eq!(reference.id.0, <[u8; 32]>::from(Sha256::digest(payload)));
            if let Opened::Record(record) = &opened {
                assert_eq!(record.record().encode().expect("it was read"), payload);
                assert!(scan(payload, &Limits::RECORD).is_ok());
            }
            assert_eq!(
                peeked.expect("a whole item has a name"),
                (reference, length)
            );
            for end in [0, 3, 8, length / 2, length - 1] {
                let cut = open_item(&bytes[..end]);
                assert!(matches!(cut, Err(Error::Truncated { .. })), "{cut:?}");
            }
            let mut other = bytes.clone();
            other[usize::from(how) % length] ^= 1 << (how >> 5);
            assert!(open_item(&other).is_err(), "a flipped bit");
        }
        Err(error) => assert!(is_of_bytes(&error), "{error:?}"),
    }
    if how % 2 == 1 {
        // The signature is good, so nothing but the form can keep it out.
        let named = matches!(
            open_item(&bytes),
            Err(Error::BadSignature { .. } | Error::BadKey { .. })
        );
        assert!(parse_item(&bytes).is_ok() || !named);
    }
}

/// Gives one byte, then two, then three, ...
struct Slow<'a>(&'a [u8], usize);

impl Read for Slow<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        self.1 += 1;
        let count = self.1.min(out.len());
        self.0.read(&mut out[..count])
    }
}

/// Where each thing found starts and how long it is; they lie side by side from 0 to the end.
fn assert_covers(found: &[Found], total: usize) {
    let mut at = 0;
    for part in found {
        let (offset, length) = match part {
            Found::Record { offset, record, .. } => (*offset, record.item().len() as u64),
            Found::Newer { offset, newer } => (*offset, newer.item.len() as u64),
            Found::Hint { offset, .. } => (*offset, 9),
            Found::Damage(damage) => (damage.offset, damage.length),
            Found::Held { .. } => unreachable!("nothing is held"),
        };
        assert_eq!(offset, at);
        at += length;
    }
    assert_eq!(at, total as u64);
}

/// Salvage: every byte is accounted for, small reads and threads change nothing, and a good record
/// put in anywhere is found.
pub fn salvage(data: &[u8]) {
    let found: Vec<_> = ItemScanner::new(data).collect();
    assert_covers(&found, data.len());
    assert!(ItemScanner::new(Slow(data, 0)).eq(found.iter().cloned()));
    assert!(ItemScanner::new(data).threads(3).eq(found.iter().cloned()));
    let segment = scan_segment(data);
    assert_eq!(segment.bytes, data.len() as u64);

    let good = log([4; 32], 1).remove(0);
    let at = data.first().map_or(0, |&first| usize::from(first)) * data.len() / 255;
    let with = [&data[..at], good.item(), &data[at..]].concat();
    let is_good = |found: Found| matches!(found, Found::Record { record, .. } if record == good);
    let times = ItemScanner::new(&with[..])
        .filter(|found| is_good(found.clone()))
        .count();
    assert!(times > 0, "a good record at {at} was passed over");
}

/// The bundle reader: its counts are those of what it gave out, what is missing was not found, and
/// only one thing in the world is whole: header, items, trailer, closing number.
pub fn bundle(data: &[u8]) {
    let mut reader = BundleReader::new(data);
    let (mut records, mut newer, mut headers) = (Vec::new(), 0, 0);
    for event in &mut reader {
        match event {
            BundleEvent::Record(record) => records.push(record),
            BundleEvent::Newer(_) => newer += 1,
            BundleEvent::Header(_) => headers += 1,
            BundleEvent::Damage(_) => {}
            BundleEvent::Held(name) => unreachable!("nothing is held: {name:?}"),
        }
    }
    let report = reader.finish();
    assert_eq!(report.bytes, data.len() as u64);
    assert_eq!(report.records, records.len() as u64 + newer);
    assert!(headers <= 1);
    for record in &records {
        let here = |range: &&winze_sync_format::bundle::SeqRange| {
            range.log == record.log() && (range.first..=range.last).contains(&record.seq())
        };
        assert_eq!(report.missing.iter().find(here), None);
        assert!(open_item(record.item()).is_ok());
    }
    let mut scattered = BundleReader::new(Slow(data, 0)).threads(2);
    let again = scattered
        .by_ref()
        .filter(|event| matches!(event, BundleEvent::Record(_)));
    assert_eq!(again.count(), records.len());
    assert_eq!(scattered.finish(), report);
    if report.is_whole() {
        let parts = mutate::items(data);
        assert_eq!(parts.len() as u64, report.records + 3);
        assert_eq!(parts[parts.len() - 1].len(), super::HINT_BYTES);
        for end in [0, data.len() / 2, data.len() - 1] {
            assert!(!read(&data[..end]).report.is_whole());
        }
    }
}

/// Bodies of headers and trailers, well signed and in their place. An odd first byte: the header.
pub fn trailer(data: &[u8]) {
    let Some((&how, body)) = data.split_first() else {
        return;
    };
    let records = log(ONE, 2);
    let honest = Claims::honest(&records).around(&bytes_of(&records));
    let mut parts = mutate::items(&honest);
    let last = parts.len() - 2;
    if how % 2 == 0 {
        let own = body_of(&parts[last]);
        parts[last] = wrap(ONE, &part_payload(ONE, 2, body));
        let found = read(&parts.concat());
        assert_eq!(found.records, records);
        assert_eq!(found.report.is_whole(), body == own);
        return;
    }
    let header = part_payload(ONE, 1, body);
    parts[0] = wrap(ONE, &header);
    let before = parts[..last].concat();
    let mut own = body_of(&parts[last]);
    // The trailer of this very header: its hash, its length, and the hash of it all.
    let ranges = own[own.len() - ranges_length()..].to_vec();
    own = vec![0xa5, 0];
    own.extend(string(&Sha256::digest(&header)));
    own.extend([1, 2, 2]);
    own.extend(super::head(0, before.len() as u64));
    own.push(3);
    own.extend(string(&Sha256::digest(&before)));
    own.push(4);
    own.extend(&ranges);
    parts[last] = wrap(ONE, &part_payload(ONE, 2, &own));
    let end = parts.len() - 1;
    parts[end][1..].copy_from_slice(&(before.len() as u64).to_be_bytes());
    let found = read(&parts.concat());
    assert_eq!(found.records, records);
    if found.report.is_whole() {
        // Label and frontier are the exporter's to choose, the rest is not.
        assert!(body.windows(ranges.len()).any(|part| part == ranges));
        let header = found.report.header.expect("a whole bundle has one");
        assert_eq!((header.records, header.ranges.count()), (2, 2));
    }
}

/// `[[log, [0, 1]]]`
fn ranges_length() -> usize {
    1 + 1 + 34 + 3
}

/// The body within a header or trailer made by this folder's functions.
pub fn body_of(item: &[u8]) -> Vec<u8> {
    let payload = mutate::payload(item).expect("an item has one");
    let (front, back) = (part_payload(ONE, 1, &[]).len() - 10, 10);
    payload[front..payload.len() - back].to_vec()
}

/// What to start from: the bytes of all vectors, and for the targets with a first byte of their
/// own, what lies inside good ones.
pub fn seeds(target: &str, vectors: &std::path::Path) -> Vec<Vec<u8>> {
    let mut all = Vec::new();
    let names = std::fs::read_dir(vectors).expect("the vectors");
    let mut paths: Vec<_> = names.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    for path in paths {
        let text = std::fs::read_to_string(path).expect("a vector");
        let Some((head, body)) = text.split_once("\n\n") else {
            continue;
        };
        let digits: String = body.split_whitespace().collect();
        let bytes = super::unhex(&digits);
        let of = |kind: &str| head.contains(&format!("\nof: {kind}\n"));
        match target {
            "scanner" if of("value") => all.push(bytes),
            "scanner" if of("item") => all.extend(mutate::payload(&bytes).map(<[u8]>::to_vec)),
            "item" if of("item") => {
                all.extend(mutate::payload(&bytes).map(|payload| [&[1], payload].concat()));
                all.push([&[0], &bytes[..]].concat());
            }
            "salvage" | "bundle" if of("bundle") || of("segment") => all.push(bytes),
            _ => {}
        }
    }
    if target == "trailer" {
        let records = log(ONE, 2);
        let honest = Claims::honest(&records).around(&bytes_of(&records));
        let parts = mutate::items(&honest);
        all.push([&[1], &body_of(&parts[0])[..]].concat());
        all.push([&[0], &body_of(&parts[parts.len() - 2])[..]].concat());
    }
    all.retain(|seed| seed.len() <= 8192);
    all
}
