//! What can be wrong with a station definition, found as data.
//!
//! A problem is a fact about a definition, not a refusal: the caller decides which of them keep a
//! definition from being used ([`Problem::is_fatal`]) and how to say it.

use winze_sync_format::Decimal;

use super::{Quantity, Station, defaults};
use crate::units::{Pressure, Typed, decimal_to_f64};

/// A field of a definition that may hold a nonsense number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "each names the field of the same name")]
pub enum StationField {
    Ratio,
    AsLeftRatio,
    RatioTolerance,
    SetPoint,
    Band,
    MinimumDifferential,
    InletUsual,
    SpringRange,
    GaugeClass(Quantity),
    Division(Quantity),
    RatedKv,
    RecoveryFactor,
    PermittedSigma,
    Duty,
    WaterTemperature,
    AirTemperature,
    DownstreamMax,
    ReliefSet,
}

/// One thing wrong with a definition, with the facts.
#[derive(Debug, Clone, PartialEq)]
pub enum Problem {
    /// The ratio is zero, negative, or below 1: no pressure would be reduced.
    RatioNotAboveOne {
        /// The ratio given.
        ratio: Decimal,
    },
    /// A gauge whose upper end is not above its lower end.
    ZeroSpan {
        /// Which gauge.
        quantity: Quantity,
        /// Lower end given.
        low: Typed,
        /// Upper end given.
        high: Typed,
    },
    /// The set point is at or above the pressure expected before the second stage.
    SetPointAboveInterstage {
        /// Set point.
        set_point: Pressure,
        /// Interstage pressure expected at the usual inlet pressure.
        interstage: Pressure,
    },
    /// A number that cannot be, such as a negative band.
    NotPositive {
        /// The field.
        field: StationField,
        /// The value found.
        value: f64,
    },
    /// A lower end that is not below its upper end.
    RangeReversed {
        /// The field.
        field: StationField,
        /// Lower end.
        low: Typed,
        /// Upper end.
        high: Typed,
    },
    /// The pressure expected lies off the scale of its gauge.
    ExpectedOffScale {
        /// Which gauge.
        quantity: Quantity,
        /// Pressure expected.
        expected: Pressure,
        /// Full scale.
        full_scale: Pressure,
    },
    /// The pressure expected lies above the share of full scale a gauge should carry all the time.
    ExpectedAboveWorkingRange {
        /// Which gauge.
        quantity: Quantity,
        /// Pressure expected.
        expected: Pressure,
        /// Highest steady working pressure of the gauge.
        working_max: Pressure,
    },
    /// At the usual inlet pressure the second stage lacks the difference it needs to control.
    TooLittleDifferential {
        /// Difference expected across the second stage.
        available: Pressure,
        /// Difference it needs.
        needed: Pressure,
    },
    /// The set point lies outside the pilot spring's range.
    SetPointOutsideSpring {
        /// Set point.
        set_point: Pressure,
        /// Lowest the spring reaches.
        low: Pressure,
        /// Highest the spring reaches.
        high: Pressure,
    },
    /// The as-left ratio is farther from the nominal one than a first stage in order would be.
    AsLeftFarFromNominal {
        /// Ratio found.
        as_left: Decimal,
        /// Nominal ratio.
        nominal: Decimal,
    },
    /// A ratio larger than proportional stages are made for.
    RatioUnusual {
        /// The ratio given.
        ratio: Decimal,
    },
    /// The relief valve would open within the allowed band, or above what the pipework may see.
    ReliefUnsuited {
        /// Relief set pressure.
        relief: Pressure,
        /// Lowest suitable: the upper end of the allowed band.
        above: Pressure,
        /// Highest suitable: the highest permitted downstream pressure.
        at_most: Option<Pressure>,
    },
    /// The gauge is too coarse: its own largest error exceeds half the allowed band.
    GaugeTooCoarse {
        /// Which gauge.
        quantity: Quantity,
        /// Largest error of the gauge.
        largest_error: Pressure,
        /// Half-width of the allowed band.
        band: Pressure,
    },
}

