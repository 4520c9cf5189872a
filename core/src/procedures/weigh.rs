//! Which of the records about a procedure stand, and what each step comes to.
//!
//! A function of the set of records: their order of arrival and their clocks decide nothing. A
//! record stands when nobody took it back, when it says what its step asks, and when everything it
//! rests on stands. So an undone step takes down with it what was built on it.

use std::collections::BTreeMap;

use winze_sync_format::RecordRef;

use super::check::{Attempt, Base, Unfit, attempt, check_content, check_needs};
use super::codes::{Branch, StepCode};
use super::fact::{Says, StepFact};
use super::step::{Procedure, Step};
use crate::record::{StepOutcome, StepRecorded};

/// How a step record stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It stands and settles its step, or goes on with it.
    Stands,
    /// It stands, and the step is open all the same.
    Tried(Attempt),
    /// It was taken back.
    Undone {
        /// By this record.
        by: RecordRef,
    },
    /// Something it rests on does not stand, or is not here.
    Fell {
        /// That record.
        with: RecordRef,
    },
    /// It does not count.
    Unfit(Unfit),
}

impl Standing {
    /// Whether it stands, settling its step or not.
    #[must_use]
    pub const fn stands(self) -> bool {
        matches!(self, Self::Stands | Self::Tried(_))
    }
}

/// What a step comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepStatus {
    /// Nothing yet.
    Open,
    /// It is going on.
    GoingOn,
    /// It was tried and is still open.
    Tried(Attempt),
    /// It was done.
    Done,
    /// It was passed over with a stated reason.
    PassedOver,
    /// It was recorded more than once, differently; one of the records has to be undone.
    Disputed,
    /// It is on the branch that was not chosen.
    OtherBranch,
    /// Whether it belongs is not decided: no branch is chosen yet.
    Waiting,
}

impl StepStatus {
    /// Whether it still is to be done.
    #[must_use]
    pub const fn is_open(self) -> bool {
        matches!(self, Self::Open | Self::GoingOn | Self::Tried(_))
    }

    /// Whether it is done or passed over, without disagreement.
    #[must_use]
    pub const fn is_settled(self) -> bool {
        matches!(self, Self::Done | Self::PassedOver)
    }

    /// The stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::GoingOn => "going-on",
            Self::Tried(_) => "tried",
            Self::Done => "done",
            Self::PassedOver => "passed-over",
            Self::Disputed => "disputed",
            Self::OtherBranch => "other-branch",
            Self::Waiting => "waiting",
        }
    }
}

/// The records of a procedure, weighed.
pub(super) struct Weighed<'a> {
    /// Every step record with its standing, by name.
    pub(super) records: BTreeMap<RecordRef, (&'a StepFact, &'a StepRecorded, Standing)>,
    /// What each step comes to, in the procedure's order.
    pub(super) steps: Vec<(&'static Step, StepStatus)>,
    /// The branch chosen, if one is.
    pub(super) branch: Option<Branch>,
}

impl Weighed<'_> {
    /// What a step comes to.
    pub(super) fn status(&self, code: StepCode) -> Option<StepStatus> {
        let found = self.steps.iter().find(|(step, _)| step.code == code);
        found.map(|(_, status)| *status)
    }

    /// The steps without which the procedure is not complete, and that are neither done nor passed
    /// over; disputed ones whether required or not.
    pub(super) fn lacking(&self) -> Vec<StepCode> {
        let lacks = |step: &Step, status: StepStatus| {
            status == StepStatus::Disputed || step.is_required && status.is_open()
        };
        let steps = self.steps.iter();
        steps
            .filter(|(step, status)| lacks(step, *status))
            .map(|(step, _)| step.code)
            .collect()
    }
}

/// Weighs the step records among `facts` that `wanted` admits. What was taken back is taken from all
/// of them.
pub(super) fn weigh<'a>(
    procedure: &Procedure,
    facts: &'a [StepFact],
    wanted: impl Fn(&RecordRef) -> bool,
) -> Weighed<'a> {
    let mut recorded = BTreeMap::new();
    let mut undone: BTreeMap<RecordRef, RecordRef> = BTreeMap::new();
    for fact in facts {
        match &fact.says {
            Says::Recorded(body) if wanted(&fact.at) => {
                recorded.insert(fact.at, (fact, &**body));
            }
            Says::Undone(undoing) => {
                for record in &undoing.records {
                    let by = undone.entry(*record).or_insert(fact.at);
                    *by = (*by).min(fact.at);
                }
            }
            Says::Recorded(_) | Says::Closed(_) => {}
        }
    }
    let standings = standings(procedure, &recorded, &undone);
    let records: BTreeMap<_, _> = recorded
        .into_iter()
        .map(|(at, (fact, body))| {
            let standing = standings.get(&at).copied();
            (
                at,
                (fact, body, standing.unwrap_or(Standing::Fell { with: at })),
            )
        })
        .collect();
    let branch = chosen(&records);
    let statuses = procedure.steps.iter();
    let steps = statuses
        .map(|step| (step, status(step, branch, &records)))
        .collect();
    Weighed {
        records,
        steps,
        branch,
    }
}

type Recorded<'a> = BTreeMap<RecordRef, (&'a StepFact, &'a StepRecorded)>;

