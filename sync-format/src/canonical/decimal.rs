//! A decimal number with its digits kept: 4.10 and 4.1 are the same value, typed differently.
//!
//! Not a number type to compute with; conversions to exact integers are offered instead.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

use crate::error::{Error, Result};

/// `mantissa` x 10^`exponent`. Equality is of the digits; see [`Decimal::same_value`].
///
/// # Examples
/// ```
/// use winze_sync_format::Decimal;
/// let typed: Decimal = "4.10".parse()?;
/// assert_eq!(typed, Decimal { mantissa: 410, exponent: -2 });
/// assert_ne!(typed, "4.1".parse()?);
/// assert!(typed.same_value("4.1".parse()?));
/// assert_eq!(typed.to_string(), "4.10");
/// # Ok::<(), winze_sync_format::Error>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Decimal {
    /// The digits, with the sign, without the point.
    pub mantissa: i64,
    /// The power of ten; -2 for two digits after the point.
    pub exponent: i8,
}

impl Decimal {
    /// The smallest exponent that is ever written.
    pub const EXPONENT_MIN: i8 = -18;
    /// The largest exponent that is ever written.
    pub const EXPONENT_MAX: i8 = 18;

    /// A decimal from its parts.
    #[must_use]
    pub const fn new(mantissa: i64, exponent: i8) -> Self {
        Self { mantissa, exponent }
    }

    /// A whole number.
    #[must_use]
    pub const fn whole(value: i64) -> Self {
        Self::new(value, 0)
    }

    /// Whether the exponent lies in the range that the format carries.
    #[must_use]
    pub fn is_writable(self) -> bool {
        (Self::EXPONENT_MIN..=Self::EXPONENT_MAX).contains(&self.exponent)
    }

    /// Compares by value: 4.10 equals 4.1.
    #[must_use]
    pub fn cmp_value(self, other: Self) -> Ordering {
        let sign = self.mantissa.signum().cmp(&other.mantissa.signum());
        if sign != Ordering::Equal || self.mantissa == 0 {
            return sign;
        }
        // Same sign: first where the leading digit stands, then the digits at equal length.
        let size = self.leading().cmp(&other.leading()).then_with(|| {
            let (a, b) = (digit_count(self.mantissa), digit_count(other.mantissa));
            let wide = a.max(b);
            let scaled = |mantissa: i64, digits: u32| {
                u128::from(mantissa.unsigned_abs()) * 10u128.pow(wide - digits)
            };
            scaled(self.mantissa, a).cmp(&scaled(other.mantissa, b))
        });
        if self.mantissa < 0 {
            size.reverse()
        } else {
            size
        }
    }

    /// Whether both are the same value, however typed.
    #[must_use]
    pub fn same_value(self, other: Self) -> bool {
        self.cmp_value(other) == Ordering::Equal
    }

    /// The mantissa at another exponent, if that is exact and fits.
    #[must_use]
    pub fn at_exponent(self, exponent: i8) -> Option<i128> {
        let shift = i32::from(self.exponent) - i32::from(exponent);
        let power = 10i128.checked_pow(shift.unsigned_abs());
        let mantissa = i128::from(self.mantissa);
        if mantissa == 0 {
            return Some(0);
        }
        if shift >= 0 {
            return mantissa.checked_mul(power?);
        }
        let power = power?;
        (mantissa % power == 0).then_some(mantissa / power)
    }

    /// The nearest double.
    #[must_use]
    pub fn to_f64(self) -> f64 {
        // The standard parser rounds correctly; two roundings of our own would not.
        format!("{}e{}", self.mantissa, self.exponent)
            .parse()
            .unwrap_or(f64::NAN)
    }

    /// Digits after the point.
    #[must_use]
    pub fn places(self) -> u8 {
        self.exponent.min(0).unsigned_abs()
    }

    /// Where the leading digit stands, as a power of ten.
    fn leading(self) -> i32 {
        i32::from(self.exponent) + digit_count(self.mantissa).cast_signed()
    }
}

fn digit_count(mantissa: i64) -> u32 {
    mantissa.unsigned_abs().checked_ilog10().unwrap_or(0) + 1
}

impl fmt::Display for Decimal {
    /// Plain digits with a point; a positive exponent is written out with zeros.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut digits = self.mantissa.unsigned_abs().to_string();
        let places = usize::from(self.places());
        if self.exponent > 0 && self.mantissa != 0 {
            digits.extend(std::iter::repeat_n(
                '0',
                usize::from(self.exponent.unsigned_abs()),
            ));
        }
        if places > 0 {
            if digits.len() <= places {
                digits.insert_str(0, &"0".repeat(places + 1 - digits.len()));
            }
            digits.insert(digits.len() - places, '.');
        }
        f.pad_integral(self.mantissa >= 0, "", &digits)
    }
}

impl fmt::Debug for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Decimal({self})")
    }
}

impl FromStr for Decimal {
    type Err = Error;

    /// Reads an optional sign, digits and at most one point with digits on both sides.
    ///
    /// # Errors
    /// [`Error::BadText`] for anything else, more than 18 places, or more digits than fit.
    fn from_str(text: &str) -> Result<Self> {
        let bad = || Error::bad_text("decimal number", text);
        let (negative, unsigned) = match text.as_bytes().first() {
            Some(b'-') => (true, &text[1..]),
            Some(b'+') => (false, &text[1..]),
            _ => (false, text),
        };
        let (whole, places) = match unsigned.split_once('.') {
            Some((_, "")) => return Err(bad()),
            Some(parts) => parts,
            None => (unsigned, ""),
        };
        if whole.is_empty() || places.len() > usize::from(Self::EXPONENT_MIN.unsigned_abs()) {
            return Err(bad());
        }
        let mut mantissa = 0i64;
        for digit in whole.bytes().chain(places.bytes()) {
            if !digit.is_ascii_digit() {
                return Err(bad());
            }
            // Counted downwards so that the lowest value fits too.
            mantissa = mantissa
                .checked_mul(10)
                .and_then(|sum| sum.checked_sub(i64::from(digit - b'0')))
                .ok_or_else(bad)?;
        }
        if !negative {
            mantissa = mantissa.checked_neg().ok_or_else(bad)?;
        }
        let exponent = i8::try_from(places.len()).map_err(|_| bad())?;
        Ok(Self {
            mantissa,
            exponent: -exponent,
        })
    }
}
