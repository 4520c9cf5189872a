//! Upkeep for the tests of the office, with real logbooks: what the old book says, jobs, a procedure
//! that two tablets disagree about, and one that was given up.

use std::fs;
use std::path::Path;

use winze_core::Logbook;
use winze_core::actions::{
    NewEnd, NewJob, NewJobEnd, NewProcedure, NewStep, NewTaskDone, NewUndo, PackFor, close_job,
    close_procedure, enrol_logbook, merge_bundles, note_task_done, open_procedure, raise_job,
    record_step, revise_station, undo_step,
};
use winze_core::clock::DAY_MS;
use winze_core::procedures::{
    DrawOff, MeasureCode, Measured, OpenReason, ProcedureCode, StepCode, TickCode, Value,
};
use winze_core::query;
use winze_core::record::{JobEnd, PartUsed, ProcedureEnd, Role, Tick, Ticks};
use winze_core::upkeep::{Interval, JobCause, JobWork, Task};
use winze_sync_format::RecordRef;

use super::board::Board;
use super::samples::{NOW_MS, code, definition};
use super::scenario::Walker;
use crate::presenters::samples::entry;

/// Months since each strainer was cleaned, in walking order from the first station.
const CLEANED_MONTHS_AGO: [u32; 6] = [14, 12, 11, 3, 5, 2];

fn step(of: RecordRef, step: StepCode, by: &str, nonce: u8) -> NewStep {
    NewStep::done(of, step, by, [nonce; 8])
}

fn prepare(walker: &mut Walker, of: RecordRef, nonce: u8) {
    let ticks = vec![
        TickCode::ConsumersTold,
        TickCode::PlaceLookedOver,
        TickCode::WorkAgreed,
    ];
    let new = NewStep {
        ticks,
        ..step(of, StepCode::Prepare, walker.by, nonce)
    };
    record_step(&mut walker.logbook, new).expect("recorded");
    walker.clock.advance_ms(300_000);
}

fn as_found(walker: &mut Walker, of: RecordRef, values: [&str; 3], nonce: u8) {
    let entry = entry(values);
    let gauges = [
        (MeasureCode::Inlet, entry.inlet),
        (MeasureCode::Interstage, entry.interstage),
        (MeasureCode::Outlet, entry.outlet),
    ];
    let measured = gauges.into_iter().filter_map(|(code, typed)| {
        let value = Value::Pressure(typed?);
        Some(Measured { code, value })
    });
    let flow = Measured {
        code: MeasureCode::Flow,
        value: Value::DrawOff(DrawOff::Usual),
    };
    let new = NewStep {
        measured: measured.chain([flow]).collect(),
        ..step(of, StepCode::AsFound, walker.by, nonce)
    };
    record_step(&mut walker.logbook, new).expect("recorded");
}

fn jobs(west: &mut Walker) {
    let job = |place, work, cause, note: &str, by: &str| NewJob {
        station: code(place),
        work,
        cause,
        evidence: Vec::new(),
        note: note.to_owned(),
        by: by.to_owned(),
    };
    west.clock.set(NOW_MS - 12 * DAY_MS);
    let new = job(2, JobWork::Recalibrate, JobCause::Person, "", west.by);
    let raised = raise_job(&mut west.logbook, new).expect("raised");
    west.clock.set(NOW_MS - 11 * DAY_MS);
    west.read(2, ["10.2", "4.1", "2.00"], Ticks::NONE, "");
    let newest = query::past_readings(&west.logbook, &code(2), 1).expect("read");
    let end = NewJobEnd {
        job: raised,
        end: JobEnd::Done {
            as_left: newest[0].at,
        },
        parts: vec![PartUsed {
            what: "gasket".to_owned(),
            count: 2,
        }],
        note: "seat was worn".to_owned(),
        by: west.by.to_owned(),
    };
    close_job(&mut west.logbook, end).expect("closed");
    let cause = JobCause::Noticed(Tick::Leak);
    let note = "drips at the flange of the strainer";
    let new = job(4, JobWork::StopLeak, cause, note, west.by);
    raise_job(&mut west.logbook, new).expect("raised");
}

fn open(walker: &mut Walker, place: usize, what: ProcedureCode, reason: OpenReason) -> RecordRef {
    let new = NewProcedure {
        procedure: what,
        station: code(place),
        reason: Some(reason),
        note: String::new(),
        by: walker.by.to_owned(),
    };
    open_procedure(&mut walker.logbook, new).expect("opened")
}

