//! The steps of a procedure with their words.

use winze_core::Result;
use winze_core::procedures::{
    Level, ProcedureState, Says, Standing, StepEntry, StepFact, StepState as Step, StepStatus,
};
use winze_core::record::{StepOutcome, StepRecorded};
use winze_sync_format::RecordRef;

use super::super::work::{CautionNoted, StepDone, StepState};
use super::Reader;
use crate::messages::procedures as words;
use crate::messages::reports as labels;

/// The steps of the branch that was taken, in order.
fn taken(state: &ProcedureState) -> impl Iterator<Item = &Step> {
    let steps = state.steps.iter();
    steps.filter(|step| step.status != StepStatus::OtherBranch)
}

/// Every step in order.
pub(super) fn steps(
    reader: &Reader<'_>,
    state: &ProcedureState,
    facts: &[StepFact],
) -> Result<Vec<StepDone>> {
    taken(state).map(|step| one(reader, step, facts)).collect()
}

fn one(reader: &Reader<'_>, step: &Step, facts: &[StepFact]) -> Result<StepDone> {
    // What settles the step, else the last that was recorded of it.
    let shown = step.in_force().or_else(|| step.entries.last());
    let act = shown.map(|entry| reader.act(entry.at)).transpose()?;
    let body = shown.map(|entry| &entry.body);
    Ok(StepDone {
        title: words::step(step.step.code).to_owned(),
        state: state_of(step, shown, facts),
        act,
        values: body.map_or_else(Vec::new, values),
        ticks: body.map_or_else(Vec::new, |body| {
            let ticks = body.ticks.iter();
            ticks.map(|&tick| words::tick(tick).to_owned()).collect()
        }),
        note: body.map_or_else(String::new, |body| body.note.clone()),
        out_of_order: body
            .and_then(|body| body.out_of_order.as_ref())
            .map_or_else(String::new, words::reason),
    })
}

fn state_of(step: &Step, shown: Option<&StepEntry>, facts: &[StepFact]) -> StepState {
    match step.status {
        StepStatus::Done => StepState::Done,
        StepStatus::PassedOver => StepState::PassedOver {
            reason: shown.map_or_else(String::new, |entry| match &entry.body.outcome {
                StepOutcome::PassedOver(reason) => words::reason(reason),
                StepOutcome::Done | StepOutcome::GoingOn => String::new(),
            }),
        },
        StepStatus::Disputed => StepState::Disputed,
        StepStatus::GoingOn | StepStatus::Tried(_) => StepState::GoingOn,
        StepStatus::Open | StepStatus::OtherBranch | StepStatus::Waiting => {
            match shown.map(|entry| entry.standing) {
                Some(Standing::Undone { by }) => StepState::TakenBack {
                    reason: why_undone(facts, by),
                },
                _ => StepState::Open,
            }
        }
    }
}

fn why_undone(facts: &[StepFact], by: RecordRef) -> String {
    let undone = facts.iter().find(|fact| fact.at == by);
    undone.map_or_else(String::new, |fact| match &fact.says {
        Says::Undone(body) => body.reason.clone(),
        Says::Recorded(_) | Says::Closed(_) => String::new(),
    })
}

/// What was measured, chosen and said at a step.
fn values(body: &StepRecorded) -> Vec<String> {
    let measured = body.measured.iter();
    let mut all: Vec<String> = measured
        .map(|one| labels::measured(words::measure(one.code), &words::value(one.value)))
        .collect();
    all.extend(body.branch.map(|branch| words::branch(branch).to_owned()));
    let figures = body.figures.iter();
    let said = figures.filter(|figure| figure.level != Level::Fits);
    all.extend(said.map(|figure| {
        let is_stop = figure.level == Level::Stop;
        labels::figure_said(&figure.code, is_stop)
    }));
    // The same finding at two gauges or stages has one code.
    all.dedup();
    all.extend(
        body.despite
            .iter()
            .map(|reason| labels::despite(&words::reason(reason))),
    );
    all
}

/// What a record of a step is called in a list.
pub(super) fn record_words(body: &StepRecorded) -> String {
    let title = words::step(body.step);
    match body.outcome {
        StepOutcome::Done => title.to_owned(),
        StepOutcome::GoingOn => labels::record_going_on(title),
        StepOutcome::PassedOver(_) => labels::record_passed_over(title),
    }
}

/// Every caution of the steps that were taken, once, with the steps it stands at.
pub(super) fn cautions(state: &ProcedureState) -> Vec<CautionNoted> {
    let mut all: Vec<CautionNoted> = Vec::new();
    for (index, step) in taken(state).enumerate() {
        for &caution in step.step.cautions {
            let text = words::caution(caution);
            let place = all.iter().position(|one| one.text == text);
            let place = place.unwrap_or_else(|| {
                all.push(CautionNoted {
                    text: text.to_owned(),
                    steps: Vec::new(),
                    by: Vec::new(),
                });
                all.len() - 1
            });
            let Some(noted) = all.get_mut(place) else {
                continue;
            };
            noted.steps.push(index + 1);
            let by = step.in_force().map(|entry| entry.by.clone());
            noted.by.extend(by.filter(|by| !noted.by.contains(by)));
        }
    }
    all
}
