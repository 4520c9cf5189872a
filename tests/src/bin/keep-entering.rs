//! Confirms readings one after the other and prints each acknowledgement, until it is killed.
//!
//! The other half of `it/kill_during_entry.rs`: what was printed here was shown as saved, so it
//! must be in the logbook afterwards, whenever the process died.

use std::io::Write;
use std::path::Path;
use std::sync::Arc;

use winze_core::Logbook;
use winze_core::actions::{record_reading, revise_station};
use winze_core::clock::{Clock, FixedClock};
use winze_core::record::Role;
use winze_tests::samples;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = arguments
        .next()
        .ok_or("the folder of the logbook is missing")?;
    let start: u64 = arguments
        .next()
        .ok_or("the first number is missing")?
        .parse()?;
    let folder = Path::new(&folder);
    let clock: Arc<dyn Clock> = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let mut logbook = Logbook::open_or_create(folder, Role::Tablet, "tablet a", clock)?;
    revise_station(&mut logbook, samples::station("T-07"), "tester".to_owned())?;
    let mut out = std::io::stdout().lock();
    for number in start.. {
        let saved = record_reading(&mut logbook, samples::new_reading("T-07", number))?;
        writeln!(out, "saved {number} {}", saved.at)?;
        out.flush()?;
    }
    Ok(())
}
