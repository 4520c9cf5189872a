//! Geometry of a gauge dial: where the scale, its divisions, its numerals, the expected band
//! and the needle lie, and what value a finger on the scale means.
//!
//! Plain numbers in the gauge's own unit; no rule about pressures lives here. All paths are
//! on a square of 200 x 200 with the pivot in the middle. A dial sweeps 270 degrees,
//! clockwise, from half past seven to half past four, as industrial gauges do.

use std::fmt::Write as _;

/// Side of the square that the paths are drawn on.
const SIDE: f64 = 200.0;
const PIVOT: f64 = SIDE / 2.0;
/// Angle of the low end of the scale, degrees clockwise from twelve o'clock.
const FIRST_DEGREES: f64 = -135.0;
const SWEEP_DEGREES: f64 = 270.0;

const RIM: f64 = 92.0;
const MAJOR_FOOT: f64 = 77.0;
const MIDDLE_FOOT: f64 = 81.0;
const MINOR_FOOT: f64 = 85.0;
const NUMERAL_RING: f64 = 62.0;
const BAND_RING: f64 = 95.0;

/// A band narrower than this could not be seen at arm's length.
const BAND_DEGREES_MIN: f64 = 3.0;
/// How far past the ends of its scale a needle can be drawn, as a share of the span.
const BEYOND: f64 = 0.035;
/// Touches nearer to the pivot than this share of the radius choose the gauge and set nothing.
const HUB: f64 = 0.45;
/// Touches in the gap at the foot, this far past an end, set nothing either.
const GAP_DEGREES: f64 = 12.0;

/// A span and its divisions, in the gauge's own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Value at the low end.
    pub low: f64,
    /// Value at the high end.
    pub high: f64,
    /// Distance between neighbouring marks.
    pub division: f64,
}

/// A numeral on the dial and the middle of its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Numeral {
    /// From the left edge of the square.
    pub x: f64,
    /// From the upper edge of the square.
    pub y: f64,
    /// As printed.
    pub text: String,
}

/// A dial face as path commands (SVG path syntax) and numerals.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Face {
    /// The arc along the rim.
    pub scale: String,
    /// The long marks, one at each numeral.
    pub major: String,
    /// All other marks.
    pub minor: String,
    /// The expected band; empty where nothing is expected.
    pub band: String,
    /// The numerals.
    pub numerals: Vec<Numeral>,
}

impl Scale {
    fn span(self) -> f64 {
        self.high - self.low
    }

    fn degrees(self, value: f64) -> f64 {
        FIRST_DEGREES + SWEEP_DEGREES * (value - self.low) / self.span()
    }

    /// Returns the needle's angle, degrees clockwise from twelve o'clock, for a value; a value
    /// off the scale stands just past the end it left.
    #[must_use]
    pub fn needle_degrees(self, value: f64) -> f64 {
        let share = (value - self.low) / self.span();
        FIRST_DEGREES + SWEEP_DEGREES * share.clamp(-BEYOND, 1.0 + BEYOND)
    }

    /// Returns where on the scale a touch lies, 0 at the low end and 1 at the high end, or
    /// `None` for a touch that means the gauge as a whole: near the pivot or in the gap.
    ///
    /// `x` and `y` are shares of the dial's side from its upper left corner.
    #[must_use]
    pub fn fraction_at(x: f64, y: f64) -> Option<f64> {
        let (right, up) = (2.0 * x - 1.0, 1.0 - 2.0 * y);
        if right.hypot(up) < HUB {
            return None;
        }
        let degrees = right.atan2(up).to_degrees();
        if degrees.abs() > -FIRST_DEGREES + GAP_DEGREES {
            return None;
        }
        Some(((degrees - FIRST_DEGREES) / SWEEP_DEGREES).clamp(0.0, 1.0))
    }

    /// Returns the distance between numerals: round, dividing the span, and as close as the
    /// length of the numerals leaves room for; at marks where the division allows it.
    fn numeral_step(self) -> f64 {
        let step = self.round_step(true).or_else(|| self.round_step(false));
        step.unwrap_or_else(|| self.span())
    }

