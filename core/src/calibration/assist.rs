//! From everything entered so far to the next turn of the screw.

use super::advice::{Advice, Again, Drift, Note, RateBasis, Refusal, Span};
use super::belief::{Belief, has_turned_back};
use super::point::{DrawOff, Point};
use super::setting::{Setting, Start};
use super::stops::{Standing, Stop, sign, stops};
use super::turns::HandTurns;

/// The probability of passing the band that one turn may have; chosen on development seeds.
const OVERSHOOT_AT_MOST: f64 = 0.006;

/// Reached when the needle stands within the tolerance with this probability.
const REACHED_FROM: f64 = 0.90;

/// No more than this in one go, turns: the pressure is followed. Common practice, no source.
const TURNS_AT_ONCE: f64 = 3.0;

/// Less probable than this, a stop does not belong to those before it.
const UNLIKELY: f64 = 1.0e-5;

/// Turns in without an answer after which something else is wrong: as found, and backed off.
/// Common practice, no source.
const NO_ANSWER_TURNS: (f64, f64) = (1.5, 4.5);

/// A pressure that goes against the screw by more than this, in noise, is no reading error.
const AGAINST_NOISE: f64 = 6.0;

/// Stops that are looked back on at most.
const STOPS_AT_MOST: usize = 30;

/// The answer: one advice, notes, and the figures behind them.
#[derive(Debug, Clone, PartialEq)]
pub struct Assistance {
    /// What to do next.
    pub advice: Advice,
    /// What else is worth knowing.
    pub notes: Vec<Note>,
    /// Pascals a turn.
    pub rate_pa_per_turn: Option<Span>,
    /// What the rate rests on.
    pub rate_basis: RateBasis,
    /// Turns lost at a change of direction; `None` before the screw was turned back.
    pub backlash_turns: Option<Span>,
    /// Turns in that will be lost before the pressure answers.
    pub slack_turns: Option<Span>,
    /// Where the needle stands now, read without error, pascals.
    pub now_pa: Option<Span>,
    /// Turns in until the needle stands at the set point; 0 when it is there or above.
    pub turns_to_go: Option<Span>,
    belief: Option<Belief>,
}

impl Assistance {
    /// Where the needle will stand after turning by `turns` more (out being negative), pascals;
    /// `None` before anything was read or when `turns` is not a number. At most 40 turns are
    /// looked ahead.
    #[must_use]
    pub fn foresee_pa(&self, turns: f64) -> Option<Span> {
        let turns = Some(turns).filter(|turns| !turns.is_nan())?;
        let ahead = super::belief::FORESIGHT_TURNS;
        let belief = self.belief.as_ref()?;
        Some(belief.pressure_pa(turns.clamp(-ahead, ahead)))
    }

    /// Probability that the needle stands above `pa` after turning in by `turns` more, 0 to 1;
    /// `None` as for [`Self::foresee_pa`].
    #[must_use]
    pub fn passes(&self, pa: f64, turns: f64) -> Option<f64> {
        let turns = Some(turns).filter(|turns| !turns.is_nan() && !pa.is_nan())?;
        let ahead = super::belief::FORESIGHT_TURNS;
        let belief = self.belief.as_ref()?;
        Some(belief.above(pa, turns.clamp(-ahead, ahead), false))
    }
}

/// Advises the next step from everything entered so far, in the order entered.
#[must_use]
pub fn assist(setting: &Setting, points: &[Point]) -> Assistance {
    let setting = &setting.read_like(points);
    let (all, left_out) = stops(setting, points);
    let history = History::of(setting, &all);
    let belief = history.belief(setting);
    let mut notes = Vec::new();
    if left_out > 0 {
        notes.push(Note::LeftOutNoDrawOff { count: left_out });
    }
    if let Some(belief) = &belief {
        note(setting, &history, belief, &mut notes);
    }
    let advice = advise(setting, points, &history, belief.as_ref());
    let has_moved = history
        .stops
        .windows(2)
        .any(|pair| sign(pair[1].turns - pair[0].turns) != 0.0);
    Assistance {
        advice,
        notes,
        rate_pa_per_turn: belief.as_ref().map(Belief::rate_pa),
        rate_basis: match (has_moved, setting.spring_range) {
            (true, _) => RateBasis::Points,
            (false, Some(_)) => RateBasis::SpringRange,
            (false, None) => RateBasis::SetPoint,
        },
        backlash_turns: belief
            .as_ref()
            .filter(|_| has_turned_back(history.stops))
            .map(Belief::backlash),
        slack_turns: belief.as_ref().map(Belief::slack_in),
        now_pa: belief.as_ref().map(|belief| belief.pressure_pa(0.0)),
        turns_to_go: belief
            .as_ref()
            .map(|belief| belief.turns_to(setting.target.as_f64_pa())),
        belief,
    }
}

/// The stops that belong together, up to the latest.
struct History<'a> {
    stops: &'a [Stop],
    /// Those that do not fit too: what goes against the screw is told, not left out.
    all: &'a [Stop],
    start: Start,
    /// Stops before that do not fit.
    left_out: usize,
    /// The latest stop, read once, is far from what was foreseen.
    is_unlikely: bool,
}

