//! A million records in one bundle: a verified merge beside the bare work it cannot avoid, all in one
//! run, each step in a process of its own.
//!
//! ```text
//! cargo bench -p winze-core --bench million [-- RECORDS]
//! ```
//!
//! Needs some 5 GB of disk for a while, and git for one of the comparisons. Times on a machine that
//! is busy otherwise say little; processor seconds say more, and both are printed.

#![allow(
    clippy::disallowed_macros,
    clippy::disallowed_methods,
    clippy::cast_precision_loss,
    reason = "a bench measures time and prints figures"
)]

mod baselines;
mod load;
mod measure;

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use sha2::{Digest, Sha256};
use winze_core::Logbook;
use winze_core::actions::{MergeReport, Progress, Stage, merge_bundles};

use load::Load;
use measure::{Told, child, measured, tell};

fn main() {
    let mut args = std::env::args().skip_while(|arg| arg != "--step").skip(1);
    if let (Some(step), Some(folder), Some(records)) = (args.next(), args.next(), args.next()) {
        return run_step(
            &step,
            Path::new(&folder),
            records.parse().expect("a number"),
        );
    }
    // Cargo passes `--bench`; the first number is ours.
    let records = std::env::args()
        .find_map(|arg| arg.parse().ok())
        .unwrap_or(1_000_000_usize);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    println!(
        "{records} records, {cores} cores, load {}",
        measure::load_average()
    );
    for load in [Load::Skips, Load::Readings] {
        compare(load, folder.path(), records);
    }
}

fn say(what: &str, records: f64, told: &Told) {
    println!(
        "  {what:<46} {:>7.2} s {:>7.2} s of processor {:>9.0} per s {:>6.0} MiB",
        told["wall_s"],
        told["processor_s"],
        records / told["wall_s"],
        told["peak_mib"],
    );
}

/// Everything about one kind of records.
fn compare(load: Load, folder: &Path, records: usize) {
    let folder = folder.join(load.name());
    std::fs::create_dir(&folder).expect("a folder");
    let made = child(&format!("make-{}", load.name()), &folder, records);
    println!(
        "{}: {} records of {:.0} bytes, load {}",
        load.name(),
        made["records"],
        made["bytes"] / made["records"],
        measure::load_average()
    );
    let count = made["records"];
    let step = |name: &str| child(name, &folder, records);
    let checks = step("checks");
    say("strict signature checks alone, two threads", count, &checks);
    say("hashes alone, one thread", count, &step("hashes"));
    let merged = step("merge");
    say("merge, verified, synced, worked out", count, &merged);
    println!(
        "    of it reading, checking and keeping {:.2} s ({:.2} s of processor), working out {:.2} s;",
        merged["reading_s"], merged["reading_processor_s"], merged["working_s"]
    );
    println!(
        "    longest time without a sign of life {:.0} ms",
        merged["longest_ms"]
    );
    let again = step("again");
    say("the same merge again, all held", count, &again);
    let stopped = step("stopped");
    say("stopped, and gone on in another process", count, &stopped);
    println!(
        "    stopped {} times, the last time after {:.0} % of the file; answered after at most {:.0} ms; same projection: {}",
        stopped["stops"],
        stopped["stopped_at"],
        stopped["stop_ms"],
        stopped["same"] > 0.5
    );
    say("bare rows into SQLite", count, &step("rows"));
    let fetched = step("git");
    if fetched.contains_key("wall_s") {
        println!(
            "  {:<46} {:>7.2} s",
            "git fetch of the same from a bundle", fetched["wall_s"]
        );
    }
    println!(
        "  merge / checks on two cores: {:.2} by the clock, {:.2} by processor time",
        merged["wall_s"] / checks["wall_s"],
        merged["processor_s"] / checks["processor_s"],
    );
    println!(
        "  the same until the records are safe, before judging: {:.2} and {:.2}; first / again: {:.0}",
        merged["reading_s"] / checks["wall_s"],
        merged["reading_processor_s"] / checks["processor_s"],
        merged["wall_s"] / again["wall_s"]
    );
    std::fs::remove_dir_all(&folder).expect("removed");
}

fn bundle_in(folder: &Path) -> PathBuf {
    let entries = std::fs::read_dir(folder).expect("a folder");
    let mut paths = entries.flatten().map(|entry| entry.path());
    let is_bundle = |path: &PathBuf| path.extension().is_some_and(|end| end == "winze");
    paths.find(is_bundle).expect("a bundle")
}

/// One step, in a process of its own.
fn run_step(step: &str, folder: &Path, records: usize) {
    match step {
        "make-readings" => make(folder, records, Load::Readings),
        "make-skips" => make(folder, records, Load::Skips),
        "merge" => merge_once(folder),
        "again" => merge_again(folder),
        "stopped" => merge_stopped(folder),
        "go-on" => go_on(folder, records),
        "projection" => projection(folder),
        _ => {
            let (parts, keys) = baselines::take_apart(&bundle_in(folder));
            match step {
                "checks" => baselines::bare_checks(&parts, &keys),
                "hashes" => baselines::bare_hashes(&parts),
                "rows" => baselines::bare_rows(&parts, folder),
                "git" => drop(baselines::git_fetch(&parts, folder)),
                other => panic!("no step {other}"),
            }
        }
    }
}