    fn round_step(self, only_at_marks: bool) -> Option<f64> {
        for power in -4..7_i32 {
            for mantissa in [1.0, 2.0, 2.5, 4.0, 5.0] {
                let step = mantissa * 10_f64.powi(power);
                let count = self.span() / step;
                let fits = is_whole(count) && (!only_at_marks || is_whole(step / self.division));
                let letters = plain(self.low + step, step)
                    .len()
                    .max(plain(self.high, step).len());
                let most = match letters {
                    0..=2 => 8.5,
                    3 => 6.5,
                    _ => 5.5,
                };
                // Two numerals would be no scale.
                if fits && count <= most && count > 1.5 {
                    return Some(step);
                }
            }
        }
        None
    }

    /// Draws the face, with the expected band from the first to the second value if given.
    #[must_use]
    pub fn face(self, band: Option<(f64, f64)>) -> Face {
        if !(self.span() > 0.0 && self.division > 0.0) {
            return Face::default();
        }
        let step = self.numeral_step();
        let mut face = Face {
            scale: arc(RIM, FIRST_DEGREES, FIRST_DEGREES + SWEEP_DEGREES),
            ..Face::default()
        };
        for index in 0..=count(self.span() / step) {
            let value = self.low + f64::from(index) * step;
            let degrees = self.degrees(value);
            mark(&mut face.major, MAJOR_FOOT, degrees);
            let (x, y) = point(NUMERAL_RING, degrees);
            let text = plain(value, step);
            face.numerals.push(Numeral { x, y, text });
        }
        for index in 0..=count(self.span() / self.division) {
            let value = f64::from(index) * self.division;
            if is_whole(value / step) {
                continue;
            }
            let foot = if is_whole(2.0 * value / step) {
                MIDDLE_FOOT
            } else {
                MINOR_FOOT
            };
            mark(&mut face.minor, foot, self.degrees(self.low + value));
        }
        keep_square(&mut face.major);
        keep_square(&mut face.minor);
        if let Some((from, to)) = band {
            face.band = self.band(from, to);
        }
        face
    }

    fn band(self, from: f64, to: f64) -> String {
        if to < self.low || from > self.high || to < from {
            return String::new();
        }
        let mut first = self.degrees(from.max(self.low));
        let mut last = self.degrees(to.min(self.high));
        let lacking = BAND_DEGREES_MIN - (last - first);
        if lacking > 0.0 {
            first -= lacking / 2.0;
            last += lacking / 2.0;
        }
        arc(BAND_RING, first, last)
    }
}

fn is_whole(value: f64) -> bool {
    (value - value.round()).abs() < 1e-6
}

/// At most some hundreds of marks fit on any dial, so a count beyond that is cut off.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to a small range first"
)]
fn count(value: f64) -> u16 {
    value.round().clamp(0.0, 400.0) as u16
}

