//! Sizing a valve for a liquid without fittings, by IEC 60534-2-1.
//!
//! Turbulent flow of one liquid through one valve. Reducers beside the valve are in
//! [`super::fittings`], the test for turbulence in [`super::reynolds`]. Pressures are absolute here
//! and nowhere else is a gauge pressure accepted: [`Absolute`] is the only door.

use thiserror::Error;

use crate::units::{Pressure, water};

/// The numerical constant N1 of IEC 60534-2-1 for Kv, m3/h and kPa.
pub const N1: f64 = 0.1;

/// The density Kv is defined with, kg/m3: water at 15 degC (IEC 60534-2-1; the digits are those
/// of IAPWS-95 at 101 325 Pa). Using 1000 would lower every Kv by 0.045 %.
pub const REFERENCE_DENSITY: f64 = 999.103_290_757_023_3;

/// The critical pressure of water, Pa absolute (IAPWS R7-97).
pub const CRITICAL_PRESSURE_PA: f64 = 22.064e6;

/// Cv in US gallons per minute at 1 psi, per Kv in m3/h at 1 bar.
///
/// From the gallon of 231 cubic inches and the exact psi; IEC 60534-2-1 prints Kv = 0.865 Cv.
pub const CV_PER_KV: f64 = 1.156_099_228_353_656_4;

/// Numbers accepted by the equations lie between these, so that no result overflows.
const ACCEPTED: std::ops::RangeInclusive<f64> = 1.0e-9..=1.0e16;

/// What a number given to an equation was for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "each is the name of the quantity")]
pub enum SizingInput {
    AbsolutePressure,
    Density,
    VapourPressure,
    CriticalPressure,
    Temperature,
    Flow,
    Kv,
    RecoveryFactor,
    Bore,
    PipeBore,
    Viscosity,
    StyleModifier,
    SigmaOnset,
}

/// Why an equation has no answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum SizingError {
    /// A number that is not one, not above zero, or outside what the quantity can be.
    #[error("{input:?} cannot be {value}")]
    OutOfRange {
        /// The quantity.
        input: SizingInput,
        /// The number given.
        value: f64,
    },
    /// The pressure before the valve is not above the one after it.
    #[error("no pressure drop from {upstream_pa} Pa to {downstream_pa} Pa")]
    NoDrop {
        /// Absolute pressure before the valve.
        upstream_pa: f64,
        /// Absolute pressure after it.
        downstream_pa: f64,
    },
    /// The liquid already boils before the valve.
    #[error("liquid boils at {vapour_pa} Pa, before the valve at {upstream_pa} Pa")]
    Boils {
        /// Absolute pressure before the valve.
        upstream_pa: f64,
        /// Vapour pressure.
        vapour_pa: f64,
    },
    /// The reducers alone pass less than the flow asked for, whatever the valve.
    #[error("reducers pass less than the flow asked for")]
    BeyondFittings,
}

/// Passes a number on if the quantity can have it.
///
/// # Errors
///
/// [`SizingError::OutOfRange`] otherwise, also for not a number.
pub(super) fn accept(input: SizingInput, value: f64) -> Result<f64, SizingError> {
    let fits = ACCEPTED.contains(&value)
        && match input {
            SizingInput::RecoveryFactor | SizingInput::StyleModifier | SizingInput::SigmaOnset => {
                value <= 1.0
            }
            _ => true,
        };
    if fits {
        Ok(value)
    } else {
        Err(SizingError::OutOfRange { input, value })
    }
}

/// An absolute pressure above zero.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Absolute(f64);

impl Absolute {
    /// From pascals absolute.
    ///
    /// # Errors
    ///
    /// [`SizingError::OutOfRange`] unless above zero and below 10^16 Pa.
    pub fn from_pa(pa: f64) -> Result<Self, SizingError> {
        accept(SizingInput::AbsolutePressure, pa).map(Self)
    }

    /// From a gauge pressure and the air pressure around the gauge, Pa absolute.
    ///
    /// # Errors
    ///
    /// As [`Self::from_pa`].
    pub fn from_gauge(gauge: Pressure, air_pa: f64) -> Result<Self, SizingError> {
        Self::from_pa(gauge.as_f64_pa() + air_pa)
    }

    /// Pascals absolute.
    #[must_use]
    pub const fn pa(self) -> f64 {
        self.0
    }
}

/// A liquid as far as the equations need it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Liquid {
    density: f64,
    vapour_pa: f64,
    critical_pa: f64,
}

