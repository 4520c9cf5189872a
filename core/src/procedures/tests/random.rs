//! Whatever operators do: nothing gets into service with a required step open, and the state is a
//! function of the set of records.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;
use winze_sync_format::RecordRef;

use super::desk::{Desk, bar, point, proper, why};
use crate::procedures::*;
use crate::record::{ProcedureEnd, ShownFigure, StepOutcome, StepRecorded};

/// One thing an operator does at one of the tablets.
#[derive(Debug, Clone)]
struct Deed {
    tablet: usize,
    kind: u8,
    step: prop::sample::Index,
    flavour: u8,
}

fn deeds() -> impl Strategy<Value = Vec<Deed>> {
    let deed = (
        0_usize..2,
        0_u8..40,
        any::<prop::sample::Index>(),
        any::<u8>(),
    );
    let deed = deed.prop_map(|(tablet, kind, step, flavour)| Deed {
        tablet,
        kind,
        step,
        flavour,
    });
    prop::collection::vec(deed, 10..160)
}

/// A step record, sound or spoilt in some way.
fn body_of(desk: &Desk, step: StepCode, flavour: u8) -> StepRecorded {
    let mut body = proper(desk.procedure, step);
    body.branch = body.branch.map(|_| Branch::ALL[usize::from(flavour % 2)]);
    match flavour % 16 {
        0 => body.measured.clear(),
        1 => body.ticks.truncate(1),
        2 => body.outcome = StepOutcome::PassedOver(why()),
        3 => body.outcome = StepOutcome::PassedOver(Reason::new(ReasonCode::Other, "")),
        4 => body.out_of_order = Some(why()),
        5 => body.out_of_order = Some(Reason::new(ReasonCode::Other, "")),
        6 if !body.points.is_empty() => body.outcome = StepOutcome::GoingOn,
        7 => {
            for one in &mut body.measured {
                match &mut one.value {
                    Value::Air(air) => *air = Air::Some,
                    Value::DrawOff(flow) => *flow = DrawOff::None,
                    Value::Pressure(typed) => *typed = bar(77),
                    _ => {}
                }
            }
        }
        8 => body.points = vec![point(1, 15)],
        9 => {
            body.figures = vec![ShownFigure {
                code: "x".to_owned(),
                level: Level::Stop,
            }];
            body.despite = (flavour > 99).then(why);
        }
        _ => {}
    }
    body
}

fn play(code: ProcedureCode, deeds: &[Deed]) -> [Desk; 2] {
    let mut desks = [Desk::new(code, 1), Desk::new(code, 2)];
    for deed in deeds {
        let other = desks[1 - deed.tablet].clone();
        let desk = &mut desks[deed.tablet];
        desk.now_ms += i64::from(deed.flavour) * 37;
        let steps = desk.procedure.steps;
        let any_step = steps[deed.step.index(steps.len())].code;
        match deed.kind {
            // Mostly what is next, so that the end is reached often enough.
            0..=25 => {
                if let Some(next) = desk.next() {
                    let flavour = if deed.kind < 20 { 15 } else { deed.flavour };
                    desk.write(body_of(desk, next, flavour | 0b1110));
                }
            }
            26..=28 => {
                desk.write(body_of(desk, any_step, deed.flavour));
            }
            29 => {
                // As a tablet that checks nothing would write it: resting on whatever it likes.
                let body = body_of(desk, any_step, deed.flavour);
                let mut bases: Vec<RecordRef> = desk.facts.iter().map(|fact| fact.at).collect();
                bases.truncate(deed.step.index(bases.len() + 1));
                desk.push(bases, Says::Recorded(Box::new(body)));
            }
            30 => {
                desk.pass(any_step);
            }
            31 | 32 => {
                let state = desk.state();
                let settled = steps
                    .iter()
                    .filter(|s| state.step(s.code).is_some_and(|s| s.standing().count() > 0));
                let settled: Vec<StepCode> = settled.map(|step| step.code).collect();
                if !settled.is_empty() {
                    desk.undo(settled[deed.step.index(settled.len())]);
                }
            }
            33 | 34 => {
                desk.close(ProcedureEnd::Completed);
            }
            35 if deed.flavour < 40 => {
                desk.close(ProcedureEnd::Abandoned);
            }
            _ => desk.merge(&other),
        }
    }
    desks
}

/// The truth about "in service", worked out in another way than the state does: by going back from
/// the end through what it rests on, and asking of each required step for a record that nobody took
/// back, that says what is asked, and that rests on such records only.
fn may_be_in_service(procedure: &Procedure, facts: &[StepFact]) -> bool {
    let undone: BTreeSet<RecordRef> = facts
        .iter()
        .filter_map(|fact| match &fact.says {
            Says::Undone(body) => Some(body.records.clone()),
            _ => None,
        })
        .flatten()
        .collect();
    let by_name: BTreeMap<RecordRef, (&StepFact, &StepRecorded)> = facts
        .iter()
        .filter_map(|fact| match &fact.says {
            Says::Recorded(body) => Some((fact.at, (fact, &**body))),
            _ => None,
        })
        .collect();
    let ends = facts.iter().filter_map(|fact| match &fact.says {
        Says::Closed(body) if body.end == ProcedureEnd::Completed => Some(&fact.based_on),
        _ => None,
    });
    ends.into_iter().any(|bases| {
        let sound: Vec<&StepRecorded> = bases
            .iter()
            .filter(|at| rests_on_sound(**at, &by_name, &undone, 0))
            .filter_map(|at| Some(by_name.get(at)?.1))
            .collect();
        let branch = sound.iter().find_map(|body| body.branch);
        procedure
            .steps
            .iter()
            .filter(|step| step.is_required)
            .filter(|step| step.branch.is_none() || step.branch == branch)
            .all(|step| {
                sound
                    .iter()
                    .any(|body| body.step == step.code && is_said(step, body))
            })
    })
}

