//! What a new record is to rest on: the records that settle what its step needs, or what an end
//! needs to be complete.

use std::collections::BTreeSet;

use winze_sync_format::RecordRef;

use super::fact::StepFact;
use super::state::{Closing, ProcedureState, StepState};
use super::step::Step;
use super::weigh::Standing;
use crate::record::StepOutcome;

/// The records that settle what a step needs, in order of name.
#[must_use]
pub fn bases_of_step(step: &Step, now: &ProcedureState) -> Vec<RecordRef> {
    let mut bases: Vec<RecordRef> = step
        .needs()
        .filter_map(|need| Some(now.step(need).and_then(StepState::in_force)?.at))
        .collect();
    bases.sort_unstable();
    bases
}

/// The records that an end rests on: those that settle steps with whatever they rest on themselves,
/// and the ends that it replaces.
#[must_use]
pub fn bases_of_end(facts: &[StepFact], now: &ProcedureState) -> Vec<RecordRef> {
    let settling: BTreeSet<RecordRef> = now
        .steps
        .iter()
        .flat_map(|step| &step.entries)
        .filter(|entry| entry.standing == Standing::Stands)
        .filter(|entry| entry.body.outcome != StepOutcome::GoingOn)
        .map(|entry| entry.at)
        .collect();
    let mut wanted: BTreeSet<RecordRef> = now
        .steps
        .iter()
        .filter_map(|step| Some(step.in_force()?.at))
        .collect();
    let mut left: Vec<RecordRef> = wanted.iter().copied().collect();
    while let Some(at) = left.pop() {
        let fact = facts.iter().find(|fact| fact.at == at);
        let rests_on = fact.into_iter().flat_map(|fact| &fact.based_on);
        for base in rests_on.filter(|base| settling.contains(base)) {
            if wanted.insert(*base) {
                left.push(*base);
            }
        }
    }
    match &now.closing {
        Closing::Contested(end) => wanted.extend([end.at]),
        Closing::Disputed(ends) => wanted.extend(ends.iter().map(|end| end.at)),
        Closing::Open | Closing::Completed(_) | Closing::Abandoned(_) => {}
    }
    wanted.into_iter().collect()
}