impl<'a> History<'a> {
    /// Finds where the stops that fit together begin: a settled stop that those before it made
    /// next to impossible begins anew.
    fn of(setting: &Setting, all: &'a [Stop]) -> Self {
        let mut begin = all.len().saturating_sub(STOPS_AT_MOST);
        let start = |begin: usize| {
            if begin == 0 {
                setting.start
            } else {
                Start::AsFound
            }
        };
        let (mut left_out, mut is_unlikely) = (0, false);
        for place in begin + 1..all.len() {
            let Some(fits) = fits(setting, start(begin), &all[begin..place], &all[place]) else {
                continue;
            };
            match all[place].standing {
                Standing::Settled if !fits => {
                    left_out += place - begin;
                    begin = place;
                }
                Standing::Once if !fits && place + 1 == all.len() => is_unlikely = true,
                _ => {}
            }
        }
        Self {
            stops: &all[begin..],
            all,
            start: start(begin),
            left_out,
            is_unlikely,
        }
    }

    fn belief(&self, setting: &Setting) -> Option<Belief> {
        Belief::after(setting, self.start, self.stops)
    }
}

fn fits(setting: &Setting, start: Start, before: &[Stop], stop: &Stop) -> Option<bool> {
    let mut belief = Belief::after(setting, start, before)?;
    belief.set_draw_off(stop.draw_off);
    let turns = stop.turns - before.last()?.turns;
    // Half a step of doubt either way: a value is read to whole steps.
    let doubt = 0.5 * setting.step_pa();
    let above = belief.above(stop.pa - doubt, turns, true);
    let below = 1.0 - belief.above(stop.pa + doubt, turns, true);
    Some(above > UNLIKELY && below > UNLIKELY)
}

fn note(setting: &Setting, history: &History<'_>, belief: &Belief, notes: &mut Vec<Note>) {
    let Some(last) = history.stops.last() else {
        return;
    };
    if history.left_out > 0 {
        notes.push(Note::EarlierLeftOut {
            stops: history.left_out,
        });
    }
    if last.draw_off == DrawOff::Minimum {
        notes.push(Note::MinimumDrawOff {
            fall_pa: belief.fall_pa(),
        });
    }
    let earlier = history.stops.split_last().map_or(&[][..], |(_, rest)| rest);
    if earlier
        .iter()
        .any(|stop| matches!(stop.standing, Standing::Drifting(_)))
    {
        notes.push(Note::LeftWhileMoving);
    }
    if last_move(history.stops) < 0.0 && last.pa >= (setting.target - setting.tolerance).as_f64_pa()
    {
        notes.push(Note::LastMovedOut);
    }
    let slack = belief.slack_in();
    if slack.middle >= 0.05 {
        notes.push(Note::SlackAhead { turns: slack });
    }
    if let Some((_, high)) = setting.spring_range
        && last.pa > high.as_f64_pa()
    {
        notes.push(Note::AboveSpringRange { high });
    }
    if last.pa > setting.full_scale.as_f64_pa() || last.pa < -setting.step_pa() {
        notes.push(Note::OffScale);
    }
}

/// The way of the latest movement: 1 in, -1 out, 0 none.
fn last_move(stops: &[Stop]) -> f64 {
    let moves = stops.windows(2).rev();
    moves
        .map(|pair| sign(pair[1].turns - pair[0].turns))
        .find(|way| *way != 0.0)
        .unwrap_or(0.0)
}

fn advise(
    setting: &Setting,
    points: &[Point],
    history: &History<'_>,
    belief: Option<&Belief>,
) -> Advice {
    if let Some(refusal) = refused_beforehand(setting) {
        return Advice::Stop(refusal);
    }
    let Some(latest) = points.last() else {
        return Advice::ReadFirst;
    };
    if latest.draw_off == DrawOff::None {
        return Advice::Stop(Refusal::NoDrawOff);
    }
    let (Some(last), Some(belief)) = (history.stops.last(), belief) else {
        return Advice::ReadFirst;
    };
    match last.standing {
        Standing::Once if history.is_unlikely => return Advice::ReadAgain(Again::Unlikely),
        Standing::Once => return Advice::ReadAgain(Again::IsItStanding),
        Standing::Drifting(drift) => {
            let too_high = (setting.target + setting.tolerance).as_f64_pa();
            let passes = last.pa > too_high + setting.step_pa();
            return match drift {
                // Above already and still rising: waiting makes it worse.
                Drift::Rising if passes => back_off(setting, belief),
                _ => Advice::Wait(drift),
            };
        }
        Standing::Settled => {}
    }
    if let Some(refusal) = refused_by_readings(setting, latest, history) {
        return Advice::Stop(refusal);
    }
    next_move(setting, belief)
}

