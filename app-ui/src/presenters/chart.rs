//! Geometry of a strip of history: band, readings, flags and forecast as paths in pixels.
//!
//! Plain numbers; no rule about pressures and no words of the trade live here. Paths use SVG
//! syntax, with the origin in the upper left corner of the plot; y grows downwards.

mod parts;
mod time;

pub use parts::{FanPoint, Mark, Plot, Point, Series, Sign, Span, Stand, Strip, ValueTick};
pub use time::{TimeTick, time_ticks};

use std::fmt::Write as _;

use super::flag::FlagShape;

/// Height of one row of flags over the plot, pixels.
const LANE: f64 = 26.0;
/// Side of a flag's mark, pixels.
pub const MARK: f64 = 20.0;
/// Space between the flags, or the upper edge, and the highest value.
const HEAD: f64 = 8.0;
/// Space under the lowest value.
const FOOT: f64 = 6.0;
/// Width of a letter of the small size on average, pixels: enough to keep words apart.
const LETTER: f64 = 10.5;
/// Rows of flags at most; a flag that finds no place in them goes without its word.
const LANES_MOST: usize = 2;
/// Radius of a reading's dot, and how far apart dots must be to be drawn at all.
const DOT: f64 = 3.5;
const DOTS_FROM: f64 = 7.0;
/// A line is broken where visits are missing: after so many times the usual interval.
const GAP_FACTOR: f64 = 2.6;

impl Span {
    /// Milliseconds from edge to edge.
    #[must_use]
    pub fn length_ms(self) -> i64 {
        self.to_ms.saturating_sub(self.from_ms).max(1)
    }

    fn holds(self, at_ms: i64) -> bool {
        (self.from_ms..=self.to_ms).contains(&at_ms)
    }

    #[allow(clippy::cast_precision_loss, reason = "a pixel is minutes at least")]
    fn x(self, at_ms: i64, width: f64) -> f64 {
        at_ms.saturating_sub(self.from_ms) as f64 / self.length_ms() as f64 * width
    }
}

/// Places values between two heights.
#[derive(Debug, Clone, Copy)]
struct Heights {
    low: f64,
    high: f64,
    top: f64,
    bottom: f64,
}

impl Heights {
    fn y(self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        self.bottom - share.clamp(-0.02, 1.02) * (self.bottom - self.top)
    }
}

/// Draws a strip.
#[must_use]
pub fn strip(series: &Series, span: Span, plot: Plot) -> Strip {
    let seen: Vec<Point> = series
        .points
        .iter()
        .copied()
        .filter(|point| span.holds(point.at_ms))
        .collect();
    let (marks, lanes) = place(&series.signs, span, plot.width);
    let fan = ahead(&series.fan, span);
    let Some((low, high)) = extent(&seen, &fan) else {
        return Strip {
            marks,
            ..Strip::default()
        };
    };
    #[allow(clippy::cast_precision_loss, reason = "two rows at most")]
    let top = HEAD + lanes as f64 * LANE;
    let heights = Heights {
        low,
        high,
        top,
        bottom: (plot.height - FOOT).max(top + 1.0),
    };
    let mut drawing = Drawing {
        strip: Strip {
            marks,
            ..Strip::default()
        },
        heights,
        span,
        plot,
    };
    drawing.values();
    drawing.band(&seen, !fan.is_empty());
    drawing.readings(&seen);
    drawing.stems(&seen);
    drawing.ahead(&fan);
    drawing.finish()
}

/// Lowest and highest of what is to be seen, with a little air; `None` when nothing is.
fn extent(seen: &[Point], fan: &[FanPoint]) -> Option<(f64, f64)> {
    let bands = seen.iter().filter_map(|point| point.band);
    let values = seen.iter().filter_map(|point| point.value);
    let ends = values
        .chain(bands.flat_map(|(low, high)| [low, high]))
        .chain(fan.iter().flat_map(|point| [point.low, point.high]))
        .filter(|value| value.is_finite());
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for value in ends {
        low = low.min(value);
        high = high.max(value);
    }
    if low > high {
        return None;
    }
    let air = ((high - low) * 0.08).max(high.abs() * 0.01).max(1e-6);
    Some((low - air, high + air))
}

/// The forecast as far as it is seen, ended at the right edge; nothing where now is not seen.
fn ahead(fan: &[FanPoint], span: Span) -> Vec<FanPoint> {
    let mut seen: Vec<FanPoint> = Vec::new();
    for point in fan {
        match seen.last() {
            None if !span.holds(point.at_ms) => return seen,
            Some(last) if point.at_ms > span.to_ms => {
                #[allow(clippy::cast_precision_loss, reason = "weeks between moments")]
                let share = (span.to_ms - last.at_ms) as f64 / (point.at_ms - last.at_ms) as f64;
                let between = |from: f64, to: f64| from + share * (to - from);
                seen.push(FanPoint {
                    at_ms: span.to_ms,
                    low: between(last.low, point.low),
                    likely: between(last.likely, point.likely),
                    high: between(last.high, point.high),
                });
                return seen;
            }
            _ => seen.push(*point),
        }
    }
    seen
}

