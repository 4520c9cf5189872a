//! One watched quantity: what its old visits add up to, and its recent ones.
//!
//! Old visits are kept as sums only, recent ones one by one, so that a visit costs the same
//! whatever the length of the history. Nothing here decides; see `evidence` and `episode`.

use std::collections::VecDeque;

use super::log_sum::LogSum;
use super::setting::Prior;
use super::view::{Fit, View, Weighed};
use super::whiten::{Fresh, Memory, Whitener};

/// How many visits are kept one by one: half a year of weekly ones. A change that began earlier
/// has long been found or has become the baseline.
pub(super) const RECENT: usize = 26;

/// Visits that the starting spread counts for, halved: after about eight visits a station's own
/// scatter outweighs it.
pub(super) const PRIOR_HALF_DEGREES: f64 = 4.0;

/// How many visits old a visit must be to tell something of the memory of a quantity: a fault in
/// the making looks like memory and must not explain itself.
const JUDGED_AFTER: usize = 10;

/// An assumption less probable than one in a thousand is passed over.
const LEAST_LN_WEIGHT: f64 = -6.9;

/// A visit still kept one by one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Kept {
    /// Weeks since the watch began.
    pub weeks: f64,
    /// The watched quantity.
    pub value: Option<f64>,
}

/// Sums over whitened visits from which level and spread follow.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Sums {
    pub count: f64,
    pub squares: f64,
    pub cross: f64,
    pub ones: f64,
    pub ln_variance: f64,
}

impl Sums {
    /// Adds a whitened visit; one without a value adds nothing.
    pub fn add(&mut self, fresh: &Fresh) {
        if fresh.is_seen {
            self.count += 1.0;
            self.squares += fresh.value * fresh.value;
            self.cross += fresh.value * fresh.one;
            self.ones += fresh.one * fresh.one;
            self.ln_variance += fresh.variance.ln();
        }
    }
}

/// One assumption about the memory of a quantity, with what the old visits say under it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Assumption {
    pub whitener: Whitener,
    pub ln_prior: f64,
    /// Memory and sums of the settled visits.
    pub memory: Memory,
    pub sums: Sums,
    /// Memory and sums of the visits that are old enough to judge the assumption by.
    pub judged_memory: Memory,
    pub judged: Sums,
}

/// One watched quantity.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Channel {
    pub prior: Prior,
    pub assumptions: Vec<Assumption>,
    /// The place of the assumption that the older visits support best.
    pub best: usize,
    pub recent: VecDeque<Kept>,
    /// When the last visit went into the sums.
    pub settled_weeks: Option<f64>,
    /// When the last visit was judged by.
    pub judged_weeks: Option<f64>,
    /// Visits from here on belong to a standing condition and never become baseline.
    pub frozen_from_weeks: Option<f64>,
}

impl Channel {
    pub fn new(prior: Prior) -> Self {
        // Weekly correlations tried, with the logarithm of how far each is trusted at the start.
        // A quantity without memory may still turn out to have some, then half of it.
        let choices: &[(f64, f64, f64)] = if prior.white_share < 0.999 {
            let white = prior.white_share.clamp(0.02, 0.9);
            &[
                (0.0, white, -3.0),
                (0.3, white, -1.5),
                (0.6, white, 0.0),
                (0.75, white, 0.0),
                (0.88, white, -0.5),
                (0.95, white, -2.0),
            ]
        } else {
            &[(0.0, 1.0, 0.0), (0.5, 0.5, -2.5), (0.85, 0.5, -3.5)]
        };
        let assumptions = choices
            .iter()
            .map(|(weekly_correlation, white_share, ln_prior)| Assumption {
                whitener: Whitener {
                    weekly_correlation: *weekly_correlation,
                    white_share: *white_share,
                },
                ln_prior: *ln_prior,
                memory: Memory::default(),
                sums: Sums::default(),
                judged_memory: Memory::default(),
                judged: Sums::default(),
            })
            .collect();
        let mut channel = Self {
            prior,
            assumptions,
            best: 0,
            recent: VecDeque::with_capacity(RECENT + 1),
            settled_weeks: None,
            judged_weeks: None,
            frozen_from_weeks: None,
        };
        channel.best = channel.best_assumption();
        channel
    }

    /// Takes in a visit. Weeks never fall.
    pub fn take(&mut self, weeks: f64, value: Option<f64>) {
        self.recent.push_back(Kept { weeks, value });
        if let Some(place) = self.recent.len().checked_sub(1 + JUDGED_AFTER) {
            self.judge(self.recent[place]);
        }
        if self.recent.len() > RECENT
            && let Some(oldest) = self.recent.pop_front()
        {
            self.settle(oldest);
        }
    }

    /// The same quantity with an empty history; how much it scatters is remembered.
    pub fn begun_anew(&self) -> Self {
        let mut prior = self.prior;
        if let Some(view) = self.view()
            && view.whole.count > 0.0
        {
            prior.spread = view.whole.variance().sqrt();
        }
        Self::new(prior)
    }

