//! Upkeep in the clerk's window, without a display: worked by mouse, and every part measured at both
//! sizes.

use std::path::Path;

use chrono::{Days, Months};
use slint::platform::Key;
use winze_app_ui::office::session::Screen;
use winze_core::Logbook;
use winze_core::actions::{
    NewEnd, NewJob, NewProcedure, NewStep, NewTaskDone, close_procedure, note_task_done,
    open_procedure, raise_job, record_step,
};
use winze_core::procedures::{OpenReason, ProcedureCode, StepCode, TickCode};
use winze_core::query;
use winze_core::record::{ProcedureEnd, Tick};
use winze_core::upkeep::{JobCause, JobWork, Task};
use winze_tests::samples::code;

use crate::glass::{LANDSCAPE, PORTRAIT};
use crate::office::{Desk, label, logbook_with_tray};

/// The office of the tray's story, with an overdue cleaning, an open job, an open recalibration and
/// a cleaning that was given up.
fn logbook(folder: &Path) -> Logbook {
    let mut office = logbook_with_tray(folder);
    let by = || "Engineer".to_owned();
    let today = query::today(&office);
    let (long_ago, lately) = (today - Months::new(24), today - Days::new(40));
    for (station, done_on) in [("T-01", long_ago), ("T-02", lately)] {
        let new = NewTaskDone {
            station: code(station),
            task: Task::YearlyClean,
            done_on,
            note: String::new(),
            by: by(),
        };
        note_task_done(&mut office, new).expect("noted");
    }
    let job = NewJob {
        station: code("T-01"),
        work: JobWork::StopLeak,
        cause: JobCause::Noticed(Tick::Leak),
        evidence: Vec::new(),
        note: "gland drips".to_owned(),
        by: by(),
    };
    raise_job(&mut office, job).expect("raised");
    for (station, procedure, reason) in [
        ("T-01", ProcedureCode::Recalibrate, OpenReason::OutletOff),
        ("T-02", ProcedureCode::YearlyClean, OpenReason::Due),
    ] {
        let new = NewProcedure {
            procedure,
            station: code(station),
            reason: Some(reason),
            note: String::new(),
            by: by(),
        };
        let opened = open_procedure(&mut office, new).expect("opened");
        let step = NewStep {
            ticks: vec![
                TickCode::ConsumersTold,
                TickCode::PlaceLookedOver,
                TickCode::WorkAgreed,
            ],
            ..NewStep::done(opened, StepCode::Prepare, "Engineer", [3; 8])
        };
        record_step(&mut office, step).expect("recorded");
        if procedure == ProcedureCode::YearlyClean {
            let end = NewEnd {
                procedure: opened,
                end: ProcedureEnd::Abandoned,
                done_by: by(),
                seen_by: String::new(),
                note: "water was needed".to_owned(),
                by: by(),
            };
            close_procedure(&mut office, end).expect("given up");
        }
    }
    office
}

fn said(desk: &Desk) -> String {
    desk.office.act(|session| session.notice().what.clone())
}

#[test]
fn clerk_notes_closes_looks_at_steps_and_makes_a_certificate() {
    let desk = Desk::of(LANDSCAPE, logbook);
    desk.click("Upkeep");
    desk.click("Cleaning");
    desk.click("overdue 1");
    desk.click("Note that it was done");
    desk.click("Note it");
    assert_eq!(desk.screen(), Screen::Person, "a record needs a name");
    desk.type_text("Clerk");
    desk.click("That is me");
    assert!(said(&desk).contains("is noted as done"), "{}", said(&desk));

    desk.click("Jobs");
    desk.click("Close this job");
    desk.click("It turned out not to be needed");
    desk.click("Note; needed where the job was not");
    desk.type_text("rain");
    desk.click("Close the job");
    assert!(said(&desk).starts_with("Closed"), "{}", said(&desk));

    desk.click("Procedures");
    desk.click("See the steps");
    let view = desk.office.act(|session| session.upkeep_view());
    assert_eq!(view.detail.heading, "1  Prepare: people, place, permits");
    desk.press(Key::DownArrow);
    desk.click("Back to the list");

    desk.click("Certificates");
    desk.click("Make the PDF");
    assert!(
        said(&desk).contains("The PDF is written"),
        "{}",
        said(&desk)
    );
    let papers = desk.folder.path().join("office/papers");
    assert_eq!(std::fs::read_dir(papers).expect("there").count(), 1);
}

/// Everything to press lies within the window and over nothing else.
fn assert_tidy(desk: &Desk, (width, height): (f32, f32), what: &str) {
    let all = desk.reachable();
    let boxes: Vec<_> = all
        .iter()
        .map(|one| {
            let (at, size) = (one.absolute_position(), one.size());
            (
                label(one),
                at.x,
                at.y,
                at.x + size.width,
                at.y + size.height,
            )
        })
        .collect();
    for (place, (name, left, top, right, bottom)) in boxes.iter().enumerate() {
        assert!(!name.is_empty(), "{what}: something has no name");
        let is_inside =
            *left >= 0.0 && *top >= 0.0 && *right <= width + 1.0 && *bottom <= height - 39.0;
        assert!(
            is_inside,
            "{what}: {name} lies outside: {left} {top} {right} {bottom}"
        );
        for (other, x0, y0, x1, y1) in &boxes[place + 1..] {
            // The search tells of an element once for each component it is made of.
            if name == other && (left - x0).abs() < 0.5 && (top - y0).abs() < 0.5 {
                continue;
            }
            let is_apart =
                *right <= x0 + 0.5 || *x1 <= left + 0.5 || *bottom <= y0 + 0.5 || *y1 <= top + 0.5;
            assert!(is_apart, "{what}: {name} lies over {other}");
        }
    }
}

#[test]
fn nothing_of_upkeep_is_cut_or_covered_in_both_sizes() {
    for size in [LANDSCAPE, PORTRAIT] {
        let desk = Desk::of(size, logbook);
        desk.click("Upkeep");
        assert_tidy(&desk, size, "due");
        desk.click("Note that it was done");
        assert_tidy(&desk, size, "noting a task");
        desk.click("Jobs");
        assert_tidy(&desk, size, "jobs");
        desk.click("Close this job");
        assert_tidy(&desk, size, "closing a job");
        desk.click("Leave it");
        desk.click("Raise a job");
        assert_tidy(&desk, size, "raising a job");
        desk.click("Procedures");
        assert_tidy(&desk, size, "procedures");
        desk.click("See the steps");
        assert_tidy(&desk, size, "steps");
        desk.click("Certificates");
        assert_tidy(&desk, size, "certificates");
    }
}

#[test]
fn upkeep_is_worked_without_a_mouse() {
    let desk = Desk::of(LANDSCAPE, logbook);
    desk.click("Upkeep");
    for (digit, side) in [
        ('2', "jobs"),
        ('3', "procedures"),
        ('4', "papers"),
        ('1', "due"),
    ] {
        desk.press(digit);
        let sides = desk.office.act(|session| session.upkeep_view().sides);
        let chosen = sides.into_iter().find(|one| one.is_chosen);
        assert_eq!(chosen.map(|one| one.id).as_deref(), Some(side));
    }
    desk.press(Key::Return);
    assert!(desk.office.act(|session| session.is_filling_in()));
    desk.press(Key::Escape);
    assert!(!desk.office.act(|session| session.is_filling_in()));
    desk.press(Key::Escape);
    assert_eq!(desk.screen(), Screen::Week);
}
