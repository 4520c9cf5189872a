//! The uncertainty budget: what may make a reading differ from the truth, one line each.
//!
//! Not here: the band the truth is compared with; see [`super::expected()`].

use crate::station::{Quantity, Station, defaults};
use crate::units::{Pressure, decimal_to_f64, water};

/// The distribution assumed for a contribution whose bounds are known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Anywhere between the bounds alike.
    Rectangular,
    /// Most likely in the middle.
    Triangular,
    /// A trapezoid whose top is this share of its base (0 triangular, 1 rectangular).
    Trapezoid(f64),
    /// Most likely near the bounds, as of a swinging value.
    Arcsine,
    /// The half-width given is already one standard uncertainty.
    Standard,
}

impl Shape {
    /// Standard uncertainty for a half-width of 1.
    ///
    /// # Source
    ///
    /// JCGM 100:2008, 4.3.7, 4.3.9 and F.2.2 (check value U-1).
    #[must_use]
    pub fn factor(self) -> f64 {
        match self {
            Self::Rectangular => 1.0 / 3.0_f64.sqrt(),
            Self::Triangular => 1.0 / 6.0_f64.sqrt(),
            Self::Trapezoid(top) => {
                let top = if top.is_nan() {
                    1.0
                } else {
                    top.clamp(0.0, 1.0)
                };
                ((1.0 + top * top) / 6.0).sqrt()
            }
            Self::Arcsine => std::f64::consts::FRAC_1_SQRT_2,
            Self::Standard => 1.0,
        }
    }

    /// What the half-width is divided by to give a standard uncertainty.
    #[must_use]
    pub fn divisor(self) -> f64 {
        1.0 / self.factor()
    }

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Rectangular => "rectangular",
            Self::Triangular => "triangular",
            Self::Trapezoid(_) => "trapezoid",
            Self::Arcsine => "arcsine",
            Self::Standard => "standard",
        }
    }
}

/// Where a contribution comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// The largest error the class of this gauge allows.
    GaugeClass(Quantity),
    /// The part of the class error that differs from visit to visit; the rest cancels against a
    /// ratio found with the same gauges.
    GaugeRepeat(Quantity),
    /// The gauge is warmer or colder than its class is stated for.
    GaugeTemperature(Quantity),
    /// Eye, needle and the step the dial is read to.
    Reading(Quantity),
    /// How well the height of the gauge is known.
    Elevation(Quantity),
    /// The as-left ratio was itself read from gauges.
    AsLeftRatio,
}

impl Source {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::GaugeClass(_) => "gauge-class",
            Self::GaugeRepeat(_) => "gauge-repeat",
            Self::GaugeTemperature(_) => "gauge-temperature",
            Self::Reading(_) => "reading",
            Self::Elevation(_) => "elevation",
            Self::AsLeftRatio => "as-left-ratio",
        }
    }

    /// The gauge concerned, where there is one.
    #[must_use]
    pub const fn quantity(self) -> Option<Quantity> {
        match self {
            Self::GaugeClass(quantity)
            | Self::GaugeRepeat(quantity)
            | Self::GaugeTemperature(quantity)
            | Self::Reading(quantity)
            | Self::Elevation(quantity) => Some(quantity),
            Self::AsLeftRatio => None,
        }
    }
}

/// One line of an uncertainty budget.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contribution {
    /// Where it comes from.
    pub source: Source,
    /// The distribution assumed.
    pub shape: Shape,
    /// Half-width in pascals, at the gauge it belongs to. Finite, not negative.
    pub half_width_pa: f64,
    /// How much of it reaches the judged quantity (1 for the gauge itself, -1/ratio for the inlet
    /// gauge in the interstage residual).
    pub sensitivity: f64,
}

impl Contribution {
    /// Its share of the standard uncertainty of the judged quantity, pascals; never negative.
    #[must_use]
    pub fn uncertainty_pa(&self) -> f64 {
        (self.half_width_pa * self.shape.factor() * self.sensitivity).abs()
    }
}

/// Combines contributions in quadrature, pascals.
///
/// Whole pascals are the ground: the answer is never below the rounding to them, so dividing by
/// it is always safe.
///
/// # Formula
///
/// ```text
/// u = sqrt(sum (c_i u_i)^2)
/// ```
///
/// Contributions are independent by construction: one that reaches the judged quantity twice
/// (the inlet gauge, through the ratio) appears once, with its total sensitivity.
///
/// # Source
///
/// JCGM 100:2008, 5.1.2, equation 10.
#[must_use]
pub fn combined(contributions: &[Contribution]) -> f64 {
    let rounding = 1.0 / 12.0;
    let squares: f64 = contributions
        .iter()
        .map(|line| line.uncertainty_pa().powi(2))
        .sum();
    (squares + rounding).sqrt()
}

