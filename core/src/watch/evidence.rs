//! How much better each cause explains the recent visits than chance does.
//!
//! Every cause predicts a shape (a step, a ramp, more scatter, one wild value) in certain
//! quantities and a range of sizes. For each cause the likelihood ratios against "nothing changed"
//! are averaged over the sizes and added over the visits at which it may have begun.
//! What is done about it is decided in `episode`; how probable causes are in [`crate::suspects`].

use super::channel::Channel;
use super::log_sum::LogSum;
use super::sizes::{CREEP_WEEKLY, SET_POINT_SHARES, STRAINER_WEEKLY, SUPPLY_SHARES, gauge_steps};
use super::view::{Response, Shape, View, Weighed};
use super::visit::Look;
use crate::suspects::Cause;

/// A start whose best explanation is not better than this factor's logarithm adds nothing that
/// matters next to the thresholds, and is passed over.
const WORTH_A_LOOK: f64 = 1.5;

/// Below this CUSUM sum no change of level is worth weighing: evidence near a threshold needs
/// sums of three and more, whenever it began.
const STIRRED_AT: f64 = 2.5;

/// Starts within so many visits are young: only they can be found early.
pub(super) const YOUNG: usize = 5;

/// Factors by which a sticking first stage scatters more than a free one.
const STICKING_FACTORS: [f64; 3] = [2.0, 3.0, 4.5];
/// How far, as a logarithm, an open second stage's outlet may be from the interstage pressure.
const OPEN_OFFSETS: [f64; 3] = [0.0, -0.08, -0.2];
/// Slips move the logarithm of a value by anything up to this, either way.
const SLIP_RANGE: f64 = 3.0;

/// The single best explanation of one cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Best {
    /// Its logarithmic likelihood ratio.
    pub ln_ratio: f64,
    /// Visits since it began, the first one included: 1 when it began at the newest.
    pub age: usize,
    /// Whether it came at once.
    pub is_step: bool,
}

/// What speaks for each cause.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Evidence {
    /// Logarithm of the summed likelihood ratio, by [`Cause::index`].
    pub ln: [f64; Cause::COUNT],
    /// The part of it from starts within the last [`YOUNG`] visits.
    pub young: [f64; Cause::COUNT],
    /// The part of it from earlier starts.
    pub old: [f64; Cause::COUNT],
    /// The best single explanation, by [`Cause::index`].
    pub best: [Option<Best>; Cause::COUNT],
}

/// Adds up likelihood ratios per cause.
struct Tally {
    young: [LogSum; Cause::COUNT],
    old: [LogSum; Cause::COUNT],
    best: [Option<Best>; Cause::COUNT],
}

impl Tally {
    fn evidence(self) -> Evidence {
        let (young, old) = (self.young.map(LogSum::ln), self.old.map(LogSum::ln));
        let mut ln = young;
        for (young, old) in ln.iter_mut().zip(old) {
            let mut sum = LogSum::NOTHING;
            sum.add(*young);
            sum.add(old);
            *young = sum.ln();
        }
        Evidence {
            ln,
            young,
            old,
            best: self.best,
        }
    }

    fn add(&mut self, cause: Cause, ln_ratio: f64, ln_share: f64, age: usize, is_step: bool) {
        let index = cause.index();
        let sums = if age <= YOUNG {
            &mut self.young
        } else {
            &mut self.old
        };
        sums[index].add(ln_ratio + ln_share);
        if self.best[index].is_none_or(|best| best.ln_ratio < ln_ratio) {
            self.best[index] = Some(Best {
                ln_ratio,
                age,
                is_step,
            });
        }
    }
}

/// A quantity's view together with its responses to a change at one visit.
struct Seen<'a> {
    view: &'a View,
    ln_weight: f64,
    step: Response,
    ramp: Response,
    step_bound: f64,
    ramp_bound: f64,
}

impl<'a> Seen<'a> {
    /// A change first seen `age` visits ago, the newest being 1 ago; `None` before the first.
    fn new(weighed: &'a Weighed, age: usize) -> Option<Self> {
        let view = &weighed.view;
        let from = view.fresh.len().checked_sub(age)?;
        let [step, ramp] = view.responses(from, [Shape::Step, Shape::Ramp]);
        let (step_bound, ramp_bound) = (view.ln_ratio_bound(step), view.ln_ratio_bound(ramp));
        Some(Self {
            view,
            ln_weight: weighed.ln_weight,
            step,
            ramp,
            step_bound,
            ramp_bound,
        })
    }

