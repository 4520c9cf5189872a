//! What is wrong with a station definition, with its figures.

use winze_core::station::{Problem, Quantity, StationField};
use winze_core::units::{Pressure, Unit};

use super::UserMessage;

/// A problem of a definition as a message, pressures in `unit`.
#[must_use]
pub fn problem(problem: &Problem, unit: Unit) -> UserMessage {
    let next = if problem.is_fatal() {
        "Put the figure right and load the row again."
    } else {
        "Readings are judged all the same. Check the figure with the engineer."
    };
    UserMessage::new(problem_in_words(problem, unit), "", next)
}

/// A problem of a definition in one sentence, pressures in `unit`.
#[must_use]
#[allow(
    clippy::too_many_lines,
    reason = "one arm for each thing that can be wrong"
)]
pub fn problem_in_words(problem: &Problem, unit: Unit) -> String {
    let show = |pressure: Pressure| {
        format!(
            "{} {}",
            pressure.to_decimal(unit, unit.usual_decimals()),
            unit.symbol()
        )
    };
    match problem {
        Problem::RatioNotAboveOne { ratio } => format!(
            "The ratio is {ratio}; a first stage divides the inlet pressure, so it must be above 1."
        ),
        Problem::ZeroSpan {
            quantity,
            low,
            high,
        } => format!(
            "The {} gauge runs from {low} to {high}; its upper end must lie above its lower end.",
            gauge(*quantity)
        ),
        Problem::SetPointAboveInterstage {
            set_point,
            interstage,
        } => format!(
            "The set point {} is not below the interstage pressure, which is {} at the usual \
             inlet pressure.",
            show(*set_point),
            show(*interstage)
        ),
        Problem::NotPositive { field, value } => {
            format!(
                "The {} is {value}; it must be above zero.",
                field_in_words(*field)
            )
        }
        Problem::RangeReversed { field, low, high } => {
            format!(
                "The {} runs backwards, from {low} to {high}.",
                field_in_words(*field)
            )
        }
        Problem::ExpectedOffScale {
            quantity,
            expected,
            full_scale,
        } => format!(
            "The {} gauge ends at {}, and {} is expected there.",
            gauge(*quantity),
            show(*full_scale),
            show(*expected)
        ),
        Problem::ExpectedAboveWorkingRange {
            quantity,
            expected,
            working_max,
        } => format!(
            "The {} gauge should carry at most {} all the time, and {} is expected there.",
            gauge(*quantity),
            show(*working_max),
            show(*expected)
        ),
        Problem::TooLittleDifferential { available, needed } => format!(
            "The second stage needs {} across it to control, and has {} at the usual inlet \
             pressure.",
            show(*needed),
            show(*available)
        ),
        Problem::SetPointOutsideSpring {
            set_point,
            low,
            high,
        } => format!(
            "The set point {} lies outside the pilot spring's range, {} to {}.",
            show(*set_point),
            show(*low),
            show(*high)
        ),
        Problem::AsLeftFarFromNominal { as_left, nominal } => {
            format!("The as-left ratio {as_left} is far from the nominal ratio {nominal}.")
        }
        Problem::RatioUnusual { ratio } => {
            format!("The ratio {ratio} is larger than such stages are made for.")
        }
        Problem::ReliefUnsuited {
            relief,
            above,
            at_most,
        } => match at_most {
            Some(limit) => format!(
                "The relief valve opens at {}; it should open above {} and at {} at most.",
                show(*relief),
                show(*above),
                show(*limit)
            ),
            None => format!(
                "The relief valve opens at {}, within the allowed band that ends at {}.",
                show(*relief),
                show(*above)
            ),
        },
        Problem::GaugeTooCoarse {
            quantity,
            largest_error,
            band,
        } => format!(
            "The {} gauge may be wrong by {}, more than half the allowed band of {}: few readings \
             will be sure.",
            gauge(*quantity),
            show(*largest_error),
            show(*band)
        ),
    }
}

const fn gauge(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Inlet => "inlet",
        Quantity::Interstage => "interstage",
        Quantity::Outlet => "outlet",
    }
}

fn field_in_words(field: StationField) -> String {
    let plain = match field {
        StationField::Ratio => "ratio",
        StationField::AsLeftRatio => "as-left ratio",
        StationField::RatioTolerance => "ratio tolerance",
        StationField::SetPoint => "set point",
        StationField::Band => "allowed band",
        StationField::MinimumDifferential => "minimum differential",
        StationField::InletUsual => "usual inlet pressure",
        StationField::SpringRange => "spring range",
        StationField::RatedKv => "rated Kv",
        StationField::RecoveryFactor => "recovery factor FL",
        StationField::PermittedSigma => "permitted cavitation index",
        StationField::Duty => "duty flow",
        StationField::WaterTemperature => "water temperature",
        StationField::AirTemperature => "air temperature",
        StationField::DownstreamMax => "highest permitted downstream pressure",
        StationField::ReliefSet => "relief set pressure",
        StationField::GaugeClass(quantity) => {
            return format!("class of the {} gauge", gauge(quantity));
        }
        StationField::Division(quantity) => {
            return format!("division of the {} gauge", gauge(quantity));
        }
    };
    plain.to_owned()
}
