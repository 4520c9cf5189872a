//! What a station's readings come to: every visit with its bands, verdicts and flags, the baselines,
//! what stands, what to check next, and where each pressure goes.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use winze_sync_format::RecordRef;

use super::Visit;
use crate::assess::{
    BaselineStart, Chronicle, Condition, Event, Outlook, Raised, Visited, outlook,
};
use crate::record::{DoubtReply, Ticks};
use crate::station::{Quantity, Station, StationCode};
use crate::units::Pressure;
use crate::verdict::{Entry, Expectation, StationState, Verdict, at_datum, judge};
use crate::watch::{Baseline, Watched};
use crate::{Error, Logbook, Result};

/// One gauge at one visit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GaugeAtVisit {
    /// The pressure at the station datum; `None` where the gauge was not read.
    pub observed: Option<Pressure>,
    /// The band expected then, with the value aimed at; `None` where nothing could be expected.
    pub expected: Option<Expectation>,
    /// The verdict, worked out with today's rules; the one shown then is in the reading.
    pub verdict: Option<Verdict>,
    /// Probability that the true value lay in the band, 0 to 1.
    pub probability: Option<f64>,
}

/// One reading that counts, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct JudgedVisit {
    /// Its record.
    pub at: RecordRef,
    /// When the gauges were read.
    pub taken_at: DateTime<Utc>,
    /// The definition it was judged against.
    pub revision: RecordRef,
    /// The values in force, as typed.
    pub entry: Entry,
    /// What was noticed on the look-round.
    pub ticks: Ticks,
    /// How the second stage stood.
    pub state: StationState,
    /// The three gauges in flow order, by [`Quantity::index`].
    pub gauges: [GaugeAtVisit; 3],
    /// What the visit raised, from nothing but what was known then.
    pub flags: Vec<Raised>,
}

impl JudgedVisit {
    /// The worst verdict; `None` when nothing could be judged.
    #[must_use]
    pub fn worst(&self) -> Option<Verdict> {
        self.gauges.iter().filter_map(|gauge| gauge.verdict).max()
    }
}

/// A watched quantity as it stands after the newest visit.
#[derive(Debug, Clone, PartialEq)]
pub struct QuantityNow {
    /// The quantity.
    pub watched: Watched,
    /// What it usually is, as far as is known.
    pub baseline: Option<Baseline>,
    /// Where it goes if it goes on as it does; `None` where nothing can be said.
    pub outlook: Option<Outlook>,
}

/// What a station's readings come to.
#[derive(Debug, Clone, PartialEq)]
pub struct StationJudgement {
    /// The station.
    pub station: StationCode,
    /// Every reading that counts and whose definition is here, oldest first.
    pub visits: Vec<JudgedVisit>,
    /// Every baseline start, oldest first.
    pub baselines: Vec<BaselineStart>,
    /// What stands now, in the order in which it was raised. Suspects with signs and answered checks
    /// by [`Condition::suspects`], what to check next by [`Condition::next_checks`].
    pub standing: Vec<Condition>,
    /// The three watched quantities, by [`Watched::index`].
    pub now: [QuantityNow; 3],
}

impl StationJudgement {
    /// The conditions that are about more than a single value.
    pub fn lasting(&self) -> impl Iterator<Item = &Condition> {
        self.standing
            .iter()
            .filter(|condition| !condition.is_slip())
    }
}

/// Works out what a station's readings come to.
///
/// # Errors
/// [`Error::UnknownStation`], and the database's.
pub fn judgement(logbook: &Logbook, code: &StationCode) -> Result<StationJudgement> {
    let Some(detail) = logbook.read_station(code)? else {
        return Err(Error::UnknownStation {
            station: code.clone(),
        });
    };
    let mut counted = logbook.read_counted_visits(code, usize::MAX)?;
    counted.reverse();
    let mut definitions: BTreeMap<RecordRef, Option<Station>> = BTreeMap::new();
    let mut chronicle = Chronicle::new();
    let (mut visits, mut baselines) = (Vec::with_capacity(counted.len()), Vec::new());
    for visit in &counted {
        let definition = definitions
            .entry(visit.revision)
            .or_insert_with(|| logbook.read_definition(visit.revision).ok());
        // A time outside the calendar cannot be placed among the others.
        let (Some(definition), Some(at)) = (
            definition.as_ref(),
            DateTime::from_timestamp_millis(visit.taken_ms),
        ) else {
            continue;
        };
        let told = chronicle.take(&Event::Visit(Visited {
            reading: visit.at,
            at,
            definition,
            entry: visit.entry,
            ticks: visit.ticks,
            is_confirmed: is_confirmed(visit),
        }));
        baselines.extend(told.started);
        visits.push(judged(visit, definition, at, told.raised));
    }
    let last = visits.last().map(|visit| visit.taken_at);
    let now = Watched::ALL.map(|watched| QuantityNow {
        watched,
        baseline: chronicle.watch().baseline(watched),
        outlook: last
            .and_then(|last| outlook(chronicle.watch(), &detail.definition, watched, last)),
    });
    Ok(StationJudgement {
        station: code.clone(),
        visits,
        baselines,
        standing: chronicle.standing().to_vec(),
        now,
    })
}

/// Whether the operator was asked about the values and said that they stand.
fn is_confirmed(visit: &Visit) -> bool {
    let stands = |doubt: &crate::record::AskedDoubt| {
        doubt.reply == DoubtReply::AsTyped && doubt.typed == visit.entry
    };
    visit.doubts.iter().any(stands)
}

fn judged(
    visit: &Visit,
    definition: &Station,
    taken_at: DateTime<Utc>,
    flags: Vec<Raised>,
) -> JudgedVisit {
    let judgement = judge(definition, &visit.entry);
    let gauges = Quantity::ALL.map(|quantity| {
        let judged = judgement.get(quantity);
        let typed = visit.entry.get(quantity);
        GaugeAtVisit {
            observed: typed.map(|typed| at_datum(definition, quantity, typed)),
            expected: judgement.expected.get(quantity),
            verdict: judged.map(|judged| judged.verdict),
            probability: judged.map(|judged| judged.probability),
        }
    });
    JudgedVisit {
        at: visit.at,
        taken_at,
        revision: visit.revision,
        entry: visit.entry,
        ticks: visit.ticks,
        state: judgement.state,
        gauges,
        flags,
    }
}
