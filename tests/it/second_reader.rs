//! The Python reader of `sync-format/reader`, which shares no code with the crate, over the frozen
//! vectors and over what the program really writes.
//!
//! It needs Python 3 and nothing else. Without it a test here says "not run" on standard error and
//! passes; with `WINZE_NEED_PYTHON` set, as `.ci/run` does, it fails instead.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;
use winze_tests::command::Ran;

/// Set where Python must be there.
const NEED: &str = "WINZE_NEED_PYTHON";

fn format_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../sync-format")
}

/// Runs the reader; `None`, said aloud, where there is no Python.
fn reader(arguments: &[&Path]) -> Option<Output> {
    let program = format_folder().join("reader/winze_reader.py");
    let mut command = Command::new("python3");
    match command.arg("-B").arg(program).args(arguments).output() {
        Ok(output) => Some(output),
        Err(error) => {
            assert!(
                std::env::var_os(NEED).is_none(),
                "python3 cannot be started ({error}), and {NEED} asks for it"
            );
            // Past the harness, which keeps what a passing test prints to itself.
            let _ = writeln!(
                std::io::stderr(),
                "not run: the Python reader, because python3 cannot be started ({error})"
            );
            None
        }
    }
}

fn text(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

/// The last line the reader prints about each file.
fn facts(output: &Output) -> Vec<Value> {
    String::from_utf8_lossy(&output.stdout)
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter(|line| line.get("file").is_some())
        .collect()
}

/// Checks each bundle of a demo against what its summary says of it.
pub(crate) fn agrees_on_bundles(demo: &Path, summary: &Value) {
    let bundles = summary["bundles"].as_array().expect("a list");
    for bundle in bundles {
        let file = demo.join(bundle["file"].as_str().expect("a file"));
        let Some(output) = reader(&[&file]) else {
            return;
        };
        let found = facts(&output);
        assert_eq!(found.len(), 1, "{}", text(&output));
        let is_whole = bundle["state"] == "whole";
        assert_eq!(found[0]["whole"], is_whole, "{}", text(&output));
        assert_eq!(output.status.code(), Some(i32::from(!is_whole)));
        // The summary counts what was packed; the damaged one lost some of it.
        let lost = summary["merge"]["lost"].as_array().map_or(0, Vec::len);
        let packed = bundle["records"].as_u64().expect("a number");
        let expected = if is_whole {
            packed
        } else {
            packed - lost as u64
        };
        assert_eq!(
            found[0]["records"],
            expected.to_string(),
            "{}",
            text(&output)
        );
    }
}

/// Out of every bundle of a demo, the damaged one too, the reader gets the readings that the program
/// gets: the same records by their ids, and in them the same figures, digit for digit.
pub(crate) fn finds_every_reading(winze: &dyn Fn(&[&str]) -> Ran, demo: &Path, summary: &Value) {
    let (mut readings, mut out_of_damaged) = (0, 0);
    for bundle in summary["bundles"].as_array().expect("a list") {
        let file = demo.join(bundle["file"].as_str().expect("a file"));
        let Some(output) = reader(&[&file]) else {
            return;
        };
        let said = String::from_utf8_lossy(&output.stdout);
        let theirs: BTreeMap<String, Vec<String>> = objects(&said)
            .filter(|record| record["envelope"]["1"] == READING)
            .map(|record| {
                let mut figures = Vec::new();
                decimals(&record["envelope"]["9"], &mut figures);
                figures.sort();
                (record["id"].as_str().expect("an id").to_owned(), figures)
            })
            .collect();
        let shown = winze(&["show", &file.display().to_string(), "--json"]);
        let ours: BTreeMap<String, Vec<String>> = objects(&shown.out)
            .filter(|record| record["kind"] == READING)
            .map(|record| {
                let notation = record["diagnostic"].as_str().expect("a text");
                let parts = notation.split("4([").skip(1);
                let mut figures: Vec<_> = parts
                    .map(|part| part.split(']').next().unwrap_or_default().to_owned())
                    .collect();
                figures.sort();
                (record["id"].as_str().expect("an id").to_owned(), figures)
            })
            .collect();
        assert_eq!(theirs, ours, "{}", file.display());
        readings += ours.len();
        if bundle["state"] == "damaged" {
            out_of_damaged += ours.len();
        }
    }
    assert!(out_of_damaged > 0 && readings > out_of_damaged);
}

/// The number of the kind of readings.
const READING: u64 = 40;

fn objects(lines: &str) -> impl Iterator<Item = Value> {
    lines
        .lines()
        .filter_map(|line| serde_json::from_str(line).ok())
}

/// All decimals in a value, each as `exponent, mantissa`.
fn decimals(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Object(entries) => {
            if let Some([exponent, mantissa]) = entries
                .get("decimal")
                .and_then(Value::as_array)
                .map(Vec::as_slice)
            {
                found.push(format!("{exponent}, {mantissa}"));
            }
            entries.values().for_each(|entry| decimals(entry, found));
        }
        Value::Array(entries) => entries.iter().for_each(|entry| decimals(entry, found)),
        _ => {}
    }
}

#[test]
fn second_reader_agrees_with_every_frozen_vector() {
    let vectors = format_folder().join("vectors/v1");
    let names = std::fs::read_dir(&vectors).expect("the vectors");
    let count = names
        .flatten()
        .filter(|entry| entry.path().extension().is_some_and(|end| end == "txt"))
        .count();
    assert!(count > 50, "only {count} vectors");
    let Some(output) = reader(&[Path::new("--vectors"), &vectors]) else {
        return;
    };
    assert!(output.status.success(), "{}", text(&output));
    let said = text(&output);
    assert_eq!(said.trim(), format!("{count} vectors, 0 wrong"));
}

#[test]
fn second_reader_refuses_a_vector_that_was_tampered_with() {
    let vectors = format_folder().join("vectors/v1");
    let folder = tempfile::tempdir().expect("a folder");
    let whole = std::fs::read_dir(&vectors)
        .expect("the vectors")
        .flatten()
        .filter_map(|entry| {
            Some((
                entry.file_name(),
                std::fs::read_to_string(entry.path()).ok()?,
            ))
        })
        .find(|(_, text)| text.contains("of: item\n") && text.contains("expect: ok\n"));
    let (name, good) = whole.expect("a good item");
    // The last digit lies in the signature.
    let (head, last) = good.trim_end().split_at(good.trim_end().len() - 1);
    let other = if last == "0" { "1" } else { "0" };
    std::fs::write(folder.path().join(name), format!("{head}{other}\n")).expect("written");
    let Some(output) = reader(&[Path::new("--vectors"), folder.path()]) else {
        return;
    };
    assert_eq!(output.status.code(), Some(2), "{}", text(&output));
}
