//! The week of [`super::samples`] with real logbooks: an office, two enrolled tablets and an
//! unknown one, their bundles in the office's tray, one of them damaged.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use winze_core::Logbook;
use winze_core::actions::{
    NewReading, NewRound, NewSkip, PackFor, close_round, enrol_logbook, merge_bundles, open_round,
    pack_bundle, record_reading, revise_station, skip_station,
};
use winze_core::clock::{DAY_MS, FixedClock, MINUTE_MS};
use winze_core::record::{Role, SkipReason, Tick, Ticks};
use winze_core::verdict::FlowState;

use super::samples::{NOW_MS, code, definition};
use crate::presenters::samples::entry;

/// Weeks walked before the one looked at.
const WEEKS_BEFORE: i64 = 5;

pub(super) struct Walker {
    pub(super) logbook: Logbook,
    pub(super) clock: Arc<FixedClock>,
    pub(super) by: &'static str,
    nonce: u64,
}

impl Walker {
    pub(super) fn new(dir: &Path, role: Role, label: &str, by: &'static str) -> Self {
        let clock = Arc::new(FixedClock::at(NOW_MS - 60 * DAY_MS));
        let logbook = Logbook::create(dir, role, label, clock.clone()).expect("created");
        Self {
            logbook,
            clock,
            by,
            nonce: 0,
        }
    }

    pub(super) fn read(&mut self, place: usize, values: [&str; 3], ticks: Ticks, note: &str) {
        self.read_on(None, place, values, ticks, note);
    }

    fn read_on(
        &mut self,
        round: Option<winze_sync_format::RecordRef>,
        place: usize,
        values: [&str; 3],
        ticks: Ticks,
        note: &str,
    ) {
        self.nonce += 1;
        let mut entry = entry(values);
        entry.flow = FlowState::Flowing;
        let new = NewReading {
            station: code(place),
            revision: None,
            round,
            entry,
            ticks,
            note: note.to_owned(),
            doubts: Vec::new(),
            by: self.by.to_owned(),
            nonce: self.nonce.to_le_bytes(),
        };
        record_reading(&mut self.logbook, new).expect("saved");
        self.clock.advance_ms(720_000);
    }

    fn walk(&mut self, week: i64, places: std::ops::Range<usize>) {
        // Tuesday of that week, in the morning.
        self.clock
            .set(NOW_MS - (2 + 7 * week) * DAY_MS - 7 * 60 * MINUTE_MS);
        let round = open_round(
            &mut self.logbook,
            NewRound {
                title: "weekly".to_owned(),
                stations: places.clone().map(code).collect(),
                by: self.by.to_owned(),
            },
        )
        .expect("opened");
        for place in places {
            match (week, place) {
                (0, 8) => {
                    let skip = NewSkip {
                        round,
                        station: code(place),
                        reason: SkipReason::NoAccess,
                        note: "drive barred for blasting".to_owned(),
                        by: self.by.to_owned(),
                    };
                    skip_station(&mut self.logbook, skip).expect("skipped");
                }
                (0, 10) => {}
                _ => {
                    let (values, ticks, note) = values(week, place);
                    self.read_on(Some(round), place, values, ticks, note);
                }
            }
        }
        close_round(&mut self.logbook, round, String::new(), self.by.to_owned()).expect("closed");
    }

    pub(super) fn pack(&mut self, folder: &Path, to: PackFor) -> std::path::PathBuf {
        pack_bundle(&mut self.logbook, folder, to, self.by, &mut |_| true)
            .expect("packed")
            .path
    }
}

