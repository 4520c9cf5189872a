//! How early a rule could speak that is told the fault beforehand: a mark for where finding stops.
//!
//! It knows the kind and size of the fault, the station's level and scatter and how the main
//! wanders; only the onset is unknown. Its statistic is the largest log likelihood ratio over the
//! onsets (Page's test with the true change), and for each kind its threshold is set so that this
//! kind spends a given share of the false flags allowed. No rule that has to learn the station and to
//! tell ten kinds apart can be expected to do better.

use winze_core::simulate::{Conditions, Fault, FaultKind, FleetPlan, SimulatedStation};
use winze_core::units::Pressure;
use winze_core::verdict::FlowState;
use winze_core::watch::{Setting, Visit};

use crate::measure::quantities;

/// Stations drawn for each kind.
const STATIONS: u32 = 600;

/// Share of the interstage pressure that an open second stage lets through, near enough: such a
/// change is found at once by any rule.
const OPEN_SHARE: f64 = 0.96;

/// What the rule that is told finds: shares of the faults.
#[derive(Clone, Copy)]
pub struct Told {
    pub in_4_weeks: f64,
    pub in_13_weeks: f64,
}

/// One station as the rule sees it.
struct Course {
    /// Weeks after the first visit.
    weeks: Vec<f64>,
    /// The statistic at each visit, for an onset at each earlier one; see [`Course::statistic`].
    ratios: Vec<Vec<f64>>,
    onset_weeks: f64,
}

/// The least time over which wander is taken to go on, weeks.
const NO_GAP: f64 = 1e-3;

/// The courses of many stations with one kind of fault.
pub struct Lot {
    courses: Vec<Course>,
}

impl Lot {
    /// Simulates the stations.
    pub fn new(conditions: &Conditions, kind: FaultKind, seed: u64) -> Self {
        let plan = FleetPlan {
            healthy: 0,
            each: STATIONS,
            faults: vec![kind],
            ..FleetPlan::stated(conditions.clone(), seed)
        };
        let run = |range: std::ops::Range<u32>| -> Vec<Course> {
            range
                .filter_map(|index| Course::of(&plan.station(index), conditions))
                .collect()
        };
        let half = plan.size() / 2;
        let courses = std::thread::scope(|scope| {
            let first = scope.spawn(|| run(0..half));
            let mut second = run(half..plan.size());
            let mut all = first.join().expect("the simulation does not panic");
            all.append(&mut second);
            all
        });
        Self { courses }
    }

    /// What is found where so many false flags a station-year are allowed to this kind.
    pub fn told(&self, false_a_year: f64) -> Told {
        let years = self.courses.iter().map(Course::quiet_years).sum::<f64>();
        let allowed = false_a_year * years;
        let (mut low, mut high) = (0.0, 40.0);
        for _ in 0..40 {
            let middle = f64::midpoint(low, high);
            let flags: usize = self.courses.iter().map(|c| c.false_flags(middle)).sum();
            if flags as f64 > allowed {
                low = middle;
            } else {
                high = middle;
            }
        }
        let found = |weeks: f64| {
            let found = self.courses.iter().filter(|c| c.is_found(high, weeks));
            found.count() as f64 / self.courses.len() as f64
        };
        Told {
            in_4_weeks: found(4.0),
            in_13_weeks: found(13.0),
        }
    }
}

/// The size of a change in its quantity `since` weeks after its onset; `None` for a stuck gauge.
fn shape(fault: &Fault, setting: &Setting, since: f64) -> Option<f64> {
    let size = fault.magnitude;
    let off = |gauge: usize, usual: f64| {
        let scale = setting.scales[gauge]?;
        Some((size * scale.span_pa / usual).ln_1p())
    };
    Some(match fault.kind {
        FaultKind::PilotCreepUp => (size * since).ln_1p(),
        FaultKind::PilotCreepDown => (-size * since).ln_1p(),
        FaultKind::SetPointMoved => size.ln_1p(),
        FaultKind::FirstStagePassing => -(size * since).ln_1p(),
        FaultKind::StrainerBlocking => (-size * (since / 26.0).min(1.0)).ln_1p(),
        FaultKind::SupplyLow => (-size).ln_1p(),
        FaultKind::InterstageGaugeOff => -off(1, setting.inlet_usual_pa? / setting.ratio?)?,
        FaultKind::OutletGaugeOff => off(2, setting.set_point_pa?)?,
        FaultKind::SecondStageOpen => {
            (OPEN_SHARE * setting.inlet_usual_pa? / setting.ratio? / setting.set_point_pa?).ln()
        }
        _ => return None,
    })
}

const fn watched(kind: FaultKind) -> usize {
    match kind {
        FaultKind::StrainerBlocking | FaultKind::SupplyLow | FaultKind::SupplyHigh => 0,
        FaultKind::FirstStagePassing | FaultKind::InterstageGaugeOff => 1,
        _ => 2,
    }
}

/// Takes the wander out of a series: values, or the shape of a change, over their deviations.
struct Whitening<'a> {
    weeks: &'a [f64],
    correlation: f64,
    wander: f64,
    white: f64,
}

impl Whitening<'_> {
    /// From visit `from` on; with `memory` of nothing before it, which is right for a shape.
    fn take(&self, from: usize, mut value: impl FnMut(usize) -> Option<f64>) -> Vec<f64> {
        let (mut foreseen, mut variance) = (0.0, self.wander);
        let mut fresh = Vec::new();
        // The gains depend on the visits alone and run from the first.
        for index in 0..self.weeks.len() {
            let gap = index
                .checked_sub(1)
                .map_or(f64::INFINITY, |last| self.weeks[index] - self.weeks[last])
                .max(NO_GAP);
            let kept = self.correlation.powf(gap);
            variance = kept * kept * variance + self.wander * (1.0 - kept * kept);
            let total = variance + self.white;
            let gain = variance / total;
            if index < from {
                variance *= 1.0 - gain;
                continue;
            }
            foreseen *= kept;
            match value(index) {
                Some(value) => {
                    let off = value - foreseen;
                    fresh.push(off / total.sqrt());
                    foreseen += gain * off;
                    variance *= 1.0 - gain;
                }
                None => fresh.push(0.0),
            }
        }
        fresh
    }
}

