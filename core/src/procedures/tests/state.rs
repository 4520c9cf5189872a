//! What one tablet's records come to.

use super::desk::{Desk, bar, bare, point, proper, why};
use crate::procedures::*;
use crate::record::{ProcedureEnd, ShownFigure, StepOutcome};

fn set_up() -> Desk {
    Desk::new(ProcedureCode::SetUp, 1)
}

/// The standing of the newest record of a step.
fn newest(desk: &Desk, step: StepCode) -> Standing {
    let state = desk.state();
    state.step(step).unwrap().entries.last().unwrap().standing
}

#[test]
fn every_procedure_runs_through_in_its_own_order_on_every_branch() {
    for code in ProcedureCode::ALL {
        for branch in Branch::ALL {
            let mut desk = Desk::new(*code, 1);
            let mut seen = Vec::new();
            while let Some(next) = desk.next() {
                seen.push(next);
                let mut body = proper(desk.procedure, next);
                body.branch = body.branch.map(|_| *branch);
                desk.write(body);
                assert!(desk.state().status(next).unwrap().is_settled(), "{next:?}");
            }
            let there = desk.procedure.steps.iter();
            let there = there.filter(|step| step.branch.is_none_or(|on| on == *branch));
            let in_order: Vec<StepCode> = there.map(|step| step.code).collect();
            assert_eq!(seen, in_order, "{code:?}");
            let state = desk.state();
            assert!(state.is_complete() && !state.is_in_service());
            assert_eq!(state.may_enter_service(), desk.procedure.gives_service);
            assert_eq!(state.progress(), (seen.len(), seen.len()));
            desk.close(ProcedureEnd::Completed);
            assert_eq!(desk.state().is_in_service(), desk.procedure.gives_service);
            assert_eq!(desk.next(), None);
        }
    }
}

#[test]
fn a_step_out_of_order_needs_a_stated_reason_and_leaves_the_others_open() {
    let mut desk = set_up();
    let refused = desk.act(StepCode::Flush);
    let flush = |desk: &Desk| desk.state().status(StepCode::Flush).unwrap();
    let unfit = Standing::Unfit(Unfit::OutOfOrder(StepCode::Prepare));
    assert_eq!(
        (newest(&desk, StepCode::Flush), flush(&desk)),
        (unfit, StepStatus::Open)
    );
    let mut body = bare(StepCode::Flush);
    body.out_of_order = Some(Reason::new(ReasonCode::Other, " "));
    desk.write(body.clone());
    assert_eq!(
        newest(&desk, StepCode::Flush),
        Standing::Unfit(Unfit::ReasonNotStated)
    );
    body.out_of_order = Some(why());
    desk.write(body);
    assert_eq!(flush(&desk), StepStatus::Done);
    assert_eq!(desk.next(), Some(StepCode::Prepare));
    assert!(desk.state().lacking.contains(&StepCode::Prepare));
    // What was refused is still there to be seen.
    let state = desk.state();
    assert_eq!(state.step(StepCode::Flush).unwrap().entries[0].at, refused);
}

#[test]
fn some_needs_no_reason_can_replace() {
    let mut desk = Desk::new(ProcedureCode::YearlyClean, 1);
    let mut body = proper(desk.procedure, StepCode::StrainerClean);
    body.out_of_order = Some(why());
    desk.write(body.clone());
    let unfit = Standing::Unfit(Unfit::NeedsFirst(StepCode::Pressureless));
    assert_eq!(newest(&desk, StepCode::StrainerClean), unfit);
    let way = desk.state().way(StepCode::StrainerClean).unwrap().clone();
    assert_eq!(way.blocked_by, [StepCode::Pressureless]);
    // Passed over, the need still stands: a strainer under pressure is not opened for a reason.
    desk.run_until(Branch::Keep, |step| step == StepCode::Pressureless);
    desk.pass(StepCode::Pressureless);
    desk.write(body);
    assert_eq!(newest(&desk, StepCode::StrainerClean), unfit);
    let state = desk.state();
    let way = state.way(StepCode::StrainerClean).unwrap();
    assert!(!way.may_do() && way.may_pass && way.is_in_order());
    assert_eq!(state.next, Some(StepCode::StrainerClean));
    desk.pass(StepCode::StrainerClean);
    assert_eq!(desk.next(), Some(StepCode::CloseUp));
}

