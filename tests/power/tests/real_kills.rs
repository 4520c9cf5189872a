//! `kill -9` of a real process at random moments of every operation, on real files: what it had
//! promised is true afterwards.
//!
//! The full count: `cargo test -p winze-power --test real_kills -- --include-ignored --nocapture`

use std::collections::BTreeSet;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Duration;

use winze_core::clock::FixedClock;
use winze_core::{Logbook, query};
use winze_power::{Numbers, samples};
use winze_sync_format::bundle::read_bundle;
use winze_sync_format::segment::scan_segment;
use winze_sync_format::{RecordRef, SignedRecord};

const OPERATIONS: [&str; 6] = ["entry", "pack", "merge", "checkpoint", "rebuild", "backup"];

/// The longest life of a process. Some die while they start, most at work.
const LIFE_MS_MAX: usize = 150;
/// Kills before everything promised is checked and the folder begun anew: a bundle of everything grows
/// with each entry.
const KILLS_PER_FOLDER: u64 = 25;

/// Everything the processes promised.
#[derive(Default)]
struct Promises {
    saved: BTreeSet<RecordRef>,
    packed: Vec<(u64, PathBuf)>,
    merged: Vec<PathBuf>,
    backed_up: Vec<(u64, PathBuf)>,
}

impl Promises {
    fn take(&mut self, printed: &str) {
        // A line without its end was not printed whole, so nobody read it.
        let whole = printed.rfind('\n').map_or("", |end| &printed[..end]);
        for line in whole.lines() {
            let (what, rest) = line.split_once(' ').expect("a promise");
            let counted = || {
                let (count, path) = rest.split_once(' ').expect("a count and a path");
                (count.parse().expect("a count"), PathBuf::from(path))
            };
            match what {
                "saved" => {
                    self.saved.insert(rest.parse().expect("a reference"));
                }
                "packed" => self.packed.push(counted()),
                "merged" => self.merged.push(PathBuf::from(rest)),
                "backed-up" => self.backed_up.push(counted()),
                other => panic!("{other:?} is no promise"),
            }
        }
    }

    fn check(&self, folder: &Path) {
        let open = |name: &str| {
            let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
            Logbook::open(&folder.join(name), clock).expect("the logbook opens")
        };
        let tablet = open("tablet");
        assert!(tablet.start_report().is_clean());
        for at in &self.saved {
            assert!(query::holds(&tablet, *at).expect("asked"), "lost {at}");
        }
        for (records, path) in &self.packed {
            let bundle = read_bundle(&std::fs::read(path).expect("there")[..]);
            assert!(bundle.report.is_whole(), "{}", path.display());
            assert_eq!(bundle.records.len() as u64, *records);
        }
        if let Some(path) = self.merged.last() {
            let office = open("office");
            let bundle = read_bundle(&std::fs::read(path).expect("there")[..]);
            for record in bundle.records {
                let at = record.reference();
                assert!(query::holds(&office, at).expect("asked"), "not merged {at}");
            }
        }
        if let Some((records, path)) = self.backed_up.last() {
            let mut found = BTreeSet::new();
            for entry in std::fs::read_dir(path).expect("there").flatten() {
                if entry.path().extension().is_some_and(|end| end == "seg") {
                    let salvage = scan_segment(&std::fs::read(entry.path()).expect("read"));
                    found.extend(salvage.records.iter().map(SignedRecord::id));
                }
            }
            assert!(
                found.len() as u64 >= *records,
                "{} of {records}",
                found.len()
            );
        }
    }
}

fn kill_during(operation: &str, kills: u64) {
    let mut numbers = Numbers::new(kills);
    let (mut at_work, mut promises_kept, mut done) = (0, 0, 0);
    while done < kills {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let mut promises = Promises::default();
        let until = kills.min(done + KILLS_PER_FOLDER);
        while done < until {
            let mut child = Command::new(env!("CARGO_BIN_EXE_keep-working"))
                .arg(folder.path())
                .args([operation, &(done * 1_000_000).to_string()])
                .stdout(Stdio::piped())
                .stderr(Stdio::piped())
                .spawn()
                .expect("the process starts");
            let life = numbers.below(LIFE_MS_MAX) as u64;
            std::thread::sleep(Duration::from_millis(life));
            child.kill().expect("killed");
            let (mut printed, mut complaints) = (String::new(), String::new());
            let mut out = child.stdout.take().expect("piped");
            out.read_to_string(&mut printed).expect("text");
            let mut err = child.stderr.take().expect("piped");
            err.read_to_string(&mut complaints).expect("text");
            child.wait().expect("reaped");
            assert_eq!(complaints, "", "{operation}, kill {done}");
            at_work += u64::from(!printed.is_empty());
            promises.take(&printed);
            done += 1;
        }
        // The last one may have died before there was any logbook.
        if !promises.saved.is_empty() {
            promises.check(folder.path());
        }
        promises_kept += promises.saved.len()
            + promises.packed.len()
            + promises.merged.len()
            + promises.backed_up.len();
    }
    println!(
        "{operation}: {done} processes killed, {at_work} of them at work, {promises_kept} promises, 0 broken"
    );
}

#[test]
fn nothing_promised_is_lost_when_a_process_is_killed() {
    for operation in OPERATIONS {
        kill_during(operation, 8);
    }
}

#[test]
#[ignore = "some minutes"]
fn nothing_promised_is_lost_in_1200_kills() {
    for operation in OPERATIONS {
        kill_during(operation, 200);
    }
}
