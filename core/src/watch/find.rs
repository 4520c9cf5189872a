//! Where the watch decides: what becomes of standing conditions, and whether to raise a flag.

use chrono::{DateTime, Utc};

use super::condition::{Condition, Course, StuckCondition};
use super::evidence::{Evidence, weigh};
use super::flag::{Flag, FlagQuantity, Rule};
use super::log_sum::LogSum;
use super::restart::Begun;
use super::setting::Watched;
use super::view::View;
use super::visit::Look;
use super::watcher::Watch;
use super::weights::Weights;
use crate::suspects::{Cause, Ranking};

impl Watch {
    /// Follows the standing conditions: cleared, accepted as the new usual, or clearly worse.
    /// Brings `views` up to date where a baseline changed.
    pub(super) fn follow(
        &mut self,
        views: &mut [Option<View>; 3],
        look: &Look,
        weeks: f64,
        at: DateTime<Utc>,
        begun: &mut [Option<Begun>; 3],
    ) -> Vec<Flag> {
        let mut flags = Vec::new();
        for index in 0..3 {
            let (Some(condition), Some(view), Some(channel)) = (
                &mut self.standing[index],
                &views[index],
                &mut self.channels[index],
            ) else {
                continue;
            };
            match condition.follow(view, channel, weeks) {
                Course::GoesOn => {}
                Course::Cleared => {
                    channel.set_aside(condition.onset_weeks, condition.calm_from_weeks);
                    channel.frozen_from_weeks = None;
                    self.standing[index] = None;
                    views[index] = channel.view();
                }
                Course::Accepted => {
                    *channel = channel.begun_from(condition.onset_weeks, condition.shift);
                    begun[index] = Some(Begun::BecameUsual);
                    self.standing[index] = None;
                    views[index] = channel.view();
                }
                Course::Worse => {
                    let mut only = [None, None, None];
                    only[index] = Some(view);
                    if condition.cause == Cause::InletGaugeWrong {
                        only = [views[0].as_ref(), views[1].as_ref(), None];
                    }
                    let evidence = weigh(&self.channels, only, look);
                    let ranking = Ranking::from_evidence(&evidence.ln);
                    if let Some(cause) = ranking.first() {
                        condition.cause = cause;
                        flags.push(Flag {
                            at,
                            rule: Rule::Drift,
                            quantity: FlagQuantity::of(cause, Watched::ALL[index]),
                            watched: Watched::ALL[index],
                            onset: at_weeks(self.began, condition.onset_weeks, at),
                            shift: condition.shift,
                            is_worse: true,
                            suspects: ranking,
                        });
                    }
                }
            }
        }
        flags
    }

    pub(super) fn find_stuck(
        &mut self,
        weights: &Weights,
        at: DateTime<Utc>,
        weeks: f64,
    ) -> Vec<Flag> {
        let mut flags = Vec::new();
        for gauge in 0..3 {
            let evidence = self.repeats[gauge].ln_patient();
            if evidence == f64::NEG_INFINITY {
                self.stuck[gauge] = None;
            }
            if self.stuck[gauge].is_none() && evidence + weights.stuck[gauge] > weights.speak_at {
                self.stuck[gauge] = Some(StuckCondition {
                    flagged_weeks: weeks,
                });
                let mut ln = [f64::NEG_INFINITY; Cause::COUNT];
                ln[Cause::GaugeStuck.index()] = self.repeats[gauge].ln_evidence();
                flags.push(Flag {
                    at,
                    rule: Rule::Stuck,
                    quantity: FlagQuantity::GAUGES[gauge],
                    watched: Watched::ALL[gauge],
                    onset: None,
                    shift: 0.0,
                    is_worse: false,
                    suspects: Ranking::from_evidence(&ln),
                });
            }
        }
        flags
    }

