//! The watch of one station: visits in, flags out.
//!
//! Everything it decides follows from what it has seen so far, so that a shorter history gives the
//! same flags, and the state after a history is the state after its visits one by one.

use chrono::{DateTime, Utc};

use super::channel::Channel;
use super::condition::{Condition, StuckCondition};
use super::evidence::weigh;
use super::flag::Flag;
use super::forecast::later as after;
use super::forecast::{Forecast, Trend, forecast, trend};
use super::restart::{Begun, Restart};
use super::setting::{Scale, Setting, Watched};
use super::stuck::Repeats;
use super::view::View;
use super::visit::{Look, Visit};
use super::weights::Weights;
use crate::suspects::{Cause, Ranking};

/// Visits closer than this are one visit: their readings share flow, friction and the reader.
const SAME_VISIT_WEEKS: f64 = 0.5 / 7.0;

/// A value further out than this, followed by a usual one, was wild and is set aside.
const WILD_SCORE: f64 = 4.5;

/// What counts as usual after a wild value.
const TAME_SCORE: f64 = 2.5;

/// Off-centre values repeat less often, but not below this share of the central probability: the
/// level may have moved without being found yet.
const OFF_CENTRE_LEAST: f64 = 0.6;

/// Visits of which the middle says where a quantity is now.
const MIDDLE_VISITS: usize = 5;

/// What the watch makes of one visit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outcome {
    /// Distances of the three quantities from what was foreseen, in standard deviations of the
    /// prediction (Student); `None` where nothing was foreseen or seen.
    pub scores: [Option<f64>; 3],
    /// Flags raised at this visit.
    pub flags: Vec<Flag>,
    /// Whether the visit was taken as a repeat of the one before and not counted.
    pub is_repeat: bool,
    /// Baselines that the watch itself began at this visit, by [`Watched::index`], and why.
    pub begun: [Option<Begun>; 3],
}

/// What a quantity usually is, as far as the watch knows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Baseline {
    /// The level, as the logarithm of the ratio that [`Watched`] names.
    pub level: f64,
    /// Standard deviation from visit to visit, in the same measure.
    pub spread: f64,
    /// Visits it rests on.
    pub visits: f64,
}

/// The watch of one station. A plain value: its state is all there is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Watch {
    pub(super) setting: Option<Setting>,
    pub(super) began: Option<DateTime<Utc>>,
    pub(super) last_weeks: f64,
    pub(super) channels: [Option<Channel>; 3],
    pub(super) wild: [bool; 3],
    pub(super) repeats: [Repeats; 3],
    pub(super) standing: [Option<Condition>; 3],
    pub(super) stuck: [Option<StuckCondition>; 3],
}

impl Watch {
    /// A watch that has seen nothing.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Starts the baselines anew that an act on the station makes worthless.
    pub fn restart(&mut self, what: Restart) {
        let (quantities, gauges) = (what.quantities(), what.gauges());
        for index in [0, 1, 2] {
            if quantities[index] {
                self.restart_quantity(index);
            }
            if gauges[index] {
                self.repeats[index] = Repeats::default();
                self.stuck[index] = None;
            }
        }
    }

    fn restart_quantity(&mut self, index: usize) {
        if let Some(channel) = &mut self.channels[index] {
            *channel = channel.begun_anew();
        }
        self.standing[index] = None;
        self.wild[index] = false;
    }

    /// What a quantity usually is; `None` before it was seen.
    #[must_use]
    pub fn baseline(&self, watched: Watched) -> Option<Baseline> {
        let view = self.channels[watched.index()].as_ref()?.view()?;
        let upto = self.standing[watched.index()]
            .as_ref()
            .map_or(view.fresh.len(), |condition| {
                view.index_of(condition.onset_weeks)
            });
        let fit = view.fit(upto);
        (fit.count > 0.0).then(|| Baseline {
            level: fit.level,
            spread: fit.variance().sqrt(),
            visits: fit.count,
        })
    }

    /// The conditions that stand: flagged and neither cleared nor accepted.
    #[must_use]
    pub fn standing_causes(&self) -> Vec<Cause> {
        let mut causes: Vec<Cause> = self
            .standing
            .iter()
            .flatten()
            .map(|condition| condition.cause)
            .collect();
        if self.stuck.iter().any(Option::is_some) {
            causes.push(Cause::GaugeStuck);
        }
        causes.dedup();
        causes
    }

    /// Whether a condition of a quantity stands.
    #[must_use]
    pub const fn is_standing(&self, watched: Watched) -> bool {
        self.standing[watched.index()].is_some()
    }

    /// Whether a gauge (in flow order, from 0) was flagged as stuck and still is.
    #[must_use]
    pub const fn is_stuck(&self, gauge: usize) -> bool {
        self.stuck[gauge].is_some()
    }

