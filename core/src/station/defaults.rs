//! What is assumed where a sheet or a definition is silent.
//!
//! Every constant here is **common practice, no source** unless it says otherwise. They are
//! starting points an engineer changes per station, never limits of their own.

use winze_sync_format::Decimal;

use super::{FirstStage, Gauge, SecondStage, Site, Station, StationCode, UsualRange, Valve};
use crate::units::{Typed, Unit};

/// Tolerance on the nominal ratio, per cent.
pub const RATIO_TOLERANCE_NOMINAL_PERCENT: Decimal = Decimal {
    mantissa: 10,
    exponent: 0,
};

/// Tolerance on a ratio found at set-up, per cent.
pub const RATIO_TOLERANCE_AS_LEFT_PERCENT: Decimal = Decimal {
    mantissa: 5,
    exponent: 0,
};

/// Allowed band either side of the set point, per cent of it.
pub const SET_POINT_BAND_PERCENT: i64 = 10;

/// Usual inlet range either side of the typical inlet pressure, per cent of it.
pub const INLET_USUAL_PERCENT: i64 = 10;

/// The difference a second stage needs across it to control.
pub const MINIMUM_DIFFERENTIAL: Typed = Typed::of(3, -1, Unit::Bar);

/// With no flow the outlet rises above the set point until the stage is tight: how far that may
/// be, as a share of the set point.
pub const LOCK_UP_RISE_SHARE: f64 = 0.10;

/// About how many divisions a dial has where the sheet gives only its span; see [`usual_division`].
pub const DIVISIONS_PER_SPAN: i64 = 50;

/// The finest step people read a needle to, in divisions.
pub const READ_STEP_DIVISIONS: f64 = 0.2;

/// Half-width of the reading error (eye, needle, parallax), in divisions, taken as rectangular.
pub const READ_HALF_WIDTH_DIVISIONS: f64 = 0.35;

/// The part of a gauge's class error that does not repeat from visit to visit, as a share of it.
/// The rest stays with the gauge and cancels against a ratio found with the same gauges.
pub const UNREPEATED_CLASS_SHARE: f64 = 0.25;

/// How well the height of a gauge is known, half-width in millimetres, taken as rectangular.
/// Counted only where a height is given: zero means at the datum.
pub const ELEVATION_HALF_WIDTH_MM: f64 = 50.0;

/// Added gauge error per kelvin away from [`GAUGE_REFERENCE_C`], per cent of span, for
/// Bourdon-tube gauges (EN 837-1:1996).
pub const GAUGE_PERCENT_PER_KELVIN: f64 = 0.04;

/// The temperature gauge classes are stated for, degC (EN 837-1:1996).
pub const GAUGE_REFERENCE_C: f64 = 20.0;

/// The share of full scale a gauge should carry at steady pressure (EN 837-2, recalled).
pub const WORKING_SHARE_STEADY: f64 = 0.75;

/// The share of full scale a gauge should carry at pulsating pressure (EN 837-2, recalled).
pub const WORKING_SHARE_PULSATING: f64 = 0.65;

/// The ratios a proportional stage can sensibly have.
pub const RATIO_SENSIBLE: (f64, f64) = (1.0, 20.0);

/// The tolerance to assume for a first stage.
#[must_use]
pub const fn ratio_tolerance_percent(as_left_known: bool) -> Decimal {
    if as_left_known {
        RATIO_TOLERANCE_AS_LEFT_PERCENT
    } else {
        RATIO_TOLERANCE_NOMINAL_PERCENT
    }
}

/// `percent` of a value as typed, digits kept exactly (10 % of 2.05 is 0.205).
#[must_use]
pub fn percent_of(value: Typed, percent: i64) -> Typed {
    let digits = Decimal {
        mantissa: value.digits.mantissa.saturating_mul(percent),
        exponent: value.digits.exponent.saturating_sub(2),
    };
    Typed::new(trimmed(digits), value.unit)
}

/// The sum of two decimals, exact where it fits; `None` where it does not.
fn sum(a: Decimal, b: Decimal) -> Option<Decimal> {
    let exponent = a.exponent.min(b.exponent);
    let scaled = |d: Decimal| {
        let places = u32::try_from(i32::from(d.exponent) - i32::from(exponent)).ok()?;
        d.mantissa.checked_mul(10_i64.checked_pow(places)?)
    };
    let mantissa = scaled(a)?.checked_add(scaled(b)?)?;
    Some(trimmed(Decimal { mantissa, exponent }))
}

/// Drops zeros behind the decimal point that nobody typed.
fn trimmed(mut digits: Decimal) -> Decimal {
    while digits.exponent < 0 && digits.mantissa % 10 == 0 {
        digits.mantissa /= 10;
        digits.exponent += 1;
    }
    digits
}

/// The usual range around one typical inlet pressure.
#[must_use]
pub fn usual_range(typical: Typed) -> UsualRange {
    let part = percent_of(typical, INLET_USUAL_PERCENT).digits;
    let minus = Decimal {
        mantissa: part.mantissa.saturating_neg(),
        ..part
    };
    UsualRange {
        low: Typed::new(
            sum(typical.digits, minus).unwrap_or(typical.digits),
            typical.unit,
        ),
        high: Typed::new(
            sum(typical.digits, part).unwrap_or(typical.digits),
            typical.unit,
        ),
    }
}

