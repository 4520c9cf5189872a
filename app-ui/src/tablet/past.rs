//! A station's past for its screens: what the core makes of it, as the dials show it.
//!
//! The rules are the core's (`query::judgement`, `assess`); here pressures are brought from the
//! station datum to the dials and their units, and an entry that is not saved yet is tried out.

use chrono::DateTime;
use winze_core::assess::{
    BaselineStart as Start, BaselineWhy, Chronicle, Condition, Event, Leaving, Outlook as Ahead,
    Visited, outlook,
};
use winze_core::query::{self, JudgedVisit, StationJudgement};
use winze_core::record::Ticks;
use winze_core::station::{Quantity, Station, StationCode};
use winze_core::units::Pressure;
use winze_core::verdict::{Entry, at_datum};
use winze_core::watch::{Begun, Watched};
use winze_core::{Logbook, Result};
use winze_sync_format::{LogId, RecordId, RecordRef};

use crate::messages::watch;
use crate::presenters::chart::FanPoint;
use crate::presenters::course::{
    BaselineStart, Course, CourseVisit, Finding, Leaves, Outlook, strip_of,
};

/// A station's past, and what it was made of, so that one more reading can be tried.
pub struct Past {
    /// As the screens show it.
    pub course: Course,
    /// The newest reading: its values and when it was taken, milliseconds since 1970.
    pub newest: Option<(Entry, i64)>,
    chronicle: Chronicle,
}

/// An entry that is not saved has no record; this stands for it and is never kept.
const NOT_SAVED: RecordRef = RecordRef {
    log: LogId([0; 32]),
    seq: 0,
    id: RecordId([0; 32]),
};

impl Past {
    /// Reads a station's past.
    ///
    /// # Errors
    /// The core's.
    pub fn read(logbook: &Logbook, code: &StationCode, station: &Station) -> Result<Self> {
        let judged = query::judgement(logbook, code)?;
        let newest = judged.visits.last();
        let newest = newest.map(|visit| (visit.entry, visit.taken_at.timestamp_millis()));
        Ok(Self {
            course: course(station, &judged),
            newest,
            chronicle: judged.chronicle,
        })
    }

    /// What would stand if `entry` were saved at `at_ms`; what it raises itself comes first.
    #[must_use]
    pub fn tried(
        &self,
        station: &Station,
        at_ms: i64,
        entry: Entry,
        ticks: Ticks,
        is_confirmed: bool,
    ) -> Vec<Finding> {
        let Some(at) = DateTime::from_timestamp_millis(at_ms) else {
            return self.course.standing.clone();
        };
        let mut chronicle = self.chronicle.clone();
        chronicle.take(&Event::Visit(Visited {
            reading: NOT_SAVED,
            at,
            definition: station,
            entry,
            ticks,
            is_confirmed,
        }));
        let ahead = |watched| outlook(chronicle.watch(), station, watched, at);
        let leaves = Watched::ALL.map(|watched| leaves(ahead(watched).as_ref()));
        findings(chronicle.standing(), leaves)
    }
}

fn course(station: &Station, judged: &StationJudgement) -> Course {
    let ahead = Watched::ALL.map(|watched| judged.now[watched.index()].outlook.as_ref());
    Course {
        visits: judged
            .visits
            .iter()
            .map(|one| visit(station, one))
            .collect(),
        baselines: baselines(&judged.baselines),
        standing: findings(&judged.standing, ahead.map(leaves)),
        outlooks: Quantity::ALL.map(|quantity| {
            let ahead = ahead[quantity.index()]?;
            // A quantity without a trend goes nowhere in particular.
            let goes = !matches!(ahead.leaving, Leaving::NoTrend);
            goes.then(|| on_dial(station, ahead))
        }),
    }
}

/// A pressure at the datum as the dial of `quantity` shows it, in the dial's unit.
fn dial(station: &Station, quantity: Quantity, at_datum_pa: Pressure) -> f64 {
    let gauge = station.gauge(quantity);
    (at_datum_pa - head(station, quantity)).in_unit(gauge.unit())
}

/// What the height of a gauge adds to its reading.
fn head(station: &Station, quantity: Quantity) -> Pressure {
    let value = station.gauge(quantity).high;
    at_datum(station, quantity, value) - value.to_pressure()
}

fn visit(station: &Station, visit: &JudgedVisit) -> CourseVisit {
    let gauge = |quantity: Quantity| &visit.gauges[quantity.index()];
    let show = |quantity, pressure| dial(station, quantity, pressure);
    CourseVisit {
        at: visit.at,
        taken_ms: visit.taken_at.timestamp_millis(),
        values: Quantity::ALL.map(|one| Some(show(one, gauge(one).observed?))),
        bands: Quantity::ALL.map(|one| {
            let band = gauge(one).expected?;
            Some((show(one, band.low), show(one, band.high)))
        }),
        verdicts: Quantity::ALL.map(|one| gauge(one).verdict),
        raised: visit
            .flags
            .iter()
            .map(|flag| (flag.rule, flag.quantity))
            .collect(),
    }
}

fn baselines(starts: &[Start]) -> Vec<BaselineStart> {
    starts
        .iter()
        .filter(|start| start.why != BaselineWhy::Watch(Begun::FirstSeen))
        .map(|start| {
            let mut touches = [false; 3];
            touches[start.watched.index()] = true;
            BaselineStart {
                at_ms: start.at.timestamp_millis(),
                touches,
                why: watch::baseline(start.why).to_owned(),
            }
        })
        .collect()
}

fn findings(standing: &[Condition], leaves: [Option<Leaves>; 3]) -> Vec<Finding> {
    let mut findings: Vec<Finding> = standing
        .iter()
        .map(|one| Finding {
            rule: one.rule,
            quantity: one.quantity,
            reading: (one.reading != NOT_SAVED).then_some(one.reading),
            raised_ms: one.said_at.timestamp_millis(),
            onset_ms: one.onset.map(|at| at.timestamp_millis()),
            shift: one.shift,
            is_worse: one.is_worse,
            before: one.by_readings,
            now: one.suspects(),
            answered: one.answers.iter().map(|a| (a.check, a.is_yes)).collect(),
            checks: one.next_checks(),
            leaves: leaves[strip_of(one.quantity).index()],
        })
        // A doubtful value is asked about before it is saved.
        .filter(|finding| finding.rule != winze_core::assess::RaisedRule::Slip)
        .collect();
    // What was said last comes first: it is what the operator is looking at.
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.raised_ms));
    findings
}

fn leaves(ahead: Option<&Ahead>) -> Option<Leaves> {
    match ahead?.leaving {
        Leaving::Leaves {
            earliest,
            likely,
            latest,
            ..
        } => Some(Leaves {
            likely_ms: likely.timestamp_millis(),
            earliest_ms: earliest.timestamp_millis(),
            latest_ms: latest.map(|at| at.timestamp_millis()),
        }),
        Leaving::Left { .. } | Leaving::NotWithinTwoYears { .. } | Leaving::NoTrend => None,
    }
}

fn on_dial(station: &Station, ahead: &Ahead) -> Outlook {
    let show = |pressure| dial(station, ahead.quantity, pressure);
    Outlook {
        leaves: leaves(Some(ahead)),
        fan: ahead
            .fan
            .iter()
            .map(|point| FanPoint {
                at_ms: point.at.timestamp_millis(),
                low: show(point.low),
                likely: show(point.likely),
                high: show(point.high),
            })
            .collect(),
    }
}