impl Liquid {
    /// A liquid by density (kg/m3), vapour pressure and critical pressure (Pa absolute).
    ///
    /// # Errors
    ///
    /// [`SizingError::OutOfRange`] for a number that cannot be, or a vapour pressure above the
    /// critical one.
    pub fn new(density: f64, vapour_pa: f64, critical_pa: f64) -> Result<Self, SizingError> {
        let density = accept(SizingInput::Density, density)?;
        let critical_pa = accept(SizingInput::CriticalPressure, critical_pa)?;
        let vapour_pa = accept(SizingInput::VapourPressure, vapour_pa)?;
        if vapour_pa > critical_pa {
            return Err(SizingError::OutOfRange {
                input: SizingInput::VapourPressure,
                value: vapour_pa,
            });
        }
        Ok(Self {
            density,
            vapour_pa,
            critical_pa,
        })
    }

    /// Water at a temperature, degC. Its density is taken at atmospheric pressure, which is 0.05 %
    /// low at 10 bar.
    ///
    /// # Errors
    ///
    /// [`SizingError::OutOfRange`] outside [`water::TEMPERATURE_RANGE_C`].
    pub fn water(temperature_c: f64) -> Result<Self, SizingError> {
        let (lowest, highest) = water::TEMPERATURE_RANGE_C;
        if !(lowest..=highest).contains(&temperature_c) {
            return Err(SizingError::OutOfRange {
                input: SizingInput::Temperature,
                value: temperature_c,
            });
        }
        Self::new(
            water::density(temperature_c),
            water::vapour_pressure_pa(temperature_c),
            CRITICAL_PRESSURE_PA,
        )
    }

    /// Density, kg/m3.
    #[must_use]
    pub const fn density(&self) -> f64 {
        self.density
    }

    /// Vapour pressure, Pa absolute.
    #[must_use]
    pub const fn vapour_pressure_pa(&self) -> f64 {
        self.vapour_pa
    }

    /// Density relative to that of water at 15 degC.
    #[must_use]
    pub fn relative_density(&self) -> f64 {
        self.density / REFERENCE_DENSITY
    }

    /// The liquid critical pressure ratio factor.
    ///
    /// # Formula
    ///
    /// ```text
    /// FF = 0.96 - 0.28 sqrt(pv / pc)
    /// ```
    ///
    /// # Source
    ///
    /// IEC 60534-2-1, liquid critical pressure ratio factor.
    #[must_use]
    pub fn critical_ratio_factor(&self) -> f64 {
        0.96 - 0.28 * (self.vapour_pa / self.critical_pa).sqrt()
    }

    /// The drop that would be choked in a valve with perfect recovery factor 1, Pa: `p1 - FF pv`.
    ///
    /// # Errors
    ///
    /// [`SizingError::Boils`] unless the pressure before the valve is above the vapour pressure.
    pub fn drop_to_vena_contracta_pa(&self, upstream: Absolute) -> Result<f64, SizingError> {
        if upstream.pa() <= self.vapour_pa {
            return Err(SizingError::Boils {
                upstream_pa: upstream.pa(),
                vapour_pa: self.vapour_pa,
            });
        }
        // FF is at most 0.96, so this stays above zero.
        Ok(upstream.pa() - self.critical_ratio_factor() * self.vapour_pa)
    }

    /// The drop from which the flow is choked: a larger one passes no more water.
    ///
    /// # Units
    ///
    /// `fl` is the pressure recovery factor, above 0 to 1; the answer in pascals.
    ///
    /// # Formula
    ///
    /// ```text
    /// dp_choked = FL^2 (p1 - FF pv)
    /// ```
    ///
    /// # Errors
    ///
    /// [`SizingError::OutOfRange`] for the factor, [`SizingError::Boils`] as above.
    ///
    /// # Source
    ///
    /// IEC 60534-2-1, choked flow without fittings.
    pub fn choked_drop_pa(&self, upstream: Absolute, fl: f64) -> Result<f64, SizingError> {
        let fl = accept(SizingInput::RecoveryFactor, fl)?;
        Ok(fl * fl * self.drop_to_vena_contracta_pa(upstream)?)
    }
}

/// The drop across a valve.
///
/// # Errors
///
/// [`SizingError::NoDrop`] unless it is above zero.
pub(super) fn drop_pa(upstream: Absolute, downstream: Absolute) -> Result<f64, SizingError> {
    let drop = upstream.pa() - downstream.pa();
    if drop > 0.0 {
        Ok(drop)
    } else {
        Err(SizingError::NoDrop {
            upstream_pa: upstream.pa(),
            downstream_pa: downstream.pa(),
        })
    }
}