fn rests_on_sound(
    at: RecordRef,
    by_name: &BTreeMap<RecordRef, (&StepFact, &StepRecorded)>,
    undone: &BTreeSet<RecordRef>,
    depth: usize,
) -> bool {
    let Some((fact, _)) = by_name.get(&at) else {
        return false;
    };
    depth < 64
        && !undone.contains(&at)
        && fact
            .based_on
            .iter()
            .all(|base| rests_on_sound(*base, by_name, undone, depth + 1))
}

fn is_said(step: &Step, body: &StepRecorded) -> bool {
    let has_air = body.value(MeasureCode::Air) == Some(Value::Air(Air::Some));
    let lacks_flow = step.code == StepCode::Flow
        && body.value(MeasureCode::Flow) == Some(Value::DrawOff(DrawOff::None));
    let stops = body
        .figures
        .iter()
        .any(|figure| figure.level == Level::Stop);
    match &body.outcome {
        StepOutcome::PassedOver(reason) => step.may_be_passed && reason.is_stated(),
        StepOutcome::GoingOn => false,
        StepOutcome::Done => {
            let measured = step.measures.iter().filter(|measure| measure.is_needed);
            measured
                .into_iter()
                .all(|measure| body.value(measure.code).is_some())
                && (step.act != Act::TickAll || step.ticks.iter().all(|t| body.ticks.contains(t)))
                && !has_air
                && !lacks_flow
                && (!stops || body.despite.is_some())
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn nothing_gets_into_service_with_a_required_step_open(
        which in 0_usize..ProcedureCode::ALL.len(), deeds in deeds(),
    ) {
        let desks = play(ProcedureCode::ALL[which], &deeds);
        for desk in &desks {
            let state = desk.state();
            if state.is_in_service() {
                prop_assert!(state.is_complete());
                prop_assert!(may_be_in_service(desk.procedure, &desk.facts));
            }
        }
    }

    #[test]
    fn the_order_of_arrival_never_shows(
        which in 0_usize..ProcedureCode::ALL.len(), deeds in deeds(), seed in any::<u64>(),
    ) {
        let [mut one, two] = play(ProcedureCode::ALL[which], &deeds);
        one.merge(&two);
        let expected = one.state();
        let mut facts = one.facts.clone();
        facts.reverse();
        prop_assert_eq!(&state(one.procedure, &facts), &expected);
        let mut mixed = seed;
        facts.sort_by_cached_key(|_| {
            mixed = mixed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            mixed >> 20
        });
        facts.extend(one.facts.iter().take(5).cloned());
        prop_assert_eq!(&state(one.procedure, &facts), &expected);
    }

    /// Wherever operators leave off, what is next can be done, and doing it settles it.
    #[test]
    fn from_anywhere_there_is_a_way_on_or_a_dispute_to_settle(
        which in 0_usize..ProcedureCode::ALL.len(), deeds in deeds(),
    ) {
        let [mut one, two] = play(ProcedureCode::ALL[which], &deeds);
        one.merge(&two);
        let closing = |desk: &Desk| desk.state().closing;
        for _ in 0..200 {
            let state = one.state();
            if let Some(next) = state.next {
                let way = state.way(next).cloned();
                let may_do = way.is_some_and(|way| way.may_do());
                if may_do { one.act(next); } else { one.pass(next); }
                let now = one.state().status(next).unwrap();
                prop_assert!(now.is_settled(), "{:?} is {:?}", next, now);
            } else if let Some(disputed) = state.disputed.first() {
                one.undo(*disputed);
            } else if !state.closing.is_closed() {
                prop_assert!(state.is_complete(), "{:?} lacks {:?}", state.steps.iter().map(|s| (s.step.code, s.status)).collect::<Vec<_>>(), state.lacking);
                one.close(ProcedureEnd::Completed);
            } else {
                break;
            }
        }
        prop_assert!(closing(&one).is_closed());
    }
}

/// The random operators reach what the properties are about.
#[test]
fn random_operators_reach_service_disputes_and_undoings() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let (mut in_service, mut disputed, mut fell, mut unfit, mut contested) = (0, 0, 0, 0, 0);
    for n in 0..300 {
        let deeds = deeds().new_tree(&mut runner).unwrap().current();
        let code = ProcedureCode::ALL[n % 3];
        let [mut one, two] = play(code, &deeds);
        in_service += usize::from(one.state().is_in_service());
        one.merge(&two);
        let state = one.state();
        disputed += usize::from(!state.disputed.is_empty());
        contested += usize::from(matches!(
            state.closing,
            Closing::Contested(_) | Closing::Disputed(_)
        ));
        let entries = || state.steps.iter().flat_map(|step| &step.entries);
        fell += usize::from(entries().any(|e| matches!(e.standing, Standing::Fell { .. })));
        unfit += usize::from(entries().any(|e| matches!(e.standing, Standing::Unfit(_))));
    }
    let reached = [in_service, disputed, fell, unfit];
    assert!(
        reached.iter().all(|count| *count >= 10) && contested > 0,
        "{reached:?} {contested}"
    );
}
