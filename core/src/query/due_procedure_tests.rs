//! What closed procedures do for upkeep, walked through a logbook.

use winze_sync_format::RecordRef;

use super::{due_at, procedure};
use crate::actions::{NewEnd, NewProcedure, NewStep, close_procedure, open_procedure, record_step};
use crate::clock::DAY_MS;
use crate::procedures::{
    Act, Air, Branch, Dirt, DrawOff, Inside, MeasureCode, Measured, OpenReason, ProcedureCode,
    Reason, ReasonCode, Step, StepCode, Value,
};
use crate::record::{ProcedureEnd, Role, StepOutcome};
use crate::samples::{Kept, MONDAY_MS, code};
use crate::units::{Typed, Unit};
use crate::upkeep::{DoneBy, Status, Task, TaskDue, Why};

/// How things are found at the steps that say so.
#[derive(Clone, Copy)]
struct Seen {
    strainer: Dirt,
    inside: Inside,
}

fn value(measure: MeasureCode, seen: Seen) -> Value {
    let bar = |tenths| Value::Pressure(Typed::of(tenths, -1, Unit::Bar));
    match measure {
        MeasureCode::Supply | MeasureCode::Inlet => bar(100),
        MeasureCode::Interstage => bar(40),
        MeasureCode::Outlet | MeasureCode::FactorySetPoint | MeasureCode::WantedSetPoint => bar(20),
        MeasureCode::TurnsBackedOff => Value::Turns(winze_sync_format::Decimal::new(3, 0)),
        MeasureCode::Ventings => Value::Count(1),
        MeasureCode::Flow => Value::DrawOff(DrawOff::Usual),
        MeasureCode::Air => Value::Air(Air::None),
        MeasureCode::StrainerFound => Value::Dirt(seen.strainer),
        MeasureCode::InsideFound => Value::Inside(seen.inside),
    }
}

fn entry(at: RecordRef, step: &Step, seen: Seen, nonce: u64) -> NewStep {
    let mut new = NewStep::done(at, step.code, "Ada", nonce.to_be_bytes());
    if step.act == Act::TickAll {
        new.ticks = step.ticks.to_vec();
    }
    if step.act == Act::Choose {
        new.branch = Some(Branch::Keep);
    }
    let measures = step.measures.iter();
    new.measured = measures
        .map(|measure| Measured {
            code: measure.code,
            value: value(measure.code, seen),
        })
        .collect();
    new
}

/// Walks a procedure to its end, passing over one step if so asked; returns its name before it is
/// closed.
fn walk(kept: &mut Kept, which: ProcedureCode, seen: Seen, pass: Option<StepCode>) -> RecordRef {
    let new = NewProcedure {
        procedure: which,
        station: code("T-07"),
        reason: crate::procedures::procedure(which)
            .needs_reason
            .then_some(OpenReason::NewStation),
        note: String::new(),
        by: "Ada".to_owned(),
    };
    let at = open_procedure(&mut kept.book, new).unwrap();
    for turn in 0.. {
        let view = procedure(&kept.book, at).unwrap();
        let (data, state) = view.known_state().unwrap();
        let Some(next) = state.next else {
            break;
        };
        let step = data.step(next).unwrap();
        let mut new = entry(at, step, seen, turn);
        if pass == Some(next) {
            let reason = Reason::new(ReasonCode::NotPossibleNow, "no spare seal");
            new = NewStep::done(at, next, "Ada", turn.to_be_bytes());
            new.outcome = StepOutcome::PassedOver(reason);
        }
        kept.clock.advance_ms(60_000);
        record_step(&mut kept.book, new).unwrap_or_else(|error| panic!("{next:?}: {error}"));
    }
    at
}

fn end(kept: &mut Kept, at: RecordRef, end: ProcedureEnd) {
    let new = NewEnd {
        procedure: at,
        end,
        done_by: "Ada".to_owned(),
        seen_by: String::new(),
        note: "as agreed".to_owned(),
        by: "Ada".to_owned(),
    };
    close_procedure(&mut kept.book, new).unwrap();
}

fn task(kept: &Kept, task: Task) -> TaskDue {
    let station = due_at(&kept.book, &code("T-07"), super::today(&kept.book)).unwrap();
    let mut tasks = station.tasks.into_iter();
    tasks.find(|due| due.task == task).unwrap()
}

fn months_off(due: &TaskDue) -> u32 {
    due.why.iter().map(Why::months_off).sum()
}

