//! What is believed of the pilot after some stops: a mixture of straight lines with play.

use super::advice::Span;
use super::play::{Play, Seat, guesses};
use super::point::DrawOff;
use super::regression::{Fit, Prior, Row, Vector, fit};
use super::setting::{Setting, Start};
use super::stops::{Standing, Stop, sign};
use crate::verdict::student_cdf;

/// How far the spring rate may lie from the guess beforehand, standard deviation as a share: springs
/// of one kind lie within three tenths of each other. Common practice, no source.
const RATE_SPREAD: f64 = 0.2;

/// How far the line may bend over a move, standard deviation as a share of the move: common
/// practice, no source. Far stops count for less by it, far predictions are wider.
const BEND_SHARE: f64 = 0.02;

/// Standard deviation of one movement of a hand around what it meant, turns: common practice, no
/// source.
const HAND_TURNS: f64 = 0.015;

/// Fall from minimum to usual draw-off, mean and standard deviation as a share of the set point:
/// common practice, no source.
const DROOP_SHARE: (f64, f64) = (0.012, 0.012);

/// Degrees of freedom with which the noise is known beforehand.
const NOISE_DEGREES: f64 = 12.0;

/// Standard deviations that a stop left while moving may be off, in noise.
const LEFT_MOVING: f64 = 4.0;

/// Parts with less than this share of the heaviest are dropped.
const NEGLIGIBLE: f64 = 1.0e-6;

/// Turns beyond which nothing is foreseen.
pub(super) const FORESIGHT_TURNS: f64 = 40.0;

/// One guess with what the stops make of it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Part {
    weight: f64,
    play: Play,
    seat: Seat,
    fit: Fit,
}

/// What is believed. Pressures and rates are in units of the noise inside.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Belief {
    parts: Vec<Part>,
    noise_pa: f64,
    /// The draw-off of the latest stop differs from usual.
    is_minimum: bool,
}

impl Belief {
    /// What `stops` (at least one) make of the guesses; the first is where the turns count from.
    pub fn after(setting: &Setting, start: Start, stops: &[Stop]) -> Option<Self> {
        let last = stops.last()?;
        let noise_pa = setting.noise_pa();
        let plays = guesses(start, has_turned_back(stops));
        let rates = setting.rates_beforehand();
        let mut reference: Vec<f64> = rates.iter().map(|rate| rate / noise_pa).collect();
        let mut parts = Vec::new();
        // Twice: how much far stops count depends on the rate, first guessed, then fitted.
        for _ in 0..2 {
            parts.clear();
            for (guess, rate) in rates.iter().zip(&reference) {
                let prior = prior(setting, guess / noise_pa, noise_pa);
                for &(play, weight) in &plays {
                    parts.push(part(&prior, *rate, stops, noise_pa, play, weight));
                }
            }
            weigh(&mut parts);
            let mean: f64 = parts.iter().map(|p| p.weight * p.fit.mean[1]).sum();
            for (guess, rate) in rates.iter().zip(&mut reference) {
                let (low, high) = (0.3 * guess / noise_pa, 3.0 * guess / noise_pa);
                *rate = if mean.is_finite() {
                    mean.clamp(low, high)
                } else {
                    *rate
                };
            }
        }
        let most = parts.iter().map(|p| p.weight).fold(0.0, f64::max);
        parts.retain(|part| part.weight >= NEGLIGIBLE * most);
        (!parts.is_empty()).then_some(Self {
            parts,
            noise_pa,
            is_minimum: last.draw_off == DrawOff::Minimum,
        })
    }

    /// Foresees for another draw-off than that of the latest stop.
    pub fn set_draw_off(&mut self, draw_off: DrawOff) {
        self.is_minimum = draw_off == DrawOff::Minimum;
    }

