//! What every procedure's data must keep to.

use std::collections::BTreeSet;

use crate::procedures::*;

fn all() -> impl Iterator<Item = &'static Procedure> {
    ProcedureCode::ALL.iter().map(|code| procedure(*code))
}

#[test]
fn codes_are_found_again_and_are_their_own() {
    for procedure in all() {
        assert_eq!(in_edition(procedure.code, EDITION), Some(procedure));
        assert_eq!(in_edition(procedure.code, EDITION + 1), None);
    }
    let codes: BTreeSet<&str> = StepCode::ALL.iter().map(|code| code.code()).collect();
    assert_eq!(codes.len(), StepCode::ALL.len());
    for code in StepCode::ALL {
        assert_eq!(StepCode::from_code(code.code()), Some(*code));
        let is_used = all().any(|procedure| procedure.step(*code).is_some());
        assert!(is_used, "{code:?} is in no procedure");
    }
    for tick in TickCode::ALL {
        let mut steps = all().flat_map(|procedure| procedure.steps);
        assert!(steps.any(|step| step.ticks.contains(tick)), "{tick:?}");
    }
}

#[test]
fn a_step_needs_only_steps_before_it_and_is_there_once() {
    for procedure in all() {
        let mut before = BTreeSet::new();
        for step in procedure.steps {
            let needs: Vec<StepCode> = step.needs().collect();
            for need in &needs {
                assert!(
                    before.contains(need),
                    "{:?} {:?}",
                    procedure.code,
                    step.code
                );
            }
            let distinct: BTreeSet<_> = needs.iter().collect();
            assert_eq!(distinct.len(), needs.len(), "{:?}", step.code);
            assert!(before.insert(step.code), "{:?} is there twice", step.code);
        }
    }
}

/// Whether a need waits for a step of another branch is known only to a step that names the choice.
#[test]
fn a_step_that_depends_on_the_branch_needs_the_choice() {
    for procedure in all() {
        for step in procedure.steps {
            let on_branch = |code| {
                procedure
                    .step(code)
                    .is_some_and(|need| need.branch.is_some())
            };
            let depends = step.branch.is_some() || step.needs().any(on_branch);
            let names = step.needs().any(|need| need == StepCode::Branch);
            assert!(!depends || names, "{:?} {:?}", procedure.code, step.code);
        }
    }
}

#[test]
fn each_kind_of_act_has_what_it_asks_for() {
    for step in all().flat_map(|procedure| procedure.steps) {
        let ticks = matches!(step.act, Act::TickAll | Act::TickNoticed);
        assert_eq!(ticks, !step.ticks.is_empty(), "{:?}", step.code);
        if step.act == Act::Measure {
            assert!(!step.measures.is_empty(), "{:?}", step.code);
        }
        // A choice decides what is there at all; nothing can stand for it.
        assert_eq!(
            step.act != Act::Choose,
            step.may_be_passed,
            "{:?}",
            step.code
        );
    }
}

#[test]
fn cautions_stand_where_the_act_is() {
    let warns = |step: &Step, caution| step.cautions.contains(&caution);
    for step in all().flat_map(|procedure| procedure.steps) {
        use StepCode as S;
        match step.code {
            S::OpenUpstream | S::OpenDownstream | S::OpenDownstreamPartly => {
                assert!(warns(step, Caution::MoveSlowly), "{:?}", step.code);
            }
            S::Pressureless | S::StrainerClean | S::InspectFirst | S::InspectSecond => {
                assert!(warns(step, Caution::StoredPressure), "{:?}", step.code);
            }
            S::Isolate => assert!(warns(step, Caution::LockOff)),
            S::Calibrate => {
                assert!(warns(step, Caution::DownstreamPressure));
                assert!(warns(step, Caution::TellConsumers));
            }
            S::VentFirst | S::VentSecond | S::Flush => {
                assert!(warns(step, Caution::Discharge));
            }
            S::Prepare => assert!(warns(step, Caution::ConfinedSpace)),
            _ => {}
        }
    }
}

#[test]
fn the_set_up_has_every_step_in_order_on_both_branches() {
    use StepCode as S;
    let on = |branch: Branch| -> Vec<StepCode> {
        let steps = procedure(ProcedureCode::SetUp).steps.iter();
        let there = steps.filter(|step| step.branch.is_none_or(|on| on == branch));
        there.map(|step| step.code).collect()
    };
    let before = [
        S::Prepare,
        S::Flush,
        S::StrainerClean,
        S::InstallationFirm,
        S::ValvesClosed,
        S::SupplyPresent,
        S::CocksOpen,
        S::FactorySetPoint,
        S::Compatibility,
        S::Branch,
    ];
    let after = [
        S::LockNutAndCap,
        S::VentFirst,
        S::VentSecond,
        S::OpenDownstream,
        S::AsLeft,
        S::LeftFigures,
        S::Told,
    ];
    let keep = [S::OpenUpstream, S::OpenDownstreamPartly];
    let recalibrate = [
        S::ScrewBackedOff,
        S::OpenUpstream,
        S::OpenDownstreamPartly,
        S::Flow,
        S::Calibrate,
    ];
    assert_eq!(on(Branch::Keep), [&before[..], &keep, &after].concat());
    let all = [&before[..], &recalibrate, &after].concat();
    assert_eq!(on(Branch::Recalibrate), all);
}

#[test]
fn steps_that_read_the_gauges_are_known() {
    let reads = |code| -> bool {
        let mut steps = all().filter_map(|procedure| procedure.step(code));
        steps.next().is_some_and(Step::reads_gauges)
    };
    assert!(reads(StepCode::AsFound) && reads(StepCode::AsLeft) && reads(StepCode::Readings));
    assert!(!reads(StepCode::SupplyPresent) && !reads(StepCode::Calibrate));
}
