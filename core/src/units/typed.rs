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
