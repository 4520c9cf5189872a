//! The arithmetic of a verdict, line by line, as data.
//!
//! A screen words these lines and a file writes them; neither computes. Not here: any text for
//! people.

use super::budget::Source;
use super::judgement::{Judged, OUTSIDE_AT_MOST, WITHIN_AT_LEAST};
use crate::units::Typed;

/// What a line of the arithmetic does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StepKind {
    /// The reading as typed, in pascals.
    AsRead,
    /// The water column between gauge and datum.
    HeadCorrection,
    /// The reading at the datum.
    AtDatum,
    /// The value aimed at.
    Target,
    /// The lower end of the band.
    Low,
    /// The upper end of the band.
    High,
    /// One line of the uncertainty budget.
    Contribution(Source),
    /// All of them combined.
    Combined,
    /// Distance of the reading above the lower end, in combined uncertainties.
    AboveLow,
    /// Distance of the reading below the upper end, in combined uncertainties.
    BelowHigh,
    /// The probability of lying in the band.
    Probability,
    /// The verdict it leads to.
    Verdict,
}

impl StepKind {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::AsRead => "as-read",
            Self::HeadCorrection => "head-correction",
            Self::AtDatum => "at-datum",
            Self::Target => "target",
            Self::Low => "low",
            Self::High => "high",
            Self::Contribution(source) => source.code(),
            Self::Combined => "combined-uncertainty",
            Self::AboveLow => "above-low",
            Self::BelowHigh => "below-high",
            Self::Probability => "probability",
            Self::Verdict => "verdict",
        }
    }
}

/// A figure in the arithmetic, with what it measures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// Digits and unit as typed.
    Typed(Typed),
    /// Pascals.
    Pascal(f64),
    /// A pure number.
    Number(f64),
    /// A probability, 0 to 1.
    Probability(f64),
    /// A stable code, such as that of a verdict or a basis.
    Code(&'static str),
}

/// A named input of a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// Stable name, also the key in `--json`.
    pub name: &'static str,
    /// The figure.
    pub amount: Amount,
}

/// One line: what is done, from what, giving what.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What is done.
    pub kind: StepKind,
    /// What goes in.
    pub inputs: Vec<Term>,
    /// What comes out.
    pub result: Amount,
}

fn step(kind: StepKind, inputs: &[(&'static str, Amount)], result: Amount) -> Step {
    let inputs = inputs
        .iter()
        .map(|&(name, amount)| Term { name, amount })
        .collect();
    Step {
        kind,
        inputs,
        result,
    }
}

impl Judged {
    /// The whole arithmetic in the order it is done.
    #[must_use]
    pub fn steps(&self) -> Vec<Step> {
        let mut steps = self.reading_steps();
        steps.extend(self.band_steps());
        steps.extend(self.contributions.iter().map(|line| {
            step(
                StepKind::Contribution(line.source),
                &[
                    ("half_width_pa", Amount::Pascal(line.half_width_pa)),
                    ("shape", Amount::Code(line.shape.code())),
                    ("factor", Amount::Number(line.shape.factor())),
                    ("sensitivity", Amount::Number(line.sensitivity)),
                ],
                Amount::Pascal(line.uncertainty_pa()),
            )
        }));
        steps.extend(self.conclusion_steps());
        steps
    }

    fn reading_steps(&self) -> Vec<Step> {
        let as_read = self.typed.to_pressure().as_f64_pa();
        let mut steps = vec![step(
            StepKind::AsRead,
            &[("typed", Amount::Typed(self.typed))],
            Amount::Pascal(as_read),
        )];
        if self.correction.pa() != 0 {
            let head = Amount::Pascal(self.correction.as_f64_pa());
            steps.push(step(StepKind::HeadCorrection, &[], head));
            steps.push(step(
                StepKind::AtDatum,
                &[("as_read", Amount::Pascal(as_read)), ("head", head)],
                Amount::Pascal(self.observed.as_f64_pa()),
            ));
        }
        steps
    }

    fn band_steps(&self) -> [Step; 3] {
        let band = self.expectation;
        let mut from = vec![("basis", Amount::Code(band.basis.code()))];
        if let Some(ratio) = self.ratio {
            from.push(("ratio", Amount::Number(ratio)));
        }
        let target = Amount::Pascal(band.target.as_f64_pa());
        [
            step(StepKind::Target, &from, target),
            step(
                StepKind::Low,
                &[("target", target)],
                Amount::Pascal(band.low.as_f64_pa()),
            ),
            step(
                StepKind::High,
                &[("target", target)],
                Amount::Pascal(band.high.as_f64_pa()),
            ),
        ]
    }

    fn conclusion_steps(&self) -> [Step; 5] {
        let u = self.uncertainty_pa;
        let (above, below) = (self.above_low(), self.below_high());
        let probability = Amount::Probability(self.probability);
        let by_u = ("uncertainty", Amount::Pascal(u));
        [
            step(StepKind::Combined, &[], Amount::Pascal(u)),
            step(StepKind::AboveLow, &[by_u], Amount::Number(above)),
            step(StepKind::BelowHigh, &[by_u], Amount::Number(below)),
            step(
                StepKind::Probability,
                &[
                    ("above_low", Amount::Number(above)),
                    ("below_high", Amount::Number(below)),
                ],
                probability,
            ),
            step(
                StepKind::Verdict,
                &[
                    ("probability", probability),
                    ("within_at_least", Amount::Probability(WITHIN_AT_LEAST)),
                    ("outside_at_most", Amount::Probability(OUTSIDE_AT_MOST)),
                ],
                Amount::Code(self.verdict.code()),
            ),
        ]
    }
}
