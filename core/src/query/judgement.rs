//! What a station's readings come to: every visit with its bands, verdicts and flags, the baselines,
//! what stands, what to check next, and where each pressure goes.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use winze_sync_format::RecordRef;

use super::Visit;
use crate::assess::{BaselineStart, Chronicle, Condition, Note, Outlook, Raised, outlook};
use crate::record::Ticks;
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
    /// The state after all of it, for trying an entry that is not saved yet.
    pub chronicle: Chronicle,
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
    let (chronicle, notes) = logbook.read_judged(code)?;
    let mut flags: BTreeMap<RecordRef, Vec<Raised>> = BTreeMap::new();
    let mut baselines = Vec::new();
    for note in notes {
        match note {
            Note::Raised { reading, raised } => flags.entry(reading).or_default().push(*raised),
            Note::Started(start) => baselines.push(start),
        }
    }
    let mut counted = logbook.read_counted_visits(code, usize::MAX)?;
    counted.reverse();
    let mut definitions: BTreeMap<RecordRef, Option<Station>> = BTreeMap::new();
    let mut visits = Vec::with_capacity(counted.len());
    for visit in &counted {
        let definition = definitions
            .entry(visit.revision)
            .or_insert_with(|| logbook.read_definition(visit.revision).ok());
        if let Some(definition) = definition {
            let flags = flags.remove(&visit.at).unwrap_or_default();
            visits.extend(judged(visit, definition, flags));
        }
    }
    let now = quantities_now(&chronicle, &detail.definition, visits.last());
    Ok(StationJudgement {
        station: code.clone(),
        visits,
        baselines,
        standing: chronicle.standing().to_vec(),
        now,
        chronicle,
    })
}

/// The three quantities after the newest visit.
pub(super) fn quantities_now(
    chronicle: &Chronicle,
    definition: &Station,
    newest: Option<&JudgedVisit>,
) -> [QuantityNow; 3] {
    Watched::ALL.map(|watched| QuantityNow {
        watched,
        baseline: chronicle.watch().baseline(watched),
        outlook: newest
            .and_then(|newest| outlook(chronicle.watch(), definition, watched, newest.taken_at)),
    })
}

/// Judges a visit; `None` for a time outside the calendar, which cannot be placed among others.
pub(super) fn judged(
    visit: &Visit,
    definition: &Station,
    flags: Vec<Raised>,
) -> Option<JudgedVisit> {
    let taken_at = DateTime::from_timestamp_millis(visit.taken_ms)?;
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
    Some(JudgedVisit {
        at: visit.at,
        taken_at,
        revision: visit.revision,
        entry: visit.entry,
        ticks: visit.ticks,
        state: judgement.state,
        gauges,
        flags,
    })
}

/// A flag with the reading that raised it.
#[derive(Debug, Clone, PartialEq)]
pub struct StationFlag {
    /// The station.
    pub station: StationCode,
    /// The reading.
    pub reading: RecordRef,
    /// What it raised.
    pub raised: Raised,
}

/// Lists everything that the readings of all stations raised, in the order of time, then of station.
///
/// # Errors
/// The database's.
pub fn flags(logbook: &Logbook) -> Result<Vec<StationFlag>> {
    let mut flags = Vec::new();
    for row in logbook.read_stations()? {
        for note in logbook.read_judged(&row.code)?.1 {
            if let Note::Raised { reading, raised } = note {
                flags.push(StationFlag {
                    station: row.code.clone(),
                    reading,
                    raised: *raised,
                });
            }
        }
    }
    // Stable: flags of one visit stay in the order in which they were raised.
    flags.sort_by(|a, b| (a.raised.at, &a.station).cmp(&(b.raised.at, &b.station)));
    Ok(flags)
}
