//! The faults a simulated station can have: what they do, when they begin, how strong they are.
//!
//! Magnitudes are invented but close to practice. Slips of the pen are in `slip`.

use super::dice::Dice;
use crate::suspects::Cause;

/// What goes wrong at a simulated station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FaultKind {
    /// The pilot creeps upwards: a share of the set point each week.
    PilotCreepUp,
    /// The pilot creeps downwards: a share of the set point each week.
    PilotCreepDown,
    /// The adjusting screw was turned: a share of the set point, either way, at once.
    SetPointMoved,
    /// The first stage passes: the interstage pressure rises by a share of itself each week.
    FirstStagePassing,
    /// The first stage sticks: a share of the interstage pressure lost or gained to friction.
    FirstStageSticking,
    /// The strainer fills: the share of the inlet pressure lost after 26 weeks.
    StrainerBlocking,
    /// The second stage stands open; the magnitude is not used.
    SecondStageOpen,
    /// The inlet gauge is off by a share of its span, either way, at once.
    InletGaugeOff,
    /// The interstage gauge is off by a share of its span, either way, at once.
    InterstageGaugeOff,
    /// The outlet gauge is off by a share of its span, either way, at once.
    OutletGaugeOff,
    /// The inlet gauge shows what it showed last, for ever; the magnitude is not used.
    InletGaugeStuck,
    /// The interstage gauge shows what it showed last, for ever; the magnitude is not used.
    InterstageGaugeStuck,
    /// The outlet gauge shows what it showed last, for ever; the magnitude is not used.
    OutletGaugeStuck,
    /// The main delivers less, by a share of its usual pressure, at once.
    SupplyLow,
    /// The main delivers more, by a share of its usual pressure, at once.
    SupplyHigh,
}

impl FaultKind {
    /// Every kind.
    pub const ALL: [Self; 15] = [
        Self::PilotCreepUp,
        Self::PilotCreepDown,
        Self::SetPointMoved,
        Self::FirstStagePassing,
        Self::FirstStageSticking,
        Self::StrainerBlocking,
        Self::SecondStageOpen,
        Self::InletGaugeOff,
        Self::InterstageGaugeOff,
        Self::OutletGaugeOff,
        Self::InletGaugeStuck,
        Self::InterstageGaugeStuck,
        Self::OutletGaugeStuck,
        Self::SupplyLow,
        Self::SupplyHigh,
    ];

    /// A stable name for tables and truth files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::PilotCreepUp => "pilot-creep-up",
            Self::PilotCreepDown => "pilot-creep-down",
            Self::SetPointMoved => "set-point-moved",
            Self::FirstStagePassing => "first-stage-passing",
            Self::FirstStageSticking => "first-stage-sticking",
            Self::StrainerBlocking => "strainer-blocking",
            Self::SecondStageOpen => "second-stage-open",
            Self::InletGaugeOff => "inlet-gauge-off",
            Self::InterstageGaugeOff => "interstage-gauge-off",
            Self::OutletGaugeOff => "outlet-gauge-off",
            Self::InletGaugeStuck => "inlet-gauge-stuck",
            Self::InterstageGaugeStuck => "interstage-gauge-stuck",
            Self::OutletGaugeStuck => "outlet-gauge-stuck",
            Self::SupplyLow => "supply-low",
            Self::SupplyHigh => "supply-high",
        }
    }

    /// The cause that a right diagnosis names first.
    #[must_use]
    pub const fn cause(self) -> Cause {
        match self {
            Self::PilotCreepUp => Cause::SecondStageRising,
            Self::PilotCreepDown => Cause::SecondStageFalling,
            Self::SetPointMoved => Cause::SetPointMoved,
            Self::FirstStagePassing => Cause::FirstStagePassing,
            Self::FirstStageSticking => Cause::FirstStageSticking,
            Self::StrainerBlocking => Cause::StrainerBlocking,
            Self::SecondStageOpen => Cause::SecondStageOpen,
            Self::InletGaugeOff => Cause::InletGaugeWrong,
            Self::InterstageGaugeOff => Cause::InterstageGaugeWrong,
            Self::OutletGaugeOff => Cause::OutletGaugeWrong,
            Self::InletGaugeStuck | Self::InterstageGaugeStuck | Self::OutletGaugeStuck => {
                Cause::GaugeStuck
            }
            Self::SupplyLow => Cause::SupplyLow,
            Self::SupplyHigh => Cause::SupplyHigh,
        }
    }

    /// Draws a magnitude from the range this kind shows in practice.
    ///
    /// # Units
    /// As said at each kind: shares, not per cent.
    pub fn draw_magnitude(self, dice: &mut Dice) -> f64 {
        match self {
            Self::PilotCreepUp | Self::PilotCreepDown => dice.between(0.002, 0.010),
            Self::SetPointMoved => dice.sign() * dice.between(0.04, 0.10),
            Self::FirstStagePassing => dice.between(0.003, 0.012),
            Self::FirstStageSticking => dice.between(0.04, 0.10),
            Self::StrainerBlocking => dice.between(0.15, 0.30),
            Self::InletGaugeOff | Self::InterstageGaugeOff | Self::OutletGaugeOff => {
                dice.sign() * dice.between(0.03, 0.06)
            }
            Self::SupplyLow | Self::SupplyHigh => dice.between(0.12, 0.25),
            Self::SecondStageOpen
            | Self::InletGaugeStuck
            | Self::InterstageGaugeStuck
            | Self::OutletGaugeStuck => 0.0,
        }
    }
}

