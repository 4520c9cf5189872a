//! Numbers as people write them: so many digits as mean something, never an exponent.

use winze_core::units::{Pressure, Unit};

/// A pressure with its unit, to about a hundredth of a bar.
#[must_use]
pub fn amount(pressure: Pressure, unit: Unit) -> String {
    let digits = pressure.to_decimal(unit, unit.usual_decimals());
    format!("{digits} {}", unit.symbol())
}

/// A share in whole per cent, or with one place below ten.
#[must_use]
pub fn percent(share: f64) -> String {
    let value = share * 100.0;
    if value.abs() < 9.95 {
        format!("{value:.1} %")
    } else {
        format!("{value:.0} %")
    }
}

/// A number with so many significant digits, without an exponent.
#[must_use]
pub fn significant(value: f64, digits: usize) -> String {
    // How many digits stand before the point: by the printed exponent, so that 9.996 rounds to 10.0.
    let printed = format!("{value:.*e}", digits.saturating_sub(1));
    let exponent = printed
        .rsplit_once('e')
        .and_then(|(_, exponent)| exponent.parse::<i32>().ok())
        .unwrap_or(0);
    let wanted = i32::try_from(digits).unwrap_or(0) - 1 - exponent;
    format!("{value:.*}", usize::try_from(wanted).unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_their_significant_digits() {
        assert_eq!(significant(4.080_637, 3), "4.08");
        assert_eq!(significant(9.996, 3), "10.0");
        assert_eq!(significant(0.012_345, 3), "0.0123");
        assert_eq!(significant(1234.5, 3), "1234");
        assert_eq!(significant(0.0, 3), "0.00");
        assert_eq!(percent(0.75), "75 %");
        assert_eq!(percent(0.049_9), "5.0 %");
    }
}