const CLEAN: Seen = Seen {
    strainer: Dirt::Clean,
    inside: Inside::Sound,
};

#[test]
fn a_yearly_cleaning_counts_from_its_step_once_it_is_closed() {
    let mut kept = Kept::new(Role::Tablet, "Tablet");
    kept.define("T-07");
    let seen = Seen {
        strainer: Dirt::Heavy,
        ..CLEAN
    };
    let at = walk(&mut kept, ProcedureCode::YearlyClean, seen, None);
    let open = task(&kept, Task::YearlyClean);
    assert_eq!(open.last_done, None, "not while it is open");
    // Closed the week after: the day of the step counts, not that of the paper.
    kept.clock.set(MONDAY_MS + 7 * DAY_MS);
    end(&mut kept, at, ProcedureEnd::Completed);
    let clean = task(&kept, Task::YearlyClean);
    let last = clean.last_done.unwrap();
    assert_eq!(
        (last.by, last.on.to_string()),
        (DoneBy::Procedure, "2026-01-05".to_owned())
    );
    assert_eq!((clean.status, months_off(&clean)), (Status::NotYet, 4));
    assert_eq!(clean.window.unwrap().due.to_string(), "2026-09-05");
    let inspection = task(&kept, Task::InternalInspection);
    assert_eq!((inspection.last_done, months_off(&inspection)), (None, 6));
}

#[test]
fn a_cleaning_given_up_after_the_strainer_was_cleaned_is_a_cleaning() {
    let mut kept = Kept::new(Role::Tablet, "Tablet");
    kept.define("T-07");
    let at = walk(&mut kept, ProcedureCode::YearlyClean, CLEAN, None);
    end(&mut kept, at, ProcedureEnd::Abandoned);
    assert!(task(&kept, Task::YearlyClean).last_done.is_some());

    let mut kept = Kept::new(Role::Tablet, "Tablet");
    kept.define("T-07");
    let passed = Some(StepCode::StrainerClean);
    let at = walk(&mut kept, ProcedureCode::YearlyClean, CLEAN, passed);
    end(&mut kept, at, ProcedureEnd::Completed);
    let clean = task(&kept, Task::YearlyClean);
    assert_eq!(
        clean.last_done, None,
        "passed over with a reason is not done"
    );
}

#[test]
fn an_inspection_counts_where_both_stages_were_opened() {
    for (pass, is_done) in [(None, true), (Some(StepCode::InspectSecond), false)] {
        let mut kept = Kept::new(Role::Tablet, "Tablet");
        kept.define("T-07");
        let seen = Seen {
            inside: Inside::Worn,
            ..CLEAN
        };
        let at = walk(&mut kept, ProcedureCode::InternalInspection, seen, pass);
        end(&mut kept, at, ProcedureEnd::Completed);
        let inspection = task(&kept, Task::InternalInspection);
        assert_eq!(inspection.last_done.is_some(), is_done);
        let worn = inspection
            .why
            .iter()
            .filter(|why| why.code() == "stage-left-worn");
        assert_eq!(worn.count(), if is_done { 2 } else { 1 });
        // The strainer is on its way too.
        assert!(task(&kept, Task::YearlyClean).last_done.is_some());
    }
}

#[test]
fn a_look_round_by_procedure_is_the_weeks_look_round() {
    let mut kept = Kept::new(Role::Tablet, "Tablet");
    kept.define("T-07");
    let at = walk(&mut kept, ProcedureCode::WeeklyLookRound, CLEAN, None);
    end(&mut kept, at, ProcedureEnd::Completed);
    let round = task(&kept, Task::LookRound);
    assert_eq!((round.status, round.times_done), (Status::NotYet, 1));
}

#[test]
fn a_set_up_starts_the_clock_of_inspections_and_counts_as_a_cleaning() {
    let mut kept = Kept::new(Role::Tablet, "Tablet");
    kept.define("T-07");
    let at = walk(&mut kept, ProcedureCode::SetUp, CLEAN, None);
    end(&mut kept, at, ProcedureEnd::Completed);
    let inspection = task(&kept, Task::InternalInspection);
    assert_eq!(inspection.last_done, None);
    assert_eq!(inspection.why[0].code(), "counted-from");
    assert_eq!(inspection.window.unwrap().due.to_string(), "2030-01-05");
    let clean = task(&kept, Task::YearlyClean);
    assert_eq!(clean.window.unwrap().due.to_string(), "2027-01-05");
}