/// Weighs each record once everything it rests on is weighed. Records that rest on one another in a
/// ring, which no honest log can hold, are left out and so fall.
fn standings(
    procedure: &Procedure,
    recorded: &Recorded<'_>,
    undone: &BTreeMap<RecordRef, RecordRef>,
) -> BTreeMap<RecordRef, Standing> {
    let mut waits: BTreeMap<RecordRef, usize> = BTreeMap::new();
    let mut carries: BTreeMap<RecordRef, Vec<RecordRef>> = BTreeMap::new();
    let mut ready = Vec::new();
    for (at, (fact, _)) in recorded {
        let mut bases = fact.based_on.clone();
        bases.sort_unstable();
        bases.dedup();
        bases.retain(|base| recorded.contains_key(base));
        if bases.is_empty() {
            ready.push(*at);
        }
        waits.insert(*at, bases.len());
        for base in bases {
            carries.entry(base).or_default().push(*at);
        }
    }
    let mut standings = BTreeMap::new();
    while let Some(at) = ready.pop() {
        let Some((fact, body)) = recorded.get(&at) else {
            continue;
        };
        let standing = match undone.get(&at) {
            Some(by) => Standing::Undone { by: *by },
            None => standing(procedure, fact, body, recorded, &standings),
        };
        standings.insert(at, standing);
        for carried in carries.get(&at).into_iter().flatten() {
            if let Some(left) = waits.get_mut(carried) {
                *left = left.saturating_sub(1);
                if *left == 0 {
                    ready.push(*carried);
                }
            }
        }
    }
    standings
}

fn standing(
    procedure: &Procedure,
    fact: &StepFact,
    body: &StepRecorded,
    recorded: &Recorded<'_>,
    standings: &BTreeMap<RecordRef, Standing>,
) -> Standing {
    let step = match check_content(procedure, body) {
        Ok(step) => step,
        Err(unfit) => return Standing::Unfit(unfit),
    };
    let mut bases = Vec::with_capacity(fact.based_on.len());
    let mut fell: Option<RecordRef> = None;
    for base in &fact.based_on {
        match (recorded.get(base), standings.get(base)) {
            (Some((_, body)), Some(Standing::Stands)) if body.outcome != StepOutcome::GoingOn => {
                bases.push(Base {
                    step: body.step,
                    is_done: body.outcome == StepOutcome::Done,
                    branch: body.branch,
                });
            }
            (Some(_), Some(Standing::Stands | Standing::Tried(_))) => {}
            _ => fell = Some(fell.map_or(*base, |other| other.min(*base))),
        }
    }
    if let Some(with) = fell {
        return Standing::Fell { with };
    }
    if let Err(unfit) = check_needs(procedure, step, body, &bases) {
        return Standing::Unfit(unfit);
    }
    match (&body.outcome, attempt(step, body)) {
        (StepOutcome::Done, Some(why)) => Standing::Tried(why),
        _ => Standing::Stands,
    }
}

type Records<'a> = BTreeMap<RecordRef, (&'a StepFact, &'a StepRecorded, Standing)>;

/// The branch that all standing choices agree on.
fn chosen(records: &Records<'_>) -> Option<Branch> {
    let mut choices = records
        .values()
        .filter(|(_, body, standing)| {
            *standing == Standing::Stands && body.outcome == StepOutcome::Done
        })
        .filter_map(|(_, body, _)| body.branch);
    let first = choices.next()?;
    choices.all(|other| other == first).then_some(first)
}

fn status(step: &Step, branch: Option<Branch>, records: &Records<'_>) -> StepStatus {
    match (step.branch, branch) {
        (Some(_), None) => return StepStatus::Waiting,
        (Some(on), Some(chosen)) if on != chosen => return StepStatus::OtherBranch,
        _ => {}
    }
    let of_step = || {
        let all = records.values();
        all.filter(|(_, body, standing)| body.step == step.code && standing.stands())
    };
    let settling = |outcome: fn(&StepOutcome) -> bool| {
        of_step()
            .filter(move |(_, body, standing)| {
                *standing == Standing::Stands && outcome(&body.outcome)
            })
            .map(|(_, body, _)| *body)
    };
    let mut done = settling(|outcome| *outcome == StepOutcome::Done);
    if let Some(first) = done.next() {
        return if done.all(|other| agree(first, other)) {
            StepStatus::Done
        } else {
            StepStatus::Disputed
        };
    }
    if settling(|outcome| matches!(outcome, StepOutcome::PassedOver(_)))
        .next()
        .is_some()
    {
        return StepStatus::PassedOver;
    }
    if settling(|outcome| *outcome == StepOutcome::GoingOn)
        .next()
        .is_some()
    {
        return StepStatus::GoingOn;
    }
    // Of several tries the newest tells most, but the clocks decide nothing: the gravest code does.
    let tries = of_step().filter_map(|(_, _, standing)| match standing {
        Standing::Tried(why) => Some(*why),
        _ => None,
    });
    match tries.min_by_key(|why| why.code()) {
        Some(why) => StepStatus::Tried(why),
        None => StepStatus::Open,
    }
}

/// Whether two records of one step say the same about the station.
fn agree(one: &StepRecorded, two: &StepRecorded) -> bool {
    let measured = |a: &StepRecorded, b: &StepRecorded| {
        a.measured.iter().all(|of_a| {
            b.value(of_a.code)
                .is_some_and(|of_b| of_a.value.agrees_with(of_b))
        })
    };
    let noticed = |a: &StepRecorded, b: &StepRecorded| a.ticks.iter().all(|t| b.ticks.contains(t));
    one.branch == two.branch
        && one.points == two.points
        && measured(one, two)
        && measured(two, one)
        && noticed(one, two)
        && noticed(two, one)
}
