//! Runs a rule over a simulated fleet and counts.
//!
//! A flag before a fault began, or at a healthy station, is false. A fault counts as found when
//! the first flag after its onset comes within the time; flags that stood before do not count.

use std::collections::BTreeMap;

use winze_core::simulate::{FleetPlan, SimulatedStation};
use winze_core::suspects::{Cause, Ranking};
use winze_core::units::Pressure;
use winze_core::watch::{Flag, Setting, Visit, Watch, Weights};

/// What a rule sees at one visit.
pub struct Seen<'a> {
    pub setting: &'a Setting,
    pub visit: Visit,
    /// Logarithms of inlet over usual, inlet over interstage over ratio, outlet over set point.
    pub quantities: [Option<f64>; 3],
}

/// A rule that may raise a flag at a visit.
pub trait Rule {
    /// Takes in a visit; true when a flag is raised.
    fn take(&mut self, seen: &Seen<'_>) -> bool;

    /// The flags raised at the last visit, where the rule names suspects.
    fn flags(&self) -> &[Flag] {
        &[]
    }
}

/// The rule of this project.
#[derive(Default)]
pub struct OurRule {
    watch: Watch,
    weights: Weights,
    flags: Vec<Flag>,
}

impl Rule for OurRule {
    fn take(&mut self, seen: &Seen<'_>) -> bool {
        self.flags = self
            .watch
            .take(&self.weights, seen.setting, &seen.visit)
            .flags;
        !self.flags.is_empty()
    }

    fn flags(&self) -> &[Flag] {
        &self.flags
    }
}

/// What happened at one station.
struct Course {
    kind: Option<usize>,
    cause: Option<Cause>,
    quiet_years: f64,
    false_flags: Vec<Option<Cause>>,
    first_found_weeks: Option<f64>,
    last_ranking: Option<Ranking>,
}

/// Stated probabilities of one tenth, and how often they came true.
pub struct Decile {
    pub low: f64,
    pub said: f64,
    pub came_true: f64,
    pub cases: usize,
}

/// Figures of one rule over one fleet.
pub struct Figures {
    courses: Vec<Course>,
    kinds: usize,
}

/// Runs a rule over every station of a plan.
pub fn measure(plan: &FleetPlan, rule: impl Fn() -> Box<dyn Rule> + Sync) -> Figures {
    let half = plan.size() / 2;
    let run = |range: std::ops::Range<u32>| -> Vec<Course> {
        range
            .map(|index| course(plan, &plan.station(index), rule().as_mut()))
            .collect()
    };
    let courses = std::thread::scope(|scope| {
        let first = scope.spawn(|| run(0..half));
        let mut second = run(half..plan.size());
        let mut all = first.join().expect("the rules do not panic");
        all.append(&mut second);
        all
    });
    Figures {
        courses,
        kinds: plan.faults.len(),
    }
}

/// The three watched quantities of a visit.
pub fn quantities(setting: &Setting, visit: &Visit) -> [Option<f64>; 3] {
    let pa = |gauge: usize| {
        visit.pressures[gauge]
            .map(Pressure::as_f64_pa)
            .filter(|pa| *pa > 0.0)
    };
    let over = |top: Option<f64>, bottom: Option<f64>| Some((top? / bottom?).ln());
    [
        over(pa(0), setting.inlet_usual_pa),
        over(pa(0), pa(1))
            .zip(setting.ratio)
            .map(|(log, ratio)| log - ratio.ln()),
        over(pa(2), setting.set_point_pa),
    ]
}

fn course(plan: &FleetPlan, simulated: &SimulatedStation, rule: &mut dyn Rule) -> Course {
    let setting = Setting::of(&simulated.station);
    let onset = simulated.onsets.first().copied();
    let fault = simulated.faults.first();
    let mut course = Course {
        kind: fault.and_then(|fault| plan.faults.iter().position(|kind| *kind == fault.kind)),
        cause: fault.map(|fault| fault.kind.cause()),
        quiet_years: 0.0,
        false_flags: Vec::new(),
        first_found_weeks: None,
        last_ranking: None,
    };
    let first_visit = simulated.readings.first().map(|reading| reading.taken_at);
    for reading in &simulated.readings {
        let visit = Visit::of(&simulated.station, reading.taken_at, &reading.entry);
        let seen = Seen {
            setting: &setting,
            visit,
            quantities: quantities(&setting, &visit),
        };
        let is_flagged = rule.take(&seen);
        let since = onset.map(|onset| (reading.taken_at - onset).num_minutes() as f64 / 10_080.0);
        match since.filter(|since| *since >= 0.0) {
            None => {
                if let Some(first) = first_visit {
                    course.quiet_years = (reading.taken_at - first).num_days() as f64 / 365.25;
                }
                if is_flagged && rule.flags().is_empty() {
                    course.false_flags.push(None);
                }
                // One condition that grows worse is still one condition.
                let new = rule.flags().iter().filter(|flag| !flag.is_worse);
                course
                    .false_flags
                    .extend(new.map(|flag| flag.suspects.first()));
            }
            Some(since) if since <= 13.0 => {
                if is_flagged {
                    course.first_found_weeks.get_or_insert(since);
                }
                if let Some(flag) = rule.flags().last() {
                    course.last_ranking = Some(flag.suspects);
                }
            }
            Some(_) => {}
        }
    }
    course
}

fn share(part: usize, whole: usize) -> f64 {
    if whole == 0 {
        0.0
    } else {
        part as f64 / whole as f64
    }
}

impl Figures {
    /// False flags a station-year.
    pub fn false_a_year(&self) -> f64 {
        let flags: usize = self
            .courses
            .iter()
            .map(|course| course.false_flags.len())
            .sum();
        flags as f64
            / self
                .courses
                .iter()
                .map(|course| course.quiet_years)
                .sum::<f64>()
    }

