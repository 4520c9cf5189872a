//! Lets operators set simulated pilots, by the assistant or by plainer rules, and counts.
//!
//! An operator sees only what a person at the station would: the gauge as read, and the turns meant.
//! The truth of the rig is used by the referee here and nowhere else.

use std::collections::BTreeMap;

use winze_core::calibration::{Advice, Assistance, HandTurns, Point, Setting, Start, assist};
use winze_core::simulate::{Rig, RigConditions};

/// How the screw is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// As the assistant says.
    Assistant,
    /// A quarter turn at a time.
    Quarters,
    /// A quarter turn first, then the whole gap by the slope of the last move.
    Slope,
}

/// What is set, by whom.
#[derive(Debug, Clone)]
pub struct Plan {
    pub conditions: RigConditions,
    pub start: Start,
    pub rule: Rule,
    pub seed: u64,
    pub pilots: u64,
}

/// What came of it.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    pub pilots: usize,
    /// Adjustments of every pilot, in no order.
    pub adjustments: Vec<usize>,
    pub readings: usize,
    /// Said to be reached, the needle standing within 2 % of the set point.
    pub reached: usize,
    /// The needle stood more than 2 % above the set point after screwing in.
    pub overshot: usize,
    /// Turns-to-go intervals by the adjustment they were given before: (held the truth, all).
    pub intervals: Vec<(usize, usize)>,
    /// Intervals of the pressure after the turn: (held the truth, all).
    pub foreseen: (usize, usize),
    /// Runs that ended otherwise than reached, by code.
    pub ended: BTreeMap<&'static str, usize>,
    /// The pilots that overshot, by number.
    pub overshooters: Vec<u64>,
}

impl Figures {
    pub fn median_adjustments(&self) -> f64 {
        let mut sorted = self.adjustments.clone();
        sorted.sort_unstable();
        let at = |place: usize| sorted.get(place).copied().unwrap_or(0) as f64;
        let half = sorted.len() / 2;
        if sorted.len().is_multiple_of(2) {
            f64::midpoint(at(half.saturating_sub(1)), at(half))
        } else {
            at(half)
        }
    }

    pub fn adjustments_of_ninety_percent(&self) -> usize {
        let mut sorted = self.adjustments.clone();
        sorted.sort_unstable();
        sorted.get(sorted.len() * 9 / 10).copied().unwrap_or(0)
    }

    pub fn share(&self, count: usize) -> f64 {
        count as f64 / self.pilots.max(1) as f64
    }

    /// Share of all turns-to-go intervals that held the truth.
    pub fn covered(&self) -> f64 {
        let (held, all) = self
            .intervals
            .iter()
            .fold((0, 0), |sum, each| (sum.0 + each.0, sum.1 + each.1));
        held as f64 / all.max(1) as f64
    }
}

/// Runs a plan.
pub fn measure(plan: &Plan) -> Figures {
    let mut figures = Figures::default();
    for pilot in 0..plan.pilots {
        run(plan, pilot, &mut figures);
    }
    figures
}

/// One operator at one rig.
struct Work {
    rig: Rig,
    setting: Setting,
    turns: HandTurns,
    points: Vec<Point>,
    adjustments: usize,
    has_overshot: bool,
    foreseen: (usize, usize),
}

impl Work {
    fn read(&mut self) {
        if let Some(outlet) = self.rig.read().outlet {
            self.points.push(Point::of(self.turns.to_decimal(), outlet));
        }
    }

    fn wait_and_read(&mut self) {
        self.rig.wait(30.0);
        self.read();
    }

    fn turn(&mut self, thirty_seconds: i32) {
        let turns = HandTurns::of_thirty_seconds(thirty_seconds);
        self.rig.turn(turns.turns());
        let sum = self.turns.thirty_seconds() + thirty_seconds;
        self.turns = HandTurns::of_thirty_seconds(sum);
        self.adjustments += 1;
        if thirty_seconds > 0 && self.needle_pa() > self.high_pa() {
            self.has_overshot = true;
        }
        self.rig.wait(60.0);
        self.read();
    }

    /// Where the needle will have settled, in truth.
    fn needle_pa(&self) -> f64 {
        self.rig.truth().outlet_needle_bar * 1.0e5
    }

    fn high_pa(&self) -> f64 {
        (self.setting.target + self.setting.tolerance).as_f64_pa()
    }

