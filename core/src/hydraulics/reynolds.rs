//! Whether the flow through a valve is turbulent, so that the sizing equations hold.
//!
//! For water in a service main it is; the check of a station therefore does not ask. The equations
//! are here for the unusual (a needle valve, a viscous liquid) and to show that claim.

use super::fittings::N2;
use super::liquid::{SizingError, SizingInput, accept};

/// The numerical constant N4 of IEC 60534-2-1 for m3/h and m2/s.
pub const N4: f64 = 7.07e-2;

/// The numerical constant N32 of IEC 60534-2-1 for Kv and millimetres.
pub const N32: f64 = 140.0;

/// The valve Reynolds number from which the flow counts as turbulent (IEC 60534-2-1).
pub const TURBULENT_FROM: f64 = 10_000.0;

/// A valve as far as its Reynolds number needs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trim {
    /// Flow coefficient, m3/h at 1 bar.
    pub kv: f64,
    /// Pressure recovery factor, above 0 to 1.
    pub fl: f64,
    /// Valve style modifier Fd, above 0 to 1.
    pub fd: f64,
    /// Bore of the valve, millimetres.
    pub bore_mm: f64,
}

/// The valve Reynolds number.
///
/// # Units
///
/// `flow_m3_h` in m3/h, `viscosity_m2_s` kinematic in m2/s, `pipe_mm` the bore of the pipe before
/// the valve in millimetres; the answer is a pure number.
///
/// # Formula
///
/// ```text
/// Rev = (N4 Fd Q / (nu sqrt(Kv FL))) (FL^2 Kv^2 / (N2 D^4) + 1)^(1/4)
/// ```
///
/// # Errors
///
/// [`SizingError::OutOfRange`] for a number that cannot be.
///
/// # Source
///
/// IEC 60534-2-1, valve Reynolds number.
pub fn valve_reynolds(
    trim: &Trim,
    flow_m3_h: f64,
    viscosity_m2_s: f64,
    pipe_mm: f64,
) -> Result<f64, SizingError> {
    let flow = accept(SizingInput::Flow, flow_m3_h)?;
    let viscosity = accept(SizingInput::Viscosity, viscosity_m2_s)?;
    let pipe = accept(SizingInput::PipeBore, pipe_mm)?;
    let kv = accept(SizingInput::Kv, trim.kv)?;
    let fl = accept(SizingInput::RecoveryFactor, trim.fl)?;
    let fd = accept(SizingInput::StyleModifier, trim.fd)?;
    let approach = (fl * kv).powi(2) / (N2 * pipe.powi(4)) + 1.0;
    Ok(N4 * fd * flow / (viscosity * (kv * fl).sqrt()) * approach.sqrt().sqrt())
}

/// The Reynolds number factor FR of reduced trim: the share of the turbulent flow that a laminar
/// or transitional one passes.
///
/// # Formula
///
/// ```text
/// n2 = 1 + N32 (Kv / d^2)^(2/3)
/// laminar      F = (0.026 / FL) sqrt(n2 Rev), at most 1
/// transitional F = 1 + (0.33 FL^(1/2) / n2^(1/4)) log10(Rev / 10000)
/// FR = laminar when Rev < 10, else the smaller of both
/// ```
///
/// # Errors
///
/// [`SizingError::OutOfRange`] for a number that cannot be.
///
/// # Source
///
/// IEC 60534-2-1, Annex A (reduced trim).
pub fn reynolds_factor(trim: &Trim, valve_reynolds: f64) -> Result<f64, SizingError> {
    let kv = accept(SizingInput::Kv, trim.kv)?;
    let fl = accept(SizingInput::RecoveryFactor, trim.fl)?;
    let bore = accept(SizingInput::Bore, trim.bore_mm)?;
    let reynolds = accept(SizingInput::Flow, valve_reynolds)?;
    let n2 = 1.0 + N32 * (kv / (bore * bore)).powf(2.0 / 3.0);
    let laminar = (0.026 / fl * (n2 * reynolds).sqrt()).min(1.0);
    if reynolds < 10.0 {
        return Ok(laminar);
    }
    let slope = 0.33 * fl.sqrt() / n2.sqrt().sqrt();
    Ok(laminar.min(1.0 + slope * (reynolds / TURBULENT_FROM).log10()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn water_in_a_service_main_is_turbulent_even_at_a_trickle() {
        // 0.1 m3/h of water at 5 degC (1.518 mm2/s) through a nearly closed DN 50 valve with four
        // parallel ports, Kv 0.1 in use.
        let trim = Trim {
            kv: 0.1,
            fl: 0.9,
            fd: 0.7,
            bore_mm: 50.0,
        };
        let reynolds = valve_reynolds(&trim, 0.1, 1.518e-6, 50.0).unwrap();
        assert!(reynolds > TURBULENT_FROM);
        assert!(reynolds_factor(&trim, reynolds).unwrap() > 0.9);
    }

    #[test]
    fn numbers_that_cannot_be_are_refused() {
        let trim = Trim {
            kv: f64::NAN,
            fl: 0.9,
            fd: 0.5,
            bore_mm: 50.0,
        };
        assert!(valve_reynolds(&trim, 1.0, 1.0e-6, 50.0).is_err());
        assert!(reynolds_factor(&trim, 1.0).is_err());
    }
}