impl Course {
    fn of(simulated: &SimulatedStation, conditions: &Conditions) -> Option<Self> {
        let setting = Setting::of(&simulated.station);
        let fault = *simulated.faults.first()?;
        let start = simulated.readings.first()?.taken_at;
        let (mut weeks, mut values, mut raw) = (Vec::new(), Vec::new(), Vec::new());
        for reading in &simulated.readings {
            let visit = Visit::of(&simulated.station, reading.taken_at, &reading.entry);
            weeks.push((reading.taken_at - start).num_seconds() as f64 / 604_800.0);
            // Without flow the outlet shows lock-up only.
            let is_lock_up = watched(fault.kind) == 2 && visit.flow == FlowState::Still;
            let seen = quantities(&setting, &visit)[watched(fault.kind)];
            values.push(seen.filter(|_| !is_lock_up));
            raw.push(visit.pressures[2].map(Pressure::pa));
        }
        let quiet = weeks.iter().filter(|w| **w < fault.onset_weeks).count();
        let ratios = if shape(&fault, &setting, 1.0).is_some() {
            Self::of_change(&fault, &setting, conditions, &weeks, &values, quiet)?
        } else {
            Self::of_repeats(&raw, quiet)
        };
        Some(Self {
            weeks,
            ratios,
            onset_weeks: fault.onset_weeks,
        })
    }

    /// Log likelihood ratios of a change of known shape: at each visit, for each start up to it.
    fn of_change(
        fault: &Fault,
        setting: &Setting,
        conditions: &Conditions,
        weeks: &[f64],
        values: &[Option<f64>],
        quiet: usize,
    ) -> Option<Vec<Vec<f64>>> {
        let known: Vec<f64> = values[..quiet].iter().copied().flatten().collect();
        let n = known.len() as f64;
        let level = known.iter().sum::<f64>() / n;
        let variance = known.iter().map(|x| (x - level).powi(2)).sum::<f64>() / (n - 1.0);
        let (correlation, wander, level) = if watched(fault.kind) == 0 {
            let wander = conditions.inlet_wander.powi(2).min(0.97 * variance);
            (conditions.inlet_weekly_correlation, wander, level)
        } else {
            (0.0, 0.0, level)
        };
        let white = if watched(fault.kind) == 0 {
            let scale = setting.scales[0]?;
            let step = scale.span_pa / f64::from(conditions.divisions * conditions.read_parts);
            let look = conditions.reading_scatter_divisions * scale.span_pa
                / f64::from(conditions.divisions);
            (look.hypot(step / 12.0_f64.sqrt()) / setting.inlet_usual_pa?).powi(2)
        } else {
            variance
        };
        let whitening = Whitening {
            weeks,
            correlation,
            wander,
            white,
        };
        let fresh = whitening.take(0, |index| values[index].map(|value| value - level));
        let mut ratios = vec![Vec::new(); weeks.len()];
        for from in 0..weeks.len() {
            let gap = from
                .checked_sub(1)
                .map_or(1.0, |last| weeks[from] - weeks[last]);
            let onset = weeks[from] - 0.5 * gap;
            let expected = whitening.take(from, |index| {
                values[index]?;
                shape(fault, setting, weeks[index] - onset)
            });
            let mut sum = 0.0;
            for (h, index) in expected.into_iter().zip(from..) {
                if values[index].is_some() {
                    sum += h * fresh[index] - 0.5 * h * h;
                }
                ratios[index].push(sum);
            }
        }
        Some(ratios)
    }

    /// The same for a gauge that no longer moves, told how often it repeats itself by chance.
    fn of_repeats(raw: &[Option<i64>], quiet: usize) -> Vec<Vec<f64>> {
        let pairs = raw[..quiet].windows(2);
        let repeats = pairs.filter(|pair| pair[0] == pair[1]).count() as f64;
        let surprise = -((repeats + 0.5) / quiet as f64).min(0.99).ln();
        let mut ratios = vec![Vec::new(); raw.len()];
        for from in 0..raw.len() {
            let mut sum = 0.0;
            for index in from..raw.len() {
                let is_same = index > 0 && raw[index] == raw[index - 1];
                sum = if is_same {
                    sum + surprise
                } else {
                    f64::NEG_INFINITY
                };
                ratios[index].push(sum);
            }
        }
        ratios
    }

    fn quiet_years(&self) -> f64 {
        self.onset_weeks * 7.0 / 365.25
    }

    /// The statistic at a visit with onsets from `after` on.
    fn statistic(&self, index: usize, after: usize) -> f64 {
        let starts = self.ratios[index].iter().skip(after);
        starts.copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// Flags before the onset; after each the test begins anew.
    fn false_flags(&self, threshold: f64) -> usize {
        let (mut flags, mut after) = (0, 0);
        for index in 0..self.weeks.len() {
            if self.weeks[index] < self.onset_weeks && self.statistic(index, after) > threshold {
                flags += 1;
                after = index + 1;
            }
        }
        flags
    }

    fn is_found(&self, threshold: f64, within_weeks: f64) -> bool {
        (0..self.weeks.len()).any(|index| {
            let since = self.weeks[index] - self.onset_weeks;
            (0.0..=within_weeks).contains(&since) && self.statistic(index, 0) > threshold
        })
    }
}
