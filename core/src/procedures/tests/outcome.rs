//! What ended procedures change: baselines and definitions.

use chrono::NaiveDate;
use winze_sync_format::Decimal;

use super::desk::{Desk, bar, proper, why};
use crate::procedures::*;
use crate::record::{ProcedureEnd, StepOutcome};
use crate::samples::station;
use crate::station::defaults;
use crate::watch::Restart;

fn restarts(desk: &Desk) -> Vec<Restart> {
    let found = restart_of(desk.procedure, &desk.state());
    found.into_iter().map(|from| from.restart).collect()
}

fn ended(code: ProcedureCode, branch: Branch) -> Desk {
    let mut desk = Desk::new(code, 1);
    desk.run(branch);
    assert_eq!(restarts(&desk), [], "nothing while it is open");
    desk.close(ProcedureEnd::Completed);
    desk
}

#[test]
fn each_procedure_starts_anew_what_it_changed() {
    let of = |code| restarts(&ended(code, Branch::Recalibrate));
    assert_eq!(of(ProcedureCode::SetUp), [Restart::Station]);
    assert_eq!(of(ProcedureCode::Recalibrate), [Restart::SecondStage]);
    assert_eq!(of(ProcedureCode::YearlyClean), [Restart::Inlet]);
    assert_eq!(
        of(ProcedureCode::InternalInspection),
        [Restart::Inlet, Restart::FirstStage, Restart::SecondStage]
    );
    assert_eq!(of(ProcedureCode::ReturnToService), []);
    assert_eq!(of(ProcedureCode::WeeklyLookRound), []);
}

#[test]
fn work_that_was_done_counts_also_when_it_was_given_up() {
    let mut desk = Desk::new(ProcedureCode::SetUp, 1);
    desk.run_until(Branch::Recalibrate, |step| step == StepCode::LockNutAndCap);
    desk.close(ProcedureEnd::Abandoned);
    assert_eq!(restarts(&desk), [Restart::Inlet, Restart::SecondStage]);
    let mut desk = Desk::new(ProcedureCode::Recalibrate, 1);
    desk.run_until(Branch::Keep, |step| step == StepCode::Calibrate);
    desk.pass(StepCode::Calibrate);
    desk.close(ProcedureEnd::Abandoned);
    assert_eq!(restarts(&desk), []);
}

#[test]
fn the_as_left_reading_belongs_to_the_new_time_and_the_as_found_one_to_the_old() {
    let desk = ended(ProcedureCode::Recalibrate, Branch::Keep);
    let state = desk.state();
    let at = |step| state.step(step).unwrap().in_force().unwrap().wall_ms;
    let from_ms = restart_of(desk.procedure, &state)[0].from_ms;
    assert!(at(StepCode::AsFound) < from_ms && at(StepCode::Calibrate) < from_ms);
    // The reading is written up to a second before its step here.
    assert!(from_ms <= at(StepCode::AsLeft) - 999);
}

fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, 1).unwrap()
}

#[test]
fn a_set_up_revises_the_ratio_and_where_it_was_set_the_set_point() {
    let mut desk = Desk::new(ProcedureCode::SetUp, 1);
    let set = |desk: &mut Desk, step, code, tenths| {
        desk.run_until(Branch::Recalibrate, |next| next == step);
        let mut body = proper(desk.procedure, step);
        body.measured.retain(|one| one.code != code);
        body.measured.push(Measured::pressure(code, bar(tenths)));
        desk.write(body);
    };
    set(
        &mut desk,
        StepCode::FactorySetPoint,
        MeasureCode::WantedSetPoint,
        24,
    );
    set(&mut desk, StepCode::AsLeft, MeasureCode::Interstage, 41);
    desk.run(Branch::Recalibrate);
    let revised = revised(&station("T-07"), &desk.state(), day()).unwrap();
    let first = &revised.first_stage;
    // 10.0 / 4.1 = 2.439
    assert_eq!(first.as_left_ratio, Some(Decimal::new(244, -2)));
    assert_eq!(first.as_left_on, Some(day()));
    assert_eq!(
        first.ratio_tolerance_percent,
        defaults::ratio_tolerance_percent(true)
    );
    assert_eq!(revised.second_stage.set_point, bar(24));
}

#[test]
fn a_set_point_that_was_kept_stays_as_defined_and_a_tolerance_of_ones_own_too() {
    let desk = ended(ProcedureCode::SetUp, Branch::Keep);
    let mut station = station("T-07");
    station.first_stage.ratio_tolerance_percent = Decimal::new(7, 0);
    let revised = revised(&station, &desk.state(), day()).unwrap();
    assert_eq!(revised.second_stage, station.second_stage);
    assert_eq!(
        revised.first_stage.ratio_tolerance_percent,
        Decimal::new(7, 0)
    );
    assert_eq!(
        revised.first_stage.as_left_ratio,
        Some(Decimal::new(250, -2))
    );
}

#[test]
fn what_measures_nothing_anew_revises_nothing() {
    for code in [
        ProcedureCode::YearlyClean,
        ProcedureCode::ReturnToService,
        ProcedureCode::WeeklyLookRound,
        ProcedureCode::Recalibrate,
    ] {
        let desk = ended(code, Branch::Keep);
        assert_eq!(
            revised(&station("T-07"), &desk.state(), day()),
            None,
            "{code:?}"
        );
    }
}

#[test]
fn gauges_not_read_or_a_ratio_that_cannot_be_leave_the_definition_alone() {
    let with = |change: fn(&mut crate::record::StepRecorded)| {
        let mut desk = Desk::new(ProcedureCode::SetUp, 1);
        desk.run_until(Branch::Keep, |step| step == StepCode::AsLeft);
        let mut body = proper(desk.procedure, StepCode::AsLeft);
        change(&mut body);
        desk.write(body);
        ratio_left(&station("T-07"), &desk.state())
    };
    assert_eq!(with(|_| {}), Some(Decimal::new(250, -2)));
    assert_eq!(
        with(|body| body.outcome = StepOutcome::PassedOver(why())),
        None
    );
    assert_eq!(
        with(|body| body.measured[1] = Measured::pressure(MeasureCode::Interstage, bar(0))),
        None
    );
    assert_eq!(
        with(|body| body.measured[1] = Measured::pressure(MeasureCode::Interstage, bar(120))),
        None
    );
}
