//! Everything about one station that depends on more than one record: its current definition, how
//! each reading stands, and the questions open about it.
//!
//! The facts handed in are those that count (see [`super::trust`]); held records take no part.

use std::collections::{BTreeMap, BTreeSet};

use winze_sync_format::{LogId, RecordRef};

use super::heads::heads;
use super::{Question, QuestionId, QuestionKind, QuestionState, question_id};
use crate::clock::HOUR_MS;
use crate::record::Choice;
use crate::station::StationCode;

/// Readings of one station closer together than this are taken for the same visit.
///
/// Common practice, no source: one shift of eight hours.
pub const SAME_VISIT_MS: i64 = 8 * HOUR_MS;

/// One gauge value as read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Measured {
    /// The value, pascals (gauge).
    pub pa: i64,
    /// One step of the last digit typed, pascals.
    pub digit_pa: i64,
}

/// The three values of a visit in flow order, absent where a gauge was not read.
pub type Values = [Option<Measured>; 3];

/// A station definition.
#[derive(Debug, Clone)]
pub struct RevisionFact {
    /// Its record.
    pub at: RecordRef,
    /// When it was made, milliseconds since 1970 by its maker's clock.
    pub wall_ms: i64,
    /// Definitions it replaces.
    pub replaces: Vec<RecordRef>,
    /// Hash of the definition: equal definitions need no question.
    pub digest: [u8; 32],
    /// Gauge divisions in flow order, pascals.
    pub divisions_pa: [i64; 3],
}

/// A reading.
#[derive(Debug, Clone)]
pub struct ReadingFact {
    /// Its record.
    pub at: RecordRef,
    /// When it was taken, milliseconds since 1970.
    pub taken_ms: i64,
    /// Its values.
    pub values: Values,
}

/// A correction of a reading.
#[derive(Debug, Clone)]
pub struct CorrectionFact {
    /// Its record.
    pub at: RecordRef,
    /// The reading corrected.
    pub reading: RecordRef,
    /// Earlier corrections it replaces.
    pub replaces: Vec<RecordRef>,
    /// The corrected values.
    pub values: Values,
}

/// An answer to a question.
#[derive(Debug, Clone)]
pub struct AnswerFact {
    /// Its record.
    pub at: RecordRef,
    /// The records the question is about, ascending.
    pub about: Vec<RecordRef>,
    /// Earlier answers it replaces.
    pub replaces: Vec<RecordRef>,
    /// What was chosen.
    pub choice: Choice,
}

/// What is known about one station.
#[derive(Debug, Clone)]
pub struct StationFacts {
    /// The station.
    pub code: StationCode,
    /// Its definitions.
    pub revisions: Vec<RevisionFact>,
    /// Its readings.
    pub readings: Vec<ReadingFact>,
    /// Corrections of them.
    pub corrections: Vec<CorrectionFact>,
    /// Answers about it, by question.
    pub answers: BTreeMap<QuestionId, Vec<AnswerFact>>,
}

/// How a reading stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Standing {
    /// It counts.
    #[default]
    Counts,
    /// It counts, and a question about it is open.
    Open,
    /// Another logbook read the same at the same visit; that one counts.
    Repeats(RecordRef),
    /// An answer prefers another reading; the record is that answer.
    SetAside(RecordRef),
    /// An answer declares it void; the record is that answer.
    Void(RecordRef),
}

impl Standing {
    /// Says whether the reading is used in histories and overviews.
    #[must_use]
    pub const fn counts(&self) -> bool {
        matches!(self, Self::Counts | Self::Open)
    }

    /// Stable code, used in the database and in exports.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Counts => "counts",
            Self::Open => "open",
            Self::Repeats(_) => "repeats",
            Self::SetAside(_) => "set-aside",
            Self::Void(_) => "void",
        }
    }

    /// The weaker of two standings: a void reading stays void whatever else is said of it.
    fn weaker(self, other: Self) -> Self {
        // Between two of one kind the smaller record is named, so that order cannot matter.
        let rank = |standing: Self| match standing {
            Self::Void(by) => (0, Some(by)),
            Self::SetAside(by) => (1, Some(by)),
            Self::Repeats(of) => (2, Some(of)),
            Self::Open => (3, None),
            Self::Counts => (4, None),
        };
        if rank(other) < rank(self) {
            other
        } else {
            self
        }
    }
}

/// How a reading stands, and whether it was corrected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ReadingState {
    /// Whether it counts.
    pub standing: Standing,
    /// The correction in force.
    pub corrected_by: Option<RecordRef>,
    /// Whether corrections disagree, so that the first values are used.
    pub correction_disputed: bool,
}

