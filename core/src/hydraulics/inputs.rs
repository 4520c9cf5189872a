//! What the check takes from a station's definition, each piece usable or named as lacking.
//!
//! Nothing is assumed where the definition is silent; in particular no water temperature and no
//! height.

use winze_sync_format::Decimal;

use super::figure::{Datum, Figure, Gap, Lack, Stage, both};
use super::liquid::Liquid;
use crate::station::{Station, Valve};
use crate::units::{Pressure, Typed, air_pressure, decimal_to_f64};

/// Heights the standard atmosphere is used for, m (ISO 2533 tables from -5000 m to the tropopause).
const HEIGHT_RANGE_M: std::ops::RangeInclusive<f64> = -5_000.0..=11_000.0;

/// Flows, coefficients and sizes accepted from a definition; beyond lies a slip of the pen.
const SENSIBLE: std::ops::RangeInclusive<f64> = 1.0e-6..=1.0e6;

/// What the air pressure at the station rests on. Either way it is the standard atmosphere, which
/// weather and fans move by some 2 kPa.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AirBasis {
    /// The station's altitude.
    Altitude,
    /// The station's depth, with the surface taken at sea level: air pressure and sigma come out
    /// too high where the surface lies higher.
    DepthBelowSeaLevel,
}

impl AirBasis {
    /// The stable code used in files and `--json`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Altitude => "altitude",
            Self::DepthBelowSeaLevel => "depth-below-sea-level",
        }
    }
}

/// The water and air of the check.
#[derive(Debug, Clone, PartialEq)]
pub struct Conditions {
    /// Water temperature, degC.
    pub temperature_c: Figure<f64>,
    /// Density of the water, kg/m3.
    pub density_kg_m3: Figure<f64>,
    /// Vapour pressure of the water, Pa absolute.
    pub vapour_pressure_pa: Figure<f64>,
    /// Air pressure at the station, Pa absolute.
    pub air_pressure_pa: Figure<f64>,
    /// What the air pressure rests on, where it is known.
    pub air_basis: Option<AirBasis>,
}

/// The cavitation limit a maker states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum StatedLimit {
    /// Smallest permitted sigma.
    Sigma(f64),
    /// The ratio xFz at which cavitation begins.
    Xfz(f64),
}

/// A valve body's figures.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ValveInputs {
    pub(super) rated_kv: Figure<f64>,
    pub(super) fl: Figure<f64>,
    pub(super) limit: Figure<StatedLimit>,
    pub(super) size_mm: Figure<f64>,
}

/// Everything the check takes from a definition.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Inputs {
    pub(super) conditions: Conditions,
    pub(super) liquid: Figure<Liquid>,
    pub(super) valves: [ValveInputs; 2],
    /// Flows in m3/h: smallest, usual, largest.
    pub(super) flows: [Figure<f64>; 3],
    /// Inlet pressures: low, middle and high end of the usual range, each above zero.
    pub(super) inlets: [Pressure; 3],
    /// At least 1.
    pub(super) ratio: f64,
    pub(super) ratio_tolerance: f64,
    /// Above zero.
    pub(super) set_point: Pressure,
    /// Set point plus minimum differential.
    pub(super) needed_supply: Pressure,
    pub(super) spring: Figure<(Pressure, Pressure)>,
    pub(super) downstream_max: Figure<Pressure>,
    /// `None` where there is no relief valve.
    pub(super) relief: Figure<Option<Pressure>>,
}

impl Inputs {
    /// Reads a definition.
    ///
    /// # Errors
    ///
    /// A [`Gap`] naming inlet range, ratio, set point or minimum differential where they make no
    /// sense: without them there is nothing to check.
    pub(super) fn read(station: &Station) -> Result<Self, Gap> {
        let second = &station.second_stage;
        let set_point = above_zero(Some(second.set_point), Datum::SetPoint);
        let differential = second.minimum_differential.to_pressure();
        let differential = if differential >= Pressure::ZERO {
            Ok(differential)
        } else {
            Err(Gap::unusable(Datum::MinimumDifferential))
        };
        let ((ratio, inlets), (set_point, differential)) = both(
            both(ratio(station), inlets(station)),
            both(set_point, differential),
        )?;
        let (conditions, liquid) = conditions(station);
        let duty = &station.site.duty;
        let relief = match station.site.relief_set {
            Some(relief) => above_zero(Some(relief), Datum::ReliefSet).map(Some),
            None => Ok(None),
        };
        Ok(Self {
            conditions,
            liquid,
            valves: [
                valve(&station.first_stage.valve, Stage::First),
                valve(&second.valve, Stage::Second),
            ],
            flows: [
                sensible(duty.min_m3_h, Datum::DutyMin),
                sensible(duty.usual_m3_h, Datum::DutyUsual),
                sensible(duty.max_m3_h, Datum::DutyMax),
            ],
            inlets,
            ratio,
            ratio_tolerance: station.first_stage.tolerance_fraction(),
            set_point,
            needed_supply: set_point + differential,
            spring: spring(second.spring_range),
            downstream_max: above_zero(station.site.downstream_max, Datum::DownstreamMax),
            relief,
        })
    }

