//! `kill -9` at random moments of entry: what was shown as saved is there afterwards.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::time::Duration;

use winze_core::Logbook;
use winze_core::clock::FixedClock;
use winze_core::query;
use winze_sync_format::RecordRef;
use winze_tests::samples;

const KILLS: u32 = 200;
/// The longest life of a process. Some die while they start or create the logbook, most amid
/// their readings.
const LIFE_MS_MAX: u64 = 120;

/// Numbers that differ from run to run of this machine are no use for finding a failure again, so
/// the moments come from a fixed sequence (a 64-bit linear congruential generator, Knuth's MMIX
/// constants).
struct Moments(u64);

impl Moments {
    fn next_ms(&mut self) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (self.0 >> 33) % LIFE_MS_MAX
    }
}

fn start(folder: &Path, first: u64) -> Child {
    Command::new(env!("CARGO_BIN_EXE_keep-entering"))
        .arg(folder)
        .arg(first.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the entering process starts")
}

/// The acknowledgements a killed process had printed, and whatever it complained of.
fn acknowledged(mut child: Child) -> (Vec<RecordRef>, String) {
    let out = child.stdout.take().expect("piped");
    let complaints = std::io::read_to_string(child.stderr.take().expect("piped")).expect("text");
    let lines = BufReader::new(out).lines().map(|line| line.expect("text"));
    let saved = lines.map(|line| {
        let at = line.rsplit(' ').next().expect("a reference").to_owned();
        at.parse()
            .unwrap_or_else(|error| panic!("{line:?}: {error}"))
    });
    let saved = saved.collect();
    child.wait().expect("reaped");
    (saved, complaints)
}

#[test]
fn no_acknowledged_reading_is_lost_in_200_kills() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let folder = folder.path().join("tablet");
    let mut moments = Moments(2026);
    let mut all = Vec::new();
    let mut killed_amid_entry = 0;
    for kill in 0..KILLS {
        let mut child = start(&folder, u64::from(kill) * 1_000_000);
        std::thread::sleep(Duration::from_millis(moments.next_ms()));
        child.kill().expect("killed");
        let (saved, complaints) = acknowledged(child);
        assert_eq!(
            complaints, "",
            "kill {kill}: the process complained instead of entering"
        );
        killed_amid_entry += u32::from(!saved.is_empty());
        all.extend(saved);
    }
    assert!(
        killed_amid_entry >= KILLS / 4,
        "only {killed_amid_entry} of {KILLS} processes lived to their first reading"
    );

    let logbook = Logbook::open(&folder, Arc::new(FixedClock::at(samples::MONDAY_MS)))
        .expect("the logbook opens after {KILLS} kills");
    for at in &all {
        let found = query::record(&logbook, *at);
        assert!(found.is_ok(), "shown as saved and gone: {at}: {found:?}");
    }
    let visits = query::past_readings(&logbook, &samples::code("T-07"), usize::MAX);
    let visits = visits.expect("readings are listed");
    assert!(
        visits.len() >= all.len(),
        "{} listed of {} saved",
        visits.len(),
        all.len()
    );
    println!(
        "{KILLS} kills, {killed_amid_entry} amid entry, {} acknowledged, 0 lost",
        all.len()
    );
}
