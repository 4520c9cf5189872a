//! The account of a procedure out of a logbook: what [`super::document`] is made from.
//!
//! Gathers records, their order in time and their words; what they come to is decided in
//! `winze_core::procedures`, what a turn of the screw does in `winze_core::calibration`.

mod setting;
mod steps;

use chrono::NaiveDate;
use winze_core::procedures::{
    Branch, Closing as Closed, Dirt, Inside, MeasureCode, ProcedureCode, ProcedureState, Says,
    StepCode, StepFact, StepState as Step, Value, entry_of, revised,
};
use winze_core::query::{self, ProcedureView};
use winze_core::record::{Body, ProcedureEnd, StepOutcome};
use winze_core::station::Station;
use winze_core::upkeep::local_date;
use winze_core::{Logbook, Result};
use winze_sync_format::RecordRef;

use super::work::{
    Act, Closing, Ending, Finding, PastVisit, ReadingDone, RecordDone, WorkDone, WorkKind,
};
use crate::messages::procedures as words;
use crate::messages::reports as labels;

/// How far back visits are shown, half a year of weeks.
const VISITS_BEFORE_MS: i64 = 26 * 7 * DAY_MS;
/// How far on.
const VISITS_AFTER_MS: i64 = 4 * 7 * DAY_MS;
const DAY_MS: i64 = 86_400_000;

/// The kind of document a procedure has; a look-round and a return to service have none.
#[must_use]
pub const fn kind_of(code: ProcedureCode) -> Option<WorkKind> {
    match code {
        ProcedureCode::SetUp => Some(WorkKind::SetUp),
        ProcedureCode::Recalibrate => Some(WorkKind::Recalibration),
        ProcedureCode::YearlyClean => Some(WorkKind::YearlyClean),
        ProcedureCode::InternalInspection => Some(WorkKind::Inspection),
        ProcedureCode::ReturnToService | ProcedureCode::WeeklyLookRound => None,
    }
}

/// Puts the account of a procedure together. `None` where no document is made of such a procedure,
/// this program does not know the edition of its data, or its station is not defined here.
///
/// # Errors
/// The database's.
pub fn account(logbook: &Logbook, view: &ProcedureView) -> Result<Option<WorkDone>> {
    let (Some(kind), Some(state)) = (kind_of(view.code), &view.state) else {
        return Ok(None);
    };
    let reader = Reader { logbook };
    let Some((base, revision)) = reader.definition(view, state)? else {
        return Ok(None);
    };
    let begun = reader.act(view.at)?;
    let closing = reader.closing(state)?;
    let end_day = day(closing.as_ref().map_or(&begun, |closing| &closing.act));
    let (station, before) = match revised(&base, state, end_day) {
        // Held against the ratio they were themselves read for, the gauges would always be within.
        Some(left) => {
            let first_stage = base.first_stage.clone();
            let left = Station {
                first_stage,
                ..left
            };
            (left, Some(base))
        }
        None => (base, None),
    };
    let (done_by, seen_by) = end_names(state);
    let factory = StepCode::FactorySetPoint;
    Ok(Some(WorkDone {
        kind,
        revision,
        reason: words::open_reason(view.reason, &view.note),
        factory_set_point: state.pressure(factory, MeasureCode::FactorySetPoint),
        keeps_setting: state.branch.map(|branch| branch == Branch::Keep),
        as_found: reader.reading(state, StepCode::AsFound)?,
        as_left: reader.reading(state, StepCode::AsLeft)?,
        setting: setting::setting(&reader, &station, state)?,
        findings: findings(state),
        parts: reader.parts(view, closing.as_ref())?,
        done_by,
        seen_by,
        steps: steps::steps(&reader, state, &view.facts)?,
        cautions: steps::cautions(state),
        visits: reader.visits(view, closing.as_ref())?,
        records: reader.records(&begun, &view.facts)?,
        opened: begun,
        closed: closing,
        station,
        before,
    }))
}

/// Whether a document shows something that somebody should look at.
#[must_use]
pub fn needs_a_look(work: &WorkDone) -> bool {
    use super::work::StepState;
    let is_complete = work
        .closed
        .as_ref()
        .is_some_and(|closing| closing.ending == Ending::Completed);
    let left = work.as_left.as_ref();
    let worst = left.and_then(|left| {
        let judgement = winze_core::verdict::judge(&work.station, &left.entry);
        judgement.worst()
    });
    !is_complete
        || worst.is_some_and(|worst| worst != winze_core::verdict::Verdict::Within)
        || work.steps.iter().any(|step| step.state != StepState::Done)
        || work.findings.iter().any(|finding| finding.is_notable)
}

/// Reads what records say beyond the state.
struct Reader<'a> {
    logbook: &'a Logbook,
}

