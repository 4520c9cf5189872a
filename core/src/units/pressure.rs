//! A gauge pressure in whole pascals: what rules compare, add and subtract.
//!
//! Not for showing to people and not for keeping what somebody typed; see [`crate::units::Typed`].

use std::ops::{Add, Neg, Sub};

use winze_sync_format::Decimal;

use super::Unit;

/// A gauge pressure (above the air around the gauge) in whole pascals.
///
/// One pascal is far below anything a dial shows, so rounding to it is never seen, and integers
/// compare and add the same on every machine.
///
/// # Units
///
/// Pascal, within ±[`Pressure::LIMIT_PA`]. Larger values are brought to that limit, which is
/// beyond any gauge, so sums never overflow and every value converts to a finite float exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Pressure(i64);

impl Pressure {
    /// The largest magnitude held: 10^15 Pa, exactly representable as `f64`.
    pub const LIMIT_PA: i64 = 1_000_000_000_000_000;

    /// No difference from the air around.
    pub const ZERO: Self = Self(0);

    /// Makes a pressure from pascals, brought within ±[`Self::LIMIT_PA`].
    #[must_use]
    pub const fn from_pa(pa: i64) -> Self {
        if pa > Self::LIMIT_PA {
            Self(Self::LIMIT_PA)
        } else if pa < -Self::LIMIT_PA {
            Self(-Self::LIMIT_PA)
        } else {
            Self(pa)
        }
    }

    /// Makes a pressure from a float in pascals, rounded to the nearest whole one.
    ///
    /// `None` when the float is not a number; infinities come to the limit.
    #[must_use]
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "the limit is exactly representable and the value is clamped to it first"
    )]
    pub fn from_f64_pa(pa: f64) -> Option<Self> {
        if pa.is_nan() {
            return None;
        }
        let limit = Self::LIMIT_PA as f64;
        Some(Self(pa.clamp(-limit, limit).round() as i64))
    }

    /// Pascals.
    #[must_use]
    pub const fn pa(self) -> i64 {
        self.0
    }

    /// Pascals as a float; exact.
    #[must_use]
    #[allow(
        clippy::cast_precision_loss,
        reason = "held magnitudes are at most 10^15, below 2^53"
    )]
    pub const fn as_f64_pa(self) -> f64 {
        self.0 as f64
    }

    /// The value in `unit` as a float, for scales and charts.
    #[must_use]
    pub fn in_unit(self, unit: Unit) -> f64 {
        unit.from_pa(self.as_f64_pa())
    }

    /// The value in `unit`, rounded half away from zero to `decimals` places (at most 9), for showing.
    #[must_use]
    pub fn to_decimal(self, unit: Unit, decimals: u8) -> Decimal {
        let decimals = decimals.min(9);
        let (num, den) = unit.pascals_exact();
        let scaled = i128::from(self.0) * i128::from(den) * 10_i128.pow(u32::from(decimals));
        let mantissa = super::number::divide_half_away(scaled, i128::from(num));
        Decimal {
            mantissa: i64::try_from(mantissa).unwrap_or(if mantissa < 0 {
                i64::MIN
            } else {
                i64::MAX
            }),
            exponent: -i8::try_from(decimals).unwrap_or(0),
        }
    }

    /// The size without the sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

impl Add for Pressure {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::from_pa(self.0 + other.0)
    }
}

impl Sub for Pressure {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::from_pa(self.0 - other.0)
    }
}

impl Neg for Pressure {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}