/// Whether the constant part of the gauge's error cancels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ClassPart {
    /// The whole class error counts.
    Whole,
    /// Only what does not repeat counts.
    Unrepeated,
}

/// The lines of one gauge at `reading`, each with `sensitivity`.
pub(super) fn gauge_lines(
    station: &Station,
    quantity: Quantity,
    reading: Pressure,
    sensitivity: f64,
    part: ClassPart,
) -> Vec<Contribution> {
    let gauge = station.gauge(quantity);
    let mut lines = Vec::with_capacity(4);
    let mut line = |source, half_width_pa: f64| {
        if half_width_pa > 0.0 {
            let shape = Shape::Rectangular;
            lines.push(Contribution {
                source,
                shape,
                half_width_pa,
                sensitivity,
            });
        }
    };
    let share = match part {
        ClassPart::Whole => 1.0,
        ClassPart::Unrepeated => defaults::UNREPEATED_CLASS_SHARE,
    };
    let class = gauge.largest_error_pa(reading);
    match part {
        ClassPart::Whole => line(Source::GaugeClass(quantity), class),
        ClassPart::Unrepeated => line(Source::GaugeRepeat(quantity), class * share),
    }
    if let Some(air) = station.site.air_temperature_c {
        let away = (decimal_to_f64(air) - defaults::GAUGE_REFERENCE_C)
            .abs()
            .min(200.0);
        let percent = defaults::GAUGE_PERCENT_PER_KELVIN * away;
        let span = gauge.span().as_f64_pa().max(0.0);
        line(
            Source::GaugeTemperature(quantity),
            span * percent / 100.0 * share,
        );
    }
    line(
        Source::Reading(quantity),
        reading_half_width_pa(station, quantity),
    );
    if gauge.elevation_mm != 0 {
        let height = defaults::ELEVATION_HALF_WIDTH_MM / 1000.0;
        let head = water::head_pa(height, station.site.water_temperature());
        line(Source::Elevation(quantity), head);
    }
    lines
}

/// Half-width of the reading error of a gauge, pascals.
pub(crate) fn reading_half_width_pa(station: &Station, quantity: Quantity) -> f64 {
    let division = station
        .gauge(quantity)
        .division_pressure()
        .as_f64_pa()
        .max(0.0);
    division * defaults::READ_HALF_WIDTH_DIVISIONS
}

/// The line of an as-left ratio in the interstage residual, when one is in use.
///
/// The ratio was found by reading both gauges once, so it carries their reading errors (the class
/// errors are in [`gauge_lines`]).
///
/// # Formula
///
/// ```text
/// u = (p1/R) sqrt((r1/p1)^2 + (r2/p2)^2),   p2 = p1/R,  r_i the reading uncertainties
/// ```
pub(super) fn as_left_line(station: &Station, inlet: Pressure, ratio: f64) -> Option<Contribution> {
    station.first_stage.as_left_ratio?;
    let p1 = inlet.as_f64_pa();
    if p1 <= 0.0 {
        return None;
    }
    let factor = Shape::Rectangular.factor();
    let relative =
        |quantity, pressure: f64| reading_half_width_pa(station, quantity) * factor / pressure;
    let share = relative(Quantity::Inlet, p1)
        .hypot(relative(Quantity::Interstage, p1 / ratio))
        .min(1.0);
    Some(Contribution {
        source: Source::AsLeftRatio,
        shape: Shape::Standard,
        half_width_pa: p1 / ratio * share,
        sensitivity: 1.0,
    })
}

/// Whether the class errors of both gauges cancel against the as-left ratio: it is known, and
/// neither gauge was changed or adjusted after it was found.
pub(super) fn class_part_of_ratio(station: &Station) -> ClassPart {
    let stage = &station.first_stage;
    if stage.as_left_ratio.is_none() {
        return ClassPart::Whole;
    }
    let touched_since = [&station.inlet, &station.interstage]
        .into_iter()
        .any(|gauge| {
            match (gauge.checked_on, stage.as_left_on) {
                (Some(checked), Some(found)) => checked > found,
                // A check on an unknown side of the set-up may have changed the gauge.
                (Some(_), None) => true,
                (None, _) => false,
            }
        });
    if touched_since {
        ClassPart::Whole
    } else {
        ClassPart::Unrepeated
    }
}
