//! Tests of the plan of one station, by tables of small histories.

use winze_sync_format::{LogId, RecordId};

use super::*;
use crate::clock::MINUTE_MS;
use crate::samples::code;

fn at(log: u8, seq: u64) -> RecordRef {
    RecordRef {
        log: LogId([log; 32]),
        seq,
        id: RecordId([log ^ u8::try_from(seq).unwrap(); 32]),
    }
}

/// Values in hundredths of a bar, read to a tenth.
fn values(inlet: i64, interstage: i64, outlet: i64) -> Values {
    [inlet, interstage, outlet].map(|n| {
        Some(Measured {
            pa: n * 1000,
            digit_pa: 10_000,
        })
    })
}

fn reading(log: u8, seq: u64, minute: i64, outlet: i64) -> ReadingFact {
    let values = values(1000, 400, outlet);
    ReadingFact {
        at: at(log, seq),
        taken_ms: minute * MINUTE_MS,
        values,
    }
}

fn revision(log: u8, seq: u64, digest: u8, replaces: &[RecordRef]) -> RevisionFact {
    RevisionFact {
        at: at(log, seq),
        wall_ms: i64::try_from(seq).unwrap(),
        replaces: replaces.to_vec(),
        digest: [digest; 32],
        divisions_pa: [20_000; 3],
    }
}

fn correction(
    log: u8,
    seq: u64,
    of: RecordRef,
    outlet: i64,
    replaces: &[RecordRef],
) -> CorrectionFact {
    CorrectionFact {
        at: at(log, seq),
        reading: of,
        replaces: replaces.to_vec(),
        values: values(1000, 400, outlet),
    }
}

fn facts() -> StationFacts {
    StationFacts {
        code: code("T-01"),
        revisions: vec![revision(1, 1, 1, &[])],
        readings: Vec::new(),
        corrections: Vec::new(),
        answers: BTreeMap::new(),
    }
}

fn answer(facts: &mut StationFacts, log: u8, seq: u64, about: &[RecordRef], choice: Choice) {
    let mut about = about.to_vec();
    about.sort_unstable();
    let id = question_id(&about);
    let fact = AnswerFact {
        at: at(log, seq),
        about,
        replaces: Vec::new(),
        choice,
    };
    facts.answers.entry(id).or_default().push(fact);
}

fn standing(plan: &StationPlan, at: RecordRef) -> Standing {
    plan.states
        .get(&at)
        .map(|state| state.standing)
        .unwrap_or_default()
}

#[test]
fn readings_of_one_visit_are_compared_by_what_a_dial_can_tell() {
    let eight_hours = 8 * 60;
    let cases = [
        // One division of 0.2 bar apart: the same. A little more: not.
        (
            "one division",
            (2, 30),
            (200, 220),
            Standing::Repeats(at(1, 9)),
            0,
        ),
        (
            "more than one division",
            (2, 30),
            (200, 221),
            Standing::Open,
            1,
        ),
        (
            "at eight hours",
            (2, eight_hours),
            (200, 260),
            Standing::Open,
            1,
        ),
        (
            "after eight hours",
            (2, eight_hours + 1),
            (200, 260),
            Standing::Counts,
            0,
        ),
        ("the same logbook", (1, 30), (200, 260), Standing::Counts, 0),
    ];
    for (case, (log, minute), (first, second), expected, questions) in cases {
        let mut facts = facts();
        facts.readings = vec![reading(log, 10, minute, second), reading(1, 9, 0, first)];
        let plan = plan_station(facts);
        assert_eq!(standing(&plan, at(log, 10)), expected, "{case}");
        assert_eq!(plan.questions.len(), questions, "{case}");
    }
}

#[test]
fn gauges_read_by_one_only_are_not_compared() {
    let mut facts = facts();
    let mut one = reading(1, 9, 0, 200);
    one.values = [one.values[0], None, None];
    let mut other = reading(2, 9, 5, 300);
    other.values[0] = None;
    facts.readings = vec![one, other];
    assert!(plan_station(facts).states.is_empty());
}

#[test]
fn of_many_readings_each_is_compared_with_the_last_of_every_other_log() {
    let mut facts = facts();
    for n in 0..40 {
        facts
            .readings
            .push(reading(1, 10 + n, i64::try_from(n).unwrap() * 2, 200));
        facts
            .readings
            .push(reading(2, 10 + n, i64::try_from(n).unwrap() * 2 + 1, 300));
    }
    // 80 readings, one question for each but the first: no pair of pairs.
    assert_eq!(plan_station(facts).questions.len(), 79);
}

#[test]
fn answers_take_effect_as_chosen() {
    let (one, other) = (at(1, 9), at(2, 9));
    let by = at(3, 1);
    let cases = [
        (
            Choice::Prefer(one),
            Standing::Counts,
            Standing::SetAside(by),
        ),
        (
            Choice::Prefer(other),
            Standing::SetAside(by),
            Standing::Counts,
        ),
        (Choice::KeepAll, Standing::Counts, Standing::Counts),
        (Choice::VoidAll, Standing::Void(by), Standing::Void(by)),
        // No answer to such a question: it stays open.
        (Choice::AsFirstWritten, Standing::Open, Standing::Open),
    ];
    for (choice, first, second) in cases {
        let mut facts = facts();
        facts.readings = vec![reading(1, 9, 0, 200), reading(2, 9, 5, 300)];
        answer(&mut facts, 3, 1, &[one, other], choice.clone());
        let plan = plan_station(facts);
        assert_eq!(
            (standing(&plan, one), standing(&plan, other)),
            (first, second),
            "{choice:?}"
        );
    }
}