impl Problem {
    /// Whether readings cannot sensibly be judged against the definition.
    #[must_use]
    pub const fn is_fatal(&self) -> bool {
        matches!(
            self,
            Self::RatioNotAboveOne { .. }
                | Self::ZeroSpan { .. }
                | Self::SetPointAboveInterstage { .. }
                | Self::NotPositive { .. }
                | Self::RangeReversed { .. }
        )
    }

    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::RatioNotAboveOne { .. } => "ratio-not-above-one",
            Self::ZeroSpan { .. } => "zero-span",
            Self::SetPointAboveInterstage { .. } => "set-point-above-interstage",
            Self::NotPositive { .. } => "not-positive",
            Self::RangeReversed { .. } => "range-reversed",
            Self::ExpectedOffScale { .. } => "expected-off-scale",
            Self::ExpectedAboveWorkingRange { .. } => "expected-above-working-range",
            Self::TooLittleDifferential { .. } => "too-little-differential",
            Self::SetPointOutsideSpring { .. } => "set-point-outside-spring",
            Self::AsLeftFarFromNominal { .. } => "as-left-far-from-nominal",
            Self::RatioUnusual { .. } => "ratio-unusual",
            Self::ReliefUnsuited { .. } => "relief-unsuited",
            Self::GaugeTooCoarse { .. } => "gauge-too-coarse",
        }
    }
}

/// Everything wrong with `station`, fatal problems first.
pub(super) fn problems(station: &Station) -> Vec<Problem> {
    let mut found = Vec::new();
    numbers(station, &mut found);
    ratio(station, &mut found);
    ranges(station, &mut found);
    pressures(station, &mut found);
    relief(station, &mut found);
    coarse_gauges(station, &mut found);
    found.sort_by_key(|problem| !problem.is_fatal());
    found
}

fn numbers(station: &Station, found: &mut Vec<Problem>) {
    let mut need = |field, value: f64, zero_is_fine: bool| {
        if value < 0.0 || (value == 0.0 && !zero_is_fine) {
            found.push(Problem::NotPositive { field, value });
        }
    };
    let second = &station.second_stage;
    need(
        StationField::RatioTolerance,
        decimal_to_f64(station.first_stage.ratio_tolerance_percent),
        false,
    );
    need(StationField::SetPoint, second.set_point.value(), false);
    need(StationField::Band, second.band.value(), false);
    need(
        StationField::MinimumDifferential,
        second.minimum_differential.value(),
        true,
    );
    need(
        StationField::InletUsual,
        station.inlet_usual.low.value(),
        true,
    );
    for quantity in Quantity::ALL {
        let gauge = station.gauge(quantity);
        need(
            StationField::GaugeClass(quantity),
            decimal_to_f64(gauge.class),
            false,
        );
        need(
            StationField::Division(quantity),
            decimal_to_f64(gauge.division),
            false,
        );
    }
    for valve in [&station.first_stage.valve, &second.valve] {
        for (field, value) in [
            (StationField::RatedKv, valve.rated_kv),
            (StationField::RecoveryFactor, valve.fl),
            (StationField::PermittedSigma, valve.permitted_sigma),
        ] {
            if let Some(value) = value {
                need(field, decimal_to_f64(value), false);
            }
        }
    }
    let duty = &station.site.duty;
    for flow in [duty.min_m3_h, duty.usual_m3_h, duty.max_m3_h]
        .into_iter()
        .flatten()
    {
        need(StationField::Duty, decimal_to_f64(flow), true);
    }
    if let Some(temperature) = station.site.water_temperature_c {
        need(
            StationField::WaterTemperature,
            decimal_to_f64(temperature),
            true,
        );
    }
    for (field, limit) in [
        (StationField::DownstreamMax, station.site.downstream_max),
        (StationField::ReliefSet, station.site.relief_set),
    ] {
        if let Some(limit) = limit {
            need(field, limit.value(), false);
        }
    }
}

