//! What each stage must pass and dissipate at the duty flows.

use super::figure::{Figure, Gap, Stage, both};
use super::inputs::Inputs;
use super::liquid::{Liquid, kv_at_drop, required_kv};
use super::load::{absolute, gap};
use crate::units::Pressure;

/// One of the duty flows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DutyFlow {
    /// The smallest draw-off.
    Min,
    /// The usual draw-off.
    Usual,
    /// The largest draw-off.
    Max,
}

impl DutyFlow {
    /// The three, smallest first.
    pub const ALL: [Self; 3] = [Self::Min, Self::Usual, Self::Max];

    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Min => "min",
            Self::Usual => "usual",
            Self::Max => "max",
        }
    }

    /// Place by size, from 0.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Min => 0,
            Self::Usual => 1,
            Self::Max => 2,
        }
    }
}

/// Whether the flow is choked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Choking {
    /// It is not.
    No,
    /// It is; the required Kv is then that of the choked drop.
    Yes,
    /// FL, the height or both are not known. The required Kv is then the least it can be.
    Unknown,
}

impl Choking {
    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::No => "no",
            Self::Yes => "yes",
            Self::Unknown => "unknown",
        }
    }
}

/// The flow coefficient a stage needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RequiredKv {
    /// Kv, m3/h at 1 bar.
    pub kv: f64,
    /// Whether it is for choked flow.
    pub choking: Choking,
}

/// One stage at one flow.
#[derive(Debug, Clone, PartialEq)]
pub struct StageDuty {
    /// Which flow.
    pub flow: DutyFlow,
    /// The flow, m3/h.
    pub flow_m3_h: Figure<f64>,
    /// The flow coefficient needed.
    pub required_kv: Figure<RequiredKv>,
    /// The needed coefficient over the rated one; above 1 the stage cannot pass the flow.
    pub share_of_rated: Figure<f64>,
    /// Power turned into heat, noise and wear, W.
    pub power_w: Figure<f64>,
    /// Mean velocity at the outlet of the valve, m/s, its bore taken as its nominal size.
    pub outlet_velocity_m_s: Figure<f64>,
}

impl StageDuty {
    /// A stage between two pressures at the three flows.
    pub(super) fn at_flows(
        inputs: &Inputs,
        stage: Stage,
        upstream: Pressure,
        downstream: Pressure,
    ) -> [Self; 3] {
        DutyFlow::ALL.map(|flow| Self::at(inputs, stage, flow, upstream, downstream))
    }

    fn at(
        inputs: &Inputs,
        stage: Stage,
        flow: DutyFlow,
        upstream: Pressure,
        downstream: Pressure,
    ) -> Self {
        let flow_m3_h = inputs.flows[flow.index()].clone();
        let valve = inputs.valve(stage);
        let required_kv = required(inputs, stage, flow_m3_h.clone(), upstream, downstream);
        let share_of_rated = both(required_kv.clone(), valve.rated_kv.clone())
            .map(|(needed, rated)| needed.kv / rated);
        let drop_pa = (upstream - downstream).as_f64_pa();
        Self {
            flow,
            power_w: flow_m3_h.clone().map(|flow| power_w(flow, drop_pa)),
            outlet_velocity_m_s: both(flow_m3_h.clone(), valve.size_mm.clone())
                .map(|(flow, size)| velocity_m_s(flow, size)),
            flow_m3_h,
            required_kv,
            share_of_rated,
        }
    }
}

/// The Kv a stage needs between two pressures.
pub(super) fn required(
    inputs: &Inputs,
    stage: Stage,
    flow_m3_h: Figure<f64>,
    upstream: Pressure,
    downstream: Pressure,
) -> Figure<RequiredKv> {
    if upstream <= downstream {
        return Err(Gap::NoDrop);
    }
    let (flow, liquid) = both(flow_m3_h, inputs.liquid.clone())?;
    let pressures = absolute(inputs, upstream, downstream);
    match both(pressures, inputs.valve(stage).fl.clone()) {
        Ok(((liquid, before, after), fl)) => {
            let sizing = required_kv(&liquid, before, after, flow, fl).map_err(gap)?;
            Ok(RequiredKv {
                kv: sizing.kv,
                choking: if sizing.choked {
                    Choking::Yes
                } else {
                    Choking::No
                },
            })
        }
        Err(Gap::Lacking(_)) => least(&liquid, flow, (upstream - downstream).as_f64_pa()),
        Err(beyond_help) => Err(beyond_help),
    }
}

/// The Kv needed if the flow is not choked; choking only ever asks for more.
fn least(liquid: &Liquid, flow_m3_h: f64, drop_pa: f64) -> Figure<RequiredKv> {
    Ok(RequiredKv {
        kv: kv_at_drop(liquid, flow_m3_h, drop_pa).map_err(gap)?,
        choking: Choking::Unknown,
    })
}

/// Power dissipated by a drop: `P = Q dp`, with Q in m3/h and dp in Pa, W.
fn power_w(flow_m3_h: f64, drop_pa: f64) -> f64 {
    flow_m3_h / 3600.0 * drop_pa
}

/// Mean velocity through a bore: `v = 4 Q / (pi d^2)`, with Q in m3/h and d in mm, m/s.
fn velocity_m_s(flow_m3_h: f64, bore_mm: f64) -> f64 {
    let bore_m = bore_mm / 1000.0;
    4.0 * (flow_m3_h / 3600.0) / (std::f64::consts::PI * bore_m * bore_m)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn power_and_velocity_by_hand() {
        // 36 m3/h is 10 l/s; across 6 bar that is 6 kW.
        assert!((power_w(36.0, 600_000.0) - 6_000.0).abs() < 1.0e-9);
        // 10 l/s through 7.853982e-3 m2 (a bore of 100 mm).
        assert!((velocity_m_s(36.0, 100.0) - 1.273_239_545).abs() < 1.0e-8);
    }
}
