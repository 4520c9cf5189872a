//! Two readers, one verdict: this crate and the Python program of `reader/`, which shares no code
//! with it, over thousands of spoilt bundles, segments and values.
//!
//! They must agree on every record by its full name and in its order, on every piece of damage by
//! its place and length, on the state of the end, on what is missing, and on whether the whole is
//! whole. Where a form is broken in several ways, SPEC.md section 12 lets each name another class;
//! how often that happened is printed.
//!
//! ```sh
//! cargo test --release -p winze-sync-format --test two_readers -- --include-ignored --nocapture
//! ```
//!
//! It needs Python 3 and nothing else. Without it a test here says "not run" and passes; with
//! `WINZE_NEED_PYTHON` set it fails instead.
#![allow(
    clippy::disallowed_macros,
    reason = "the counts are what the long run is for"
)]

#[path = "../common/mod.rs"]
mod common;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

use winze_sync_format::canonical::{Limits, scan};
use winze_sync_format::salvage::Damage;
use winze_sync_format::segment::scan_segment;
use winze_sync_format::{NewerItem, SignedRecord, parse_item};

use common::mutate::{self, Numbers, spoil, spoilt, starts};
use common::{bytes_of, file, forge, log_with_attachment};

/// Classes of broken form, each of which may stand for another.
const FORM: [&str; 15] = [
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
    "form",
];

/// Runs the Python reader; `None`, said aloud, where there is no Python.
fn python(option: &str, path: &Path) -> Option<String> {
    let program = Path::new(env!("CARGO_MANIFEST_DIR")).join("reader/winze_reader.py");
    let mut command = Command::new("python3");
    match command
        .arg("-B")
        .arg(program)
        .arg(option)
        .arg(path)
        .output()
    {
        Ok(output) => {
            let said = String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success(), "{said}");
            Some(String::from_utf8(output.stdout).unwrap())
        }
        Err(error) => {
            assert!(
                std::env::var_os("WINZE_NEED_PYTHON").is_none(),
                "python3 cannot be started: {error}"
            );
            eprintln!("not run: the Python reader, because python3 cannot be started ({error})");
            None
        }
    }
}

fn names(records: &[SignedRecord], newer: &[NewerItem]) -> String {
    let records = records.iter().map(|record| record.reference().to_string());
    let newer = newer.iter().map(|item| item.reference.to_string());
    let list = |all: Vec<String>| all.join(" ");
    format!("{}|{}", list(records.collect()), list(newer.collect()))
}

fn pieces(damage: &[Damage]) -> String {
    let piece = |part: &Damage| format!("{}+{}:{}", part.offset, part.length, part.reason.class());
    damage.iter().map(piece).collect::<Vec<_>>().join(" ")
}

/// One line about a bundle, as the Python program writes it.
fn bundle_line(bytes: &[u8]) -> String {
    let found = common::read(bytes);
    let report = &found.report;
    let mut missing = Vec::new();
    for range in &report.missing {
        missing.push(format!(
            "{}:{}-{}",
            range.log.short(),
            range.first,
            range.last
        ));
    }
    format!(
        "{}|{}|{}|{}|{}",
        if report.is_whole() {
            "whole"
        } else {
            "damaged"
        },
        names(&found.records, &found.newer),
        pieces(&report.damage),
        report.trailer.class(),
        missing.join(" ")
    )
}

/// One line about a segment.
fn segment_line(bytes: &[u8]) -> String {
    let found = scan_segment(bytes);
    let whole = if found.damage.is_empty() {
        "whole"
    } else {
        "damaged"
    };
    let names = names(&found.records, &found.newer);
    format!("{whole}|{names}|{}|absent|", pieces(&found.damage))
}

/// The line with all classes of broken form made one.
fn without_form(line: &str) -> String {
    let mut parts: Vec<String> = line.split('|').map(str::to_owned).collect();
    if let Some(damage) = parts.get_mut(3) {
        let one = |piece: &str| match piece.split_once(':') {
            Some((place, class)) if FORM.contains(&class) => format!("{place}:form"),
            _ => piece.to_owned(),
        };
        *damage = damage.split(' ').map(one).collect::<Vec<_>>().join(" ");
    } else if FORM.contains(&line) {
        return "form".to_owned();
    }
    parts.join("|")
}

/// Compares line by line; returns how many differ in nothing but the class of a broken form.
fn compare(ours: &[String], theirs: &str, numbers: &dyn Fn(usize) -> u64) -> usize {
    let theirs: Vec<_> = theirs.lines().collect();
    assert_eq!(ours.len(), theirs.len());
    let mut other_class = 0;
    for (at, (ours, theirs)) in ours.iter().zip(theirs).enumerate() {
        let number = numbers(at);
        assert_eq!(without_form(ours), without_form(theirs), "number {number}");
        other_class += usize::from(ours != theirs);
    }
    other_class
}

