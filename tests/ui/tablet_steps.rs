//! Sizes and places on the screen of every step of every procedure: as it is opened, filled in, asked
//! back, recorded and taken back, and as a procedure is closed.

use winze_app_ui::tablet::session::Session;
use winze_app_ui::tablet::step_entry::StepEntry;
use winze_core::procedures::{
    Act, Branch, Measurand, ProcedureCode, Step, StepCode, StepStatus, procedure,
};

use crate::glass::{Glass, LANDSCAPE, PORTRAIT};
use crate::tablet_layout::check;

/// Questions, read back and reasons after one act.
const ASKED_MOST: usize = 6;

/// One procedure on one tablet.
struct Measured<'a> {
    glass: &'a Glass,
    size: (f32, f32),
    name: &'static str,
}

impl Measured<'_> {
    fn act(&self, what: &str, act: impl FnOnce(&mut Session)) {
        self.glass.tablet.act(act);
        self.glass.resize(self.size);
        check(self.glass, self.size, &format!("{}: {what}", self.name));
    }

    fn touch(&self, step: StepCode, id: &str) {
        self.act(&format!("{}, {id}", step.code()), |session| {
            session.work_act(id);
        });
    }

    fn status(&self, step: StepCode) -> Option<StepStatus> {
        let view = self.glass.tablet.act(|session| session.going_procedure());
        view.and_then(|view| view.state)
            .and_then(|state| state.status(step))
    }

    /// Shows a step, fills it in, records it and looks at it again; every screen is measured.
    fn step(&self, step: &'static Step, branch: Branch) {
        let code = step.code;
        self.touch(code, &format!("step:{}", code.code()));
        let here = (self.glass.tablet).act(|session| session.step_entry().map(StepEntry::code));
        assert_eq!(here, Some(code), "{}", self.name);
        if step.act == Act::Calibrate {
            self.touch(code, "pass");
        } else {
            self.act(&format!("{} filled in", code.code()), |session| {
                fill(session, step, branch);
            });
            self.touch(code, "note");
            self.act(&format!("{} again", code.code()), Session::work_back);
            self.touch(code, "act");
        }
        for _ in 0..ASKED_MOST {
            if self.status(code).is_some_and(StepStatus::is_settled) {
                break;
            }
            for id in ["doubt:as-typed", "because:responsible-decided", "record"] {
                self.touch(code, id);
            }
        }
        let status = self.status(code);
        assert!(
            status.is_some_and(StepStatus::is_settled),
            "{}: {code:?} is {status:?}",
            self.name
        );
        self.touch(code, &format!("step:{}", code.code()));
        self.touch(code, "undo");
        self.act("left as it is", Session::work_back);
    }
}

/// Answers what a step asks for as at a sound station.
fn fill(session: &mut Session, step: &'static Step, branch: Branch) {
    if step.act != Act::TickNoticed {
        for tick in step.ticks {
            session.work_act(&format!("tick:{}", tick.code()));
        }
    }
    let mut values: Vec<&str> = Vec::new();
    if step.reads_gauges() {
        values = vec!["10.2", "4.1", "2.0"];
    }
    for measure in step.measures {
        let code = measure.code;
        let value = match code.measurand() {
            Measurand::Pressure | Measurand::Turns if code.gauge().is_none() => {
                values.push("2.0");
                continue;
            }
            Measurand::Pressure | Measurand::Turns => continue,
            Measurand::Count => "2",
            Measurand::DrawOff => "usual",
            Measurand::Air => "none",
            Measurand::Dirt => "light",
            Measurand::Inside => "sound",
        };
        session.work_act(&format!("pick:{}:{value}", code.code()));
    }
    for value in values {
        value.chars().for_each(|key| session.work_key(key));
        session.work_next();
    }
    session.work_act(&format!("branch:{}", branch.code()));
    if session.step_entry().is_some_and(|entry| !entry.is_whole()) {
        session.work_act("said");
    }
}

fn measure(code: ProcedureCode, branch: Branch, size: (f32, f32)) {
    let glass = Glass::with_stations(2, size);
    let measured = Measured {
        glass: &glass,
        size,
        name: code.code(),
    };
    measured.act("work at the station", |session| {
        session.open_tag("T-01");
        session.go_to_station_work();
    });
    measured.act("procedures", |session| session.work_act("open"));
    let open = format!("procedure:{}", code.code());
    measured.act("why", |session| session.work_act(&open));
    measured.act("opened", |session| session.work_act("why:due"));
    let steps = procedure(code).steps.iter();
    for step in steps.filter(|step| step.branch.is_none_or(|own| own == branch)) {
        measured.step(step, branch);
    }
    measured.act("all steps", |session| session.work_act("steps"));
    measured.act("can be closed", |session| session.work_act("next-open"));
    for id in ["done-by", "seen-by"] {
        measured.act(id, |session| session.work_act(id));
        measured.act("not written", Session::work_back);
    }
    measured.act("closed", |session| session.work_act("close"));
    measured.act("work after it", |session| session.work_act("hub"));
}

fn measure_all(size: (f32, f32)) {
    for code in ProcedureCode::ALL {
        measure(*code, Branch::Keep, size);
    }
    measure(ProcedureCode::SetUp, Branch::Recalibrate, size);
}

#[test]
fn every_key_of_every_step_is_large_enough_and_clear_of_others_lying() {
    measure_all(LANDSCAPE);
}

#[test]
fn every_key_of_every_step_is_large_enough_and_clear_of_others_upright() {
    measure_all(PORTRAIT);
}
