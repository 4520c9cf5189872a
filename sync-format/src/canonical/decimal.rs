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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn decimals_keep_their_digits() {
        for (text, mantissa, exponent) in [
            ("4.10", 410, -2),
            ("4.1", 41, -1),
            ("0", 0, 0),
            ("0.00", 0, -2),
            ("-0.5", -5, -1),
            ("007", 7, 0),
            ("9223372036854775807", i64::MAX, 0),
            ("-9223372036854775808", i64::MIN, 0),
            ("0.000000000000000001", 1, -18),
        ] {
            let value: Decimal = text.parse().unwrap();
            assert_eq!(value, Decimal::new(mantissa, exponent));
            if text != "007" {
                assert_eq!(value.to_string(), text);
            }
        }
        for bad in [
            "",
            "-",
            "+",
            ".",
            "1.",
            ".5",
            "1.2.3",
            "1e3",
            " 1",
            "1 ",
            "1,5",
            "0x1",
            "--1",
            "\u{661}",
            "9223372036854775808",
            "0.0000000000000000001",
            "NaN",
            "inf",
        ] {
            assert!(bad.parse::<Decimal>().is_err(), "{bad:?}");
        }
        assert_eq!(Decimal::new(15, 1).to_string(), "150");
        assert_eq!(Decimal::new(0, 3).to_string(), "0");
        assert_eq!(
            format!("{:>7}|{:<6}|", Decimal::new(-15, -1), Decimal::new(2, 0)),
            "   -1.5|2     |"
        );
    }

    #[test]
    fn decimals_compare_by_value() {
        let order = |a: &str, b: &str| {
            let (a, b) = (a.parse::<Decimal>().unwrap(), b.parse::<Decimal>().unwrap());
            assert_eq!(a.cmp_value(b), b.cmp_value(a).reverse());
            a.cmp_value(b)
        };
        assert_eq!(order("4.10", "4.1"), Ordering::Equal);
        assert_eq!(order("0.00", "0"), Ordering::Equal);
        assert_eq!(order("-1", "1"), Ordering::Less);
        assert_eq!(order("-2", "-1.99"), Ordering::Less);
        assert_eq!(order("10", "9.99"), Ordering::Greater);
        assert_eq!(
            order("9223372036854775807", "0.000000000000000001"),
            Ordering::Greater
        );
        let (wide, narrow) = (Decimal::new(i64::MIN, 18), Decimal::new(i64::MIN, -18));
        assert_eq!(wide.cmp_value(narrow), Ordering::Less);
        assert_eq!(Decimal::new(25, -1).at_exponent(-3), Some(2500));
        assert_eq!(Decimal::new(25, -1).at_exponent(0), None);
        assert_eq!(Decimal::new(250, -1).at_exponent(0), Some(25));
        assert_eq!(Decimal::new(i64::MAX, 18).at_exponent(-18), None);
        assert!((Decimal::new(27_315, -2).to_f64() - 273.15).abs() < f64::EPSILON);
    }

    proptest! {
        #[test]
        fn shown_decimals_read_back(mantissa: i64, exponent in -18i8..=0) {
            let value = Decimal::new(mantissa, exponent);
            prop_assert_eq!(value.to_string().parse::<Decimal>().unwrap(), value);
        }

        #[test]
        fn decimal_order_agrees_with_exact_integers(a: i64, b: i64, x in -9i8..=9, y in -9i8..=9) {
            let (one, two) = (Decimal::new(a, x), Decimal::new(b, y));
            let (left, right) = (one.at_exponent(-9).unwrap(), two.at_exponent(-9).unwrap());
            prop_assert_eq!(one.cmp_value(two), left.cmp(&right));
        }
    }
}
