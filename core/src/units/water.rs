//! Water: density, vapour pressure, and the pressure of a column of it.
//!
//! Ordinary water from 0 to 100 degC near atmospheric pressure. Not for brine, nor for steam.

use super::Pressure;

/// Standard gravity, m/s2, exact by definition (ISO 80000-3).
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// The temperature assumed where none is recorded, degC (common practice, no source).
pub const USUAL_TEMPERATURE_C: f64 = 15.0;

/// The range of temperature the formulas here answer for, degC. Outside it they answer for the
/// nearer end.
pub const TEMPERATURE_RANGE_C: (f64, f64) = (0.0, 100.0);

fn within_range(temperature_c: f64) -> f64 {
    if temperature_c.is_nan() {
        return USUAL_TEMPERATURE_C;
    }
    temperature_c.clamp(TEMPERATURE_RANGE_C.0, TEMPERATURE_RANGE_C.1)
}

/// The density of air-free water at 101 325 Pa.
///
/// # Units
///
/// `temperature_c` in degC, taken within 0 to 100; the answer in kg/m3.
///
/// # Formula
///
/// ```text
/// rho = (999.83952 + 16.945176 t - 7.9870401e-3 t^2 - 46.170461e-6 t^3
///        + 105.56302e-9 t^4 - 280.54253e-12 t^5) / (1 + 16.879850e-3 t)
/// ```
///
/// # Source
///
/// G. S. Kell, J. Chem. Eng. Data 20 (1975) 97-105. Agrees with IAPWS-95 within 0.02 kg/m3 over
/// 0 to 60 degC (test `w1_density_follows_the_published_table`).
#[must_use]
pub fn density(temperature_c: f64) -> f64 {
    let t = within_range(temperature_c);
    let top = 999.839_52
        + t * (16.945_176
            + t * (-7.987_040_1e-3
                + t * (-46.170_461e-6 + t * (105.563_02e-9 + t * -280.542_53e-12))));
    top / (1.0 + 16.879_850e-3 * t)
}

/// The pressure at which water of this temperature boils.
///
/// # Units
///
/// `temperature_c` in degC, taken within 0 to 100; the answer in pascals absolute.
///
/// # Formula
///
/// ```text
/// theta = T + n9 / (T - n10),  T in kelvin
/// A = theta^2 + n1 theta + n2,  B = n3 theta^2 + n4 theta + n5,  C = n6 theta^2 + n7 theta + n8
/// p = [2 C / (-B + sqrt(B^2 - 4 A C))]^4  MPa
/// ```
///
/// # Source
///
/// IAPWS R7-97(2012), region 4, equation 30 with the coefficients of its Table 34.
#[must_use]
pub fn vapour_pressure_pa(temperature_c: f64) -> f64 {
    const N: [f64; 10] = [
        0.116_705_214_527_67e4,
        -0.724_213_167_032_06e6,
        -0.170_738_469_400_92e2,
        0.120_208_247_024_70e5,
        -0.323_255_503_223_33e7,
        0.149_151_086_135_30e2,
        -0.482_326_573_615_91e4,
        0.405_113_405_420_57e6,
        -0.238_555_575_678_49,
        0.650_175_348_447_98e3,
    ];
    saturation_mpa(within_range(temperature_c) + 273.15, &N) * 1.0e6
}

/// The saturation equation itself, valid from 273.15 K to 647.096 K.
fn saturation_mpa(kelvin: f64, n: &[f64; 10]) -> f64 {
    let theta = kelvin + n[8] / (kelvin - n[9]);
    let a = theta * theta + n[0] * theta + n[1];
    let b = n[2] * theta * theta + n[3] * theta + n[4];
    let c = n[5] * theta * theta + n[6] * theta + n[7];
    let root = 2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt());
    root.powi(4)
}

/// Gravity at sea level by latitude, m/s2; `latitude_deg` in degrees, either sign.
///
/// Heads here use [`STANDARD_GRAVITY`]; this tells what that costs (at most 0.27 %, check value W-4).
///
/// # Formula
///
/// ```text
/// g = ge (1 + k sin^2 phi) / sqrt(1 - e^2 sin^2 phi)
/// ```
///
/// # Source
///
/// Somigliana's formula with the constants of GRS80 (H. Moritz, J. Geodesy 74 (2000) 128-133).
#[must_use]
pub fn normal_gravity(latitude_deg: f64) -> f64 {
    let latitude = if latitude_deg.is_finite() {
        latitude_deg
    } else {
        45.0
    };
    let square = latitude.to_radians().sin().powi(2);
    9.780_326_771_5 * (1.0 + 0.001_931_851_353 * square)
        / (1.0 - 0.006_694_380_022_9 * square).sqrt()
}

/// The pressure of a column of water `height_m` high at standard gravity, without compression.
///
/// # Units
///
/// Metres (positive upwards gives a positive pressure) and degC; the answer in pascals. Leaving
/// compression out is 0.02 % at 100 m and 0.24 % at 1000 m (check value W-2).
///
/// # Formula
///
/// ```text
/// dp = rho(t) g dz
/// ```
#[must_use]
pub fn head_pa(height_m: f64, temperature_c: f64) -> f64 {
    density(temperature_c) * STANDARD_GRAVITY * height_m
}

/// What to add to a gauge reading to bring it to the station datum.
///
/// A gauge above the datum reads low by the water between, one below it reads high.
///
/// # Units
///
/// `elevation_mm`: height of the gauge above the datum, millimetres, negative below.
#[must_use]
pub fn datum_correction(elevation_mm: i32, temperature_c: f64) -> Pressure {
    let pa = head_pa(f64::from(elevation_mm) / 1000.0, temperature_c);
    Pressure::from_f64_pa(pa).unwrap_or(Pressure::ZERO)
}