impl Reader<'_> {
    /// Who wrote a record, when and where.
    fn act(&self, at: RecordRef) -> Result<Act> {
        let view = query::record(self.logbook, at)?;
        let offset = match &view.body {
            Some(Body::ProcedureOpened(body)) => body.utc_offset_minutes,
            Some(Body::StepRecorded(body)) => body.utc_offset_minutes,
            Some(Body::StepUndone(body)) => body.utc_offset_minutes,
            Some(Body::ProcedureClosed(body)) => body.utc_offset_minutes,
            Some(Body::Reading(body)) => body.utc_offset_minutes.unwrap_or(0),
            _ => 0,
        };
        Ok(Act {
            at,
            wall_ms: view.clock.map_or(0, |clock| clock.wall_ms),
            utc_offset_minutes: offset,
            by: view.person,
            log_name: view.log_name,
        })
    }

    /// The definition the work rests on: the one its first reading cites, else the one in force.
    fn definition(
        &self,
        view: &ProcedureView,
        state: &ProcedureState,
    ) -> Result<Option<(Station, Option<RecordRef>)>> {
        let readings = state.steps.iter().filter_map(|step| {
            let entry = step.in_force()?;
            Some((entry.wall_ms, entry.at, entry.body.reading?))
        });
        if let Some((_, _, reading)) = readings.min() {
            let view = query::record(self.logbook, reading)?;
            if let Some(Body::Reading(reading)) = view.body {
                let definition = query::definition_at(self.logbook, reading.revision)?;
                return Ok(Some((definition, Some(reading.revision))));
            }
        }
        let found = query::station(self.logbook, &view.station)?;
        Ok(found.map(|detail| (detail.definition, Some(detail.revision))))
    }

    fn closing(&self, state: &ProcedureState) -> Result<Option<Closing>> {
        let (ending, by) = match &state.closing {
            Closed::Completed(by) => (Ending::Completed, by),
            Closed::Abandoned(by) => (Ending::Abandoned, by),
            Closed::Open | Closed::Contested(_) | Closed::Disputed(_) => return Ok(None),
        };
        Ok(Some(Closing {
            act: self.act(by.at)?,
            ending,
            note: by.body.note.clone(),
        }))
    }

    fn reading(&self, state: &ProcedureState, step: StepCode) -> Result<Option<ReadingDone>> {
        let Some(entry) = state.step(step).and_then(Step::in_force) else {
            return Ok(None);
        };
        if matches!(entry.body.outcome, StepOutcome::PassedOver(_)) {
            return Ok(None);
        }
        Ok(Some(ReadingDone {
            act: self.act(entry.at)?,
            entry: entry_of(&entry.body),
        }))
    }

    /// Parts of the jobs at the station that were closed while the work went on.
    fn parts(&self, view: &ProcedureView, closing: Option<&Closing>) -> Result<Vec<String>> {
        let until = closing.map_or(i64::MAX, |closing| closing.act.wall_ms);
        let jobs = query::jobs_at(self.logbook, &view.station)?;
        let closings = jobs.iter().flat_map(|job| &job.closings);
        let parts = closings
            .filter(|closing| (view.opened_ms..=until).contains(&closing.written.wall_ms))
            .flat_map(|closing| &closing.parts);
        Ok(parts
            .map(|part| labels::part(&part.what, part.count))
            .collect())
    }

    /// Visits around the work that count, in order of time.
    fn visits(&self, view: &ProcedureView, closing: Option<&Closing>) -> Result<Vec<PastVisit>> {
        let end = closing.map_or(view.opened_ms, |closing| closing.act.wall_ms);
        let (from, to) = (
            view.opened_ms.saturating_sub(VISITS_BEFORE_MS),
            end.saturating_add(VISITS_AFTER_MS),
        );
        let visits = query::visits_between(self.logbook, &view.station, from, to)?;
        let mut visits: Vec<_> = visits.into_iter().filter(query::Visit::counts).collect();
        visits.sort_by_key(|visit| (visit.taken_ms, visit.at));
        Ok(visits
            .iter()
            .map(|visit| PastVisit {
                wall_ms: visit.taken_ms,
                entry: visit.entry,
            })
            .collect())
    }

    /// Every record of the work in order of time.
    fn records(&self, begun: &Act, facts: &[StepFact]) -> Result<Vec<RecordDone>> {
        let mut all = vec![RecordDone {
            what: labels::RECORD_OPENED.to_owned(),
            act: begun.clone(),
        }];
        for fact in facts {
            let act = self.act(fact.at)?;
            let (what, reading) = match &fact.says {
                Says::Recorded(body) => (steps::record_words(body), body.reading),
                Says::Undone(body) => (labels::record_undone(words::step(body.step)), None),
                Says::Closed(body) => {
                    let ending = match body.end {
                        ProcedureEnd::Completed => Ending::Completed,
                        ProcedureEnd::Abandoned => Ending::Abandoned,
                    };
                    (labels::record_closed(ending), None)
                }
            };
            all.push(RecordDone { what, act });
            if let Some(reading) = reading {
                all.push(RecordDone {
                    what: labels::RECORD_READING.to_owned(),
                    act: self.act(reading)?,
                });
            }
        }
        all.sort_by_key(|record| (record.act.wall_ms, record.act.at));
        all.dedup_by_key(|record| record.act.at);
        Ok(all)
    }
}

/// The local day of an act.
fn day(act: &Act) -> NaiveDate {
    local_date(act.wall_ms, act.utc_offset_minutes)
}

/// Who did the work and who looked it over, as typed at its end.
fn end_names(state: &ProcedureState) -> (String, String) {
    let by = state.closing.closed_by();
    by.map_or_else(Default::default, |by| {
        (by.body.done_by.clone(), by.body.seen_by.clone())
    })
}

/// What was found when things were opened up.
fn findings(state: &ProcedureState) -> Vec<Finding> {
    let places = [
        (
            StepCode::StrainerClean,
            MeasureCode::StrainerFound,
            labels::STRAINER,
        ),
        (
            StepCode::InspectFirst,
            MeasureCode::InsideFound,
            labels::FIRST_STAGE,
        ),
        (
            StepCode::InspectSecond,
            MeasureCode::InsideFound,
            labels::SECOND_STAGE,
        ),
    ];
    let found = places.into_iter().filter_map(|(step, measure, what)| {
        let value = state.value(step, measure)?;
        let is_notable = match value {
            Value::Dirt(dirt) => matches!(dirt, Dirt::Heavy | Dirt::Damaged),
            Value::Inside(inside) => inside != Inside::Sound,
            _ => false,
        };
        Some(Finding {
            what: what.to_owned(),
            how: words::value(value),
            is_notable,
        })
    });
    found.collect()
}
