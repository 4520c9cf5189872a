//! A pressure exactly as somebody typed it: the digits and the unit.

use std::fmt;

use winze_sync_format::Decimal;

use super::number::divide_half_away;
use super::{Pressure, Unit};

/// A pressure as typed. `4.10 bar` and `4.1 bar` differ here and are equal as [`Pressure`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Typed {
    /// The digits, trailing zeros kept.
    pub digits: Decimal,
    /// The unit they were read in.
    pub unit: Unit,
}

impl Typed {
    /// Puts digits and unit together.
    #[must_use]
    pub const fn new(digits: Decimal, unit: Unit) -> Self {
        Self { digits, unit }
    }

    /// Shorthand for `mantissa * 10^exponent` of `unit`.
    #[must_use]
    pub const fn of(mantissa: i64, exponent: i8, unit: Unit) -> Self {
        Self {
            digits: Decimal { mantissa, exponent },
            unit,
        }
    }

    /// The pressure, rounded once, half away from zero, to whole pascals.
    ///
    /// Total: absurd digits (1e100 bar) come to ±[`Pressure::LIMIT_PA`], tiny ones to zero.
    #[must_use]
    pub fn to_pressure(self) -> Pressure {
        let (num, den) = self.unit.pascals_exact();
        let scaled = i128::from(self.digits.mantissa) * i128::from(num);
        let limit = i128::from(Pressure::LIMIT_PA);
        let pa = if self.digits.exponent >= 0 {
            let power = 10_i128.checked_pow(u32::from(self.digits.exponent.unsigned_abs()));
            match power.and_then(|power| scaled.checked_mul(power)) {
                Some(value) => divide_half_away(value, i128::from(den)),
                None => scaled.signum() * limit,
            }
        } else {
            let places = u32::from(self.digits.exponent.unsigned_abs());
            // Beyond 28 places even i64::MAX of the largest unit is far below half a pascal.
            match 10_i128.checked_pow(places).filter(|_| places <= 28) {
                Some(power) => divide_half_away(scaled, power * i128::from(den)),
                None => 0,
            }
        };
        let pa = pa.clamp(-limit, limit);
        Pressure::from_pa(i64::try_from(pa).unwrap_or(0))
    }

    /// The value in its own unit as a float.
    #[must_use]
    pub fn value(self) -> f64 {
        super::decimal_to_f64(self.digits)
    }

    /// The value in `unit` as a float.
    #[must_use]
    pub fn value_in(self, unit: Unit) -> f64 {
        if unit == self.unit {
            self.value()
        } else {
            unit.from_pa(self.unit.to_pa(self.value()))
        }
    }

    /// The same pressure written in `unit`; itself when the unit is the same, otherwise rounded to
    /// `decimals` places.
    #[must_use]
    pub fn converted(self, unit: Unit, decimals: u8) -> Self {
        if unit == self.unit {
            return self;
        }
        Self {
            digits: self.to_pressure().to_decimal(unit, decimals),
            unit,
        }
    }

    /// Decimal places typed.
    #[must_use]
    pub fn decimals(self) -> u8 {
        if self.digits.exponent < 0 {
            self.digits.exponent.unsigned_abs()
        } else {
            0
        }
    }
}

impl fmt::Display for Typed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.digits, self.unit)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn typed_zeros_differ_as_typed_and_agree_as_pressure() {
        let (long, short) = (Typed::of(410, -2, Unit::Bar), Typed::of(41, -1, Unit::Bar));
        assert_ne!(long, short);
        assert_eq!(long.to_pressure(), short.to_pressure());
        assert_eq!(long.to_string(), "4.10 bar");
    }

    #[test]
    fn absurd_digits_come_to_the_limit_or_to_zero() {
        for unit in Unit::ALL {
            let pa = |mantissa, exponent| Typed::of(mantissa, exponent, unit).to_pressure().pa();
            assert_eq!(pa(i64::MAX, i8::MAX), Pressure::LIMIT_PA);
            assert_eq!(pa(i64::MIN, i8::MAX), -Pressure::LIMIT_PA);
            assert_eq!(pa(i64::MAX, i8::MIN), 0);
            assert_eq!(pa(0, i8::MAX), 0);
            assert_eq!(pa(1, 100), Pressure::LIMIT_PA);
        }
    }

    #[test]
    fn a_converted_value_shows_the_places_asked_for() {
        let shown = |typed: Typed, unit, places| typed.converted(unit, places).to_string();
        assert_eq!(
            shown(Typed::of(150, 0, Unit::Psi), Unit::Bar, 2),
            "10.34 bar"
        );
        assert_eq!(shown(Typed::of(2, 0, Unit::Bar), Unit::Psi, 0), "29 psi");
        assert_eq!(
            shown(Typed::of(-1, 0, Unit::Bar), Unit::Kilopascal, 1),
            "-100.0 kPa"
        );
        // The same unit keeps the digits.
        assert_eq!(shown(Typed::of(2, 0, Unit::Bar), Unit::Bar, 2), "2 bar");
    }

    fn any_unit() -> impl Strategy<Value = Unit> {
        (0..Unit::ALL.len()).prop_map(|index| Unit::ALL[index])
    }

    proptest! {
        #[test]
        fn pascals_and_back_keep_three_places_of_every_unit(
            mantissa in -10_000_000..10_000_000_i64, unit in any_unit(),
        ) {
            // A pascal is at most a thousandth of the smallest unit, kPa.
            let typed = Typed::of(mantissa, -3, unit);
            prop_assert_eq!(typed.to_pressure().to_decimal(unit, 3), typed.digits);
        }

        #[test]
        fn float_conversions_invert(value in -1.0e9..1.0e9_f64, unit in any_unit()) {
            let back = unit.from_pa(unit.to_pa(value));
            prop_assert!((back - value).abs() <= 4.0 * f64::EPSILON * value.abs());
        }

        #[test]
        fn a_greater_number_is_never_a_smaller_pressure(
            mantissa in any::<i64>(), more in 0..1_000_000_i64, exponent in any::<i8>(),
            unit in any_unit(),
        ) {
            let lower = Typed::of(mantissa, exponent, unit).to_pressure();
            let higher = Typed::of(mantissa.saturating_add(more), exponent, unit).to_pressure();
            prop_assert!(lower <= higher);
        }

        #[test]
        fn exact_and_float_conversion_agree(
            mantissa in any::<i64>(), exponent in -20..3_i8, unit in any_unit(),
        ) {
            let typed = Typed::of(mantissa, exponent, unit);
            let float = unit.to_pa(typed.value());
            if float.abs() < 1.0e15 {
                let exact = typed.to_pressure().as_f64_pa();
                prop_assert!((exact - float).abs() <= 0.5 + 1.0e-14 * float.abs());
            }
        }

        #[test]
        fn adding_stays_within_the_limit(a in any::<i64>(), b in any::<i64>()) {
            let (a, b) = (Pressure::from_pa(a), Pressure::from_pa(b));
            for sum in [a + b, a - b, -(a + b)] {
                prop_assert!(sum.pa().abs() <= Pressure::LIMIT_PA);
            }
        }
    }
}