/// What the facts about a station come to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StationPlan {
    /// The definition in force.
    pub current: Option<RecordRef>,
    /// Whether definitions disagree.
    pub definition_disputed: bool,
    /// Readings that stand otherwise than plainly counting.
    pub states: BTreeMap<RecordRef, ReadingState>,
    /// Every question about the station, answered or not, by id.
    pub questions: Vec<Question>,
}

/// Works out a station's plan.
#[must_use]
pub fn plan_station(mut facts: StationFacts) -> StationPlan {
    facts.revisions.sort_by_key(|fact| fact.at);
    facts.readings.sort_by_key(|fact| (fact.taken_ms, fact.at));
    facts.corrections.sort_by_key(|fact| fact.at);
    let mut planner = Planner {
        facts: &facts,
        plan: StationPlan::default(),
    };
    let divisions_pa = planner.revisions();
    let corrected = planner.corrections();
    planner.readings(divisions_pa, &corrected);
    planner.single_answers();
    let mut plan = planner.plan;
    plan.questions.sort_by_key(|question| question.id);
    plan
}

struct Planner<'a> {
    facts: &'a StationFacts,
    plan: StationPlan,
}

impl Planner<'_> {
    /// Finds the current definition; returns its gauge divisions in pascals.
    fn revisions(&mut self) -> [i64; 3] {
        let revisions = &self.facts.revisions;
        let top = heads(revisions.iter().map(|fact| (fact.at, &fact.replaces[..])));
        let differ = top
            .iter()
            .any(|&n| revisions[n].digest != revisions[top[0]].digest);
        let mut chosen = None;
        if differ {
            let about: Vec<RecordRef> = top.iter().map(|&n| revisions[n].at).collect();
            match self.ask(QuestionKind::Revisions, about) {
                QuestionState::Answered {
                    choice: Choice::Prefer(preferred),
                    ..
                } => {
                    chosen = top.iter().copied().find(|&n| revisions[n].at == preferred);
                }
                _ => self.plan.definition_disputed = true,
            }
            // While disputed something must stand in: the latest by its maker's clock, marked.
            chosen = chosen.or_else(|| {
                top.iter()
                    .copied()
                    .max_by_key(|&n| (revisions[n].wall_ms, revisions[n].at))
            });
        } else {
            chosen = chosen.or(top.first().copied());
        }
        self.plan.current = chosen.map(|n| revisions[n].at);
        chosen.map_or([0; 3], |n| revisions[n].divisions_pa)
    }

    /// Settles corrections; returns the values in force of each corrected reading.
    fn corrections(&mut self) -> BTreeMap<RecordRef, Values> {
        let known: BTreeSet<RecordRef> = self.facts.readings.iter().map(|fact| fact.at).collect();
        let mut by_reading: BTreeMap<RecordRef, Vec<&CorrectionFact>> = BTreeMap::new();
        for fact in &self.facts.corrections {
            if known.contains(&fact.reading) {
                by_reading.entry(fact.reading).or_default().push(fact);
            }
        }
        let mut corrected = BTreeMap::new();
        for (reading, list) in by_reading {
            let top = heads(list.iter().map(|fact| (fact.at, &fact.replaces[..])));
            let Some(&first) = top.first() else { continue };
            let agree = top
                .iter()
                .all(|&n| same_values(&list[n].values, &list[first].values));
            let in_force = if agree {
                Some(list[first])
            } else {
                let about = top.iter().map(|&n| list[n].at).collect();
                match self.ask(QuestionKind::Corrections, about) {
                    QuestionState::Answered {
                        choice: Choice::Prefer(preferred),
                        ..
                    } => top
                        .iter()
                        .map(|&n| list[n])
                        .find(|fact| fact.at == preferred),
                    QuestionState::Answered {
                        choice: Choice::AsFirstWritten,
                        ..
                    } => None,
                    _ => {
                        self.state(reading).correction_disputed = true;
                        None
                    }
                }
            };
            if let Some(fact) = in_force {
                self.state(reading).corrected_by = Some(fact.at);
                corrected.insert(reading, fact.values);
            }
        }
        corrected
    }

    /// Compares each reading with the last one of every other log within the same visit.
    fn readings(&mut self, divisions_pa: [i64; 3], corrected: &BTreeMap<RecordRef, Values>) {
        let readings = &self.facts.readings;
        let values = |n: usize| {
            corrected
                .get(&readings[n].at)
                .unwrap_or(&readings[n].values)
        };
        let mut last_of: BTreeMap<LogId, usize> = BTreeMap::new();
        for later in 0..readings.len() {
            let now = &readings[later];
            last_of.retain(|_, earlier| {
                // Times come from other people's records and may be absurd.
                now.taken_ms.saturating_sub(readings[*earlier].taken_ms) <= SAME_VISIT_MS
            });
            for (&log, &earlier) in &last_of {
                if log == now.at.log {
                    continue;
                }
                match compare(values(earlier), values(later), divisions_pa) {
                    Agreement::NothingInCommon => {}
                    Agreement::Equal => {
                        self.stand(now.at, Standing::Repeats(readings[earlier].at));
                    }
                    Agreement::Differ => self.disagreement(readings[earlier].at, now.at),
                }
            }
            last_of.insert(now.at.log, later);
        }
    }

    fn disagreement(&mut self, one: RecordRef, other: RecordRef) {
        let pair = [one, other];
        match self.ask(QuestionKind::Readings, pair.to_vec()) {
            QuestionState::Answered { by, choice } => match choice {
                Choice::Prefer(preferred) => {
                    for at in pair.into_iter().filter(|at| *at != preferred) {
                        self.stand(at, Standing::SetAside(by));
                    }
                }
                Choice::VoidAll => {
                    for at in pair {
                        self.stand(at, Standing::Void(by));
                    }
                }
                Choice::KeepAll | Choice::AsFirstWritten | Choice::Noted => {}
            },
            QuestionState::Open | QuestionState::AnsweredDifferently => {
                for at in pair {
                    self.stand(at, Standing::Open);
                }
            }
        }
    }

    /// Applies answers about one reading alone, by which a person voids it without being asked.
    fn single_answers(&mut self) {
        let known: BTreeSet<RecordRef> = self.facts.readings.iter().map(|fact| fact.at).collect();
        for answers in self.facts.answers.values() {
            let Some(first) = answers.first() else {
                continue;
            };
            let [reading] = first.about[..] else { continue };
            if !known.contains(&reading) {
                continue;
            }
            if let QuestionState::Answered {
                by,
                choice: Choice::VoidAll,
            } = settle(answers)
            {
                self.stand(reading, Standing::Void(by));
            }
        }
    }

    /// Puts a question on the list and returns how it stands.
    fn ask(&mut self, kind: QuestionKind, mut about: Vec<RecordRef>) -> QuestionState {
        about.sort_unstable();
        let id = question_id(&about);
        let state = match self.facts.answers.get(&id) {
            Some(answers) => {
                let fitting: Vec<AnswerFact> = answers
                    .iter()
                    .filter(|fact| kind.allows(&fact.choice))
                    .cloned()
                    .collect();
                settle(&fitting)
            }
            None => QuestionState::Open,
        };
        let station = Some(self.facts.code.clone());
        self.plan.questions.push(Question {
            id,
            kind,
            station,
            about,
            state: state.clone(),
        });
        state
    }

    fn state(&mut self, reading: RecordRef) -> &mut ReadingState {
        self.plan.states.entry(reading).or_default()
    }

    fn stand(&mut self, reading: RecordRef, standing: Standing) {
        let state = self.state(reading);
        state.standing = state.standing.weaker(standing);
    }
}

