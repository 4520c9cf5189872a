//! Cavitation figures: how close the jet in a valve comes to boiling.
//!
//! Two definitions of sigma are in use that differ by exactly 1; both are here, each with its
//! name, and the check uses [`sigma`] only. No figure here says good or bad: that is for the limit
//! the valve's maker states.

use super::liquid::{Absolute, Liquid, SizingError, SizingInput, accept, drop_pa};

/// The pressure before the valve for which xFz is stated, Pa (IEC 60534-8-4).
pub const ONSET_REFERENCE_PA: f64 = 6.0e5;

/// How far the pressure before the valve lies above the vapour pressure, Pa.
fn above_vapour_pa(liquid: &Liquid, upstream: Absolute) -> Result<f64, SizingError> {
    let vapour_pa = liquid.vapour_pressure_pa();
    if upstream.pa() > vapour_pa {
        Ok(upstream.pa() - vapour_pa)
    } else {
        Err(SizingError::Boils {
            upstream_pa: upstream.pa(),
            vapour_pa,
        })
    }
}

/// The cavitation index of the operating point.
///
/// # Formula
///
/// ```text
/// sigma = (p1 - pv) / (p1 - p2)      absolute pressures
/// ```
///
/// Below 1 the outlet itself boils (flashing).
///
/// # Errors
///
/// [`SizingError::NoDrop`], and [`SizingError::Boils`] when the water boils before the valve.
///
/// # Source
///
/// ISA-RP75.23-1995.
pub fn sigma(
    liquid: &Liquid,
    upstream: Absolute,
    downstream: Absolute,
) -> Result<f64, SizingError> {
    let drop = drop_pa(upstream, downstream)?;
    Ok(above_vapour_pa(liquid, upstream)? / drop)
}

/// The other definition in use, on the pressure after the valve: `(p2 - pv) / (p1 - p2)`, which is
/// [`sigma`] less exactly 1. Not comparable with a limit stated for [`sigma`].
///
/// # Errors
///
/// As [`sigma`].
pub fn sigma_downstream(
    liquid: &Liquid,
    upstream: Absolute,
    downstream: Absolute,
) -> Result<f64, SizingError> {
    let drop = drop_pa(upstream, downstream)?;
    above_vapour_pa(liquid, upstream)?;
    Ok((downstream.pa() - liquid.vapour_pressure_pa()) / drop)
}

/// The pressure ratio xF of IEC 60534-8-4, one over [`sigma`].
///
/// # Errors
///
/// As [`sigma`].
pub fn pressure_ratio(
    liquid: &Liquid,
    upstream: Absolute,
    downstream: Absolute,
) -> Result<f64, SizingError> {
    Ok(sigma(liquid, upstream, downstream)?.recip())
}

/// The sigma at which cavitation begins in a valve whose xFz is stated.
///
/// # Formula
///
/// ```text
/// xFzp1 = xFz (6e5 Pa / p1)^0.125,   sigma_onset = 1 / xFzp1
/// ```
///
/// # Errors
///
/// [`SizingError::OutOfRange`] unless `xfz` is above 0 to 1.
///
/// # Source
///
/// IEC 60534-8-4, pressure-corrected ratio for the beginning of cavitation. It is where cavitation
/// can first be heard, so a stricter line than any damage limit.
pub fn onset_sigma(xfz: f64, upstream: Absolute) -> Result<f64, SizingError> {
    let xfz = accept(SizingInput::SigmaOnset, xfz)?;
    Ok((xfz * (ONSET_REFERENCE_PA / upstream.pa()).powf(0.125)).recip())
}
