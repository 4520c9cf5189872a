//! One station's readings in order, and what each of them raises.

use std::collections::VecDeque;

use chrono::{DateTime, Utc};

use super::outside::{Band, flag_quantity, suspects, watched};
use super::raised::{Raised, RaisedRule};
use crate::slips::{Doubt, DoubtKind, PastReading, first_doubt};
use crate::station::{Quantity, Station};
use crate::suspects::{Cause, Ranking};
use crate::verdict::{Entry, Verdict, judge};
use crate::watch::{Begun, FlagQuantity, Restart, Setting, Visit, Watch, Weights};

/// Earlier readings that a new one is compared with for slips.
const PAST_READINGS: usize = 26;

/// Readings needed before a value can be called ordinary.
const ORDINARY_FROM: usize = 7;

/// A value is ordinary within one part in so many of the middle of recent ones, about 3 %,
const ORDINARY_PART: i64 = 33;

/// or within one part in so many, 1 %, of where all recent ones but the extremes lie.
const ORDINARY_MARGIN: i64 = 100;

/// A slip is raised when it is at least this probable. Asking the person who stands there costs
/// less than raising it weeks later in the office, and the answer settles it.
const RAISE_SLIP_FROM: f64 = 0.4;

/// A slip that moves no value by more than one part in so many is left to the watch: bar and
/// kgf/cm2 differ by 2 %, which no single visit tells.
const SLIP_PART: i64 = 20;

/// After so many doubts running, of whatever kind, readings stand as typed: then the past that
/// they are compared with is what is wrong.
const DOUBTS_RUNNING: u8 = 4;

/// What a reading comes to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Taken {
    /// What it raises.
    pub raised: Vec<Raised>,
    /// See [`Outcome::scores`](crate::watch::Outcome::scores).
    pub scores: [Option<f64>; 3],
    /// Baselines that the watch began at it, by [`Watched::index`](crate::watch::Watched::index).
    pub begun: [Option<Begun>; 3],
    /// Whether it repeats the visit before and was not counted.
    pub is_repeat: bool,
}

/// Assesses one station's readings one after the other.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Assessor {
    pub(super) weights: Weights,
    pub(super) watch: Watch,
    pub(super) past: VecDeque<PastReading>,
    pub(super) bands: [Band; 3],
    /// What was doubted at the visit before.
    pub(super) doubted: Option<(DoubtKind, Option<Quantity>)>,
    pub(super) doubts_running: u8,
}

impl Assessor {
    /// An assessor that has seen nothing.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The watch behind it.
    #[must_use]
    pub const fn watch(&self) -> &Watch {
        &self.watch
    }

    /// Starts baselines anew after an act on the station. What was read before is no longer what
    /// new values are compared with, and a pressure outside its band is to be said anew.
    pub fn restart(&mut self, what: Restart) {
        self.watch.restart(what);
        for (quantity, is_touched) in Quantity::ALL.into_iter().zip(what.quantities()) {
            if is_touched {
                self.bands[quantity.index()] = Band::default();
                for past in &mut self.past {
                    past.entry = past.entry.with(quantity, None);
                }
            }
        }
    }

    /// Takes in a reading and answers what it raises.
    ///
    /// Readings come oldest first, each with the definition it was judged against. A reading whose
    /// values the reader confirmed when asked is taken as typed (`is_confirmed`).
    pub fn take(
        &mut self,
        station: &Station,
        at: DateTime<Utc>,
        entry: &Entry,
        is_confirmed: bool,
    ) -> Taken {
        let doubt = if is_confirmed {
            None
        } else {
            self.doubt(station, entry)
        };
        let mut raised = Vec::new();
        let mut counted = *entry;
        let about = doubt.as_ref().map(|doubt| (doubt.kind, doubt.quantity));
        // A value doubted twice running for the same reason is no slip of the pen, and then counts
        // as typed. Another unit or exchanged gauges are a habit that a person may well repeat.
        let is_habit = doubt.as_ref().is_some_and(|doubt| {
            matches!(doubt.kind, DoubtKind::UnitSlip | DoubtKind::GaugesSwapped)
        });
        self.doubts_running = match about {
            Some(_) => self.doubts_running.saturating_add(1),
            None => 0,
        };
        let is_again = about.is_some() && about == self.doubted && !is_habit;
        let stands = is_again || self.doubts_running > DOUBTS_RUNNING;
        if let Some(doubt) = doubt.filter(|_| !stands) {
            counted = without(entry, &doubt);
            raised.push(slip(at, entry, &doubt));
        }
        self.doubted = about.filter(|_| !stands);
        let setting = Setting::of(station);
        let visit = Visit::of(station, at, &counted);
        let outcome = self.watch.take(&self.weights, &setting, &visit);
        let flags = outcome.flags.len();
        raised.extend(outcome.flags.into_iter().map(|flag| Raised {
            at,
            rule: flag.rule.into(),
            quantity: flag.quantity,
            watched: flag.watched,
            onset: flag.onset,
            shift: flag.shift,
            is_worse: flag.is_worse,
            suspects: flag.suspects,
            likely: None,
        }));
        if !outcome.is_repeat {
            self.outside(station, &setting, &visit, &counted, flags > 0, &mut raised);
            self.remember(at, counted);
        }
        Taken {
            raised,
            scores: outcome.scores,
            begun: outcome.begun,
            is_repeat: outcome.is_repeat,
        }
    }

