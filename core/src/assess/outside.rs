//! A pressure outside its band: said when it begins, not at every visit.

use crate::station::Quantity;
use crate::suspects::{Cause, Ranking};
use crate::watch::{FlagQuantity, Watched};

/// Visits outside in a row before it is said: one alone may be a look gone wrong, and a change
/// that is sure at once is raised by the watch anyway.
const IN_A_ROW: u8 = 2;

/// Visits not outside in a row before it counts as over.
const OVER_AFTER: u8 = 3;

/// One quantity's course in and out of its band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Band {
    pub outside: u8,
    pub inside: u8,
    pub is_raised: bool,
}

impl Band {
    /// Takes in a verdict; true when "outside" is to be raised now.
    pub fn take(&mut self, is_outside: bool) -> bool {
        if is_outside {
            self.outside = self.outside.saturating_add(1);
            self.inside = 0;
        } else {
            self.outside = 0;
            self.inside = self.inside.saturating_add(1);
        }
        if self.inside >= OVER_AFTER {
            self.is_raised = false;
        }
        let raises = self.outside >= IN_A_ROW && !self.is_raised;
        self.is_raised |= raises;
        raises
    }
}

/// The watched quantity that a gauge's band is about.
pub(super) const fn watched(quantity: Quantity) -> Watched {
    match quantity {
        Quantity::Inlet => Watched::Inlet,
        Quantity::Interstage => Watched::FirstStage,
        Quantity::Outlet => Watched::Outlet,
    }
}

/// What a flag of a gauge's band is about.
pub(super) const fn flag_quantity(quantity: Quantity) -> FlagQuantity {
    match quantity {
        Quantity::Inlet => FlagQuantity::Inlet,
        Quantity::Interstage => FlagQuantity::FirstStage,
        Quantity::Outlet => FlagQuantity::Outlet,
    }
}

/// Suspects where only the direction is known: common practice, no source.
pub(super) fn suspects(quantity: Quantity, is_high: bool) -> Ranking {
    let weights: &[(Cause, f64)] = match (quantity, is_high) {
        (Quantity::Inlet, false) => &[
            (Cause::SupplyLow, 0.5),
            (Cause::StrainerBlocking, 0.35),
            (Cause::InletGaugeWrong, 0.15),
        ],
        (Quantity::Inlet, true) => &[(Cause::SupplyHigh, 0.7), (Cause::InletGaugeWrong, 0.3)],
        (Quantity::Interstage, true) => &[
            (Cause::FirstStagePassing, 0.5),
            (Cause::InterstageGaugeWrong, 0.4),
            (Cause::FirstStageSticking, 0.1),
        ],
        (Quantity::Interstage, false) => &[
            (Cause::InterstageGaugeWrong, 0.7),
            (Cause::FirstStageSticking, 0.3),
        ],
        (Quantity::Outlet, true) => &[
            (Cause::SetPointMoved, 0.35),
            (Cause::OutletGaugeWrong, 0.3),
            (Cause::SecondStageRising, 0.25),
            (Cause::SecondStageOpen, 0.1),
        ],
        (Quantity::Outlet, false) => &[
            (Cause::SetPointMoved, 0.4),
            (Cause::OutletGaugeWrong, 0.35),
            (Cause::SecondStageFalling, 0.25),
        ],
    };
    let mut ln = [f64::NEG_INFINITY; Cause::COUNT];
    for (cause, weight) in weights {
        ln[cause.index()] = weight.ln();
    }
    Ranking::from_ln_weights(&ln)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outside_is_said_once_until_it_is_over() {
        let mut band = Band::default();
        let course = [
            true, true, true, false, true, true, false, false, false, true, true,
        ];
        let said: Vec<bool> = course.into_iter().map(|out| band.take(out)).collect();
        let wanted = [
            false, true, false, false, false, false, false, false, false, false, true,
        ];
        assert_eq!(said, wanted);
    }
}