    /// Mean and scale, in noise, of what the pilot holds in the latest draw-off state after `turns`
    /// more, with whether the reading's own scatter is counted.
    fn foreseen(&self, part: &Part, turns: f64, with_reading: bool) -> (f64, f64) {
        let moved = if turns >= 0.0 {
            (turns - part.seat.slack_in).max(0.0)
        } else {
            let moved = -(-turns - part.seat.slack_out).max(0.0);
            if part.play.is_loose {
                moved.max(-part.seat.turns.max(0.0))
            } else {
                moved
            }
        };
        let x: Vector = [1.0, moved, f64::from(u8::from(self.is_minimum))];
        let (mean, scale) = part.fit.at(&x);
        let rate = part.fit.mean[1];
        let bend = BEND_SHARE * rate * moved;
        let hand = if moved == 0.0 { 0.0 } else { HAND_TURNS * rate };
        let reading = if with_reading { 1.0 } else { 0.0 };
        let total = scale * scale + bend * bend + hand * hand + reading;
        (mean, total.sqrt().max(1.0e-9))
    }

    /// Probability that after `turns` more the needle stands above `pa` (read without error, or as
    /// it is read).
    pub fn above(&self, pa: f64, turns: f64, with_reading: bool) -> f64 {
        let limit = pa / self.noise_pa;
        let sum: f64 = self
            .parts
            .iter()
            .map(|part| {
                let (mean, scale) = self.foreseen(part, turns, with_reading);
                part.weight * student_cdf((mean - limit) / scale, part.fit.degrees)
            })
            .sum();
        sum.clamp(0.0, 1.0)
    }

    /// Where the needle stands after `turns` more, pascals.
    pub fn pressure_pa(&self, turns: f64) -> Span {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for part in &self.parts {
            let (mean, scale) = self.foreseen(part, turns, false);
            low = low.min(mean - 12.0 * scale);
            high = high.max(mean + 12.0 * scale);
        }
        let (low, high) = (low * self.noise_pa, high * self.noise_pa);
        span(|share| solve(low, high, |pa| 1.0 - self.above(pa, turns, false) >= share))
    }

    /// Turns in until the needle stands at `pa`; 0 where it is there or above, at most
    /// [`FORESIGHT_TURNS`].
    ///
    /// # Formula
    ///
    /// ```text
    /// P(turns <= t) = P(pressure(t) >= pa)
    /// ```
    ///
    /// # Source
    ///
    /// The inverse of the predictive distribution, as in calibration after Fieller 1954.
    pub fn turns_to(&self, pa: f64) -> Span {
        span(|share| {
            if self.above(pa, 0.0, false) >= share {
                0.0
            } else {
                solve(0.0, FORESIGHT_TURNS, |turns| {
                    self.above(pa, turns, false) >= share
                })
            }
        })
    }

    /// Pascals a turn.
    pub fn rate_pa(&self) -> Span {
        let parts = self.parts.iter();
        let values: Vec<(f64, f64, f64, f64)> = parts
            .map(|part| {
                let (mean, scale) = part.fit.at(&[0.0, 1.0, 0.0]);
                (part.weight, mean, scale.max(1.0e-12), part.fit.degrees)
            })
            .collect();
        self.student_span(&values)
    }

    /// How much lower the needle stands at usual than at minimum draw-off, pascals.
    pub fn fall_pa(&self) -> Span {
        let parts = self.parts.iter();
        let values: Vec<(f64, f64, f64, f64)> = parts
            .map(|part| {
                let (mean, scale) = part.fit.at(&[0.0, 0.0, 1.0]);
                (part.weight, mean, scale.max(1.0e-12), part.fit.degrees)
            })
            .collect();
        self.student_span(&values)
    }

    fn student_span(&self, values: &[(f64, f64, f64, f64)]) -> Span {
        let ends = |way: f64| values.iter().map(move |(_, m, s, _)| m + way * 12.0 * s);
        let low = ends(-1.0).fold(f64::INFINITY, f64::min);
        let high = ends(1.0).fold(f64::NEG_INFINITY, f64::max);
        let below = |value: f64| -> f64 {
            let each = values.iter();
            each.map(|(w, m, s, nu)| w * student_cdf((value - m) / s, *nu))
                .sum()
        };
        let found = span(|share| solve(low, high, |value| below(value) >= share));
        Span {
            low: found.low * self.noise_pa,
            middle: found.middle * self.noise_pa,
            high: found.high * self.noise_pa,
        }
    }

    /// Turns lost at a change of direction.
    pub fn backlash(&self) -> Span {
        self.discrete(|part| part.play.backlash)
    }

    /// Turns in that will be lost before the pressure answers.
    pub fn slack_in(&self) -> Span {
        self.discrete(|part| part.seat.slack_in)
    }