#[test]
fn undoing_a_step_opens_again_what_depended_on_it_and_erases_nothing() {
    let mut desk = set_up();
    desk.run(Branch::Recalibrate);
    let records = desk.facts.len();
    let undoing = desk.undo(StepCode::FactorySetPoint);
    let state = desk.state();
    let open = |code| state.status(code).unwrap().is_open();
    for step in [
        StepCode::FactorySetPoint,
        StepCode::Compatibility,
        StepCode::Branch,
        StepCode::OpenUpstream,
        StepCode::AsLeft,
    ] {
        assert!(open(step), "{step:?}");
    }
    for step in [
        StepCode::Prepare,
        StepCode::StrainerClean,
        StepCode::CocksOpen,
    ] {
        assert!(!open(step), "{step:?}");
    }
    // Without a choice nobody knows whether these belong.
    assert_eq!(state.status(StepCode::Calibrate), Some(StepStatus::Waiting));
    assert_eq!(state.next, Some(StepCode::FactorySetPoint));
    let entries: usize = state.steps.iter().map(|step| step.entries.len()).sum();
    assert_eq!(entries, records);
    let of = |code| state.step(code).unwrap().entries[0].standing;
    assert_eq!(
        of(StepCode::FactorySetPoint),
        Standing::Undone { by: undoing }
    );
    assert!(matches!(of(StepCode::AsLeft), Standing::Fell { .. }));
    desk.run(Branch::Keep);
    assert!(desk.state().is_complete());
    assert_eq!(
        desk.state().status(StepCode::Calibrate),
        Some(StepStatus::OtherBranch)
    );
}

#[test]
fn no_flow_and_air_are_recorded_and_leave_their_step_open() {
    let mut desk = set_up();
    desk.run_until(Branch::Recalibrate, |step| step == StepCode::Flow);
    let mut still = bare(StepCode::Flow);
    still.measured = vec![Measured::flow(DrawOff::None)];
    desk.write(still);
    let tried = StepStatus::Tried(Attempt::NoFlow);
    assert_eq!(desk.state().status(StepCode::Flow), Some(tried));
    assert_eq!(desk.next(), Some(StepCode::Flow));
    desk.act(StepCode::Calibrate);
    let unfit = Standing::Unfit(Unfit::NeedsFirst(StepCode::Flow));
    assert_eq!(newest(&desk, StepCode::Calibrate), unfit);
    let mut least = bare(StepCode::Flow);
    least.measured = vec![Measured::flow(DrawOff::Minimum)];
    desk.write(least);
    assert_eq!(desk.next(), Some(StepCode::Calibrate));
    let mut lock_up = proper(desk.procedure, StepCode::Calibrate);
    lock_up.points[1].draw_off = DrawOff::None;
    desk.write(lock_up);
    let unfit = Standing::Unfit(Unfit::PointWithoutFlow);
    assert_eq!(newest(&desk, StepCode::Calibrate), unfit);
    desk.run_until(Branch::Recalibrate, |step| step == StepCode::VentSecond);
    let mut airy = bare(StepCode::VentSecond);
    airy.measured = vec![Measured::air(Air::Some)];
    desk.write(airy.clone());
    desk.write(airy);
    let tried = StepStatus::Tried(Attempt::AirLeft);
    assert_eq!(desk.state().status(StepCode::VentSecond), Some(tried));
    assert_eq!(desk.next(), Some(StepCode::VentSecond));
    desk.act(StepCode::VentSecond);
    assert_eq!(desk.next(), Some(StepCode::OpenDownstream));
}

/// A as-left reading without flow is a reading all the same; what it says is judged at the figures.
#[test]
fn as_left_without_flow_settles_its_step() {
    let mut desk = set_up();
    desk.run_until(Branch::Keep, |step| step == StepCode::AsLeft);
    let mut still = proper(desk.procedure, StepCode::AsLeft);
    still.measured.retain(|one| one.code != MeasureCode::Flow);
    still.measured.push(Measured::flow(DrawOff::None));
    desk.write(still);
    assert_eq!(desk.next(), Some(StepCode::LeftFigures));
}

#[test]
fn the_turns_of_a_calibration_are_kept_one_by_one() {
    let mut desk = Desk::new(ProcedureCode::Recalibrate, 1);
    desk.run_until(Branch::Keep, |step| step == StepCode::Calibrate);
    for (turn, tenths) in [(0, 12), (2, 16)] {
        let mut body = bare(StepCode::Calibrate);
        body.outcome = StepOutcome::GoingOn;
        body.points = vec![point(turn, tenths)];
        desk.write(body);
    }
    let state = desk.state();
    assert_eq!(state.status(StepCode::Calibrate), Some(StepStatus::GoingOn));
    assert_eq!(state.next, Some(StepCode::Calibrate));
    assert_eq!(state.turns(), [point(0, 12), point(2, 16)]);
    let mut last = bare(StepCode::Calibrate);
    last.points = vec![point(4, 20)];
    desk.write(last);
    let state = desk.state();
    assert_eq!(state.status(StepCode::Calibrate), Some(StepStatus::Done));
    assert_eq!(state.turns(), [point(0, 12), point(2, 16), point(4, 20)]);
    assert_eq!(state.screw_at(), Some(point(4, 0).turns));
    desk.undo(StepCode::Calibrate);
    assert_eq!(desk.state().turns(), []);
    let mut elsewhere = bare(StepCode::Prepare);
    elsewhere.outcome = StepOutcome::GoingOn;
    desk.write(elsewhere);
    assert_eq!(
        newest(&desk, StepCode::Prepare),
        Standing::Unfit(Unfit::CannotGoOn)
    );
}

