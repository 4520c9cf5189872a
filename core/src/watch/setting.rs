//! What the watch needs to know of a station: scales, not limits.
//!
//! Derived from a definition by [`Setting::of`]. Limits and verdicts are in [`crate::verdict`].

use super::restart::Change;
use crate::station::{Quantity, Station, defaults};
use crate::units::{Typed, Unit};
use crate::verdict::at_datum;

/// Between visits the first stage's friction moves the ratio by about this share: common practice,
/// no source. Only where the watch starts from; a station's own scatter takes over.
const FRICTION_SHARE: f64 = 0.011;

/// The share by which the outlet moves between visits with flow and friction: common practice, no
/// source. Only a start, as above.
const OUTLET_SHARE: f64 = 0.0095;

/// The share by which the inlet wanders: common practice, no source. Only a start, as above.
const WANDER_SHARE: f64 = 0.021;

/// How far a true ratio may lie from the nominal one, as a standard deviation: common practice.
const RATIO_SHARE: f64 = 0.02;

/// How far a station's usual outlet may lie from its set point, as a standard deviation.
const SETTING_SHARE: f64 = 0.015;

/// How far the typical inlet pressure of the sheet may be from the real one.
const TYPICAL_SHARE: f64 = 0.04;

/// A gauge that shows nothing shows the head at the datum.
const NO_PRESSURE: Typed = Typed::of(0, 0, Unit::Kilopascal);

/// The three things watched; each is the logarithm of a ratio, so that all are shares.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Watched {
    /// Inlet over usual inlet.
    Inlet,
    /// Inlet over interstage over nominal ratio.
    FirstStage,
    /// Outlet over set point.
    Outlet,
}

impl Watched {
    /// The three, in flow order.
    pub const ALL: [Self; 3] = [Self::Inlet, Self::FirstStage, Self::Outlet];

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Inlet => "inlet",
            Self::FirstStage => "first-stage",
            Self::Outlet => "outlet",
        }
    }

    /// Place in flow order, from 0.
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// One gauge's scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Lower end, Pa.
    pub low_pa: f64,
    /// Upper less lower end, Pa; above zero.
    pub span_pa: f64,
    /// Finest step read, Pa; above zero.
    pub step_pa: f64,
    /// Standard deviation of one look, Pa.
    pub look_pa: f64,
    /// Largest error of its class, Pa.
    pub class_pa: f64,
    /// What is added to bring it to the station datum, Pa: a gauge that hangs elsewhere reads
    /// otherwise.
    pub head_pa: f64,
}

impl Scale {
    /// Whether two definitions mean the same gauge in the same place. A head that differs by less
    /// than half a reading step, as with another water temperature, is the same place.
    pub(super) fn is_same(one: Option<Self>, other: Option<Self>) -> bool {
        match (one, other) {
            (Some(one), Some(other)) => {
                let other_here = Self {
                    head_pa: one.head_pa,
                    ..other
                };
                one == other_here && (one.head_pa - other.head_pa).abs() <= one.step_pa / 2.0
            }
            (one, other) => one.is_none() && other.is_none(),
        }
    }
}

/// What the watch needs to know of a station.
///
/// Two settings that differ start new baselines for what the difference touches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// Middle of the usual inlet range, Pa; `None` unless above zero.
    pub inlet_usual_pa: Option<f64>,
    /// Ratio in use; `None` unless above zero.
    pub ratio: Option<f64>,
    /// Set point, Pa; `None` unless above zero.
    pub set_point_pa: Option<f64>,
    /// Difference below which the second stage no longer controls, Pa.
    pub minimum_differential_pa: f64,
    /// The gauges in flow order; `None` where the span or the division makes no sense.
    pub scales: [Option<Scale>; 3],
}

/// Where the watch of one quantity starts from before it has seen anything.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Prior {
    /// Standard deviation from visit to visit, as a share.
    pub spread: f64,
    /// Standard deviation of the long-run level around zero, as a share.
    pub level: f64,
    /// The part of `spread` squared that has no memory.
    pub white_share: f64,
}

fn positive(value: f64) -> Option<f64> {
    (value.is_finite() && value > 0.0).then_some(value)
}

impl Setting {
    /// Takes what is needed from a definition. Any definition will do: what makes no sense in it
    /// is left out and the quantities that need it are not watched.
    #[must_use]
    pub fn of(station: &Station) -> Self {
        let scale = |quantity| {
            let gauge = station.gauge(quantity);
            let division = positive(gauge.division_pressure().as_f64_pa())?;
            Some(Scale {
                low_pa: gauge.low.to_pressure().as_f64_pa(),
                span_pa: positive(gauge.span().as_f64_pa())?,
                step_pa: division * defaults::READ_STEP_DIVISIONS,
                // Half-width of a rectangular distribution over the square root of three.
                look_pa: division * defaults::READ_HALF_WIDTH_DIVISIONS / 3.0_f64.sqrt(),
                class_pa: gauge.largest_error_pa(gauge.high.to_pressure()),
                head_pa: at_datum(station, quantity, NO_PRESSURE).as_f64_pa(),
            })
        };
        let second = &station.second_stage;
        Self {
            inlet_usual_pa: positive(station.inlet_usual.middle().as_f64_pa()),
            ratio: station.first_stage.ratio_in_use(),
            set_point_pa: positive(second.set_point.to_pressure().as_f64_pa()),
            minimum_differential_pa: second
                .minimum_differential
                .to_pressure()
                .as_f64_pa()
                .max(0.0),
            scales: Quantity::ALL.map(scale),
        }
    }