/// Writes a numeral with the decimals its step needs and no more.
fn plain(value: f64, step: f64) -> String {
    let decimals = (0..4)
        .find(|power| is_whole(step * 10_f64.powi(*power)))
        .unwrap_or(4);
    let text = format!("{value:.*}", usize::try_from(decimals).unwrap_or(0));
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

fn point(radius: f64, degrees: f64) -> (f64, f64) {
    let angle = degrees.to_radians();
    (PIVOT + radius * angle.sin(), PIVOT - radius * angle.cos())
}

fn mark(path: &mut String, foot: f64, degrees: f64) {
    let (x1, y1) = point(RIM, degrees);
    let (x2, y2) = point(foot, degrees);
    // Writing to a string cannot fail.
    let _ = write!(path, "M {x1:.2} {y1:.2} L {x2:.2} {y2:.2} ");
}

/// Paths are placed by their bounding square; empty moves to its corners keep it whole.
fn keep_square(path: &mut String) {
    let _ = write!(path, "M 0 0 M {SIDE} {SIDE}");
}

fn arc(radius: f64, from: f64, to: f64) -> String {
    let (x1, y1) = point(radius, from);
    let (x2, y2) = point(radius, to);
    let is_large = u8::from(to - from > 180.0);
    let mut path = format!("M {x1:.2} {y1:.2} A {radius} {radius} 0 {is_large} 1 {x2:.2} {y2:.2} ");
    keep_square(&mut path);
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(low: f64, high: f64, division: f64) -> Scale {
        Scale {
            low,
            high,
            division,
        }
    }

    fn numerals(scale: Scale) -> Vec<String> {
        let face = scale.face(None);
        face.numerals.into_iter().map(|n| n.text).collect()
    }

    #[test]
    fn numerals_are_round_and_leave_room() {
        let expected: [(Scale, &[&str]); 8] = [
            (
                scale(0.0, 16.0, 0.3),
                &["0", "2", "4", "6", "8", "10", "12", "14", "16"],
            ),
            (
                scale(0.0, 16.0, 0.5),
                &["0", "2", "4", "6", "8", "10", "12", "14", "16"],
            ),
            (scale(0.0, 10.0, 0.2), &["0", "2", "4", "6", "8", "10"]),
            (scale(0.0, 4.0, 0.1), &["0", "1", "2", "3", "4"]),
            (scale(0.0, 2.5, 0.05), &["0", "0.5", "1", "1.5", "2", "2.5"]),
            (
                scale(0.0, 250.0, 5.0),
                &["0", "50", "100", "150", "200", "250"],
            ),
            (
                scale(0.0, 1600.0, 50.0),
                &["0", "400", "800", "1200", "1600"],
            ),
            (scale(-1.0, 5.0, 0.1), &["-1", "0", "1", "2", "3", "4", "5"]),
        ];
        for (scale, texts) in expected {
            assert_eq!(numerals(scale), texts, "{scale:?}");
        }
    }

    #[test]
    fn needle_stands_at_its_share_of_the_sweep() {
        let dial = scale(0.0, 16.0, 0.5);
        let close = |value: f64, degrees: f64| (dial.needle_degrees(value) - degrees).abs() < 1e-9;
        assert!(close(0.0, -135.0));
        assert!(close(8.0, 0.0));
        assert!(close(16.0, 135.0));
        assert!(
            dial.needle_degrees(150.0) > 135.0,
            "over span is past the end"
        );
        assert!(dial.needle_degrees(150.0) < 150.0, "but still on the dial");
    }

    #[test]
    fn finger_on_the_scale_means_the_value_under_it() {
        // Twelve o'clock is half the sweep, three o'clock five sixths, nine o'clock one sixth.
        for (x, y, fraction) in [
            (0.5, 0.03, 0.5),
            (0.97, 0.5, 5.0 / 6.0),
            (0.03, 0.5, 1.0 / 6.0),
        ] {
            let found = Scale::fraction_at(x, y).expect("on the scale");
            assert!((found - fraction).abs() < 1e-9, "{x} {y}: {found}");
        }
    }

    #[test]
    fn finger_on_the_hub_or_in_the_gap_sets_nothing() {
        for (x, y) in [(0.5, 0.5), (0.6, 0.55), (0.5, 0.97), (0.4, 0.95)] {
            assert_eq!(Scale::fraction_at(x, y), None, "{x} {y}");
        }
    }

    #[test]
    fn finger_and_needle_agree_all_along_the_scale() {
        let dial = scale(0.0, 10.0, 0.2);
        for step in 0..=50_u8 {
            let value = f64::from(step) / 5.0;
            let (x, y) = point(80.0, dial.needle_degrees(value));
            let fraction = Scale::fraction_at(x / SIDE, y / SIDE).expect("on the scale");
            assert!((fraction * 10.0 - value).abs() < 1e-6, "{value}");
        }
    }

    #[test]
    fn band_off_the_scale_is_not_drawn_and_a_thin_one_is_widened() {
        let dial = scale(0.0, 4.0, 0.1);
        assert!(dial.face(Some((5.0, 6.0))).band.is_empty());
        assert!(dial.face(None).band.is_empty());
        assert!(!dial.face(Some((2.0, 2.0))).band.is_empty());
    }

    #[test]
    fn dial_without_a_span_has_an_empty_face() {
        assert_eq!(scale(4.0, 4.0, 0.1).face(None), Face::default());
        assert_eq!(scale(0.0, 4.0, 0.0).face(None), Face::default());
    }
}