fn refused_beforehand(setting: &Setting) -> Option<Refusal> {
    if !setting.is_sensible() {
        return Some(Refusal::NotSensible);
    }
    if let Some((low, high)) = setting.spring_range {
        if setting.target > high {
            return Some(Refusal::AboveSpringRange);
        }
        if setting.target < low {
            return Some(Refusal::BelowSpringRange);
        }
    }
    (setting.target > setting.full_scale).then_some(Refusal::OffScale)
}

fn refused_by_readings(
    setting: &Setting,
    latest: &Point,
    history: &History<'_>,
) -> Option<Refusal> {
    let stops = history.all;
    let last = stops.last()?;
    let noise = setting.noise_pa();
    let wanted = (setting.target - setting.tolerance).as_f64_pa();
    if let Some(interstage) = latest.interstage {
        let above = interstage.to_pressure().as_f64_pa() - last.pa;
        if above < setting.minimum_differential.as_f64_pa() - noise && last.pa < wanted {
            return Some(Refusal::SupplyTooLow);
        }
    }
    if let [.., before, _] = stops
        && before.draw_off == last.draw_off
        && before.standing == Standing::Settled
    {
        let (turned, rose) = (last.turns - before.turns, last.pa - before.pa);
        if turned > 0.0 && rose < -AGAINST_NOISE * noise {
            return Some(Refusal::FellWhileScrewedIn);
        }
        if turned < 0.0 && rose > AGAINST_NOISE * noise {
            return Some(Refusal::RoseWhileScrewedOut);
        }
    }
    (last.pa < wanted && gives_no_answer(stops, setting.start, noise)).then_some(Refusal::NoAnswer)
}

/// Screwed in for long while the pressure stayed.
fn gives_no_answer(stops: &[Stop], start: Start, noise: f64) -> bool {
    let Some((last, earlier)) = stops.split_last() else {
        return false;
    };
    let alike = |stop: &&Stop| (stop.pa - last.pa).abs() <= 3.0 * noise;
    let since = earlier.iter().rev().take_while(alike).last();
    let Some(since) = since else {
        return false;
    };
    let has_answered = earlier.iter().any(|stop| !alike(&stop));
    let limit = match start {
        Start::BackedOff if !has_answered => NO_ANSWER_TURNS.1,
        _ => NO_ANSWER_TURNS.0,
    };
    last_move(stops) > 0.0 && last.turns - since.turns >= limit
}

fn next_move(setting: &Setting, belief: &Belief) -> Advice {
    let target = setting.target.as_f64_pa();
    let tolerance = setting.tolerance.as_f64_pa();
    let (low, high) = (target - tolerance, target + tolerance);
    let too_high = belief.above(high, 0.0, false);
    if too_high > 0.5 {
        return back_off(setting, belief);
    }
    let inside = |turns: f64| belief.above(low, turns, false) - belief.above(high, turns, false);
    let now = inside(0.0).clamp(0.0, 1.0);
    if now >= REACHED_FROM {
        return Advice::Reached { probability: now };
    }
    let turns = HandTurns::at_most(farthest(setting, belief));
    let is_worth_it = turns >= HandTurns::FINEST && (now < 0.5 || inside(turns.turns()) > now);
    if is_worth_it {
        let foreseen_pa = belief.pressure_pa(turns.turns());
        return Advice::TurnIn {
            turns,
            foreseen_pa,
            overshoot: belief.above(high, turns.turns(), false),
            is_close: foreseen_pa.high >= low,
        };
    }
    if now >= 0.5 {
        return Advice::Reached { probability: now };
    }
    Advice::Stop(Refusal::GaugeTooCoarse)
}

/// The farthest turn in, in thirty-seconds, that keeps the chance of passing the band small and
/// the middle of what is foreseen at or below the set point.
fn farthest(setting: &Setting, belief: &Belief) -> f64 {
    let target = setting.target.as_f64_pa();
    let high = target + setting.tolerance.as_f64_pa();
    let is_safe = |count: u32| {
        let turns = f64::from(count) / 32.0;
        belief.above(high, turns, false) <= OVERSHOOT_AT_MOST
            && belief.above(target, turns, false) <= 0.5
    };
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a small positive constant"
    )]
    let (mut safe, mut unsafe_from) = (0_u32, (TURNS_AT_ONCE * 32.0) as u32 + 1);
    while unsafe_from - safe > 1 {
        let middle = u32::midpoint(safe, unsafe_from);
        if is_safe(middle) {
            safe = middle;
        } else {
            unsafe_from = middle;
        }
    }
    f64::from(safe) / 32.0
}

/// Out until the needle is below the set point's band, so that it can come up again.
fn back_off(setting: &Setting, belief: &Belief) -> Advice {
    let aim = (setting.target - setting.tolerance).as_f64_pa();
    let finest = HandTurns::FINEST.turns();
    let mut turns = finest;
    while turns < TURNS_AT_ONCE && belief.above(aim, -turns, false) > 0.05 {
        turns += finest;
    }
    let turns = HandTurns::at_least(turns);
    Advice::BackOff {
        turns,
        foreseen_pa: belief.pressure_pa(-turns.turns()),
    }
}