/// Works out which answer stands.
#[must_use]
pub fn settle(answers: &[AnswerFact]) -> QuestionState {
    let top = heads(answers.iter().map(|fact| (fact.at, &fact.replaces[..])));
    let Some(&first) = top.first() else {
        return QuestionState::Open;
    };
    if top
        .iter()
        .any(|&n| answers[n].choice != answers[first].choice)
    {
        return QuestionState::AnsweredDifferently;
    }
    QuestionState::Answered {
        by: answers[first].at,
        choice: answers[first].choice.clone(),
    }
}

enum Agreement {
    NothingInCommon,
    Equal,
    Differ,
}

/// Compares two visits by what the dials and the digits typed can tell apart.
fn compare(one: &Values, other: &Values, divisions_pa: [i64; 3]) -> Agreement {
    let mut agreement = Agreement::NothingInCommon;
    for n in 0..3 {
        let (Some(a), Some(b)) = (one[n], other[n]) else {
            continue;
        };
        let step_pa = a.digit_pa.max(b.digit_pa).max(divisions_pa[n]);
        if (a.pa - b.pa).abs() > step_pa {
            return Agreement::Differ;
        }
        agreement = Agreement::Equal;
    }
    agreement
}

fn same_values(one: &Values, other: &Values) -> bool {
    one.iter()
        .zip(other)
        .all(|(a, b)| a.map(|v| v.pa) == b.map(|v| v.pa))
}

#[cfg(test)]
#[path = "station_plan_tests.rs"]
mod tests;