    /// What the recent visits say about a quantity's causes, whether or not a flag was raised;
    /// `None` where nothing speaks for any.
    #[must_use]
    pub fn ranking(&self, setting: &Setting, visit: &Visit, watched: Watched) -> Option<Ranking> {
        let view = self.channels[watched.index()].as_ref()?.view()?;
        let mut only = [None, None, None];
        only[watched.index()] = Some(&view);
        let evidence = weigh(&self.channels, only, &Look::of(setting, visit));
        let ranking = Ranking::from_evidence(&evidence.ln);
        ranking.first().map(|_| ranking)
    }

    /// When a quantity leaves its band if it goes on as it does; see [`forecast`].
    ///
    /// `band` is in the measure of [`Watched`], as [`Setting::bands`] gives it. Nothing is said
    /// about a step, and about a wandering quantity only once a drift of it was flagged.
    #[must_use]
    pub fn forecast(
        &self,
        watched: Watched,
        band: (f64, f64),
        now: DateTime<Utc>,
    ) -> Option<Forecast> {
        forecast(&self.points(watched)?, band, now)
    }

    /// How a quantity moves, fit for looking ahead; `None` where [`Watch::forecast`] says nothing
    /// either: after a step, with too few visits, and for a quantity that wanders by itself.
    ///
    /// Weeks in it count from the first visit; see [`Watch::moment`].
    #[must_use]
    pub fn trend(&self, watched: Watched) -> Option<Trend> {
        trend(&self.points(watched)?)
    }

    /// The middle of the last values of a quantity, in the measure of [`Watched`].
    #[must_use]
    pub fn recent_middle(&self, watched: Watched) -> Option<f64> {
        let channel = self.channels[watched.index()].as_ref()?;
        let mut values: Vec<f64> = (channel.recent.iter().rev())
            .filter_map(|kept| kept.value)
            .take(MIDDLE_VISITS)
            .collect();
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied()
    }

    /// The moment so many weeks after the first visit; `None` before it and beyond the calendar.
    #[must_use]
    pub fn moment(&self, weeks: f64) -> Option<DateTime<Utc>> {
        after(self.began?, weeks)
    }

    /// The points from which one may look ahead: weeks and values since the baseline or the
    /// gradual condition began.
    fn points(&self, watched: Watched) -> Option<Vec<(f64, f64)>> {
        let channel = self.channels[watched.index()].as_ref()?;
        let from_weeks = match &self.standing[watched.index()] {
            Some(condition) if condition.cause.is_gradual() => condition.onset_weeks,
            Some(_) => return None,
            None if channel.prior.white_share < 1.0 => return None,
            None => 0.0,
        };
        let kept = channel.recent.iter();
        Some(
            kept.filter(|kept| kept.weeks >= from_weeks)
                .filter_map(|kept| Some((kept.weeks, kept.value?)))
                .collect(),
        )
    }