    /// Everything lacking, sorted, without repeats.
    pub(super) fn lacking(&self) -> Vec<Lack> {
        let mut all = Vec::new();
        let mut note = |gap: Option<&Gap>| all.extend(gap.into_iter().flat_map(Gap::lacks));
        note(self.conditions.temperature_c.as_ref().err());
        note(self.conditions.air_pressure_pa.as_ref().err());
        for valve in &self.valves {
            note(valve.rated_kv.as_ref().err());
            note(valve.fl.as_ref().err());
            note(valve.limit.as_ref().err());
            note(valve.size_mm.as_ref().err());
        }
        for flow in &self.flows {
            note(flow.as_ref().err());
        }
        note(self.spring.as_ref().err());
        note(self.downstream_max.as_ref().err());
        note(self.relief.as_ref().err());
        all.sort_unstable();
        all.dedup();
        all
    }

    /// The figures of one stage's valve.
    pub(super) fn valve(&self, stage: Stage) -> &ValveInputs {
        &self.valves[stage.index()]
    }
}

fn sensible(value: Option<Decimal>, datum: Datum) -> Figure<f64> {
    within(value, SENSIBLE, datum)
}

fn within(
    value: Option<Decimal>,
    range: std::ops::RangeInclusive<f64>,
    datum: Datum,
) -> Figure<f64> {
    let value = decimal_to_f64(value.ok_or_else(|| Gap::missing(datum))?);
    if range.contains(&value) {
        Ok(value)
    } else {
        Err(Gap::unusable(datum))
    }
}

fn above_zero(value: Option<Typed>, datum: Datum) -> Figure<Pressure> {
    let pressure = value.ok_or_else(|| Gap::missing(datum))?.to_pressure();
    if pressure > Pressure::ZERO {
        Ok(pressure)
    } else {
        Err(Gap::unusable(datum))
    }
}

fn ratio(station: &Station) -> Figure<f64> {
    station
        .first_stage
        .ratio_in_use()
        .filter(|&ratio| ratio >= 1.0)
        .ok_or_else(|| Gap::unusable(Datum::Ratio))
}

fn inlets(station: &Station) -> Figure<[Pressure; 3]> {
    let usual = station.inlet_usual;
    let (low, high) = (usual.low.to_pressure(), usual.high.to_pressure());
    if low > Pressure::ZERO && low <= high {
        Ok([low, usual.middle(), high])
    } else {
        Err(Gap::unusable(Datum::InletUsual))
    }
}

fn conditions(station: &Station) -> (Conditions, Figure<Liquid>) {
    let site = &station.site;
    let temperature_c = site
        .water_temperature_c
        .map(decimal_to_f64)
        .ok_or_else(|| Gap::missing(Datum::WaterTemperature));
    let liquid = temperature_c.clone().and_then(|temperature| {
        Liquid::water(temperature).map_err(|_| Gap::unusable(Datum::WaterTemperature))
    });
    let height = match (site.altitude_m, site.depth_m) {
        (Some(altitude), _) => Some((f64::from(altitude), AirBasis::Altitude)),
        (None, Some(depth)) => Some((-f64::from(depth), AirBasis::DepthBelowSeaLevel)),
        (None, None) => None,
    };
    let air_pressure_pa = match height {
        Some((metres, _)) if HEIGHT_RANGE_M.contains(&metres) => Ok(air_pressure(metres)),
        Some(_) => Err(Gap::unusable(Datum::Height)),
        None => Err(Gap::missing(Datum::Height)),
    };
    let conditions = Conditions {
        temperature_c: liquid.clone().and(temperature_c),
        density_kg_m3: liquid.clone().map(|liquid| liquid.density()),
        vapour_pressure_pa: liquid.clone().map(|liquid| liquid.vapour_pressure_pa()),
        air_basis: height
            .filter(|_| air_pressure_pa.is_ok())
            .map(|(_, basis)| basis),
        air_pressure_pa,
    };
    (conditions, liquid)
}

fn valve(valve: &Valve, stage: Stage) -> ValveInputs {
    let limit = match (valve.permitted_sigma, valve.xfz) {
        (Some(_), _) => {
            sensible(valve.permitted_sigma, Datum::SigmaLimit(stage)).map(StatedLimit::Sigma)
        }
        (None, xfz) => within(xfz, 1.0e-3..=1.0, Datum::SigmaLimit(stage)).map(StatedLimit::Xfz),
    };
    let size_mm = valve
        .size_mm
        .ok_or_else(|| Gap::missing(Datum::Size(stage)))
        .map(f64::from)
        .and_then(|size| {
            if SENSIBLE.contains(&size) {
                Ok(size)
            } else {
                Err(Gap::unusable(Datum::Size(stage)))
            }
        });
    ValveInputs {
        rated_kv: sensible(valve.rated_kv, Datum::RatedKv(stage)),
        fl: within(valve.fl, 1.0e-3..=1.0, Datum::RecoveryFactor(stage)),
        limit,
        size_mm,
    }
}

fn spring(range: Option<(Typed, Typed)>) -> Figure<(Pressure, Pressure)> {
    let (low, high) = range.ok_or_else(|| Gap::missing(Datum::SpringRange))?;
    let (low, high) = (low.to_pressure(), high.to_pressure());
    if low < high {
        Ok((low, high))
    } else {
        Err(Gap::unusable(Datum::SpringRange))
    }
}
