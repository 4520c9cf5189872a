//! What one visit tells the watch, and the three watched quantities taken from it.

use chrono::{DateTime, Utc};

use super::setting::Setting;
use crate::station::{Quantity, Station};
use crate::units::Pressure;
use crate::verdict::{Entry, FlowState, at_datum};

/// One visit's pressures, brought to the station datum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Visit {
    /// When the gauges were read.
    pub at: DateTime<Utc>,
    /// Inlet, interstage and outlet; `None` where a gauge was not read or is not to be counted.
    pub pressures: [Option<Pressure>; 3],
    /// Whether water was flowing.
    pub flow: FlowState,
}

impl Visit {
    /// Takes an entry as typed and brings it to the station datum.
    #[must_use]
    pub fn of(station: &Station, at: DateTime<Utc>, entry: &Entry) -> Self {
        let pressures = Quantity::ALL.map(|quantity| {
            entry
                .get(quantity)
                .map(|typed| at_datum(station, quantity, typed))
        });
        Self {
            at,
            pressures,
            flow: entry.flow,
        }
    }
}

/// A visit in the watch's terms. Every number is finite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Look {
    /// The watched quantities as logarithms: inlet, first stage, outlet.
    pub values: [Option<f64>; 3],
    /// Pressures of the three gauges as shares of their spans, at least half a step.
    pub span_shares: [Option<f64>; 3],
    /// Logarithm of the outlet over the set point if the second stage stood open.
    pub open: Option<f64>,
}

/// A wide open second stage still takes off a little: common practice, no source.
const OPEN_LOSS: f64 = 0.04;

impl Look {
    /// Works out the watched quantities of a visit.
    ///
    /// # Formula
    /// ```text
    /// inlet = ln(p1 / usual)   first stage = ln(p1 / p2 / R)   outlet = ln(p3 / set point)
    /// ```
    /// The outlet is left out with no flow (it shows lock-up only) and while the second stage is
    /// starved, that is p2 below set point + minimum differential. A pressure below half a reading
    /// step counts as half a step, so that the logarithm exists.
    pub fn of(setting: &Setting, visit: &Visit) -> Self {
        let mut pressures = [None; 3];
        let mut span_shares = [None; 3];
        for gauge in 0..3 {
            if let (Some(pressure), Some(scale)) = (visit.pressures[gauge], setting.scales[gauge]) {
                let pa = pressure.as_f64_pa().max(scale.step_pa / 2.0);
                pressures[gauge] = Some(pa);
                span_shares[gauge] = Some((pa / scale.span_pa).clamp(1e-4, 1e4));
            }
        }
        let over = |top: Option<f64>, bottom: Option<f64>| Some((top? / bottom?).ln());
        let is_starved = match (pressures[1], setting.set_point_pa) {
            (Some(interstage), Some(set)) => interstage < set + setting.minimum_differential_pa,
            _ => false,
        };
        let outlet = over(pressures[2], setting.set_point_pa)
            .filter(|_| visit.flow != FlowState::Still && !is_starved);
        let first = over(pressures[0], pressures[1])
            .zip(setting.ratio)
            .map(|(log, ratio)| log - ratio.ln());
        // The outlet gauge shows no more than the end of its scale.
        let outlet_end = setting.scales[2].map_or(f64::INFINITY, |s| s.low_pa + s.span_pa);
        let open_pa = pressures[1].map(|pa| (pa * (1.0 - OPEN_LOSS)).min(outlet_end));
        Self {
            values: [over(pressures[0], setting.inlet_usual_pa), first, outlet],
            span_shares,
            open: over(open_pa, setting.set_point_pa).filter(|open| *open > 0.0),
        }
    }
}