fn ratio(station: &Station, found: &mut Vec<Problem>) {
    let nominal = station.first_stage.ratio;
    let (low, high) = defaults::RATIO_SENSIBLE;
    for ratio in [Some(nominal), station.first_stage.as_left_ratio]
        .into_iter()
        .flatten()
    {
        let value = decimal_to_f64(ratio);
        if value <= low {
            found.push(Problem::RatioNotAboveOne { ratio });
        } else if value > high {
            found.push(Problem::RatioUnusual { ratio });
        }
    }
    if let Some(as_left) = station.first_stage.as_left_ratio {
        let (found_ratio, wanted) = (decimal_to_f64(as_left), decimal_to_f64(nominal));
        // Twice the nominal tolerance: wear, a blocked port or a wrong gauge at set-up.
        let far = 2.0 * decimal_to_f64(defaults::RATIO_TOLERANCE_NOMINAL_PERCENT) / 100.0;
        if wanted > 0.0 && ((found_ratio - wanted) / wanted).abs() > far {
            found.push(Problem::AsLeftFarFromNominal { as_left, nominal });
        }
    }
}

fn ranges(station: &Station, found: &mut Vec<Problem>) {
    for quantity in Quantity::ALL {
        let gauge = station.gauge(quantity);
        if gauge.span() <= Pressure::ZERO {
            found.push(Problem::ZeroSpan {
                quantity,
                low: gauge.low,
                high: gauge.high,
            });
        }
    }
    let usual = station.inlet_usual;
    let mut pairs = vec![(StationField::InletUsual, usual.low, usual.high)];
    if let Some((low, high)) = station.second_stage.spring_range {
        pairs.push((StationField::SpringRange, low, high));
    }
    for (field, low, high) in pairs {
        if low.to_pressure() > high.to_pressure() {
            found.push(Problem::RangeReversed { field, low, high });
        }
    }
}

fn pressures(station: &Station, found: &mut Vec<Problem>) {
    let second = &station.second_stage;
    let set_point = second.set_point.to_pressure();
    let inlet = station.inlet_usual.middle();
    let interstage = station
        .first_stage
        .ratio_in_use()
        .and_then(|ratio| Pressure::from_f64_pa(inlet.as_f64_pa() / ratio));
    if let Some(interstage) = interstage {
        let needed = second.minimum_differential.to_pressure();
        if set_point >= interstage {
            found.push(Problem::SetPointAboveInterstage {
                set_point,
                interstage,
            });
        } else if interstage - set_point < needed {
            found.push(Problem::TooLittleDifferential {
                available: interstage - set_point,
                needed,
            });
        }
    }
    if let Some((low, high)) = second.spring_range {
        let (low, high) = (low.to_pressure(), high.to_pressure());
        if set_point < low || set_point > high {
            found.push(Problem::SetPointOutsideSpring {
                set_point,
                low,
                high,
            });
        }
    }
    let expected = [Some(inlet), interstage, Some(set_point)];
    for (quantity, expected) in Quantity::ALL.into_iter().zip(expected) {
        let gauge = station.gauge(quantity);
        let Some(expected) = expected.filter(|_| gauge.span() > Pressure::ZERO) else {
            continue;
        };
        let full_scale = gauge.high.to_pressure();
        if !gauge.reaches(expected) {
            found.push(Problem::ExpectedOffScale {
                quantity,
                expected,
                full_scale,
            });
        } else if expected > gauge.working_max() {
            let working_max = gauge.working_max();
            found.push(Problem::ExpectedAboveWorkingRange {
                quantity,
                expected,
                working_max,
            });
        }
    }
}

fn relief(station: &Station, found: &mut Vec<Problem>) {
    let Some(relief) = station.site.relief_set.map(Typed::to_pressure) else {
        return;
    };
    let second = &station.second_stage;
    let above = second.set_point.to_pressure() + second.band.to_pressure();
    let at_most = station.site.downstream_max.map(Typed::to_pressure);
    if relief <= above || at_most.is_some_and(|limit| relief > limit) {
        found.push(Problem::ReliefUnsuited {
            relief,
            above,
            at_most,
        });
    }
}

fn coarse_gauges(station: &Station, found: &mut Vec<Problem>) {
    let second = &station.second_stage;
    let band = second.band.to_pressure();
    let error = station
        .outlet
        .largest_error_pa(second.set_point.to_pressure());
    if band > Pressure::ZERO && error > band.as_f64_pa() / 2.0 {
        let largest_error = Pressure::from_f64_pa(error).unwrap_or(Pressure::ZERO);
        found.push(Problem::GaugeTooCoarse {
            quantity: Quantity::Outlet,
            largest_error,
            band,
        });
    }
}