    fn discrete(&self, value: impl Fn(&Part) -> f64) -> Span {
        let mut values: Vec<(f64, f64)> = self
            .parts
            .iter()
            .map(|part| (value(part), part.weight))
            .collect();
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        span(|share| {
            let mut sum = 0.0;
            for &(value, weight) in &values {
                sum += weight;
                if sum >= share - 1.0e-12 {
                    return value;
                }
            }
            values.last().map_or(0.0, |last| last.0)
        })
    }
}

/// Whether the screw was ever turned out.
pub(super) fn has_turned_back(stops: &[Stop]) -> bool {
    stops
        .windows(2)
        .any(|pair| sign(pair[1].turns - pair[0].turns) < 0.0)
}

fn prior(setting: &Setting, rate: f64, noise_pa: f64) -> Prior {
    let target = setting.target.abs().as_f64_pa().max(1.0) / noise_pa;
    Prior {
        mean: [0.5 * target, rate, DROOP_SHARE.0 * target],
        spread: [10.0 * target, RATE_SPREAD * rate, DROOP_SHARE.1 * target],
        degrees: NOISE_DEGREES,
    }
}

fn part(prior: &Prior, rate: f64, stops: &[Stop], noise_pa: f64, play: Play, weight: f64) -> Part {
    let first = stops.first().map_or(0.0, |stop| stop.turns);
    let seats = play.follow(stops.iter().map(|stop| stop.turns - first));
    let latest = seats.last().copied().unwrap_or(Seat {
        turns: 0.0,
        slack_in: 0.0,
        slack_out: 0.0,
    });
    let mut moves_since = 0.0;
    let mut rows = Vec::with_capacity(stops.len());
    for (place, (stop, seat)) in stops.iter().zip(&seats).enumerate().rev() {
        let away = seat.turns - latest.turns;
        let bend = BEND_SHARE * rate * away;
        let hand = HAND_TURNS * rate;
        // A last stop that still moves is not judged; an earlier one counts for less.
        let left = match stop.standing {
            Standing::Drifting(_) if place + 1 < stops.len() => LEFT_MOVING,
            _ => 0.0,
        };
        let creep = stop.creep_pa / noise_pa;
        let variance = 1.0 + bend * bend + moves_since * hand * hand + left * left + creep * creep;
        rows.push(Row {
            x: [
                1.0,
                away,
                f64::from(u8::from(stop.draw_off == DrawOff::Minimum)),
            ],
            value: stop.pa / noise_pa,
            weight: 1.0 / variance,
        });
        let before = place.checked_sub(1).and_then(|i| stops.get(i));
        if before.is_some_and(|before| sign(before.turns - stop.turns) != 0.0) {
            moves_since += 1.0;
        }
    }
    Part {
        weight: weight.ln(),
        play,
        seat: latest,
        fit: fit(prior, &rows),
    }
}

/// Turns log weights beforehand into weights afterwards that sum to 1.
fn weigh(parts: &mut [Part]) {
    for part in parts.iter_mut() {
        part.weight += part.fit.log_evidence;
    }
    let most = parts
        .iter()
        .map(|part| part.weight)
        .fold(f64::NEG_INFINITY, f64::max);
    let mut sum = 0.0;
    for part in parts.iter_mut() {
        part.weight = (part.weight - most).exp();
        sum += part.weight;
    }
    for part in parts.iter_mut() {
        part.weight /= sum;
    }
}

/// The span whose ends leave 2.5 % of the probability on either side.
fn span(quantile: impl Fn(f64) -> f64) -> Span {
    let middle = quantile(0.5);
    Span {
        low: quantile(0.025).min(middle),
        middle,
        high: quantile(0.975).max(middle),
    }
}

/// The least value between `low` and `high` at which `is_there` holds, by halving; `high` when
/// nowhere.
fn solve(mut low: f64, mut high: f64, is_there: impl Fn(f64) -> bool) -> f64 {
    let enough = 1.0e-4 * (high - low).abs().min(1.0e12) / 1.0e3;
    for _ in 0..60 {
        if high - low <= enough {
            break;
        }
        let middle = f64::midpoint(low, high);
        if is_there(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}