/// The division a dial of this span usually has: 1, 2 or 5 of some decimal place, dividing the span,
/// as near as can be to [`DIVISIONS_PER_SPAN`] in all (0-16 in halves, 0-10 in fifths, 0-4 in
/// tenths). Where no such division fits, the span's share.
///
/// # Source
///
/// Divisions of 1, 2 or 5 are what EN 837-1 asks of dials (recalled); the number is common practice.
#[must_use]
pub fn usual_division(span: Decimal) -> Decimal {
    let span = trimmed(span);
    // Three more places than the span has are enough for a hundredth of it.
    let exponent = span.exponent.saturating_sub(3);
    let share = || {
        let whole = Typed::new(span, Unit::Bar);
        percent_of(whole, 100 / DIVISIONS_PER_SPAN).digits
    };
    let Some(length) = span.mantissa.checked_mul(1000).filter(|&length| length > 0) else {
        return share();
    };
    let powers = (0..18_u32).map_while(|power| 10_i64.checked_pow(power));
    let steps = powers.flat_map(|power| [1, 2, 5].map(|step| power.saturating_mul(step)));
    // How far the number of divisions is from the usual one, as a factor of at least 1, times 1000.
    let distance = |step: i64| {
        let count = length / step;
        let (more, less) = (count.max(DIVISIONS_PER_SPAN), count.min(DIVISIONS_PER_SPAN));
        more.saturating_mul(1000) / less.max(1)
    };
    steps
        .filter(|step| length % step == 0)
        .min_by_key(|&step| distance(step))
        .filter(|&step| distance(step) <= 2500)
        .map_or_else(share, |mantissa| trimmed(Decimal { mantissa, exponent }))
}

/// A gauge from 0 to `span` with the usual number of divisions, at the datum.
#[must_use]
pub fn gauge(span: Decimal, unit: Unit, class: Decimal) -> Gauge {
    Gauge {
        low: Typed::of(0, 0, unit),
        high: Typed::new(span, unit),
        class,
        grade: None,
        division: usual_division(span),
        elevation_mm: 0,
        checked_on: None,
    }
}

/// What the shortest register row tells of a station.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RegisterRow {
    /// Its code.
    pub code: StationCode,
    /// The unit of every pressure in the row.
    pub unit: Unit,
    /// Nominal ratio of the first stage.
    pub ratio: Decimal,
    /// Set point of the second stage.
    pub set_point: Decimal,
    /// Typical inlet pressure.
    pub inlet_typical: Decimal,
    /// Class of all three gauges.
    pub gauge_class: Decimal,
    /// Full scales of the gauges, in flow order.
    pub spans: [Decimal; 3],
}

/// A definition from a short register row, everything else as assumed here.
///
/// It may have [`Station::problems`] if the row is bad.
#[must_use]
pub fn station(row: &RegisterRow) -> Station {
    let set_point = Typed::new(row.set_point, row.unit);
    let [inlet, interstage, outlet] = row.spans.map(|span| gauge(span, row.unit, row.gauge_class));
    Station {
        code: row.code.clone(),
        name: String::new(),
        level: String::new(),
        order: 0,
        unit: row.unit,
        inlet,
        interstage,
        outlet,
        first_stage: FirstStage {
            ratio: row.ratio,
            ratio_tolerance_percent: ratio_tolerance_percent(false),
            as_left_ratio: None,
            as_left_on: None,
            valve: Valve::default(),
        },
        second_stage: SecondStage {
            set_point,
            band: percent_of(set_point, SET_POINT_BAND_PERCENT),
            minimum_differential: MINIMUM_DIFFERENTIAL,
            spring_range: None,
            valve: Valve::default(),
        },
        inlet_usual: usual_range(Typed::new(row.inlet_typical, row.unit)),
        site: Site::default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn digits(text: &str) -> Decimal {
        text.parse().expect("a number")
    }

    #[test]
    fn dials_are_divided_as_dials_are() {
        for (span, division) in [
            ("16", "0.5"),
            ("10", "0.2"),
            ("10.0", "0.2"),
            ("4", "0.1"),
            ("2.5", "0.05"),
            ("1.6", "0.05"),
            ("25", "0.5"),
            ("60", "1"),
            ("250", "5"),
            ("1600", "50"),
            ("7", "0.1"),
        ] {
            assert_eq!(usual_division(digits(span)).to_string(), division, "{span}");
        }
    }

    #[test]
    fn odd_and_absurd_spans_still_have_a_division() {
        // 0.37 divides by no 1, 2 or 5 near fifty times; the others are no spans at all.
        assert_eq!(usual_division(digits("0.37")).to_string(), "0.01");
        assert_eq!(usual_division(digits("13.37")).to_string(), "0.2674");
        for span in ["0", "-4"] {
            let division = usual_division(digits(span));
            assert!(division.mantissa <= 0, "{span}: {division}");
        }
        let huge = Decimal {
            mantissa: i64::MAX,
            exponent: 0,
        };
        assert!(usual_division(huge).mantissa > 0);
    }
}