fn make(folder: &Path, records: usize, load: Load) {
    let office = folder.join("office");
    load::make_office(&office);
    let bundle = load::make_bundle(folder, &office, records, load);
    tell("records", (records / load::TABLETS * load::TABLETS) as f64);
    tell(
        "bytes",
        std::fs::metadata(bundle).expect("a bundle").len() as f64,
    );
}

/// A copy of the office that has merged nothing yet.
fn fresh_office(folder: &Path, name: &str) -> PathBuf {
    let dir = folder.join(name);
    std::fs::create_dir(&dir).expect("a folder");
    for entry in std::fs::read_dir(folder.join("office"))
        .expect("the office")
        .flatten()
    {
        std::fs::copy(entry.path(), dir.join(entry.file_name())).expect("copied");
    }
    dir
}

/// What a user would see of a merge.
struct Watched {
    last: Instant,
    longest: Duration,
    /// When working out began, and the processor time used until then.
    working_since: Option<(Instant, f64)>,
}

impl Watched {
    fn new() -> Self {
        Self {
            last: Instant::now(),
            longest: Duration::ZERO,
            working_since: None,
        }
    }

    fn see(&mut self, at: Progress) {
        self.longest = self.longest.max(self.last.elapsed());
        self.last = Instant::now();
        if at.stage == Stage::WorkingOut {
            let last = self.last;
            self.working_since
                .get_or_insert_with(|| (last, measure::processor_s()));
        }
    }
}

fn merge(office: &mut Logbook, folder: &Path, on: &mut dyn FnMut(Progress) -> bool) -> MergeReport {
    merge_bundles(office, &[bundle_in(folder)], on).expect("merged")
}

fn merge_once(folder: &Path) {
    let dir = fresh_office(folder, "merged");
    let mut office = Logbook::open(&dir, load::clock()).expect("a logbook");
    let (start, before_s) = (Instant::now(), measure::processor_s());
    let mut watched = Watched::new();
    let report = measured(|| {
        merge(&mut office, folder, &mut |at| {
            watched.see(at);
            true
        })
    });
    assert!(report.is_whole(), "{report:?}");
    let (end, after_s) = (Instant::now(), measure::processor_s());
    let (working, working_s) = watched.working_since.unwrap_or((end, after_s));
    tell("reading_s", (working - start).as_secs_f64());
    tell("working_s", (end - working).as_secs_f64());
    tell("reading_processor_s", working_s - before_s);
    tell(
        "longest_ms",
        watched.longest.max(watched.last.elapsed()).as_secs_f64() * 1e3,
    );
}

fn merge_again(folder: &Path) {
    let mut office = Logbook::open(&folder.join("merged"), load::clock()).expect("a logbook");
    let report = measured(|| merge(&mut office, folder, &mut |_| true));
    assert_eq!(report.new_records(), 0);
}

/// Merges, stopping four times on the way; each part in another process.
fn merge_stopped(folder: &Path) {
    fresh_office(folder, "stopped");
    let (mut stops, mut stop_ms) = (0.0, 0_f64);
    let mut stopped_at = 0.0;
    let (mut wall_s, mut processor_s, mut peak_mib) = (0.0, 0.0, 0_f64);
    for part in 0.. {
        let told = child("go-on", folder, part);
        wall_s += told["wall_s"];
        processor_s += told["processor_s"];
        peak_mib = peak_mib.max(told["peak_mib"]);
        let Some(after_ms) = told.get("stop_ms") else {
            break;
        };
        stops += 1.0;
        stopped_at = told["stopped_at"];
        stop_ms = stop_ms.max(*after_ms);
    }
    let digest = |name: &str| child("projection", &folder.join(name), 0);
    let same = digest("stopped") == digest("merged");
    tell("wall_s", wall_s);
    tell("processor_s", processor_s);
    tell("peak_mib", peak_mib);
    tell("stops", stops);
    tell("stopped_at", stopped_at);
    tell("stop_ms", stop_ms);
    tell("same", f64::from(u8::from(same)));
}

/// Merges until a fifth more of the file is read, or to the end.
fn go_on(folder: &Path, part: usize) {
    let mut office = Logbook::open(&folder.join("stopped"), load::clock()).expect("a logbook");
    let limit = (part + 1) as f64 / 5.0;
    let (mut asked, mut share) = (None, 0.0);
    let report = measured(|| {
        merge(&mut office, folder, &mut |at| {
            let read = at.done as f64 / at.total.map_or(1.0, |total| total as f64);
            if at.stage == Stage::Reading && read >= limit && limit < 0.99 {
                asked.get_or_insert_with(Instant::now);
                share = read * 100.0;
                return false;
            }
            true
        })
    });
    assert_eq!(report.was_cancelled, asked.is_some());
    if let Some(asked) = asked {
        tell("stop_ms", asked.elapsed().as_secs_f64() * 1e3);
        tell("stopped_at", share);
    }
}

/// A digest of the projection, as numbers.
fn projection(dir: &Path) {
    let office = Logbook::open(dir, load::clock()).expect("a logbook");
    let dump = office.dump_projection().expect("a dump");
    let digest = Sha256::digest(dump.as_bytes());
    for (n, byte) in digest.iter().enumerate() {
        tell(&format!("byte{n}"), f64::from(*byte));
    }
}
