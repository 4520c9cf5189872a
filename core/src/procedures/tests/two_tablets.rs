//! Two tablets at one procedure: both survive, and the order of arrival never shows.

use super::desk::{Desk, bar, proper};
use crate::procedures::*;
use crate::record::ProcedureEnd;

/// Both tablets know the same, whoever merged first.
fn together(one: &Desk, two: &Desk) -> Desk {
    let (mut here, mut there) = (one.clone(), two.clone());
    here.merge(two);
    there.merge(one);
    assert_eq!(here.state(), there.state());
    let mut twice = here.clone();
    twice.facts.extend(here.facts.clone());
    assert_eq!(twice.state(), here.state());
    here
}

fn common(until: StepCode) -> (Desk, Desk) {
    let mut one = Desk::new(ProcedureCode::SetUp, 1);
    one.run_until(Branch::Keep, |step| step == until);
    let two = one.copy(2);
    (one, two)
}

#[test]
fn a_step_recorded_alike_by_both_is_done_once() {
    let (mut one, mut two) = common(StepCode::Flush);
    one.act(StepCode::Flush);
    two.act(StepCode::Flush);
    two.act(StepCode::StrainerClean);
    let mut both = together(&one, &two);
    let state = both.state();
    assert_eq!(state.status(StepCode::Flush), Some(StepStatus::Done));
    assert_eq!(state.step(StepCode::Flush).unwrap().entries.len(), 2);
    // What the second one did rests on its own record, which stands.
    assert_eq!(
        state.status(StepCode::StrainerClean),
        Some(StepStatus::Done)
    );
    both.run(Branch::Keep);
    both.close(ProcedureEnd::Completed);
    assert!(both.state().is_in_service());
}

#[test]
fn different_values_are_disputed_until_one_is_undone() {
    let (mut one, mut two) = common(StepCode::SupplyPresent);
    one.act(StepCode::SupplyPresent);
    let mut other = proper(two.procedure, StepCode::SupplyPresent);
    other.measured = vec![Measured::pressure(MeasureCode::Supply, bar(80))];
    let theirs = two.write(other);
    let mut both = together(&one, &two);
    let state = both.state();
    assert_eq!(state.disputed, [StepCode::SupplyPresent]);
    assert_eq!(
        state.value(StepCode::SupplyPresent, MeasureCode::Supply),
        None
    );
    // Other steps go on; what needs it waits, and nothing is complete.
    assert_eq!(state.next, Some(StepCode::CocksOpen));
    both.run(Branch::Keep);
    assert_eq!(both.next(), None);
    assert!(both.state().lacking.contains(&StepCode::SupplyPresent));
    both.undo_records(StepCode::SupplyPresent, vec![theirs]);
    let state = both.state();
    assert_eq!(
        state.pressure(StepCode::SupplyPresent, MeasureCode::Supply),
        Some(bar(100))
    );
    assert_eq!(state.next, Some(StepCode::Compatibility));
}

#[test]
fn digits_written_differently_are_no_dispute() {
    let (mut one, mut two) = common(StepCode::SupplyPresent);
    one.act(StepCode::SupplyPresent);
    let mut other = proper(two.procedure, StepCode::SupplyPresent);
    let typed = crate::units::Typed::of(1000, -2, crate::units::Unit::Bar);
    other.measured = vec![Measured::pressure(MeasureCode::Supply, typed)];
    two.write(other);
    assert_eq!(together(&one, &two).state().disputed, []);
}

#[test]
fn two_branches_chosen_apart_decide_nothing_until_one_is_undone() {
    let (mut one, mut two) = common(StepCode::Branch);
    one.run_until(Branch::Keep, |step| step == StepCode::AsLeft);
    two.run_until(Branch::Recalibrate, |step| step == StepCode::Calibrate);
    let mut both = together(&one, &two);
    let state = both.state();
    assert_eq!((state.branch, state.next), (None, None));
    assert_eq!(state.disputed, [StepCode::Branch]);
    let choice = state.step(StepCode::Branch).unwrap();
    let keep = choice
        .entries
        .iter()
        .find(|e| e.body.branch == Some(Branch::Keep));
    both.undo_records(StepCode::Branch, vec![keep.unwrap().at]);
    let state = both.state();
    assert_eq!(state.branch, Some(Branch::Recalibrate));
    assert_eq!(state.next, Some(StepCode::Calibrate));
    // Done by both, once for each choice: the second one's stands.
    assert_eq!(state.status(StepCode::OpenUpstream), Some(StepStatus::Done));
    assert!(state.status(StepCode::VentFirst).unwrap().is_open());
}

#[test]
fn undone_there_while_completed_here_is_not_in_service() {
    let (mut one, mut two) = common(StepCode::Told);
    one.act(StepCode::Told);
    one.close(ProcedureEnd::Completed);
    assert!(one.state().is_in_service());
    two.undo(StepCode::VentFirst);
    let mut both = together(&one, &two);
    let state = both.state();
    assert_eq!(state.closing, Closing::Open);
    assert!(!state.is_in_service());
    assert_eq!(state.next, Some(StepCode::VentFirst));
    both.run(Branch::Keep);
    both.close(ProcedureEnd::Completed);
    assert!(both.state().is_in_service());
}

#[test]
fn measured_differently_there_while_completed_here_is_contested() {
    let (mut one, mut two) = common(StepCode::AsLeft);
    one.run(Branch::Keep);
    one.close(ProcedureEnd::Completed);
    let mut other = proper(two.procedure, StepCode::AsLeft);
    other.measured[2] = Measured::pressure(MeasureCode::Outlet, bar(26));
    let theirs = two.write(other);
    let mut both = together(&one, &two);
    let state = both.state();
    assert_eq!(state.closing.code(), "contested");
    assert!(!state.is_in_service() && state.closing.closed_by().is_none());
    both.undo_records(StepCode::AsLeft, vec![theirs]);
    assert!(both.state().is_in_service());
}

#[test]
fn completed_here_and_given_up_there_has_to_be_ended_anew() {
    let (mut one, mut two) = common(StepCode::Told);
    one.close(ProcedureEnd::Completed);
    two.close(ProcedureEnd::Abandoned);
    let mut both = together(&one, &two);
    assert!(matches!(&both.state().closing, Closing::Disputed(ends) if ends.len() == 2));
    assert!(!both.state().is_in_service());
    both.close(ProcedureEnd::Completed);
    assert!(both.state().is_in_service());
}

#[test]
fn completed_twice_alike_is_completed() {
    let (mut one, mut two) = common(StepCode::Told);
    let first = one.close(ProcedureEnd::Completed);
    two.now_ms += 60_000;
    two.close(ProcedureEnd::Completed);
    let state = together(&one, &two).state();
    assert_eq!(state.closing.closed_by().map(|end| end.at), Some(first));
}
