//! Where a station stands and what it serves; every field optional.

use winze_sync_format::Decimal;

use crate::units::{Typed, air_pressure, decimal_to_f64, water};

/// The flows a station is to pass, m3/h.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Duty {
    /// The smallest draw-off.
    pub min_m3_h: Option<Decimal>,
    /// The usual draw-off.
    pub usual_m3_h: Option<Decimal>,
    /// The largest draw-off.
    pub max_m3_h: Option<Decimal>,
}

/// Where a station stands, the water it carries and what hangs on it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Site {
    /// Height of the station above mean sea level, m; negative below.
    pub altitude_m: Option<i32>,
    /// Depth of the station below the surface, m. Used for air pressure only where no altitude is
    /// given, with the surface taken at sea level.
    pub depth_m: Option<i32>,
    /// Water temperature, degC.
    pub water_temperature_c: Option<Decimal>,
    /// Air temperature around the gauges, degC.
    pub air_temperature_c: Option<Decimal>,
    /// The highest pressure the pipework after the station may see.
    pub downstream_max: Option<Typed>,
    /// The pressure at which the relief valve after the station opens.
    pub relief_set: Option<Typed>,
    /// Flows to pass.
    pub duty: Duty,
    /// Known hazards at the place, in the engineer's words.
    pub hazards: String,
    /// How to get there and what access needs, in the engineer's words.
    pub access: String,
}

impl Site {
    /// Water temperature, degC, or the usual one where none is recorded.
    #[must_use]
    pub fn water_temperature(&self) -> f64 {
        self.water_temperature_c
            .map_or(water::USUAL_TEMPERATURE_C, decimal_to_f64)
    }

    /// Height above mean sea level, m, from altitude or depth; sea level where neither is given.
    #[must_use]
    pub fn height_m(&self) -> f64 {
        match (self.altitude_m, self.depth_m) {
            (Some(altitude), _) => f64::from(altitude),
            (None, Some(depth)) => -f64::from(depth),
            (None, None) => 0.0,
        }
    }

    /// Standard air pressure at the station, pascals absolute.
    #[must_use]
    pub fn air_pressure_pa(&self) -> f64 {
        air_pressure(self.height_m())
    }
}
