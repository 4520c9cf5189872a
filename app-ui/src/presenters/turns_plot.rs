//! Turns of the screw against the outlet pressure, as path commands: what was read, where the set
//! point lies, and where the next turn leads.

use std::fmt::Write as _;

use winze_core::calibration::{Advice, Assistance, Point, Setting};
use winze_core::units::decimal_to_f64;

/// The plot's own square: markup stretches it.
pub const WIDE: f64 = 1000.0;
/// See [`WIDE`].
pub const HIGH: f64 = 600.0;

/// A plot as path commands on [`WIDE`] by [`HIGH`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TurnsPlot {
    /// The band that counts as reached.
    pub band: String,
    /// The set point.
    pub target: String,
    /// From reading to reading.
    pub line: String,
    /// The readings.
    pub dots: String,
    /// The newest reading, ringed.
    pub newest: String,
    /// Where the advised turn is expected to lead: an interval.
    pub ahead: String,
}

/// Half the side of a dot.
const DOT: f64 = 9.0;

struct Frame {
    low: (f64, f64),
    high: (f64, f64),
}

impl Frame {
    fn x(&self, turns: f64) -> f64 {
        (turns - self.low.0) / (self.high.0 - self.low.0) * WIDE
    }

    fn y(&self, pa: f64) -> f64 {
        HIGH - (pa - self.low.1) / (self.high.1 - self.low.1) * HIGH
    }
}

/// Draws the readings; nothing before the first.
#[must_use]
pub fn plot(setting: &Setting, points: &[Point], assistance: &Assistance) -> TurnsPlot {
    let read: Vec<(f64, f64)> = points
        .iter()
        .map(|point| {
            let pa = point.pressure.to_pressure().as_f64_pa();
            (decimal_to_f64(point.turns), pa)
        })
        .collect();
    let Some(last) = read.last().copied() else {
        return TurnsPlot::default();
    };
    let ahead = match assistance.advice {
        Advice::TurnIn {
            turns, foreseen_pa, ..
        } => Some((last.0 + turns.turns(), foreseen_pa)),
        Advice::BackOff { turns, foreseen_pa } => Some((last.0 - turns.turns(), foreseen_pa)),
        _ => None,
    };
    let (target, tolerance) = (setting.target.as_f64_pa(), setting.tolerance.as_f64_pa());
    let mut xs: Vec<f64> = read.iter().map(|one| one.0).collect();
    let mut ys: Vec<f64> = read.iter().map(|one| one.1).collect();
    ys.extend([target - 2.0 * tolerance, target + 2.0 * tolerance]);
    if let Some((at, span)) = ahead {
        xs.push(at);
        ys.extend([span.low, span.high]);
    }
    let frame = Frame::around(&xs, &ys);
    let mut drawn = TurnsPlot {
        band: rectangle(
            0.0,
            frame.y(target + tolerance),
            WIDE,
            frame.y(target - tolerance),
        ),
        target: format!("M 0 {:.1} L {WIDE} {:.1}", frame.y(target), frame.y(target)),
        ..TurnsPlot::default()
    };
    for (index, (turns, pa)) in read.iter().enumerate() {
        let (x, y) = (frame.x(*turns), frame.y(*pa));
        let verb = if index == 0 { 'M' } else { 'L' };
        // Writing to a string cannot fail.
        let _ = write!(drawn.line, "{verb} {x:.1} {y:.1} ");
        let (left, right) = (x - DOT, x + DOT);
        let _ = write!(
            drawn.dots,
            "M {left:.1} {y:.1} A {DOT} {DOT} 0 1 1 {right:.1} {y:.1} A {DOT} {DOT} 0 1 1 {left:.1} {y:.1} Z "
        );
    }
    let (x, y) = (frame.x(last.0), frame.y(last.1));
    let (left, right, ring) = (x - 2.0 * DOT, x + 2.0 * DOT, 2.0 * DOT);
    drawn.newest = format!(
        "M {left:.1} {y:.1} A {ring} {ring} 0 1 1 {right:.1} {y:.1} A {ring} {ring} 0 1 1 {left:.1} {y:.1} Z"
    );
    if let Some((at, span)) = ahead {
        let at = frame.x(at);
        let (low, middle, high) = (frame.y(span.low), frame.y(span.middle), frame.y(span.high));
        drawn.ahead = format!(
            "M {x:.1} {y:.1} L {at:.1} {middle:.1} M {at:.1} {low:.1} L {at:.1} {high:.1} \
             M {:.1} {low:.1} L {:.1} {low:.1} M {:.1} {high:.1} L {:.1} {high:.1}",
            at - DOT,
            at + DOT,
            at - DOT,
            at + DOT
        );
    }
    drawn
}

impl Frame {
    /// A frame with a tenth of room on every side, never without breadth.
    fn around(xs: &[f64], ys: &[f64]) -> Self {
        let ends = |values: &[f64], least: f64| {
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let breadth = (high - low).max(least);
            let middle = f64::midpoint(low, high);
            (middle - 0.6 * breadth, middle + 0.6 * breadth)
        };
        let (left, right) = ends(xs, 0.5);
        let (bottom, top) = ends(ys, 1000.0);
        Self {
            low: (left, bottom),
            high: (right, top),
        }
    }
}

fn rectangle(left: f64, top: f64, right: f64, bottom: f64) -> String {
    format!("M {left} {top:.1} L {right} {top:.1} L {right} {bottom:.1} L {left} {bottom:.1} Z")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::calibration::{Start, assist};
    use winze_sync_format::Decimal;

    #[test]
    fn every_command_lies_on_the_plot_and_nothing_is_drawn_of_nothing() {
        let setting = Setting::of(&samples::station(), Start::AsFound);
        let none = assist(&setting, &[]);
        assert_eq!(plot(&setting, &[], &none), TurnsPlot::default());
        let points = [
            Point::of(Decimal::whole(0), samples::bar("1.5")),
            Point::of(Decimal::whole(1), samples::bar("1.7")),
        ];
        let drawn = plot(&setting, &points, &assist(&setting, &points));
        for commands in [&drawn.band, &drawn.target, &drawn.line, &drawn.newest] {
            assert!(!commands.is_empty());
            for number in commands
                .split(' ')
                .filter_map(|part| part.parse::<f64>().ok())
            {
                assert!((-20.0..=WIDE + 20.0).contains(&number), "{commands}");
            }
        }
    }

    #[test]
    fn one_reading_has_a_plot_of_its_own() {
        let setting = Setting::of(&samples::station(), Start::AsFound);
        let points = [Point::of(Decimal::whole(0), samples::bar("2.0"))];
        let drawn = plot(&setting, &points, &assist(&setting, &points));
        assert!(!drawn.dots.contains("NaN") && !drawn.dots.is_empty());
    }
}