    /// The logarithmic ratio of a step, weighed by its assumption.
    fn step(&self, amount: f64) -> f64 {
        self.view.ln_ratio(self.step, amount) + self.ln_weight
    }

    /// The same of a ramp.
    fn ramp(&self, weekly: f64) -> f64 {
        self.view.ln_ratio(self.ramp, weekly) + self.ln_weight
    }
}

/// Weighs every cause that touches only quantities in `views` (inlet, first stage, outlet), each
/// seen under the assumption about its memory that the older visits support best.
///
/// Most visits end with a look at these; only what may have changed is weighed under every assumption.
pub(super) fn weigh(
    channels: &[Option<Channel>; 3],
    views: [Option<&View>; 3],
    look: &Look,
) -> Evidence {
    let stirred = views.map(|view| view.is_some_and(|view| view.unrest() > STIRRED_AT));
    // A wrong inlet gauge shows in two quantities, of which one may look calm.
    let needed = [
        stirred[0] || stirred[1],
        stirred[0] || stirred[1],
        stirred[2],
    ];
    let weighed = [0, 1, 2].map(|index| match (&channels[index], views[index]) {
        (Some(channel), Some(_)) if needed[index] => channel.weighed_views(),
        _ => Vec::new(),
    });
    let mut tally = weigh_all([&weighed[0], &weighed[1], &weighed[2]], stirred, look);
    // More scatter without a change of level need not stir anything.
    if let Some(view) = views[1].filter(|_| !needed[1]) {
        weigh_sticking(&mut tally, view, 0.0);
    }
    tally.evidence()
}

/// Weighs every cause that touches only quantities with `views` (inlet, first stage, outlet).
///
/// # Formula
/// `ratio = sum over assumptions of P(assumption | all visits, no change) ratio(assumption)`: what
/// the recent visits tell of the memory counts against a change, so that a wander that was not yet
/// known is not taken for one.
fn weigh_all(views: [&[Weighed]; 3], stirred: [bool; 3], look: &Look) -> Tally {
    let visits = (views.iter().copied().flatten())
        .map(|weighed| weighed.view.fresh.len())
        .max()
        .unwrap_or(0);
    let mut tally = Tally {
        young: [LogSum::NOTHING; Cause::COUNT],
        old: [LogSum::NOTHING; Cause::COUNT],
        best: [None; Cause::COUNT],
    };
    // Counted from the newest visit, because a baseline begun anew has fewer visits.
    for age in 1..=visits {
        let seen = views.map(|views| {
            let seen = views.iter().filter_map(|weighed| Seen::new(weighed, age));
            seen.collect::<Vec<_>>()
        });
        for inlet in seen[0].iter().filter(|_| stirred[0]) {
            weigh_inlet(&mut tally, inlet, age);
        }
        for first in seen[1].iter().filter(|_| stirred[1]) {
            weigh_first_stage(&mut tally, first, look, age);
        }
        for outlet in &seen[2] {
            weigh_outlet(&mut tally, outlet, look, age);
        }
        if let Some(share) = look.span_shares[0] {
            weigh_inlet_gauge(&mut tally, &seen[0], &seen[1], share, age);
        }
    }
    for weighed in views[1] {
        weigh_sticking(&mut tally, &weighed.view, weighed.ln_weight);
    }
    for weighed in views.iter().copied().flatten() {
        weigh_slip(&mut tally, weighed);
    }
    tally
}