    /// Takes in one visit. Visits come in the order in which they became known; a time before the
    /// last one counts as the same time.
    pub fn take(&mut self, weights: &Weights, setting: &Setting, visit: &Visit) -> Outcome {
        let mut anew = self.adopt(setting);
        let is_first = self.began.is_none();
        let began = *self.began.get_or_insert(visit.at);
        #[allow(
            clippy::cast_precision_loss,
            reason = "seconds of a few centuries are exact"
        )]
        let weeks = ((visit.at - began).num_seconds() as f64 / 604_800.0).max(self.last_weeks);
        if !is_first && weeks - self.last_weeks < SAME_VISIT_WEEKS {
            return Outcome {
                is_repeat: true,
                begun: anew,
                ..Outcome::default()
            };
        }
        self.last_weeks = weeks;
        let look = Look::of(setting, visit);
        for (channel, value) in self.channels.iter_mut().zip(look.values) {
            if let Some(channel) = channel {
                channel.take(weeks, value);
            }
        }
        let mut views: [Option<View>; 3] =
            [0, 1, 2].map(|index| self.channels[index].as_ref().and_then(Channel::view));
        let scores = self.scores(&views);
        self.set_wild_aside(&scores, &mut views);
        self.count_repeats(setting, visit, &views, &scores);
        let mut flags = self.follow(&mut views, &look, weeks, visit.at, &mut anew);
        flags.extend(self.find_stuck(weights, visit.at, weeks));
        flags.extend(self.find_new(weights, &views, &look, &scores, weeks, visit.at));
        Outcome {
            scores,
            flags,
            is_repeat: false,
            begun: anew,
        }
    }

    /// The evidence for each cause as things stand, from young and from old starts, and the spreads
    /// of the quantities; for choosing the weights.
    #[must_use]
    pub fn evidence(
        &self,
        setting: &Setting,
        visit: &Visit,
    ) -> ([[f64; Cause::COUNT]; 2], [f64; 3]) {
        let views: [Option<View>; 3] =
            [0, 1, 2].map(|index| self.channels[index].as_ref().and_then(Channel::view));
        let all = [views[0].as_ref(), views[1].as_ref(), views[2].as_ref()];
        let evidence = weigh(&self.channels, all, &Look::of(setting, visit));
        let spreads =
            [0, 1, 2].map(|index| views[index].as_ref().map_or(0.0, View::lasting_spread));
        ([evidence.young, evidence.old], spreads)
    }

    /// The stuck-gauge evidence of the three gauges; for choosing the weights.
    #[must_use]
    pub fn stuck_evidence(&self) -> [f64; 3] {
        [0, 1, 2].map(|gauge| self.repeats[gauge].ln_patient())
    }

    fn adopt(&mut self, setting: &Setting) -> [Option<Begun>; 3] {
        let mut begun = match &self.setting {
            Some(known) if known == setting => return [None; 3],
            Some(known) => known
                .changes(setting)
                .map(|change| change.map(Begun::Changed)),
            None => [Some(Begun::FirstSeen); 3],
        };
        for watched in Watched::ALL {
            let index = watched.index();
            if begun[index].is_some() {
                self.channels[index] = setting.prior(watched).map(Channel::new);
                self.standing[index] = None;
                self.wild[index] = false;
                begun[index] = begun[index].filter(|_| self.channels[index].is_some());
            }
            let before = self.setting.and_then(|known| known.scales[index]);
            if !Scale::is_same(before, setting.scales[index]) {
                self.repeats[index] = Repeats::default();
                self.stuck[index] = None;
            }
        }
        self.setting = Some(*setting);
        begun
    }

    fn scores(&self, views: &[Option<View>; 3]) -> [Option<f64>; 3] {
        [0, 1, 2].map(|index| {
            let view = views[index].as_ref()?;
            let upto = match &self.standing[index] {
                Some(condition) => view.index_of(condition.onset_weeks),
                None => view.fresh.len(),
            };
            view.score(upto)
        })
    }

    /// Sets the value before the newest aside where it was wild and the newest is usual again.
    fn set_wild_aside(&mut self, scores: &[Option<f64>; 3], views: &mut [Option<View>; 3]) {
        for index in 0..3 {
            let Some(score) = scores[index] else { continue };
            let was_wild = std::mem::replace(&mut self.wild[index], score.abs() > WILD_SCORE);
            if was_wild
                && score.abs() < TAME_SCORE
                && let Some(channel) = &mut self.channels[index]
            {
                let before = channel.recent.len().saturating_sub(2);
                if let Some(kept) = channel.recent.get_mut(before) {
                    kept.value = None;
                }
                views[index] = channel.view();
            }
        }
    }

    fn count_repeats(
        &mut self,
        setting: &Setting,
        visit: &Visit,
        views: &[Option<View>; 3],
        scores: &[Option<f64>; 3],
    ) {
        // Spread and distance of each gauge's value from what was foreseen of it.
        let spread = |index: usize| views[index].as_ref().map(View::newest_spread);
        let off = |index: usize| Some(scores[index]? * spread(index)?);
        let both = |a: Option<f64>, b: Option<f64>, join: fn(f64, f64) -> f64| Some(join(a?, b?));
        let spreads = [spread(0), both(spread(0), spread(1), f64::hypot), spread(2)];
        let offs = [off(0), both(off(0), off(1), |a, b| a - b), off(2)];
        for gauge in 0..3 {
            let (Some(pressure), Some(scale), Some(usual), Some(spread)) = (
                visit.pressures[gauge],
                setting.scales[gauge],
                setting.usual_pa(gauge),
                spreads[gauge],
            ) else {
                continue;
            };
            let above = pressure.as_f64_pa() - scale.low_pa;
            if above < scale.step_pa || above > scale.span_pa - scale.step_pa {
                self.repeats[gauge].take_at_end();
                continue;
            }
            let step = self.repeats[gauge].step_pa(scale.step_pa) / usual;
            let centre = libm::erf(step / spread / 8.0_f64.sqrt());
            let standing = if gauge == 2 {
                self.standing[2].is_some()
            } else {
                self.standing[0].is_some() || self.standing[1].is_some()
            };
            let distance = match offs[gauge] {
                Some(off) if !standing => off / spread,
                _ => 0.0,
            };
            let probability = centre * (-0.5 * distance * distance).exp().max(OFF_CENTRE_LEAST);
            self.repeats[gauge].take(pressure.pa(), probability);
        }
    }
}
