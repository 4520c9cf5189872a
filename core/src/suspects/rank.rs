//! How probable each cause is, given what speaks for it.

use super::cause::Cause;

/// Prior weight of each cause among the causes, by [`Cause::index`], before anything is seen.
///
/// Invented from what such stations usually need: common practice, no source.
const PRIOR: [f64; Cause::COUNT] = [
    1.0,  // supply-low
    0.3,  // supply-high
    1.0,  // strainer-blocking
    1.0,  // first-stage-passing
    0.2,  // first-stage-sticking
    1.0,  // second-stage-rising
    1.0,  // second-stage-falling
    1.0,  // second-stage-open
    1.0,  // set-point-moved
    0.3,  // inlet-gauge-wrong
    1.0,  // interstage-gauge-wrong
    1.0,  // outlet-gauge-wrong
    1.0,  // gauge-stuck
    0.05, // entry-slip
];

/// One cause and how probable it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Suspect {
    /// The cause.
    pub cause: Cause,
    /// Its probability, 0 to 1.
    pub probability: f64,
}

/// Probabilities of all causes; they add up to one, or are all zero where nothing speaks for any.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranking {
    probabilities: [f64; Cause::COUNT],
}

impl Ranking {
    /// Weighs evidence with the priors.
    ///
    /// `ln_evidence` holds, by [`Cause::index`], the natural logarithm of how much better each
    /// cause explains the visits than chance does; minus infinity where nothing speaks for it.
    #[must_use]
    pub fn from_evidence(ln_evidence: &[f64; Cause::COUNT]) -> Self {
        let mut ln = *ln_evidence;
        for (value, prior) in ln.iter_mut().zip(PRIOR) {
            *value += prior.ln();
        }
        Self::from_ln_weights(&ln)
    }

    /// Makes probabilities of logarithmic weights.
    #[must_use]
    pub fn from_ln_weights(ln_weights: &[f64; Cause::COUNT]) -> Self {
        let most = ln_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if !most.is_finite() {
            return Self {
                probabilities: [0.0; Cause::COUNT],
            };
        }
        let weights = ln_weights.map(|ln| if ln.is_nan() { 0.0 } else { (ln - most).exp() });
        let total: f64 = weights.iter().sum();
        Self {
            probabilities: weights.map(|weight| weight / total),
        }
    }

    /// The probability of one cause.
    #[must_use]
    pub const fn of(&self, cause: Cause) -> f64 {
        self.probabilities[cause.index()]
    }

    /// The probabilities, by [`Cause::index`], exactly as they are kept.
    pub(crate) const fn probabilities(&self) -> [f64; Cause::COUNT] {
        self.probabilities
    }

    /// The ranking with exactly these probabilities; `None` where one is none.
    pub(crate) fn from_probabilities(probabilities: [f64; Cause::COUNT]) -> Option<Self> {
        let is_sound = probabilities.iter().all(|one| (0.0..=1.0).contains(one));
        is_sound.then_some(Self { probabilities })
    }

    /// The most probable cause; `None` where nothing speaks for any.
    #[must_use]
    pub fn first(&self) -> Option<Cause> {
        self.in_order().first().map(|suspect| suspect.cause)
    }

    /// All causes with a probability above zero, most probable first.
    #[must_use]
    pub fn in_order(&self) -> Vec<Suspect> {
        let mut all: Vec<Suspect> = Cause::ALL
            .into_iter()
            .map(|cause| Suspect {
                cause,
                probability: self.of(cause),
            })
            .filter(|suspect| suspect.probability > 0.0)
            .collect();
        all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        all
    }
}