/// Adds upkeep to an office that has the stations of the samples defined, and sent them to its
/// tablets in `definitions`: by what a tablet takes in from the office its clock is known.
pub fn add(folder: &Path, office: &mut Logbook, definitions: &Path) {
    let by = "E. Maddern";
    let today = query::today(office);
    for (place, months) in CLEANED_MONTHS_AGO.into_iter().enumerate() {
        let days = Interval::Months(months);
        let new = NewTaskDone {
            station: code(place),
            task: Task::YearlyClean,
            done_on: days.before(today),
            note: "from the old book".to_owned(),
            by: by.to_owned(),
        };
        note_task_done(office, new).expect("noted");
    }
    let stick = folder.join("upkeep");
    fs::create_dir_all(&stick).expect("made");
    let mut all = |_| true;
    let tablet = |name: &str, label, by| Walker::new(&folder.join(name), Role::Tablet, label, by);
    let mut west = tablet("west", "Tablet West", "M. Quist");
    let mut east = tablet("east", "Tablet East", "J. Arden");
    for walker in [&mut west, &mut east] {
        let (log, name) = (walker.logbook.log_id(), walker.logbook.label().to_owned());
        enrol_logbook(office, log, name, Role::Tablet, by.to_owned()).expect("enrolled");
        let log = office.log_id();
        let name = walker.by.to_owned();
        enrol_logbook(
            &mut walker.logbook,
            log,
            "Office".to_owned(),
            Role::Office,
            name,
        )
        .expect("enrolled");
        let bundle = [definitions.to_path_buf()];
        merge_bundles(&mut walker.logbook, &bundle, &mut all).expect("merged");
    }
    jobs(&mut west);
    west.clock.set(NOW_MS - 3 * DAY_MS);
    let work = open(
        &mut west,
        1,
        ProcedureCode::Recalibrate,
        OpenReason::OutletOff,
    );
    prepare(&mut west, work, 1);
    let undo = NewUndo {
        procedure: work,
        step: StepCode::Prepare,
        record: None,
        reason: "permit was for another drive".to_owned(),
        by: west.by.to_owned(),
    };
    undo_step(&mut west.logbook, undo).expect("taken back");
    west.clock.advance_ms(900_000);
    prepare(&mut west, work, 2);
    let half = west.pack(&stick, PackFor::Office);
    let (log, name) = (west.logbook.log_id(), east.by.to_owned());
    enrol_logbook(
        &mut east.logbook,
        log,
        "West".to_owned(),
        Role::Tablet,
        name,
    )
    .expect("enrolled");
    merge_bundles(&mut east.logbook, &[half], &mut all).expect("merged");
    as_found(&mut west, work, ["10.2", "4.1", "2.31"], 3);
    east.clock.set(NOW_MS - 2 * DAY_MS);
    as_found(&mut east, work, ["10.1", "4.1", "2.05"], 4);
    let clean = open(&mut east, 3, ProcedureCode::YearlyClean, OpenReason::Due);
    prepare(&mut east, clean, 5);
    let end = NewEnd {
        procedure: clean,
        end: ProcedureEnd::Abandoned,
        done_by: east.by.to_owned(),
        seen_by: String::new(),
        note: "water was needed for the crusher".to_owned(),
        by: east.by.to_owned(),
    };
    close_procedure(&mut east.logbook, end).expect("closed");
    let bundles = [&mut west, &mut east].map(|walker| walker.pack(&stick, PackFor::Office));
    merge_bundles(office, &bundles, &mut all).expect("merged");
}

/// An office with nothing but the stations of the samples and their upkeep.
pub fn office(folder: &Path) -> Logbook {
    let mut office = Walker::new(&folder.join("office"), Role::Office, "Office", "E. Maddern");
    for place in 0..12 {
        let by = office.by.to_owned();
        revise_station(&mut office.logbook, definition(place), by).expect("defined");
    }
    let definitions = office.pack(folder, PackFor::Tablets);
    office.clock.set(NOW_MS);
    add(folder, &mut office.logbook, &definitions);
    office.logbook
}

/// What the office's window would know of it.
pub fn board() -> Board {
    let folder = tempfile::tempdir().expect("a folder");
    Board::load(&office(folder.path())).expect("read")
}
