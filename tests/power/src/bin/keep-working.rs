//! Does one operation over and over and prints what it promises, until it is killed.
//!
//! The other half of `tests/real_kills.rs`: what was printed here was shown to somebody, so it must be
//! true afterwards, whenever the process died. Real files, nothing simulated.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_core::Logbook;
use winze_core::actions::{
    PackFor, back_up, enrol_logbook, merge_bundles, pack_bundle, record_reading, revise_station,
};
use winze_core::clock::{Clock, FixedClock};
use winze_core::query;
use winze_core::record::Role;
use winze_power::samples;

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

struct Worker {
    folder: PathBuf,
    tablet: Logbook,
    office: Logbook,
    nonce: u64,
}

fn main() -> Outcome<()> {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, folder, operation, nonce] = &arguments[..] else {
        return Err("usage: keep-working FOLDER OPERATION NUMBER".into());
    };
    let mut worker = Worker::start(Path::new(folder), nonce.parse()?)?;
    loop {
        worker.enter()?;
        match operation.as_str() {
            "entry" => {}
            "pack" => drop(worker.pack()?),
            "merge" => worker.merge()?,
            "checkpoint" => worker.tablet.checkpoint()?,
            "rebuild" => drop(worker.tablet.rebuild()?),
            "backup" => worker.back_up()?,
            other => return Err(format!("no operation {other}").into()),
        }
    }
}

/// One line at a time, at once: a promise is made when it is printed.
fn promise(line: &str) -> Outcome<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line}")?;
    Ok(out.flush()?)
}

impl Worker {
    fn start(folder: &Path, nonce: u64) -> Outcome<Self> {
        let clock: Arc<dyn Clock> = Arc::new(FixedClock::at(samples::MONDAY_MS));
        let open = |name: &str, role| {
            Logbook::open_or_create(&folder.join(name), role, name, Arc::clone(&clock))
        };
        let (mut tablet, mut office) =
            (open("tablet", Role::Tablet)?, open("office", Role::Office)?);
        if query::stations(&tablet)?.is_empty() {
            revise_station(&mut tablet, samples::station("T-01")?, String::new())?;
        }
        let log = tablet.log_id();
        enrol_logbook(&mut office, log, "a".into(), Role::Tablet, String::new())?;
        std::fs::create_dir_all(folder.join("stick"))?;
        Ok(Self {
            folder: folder.to_owned(),
            tablet,
            office,
            nonce,
        })
    }

    fn enter(&mut self) -> Outcome<()> {
        self.nonce += 1;
        let new = samples::reading("T-01", samples::plain_entry(), self.nonce, 10)?;
        let saved = record_reading(&mut self.tablet, new)?;
        promise(&format!("saved {}", saved.at))
    }

    fn pack(&mut self) -> Outcome<PathBuf> {
        let stick = self.folder.join("stick");
        let packed = pack_bundle(
            &mut self.tablet,
            &stick,
            PackFor::Everything,
            "",
            &mut |_| true,
        )?;
        promise(&format!(
            "packed {} {}",
            packed.records,
            packed.path.display()
        ))?;
        Ok(packed.path)
    }

    fn merge(&mut self) -> Outcome<()> {
        let bundle = self.pack()?;
        merge_bundles(&mut self.office, std::slice::from_ref(&bundle), &mut |_| {
            true
        })?;
        promise(&format!("merged {}", bundle.display()))
    }

    fn back_up(&mut self) -> Outcome<()> {
        let second = self.folder.join("second");
        let done = back_up(&mut self.tablet, &second, "", &mut |_| true)?;
        promise(&format!(
            "backed-up {} {}",
            done.records,
            done.folder.display()
        ))
    }
}
