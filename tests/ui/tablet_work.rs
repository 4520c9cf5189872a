//! Looking after a station through the window: a whole recalibration clicked through at both ways
//! of holding the tablet, a tablet that goes dark after each step, and a job raised and closed.

use std::sync::Arc;

use winze_app_ui::tablet::session::{Screen, Session, Surroundings};
use winze_app_ui::tablet::step_entry::StepEntry;
use winze_core::clock::FixedClock;
use winze_core::procedures::{Closing, ProcedureCode, StepCode, StepStatus};
use winze_core::{Logbook, query};
use winze_tests::samples::{MONDAY_MS, code};

use crate::glass::{Glass, LANDSCAPE, PORTRAIT};

/// Records what is on the screen; figures that say stop are gone on from with a reason.
fn go_on(glass: &Glass) {
    for name in ["Done: go on", "Go on: say why", "Read back"] {
        if glass.has(name) {
            glass.click(name);
            break;
        }
    }
    for _ in 0..4 {
        let stands = glass
            .names()
            .into_iter()
            .find(|name| name.starts_with("It does read") || name == "They are as typed");
        match stands {
            Some(name) => glass.click(&name),
            None => break,
        }
    }
    for name in ["Decided by whoever is responsible", "Record it and go on"] {
        if glass.has(name) {
            glass.click(name);
        }
    }
}

fn read_gauges(glass: &Glass, values: [&str; 3]) {
    for (value, next) in values
        .into_iter()
        .zip(["next: interstage", "next: outlet", ""])
    {
        glass.click_digits(value);
        if !next.is_empty() {
            glass.click(next);
        }
    }
    glass.click("usual");
    go_on(glass);
}

fn tick(glass: &Glass, names: &[&str]) {
    for name in names {
        glass.click(name);
    }
    go_on(glass);
}

fn vent(glass: &Glass) {
    tick(glass, &["no air any more"]);
}

fn here(glass: &Glass) -> StepCode {
    glass
        .tablet
        .act(|session| session.step_entry().expect("a step is on").code())
}

fn recalibrate(glass: &Glass) {
    glass.open_first();
    glass.click("work here");
    glass.click("Open a procedure");
    glass.click("Recalibration");
    glass.click("Outlet drifted or off");
    tick(
        glass,
        &[
            "Those who draw water know",
            "Place looked over",
            "Permits and isolation settled",
        ],
    );
    read_gauges(glass, ["10.2", "4.1", "2.3"]);
    glass.click_digits("2.0");
    go_on(glass);
    tick(glass, &["The figures are looked at"]);
    tick(glass, &["usual"]);
    tick(glass, &["It is done"]);
    assert_eq!(here(glass), StepCode::Calibrate);
    // Without flow a reading cannot be kept.
    glass.click("none");
    glass.click_digits("2.3");
    assert_eq!(
        glass.key("Keep this first reading").accessible_enabled(),
        Some(false)
    );
    glass.click("usual");
    glass.click("needle stands");
    glass.click("Keep this first reading");
    for (turn, value) in [("out 1/4", "1.9"), ("in 1/4", "2.0")] {
        glass.click("usual");
        glass.click(turn);
        glass.click_digits(value);
        glass.click("needle stands");
        if glass.key("Keep it: set").accessible_enabled() == Some(true) {
            break;
        }
        glass.click("Keep this reading");
    }
    if here(glass) == StepCode::Calibrate
        && glass.key("Keep it: set").accessible_enabled() != Some(true)
    {
        glass.click("usual");
        glass.click("not turned");
        glass.click_digits("2.0");
        glass.click("needle stands");
    }
    glass.click("Keep it: set");
    tick(glass, &["Lock nut tight", "Cap on"]);
    vent(glass);
    vent(glass);
    read_gauges(glass, ["10.2", "4.1", "2.0"]);
    tick(glass, &["The figures are looked at"]);
    tick(glass, &["Those who draw water know", "Place left in order"]);
    glass.click("Close it: in service");
}

