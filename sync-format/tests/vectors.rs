//! Checks the frozen vectors with the public interface of this crate alone; also an example of
//! how items, segments and bundles are read. Never writes a vector.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use sha2::{Digest as _, Sha256};
use winze_sync_format::bundle::read_bundle;
use winze_sync_format::canonical::{Limits, scan};
use winze_sync_format::salvage::Damage;
use winze_sync_format::segment::scan_segment;
use winze_sync_format::{Error, Opened, open_item};

type Facts = BTreeMap<String, String>;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/v1")
}

fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .fold(String::new(), |text, byte| text + &format!("{byte:02x}"))
}

fn unhex(text: &str) -> Vec<u8> {
    let digits: String = text.split_whitespace().collect();
    let byte = |at| u8::from_str_radix(&digits[at..at + 2], 16).unwrap();
    (0..digits.len()).step_by(2).map(byte).collect()
}

fn facts<const N: usize>(pairs: [(&str, String); N]) -> Facts {
    pairs
        .into_iter()
        .map(|(name, value)| (name.to_owned(), value))
        .collect()
}

fn value(bytes: &[u8]) -> Facts {
    let verdict = scan(bytes, &Limits::RECORD);
    facts([(
        "expect",
        verdict
            .map_or_else(|error| error.class(), |()| "ok")
            .to_owned(),
    )])
}

fn open_all(bytes: &[u8]) -> Result<Opened, Error> {
    let (opened, offset) = open_item(bytes)?;
    match bytes.len() - offset {
        0 => Ok(opened),
        count => Err(Error::TrailingBytes { offset, count }),
    }
}

fn item(bytes: &[u8]) -> Facts {
    let opened = match open_all(bytes) {
        Ok(opened) => opened,
        Err(error) => return facts([("expect", error.class().to_owned())]),
    };
    let reference = opened.reference();
    let verdict = if matches!(opened, Opened::Record(_)) {
        "ok"
    } else {
        "newer"
    };
    assert_eq!(opened.item(), bytes);
    facts([
        ("expect", verdict.to_owned()),
        ("log", reference.log.to_string()),
        ("seq", reference.seq.to_string()),
        ("id", reference.id.to_string()),
    ])
}

fn damage(parts: &[Damage]) -> String {
    let shown: Vec<_> = parts
        .iter()
        .map(|part| format!("{}+{}:{}", part.offset, part.length, part.reason.class()))
        .collect();
    shown.join(" ")
}

fn segment(bytes: &[u8]) -> Facts {
    let found = scan_segment(bytes);
    assert_eq!(found.bytes, bytes.len() as u64);
    facts([
        (
            "expect",
            if found.damage.is_empty() {
                "whole"
            } else {
                "damaged"
            }
            .to_owned(),
        ),
        ("records", found.records.len().to_string()),
        ("newer", found.newer.len().to_string()),
        ("damage", damage(&found.damage)),
    ])
}

fn bundle(bytes: &[u8]) -> Facts {
    let bundle = read_bundle(bytes);
    let report = &bundle.report;
    assert_eq!(report.bytes, bytes.len() as u64);
    assert_eq!(
        report.records,
        (bundle.records.len() + bundle.newer.len()) as u64
    );
    let missing: Vec<_> = report
        .missing
        .iter()
        .map(|range| format!("{}:{}-{}", range.log.short(), range.first, range.last))
        .collect();
    facts([
        (
            "expect",
            if report.is_whole() {
                "whole"
            } else {
                "damaged"
            }
            .to_owned(),
        ),
        ("records", bundle.records.len().to_string()),
        ("newer", bundle.newer.len().to_string()),
        ("damage", damage(&report.damage)),
        ("trailer", report.trailer.class().to_owned()),
        ("missing", missing.join(" ")),
    ])
}

fn vector_names() -> Vec<String> {
    let entries = fs::read_dir(folder()).unwrap();
    let mut names: Vec<_> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.retain(|name| name != "SHA256SUMS");
    names.sort();
    names
}

#[test]
fn every_vector_is_read_as_it_says() {
    let names = vector_names();
    assert!(names.len() >= 326, "{} vectors", names.len());
    let mut wrong = Vec::new();
    for name in names {
        let text = fs::read_to_string(folder().join(&name)).unwrap();
        let (head, body) = text.split_once("\n\n").unwrap();
        let mut lines = head.lines();
        assert_eq!(lines.next(), Some("winze vector"), "{name}");
        let mut said: Facts = lines
            .map(|line| {
                line.split_once(':')
                    .unwrap_or_else(|| panic!("{name}: {line}"))
            })
            .map(|(key, value)| (key.to_owned(), value.trim().to_owned()))
            .collect();
        assert!(
            said.remove("about").is_some_and(|about| !about.is_empty()),
            "{name}"
        );
        let bytes = unhex(body);
        let found = match said.remove("of").as_deref() {
            Some("value") => value(&bytes),
            Some("item") => item(&bytes),
            Some("segment") => segment(&bytes),
            Some("bundle") => bundle(&bytes),
            other => panic!("{name}: {other:?}"),
        };
        if said != found {
            wrong.push(format!("{name}: says {said:?}, found {found:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_vector_was_changed_or_forgotten() {
    let sums = fs::read_to_string(folder().join("SHA256SUMS")).unwrap();
    let pinned: Vec<_> = sums
        .lines()
        .map(|line| line.split_once("  ").unwrap())
        .collect();
    let names: Vec<_> = pinned.iter().map(|(_, name)| (*name).to_owned()).collect();
    assert_eq!(names, vector_names());
    for (sum, name) in pinned {
        let digest = Sha256::digest(fs::read(folder().join(name)).unwrap());
        assert_eq!(hex(&digest), sum, "{name}");
    }
}

/// Broken vectors outnumber good ones, and each class of form error that bytes can have occurs.
#[test]
fn every_class_of_failure_has_a_vector() {
    let mut seen = BTreeMap::<String, usize>::new();
    for name in vector_names() {
        let text = fs::read_to_string(folder().join(&name)).unwrap();
        let expect = text
            .lines()
            .find_map(|line| line.strip_prefix("expect: "))
            .unwrap();
        *seen.entry(expect.to_owned()).or_default() += 1;
    }
    let good: usize = ["ok", "whole", "newer"]
        .iter()
        .filter_map(|class| seen.get(*class))
        .sum();
    assert!(seen.values().sum::<usize>() > 3 * good, "{seen:?}");
    for class in [
        "truncated",
        "trailing-bytes",
        "not-shortest",
        "indefinite",
        "not-allowed",
        "key-not-uint",
        "key-order",
        "too-deep",
        "too-long",
        "bad-utf8",
        "out-of-range",
        "wrong-type",
        "wrong-key",
        "wrong-count",
        "bad-field",
        "not-an-item",
        "bad-key",
        "bad-signature",
    ] {
        assert!(seen.contains_key(class), "{class}");
    }
}