    /// The bands of a definition in the measure of [`Watched`]: usual inlet, ratio tolerance, band
    /// around the set point; `None` where the definition makes no sense.
    #[must_use]
    pub fn bands(station: &Station) -> [Option<(f64, f64)>; 3] {
        let setting = Self::of(station);
        let over = |pa: f64, usual: Option<f64>| Some((positive(pa)? / usual?).ln());
        let usual = &station.inlet_usual;
        let inlet = over(usual.low.to_pressure().as_f64_pa(), setting.inlet_usual_pa).zip(over(
            usual.high.to_pressure().as_f64_pa(),
            setting.inlet_usual_pa,
        ));
        let tolerance = station.first_stage.tolerance_fraction().min(0.99);
        // A high interstage pressure is a low ratio.
        let first = setting
            .ratio
            .map(|_| (-tolerance.ln_1p(), -(-tolerance).ln_1p()));
        let band = station.second_stage.band.to_pressure().as_f64_pa();
        let outlet = setting.set_point_pa.and_then(|set| {
            over(set - band, setting.set_point_pa).zip(over(set + band, setting.set_point_pa))
        });
        [inlet, first, outlet]
    }

    /// The usual pressure at a gauge, Pa.
    pub(super) fn usual_pa(&self, gauge: usize) -> Option<f64> {
        match gauge {
            0 => self.inlet_usual_pa,
            1 => Some(self.inlet_usual_pa? / self.ratio?),
            _ => self.set_point_pa,
        }
    }

    /// Relative size of a length on a gauge at its usual pressure, for looks, steps and classes.
    fn share(&self, gauge: usize, pick: impl Fn(&Scale) -> f64) -> Option<f64> {
        let share = pick(self.scales[gauge].as_ref()?) / self.usual_pa(gauge)?;
        // A gauge whose step is a tenth of the pressure still says something; beyond that the
        // figures only keep the arithmetic finite.
        Some(share.clamp(1e-6, 0.5))
    }

    fn look_share(&self, gauge: usize) -> Option<f64> {
        // The look itself and the rounding to a step.
        self.share(gauge, |scale| {
            scale.look_pa.hypot(scale.step_pa / 12.0_f64.sqrt())
        })
    }

    fn class_share(&self, gauge: usize) -> Option<f64> {
        self.share(gauge, |scale| scale.class_pa / 3.0_f64.sqrt())
    }

    /// Where the watch of a quantity starts from; `None` where the definition does not allow it.
    pub(super) fn prior(&self, watched: Watched) -> Option<Prior> {
        Some(match watched {
            Watched::Inlet => {
                let look = self.look_share(0)?;
                let spread = WANDER_SHARE.hypot(look);
                Prior {
                    spread,
                    level: TYPICAL_SHARE.hypot(self.class_share(0)?),
                    white_share: (look / spread).powi(2),
                }
            }
            Watched::FirstStage => Prior {
                spread: FRICTION_SHARE.hypot(self.look_share(0)?.hypot(self.look_share(1)?)),
                level: RATIO_SHARE.hypot(self.class_share(0)?.hypot(self.class_share(1)?)),
                white_share: 1.0,
            },
            Watched::Outlet => Prior {
                spread: OUTLET_SHARE.hypot(self.look_share(2)?),
                level: SETTING_SHARE.hypot(self.class_share(2)?),
                white_share: 1.0,
            },
        })
    }

    /// The baselines that a change from `self` to `next` makes worthless, each with what changed: a
    /// value aimed at before a gauge.
    pub(super) fn changes(&self, next: &Self) -> [Option<Change>; 3] {
        let gauge = |index: usize, change: Change| {
            let same = Scale::is_same(self.scales[index], next.scales[index]);
            (!same).then_some(change)
        };
        let (inlet, interstage, outlet) = (
            gauge(0, Change::InletGauge),
            gauge(1, Change::InterstageGauge),
            gauge(2, Change::OutletGauge),
        );
        let usual = (self.inlet_usual_pa != next.inlet_usual_pa).then_some(Change::UsualInlet);
        let ratio = (self.ratio != next.ratio).then_some(Change::Ratio);
        let set_point = (self.set_point_pa != next.set_point_pa).then_some(Change::SetPoint);
        [
            usual.or(inlet),
            ratio.or(inlet).or(interstage),
            set_point.or(outlet),
        ]
    }
}