#[test]
fn whole_recalibration_is_clicked_through_and_ends_in_service() {
    for size in [LANDSCAPE, PORTRAIT] {
        let glass = Glass::with_stations(2, size);
        recalibrate(&glass);
        glass.tablet.act(|session| {
            let logbook = session.logbook().expect("here");
            let all = query::procedures_at(logbook, &code("T-01")).expect("read");
            let state = all[0].state.as_ref().expect("known");
            assert_eq!(all[0].code, ProcedureCode::Recalibrate);
            assert!(
                matches!(state.closing, Closing::Completed(_)),
                "{:?}",
                state.lacking
            );
            assert!(state.is_in_service());
        });
        glass.click("Back to T-01");
        assert!(glass.has("Raise a job"));
    }
}

fn session(logbook: Logbook, count: u8) -> Session {
    let nonces = std::cell::Cell::new(0_u8);
    let around = Surroundings {
        by: "A. Operator".to_owned(),
        places: Box::new(Vec::new),
        nonce: Box::new(move || {
            nonces.set(nonces.get() + 1);
            [count, nonces.get(), 3, 3, 3, 3, 3, 3]
        }),
    };
    Session::new(logbook, around)
}

/// Does the step on the screen by touching what it asks for.
fn do_step(session: &mut Session) {
    let step = session.step_entry().expect("a step is on").step();
    for tick in step.ticks {
        session.work_act(&format!("tick:{}", tick.code()));
    }
    let numbers = session.step_entry().map_or(0, |entry| entry.numbers.len());
    if step.reads_gauges() {
        for value in ["10.2", "4.1", "2.0"] {
            value.chars().for_each(|key| session.work_key(key));
            session.work_next();
        }
    }
    for _ in 0..numbers {
        "2.0".chars().for_each(|key| session.work_key(key));
        session.work_next();
    }
    for pick in [
        "flow:usual",
        "air:none",
        "strainer-found:light",
        "inside-found:sound",
    ] {
        let is_asked = step
            .measures
            .iter()
            .any(|measure| pick.starts_with(&format!("{}:", measure.code.code())));
        if is_asked {
            session.work_act(&format!("pick:{pick}"));
        }
    }
    if session.step_entry().is_some_and(|entry| !entry.is_whole()) {
        session.work_act("branch:keep");
        session.work_act("said");
    }
    session.work_act("act");
    for act in [
        "doubt:as-typed",
        "doubt:as-typed",
        "doubt:as-typed",
        "record",
    ] {
        session.work_act(act);
    }
    session.work_act("because:responsible-decided");
}

#[test]
fn tablet_that_goes_dark_after_each_step_comes_back_at_the_right_next_one() {
    let folder = tempfile::tempdir().expect("a folder");
    for (number, procedure) in [
        ProcedureCode::YearlyClean,
        ProcedureCode::InternalInspection,
        ProcedureCode::ReturnToService,
        ProcedureCode::WeeklyLookRound,
        ProcedureCode::SetUp,
    ]
    .into_iter()
    .enumerate()
    {
        let book = folder.path().join(procedure.code());
        let stations = vec![winze_tests::samples::station("T-01")];
        let mut open = session(winze_tests::screen::tablet_logbook(&book, stations), 0);
        open.open_tag("T-01");
        open.go_to_station_work();
        open.work_act("open");
        open.work_act(&format!("procedure:{}", procedure.code()));
        open.work_act("why:due");
        for (settled, start) in (1..40_u8).enumerate() {
            assert_eq!(open.screen(), Screen::Work, "{procedure:?}");
            let going = open.going_procedure().expect("open");
            let state = going.state.expect("known");
            let Some(next) = state.next else {
                break;
            };
            let here = open.step_entry().map(StepEntry::code);
            assert_eq!(here, Some(next), "{procedure:?} after {settled} steps");
            // One act may settle the step after it too: readings bring their figures.
            assert!(
                state.progress().0 >= settled,
                "{procedure:?}: a step was lost"
            );
            do_step(&mut open);
            // The battery is empty: nothing is said, nothing is closed.
            drop(open.into_logbook());
            let clock = Arc::new(FixedClock::at(MONDAY_MS + i64::from(start) * 60_000));
            let again = Logbook::open(&book, clock).expect("opened again");
            open = session(again, 1 + start + 40 * u8::try_from(number).expect("few"));
        }
        open.work_act("close");
        let logbook = open.logbook().expect("here");
        let all = query::procedures_at(logbook, &code("T-01")).expect("read");
        let state = all[0].state.as_ref().expect("known");
        assert!(
            matches!(state.closing, Closing::Completed(_)),
            "{procedure:?} lacks {:?}",
            state.lacking
        );
    }
}

