//! Air pressure by height, for turning gauge pressures into absolute ones.
//!
//! The standard atmosphere, not the weather: real pressure differs by a few per cent from day to
//! day, and a ventilated mine adds its fans.

/// The radius in the standard's conversion of geometric to geopotential height, m.
const NOMINAL_EARTH_RADIUS_M: f64 = 6_356_766.0;

/// The heights answered for, m: five kilometres down (where the printed tables start) to the
/// tropopause. Outside it the nearer end is answered.
pub(crate) const HEIGHT_RANGE_M: (f64, f64) = (-5_000.0, 11_000.0);

/// Air pressure at `altitude_m` above mean sea level (negative below it).
///
/// # Units
///
/// Geometric metres, taken within -5000 to 11 000; the answer in pascals absolute. Not a number
/// is answered as sea level.
///
/// # Formula
///
/// ```text
/// H = r z / (r + z),   p = 101325 (1 - 0.0065 H / 288.15)^5.255879812716677
/// ```
///
/// # Source
///
/// ISO 2533:1975, the same as ICAO Doc 7488. The exponent is `g0 / (R L)` with
/// `g0 = 9.80665 m/s2`, `R = 287.05287 J/(kg K)`, `L = 0.0065 K/m`.
#[must_use]
pub fn air_pressure(altitude_m: f64) -> f64 {
    if altitude_m.is_nan() {
        return air_pressure_at_geopotential(0.0);
    }
    let z = altitude_m.clamp(HEIGHT_RANGE_M.0, HEIGHT_RANGE_M.1);
    air_pressure_at_geopotential(NOMINAL_EARTH_RADIUS_M * z / (NOMINAL_EARTH_RADIUS_M + z))
}

/// Air pressure at a geopotential height.
///
/// # Units
///
/// Geopotential metres; the answer in pascals absolute. See [`air_pressure`].
#[must_use]
pub fn air_pressure_at_geopotential(height_m: f64) -> f64 {
    let height = if height_m.is_nan() { 0.0 } else { height_m };
    let height = height.clamp(HEIGHT_RANGE_M.0 - 10.0, HEIGHT_RANGE_M.1);
    101_325.0 * (1.0 - 0.006_5 * height / 288.15).powf(5.255_879_812_716_677)
}