    /// Whether a gauge's pressure was said to be outside its band and still counts as such.
    #[must_use]
    pub const fn is_outside(&self, quantity: Quantity) -> bool {
        self.bands[quantity.index()].is_raised
    }

    fn doubt(&mut self, station: &Station, entry: &Entry) -> Option<Doubt> {
        if self.is_ordinary(entry) {
            return None;
        }
        let doubt = first_doubt(station, self.past.make_contiguous(), entry, &[])?;
        // A stuck gauge and a jump are the watch's to judge, with all it knows.
        let is_slip = !matches!(doubt.kind, DoubtKind::SameAsEver | DoubtKind::Jump);
        let is_large = doubt.likely.is_some_and(|likely| is_far(entry, &likely));
        (is_slip && is_large && doubt.probability >= RAISE_SLIP_FROM).then_some(doubt)
    }

    /// Whether every value lies so near the usual that no slip could be told from it. Weighing all
    /// that may have been meant takes a hundred times longer than this look.
    fn is_ordinary(&self, entry: &Entry) -> bool {
        Quantity::ALL.into_iter().all(|quantity| {
            let Some(typed) = entry.get(quantity) else {
                return true;
            };
            let mut recent: Vec<i64> = (self.past.iter())
                .filter_map(|past| past.entry.get(quantity))
                .map(|past| past.to_pressure().pa())
                .collect();
            recent.sort_unstable();
            let value = typed.to_pressure().pa();
            let [_, low, .., high, _] = recent.as_slice() else {
                return false;
            };
            let (low, high, middle) = (*low, *high, recent[recent.len() / 2]);
            let margin = middle / ORDINARY_MARGIN;
            recent.len() >= ORDINARY_FROM
                && value > 0
                && ((value - middle).abs() <= middle / ORDINARY_PART
                    || (low - margin..=high + margin).contains(&value))
        })
    }

    fn remember(&mut self, at: DateTime<Utc>, entry: Entry) {
        self.past.push_back(PastReading {
            taken_at_ms: at.timestamp_millis(),
            entry,
        });
        if self.past.len() > PAST_READINGS {
            self.past.pop_front();
        }
    }

    fn outside(
        &mut self,
        station: &Station,
        setting: &Setting,
        visit: &Visit,
        entry: &Entry,
        is_flagged: bool,
        raised: &mut Vec<Raised>,
    ) {
        let judgement = judge(station, entry);
        for quantity in Quantity::ALL {
            let Some(judged) = judgement.iter().find(|judged| judged.quantity == quantity) else {
                continue;
            };
            let is_outside = judged.verdict == Verdict::Outside;
            let begins = self.bands[quantity.index()].take(is_outside);
            if !begins || is_flagged {
                continue;
            }
            let from_watch = self.watch.ranking(setting, visit, watched(quantity));
            raised.push(Raised {
                at: visit.at,
                rule: RaisedRule::Outside,
                quantity: flag_quantity(quantity),
                watched: watched(quantity),
                onset: None,
                shift: 0.0,
                is_worse: self.watch.is_standing(watched(quantity)),
                suspects: from_watch.unwrap_or_else(|| suspects(quantity, judged.is_high())),
                likely: None,
            });
        }
    }
}

/// Whether two entries differ by more than a watch would follow.
fn is_far(one: &Entry, other: &Entry) -> bool {
    Quantity::ALL.into_iter().any(|quantity| {
        let pa = |entry: &Entry| entry.get(quantity).map(|typed| typed.to_pressure().pa());
        match (pa(one), pa(other)) {
            (Some(one), Some(other)) => {
                (one - other).abs() > one.abs().max(other.abs()) / SLIP_PART
            }
            (one, other) => one != other,
        }
    })
}

/// The entry without the values that are doubted.
fn without(entry: &Entry, doubt: &Doubt) -> Entry {
    let mut kept = *entry;
    let likely = doubt.likely.unwrap_or(*entry);
    if likely.inlet != entry.inlet {
        kept.inlet = None;
    }
    if likely.interstage != entry.interstage {
        kept.interstage = None;
    }
    if likely.outlet != entry.outlet {
        kept.outlet = None;
    }
    kept
}

fn slip(at: DateTime<Utc>, entry: &Entry, doubt: &Doubt) -> Raised {
    let changed = |quantity: Quantity| {
        doubt
            .likely
            .is_some_and(|likely| likely.get(quantity) != entry.get(quantity))
    };
    let quantity = doubt
        .quantity
        .or_else(|| {
            Quantity::ALL
                .into_iter()
                .find(|quantity| changed(*quantity))
        })
        .unwrap_or(Quantity::Outlet);
    let mut ln = [f64::NEG_INFINITY; Cause::COUNT];
    ln[Cause::EntrySlip.index()] = doubt.probability.clamp(0.5, 1.0).ln();
    let gauge_wrong = match quantity {
        Quantity::Inlet => Cause::InletGaugeWrong,
        Quantity::Interstage => Cause::InterstageGaugeWrong,
        Quantity::Outlet => Cause::OutletGaugeWrong,
    };
    ln[gauge_wrong.index()] = (1.0 - doubt.probability).max(1e-6).ln();
    Raised {
        at,
        rule: RaisedRule::Slip,
        quantity: FlagQuantity::GAUGES[quantity.index()],
        watched: watched(quantity),
        onset: None,
        shift: 0.0,
        is_worse: false,
        suspects: Ranking::from_ln_weights(&ln),
        likely: doubt.likely,
    }
}