#[test]
fn step_is_taken_back_with_a_reason_and_done_out_of_turn_with_one() {
    let glass = Glass::with_stations(1, PORTRAIT);
    glass.open_first();
    glass.click("work here");
    glass.click("Open a procedure");
    glass.click("Yearly clean");
    glass.click("Due");
    tick(
        &glass,
        &[
            "Those who draw water know",
            "Place looked over",
            "Permits and isolation settled",
        ],
    );
    glass.click("Step before");
    glass.click("Take it back: say why");
    glass.click("Not done after all");
    assert_eq!(here(&glass), StepCode::Prepare);
    glass.click("Step after");
    glass.click("Step after");
    assert_eq!(here(&glass), StepCode::Isolate);
    for name in [
        "Upstream valve closed",
        "Downstream valve closed",
        "Both locked off and tagged",
    ] {
        glass.click(name);
    }
    glass.click("Go on: say why");
    glass.click("Another order suits the place");
    glass.tablet.act(|session| {
        let state = session
            .going_procedure()
            .and_then(|view| view.state)
            .expect("known");
        assert_eq!(state.status(StepCode::Isolate), Some(StepStatus::Done));
        assert_eq!(state.next, Some(StepCode::Prepare));
    });
    glass.click("All steps");
    glass.click("Give it up");
    glass.click("No time left");
    assert!(glass.has("Back to T-01"));
}

#[test]
fn job_is_raised_closed_by_a_reading_and_a_task_is_noted_as_done() {
    let glass = Glass::with_stations(1, LANDSCAPE);
    glass.open_first();
    glass.click("work here");
    glass.click("Raise a job");
    glass.click("Stop the leak");
    glass.click("Stop the leak");
    glass.click("Read the gauges");
    for (value, next) in
        ["10.2", "4.1", "2.0"]
            .into_iter()
            .zip(["next: interstage", "next: outlet", ""])
    {
        glass.click_digits(value);
        if !next.is_empty() {
            glass.click(next);
        }
    }
    glass.click("Look-round clear: read back");
    glass.click("Save and go on");
    glass.tablet.act(|session| session.open_tag("T-01"));
    glass.click("work here");
    glass.click("Stop the leak");
    glass.click("Done: close it");
    glass.tablet.act(|session| {
        let logbook = session.logbook().expect("here");
        let jobs = query::jobs_at(logbook, &code("T-01")).expect("read");
        assert!(jobs.len() == 1 && !jobs[0].is_open());
        session.work_act("task:yearly-clean");
    });
    glass.click("It was done: say when");
    glass.click("Yesterday");
    glass.tablet.act(|session| {
        let logbook = session.logbook().expect("here");
        let due = query::due_at(logbook, &code("T-01"), query::today(logbook)).expect("read");
        let clean = due
            .tasks
            .iter()
            .find(|task| task.task.code() == "yearly-clean");
        let done = clean.and_then(|task| task.last_done).expect("noted");
        assert_eq!(done.on.to_string(), "2026-03-01");
    });
}