    fn is_within(&self) -> bool {
        let off = self.needle_pa() - self.setting.target.as_f64_pa();
        off.abs() <= self.setting.tolerance.as_f64_pa()
    }
}

fn run(plan: &Plan, pilot: u64, figures: &mut Figures) {
    let mut rig = Rig::draw(&plan.conditions, plan.seed, pilot);
    rig.put_in_service();
    if plan.start == Start::BackedOff {
        rig.back_off();
        rig.wait(600.0);
    }
    let setting = Setting::of(rig.station(), plan.start);
    let mut work = Work {
        rig,
        setting,
        turns: HandTurns::default(),
        points: Vec::new(),
        adjustments: 0,
        has_overshot: false,
        foreseen: (0, 0),
    };
    work.read();
    let end = match plan.rule {
        Rule::Assistant => by_assistant(&mut work, figures),
        Rule::Quarters | Rule::Slope => by_hand(&mut work, plan.rule),
    };
    figures.pilots += 1;
    figures.adjustments.push(work.adjustments);
    figures.readings += work.points.len();
    figures.foreseen.0 += work.foreseen.0;
    figures.foreseen.1 += work.foreseen.1;
    if work.has_overshot {
        figures.overshot += 1;
        figures.overshooters.push(pilot);
    }
    if end == "reached" && work.is_within() {
        figures.reached += 1;
    } else {
        *figures.ended.entry(end).or_default() += 1;
    }
}

fn by_assistant(work: &mut Work, figures: &mut Figures) -> &'static str {
    // So many entries are more patience than anybody has.
    while work.points.len() < 100 {
        let answer = assist(&work.setting, &work.points);
        match answer.advice {
            Advice::ReadFirst => work.read(),
            Advice::ReadAgain(_) | Advice::Wait(_) => work.wait_and_read(),
            Advice::TurnIn {
                turns, foreseen_pa, ..
            } => {
                count_interval(work, &answer, figures);
                work.turn(turns.thirty_seconds());
                work.foreseen.1 += 1;
                if foreseen_pa.contains(work.needle_pa()) {
                    work.foreseen.0 += 1;
                }
            }
            Advice::BackOff { turns, .. } => work.turn(-turns.thirty_seconds()),
            Advice::Reached { .. } => return "reached",
            Advice::Stop(refusal) => return refusal.code(),
        }
    }
    "never"
}

fn count_interval(work: &Work, answer: &Assistance, figures: &mut Figures) {
    let Some(span) = answer.turns_to_go else {
        return;
    };
    let truth = work.rig.truth().turns_to_set_point.max(0.0);
    if figures.intervals.len() <= work.adjustments {
        figures.intervals.resize(work.adjustments + 1, (0, 0));
    }
    let (held, all) = &mut figures.intervals[work.adjustments];
    *all += 1;
    // A truth of exactly nothing to go is held by an interval that begins there.
    if span.contains(truth) {
        *held += 1;
    }
}

/// Plainer rules: read until two readings agree, then turn by quarters or by the last slope.
fn by_hand(work: &mut Work, rule: Rule) -> &'static str {
    let target = work.setting.target.as_f64_pa();
    let tolerance = work.setting.tolerance.as_f64_pa();
    let step = work.setting.read_step.as_f64_pa();
    let mut stops: Vec<(f64, f64)> = Vec::new();
    while work.points.len() < 100 {
        work.wait_and_read();
        let value = |place: usize| work.points[place].pressure.to_pressure().as_f64_pa();
        let last = work.points.len() - 1;
        if (value(last) - value(last - 1)).abs() > 0.5 * step {
            continue;
        }
        let now = value(last);
        stops.push((work.turns.turns(), now));
        let gap = target - now;
        if gap.abs() <= tolerance {
            return "reached";
        }
        let quarter = if gap > 0.0 { 8 } else { -8 };
        let turns = match (rule, &stops[..]) {
            (Rule::Slope, [.., (t0, p0), (t1, p1)]) if (p1 - p0) * (t1 - t0) > 0.0 => {
                let wanted = gap * (t1 - t0) / (p1 - p0);
                let eighths = (wanted.clamp(-3.0, 3.0) * 8.0).round() as i32;
                let finer = (wanted.clamp(-3.0, 3.0) * 32.0).round() as i32;
                if eighths == 0 { finer } else { 4 * eighths }
            }
            _ => quarter,
        };
        let smallest = if gap > 0.0 { 1 } else { -1 };
        work.turn(if turns == 0 { smallest } else { turns });
    }
    "never"
}
