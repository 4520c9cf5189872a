//! What is to be reached, with which gauge and which spring.

use super::point::Point;
use crate::station::{Quantity, Station, defaults};
use crate::units::{Pressure, water};

/// How near the set point counts as reached, as a share of it: common practice, no source.
pub const TOLERANCE_SHARE: f64 = 0.02;

/// Scatter of one careful look at a tapped gauge, standard deviation in divisions: common practice,
/// no source. Less than at a walk-round, and the fixed error of the gauge plays no part.
const LOOK_SCATTER_DIVISIONS: f64 = 0.1;

/// How the draw-off and the supply stir the outlet pressure, standard deviation as a share of the
/// set point: common practice, no source.
const STIR_SHARE: f64 = 0.002;

/// Turns that take a usual pilot spring through its range: common practice, no source.
const TURNS_THROUGH_RANGE: f64 = 10.0;

/// Where the spring's range is not known: bar per turn as a share of the set point, three guesses
/// of equal weight; common practice, no source.
const RATE_SHARES: [f64; 3] = [0.07, 0.14, 0.28];

/// Where the screw stands at the first point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Start {
    /// As it was found; which way it was turned last is not known.
    #[default]
    AsFound,
    /// Fully backed off: the first turns move nothing.
    BackedOff,
}

impl Start {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::AsFound => "as-found",
            Self::BackedOff => "backed-off",
        }
    }
}

/// What the assistant is told beforehand. Pressures are as the outlet gauge shows them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// What the gauge shall show.
    pub target: Pressure,
    /// How far either side of it counts as reached.
    pub tolerance: Pressure,
    /// The step the gauge is read to.
    pub read_step: Pressure,
    /// The pressure between two marks.
    pub division: Pressure,
    /// Upper end of the gauge's scale.
    pub full_scale: Pressure,
    /// Lowest and highest pressure marked on the pilot spring.
    pub spring_range: Option<(Pressure, Pressure)>,
    /// The difference the second stage needs to control.
    pub minimum_differential: Pressure,
    /// Where the screw stands at the first point.
    pub start: Start,
}

impl Setting {
    /// The setting for a station's own set point, gauge and spring.
    ///
    /// The set point is held at the station datum; the target is what the outlet gauge at its own
    /// height shows then.
    #[must_use]
    pub fn of(station: &Station, start: Start) -> Self {
        let second = &station.second_stage;
        let set_point = second.set_point.to_pressure();
        let gauge = station.gauge(Quantity::Outlet);
        let head = water::datum_correction(gauge.elevation_mm, station.site.water_temperature());
        let share = |pressure: Pressure, share: f64| {
            Pressure::from_f64_pa(pressure.as_f64_pa() * share).unwrap_or(Pressure::ZERO)
        };
        let division = gauge.division_pressure().abs();
        Self {
            target: set_point - head,
            tolerance: share(set_point.abs(), TOLERANCE_SHARE),
            read_step: share(division, defaults::READ_STEP_DIVISIONS),
            division,
            full_scale: gauge.high.to_pressure(),
            spring_range: second
                .spring_range
                .map(|(low, high)| (low.to_pressure() - head, high.to_pressure() - head)),
            minimum_differential: second.minimum_differential.to_pressure().abs(),
            start,
        }
    }

    /// The same with another target and its own tolerance of 2 %, as for trying what a change of
    /// the set point would take.
    #[must_use]
    pub fn towards(mut self, target: Pressure) -> Self {
        self.target = target;
        self.tolerance = Pressure::from_f64_pa(target.abs().as_f64_pa() * TOLERANCE_SHARE)
            .unwrap_or(Pressure::ZERO);
        self
    }

    /// The same with the step that these readings were in fact taken to: half or whole divisions
    /// where all of them (at least four different ones for whole divisions) lie on such marks.
    pub(super) fn read_like(mut self, points: &[Point]) -> Self {
        let division = self.division.abs().as_f64_pa();
        if division <= 0.0 {
            return self;
        }
        let mut values: Vec<Pressure> = points.iter().map(|p| p.pressure.to_pressure()).collect();
        values.sort_unstable();
        values.dedup();
        let all_on = |share: f64| {
            values.iter().all(|value| {
                let steps = value.as_f64_pa() / (division * share);
                (steps - steps.round()).abs() < 0.02
            })
        };
        let share = if values.len() >= 4 && all_on(1.0) {
            1.0
        } else if all_on(0.5) && !all_on(defaults::READ_STEP_DIVISIONS) {
            0.5
        } else {
            return self;
        };
        let step = Pressure::from_f64_pa(division * share).unwrap_or(self.read_step);
        self.read_step = self.read_step.max(step);
        self
    }

    /// Target, tolerance and range make sense together.
    pub(super) fn is_sensible(&self) -> bool {
        let spring_is_sensible = self.spring_range.is_none_or(|(low, high)| low < high);
        self.target > Pressure::ZERO && self.tolerance > Pressure::ZERO && spring_is_sensible
    }

    /// The step a value can be told to: a fifth of a division, at least a thousandth of the target.
    pub(super) fn step_pa(&self) -> f64 {
        let least = self.target.abs().as_f64_pa().max(1.0) * 1.0e-3;
        self.read_step.abs().as_f64_pa().max(least)
    }

    /// Standard deviation of one settled stop, read twice, around what the pilot holds.
    ///
    /// # Formula
    ///
    /// ```text
    /// s^2 = step^2/12 + (0.1 division)^2/2 + (0.002 target)^2
    /// ```
    pub(super) fn noise_pa(&self) -> f64 {
        let step = self.step_pa();
        let scatter = LOOK_SCATTER_DIVISIONS * self.division.abs().as_f64_pa().max(step);
        let stir = STIR_SHARE * self.target.abs().as_f64_pa();
        (step * step / 12.0 + 0.5 * scatter * scatter + stir * stir).sqrt()
    }

    /// Guesses of the spring rate before any turn, pascals a turn, of equal weight.
    pub(super) fn rates_beforehand(&self) -> Vec<f64> {
        match self.spring_range {
            Some((low, high)) if low < high => {
                vec![(high - low).as_f64_pa() / TURNS_THROUGH_RANGE]
            }
            _ => {
                let target = self.target.abs().as_f64_pa().max(1.0);
                RATE_SHARES.map(|share| share * target).to_vec()
            }
        }
    }
}
