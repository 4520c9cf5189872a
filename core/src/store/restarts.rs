//! Work on a station after which its baselines start anew: procedures that ended, jobs that were
//! closed. What of it starts what is said by [`crate::procedures`] and [`crate::assess`].

use std::collections::BTreeMap;

use chrono::DateTime;
use winze_sync_format::{Opened, RecordRef};

use super::database::Database;
use crate::Result;
use crate::assess::{Restarted, Work, restarts_of_job};
use crate::procedures::{ProcedureState, StepCode, StepState, restart_of};
use crate::query::{ProcedureView, fold_procedures as fold};
use crate::record::{Body, JobEnd, JobRaised};
use crate::station::StationCode;

impl Database {
    /// The work on a station after which baselines start anew, by the record that says so.
    ///
    /// `taken_ms` holds when the readings of the station were taken.
    pub(super) fn restarts(
        &self,
        code: &StationCode,
        taken_ms: &BTreeMap<RecordRef, i64>,
    ) -> Result<BTreeMap<RecordRef, Vec<Restarted>>> {
        let mut restarts = BTreeMap::new();
        for procedure in fold(self.counted_about("procedure_record", code)?) {
            let acts = restarts_of(&procedure, taken_ms, self.off_ms(&procedure)?);
            if let Some(first) = acts.first() {
                restarts.insert(first.record, acts);
            }
        }
        for (record, body) in self.counted_about("job_closed", code)? {
            let Body::JobClosed(closed) = body else {
                continue;
            };
            let JobEnd::Done { as_left } = closed.end else {
                continue;
            };
            let Some(raised) = self.find_job(closed.job)? else {
                continue;
            };
            // The as-left reading belongs to the new time.
            let wall_ms = self.made_ms(record.reference(), record.record().clock.wall_ms)?;
            let from_ms = taken_ms.get(&as_left).copied().unwrap_or(wall_ms);
            let at = record.reference();
            let acts = restarted(at, from_ms, restarts_of_job(raised.work));
            if !acts.is_empty() {
                restarts.insert(at, acts);
            }
        }
        Ok(restarts)
    }

    /// By how much the clock that closed a procedure was wrong, to be added to what it showed.
    fn off_ms(&self, procedure: &ProcedureView) -> Result<i64> {
        let closed =
            (procedure.known_state().ok()).and_then(|(_, state)| state.closing.closed_by());
        let time = closed.map(|closed| self.time_of(closed.at)).transpose()?;
        Ok(time
            .flatten()
            .map_or(0, |time| time.corrected_ms.saturating_sub(time.shown_ms)))
    }

    fn find_job(&self, at: RecordRef) -> Result<Option<JobRaised>> {
        let Some(Opened::Record(record)) = self.find_item(at)? else {
            return Ok(None);
        };
        match Body::decode(record.kind(), record.body()) {
            Ok(Body::JobRaised(job)) => Ok(Some(*job)),
            _ => Ok(None),
        }
    }
}

/// What a procedure starts anew; nothing while it is open.
fn restarts_of(
    view: &ProcedureView,
    taken_ms: &BTreeMap<RecordRef, i64>,
    off_ms: i64,
) -> Vec<Restarted> {
    let Ok((procedure, state)) = view.known_state() else {
        return Vec::new();
    };
    let Some(closed) = state.closing.closed_by() else {
        return Vec::new();
    };
    let as_left_ms = as_left_ms(state, taken_ms).unwrap_or(i64::MAX);
    let work = Work::of(view.code);
    let mut acts = Vec::new();
    for from in restart_of(procedure, state) {
        let from_ms = as_left_ms.min(from.from_ms.saturating_add(off_ms));
        acts.extend(restarted(closed.at, from_ms, [(work, from.restart)]));
    }
    acts
}

fn restarted(
    record: RecordRef,
    from_ms: i64,
    acts: impl IntoIterator<Item = (Work, crate::watch::Restart)>,
) -> Vec<Restarted> {
    let Some(at) = DateTime::from_timestamp_millis(from_ms) else {
        return Vec::new();
    };
    acts.into_iter()
        .map(|(work, what)| Restarted {
            at,
            work,
            what,
            record,
        })
        .collect()
}

/// When the as-left reading was taken: it may be a little older than the step that names it.
fn as_left_ms(state: &ProcedureState, taken_ms: &BTreeMap<RecordRef, i64>) -> Option<i64> {
    let step = state.step(StepCode::AsLeft).and_then(StepState::in_force)?;
    taken_ms.get(&step.body.reading?).copied()
}
