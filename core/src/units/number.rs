//! Exact arithmetic between decimals, rationals and floats, shared by the unit conversions.

use winze_sync_format::Decimal;

/// Divides and rounds to the nearest whole number, halves away from zero.
///
/// `divisor` must be positive; every caller passes a unit factor or a power of ten.
pub(super) fn divide_half_away(value: i128, divisor: i128) -> i128 {
    debug_assert!(divisor > 0, "unit factors are positive");
    let half = divisor / 2;
    let whole = value / divisor;
    let rest = (value % divisor).abs();
    // For an odd divisor a rest above `divisor / 2` (rounded down) is already past the middle.
    let up = if divisor % 2 == 0 {
        rest >= half
    } else {
        rest > half
    };
    match (up, value < 0) {
        (false, _) => whole,
        (true, false) => whole + 1,
        (true, true) => whole - 1,
    }
}

/// The value of a decimal as a float: finite for every decimal, and the nearest float whenever the
/// mantissa is below 2^53 and the exponent within ±22 (all pressures people type).
#[must_use]
#[allow(
    clippy::cast_precision_loss,
    reason = "documented: nearest float for everything people type"
)]
pub fn decimal_to_f64(value: Decimal) -> f64 {
    let mantissa = value.mantissa as f64;
    let power = 10_f64.powi(i32::from(value.exponent).abs());
    if value.exponent < 0 {
        mantissa / power
    } else {
        mantissa * power
    }
}
