//! A valve smaller than its pipe: the reducers beside it take their part of the pressure.
//!
//! By IEC 60534-2-1 with short-length reducers. The standard's text iterates; here both
//! conditions are solved in closed form (own derivation below), so there is no stopping rule that
//! could leave the answer short.

use super::liquid::{Absolute, Liquid, N1, Sizing, SizingError, SizingInput, accept, drop_pa};

/// The numerical constant N2 of IEC 60534-2-1 for Kv and millimetres.
pub const N2: f64 = 1.6e-3;

/// The bores of a valve and of the pipe either side of it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(
    clippy::struct_field_names,
    reason = "names of bare numbers end in their unit"
)]
pub struct Fittings {
    valve_mm: f64,
    upstream_mm: f64,
    downstream_mm: f64,
}

impl Fittings {
    /// By bores in millimetres: the valve's, the pipe's before it and the pipe's after it.
    ///
    /// # Errors
    ///
    /// [`SizingError::OutOfRange`] for a bore that is not above zero, or a pipe narrower than the
    /// valve, for which the standard's coefficients are not meant.
    pub fn new(valve_mm: f64, upstream_mm: f64, downstream_mm: f64) -> Result<Self, SizingError> {
        let valve_mm = accept(SizingInput::Bore, valve_mm)?;
        for pipe in [upstream_mm, downstream_mm] {
            if accept(SizingInput::PipeBore, pipe)? < valve_mm {
                return Err(SizingError::OutOfRange {
                    input: SizingInput::PipeBore,
                    value: pipe,
                });
            }
        }
        Ok(Self {
            valve_mm,
            upstream_mm,
            downstream_mm,
        })
    }

    /// Loss coefficients of the inlet side, `zeta1 + zetaB1`.
    ///
    /// # Formula
    ///
    /// ```text
    /// zeta1 = 0.5 (1 - (d/D1)^2)^2,   zetaB1 = 1 - (d/D1)^4
    /// ```
    #[must_use]
    pub fn inlet_loss(&self) -> f64 {
        let area = (self.valve_mm / self.upstream_mm).powi(2);
        0.5 * (1.0 - area).powi(2) + 1.0 - area * area
    }

    /// All loss coefficients, `zeta1 + zeta2 + zetaB1 - zetaB2`. Below zero when only the outlet
    /// widens, because the pipe then recovers pressure.
    ///
    /// # Formula
    ///
    /// ```text
    /// zeta2 = (1 - (d/D2)^2)^2,   zetaB2 = 1 - (d/D2)^4
    /// ```
    #[must_use]
    pub fn total_loss(&self) -> f64 {
        let area = (self.valve_mm / self.downstream_mm).powi(2);
        self.inlet_loss() + (1.0 - area).powi(2) - (1.0 - area * area)
    }

    /// A loss coefficient per Kv squared: `zeta / (N2 d^4)`.
    fn per_kv_squared(&self, loss: f64) -> f64 {
        loss / (N2 * self.valve_mm.powi(4))
    }

    /// The piping geometry factor FP of a valve of this Kv.
    ///
    /// # Formula
    ///
    /// ```text
    /// FP = 1 / sqrt(1 + (sum zeta / N2) (Kv / d^2)^2)
    /// ```
    ///
    /// # Errors
    ///
    /// [`SizingError::OutOfRange`] for a Kv that is not above zero,
    /// [`SizingError::BeyondFittings`] where the formula has no answer (a Kv far too large for
    /// the bore).
    pub fn geometry_factor(&self, kv: f64) -> Result<f64, SizingError> {
        let kv = accept(SizingInput::Kv, kv)?;
        inverse_root(1.0 + self.per_kv_squared(self.total_loss()) * kv * kv)
    }

    /// The combined factor FLP of recovery and geometry.
    ///
    /// # Formula
    ///
    /// ```text
    /// FLP = FL / sqrt(1 + (FL^2 / N2) (zeta1 + zetaB1) (Kv / d^2)^2)
    /// ```
    ///
    /// # Errors
    ///
    /// [`SizingError::OutOfRange`] for a Kv or FL that cannot be.
    pub fn combined_factor(&self, kv: f64, fl: f64) -> Result<f64, SizingError> {
        let kv = accept(SizingInput::Kv, kv)?;
        let fl = accept(SizingInput::RecoveryFactor, fl)?;
        let part = self.per_kv_squared(self.inlet_loss()) * fl * fl * kv * kv;
        Ok(fl * inverse_root(1.0 + part)?)
    }

    /// Sizes the valve with its reducers.
    ///
    /// # Units
    ///
    /// `flow_m3_h` in m3/h; `fl` (of the valve alone) above 0 to 1.
    ///
    /// # Formula
    ///
    /// With `A = (Q/N1)^2 rho/rho0`, and `a`, `b` the total and the inlet loss over `N2 d^4`:
    ///
    /// ```text
    /// not choked: Kv^2 FP^2  = A / dp             gives  Kv^2 = X / (1 - a X),        X = A / dp
    /// choked:     Kv^2 FLP^2 = A / (p1 - FF pv)   gives  Kv^2 = Y / (FL^2 (1 - b Y)), Y = A / (p1 - FF pv)
    /// ```
    ///
    /// The larger of the two is required; the flow is choked when it is the second.
    ///
    /// # Errors
    ///
    /// [`SizingError`]; [`SizingError::BeyondFittings`] when a denominator is not above zero.
    ///
    /// # Source
    ///
    /// Equations of IEC 60534-2-1; the closed form is our own, proved against the iterated values.
    pub fn required_kv(
        &self,
        liquid: &Liquid,
        upstream: Absolute,
        downstream: Absolute,
        flow_m3_h: f64,
        fl: f64,
    ) -> Result<Sizing, SizingError> {
        let fl = accept(SizingInput::RecoveryFactor, fl)?;
        let flow = accept(SizingInput::Flow, flow_m3_h)?;
        let drop_pa = drop_pa(upstream, downstream)?;
        let contracta_pa = liquid.drop_to_vena_contracta_pa(upstream)?;
        let squared = (flow / N1).powi(2) * liquid.relative_density();
        let free = squared / (drop_pa / 1000.0);
        let full = squared / (contracta_pa / 1000.0);
        let free_kv =
            free.sqrt() * inverse_root(1.0 - self.per_kv_squared(self.total_loss()) * free)?;
        let choked_kv =
            full.sqrt() / fl * inverse_root(1.0 - self.per_kv_squared(self.inlet_loss()) * full)?;
        let kv = accept(SizingInput::Kv, free_kv.max(choked_kv))
            .map_err(|_| SizingError::BeyondFittings)?;
        let factor = self.combined_factor(kv, fl)? / self.geometry_factor(kv)?;
        Ok(Sizing {
            kv,
            choked: choked_kv >= free_kv,
            choked_drop_pa: factor * factor * contracta_pa,
            drop_pa,
        })
    }
}

/// One over the square root, where there is one.
fn inverse_root(value: f64) -> Result<f64, SizingError> {
    if value > 0.0 && value.is_finite() {
        Ok(value.sqrt().recip())
    } else {
        Err(SizingError::BeyondFittings)
    }
}