/// A wrong inlet gauge moves the inlet and the ratio of the first stage alike.
fn weigh_inlet_gauge(
    tally: &mut Tally,
    inlets: &[Seen<'_>],
    firsts: &[Seen<'_>],
    share: f64,
    age: usize,
) {
    for inlet in inlets {
        for first in firsts {
            if inlet.step_bound + first.step_bound > WORTH_A_LOOK {
                for (amount, ln_share) in gauge_steps(share) {
                    let ln = inlet.step(amount) + first.step(amount);
                    tally.add(Cause::InletGaugeWrong, ln, ln_share, age, true);
                }
            }
        }
    }
}

fn weigh_inlet(tally: &mut Tally, inlet: &Seen<'_>, age: usize) {
    if inlet.step_bound > WORTH_A_LOOK {
        for &(share, ln_share) in SUPPLY_SHARES.iter() {
            tally.add(
                Cause::SupplyLow,
                inlet.step((-share).ln_1p()),
                ln_share,
                age,
                true,
            );
            tally.add(
                Cause::SupplyHigh,
                inlet.step(share.ln_1p()),
                ln_share,
                age,
                true,
            );
        }
    }
    if inlet.ramp_bound > WORTH_A_LOOK {
        for &(weekly, ln_share) in STRAINER_WEEKLY.iter() {
            tally.add(
                Cause::StrainerBlocking,
                inlet.ramp(-weekly),
                ln_share,
                age,
                false,
            );
        }
    }
}

fn weigh_first_stage(tally: &mut Tally, first: &Seen<'_>, look: &Look, age: usize) {
    if first.ramp_bound > WORTH_A_LOOK {
        for &(weekly, ln_share) in CREEP_WEEKLY.iter() {
            tally.add(
                Cause::FirstStagePassing,
                first.ramp(-weekly),
                ln_share,
                age,
                false,
            );
        }
    }
    if first.step_bound > WORTH_A_LOOK
        && let Some(share) = look.span_shares[1]
    {
        for (amount, ln_share) in gauge_steps(share) {
            tally.add(
                Cause::InterstageGaugeWrong,
                first.step(-amount),
                ln_share,
                age,
                true,
            );
        }
    }
}

/// More scatter since a visit, the level as before.
///
/// # Formula
/// `-m ln g - v ln((S - (1 - 1/g^2) E) / S)`, E the squares of the m visits since, g the factor.
fn weigh_sticking(tally: &mut Tally, view: &View, ln_weight: f64) {
    let fit = view.whole;
    let (mut count, mut squares) = (0.0, 0.0);
    #[allow(clippy::cast_precision_loss, reason = "three factors")]
    let ln_share = ln_weight - (STICKING_FACTORS.len() as f64).ln();
    for (back, fresh) in view
        .fresh
        .iter()
        .rev()
        .enumerate()
        .filter(|(_, f)| f.is_seen)
    {
        let age = back + 1;
        count += 1.0;
        squares += (fresh.value - fresh.one * fit.level).powi(2);
        if squares < 2.0 * count * fit.variance() {
            continue;
        }
        for factor in STICKING_FACTORS {
            let left = 1.0 - (1.0 - 1.0 / (factor * factor)) * squares / fit.squares;
            let ln = -count * factor.ln() - fit.half_degrees * left.max(1e-12).ln();
            tally.add(Cause::FirstStageSticking, ln, ln_share, age, false);
        }
    }
}

fn weigh_outlet(tally: &mut Tally, outlet: &Seen<'_>, look: &Look, age: usize) {
    if outlet.ramp_bound > WORTH_A_LOOK {
        for &(weekly, ln_share) in CREEP_WEEKLY.iter() {
            tally.add(
                Cause::SecondStageRising,
                outlet.ramp(weekly),
                ln_share,
                age,
                false,
            );
            tally.add(
                Cause::SecondStageFalling,
                outlet.ramp(-weekly),
                ln_share,
                age,
                false,
            );
        }
    }
    if outlet.step_bound > WORTH_A_LOOK {
        let half = 0.5_f64.ln();
        for &(share, ln_share) in SET_POINT_SHARES.iter() {
            for amount in [share.ln_1p(), (-share).ln_1p()] {
                let ln = outlet.step(amount);
                tally.add(Cause::SetPointMoved, ln, ln_share + half, age, true);
            }
        }
        if let Some(share) = look.span_shares[2] {
            for (amount, ln_share) in gauge_steps(share) {
                let ln = outlet.step(amount);
                tally.add(Cause::OutletGaugeWrong, ln, ln_share, age, true);
            }
        }
        if let Some(open) = look.open {
            #[allow(clippy::cast_precision_loss, reason = "three offsets")]
            let ln_share = -(OPEN_OFFSETS.len() as f64).ln();
            for offset in OPEN_OFFSETS {
                let ln = outlet.step((open + offset).max(0.05));
                tally.add(Cause::SecondStageOpen, ln, ln_share, age, true);
            }
        }
    }
}

/// One wild value at the newest visit.
///
/// # Formula
/// The best size's likelihood ratio times the share of the possible sizes that fit it:
/// `sqrt(2 pi s^2 / A) / range`.
fn weigh_slip(tally: &mut Tally, weighed: &Weighed) {
    let view = &weighed.view;
    let Some(newest) = view.fresh.len().checked_sub(1) else {
        return;
    };
    let [response] = view.responses(newest, [Shape::Once]);
    let bound = view.ln_ratio_bound(response);
    if bound <= WORTH_A_LOOK || response.size <= 0.0 {
        return;
    }
    let width = (std::f64::consts::TAU * view.whole.variance() / response.size).sqrt();
    let ln_share = weighed.ln_weight + (width / (2.0 * SLIP_RANGE)).min(1.0).ln();
    tally.add(Cause::EntrySlip, bound, ln_share, 1, true);
}