/// One row of signs while it fills from left to right.
#[derive(Clone, Copy)]
struct Lane {
    /// Where its last sign ends, and where it would end without its word.
    ends: f64,
    ends_bare: f64,
    /// The last sign's place among all.
    last: usize,
}

/// Gives each sign a row in which its word meets no other; answers how many rows are used. Where
/// there is no room for all words the shapes stay and a word goes.
fn place(signs: &[Sign], span: Span, width: f64) -> (Vec<Mark>, usize) {
    let empty = Lane {
        ends: f64::NEG_INFINITY,
        ends_bare: f64::NEG_INFINITY,
        last: 0,
    };
    let mut lanes = [empty; LANES_MOST];
    let mut used = 0;
    let mut marks: Vec<Mark> = Vec::new();
    for sign in signs.iter().filter(|sign| span.holds(sign.at_ms)) {
        let x = span.x(sign.at_ms, width);
        #[allow(clippy::cast_precision_loss, reason = "a word or two")]
        let word = sign.word.chars().count() as f64 * LETTER + MARK / 2.0 + 6.0;
        let is_left = x + word > width;
        let (left, right) = if is_left {
            (x - word, x + MARK / 2.0)
        } else {
            (x - MARK / 2.0, x + word)
        };
        let (bare_left, bare_right) = (x - MARK / 2.0, x + MARK / 2.0);
        let with_word = lanes.iter().position(|lane| lane.ends <= left);
        let bare = || lanes.iter().position(|lane| lane.ends <= bare_left);
        let by_taking = || lanes.iter().rposition(|lane| lane.ends_bare <= bare_left);
        let lane = with_word
            .or_else(bare)
            .or_else(by_taking)
            .unwrap_or(LANES_MOST - 1);
        if with_word.is_none()
            && lanes[lane].ends > bare_left
            && let Some(before) = marks.get_mut(lanes[lane].last)
        {
            before.word.clear();
        }
        lanes[lane] = Lane {
            ends: if with_word.is_some() {
                right
            } else {
                bare_right
            },
            ends_bare: bare_right,
            last: marks.len(),
        };
        used = used.max(lane + 1);
        #[allow(clippy::cast_precision_loss, reason = "two rows at most")]
        let y = lane as f64 * LANE;
        marks.push(Mark {
            x,
            y,
            shape: sign.shape,
            tone: sign.tone,
            word: with_word.map_or_else(String::new, |_| sign.word.clone()),
            is_left,
        });
    }
    (marks, used)
}

struct Drawing {
    strip: Strip,
    heights: Heights,
    span: Span,
    plot: Plot,
}

impl Drawing {
    fn at(&self, at_ms: i64, value: f64) -> (f64, f64) {
        (self.span.x(at_ms, self.plot.width), self.heights.y(value))
    }

    fn values(&mut self) {
        for value in round_values(self.heights.low, self.heights.high) {
            let y = self.heights.y(value.0);
            self.strip.ticks.push(ValueTick { y, text: value.1 });
            let _ = write!(
                self.strip.grid,
                "M 0 {y:.1} L {:.1} {y:.1} ",
                self.plot.width
            );
        }
    }

    /// The band runs from visit to visit, and on to the right edge where a forecast is drawn.
    fn band(&mut self, seen: &[Point], goes_on: bool) {
        let mut run: Vec<(i64, f64, f64)> = Vec::new();
        for point in seen {
            match point.band {
                Some((low, high)) => run.push((point.at_ms, low, high)),
                None => self.close_band(&std::mem::take(&mut run)),
            }
        }
        if goes_on && let Some(&(_, low, high)) = run.last() {
            run.push((self.span.to_ms, low, high));
        }
        self.close_band(&run);
    }

    fn close_band(&mut self, run: &[(i64, f64, f64)]) {
        if run.len() < 2 {
            return;
        }
        let upper = run.iter().map(|&(at, _, high)| self.at(at, high));
        let lower = run.iter().rev().map(|&(at, low, _)| self.at(at, low));
        let outline: Vec<(f64, f64)> = upper.chain(lower).collect();
        trace(&mut self.strip.band, &outline, true);
    }

    fn readings(&mut self, seen: &[Point]) {
        let read: Vec<&Point> = seen.iter().filter(|point| point.value.is_some()).collect();
        let usual = usual_interval(&read);
        let mut run: Vec<(f64, f64)> = Vec::new();
        let mut before: Option<i64> = None;
        for point in &read {
            let Some(value) = point.value else { continue };
            if before.is_some_and(|before| is_gap(point.at_ms - before, usual)) {
                trace(&mut self.strip.line, &std::mem::take(&mut run), false);
            }
            run.push(self.at(point.at_ms, value));
            before = Some(point.at_ms);
        }
        trace(&mut self.strip.line, &run, false);
        #[allow(clippy::cast_precision_loss, reason = "thousands of visits at most")]
        let has_dots = self.plot.width / read.len().max(1) as f64 >= DOTS_FROM;
        for point in read {
            let Some(value) = point.value else { continue };
            let (x, y) = self.at(point.at_ms, value);
            match point.stand {
                Stand::Usual if has_dots => ring(&mut self.strip.dots, x, y, DOT),
                Stand::Usual => {}
                Stand::Unsure => ring(&mut self.strip.unsure, x, y, DOT + 1.5),
                Stand::Outside => diamond(&mut self.strip.outside, x, y, DOT + 3.0),
            }
        }
    }