/// One fault of one station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fault {
    /// What goes wrong.
    pub kind: FaultKind,
    /// When it begins, in weeks after the first visit.
    pub onset_weeks: f64,
    /// How strong it is; see [`FaultKind`] for what the number means.
    pub magnitude: f64,
}

/// What the faults of a station do at one moment; the healthy station is the default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Effects {
    /// Factor on the pressure in the main.
    pub supply: f64,
    /// Factor on the pressure behind the strainer.
    pub strainer: f64,
    /// Factor on the interstage pressure.
    pub passing: f64,
    /// Friction band of the first stage beyond the usual, as a share.
    pub sticking: f64,
    /// Factor on the set point.
    pub set_point: f64,
    /// The second stage stands open.
    pub open: bool,
    /// Errors of the three gauges in flow order, as shares of span.
    pub gauge_off: [f64; 3],
    /// Which of the three gauges no longer move.
    pub gauge_stuck: [bool; 3],
}

impl Default for Effects {
    fn default() -> Self {
        Self {
            supply: 1.0,
            strainer: 1.0,
            passing: 1.0,
            sticking: 0.0,
            set_point: 1.0,
            open: false,
            gauge_off: [0.0; 3],
            gauge_stuck: [false; 3],
        }
    }
}

impl Effects {
    /// Adds up what `faults` do `weeks` after the first visit.
    pub fn at(faults: &[Fault], weeks: f64) -> Self {
        let mut all = Self::default();
        for fault in faults {
            let since = weeks - fault.onset_weeks;
            if since >= 0.0 {
                all.add(fault, since);
            }
        }
        all
    }

    fn add(&mut self, fault: &Fault, since_weeks: f64) {
        let size = fault.magnitude;
        match fault.kind {
            FaultKind::PilotCreepUp => self.set_point *= 1.0 + size * since_weeks,
            FaultKind::PilotCreepDown => {
                self.set_point *= (1.0 - size * since_weeks).max(0.05);
            }
            FaultKind::SetPointMoved => self.set_point *= 1.0 + size,
            FaultKind::FirstStagePassing => self.passing *= 1.0 + size * since_weeks,
            FaultKind::FirstStageSticking => self.sticking += size,
            FaultKind::StrainerBlocking => {
                self.strainer *= 1.0 - size * (since_weeks / 26.0).min(1.0);
            }
            FaultKind::SecondStageOpen => self.open = true,
            FaultKind::InletGaugeOff => self.gauge_off[0] += size,
            FaultKind::InterstageGaugeOff => self.gauge_off[1] += size,
            FaultKind::OutletGaugeOff => self.gauge_off[2] += size,
            FaultKind::InletGaugeStuck => self.gauge_stuck[0] = true,
            FaultKind::InterstageGaugeStuck => self.gauge_stuck[1] = true,
            FaultKind::OutletGaugeStuck => self.gauge_stuck[2] = true,
            FaultKind::SupplyLow => self.supply *= 1.0 - size,
            FaultKind::SupplyHigh => self.supply *= 1.0 + size,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_happens_before_the_onset() {
        let fault = Fault {
            kind: FaultKind::SupplyLow,
            onset_weeks: 40.0,
            magnitude: 0.2,
        };
        assert_eq!(Effects::at(&[fault], 39.9), Effects::default());
        assert!((Effects::at(&[fault], 40.0).supply - 0.8).abs() < 1e-12);
    }

    #[test]
    fn a_strainer_stops_getting_worse_after_half_a_year() {
        let fault = Fault {
            kind: FaultKind::StrainerBlocking,
            onset_weeks: 0.0,
            magnitude: 0.3,
        };
        assert!((Effects::at(&[fault], 13.0).strainer - 0.85).abs() < 1e-12);
        assert!((Effects::at(&[fault], 60.0).strainer - 0.70).abs() < 1e-12);
    }

    #[test]
    fn codes_are_all_different() {
        let mut codes: Vec<_> = FaultKind::ALL.iter().map(|kind| kind.code()).collect();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), FaultKind::ALL.len());
    }
}
