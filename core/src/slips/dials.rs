//! The facts of a station's three dials that every weighing needs, worked out once per entry.

use super::DoubtKind;
use crate::station::{Quantity, Station};
use crate::units::Pressure;
use crate::verdict::{Entry, FlowState, at_datum};

/// What the dials of one station can show.
#[derive(Debug, Clone)]
pub(super) struct Dials {
    each: [Dial; 3],
    /// The interstage pressure below which the second stage is wide open; below everything when
    /// there is no flow.
    needed_supply_pa: f64,
    /// Nominal or as-left share of the inlet pressure left after the first stage.
    share: Option<f64>,
}

#[derive(Debug, Clone, Copy)]
struct Dial {
    low_pa: f64,
    high_pa: f64,
    correction_pa: f64,
    /// Largest error of gauge and eye together.
    error_pa: f64,
    working_max_pa: f64,
    ln_uniform: f64,
}

/// The pressures of an entry, as shown and at the station datum, pascals.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen {
    shown: [Option<f64>; 3],
    at: [Option<f64>; 3],
}

impl Seen {
    /// At the datum.
    pub(super) fn at(&self, quantity: Quantity) -> Option<f64> {
        self.at[quantity.index()]
    }

    /// The same without one gauge.
    pub(super) fn without(mut self, quantity: Quantity) -> Self {
        self.shown[quantity.index()] = None;
        self.at[quantity.index()] = None;
        self
    }
}

/// How far a gauge shows more than one before it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rise {
    /// In standard uncertainties of the two gauges together.
    pub over_uncertainty: f64,
    /// Whether it is more than both gauges' largest errors together.
    pub beyond_errors: bool,
}

/// Pairs of gauges of which the second cannot truly show more than the first.
pub(super) const ORDER: [(Quantity, Quantity); 3] = [
    (Quantity::Inlet, Quantity::Interstage),
    (Quantity::Interstage, Quantity::Outlet),
    (Quantity::Inlet, Quantity::Outlet),
];

impl Dials {
    pub(super) fn new(station: &Station, flow: FlowState) -> Self {
        let each = Quantity::ALL.map(|quantity| {
            let gauge = station.gauge(quantity);
            let (low, high) = (gauge.low.to_pressure(), gauge.high.to_pressure());
            let zero = gauge.low;
            let correction = at_datum(station, quantity, zero) - low;
            let division = gauge.division_pressure().as_f64_pa().max(1.0);
            // A dial without a span forbids nothing.
            let sound = high > low;
            Dial {
                low_pa: if sound {
                    low.as_f64_pa()
                } else {
                    f64::NEG_INFINITY
                },
                high_pa: if sound {
                    high.as_f64_pa()
                } else {
                    f64::INFINITY
                },
                correction_pa: correction.as_f64_pa(),
                error_pa: gauge.largest_error_pa(low) + division,
                working_max_pa: gauge.working_max().as_f64_pa(),
                ln_uniform: -gauge.span().as_f64_pa().max(1.0).ln(),
            }
        });
        let second = &station.second_stage;
        let needed = second.set_point.to_pressure() + second.minimum_differential.to_pressure();
        let still = flow == FlowState::Still;
        Self {
            each,
            needed_supply_pa: if still {
                f64::NEG_INFINITY
            } else {
                needed.as_f64_pa()
            },
            share: station.first_stage.ratio_in_use().map(|ratio| 1.0 / ratio),
        }
    }

    /// The pressures of an entry.
    pub(super) fn seen(&self, entry: &Entry) -> Seen {
        let limit = Pressure::from_pa(i64::MAX).as_f64_pa();
        let shown = Quantity::ALL.map(|quantity| {
            let typed = entry.get(quantity)?;
            Some(typed.unit.to_pa(typed.value()).clamp(-limit, limit))
        });
        let mut at = shown;
        for (value, dial) in at.iter_mut().zip(&self.each) {
            *value = value.map(|pa| pa + dial.correction_pa);
        }
        Seen { shown, at }
    }

    /// The log density of "anywhere on the dial".
    pub(super) fn ln_uniform(&self, quantity: Quantity) -> f64 {
        self.each[quantity.index()].ln_uniform
    }

    /// Whether a pressure shown is on the dial, a pascal of rounding aside.
    pub(super) fn reaches(&self, quantity: Quantity, shown_pa: f64) -> bool {
        let dial = &self.each[quantity.index()];
        (dial.low_pa - 1.0..=dial.high_pa + 1.0).contains(&shown_pa)
    }

    /// Whether every gauge read is on its dial.
    pub(super) fn reach_all(&self, seen: &Seen) -> bool {
        Quantity::ALL.into_iter().all(|quantity| {
            seen.shown[quantity.index()].is_none_or(|shown| self.reaches(quantity, shown))
        })
    }

    /// Whether the second stage is wide open for want of pressure.
    pub(super) fn starves(&self, seen: &Seen) -> bool {
        let supply = seen
            .at(Quantity::Interstage)
            .or_else(|| Some(seen.at(Quantity::Inlet)? * self.share?));
        supply.is_some_and(|supply| supply < self.needed_supply_pa)
    }

    /// The rise between two gauges that were both read.
    pub(super) fn rise(&self, seen: &Seen, before: Quantity, after: Quantity) -> Option<Rise> {
        let rise = seen.at(after)? - seen.at(before)?;
        let error = |quantity: Quantity| self.each[quantity.index()].error_pa;
        let (before, after) = (error(before), error(after));
        Some(Rise {
            over_uncertainty: rise * 3.0_f64.sqrt() / before.hypot(after),
            beyond_errors: rise > before + after,
        })
    }

    /// What no gauge can show.
    pub(super) fn impossible(&self, seen: &Seen, quantity: Quantity) -> Option<DoubtKind> {
        let shown = seen.shown[quantity.index()]?;
        if !self.reaches(quantity, shown) {
            let above = shown > self.each[quantity.index()].high_pa;
            return Some(if above {
                DoubtKind::AboveSpan
            } else {
                DoubtKind::Negative
            });
        }
        ORDER
            .into_iter()
            .filter(|&(_, after)| after == quantity)
            .any(|(before, after)| {
                self.rise(seen, before, after)
                    .is_some_and(|rise| rise.beyond_errors)
            })
            .then_some(DoubtKind::Order)
    }

    /// Whether a gauge shows more than it should carry, where `usual_pa` is not such.
    pub(super) fn above_working_range(
        &self,
        seen: &Seen,
        quantity: Quantity,
        usual_pa: Option<f64>,
    ) -> bool {
        let limit = self.each[quantity.index()].working_max_pa;
        seen.shown[quantity.index()].is_some_and(|shown| shown > limit)
            && usual_pa.is_some_and(|usual| usual <= limit)
    }
}