    fn stems(&mut self, seen: &[Point]) {
        for mark in &self.strip.marks {
            let foot = mark.y + MARK;
            if mark.shape == FlagShape::Baseline {
                let _ = write!(
                    self.strip.baselines,
                    "M {0:.1} {foot:.1} L {0:.1} {1:.1} ",
                    mark.x, self.heights.bottom
                );
                continue;
            }
            let near = |point: &&Point| {
                let x = self.span.x(point.at_ms, self.plot.width);
                point.value.is_some() && (x - mark.x).abs() < 0.5
            };
            if let Some(value) = seen.iter().find(near).and_then(|point| point.value) {
                let y = self.heights.y(value) - DOT - 2.0;
                if y > foot {
                    let _ = write!(
                        self.strip.stems,
                        "M {0:.1} {foot:.1} L {0:.1} {y:.1} ",
                        mark.x
                    );
                }
            }
        }
    }

    fn ahead(&mut self, fan: &[FanPoint]) {
        let highs = fan.iter().map(|point| self.at(point.at_ms, point.high));
        let lows = fan
            .iter()
            .rev()
            .map(|point| self.at(point.at_ms, point.low));
        let outline: Vec<(f64, f64)> = highs.chain(lows).collect();
        let likely = fan.iter().map(|point| self.at(point.at_ms, point.likely));
        let likely: Vec<(f64, f64)> = likely.collect();
        trace(&mut self.strip.fan, &outline, true);
        trace(&mut self.strip.ahead, &likely, false);
    }

    /// Paths are placed by their bounding box; moves to the corners keep it the whole plot.
    fn finish(mut self) -> Strip {
        let corners = format!("M 0 0 M {:.1} {:.1}", self.plot.width, self.plot.height);
        let strip = &mut self.strip;
        for path in [
            &mut strip.grid,
            &mut strip.band,
            &mut strip.line,
            &mut strip.dots,
            &mut strip.unsure,
            &mut strip.outside,
            &mut strip.fan,
            &mut strip.ahead,
            &mut strip.stems,
            &mut strip.baselines,
        ] {
            if !path.is_empty() {
                path.push_str(&corners);
            }
        }
        self.strip
    }
}

/// Two to four round values between two ends, with their numerals.
fn round_values(low: f64, high: f64) -> Vec<(f64, String)> {
    let span = high - low;
    if !(span.is_finite() && span > 0.0) {
        return Vec::new();
    }
    for power in -6..9_i32 {
        for (mantissa, more_places) in [(1.0, 0), (2.0, 0), (2.5, 1), (5.0, 0)] {
            let step = mantissa * 10_f64.powi(power);
            let first = (low / step).ceil();
            let count = (high / step).floor() - first + 1.0;
            if count > 4.0 {
                continue;
            }
            let places = usize::try_from(more_places - power).unwrap_or(0);
            let mut values = Vec::new();
            let mut value = first * step;
            while value <= high && values.len() < 4 {
                values.push((value, format!("{value:.places$}")));
                value += step;
            }
            return values;
        }
    }
    Vec::new()
}

/// The middle of the intervals between visits, milliseconds.
fn usual_interval(read: &[&Point]) -> i64 {
    let mut steps: Vec<i64> = read
        .windows(2)
        .map(|pair| pair[1].at_ms - pair[0].at_ms)
        .collect();
    steps.sort_unstable();
    steps.get(steps.len() / 2).copied().unwrap_or(0)
}

#[allow(clippy::cast_precision_loss, reason = "intervals, not moments")]
fn is_gap(step: i64, usual: i64) -> bool {
    step as f64 > usual as f64 * GAP_FACTOR
}

fn trace(path: &mut String, points: &[(f64, f64)], is_closed: bool) {
    if points.len() < 2 {
        return;
    }
    for (index, (x, y)) in points.iter().enumerate() {
        let verb = if index == 0 { 'M' } else { 'L' };
        // Writing to a string cannot fail.
        let _ = write!(path, "{verb} {x:.1} {y:.1} ");
    }
    if is_closed {
        path.push_str("Z ");
    }
}

fn ring(path: &mut String, x: f64, y: f64, r: f64) {
    let (left, right) = (x - r, x + r);
    let _ = write!(
        path,
        "M {left:.1} {y:.1} A {r} {r} 0 1 1 {right:.1} {y:.1} A {r} {r} 0 1 1 {left:.1} {y:.1} Z "
    );
}

fn diamond(path: &mut String, x: f64, y: f64, r: f64) {
    trace(
        path,
        &[(x, y - r), (x + r, y), (x, y + r), (x - r, y)],
        true,
    );
}

#[cfg(test)]
mod tests;
