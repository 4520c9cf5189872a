//! The ratio of the first stage that two gauges show, for the records of set-up and recalibration.
//!
//! Not for judging a reading against a ratio: that is [`super::judge`].

use super::budget::{ClassPart, combined, gauge_lines};
use super::entry::Entry;
use super::expected::at_datum;
use crate::station::{Quantity, Station};

/// A ratio as read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatioRead {
    /// Inlet over interstage pressure at the station datum.
    pub ratio: f64,
    /// Its combined standard uncertainty.
    pub uncertainty: f64,
}

/// The ratio that the inlet and interstage gauges of a visit show.
///
/// `None` unless both were read and both pressures are above zero.
///
/// # Formula
///
/// ```text
/// R = p1 / p2        u(R) = R sqrt((u1/p1)^2 + (u2/p2)^2)
/// ```
///
/// `u1`, `u2` are the combined standard uncertainties of the two gauges: class, temperature, reading
/// and height.
///
/// # Source
///
/// JCGM 100:2008, 5.1.6 (relative uncertainties of a quotient of independent quantities).
#[must_use]
pub fn ratio_read(station: &Station, entry: &Entry) -> Option<RatioRead> {
    let read = |quantity| {
        let typed = entry.get(quantity)?;
        let pressure = at_datum(station, quantity, typed).as_f64_pa();
        let lines = gauge_lines(
            station,
            quantity,
            typed.to_pressure(),
            1.0,
            ClassPart::Whole,
        );
        (pressure > 0.0).then(|| (pressure, combined(&lines)))
    };
    let ((p1, u1), (p2, u2)) = (read(Quantity::Inlet)?, read(Quantity::Interstage)?);
    let ratio = p1 / p2;
    Some(RatioRead {
        ratio,
        uncertainty: ratio * (u1 / p1).hypot(u2 / p2),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{entry, station};

    #[test]
    fn ratio_and_its_uncertainty_by_hand() {
        // Gauges 0-16 and 0-10 bar of class 1.6, read to a quarter of their division or so: the
        // class alone is 0.256 and 0.16 bar, rectangular.
        let mut station = station("T-01");
        let silent = winze_sync_format::Decimal {
            mantissa: 0,
            exponent: 0,
        };
        station.inlet.division = silent;
        station.interstage.division = silent;
        let found = ratio_read(&station, &entry(100, 40, 20)).unwrap();
        assert!((found.ratio - 2.5).abs() < 1e-12);
        let (a, b) = (0.256 / 3_f64.sqrt() / 10.0, 0.16 / 3_f64.sqrt() / 4.0);
        let by_hand = 2.5 * (a * a + b * b).sqrt();
        // The budget adds the rounding to whole pascals, which is not seen here.
        assert!((found.uncertainty - by_hand).abs() < 1e-6, "{found:?}");
    }

    #[test]
    fn no_ratio_without_two_pressures() {
        let station = station("T-01");
        assert_eq!(ratio_read(&station, &entry(100, 0, 20)), None);
        let only = entry(100, 40, 20).with(Quantity::Interstage, None);
        assert_eq!(ratio_read(&station, &only), None);
    }
}