#[test]
fn figures_that_say_stop_hold_the_step_until_a_reason_is_stated() {
    let mut desk = set_up();
    desk.run_until(Branch::Keep, |step| step == StepCode::Compatibility);
    let mut body = bare(StepCode::Compatibility);
    body.figures = vec![ShownFigure {
        code: "interstage-at-lowest".to_owned(),
        level: Level::Stop,
    }];
    desk.write(body.clone());
    assert_eq!(
        newest(&desk, StepCode::Compatibility),
        Standing::Unfit(Unfit::FiguresSayStop)
    );
    assert_eq!(desk.next(), Some(StepCode::Compatibility));
    body.despite = Some(why());
    desk.write(body);
    assert_eq!(desk.next(), Some(StepCode::Branch));
}

#[test]
fn a_record_that_says_too_little_or_too_much_does_not_count() {
    let mut desk = set_up();
    let unfit = |desk: &mut Desk, body: crate::record::StepRecorded| {
        let step = body.step;
        desk.write(body);
        match newest(desk, step) {
            Standing::Unfit(why) => why,
            other => panic!("{other:?}"),
        }
    };
    let mut few = proper(desk.procedure, StepCode::Prepare);
    let left_out = few.ticks.remove(1);
    assert_eq!(unfit(&mut desk, few), Unfit::TickMissing(left_out));
    let mut foreign = proper(desk.procedure, StepCode::Prepare);
    foreign.ticks.push(TickCode::Cap);
    assert_eq!(
        unfit(&mut desk, foreign),
        Unfit::TickNotAsked(TickCode::Cap)
    );
    let mut chosen = proper(desk.procedure, StepCode::Prepare);
    chosen.branch = Some(Branch::Keep);
    assert_eq!(unfit(&mut desk, chosen), Unfit::BranchAmiss);
    let mut turned = proper(desk.procedure, StepCode::Prepare);
    turned.points = vec![point(0, 12)];
    assert_eq!(unfit(&mut desk, turned), Unfit::PointsAmiss);
    desk.run_until(Branch::Recalibrate, |step| step == StepCode::SupplyPresent);
    let missing = Unfit::MeasureMissing(MeasureCode::Supply);
    assert_eq!(unfit(&mut desk, bare(StepCode::SupplyPresent)), missing);
    let mut twice = proper(desk.procedure, StepCode::SupplyPresent);
    twice
        .measured
        .push(Measured::pressure(MeasureCode::Supply, bar(99)));
    let amiss = Unfit::MeasureNotAsked(MeasureCode::Supply);
    assert_eq!(unfit(&mut desk, twice), amiss);
    let mut of_another_kind = bare(StepCode::SupplyPresent);
    of_another_kind.measured = vec![Measured {
        code: MeasureCode::Supply,
        value: Value::Count(10),
    }];
    assert_eq!(unfit(&mut desk, of_another_kind), amiss);
    desk.run_until(Branch::Recalibrate, |step| step == StepCode::Branch);
    let mut passed = bare(StepCode::Branch);
    passed.outcome = StepOutcome::PassedOver(why());
    assert_eq!(unfit(&mut desk, passed), Unfit::MayNotBePassed);
    let stray = desk.act(StepCode::Isolate);
    assert_eq!(desk.state().strays, [stray]);
    desk.run(Branch::Recalibrate);
    assert!(desk.state().is_complete());
}

#[test]
fn an_end_before_the_end_does_not_count() {
    let mut desk = set_up();
    desk.run_until(Branch::Keep, |step| step == StepCode::AsLeft);
    let early = desk.close(ProcedureEnd::Completed);
    let state = desk.state();
    assert_eq!(state.closing, Closing::Open);
    assert_eq!(state.ends_ignored[0].at, early);
    assert_eq!(
        state.ends_ignored[0].lacking,
        [StepCode::AsLeft, StepCode::LeftFigures]
    );
    desk.run(Branch::Keep);
    // What came later does not make the early end right.
    assert_eq!(desk.state().closing, Closing::Open);
    desk.close(ProcedureEnd::Completed);
    assert!(desk.state().is_in_service());
}

#[test]
fn given_up_needs_words_and_brings_nothing_into_service() {
    let mut desk = set_up();
    desk.run(Branch::Keep);
    desk.close(ProcedureEnd::Abandoned);
    let state = desk.state();
    assert_eq!(state.closing.code(), "abandoned");
    assert!(!state.is_in_service() && state.next.is_none());
    let mut desk = set_up();
    desk.close(ProcedureEnd::Abandoned);
    if let Some(Says::Closed(body)) = desk.facts.last_mut().map(|fact| &mut fact.says) {
        body.note.clear();
    }
    assert_eq!(desk.state().closing, Closing::Open);
}

/// No honest log holds such records; nothing may hang or count all the same.
#[test]
fn records_that_rest_on_one_another_in_a_ring_do_not_stand() {
    let mut desk = set_up();
    let one = desk.act(StepCode::Prepare);
    let two = desk.act(StepCode::Flush);
    desk.facts[0].based_on = vec![two];
    desk.facts[1].based_on = vec![one];
    let state = desk.state();
    assert_eq!(state.next, Some(StepCode::Prepare));
    assert!(state.steps.iter().all(|step| !step.status.is_settled()));
}