#[test]
fn answers_that_do_not_know_of_each_other_and_differ_decide_nothing() {
    let mut facts = facts();
    facts.readings = vec![reading(1, 9, 0, 200), reading(2, 9, 5, 300)];
    let about = [at(1, 9), at(2, 9)];
    answer(&mut facts, 3, 1, &about, Choice::KeepAll);
    answer(&mut facts, 4, 1, &about, Choice::VoidAll);
    let plan = plan_station(facts.clone());
    assert_eq!(plan.questions[0].state, QuestionState::AnsweredDifferently);
    assert_eq!(standing(&plan, at(1, 9)), Standing::Open);
    // The same choice twice is one answer.
    let answers = facts.answers.values_mut().next().unwrap();
    answers[1].choice = Choice::KeepAll;
    let by = at(3, 1);
    let expected = QuestionState::Answered {
        by,
        choice: Choice::KeepAll,
    };
    assert_eq!(plan_station(facts).questions[0].state, expected);
}

#[test]
fn one_reading_can_be_voided_unasked() {
    let mut facts = facts();
    facts.readings = vec![reading(1, 9, 0, 200)];
    answer(&mut facts, 1, 10, &[at(1, 9)], Choice::VoidAll);
    // About a reading that is not here: waits without harm.
    answer(&mut facts, 1, 11, &[at(2, 77)], Choice::VoidAll);
    let plan = plan_station(facts);
    assert_eq!(standing(&plan, at(1, 9)), Standing::Void(at(1, 10)));
    assert_eq!(plan.states.len(), 1);
    assert!(plan.questions.is_empty());
}

#[test]
fn a_correction_that_knows_of_the_other_wins_and_strangers_are_a_question() {
    let of = at(1, 9);
    let mut facts = facts();
    facts.readings = vec![reading(1, 9, 0, 200)];
    facts.corrections = vec![
        correction(1, 10, of, 210, &[]),
        correction(2, 3, of, 250, &[at(1, 10)]),
    ];
    let plan = plan_station(facts.clone());
    assert_eq!(plan.states[&of].corrected_by, Some(at(2, 3)));
    assert!(!plan.states[&of].correction_disputed);

    facts.corrections[1].replaces.clear();
    let plan = plan_station(facts.clone());
    assert_eq!(plan.states[&of].corrected_by, None);
    assert!(plan.states[&of].correction_disputed);
    assert_eq!(plan.questions[0].kind, QuestionKind::Corrections);

    let about = [at(1, 10), at(2, 3)];
    let mut preferred = facts.clone();
    answer(&mut preferred, 3, 1, &about, Choice::Prefer(at(2, 3)));
    assert_eq!(
        plan_station(preferred).states[&of].corrected_by,
        Some(at(2, 3))
    );
    answer(&mut facts, 3, 1, &about, Choice::AsFirstWritten);
    let plan = plan_station(facts);
    assert!(
        plan.states
            .get(&of)
            .is_none_or(|state| *state == ReadingState::default())
    );
}

#[test]
fn strangers_that_correct_to_the_same_values_agree() {
    let of = at(1, 9);
    let mut facts = facts();
    facts.readings = vec![reading(1, 9, 0, 200)];
    facts.corrections = vec![
        correction(2, 3, of, 250, &[]),
        correction(1, 10, of, 250, &[]),
    ];
    let plan = plan_station(facts);
    assert_eq!(plan.states[&of].corrected_by, Some(at(1, 10)));
    assert!(plan.questions.is_empty());
}

#[test]
fn corrected_values_are_the_ones_compared() {
    let mut facts = facts();
    facts.readings = vec![reading(1, 9, 0, 200), reading(2, 9, 5, 300)];
    facts.corrections = vec![correction(2, 10, at(2, 9), 201, &[])];
    let plan = plan_station(facts);
    assert!(plan.questions.is_empty());
    assert_eq!(standing(&plan, at(2, 9)), Standing::Repeats(at(1, 9)));
}

#[test]
fn the_definition_in_force_is_the_one_nobody_replaced() {
    let mut facts = facts();
    facts.revisions = vec![
        revision(1, 1, 1, &[]),
        revision(1, 2, 2, &[at(1, 1)]),
        revision(2, 1, 2, &[at(1, 1)]),
    ];
    // Two heads with the same content are one definition.
    let plan = plan_station(facts.clone());
    assert_eq!(
        (plan.current, plan.definition_disputed),
        (Some(at(1, 2)), false)
    );

    facts.revisions[2].digest = [3; 32];
    facts.revisions[2].wall_ms = 99;
    let plan = plan_station(facts.clone());
    assert_eq!(
        (plan.current, plan.definition_disputed),
        (Some(at(2, 1)), true)
    );
    assert_eq!(plan.questions[0].kind, QuestionKind::Revisions);

    let mut answered = facts.clone();
    answer(
        &mut answered,
        3,
        1,
        &[at(1, 2), at(2, 1)],
        Choice::Prefer(at(1, 2)),
    );
    let plan = plan_station(answered);
    assert_eq!(
        (plan.current, plan.definition_disputed),
        (Some(at(1, 2)), false)
    );

    facts
        .revisions
        .push(revision(3, 1, 4, &[at(1, 2), at(2, 1)]));
    let plan = plan_station(facts);
    assert_eq!(
        (plan.current, plan.definition_disputed),
        (Some(at(3, 1)), false)
    );
    assert!(plan.questions.is_empty());
}

#[test]
fn absurd_times_do_no_harm() {
    let mut facts = facts();
    facts.readings = vec![reading(1, 9, 0, 200), reading(2, 9, 5, 300)];
    facts.readings[0].taken_ms = i64::MIN;
    facts.readings[1].taken_ms = i64::MAX;
    assert!(plan_station(facts).states.is_empty());
}
