//! The ratios with which both stages would keep their own cavitation limits.

use super::cavitation::sigma;
use super::figure::{Figure, Gap, Stage, both};
use super::inputs::Inputs;
use super::liquid::Absolute;
use super::load::{absolute, gap, limit};
use crate::units::Pressure;

/// Halvings of the interval in which the second stage's limit is sought: 2^-50 of a pressure is
/// far below a pascal.
const HALVINGS: u32 = 50;

/// Bounds on the first stage's ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatioWindow {
    /// From this ratio on the second stage keeps its limit; at least 1.
    pub second_from: f64,
    /// Up to this ratio the first stage keeps its limit; `None` where it always does.
    pub first_up_to: Option<f64>,
    /// Up to this ratio the lowest inlet pressure leaves the second stage what it needs, the
    /// ratio's tolerance allowed for. Below 1 no ratio does.
    pub supply_up_to: f64,
}

impl RatioWindow {
    /// The largest ratio that suits first stage and supply.
    #[must_use]
    pub fn up_to(&self) -> f64 {
        self.first_up_to
            .map_or(self.supply_up_to, |first| first.min(self.supply_up_to))
    }

    /// Whether some ratio suits everything.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.second_from <= self.up_to()
    }

    /// Whether some ratio keeps both stages within their cavitation limits, supply aside.
    #[must_use]
    pub fn can_keep_limits(&self) -> bool {
        self.first_up_to
            .is_none_or(|first| self.second_from <= first)
    }
}

/// Finds the window, sigma taken at the highest usual inlet pressure, supply at the lowest.
///
/// # Formula
///
/// ```text
/// first stage:   p2 >= p1 - (p1 - pv) / sigma1       (absolute)
/// second stage:  (p2 - pv) / (p2 - p3) >= sigma2(p2) (absolute; the left side falls, the right
///                                                     does not, so one crossing, by halving)
/// supply:        p1_low (1 - tolerance) / R >= set point + minimum differential
/// ```
pub(super) fn ratio_window(inputs: &Inputs) -> Figure<RatioWindow> {
    let [low, _, high] = inputs.inlets;
    let (liquid, before, after) = absolute(inputs, high, inputs.set_point)?;
    let limits = both(
        limit(inputs, Stage::First, before),
        limit(inputs, Stage::Second, before),
    );
    let (first, _) = limits?;
    let air = before.pa() - high.as_f64_pa();
    let least_pa = before.pa() - (before.pa() - liquid.vapour_pressure_pa()) / first.sigma - air;
    let ratio_to = |gauge_pa: f64| high.as_f64_pa() / gauge_pa;

    let keeps = |gauge_pa: f64| -> Result<bool, Gap> {
        let middle = Absolute::from_pa(gauge_pa + air).map_err(gap)?;
        if middle <= after {
            return Ok(true);
        }
        let index = sigma(&liquid, middle, after).map_err(gap)?;
        Ok(index >= limit(inputs, Stage::Second, middle)?.sigma)
    };
    let (mut good, mut bad) = (inputs.set_point.as_f64_pa(), high.as_f64_pa());
    if keeps(bad)? {
        good = bad;
    }
    for _ in 0..HALVINGS {
        let middle = good.midpoint(bad);
        if keeps(middle)? {
            good = middle;
        } else {
            bad = middle;
        }
    }
    let lowest = low.as_f64_pa() * (1.0 - inputs.ratio_tolerance);
    let needed = inputs.needed_supply.max(Pressure::from_pa(1)).as_f64_pa();
    Ok(RatioWindow {
        second_from: ratio_to(good),
        first_up_to: (least_pa > 0.0).then(|| ratio_to(least_pa)),
        supply_up_to: lowest / needed,
    })
}