    pub(super) fn find_new(
        &mut self,
        weights: &Weights,
        views: &[Option<View>; 3],
        look: &Look,
        scores: &[Option<f64>; 3],
        weeks: f64,
        at: DateTime<Utc>,
    ) -> Option<Flag> {
        let free = [0, 1, 2].map(|index| match self.standing[index] {
            Some(_) => None,
            None => views[index].as_ref(),
        });
        let evidence = weigh(&self.channels, free, look);
        let spreads = [0, 1, 2].map(|index| Some(views[index].as_ref()?.lasting_spread()));
        if weights.total(&evidence, spreads) <= weights.speak_at {
            return None;
        }
        let ranking = Ranking::from_evidence(&self.with_stuck(&evidence).ln);
        let cause = Cause::ALL
            .into_iter()
            .filter(|cause| evidence.best[cause.index()].is_some())
            .max_by(|a, b| ranking.of(*a).total_cmp(&ranking.of(*b)))?;
        let best = evidence.best[cause.index()]?;
        let main = main_quantity(cause, scores, &free);
        let view = views[main.index()].as_ref()?;
        let onset_weeks = view.onset_weeks(view.fresh.len().checked_sub(best.age)?);
        for index in touched(cause, main) {
            if let (Some(view), Some(channel)) = (&views[index], &mut self.channels[index]) {
                let condition = Condition::new(cause, onset_weeks, weeks, view, channel);
                channel.frozen_from_weeks = Some(onset_weeks);
                self.standing[index] = Some(condition);
            }
        }
        let shift = self.standing[main.index()]
            .as_ref()
            .map_or(0.0, |condition| condition.shift);
        let is_sudden = best.is_step && best.age <= 3;
        Some(Flag {
            at,
            rule: if is_sudden { Rule::Jump } else { Rule::Drift },
            quantity: FlagQuantity::of(cause, main),
            watched: main,
            onset: at_weeks(self.began, onset_weeks, at),
            shift,
            is_worse: false,
            suspects: ranking,
        })
    }

    fn with_stuck(&self, evidence: &Evidence) -> Evidence {
        let mut all = evidence.clone();
        let mut sum = LogSum::NOTHING;
        for repeats in &self.repeats {
            sum.add(repeats.ln_evidence());
        }
        all.ln[Cause::GaugeStuck.index()] = sum.ln();
        all
    }
}

/// The quantity in which a cause shows most.
fn main_quantity(cause: Cause, scores: &[Option<f64>; 3], free: &[Option<&View>; 3]) -> Watched {
    match cause {
        Cause::SupplyLow | Cause::SupplyHigh | Cause::StrainerBlocking | Cause::InletGaugeWrong => {
            Watched::Inlet
        }
        Cause::FirstStagePassing | Cause::FirstStageSticking | Cause::InterstageGaugeWrong => {
            Watched::FirstStage
        }
        Cause::SecondStageRising
        | Cause::SecondStageFalling
        | Cause::SecondStageOpen
        | Cause::SetPointMoved
        | Cause::OutletGaugeWrong => Watched::Outlet,
        Cause::GaugeStuck | Cause::EntrySlip => Watched::ALL
            .into_iter()
            .filter(|watched| free[watched.index()].is_some())
            .max_by(|a, b| {
                let size = |watched: &Watched| scores[watched.index()].unwrap_or(0.0).abs();
                size(a).total_cmp(&size(b))
            })
            .unwrap_or(Watched::Outlet),
    }
}

/// The quantities that a condition occupies.
fn touched(cause: Cause, main: Watched) -> Vec<usize> {
    match cause {
        Cause::InletGaugeWrong => vec![Watched::Inlet.index(), Watched::FirstStage.index()],
        _ => vec![main.index()],
    }
}

/// The moment `weeks` after the watch began, not after `at`.
fn at_weeks(began: Option<DateTime<Utc>>, weeks: f64, at: DateTime<Utc>) -> Option<DateTime<Utc>> {
    #[allow(
        clippy::cast_possible_truncation,
        reason = "weeks of a history, far below the limit"
    )]
    let seconds = (weeks * 604_800.0) as i64;
    let moment = began?.checked_add_signed(chrono::TimeDelta::try_seconds(seconds)?)?;
    Some(moment.min(at))
}
