//! Small things that figures and tables share: signs, ticks of an axis, numbers as they are drawn.

use super::document::Sign;
use super::marks::{Ink, Mark, Outline, Part, Pen};

/// A length or value as the page counts them.
#[allow(
    clippy::cast_possible_truncation,
    reason = "a page is drawn to a hundredth of a point, far coarser than f32"
)]
#[must_use]
pub const fn points(value: f64) -> f32 {
    value as f32
}

/// A count as a length.
#[must_use]
pub fn count(number: usize) -> f32 {
    f32::from(u16::try_from(number).unwrap_or(u16::MAX))
}

/// The shape of a sign around a middle, `radius` half its height.
#[must_use]
pub fn sign(part: Part, sign: Sign, x: f32, y: f32, radius: f32) -> Vec<Mark> {
    let pen = |ink| Pen::solid(ink, (radius * 0.32).max(0.7));
    let ring = |ink| Mark::stroke(part, Outline::circle(x, y, radius * 0.86), pen(ink));
    let stroke = |path: &[(f32, f32)], ink| Mark::stroke(part, Outline::through(path), pen(ink));
    match sign {
        Sign::Within => vec![ring(Ink::Within)],
        Sign::Unsure => {
            let half = Outline::arc(x, y, radius * 0.86, 180.0, 360.0).closed();
            vec![Mark::fill(part, half, Ink::Unsure), ring(Ink::Unsure)]
        }
        Sign::Outside => vec![Mark::fill(part, diamond(x, y, radius * 1.12), Ink::Outside)],
        Sign::Done => vec![stroke(
            &[
                (x - 0.9 * radius, y + 0.05 * radius),
                (x - 0.25 * radius, y + 0.75 * radius),
                (x + 0.95 * radius, y - 0.75 * radius),
            ],
            Ink::Black,
        )],
        Sign::PassedOver => vec![
            stroke(&[(x - radius, y), (x + radius, y)], Ink::Black),
            stroke(
                &[
                    (x + 0.35 * radius, y - 0.65 * radius),
                    (x + radius, y),
                    (x + 0.35 * radius, y + 0.65 * radius),
                ],
                Ink::Black,
            ),
        ],
        Sign::TakenBack => {
            let r = 0.75 * radius;
            vec![
                stroke(&[(x - r, y - r), (x + r, y + r)], Ink::Black),
                stroke(&[(x - r, y + r), (x + r, y - r)], Ink::Black),
            ]
        }
        Sign::Open => {
            let r = 0.75 * radius;
            let square = Outline::rect(x - r, y - r, 2.0 * r, 2.0 * r);
            vec![Mark::stroke(part, square, pen(Ink::Black))]
        }
        Sign::Caution => {
            let r = 1.15 * radius;
            let corners = [
                (x, y - r),
                (x + r * 1.08, y + r * 0.82),
                (x - r * 1.08, y + r * 0.82),
            ];
            let stem = Outline::line(x, y - 0.3 * r, x, y + 0.25 * r);
            let dot = Outline::circle(x, y + 0.52 * r, 0.12 * r);
            vec![
                Mark::stroke(part, Outline::polygon(&corners), pen(Ink::Black)),
                Mark::stroke(part, stem, Pen::solid(Ink::Black, radius * 0.26)),
                Mark::fill(part, dot, Ink::Black),
            ]
        }
    }
}

/// A square on its corner.
#[must_use]
pub fn diamond(x: f32, y: f32, radius: f32) -> Outline {
    Outline::polygon(&[
        (x, y - radius),
        (x + radius, y),
        (x, y + radius),
        (x - radius, y),
    ])
}

/// Round values for the ticks of an axis: from, step and how many steps, so that all of `low` to
/// `high` is inside and there are about `wanted` of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ticks {
    /// The first value.
    pub first: f64,
    /// Distance between them.
    pub step: f64,
    /// How many steps there are.
    pub steps: u16,
}

impl Ticks {
    /// Finds them.
    #[must_use]
    pub fn around(low: f64, high: f64, wanted: f64) -> Self {
        let (low, high) = if (high - low).is_finite() {
            (low, high)
        } else {
            (0.0, 1.0)
        };
        // An axis on which everything is alike still needs a length.
        let least = (low.abs().max(high.abs()) * 0.02).max(1.0e-3);
        let spread = (high - low).max(least);
        let rough = spread / wanted;
        let power = 10_f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 2.5, 5.0, 10.0]
            .into_iter()
            .map(|mantissa| mantissa * power)
            .find(|step| *step >= rough * 0.999)
            .unwrap_or(10.0 * power);
        let first = (low / step + 1.0e-9).floor() * step;
        let count = ((low + spread - first) / step - 1.0e-9).ceil();
        Self {
            first,
            step,
            steps: steps(count),
        }
    }

    /// The last value.
    #[must_use]
    pub fn last(&self) -> f64 {
        self.first + self.step * f64::from(self.steps)
    }

    /// The values in order.
    pub fn values(&self) -> impl Iterator<Item = f64> {
        let Self { first, step, steps } = *self;
        (0..=steps).map(move |index| first + step * f64::from(index))
    }

    /// A value with the places its step needs.
    #[must_use]
    pub fn text(&self, value: f64) -> String {
        let is_whole = |value: f64| (value - value.round()).abs() < 1.0e-6;
        let places = (0..4)
            .find(|&places| is_whole(self.step * 10_f64.powi(places)))
            .unwrap_or(4);
        let text = format!("{value:.*}", usize::try_from(places).unwrap_or(0));
        // What rounds to nought is nought, without a sign.
        if text
            .trim_start_matches('-')
            .chars()
            .all(|c| c == '0' || c == '.')
        {
            text.trim_start_matches('-').to_owned()
        } else {
            text.replace('-', "\u{2212}")
        }
    }
}

/// A chart has some tens of ticks at most.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to a small range first"
)]
fn steps(count: f64) -> u16 {
    count.clamp(1.0, 60.0) as u16
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_hold_everything() {
        for (low, high) in [
            (0.0, 1.0),
            (1.62, 2.31),
            (-0.25, 3.5),
            (9.9, 9.9),
            (8.0, 16.0),
        ] {
            let ticks = Ticks::around(low, high, 5.0);
            assert!(
                ticks.first <= low + 1e-9 && ticks.last() >= high - 1e-9,
                "{ticks:?}"
            );
            assert!((2..=8).contains(&(ticks.steps + 1)), "{ticks:?}");
        }
        let ticks = Ticks::around(1.62, 2.31, 5.0);
        let texts: Vec<String> = ticks.values().map(|value| ticks.text(value)).collect();
        assert_eq!(texts, ["1.6", "1.8", "2.0", "2.2", "2.4"]);
        assert_eq!(
            Ticks::around(f64::NAN, 1.0, 5.0),
            Ticks::around(0.0, 1.0, 5.0)
        );
    }

    #[test]
    fn negative_numbers_carry_a_minus_and_nought_none() {
        let ticks = Ticks::around(-1.0, 1.0, 4.0);
        let texts: Vec<String> = ticks.values().map(|value| ticks.text(value)).collect();
        assert_eq!(texts, ["\u{2212}1.0", "\u{2212}0.5", "0.0", "0.5", "1.0"]);
    }
}
