//! How soon the watch speaks: thresholds and weights, chosen on simulated fleets.
//!
//! Chosen on development seeds only; the figures in the documentation come from other seeds.
//! Not how probable causes are: that is in [`crate::suspects`].

use super::evidence::Evidence;
use super::log_sum::LogSum;
use crate::suspects::Cause;

/// Usual lasting spreads of inlet, first stage and outlet, as shares: common practice, no source.
/// The inlet's is that of 2.2 % with a weekly correlation of 0.6.
const USUAL_SPREADS: [f64; 3] = [0.0423, 0.0155, 0.0125];

/// Thresholds and weights of the watch, all as natural logarithms.
///
/// A cause that is found at once anyway needs little weight; one that hides needs more. Starts
/// within the last few visits ("young") and earlier ones ("old") are weighted apart, because what
/// was not found early need not be found in haste.
#[derive(Debug, Clone, PartialEq)]
pub struct Weights {
    /// A flag is raised when the weighted evidence exceeds this.
    pub speak_at: f64,
    /// Weights of young starts, by [`Cause::index`].
    pub young: [f64; Cause::COUNT],
    /// Weights of old starts, by [`Cause::index`].
    pub old: [f64; Cause::COUNT],
    /// Weights of the inlet, interstage and outlet gauge being stuck.
    pub stuck: [f64; 3],
    /// Weight taken from a quantity's causes for each e-fold of its spread above the usual one:
    /// faults do not grow with the scatter, so that small ones are told from it less surely.
    pub scatter: f64,
}

impl Default for Weights {
    fn default() -> Self {
        let (mut young, mut old) = ([0.0; Cause::COUNT], [0.0; Cause::COUNT]);
        for (cause, ln_young, ln_old) in [
            (Cause::SupplyLow, -1.5, 0.0),
            (Cause::SupplyHigh, -1.5, 0.0),
            (Cause::StrainerBlocking, -0.5, 1.1),
            (Cause::FirstStagePassing, 0.5, 0.5),
            (Cause::FirstStageSticking, 0.0, 0.0),
            (Cause::SecondStageRising, 2.0, 0.2),
            (Cause::SecondStageFalling, 2.0, 0.2),
            (Cause::SecondStageOpen, -1.5, 0.0),
            (Cause::SetPointMoved, 0.0, 0.5),
            (Cause::InletGaugeWrong, -1.5, -1.5),
            (Cause::InterstageGaugeWrong, -0.5, 0.0),
            (Cause::OutletGaugeWrong, -1.5, 0.0),
        ] {
            young[cause.index()] = ln_young;
            old[cause.index()] = ln_old;
        }
        Self {
            speak_at: 8.9,
            young,
            old,
            stuck: [-1.0, -1.0, 2.7],
            scatter: 2.2,
        }
    }
}

impl Weights {
    /// The weighted evidence of all causes together; `spreads` as [`USUAL_SPREADS`].
    pub(super) fn total(&self, evidence: &Evidence, spreads: [Option<f64>; 3]) -> f64 {
        let mut total = LogSum::NOTHING;
        for cause in Cause::ALL {
            let index = cause.index();
            let quantity = home(cause);
            let excess = spreads[quantity].map_or(0.0, |spread| {
                (spread / USUAL_SPREADS[quantity]).ln().max(0.0)
            });
            let less = self.scatter * excess;
            total.add(evidence.young[index] + self.young[index] - less);
            total.add(evidence.old[index] + self.old[index] - less);
        }
        total.ln()
    }
}

/// The quantity whose scatter hides a cause most.
const fn home(cause: Cause) -> usize {
    match cause {
        Cause::SupplyLow | Cause::SupplyHigh | Cause::StrainerBlocking | Cause::InletGaugeWrong => {
            0
        }
        Cause::FirstStagePassing | Cause::FirstStageSticking | Cause::InterstageGaugeWrong => 1,
        Cause::SecondStageRising
        | Cause::SecondStageFalling
        | Cause::SecondStageOpen
        | Cause::SetPointMoved
        | Cause::OutletGaugeWrong
        | Cause::GaugeStuck
        | Cause::EntrySlip => 2,
    }
}