/// Spoils so many bundles from a first number on and lets both readers read them.
fn both_read(count: u64, first: u64) {
    let starts = starts();
    let folder = tempfile::tempdir().unwrap();
    let mut ours = Vec::new();
    let (mut whole, mut records, mut damage) = (0, 0, 0);
    for number in first..first + count {
        let bytes = spoilt(&starts, number);
        // Every fourth is read as a segment.
        let (line, end) = if number % 4 == 3 {
            (segment_line(&bytes), "seg")
        } else {
            (bundle_line(&bytes), "winze")
        };
        whole += usize::from(line.starts_with("whole"));
        records += line
            .split('|')
            .nth(1)
            .map_or(0, |names| names.matches("8a88e3dd").count());
        damage += line
            .split('|')
            .nth(3)
            .map_or(0, |pieces| pieces.matches('+').count());
        ours.push(line);
        std::fs::write(folder.path().join(format!("{number:09}.{end}")), bytes).unwrap();
    }
    // A corpus of nothing but good or nothing but hopeless files would prove little.
    assert!(whole > 0 && whole < ours.len() / 2, "{whole} whole");
    assert!(damage > ours.len() / 2, "{damage} pieces of damage");
    let Some(theirs) = python("--facts", folder.path()) else {
        return;
    };
    let other = compare(&ours, &theirs, &|at| first + at as u64);
    println!(
        "two readers: {count} spoilt files, {whole} of them whole, some {records} records, {damage} \
         pieces of damage: agreed; {other} files with another class for a form broken twice"
    );
}

#[test]
fn both_read_spoilt_bundles_alike() {
    both_read(2_000, 0);
}

#[test]
#[ignore = "two or three minutes; run by hand"]
fn both_read_thousands_of_spoilt_bundles_alike() {
    both_read(50_000, 1_000_000);
}

/// What was cut from the start of each good bundle: payloads of every sort.
fn payloads() -> Vec<Vec<u8>> {
    let mut good = Vec::new();
    for start in starts() {
        for item in mutate::items(&start) {
            good.extend(mutate::payload(&item).map(<[u8]>::to_vec));
        }
    }
    good.extend(mutate::payload(&mutate::newer()).map(<[u8]>::to_vec));
    good
}

/// Spoils payloads and lets both judge them; `judge` is ours, `option` tells Python which.
fn both_judge(option: &str, count: u64, judge: impl Fn(&[u8]) -> &'static str) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("hex");
    let good = payloads();
    let (mut ours, mut text, mut sound) = (Vec::new(), String::new(), 0);
    for number in 0..count {
        let mut numbers = Numbers(number);
        let mut bytes = good[numbers.below(good.len())].clone();
        for _ in 0..=numbers.below(3) {
            if numbers.one_in(4) {
                spoil(&mut bytes, &mut numbers);
            } else {
                bytes = forge::change_one(&bytes, &mut numbers);
            }
        }
        let verdict = judge(&bytes);
        sound += usize::from(verdict == "ok");
        ours.push(verdict.to_owned());
        for byte in bytes {
            let _ = write!(text, "{byte:02x}");
        }
        text.push('\n');
    }
    assert!(sound > ours.len() / 50, "{sound} good ones");
    std::fs::write(&file, text).unwrap();
    let Some(theirs) = python(option, &file) else {
        return;
    };
    let other = compare(&ours, &theirs, &|at| at as u64);
    println!(
        "two readers: {count} of {option}, {sound} of them good: agreed; {other} with another class"
    );
}

/// Values, whose forms both scan.
#[test]
fn both_judge_spoilt_values_alike() {
    both_judge("--values", 20_000, |bytes| {
        scan(bytes, &Limits::RECORD).map_or_else(|error| error.class(), |()| "ok")
    });
}

/// Whole envelopes, and headers and trailers as far as they are envelopes.
#[test]
fn both_judge_spoilt_payloads_alike() {
    both_judge("--payloads", 60_000, |bytes| {
        let item = common::wrap_with(bytes, &[0; 64]);
        parse_item(&item).map_or_else(|error| error.class(), |_| "ok")
    });
}

/// The other reader puts an attachment together, and says what is wrong where it cannot.
#[test]
fn the_other_reader_puts_attachments_together() {
    let picture = file(5_000);
    let records = log_with_attachment(4, &picture, 2_048);
    let folder = tempfile::tempdir().unwrap();
    let states = |kept: &[SignedRecord]| -> Option<(String, Vec<Vec<u8>>)> {
        let (path, pictures) = (folder.path().join("a.seg"), tempfile::tempdir().unwrap());
        fs::write(&path, bytes_of(kept)).unwrap();
        let program = Path::new(env!("CARGO_MANIFEST_DIR")).join("reader/winze_reader.py");
        let mut command = Command::new("python3");
        command
            .arg("-B")
            .arg(program)
            .arg("--pictures")
            .arg(pictures.path())
            .arg(&path);
        let Ok(output) = command.output() else {
            assert!(std::env::var_os("WINZE_NEED_PYTHON").is_none());
            return None;
        };
        let written = fs::read_dir(pictures.path()).unwrap();
        let written = written.map(|entry| fs::read(entry.unwrap().path()).unwrap());
        let said = String::from_utf8(output.stdout).unwrap();
        let line = said.lines().find(|line| line.contains("\"attachment\""));
        Some((line.unwrap_or_default().to_owned(), written.collect()))
    };
    let Some((said, written)) = states(&records) else {
        return;
    };
    assert!(said.contains("\"whole\""), "{said}");
    assert_eq!(written, [picture]);
    // The last of its three chunks is not there.
    let mut torn = records.clone();
    torn.remove(records.len() - 2);
    let (said, written) = states(&torn).unwrap();
    assert!(said.contains("incomplete:1"), "{said}");
    assert!(written.is_empty());
}