/// A valve sized for one flow and one pair of pressures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sizing {
    /// Required Kv, m3/h at 1 bar.
    pub kv: f64,
    /// Whether the flow is choked.
    pub choked: bool,
    /// The drop from which it is, Pa.
    pub choked_drop_pa: f64,
    /// The drop there is, Pa.
    pub drop_pa: f64,
}

/// The Kv needed for a flow at a drop that is not choked, m3/h at 1 bar.
///
/// # Units
///
/// `flow_m3_h` in m3/h, `drop_pa` in pascals.
///
/// # Formula
///
/// ```text
/// Kv = (Q / N1) sqrt((rho / rho0) / dp),   N1 = 0.1,  dp in kPa
/// ```
///
/// # Errors
///
/// [`SizingError::OutOfRange`] for a flow or drop that is not above zero.
///
/// # Source
///
/// IEC 60534-2-1, turbulent liquid flow without fittings.
pub fn kv_at_drop(liquid: &Liquid, flow_m3_h: f64, drop_pa: f64) -> Result<f64, SizingError> {
    let flow = accept(SizingInput::Flow, flow_m3_h)?;
    let drop = accept(SizingInput::AbsolutePressure, drop_pa)?;
    Ok(flow / N1 * (liquid.relative_density() / (drop / 1000.0)).sqrt())
}

/// Sizes a valve for a flow, choked or not.
///
/// # Units
///
/// `flow_m3_h` in m3/h; `fl` above 0 to 1.
///
/// # Formula
///
/// As [`kv_at_drop`] with the smaller of the drop there is and the choked one.
///
/// # Errors
///
/// [`SizingError`], each variant as documented there.
///
/// # Examples
///
/// ```
/// use winze_core::hydraulics::liquid::{Absolute, Liquid, required_kv};
/// // The first worked example of the standard's annex: 360 m3/h from 680 to 220 kPa.
/// let water = Liquid::new(965.4, 70_100.0, 22.12e6)?;
/// let sizing = required_kv(
///     &water,
///     Absolute::from_pa(680_000.0)?,
///     Absolute::from_pa(220_000.0)?,
///     360.0,
///     0.9,
/// )?;
/// assert!((sizing.kv - 165.0).abs() < 0.1 && !sizing.choked);
/// # Ok::<(), winze_core::hydraulics::liquid::SizingError>(())
/// ```
pub fn required_kv(
    liquid: &Liquid,
    upstream: Absolute,
    downstream: Absolute,
    flow_m3_h: f64,
    fl: f64,
) -> Result<Sizing, SizingError> {
    let drop_pa = drop_pa(upstream, downstream)?;
    let choked_drop_pa = liquid.choked_drop_pa(upstream, fl)?;
    Ok(Sizing {
        kv: kv_at_drop(liquid, flow_m3_h, drop_pa.min(choked_drop_pa))?,
        choked: drop_pa >= choked_drop_pa,
        choked_drop_pa,
        drop_pa,
    })
}

/// The flow a valve of this Kv passes, m3/h: [`required_kv`] turned round.
///
/// # Errors
///
/// [`SizingError`], each variant as documented there.
pub fn flow_through(
    liquid: &Liquid,
    upstream: Absolute,
    downstream: Absolute,
    kv: f64,
    fl: f64,
) -> Result<f64, SizingError> {
    let kv = accept(SizingInput::Kv, kv)?;
    let drop = drop_pa(upstream, downstream)?.min(liquid.choked_drop_pa(upstream, fl)?);
    Ok(kv * N1 * ((drop / 1000.0) / liquid.relative_density()).sqrt())
}

/// The downstream pressure at which the flow becomes choked, Pa absolute. Below zero would mean
/// never; with `fl` at most 1 that cannot be.
///
/// # Errors
///
/// As [`Liquid::choked_drop_pa`].
pub fn choked_outlet_pa(liquid: &Liquid, upstream: Absolute, fl: f64) -> Result<f64, SizingError> {
    Ok(upstream.pa() - liquid.choked_drop_pa(upstream, fl)?)
}

/// Cv of a Kv.
#[must_use]
pub fn kv_to_cv(kv: f64) -> f64 {
    kv * CV_PER_KV
}

/// Kv of a Cv.
#[must_use]
pub fn cv_to_kv(cv: f64) -> f64 {
    cv / CV_PER_KV
}