    fn of_kind(&self, kind: usize) -> impl Iterator<Item = &Course> {
        self.courses
            .iter()
            .filter(move |course| course.kind == Some(kind))
    }

    fn found(&self, kind: usize, weeks: f64) -> f64 {
        let is_found = |course: &&Course| course.first_found_weeks.is_some_and(|w| w <= weeks);
        share(
            self.of_kind(kind).filter(is_found).count(),
            self.of_kind(kind).count(),
        )
    }

    /// Share of the faults found within so many weeks, averaged over the kinds.
    pub fn found_within(&self, weeks: f64) -> f64 {
        (0..self.kinds)
            .map(|kind| self.found(kind, weeks))
            .sum::<f64>()
            / self.kinds as f64
    }

    fn rank_shares<'a>(courses: impl Iterator<Item = &'a Course>) -> (f64, f64) {
        let (mut first, mut two, mut all) = (0, 0, 0);
        for course in courses {
            if let (Some(ranking), Some(cause)) = (&course.last_ranking, course.cause) {
                let place = ranking
                    .in_order()
                    .iter()
                    .position(|suspect| suspect.cause == cause);
                all += 1;
                first += usize::from(place == Some(0));
                two += usize::from(place.is_some_and(|place| place < 2));
            }
        }
        (share(first, all), share(two, all))
    }

    /// Of one kind: found within 4 and 13 weeks, right cause first, among the first two.
    pub fn by_kind(&self, kind: usize) -> ([f64; 2], f64, f64) {
        let (first, two) = Self::rank_shares(self.of_kind(kind));
        ([self.found(kind, 4.0), self.found(kind, 13.0)], first, two)
    }

    /// Right cause first, and among the first two, over all kinds.
    pub fn ranked(&self) -> (f64, f64) {
        Self::rank_shares(self.courses.iter())
    }

    /// Stated probabilities against what was true, for every suspect above one per cent.
    pub fn deciles(&self) -> Vec<Decile> {
        let mut tenths: Vec<(f64, usize, usize)> = vec![(0.0, 0, 0); 10];
        for course in &self.courses {
            let (Some(ranking), Some(cause)) = (&course.last_ranking, course.cause) else {
                continue;
            };
            for suspect in ranking.in_order() {
                if suspect.probability >= 0.01 {
                    let tenth = &mut tenths[((suspect.probability * 10.0) as usize).min(9)];
                    tenth.0 += suspect.probability;
                    tenth.1 += usize::from(suspect.cause == cause);
                    tenth.2 += 1;
                }
            }
        }
        (0..)
            .zip(tenths)
            .filter(|(_, (_, _, cases))| *cases > 0)
            .map(|(index, (said, hits, cases))| Decile {
                low: f64::from(index) / 10.0,
                said: said / cases as f64,
                came_true: share(hits, cases),
                cases,
            })
            .collect()
    }

    /// False flags by the cause they named first.
    pub fn false_by_cause(&self) -> String {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for cause in self.courses.iter().flat_map(|course| &course.false_flags) {
            *counts.entry(cause.map_or("none", Cause::code)).or_default() += 1;
        }
        let parts: Vec<String> = counts
            .iter()
            .map(|(code, n)| format!("{code} {n}"))
            .collect();
        if parts.is_empty() {
            "none".to_owned()
        } else {
            parts.join(", ")
        }
    }
}
