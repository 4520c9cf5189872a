//! How much better each cause explains the recent visits than chance does.
//!
//! Every cause predicts a shape (a step, a ramp, more scatter, one wild value) in certain
//! quantities and a range of sizes. For each cause the likelihood ratios against "nothing changed"
//! are averaged over the sizes and added over the visits at which it may have begun.
//! What is done about it is decided in `episode`; how probable causes are in [`crate::suspects`].

use super::sizes::{CREEP_WEEKLY, SET_POINT_SHARES, STRAINER_WEEKLY, SUPPLY_SHARES, gauge_steps};
use super::view::{Response, Shape, View};
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

/// Sums exponentials without overflow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LogSum {
    most: f64,
    sum: f64,
}

impl LogSum {
    pub const NOTHING: Self = Self {
        most: f64::NEG_INFINITY,
        sum: 0.0,
    };

    pub fn add(&mut self, ln: f64) {
        if ln.is_nan() || ln == f64::NEG_INFINITY {
            return;
        }
        if ln > self.most {
            self.sum = self.sum * (self.most - ln).exp() + 1.0;
            self.most = ln;
        } else {
            self.sum += (ln - self.most).exp();
        }
    }

    pub fn ln(self) -> f64 {
        if self.sum > 0.0 {
            self.most + self.sum.ln()
        } else {
            f64::NEG_INFINITY
        }
    }
}

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
    step: Response,
    ramp: Response,
    step_bound: f64,
    ramp_bound: f64,
}

impl<'a> Seen<'a> {
    fn new(view: &'a View, from: usize) -> Self {
        let [step, ramp] = view.responses(from, [Shape::Step, Shape::Ramp]);
        let (step_bound, ramp_bound) = (view.ln_ratio_bound(step), view.ln_ratio_bound(ramp));
        Self {
            view,
            step,
            ramp,
            step_bound,
            ramp_bound,
        }
    }

    fn step(&self, amount: f64) -> f64 {
        self.view.ln_ratio(self.step, amount)
    }

    fn ramp(&self, weekly: f64) -> f64 {
        self.view.ln_ratio(self.ramp, weekly)
    }
}

/// Weighs every cause that touches only quantities in `views` (inlet, first stage, outlet).
pub(super) fn weigh(views: [Option<&View>; 3], look: &Look) -> Evidence {
    let visits = views
        .iter()
        .flatten()
        .map(|view| view.fresh.len())
        .max()
        .unwrap_or(0);
    let mut tally = Tally {
        young: [LogSum::NOTHING; Cause::COUNT],
        old: [LogSum::NOTHING; Cause::COUNT],
        best: [None; Cause::COUNT],
    };
    let unrest = views.map(|view| view.map(View::unrest));
    let stirred = unrest.map(|unrest| unrest.is_some_and(|sum| sum > STIRRED_AT));
    // A wrong inlet gauge shows in two quantities, of which one may look calm.
    let needed = [
        stirred[0] || stirred[1],
        stirred[0] || stirred[1],
        stirred[2],
    ];
    let starts = if needed.contains(&true) { visits } else { 0 };
    // Counted from the newest visit, because a baseline begun anew has fewer visits.
    for age in 1..=starts {
        let mut seen = [None, None, None];
        for index in 0..3 {
            if let Some(view) = views[index].filter(|_| needed[index]) {
                seen[index] = view
                    .fresh
                    .len()
                    .checked_sub(age)
                    .map(|from| Seen::new(view, from));
            }
        }
        if let Some(inlet) = seen[0].as_ref().filter(|_| stirred[0]) {
            weigh_inlet(&mut tally, inlet, age);
        }
        if let Some(first) = seen[1].as_ref().filter(|_| stirred[1]) {
            weigh_first_stage(&mut tally, first, look, age);
        }
        if let Some(outlet) = &seen[2] {
            weigh_outlet(&mut tally, outlet, look, age);
        }
        if let (Some(inlet), Some(first), Some(share)) = (&seen[0], &seen[1], look.span_shares[0])
            && inlet.step_bound + first.step_bound > WORTH_A_LOOK
        {
            for (amount, ln_share) in gauge_steps(share) {
                let ln = inlet.step(amount) + first.step(amount);
                tally.add(Cause::InletGaugeWrong, ln, ln_share, age, true);
            }
        }
    }
    if let Some(view) = views[1] {
        weigh_sticking(&mut tally, view);
    }
    for view in views.iter().flatten() {
        weigh_slip(&mut tally, view);
    }
    let (young, old) = (tally.young.map(LogSum::ln), tally.old.map(LogSum::ln));
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
        best: tally.best,
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
fn weigh_sticking(tally: &mut Tally, view: &View) {
    let fit = view.whole;
    let (mut count, mut squares) = (0.0, 0.0);
    #[allow(clippy::cast_precision_loss, reason = "three factors")]
    let ln_share = -(STICKING_FACTORS.len() as f64).ln();
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
fn weigh_slip(tally: &mut Tally, view: &View) {
    let Some(newest) = view.fresh.len().checked_sub(1) else {
        return;
    };
    let [response] = view.responses(newest, [Shape::Once]);
    let bound = view.ln_ratio_bound(response);
    if bound <= WORTH_A_LOOK || response.size <= 0.0 {
        return;
    }
    let width = (std::f64::consts::TAU * view.whole.variance() / response.size).sqrt();
    let ln_share = (width / (2.0 * SLIP_RANGE)).min(1.0).ln();
    tally.add(Cause::EntrySlip, bound, ln_share, 1, true);
}