fn values(week: i64, place: usize) -> ([&'static str; 3], Ticks, &'static str) {
    let outlets = ["2.00", "2.02", "1.98", "2.04", "2.01", "1.99"];
    let inlets = ["10.2", "10.0", "10.4", "10.1", "10.3", "10.2"];
    let n = usize::try_from(week).expect("few") + place;
    let usual = [inlets[n % 6], "4.1", outlets[(n * 5 + 1) % 6]];
    match (week, place) {
        (0, 2) => (["10.2", "4.1", "2.19"], Ticks::NONE, ""),
        (1, 6) => (["10.1", "4.0", "2.16"], Ticks::NONE, ""),
        (0, 6) => (["10.1", "4.0", "2.60"], Ticks::NONE, ""),
        (0, 4) => (
            ["10.4", "4.2", "2.05"],
            Ticks::NONE.with(Tick::Leak).with(Tick::Noise),
            "drips at the flange of the strainer",
        ),
        _ => (usual, Ticks::NONE, ""),
    }
}

/// Builds it below `folder` and opens the office, whose own tray holds three bundles of the week.
pub fn office(folder: &Path) -> Logbook {
    fs::create_dir_all(folder).expect("made");
    let label = "Tarrow Deep office";
    let mut office = Walker::new(&folder.join("office"), Role::Office, label, "E. Maddern");
    for place in 0..12 {
        revise_station(&mut office.logbook, definition(place), office.by.to_owned())
            .expect("defined");
    }
    let tablet = |name: &str, label, by| Walker::new(&folder.join(name), Role::Tablet, label, by);
    let mut tablets = [
        tablet("a", "Tablet North", "R. Ostrow"),
        tablet("b", "Tablet South", "K. Lindqvist"),
        tablet("c", "Tablet Spare", "A. Brandt"),
    ];
    for tablet in &mut tablets[..2] {
        let name = tablet.logbook.label().to_owned();
        let log = tablet.logbook.log_id();
        enrol_logbook(
            &mut office.logbook,
            log,
            name,
            Role::Tablet,
            office.by.to_owned(),
        )
        .expect("enrolled");
    }
    let stick = folder.join("stick");
    fs::create_dir(&stick).expect("made");
    let definitions = office.pack(&stick, PackFor::Tablets);
    for tablet in &mut tablets {
        let by = tablet.by.to_owned();
        let log = office.logbook.log_id();
        enrol_logbook(&mut tablet.logbook, log, label.to_owned(), Role::Office, by)
            .expect("enrolled");
        merge_bundles(
            &mut tablet.logbook,
            std::slice::from_ref(&definitions),
            &mut |_| true,
        )
        .expect("merged");
    }
    let [north, south, spare] = &mut tablets;
    for week in (1..=WEEKS_BEFORE).rev() {
        north.walk(week, 0..6);
        south.walk(week, 6..12);
    }
    let before = [
        north.pack(&stick, PackFor::Office),
        south.pack(&stick, PackFor::Office),
    ];
    office.clock.set(NOW_MS - 7 * DAY_MS);
    merge_bundles(&mut office.logbook, &before, &mut |_| true).expect("merged");
    north.walk(0, 0..6);
    south.walk(0, 6..12);
    south
        .clock
        .set(NOW_MS - 2 * DAY_MS - 5 * 60 * MINUTE_MS - 2 * MINUTE_MS);
    south.read(4, ["10.4", "4.2", "2.50"], Ticks::NONE, "");
    spare.clock.set(NOW_MS - DAY_MS);
    for place in 9..12 {
        spare.read(place, ["10.2", "4.1", "2.03"], Ticks::NONE, "");
    }
    let tray = folder.join("office/tray");
    fs::create_dir_all(&tray).expect("made");
    north.pack(&tray, PackFor::Office);
    spare.pack(&tray, PackFor::Office);
    let torn = south.pack(&tray, PackFor::Office);
    let mut bytes = fs::read(&torn).expect("just written");
    let place = bytes.len() * 71 / 100;
    for byte in &mut bytes[place..place + 40] {
        *byte ^= 0x5a;
    }
    fs::write(&torn, bytes).expect("damaged");
    office.clock.set(NOW_MS);
    office.logbook
}

/// The bundle with the definitions that the office of [`office`] sent to its tablets.
pub fn definitions(folder: &Path) -> std::path::PathBuf {
    let on_stick = fs::read_dir(folder.join("stick")).expect("listed");
    let mut files = on_stick.map(|entry| entry.expect("an entry").path());
    let is_office = |path: &std::path::PathBuf| {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        name.starts_with("tarrow-deep-offi")
    };
    files.find(is_office).expect("the office's bundle")
}