    /// Begun anew with the visits from `weeks` on as the history, at a level that is `shift` off.
    pub fn begun_from(&self, weeks: f64, shift: f64) -> Self {
        let mut anew = self.begun_anew();
        // The level is where it is: it is not to be held against the definition again.
        anew = Self::new(Prior {
            level: anew.prior.level.hypot(2.0 * shift),
            ..anew.prior
        });
        for kept in self.recent.iter().filter(|kept| kept.weeks >= weeks) {
            anew.take(kept.weeks, kept.value);
        }
        anew
    }

    /// Drops the values of a time that was not usual.
    pub fn set_aside(&mut self, from_weeks: f64, before_weeks: f64) {
        for kept in &mut self.recent {
            if kept.weeks >= from_weeks && kept.weeks < before_weeks {
                kept.value = None;
            }
        }
    }

    fn settle(&mut self, kept: Kept) {
        if self
            .frozen_from_weeks
            .is_some_and(|from| kept.weeks >= from)
        {
            return;
        }
        let elapsed = self.settled_weeks.map_or(0.0, |last| kept.weeks - last);
        for assumption in &mut self.assumptions {
            let fresh = assumption
                .whitener
                .take(&mut assumption.memory, elapsed, kept.value);
            assumption.sums.add(&fresh);
        }
        self.settled_weeks = Some(kept.weeks);
    }

    /// Judges the assumptions by a visit.
    fn judge(&mut self, kept: Kept) {
        if self.is_frozen(kept) {
            return;
        }
        let elapsed = self.judged_weeks.map_or(0.0, |last| kept.weeks - last);
        for assumption in &mut self.assumptions {
            let whitener = assumption.whitener;
            let fresh = whitener.take(&mut assumption.judged_memory, elapsed, kept.value);
            assumption.judged.add(&fresh);
        }
        self.judged_weeks = Some(kept.weeks);
        self.best = self.best_assumption();
    }

    /// Whether a visit belongs to a standing condition.
    fn is_frozen(&self, kept: Kept) -> bool {
        self.frozen_from_weeks
            .is_some_and(|from| kept.weeks >= from)
    }

    /// Prior sum of squares around the level and prior weight of the level.
    fn prior_terms(&self) -> (f64, f64) {
        let spread = self.prior.spread;
        (
            2.0 * PRIOR_HALF_DEGREES * spread * spread,
            (spread / self.prior.level).powi(2),
        )
    }

    /// The assumption that the visits judged by support best.
    fn best_assumption(&self) -> usize {
        let (square_start, weight) = self.prior_terms();
        let mut best = (f64::NEG_INFINITY, 0);
        for (place, assumption) in self.assumptions.iter().enumerate() {
            let sums = &assumption.judged;
            let ones = sums.ones + weight;
            let squares = square_start + sums.squares - sums.cross * sums.cross / ones;
            let support = 0.5 * (weight / ones).ln()
                - 0.5 * sums.ln_variance
                - (PRIOR_HALF_DEGREES + sums.count / 2.0) * squares.max(f64::MIN_POSITIVE).ln()
                + assumption.ln_prior;
            if support > best.0 {
                best = (support, place);
            }
        }
        best.1
    }

    /// How the recent visits look from the baseline, under the assumption that the older visits
    /// support best.
    pub fn view(&self) -> Option<View> {
        Some(self.view_under(self.assumptions.get(self.best)?))
    }

    /// How they look under each assumption that is not next to impossible.
    pub fn weighed_views(&self) -> Vec<Weighed> {
        let mut views: Vec<Weighed> = (self.assumptions.iter())
            .map(|assumption| {
                let view = self.view_under(assumption);
                let ln_weight = view.support() + assumption.ln_prior;
                Weighed { ln_weight, view }
            })
            .collect();
        let mut all = LogSum::NOTHING;
        for weighed in &views {
            all.add(weighed.ln_weight);
        }
        for weighed in &mut views {
            weighed.ln_weight -= all.ln();
        }
        views.retain(|weighed| weighed.ln_weight > LEAST_LN_WEIGHT);
        views
    }

    fn view_under(&self, assumption: &Assumption) -> View {
        let mut memory = assumption.memory;
        let mut last = self.settled_weeks;
        let mut fresh = Vec::with_capacity(self.recent.len());
        let whitener = assumption.whitener;
        let mut known = (f64::NAN, 0.0);
        for kept in &self.recent {
            let elapsed = last.map_or(0.0, |last| kept.weeks - last);
            if (elapsed - known.0).abs() > 1e-12 || known.0.is_nan() {
                known = (elapsed, whitener.kept(elapsed));
            }
            fresh.push(whitener.take_keeping(&mut memory, known.1, kept.value));
            last = Some(kept.weeks);
        }
        let (square_start, weight) = self.prior_terms();
        let mut view = View {
            weeks: self.recent.iter().map(|kept| kept.weeks).collect(),
            fresh,
            whitener,
            settled: assumption.sums,
            square_start,
            weight,
            whole: Fit::default(),
        };
        view.whole = view.fit(view.fresh.len());
        view
    }
}
