//! What a good reading looks like at this station: predictive distributions from its own past.
//!
//! Each of inlet, interstage/inlet ratio and outlet gets a Student predictive distribution whose
//! centre and spread start from the definition and are taken over by the station's own readings.
//! Not here: slips (see [`super::candidates`]) and slow change.

use crate::station::{Quantity, Station, defaults};
use crate::verdict::{Entry, FlowState, expected, student_log_pdf};

use super::PastReading;
use super::dials::Dials;

/// Past visits looked at.
pub(super) const PAST_MAX: usize = 26;

/// Visits whose median is the centre.
const CENTRE_VISITS: usize = 8;

/// How strongly the prior spread holds, in visits.
const SPREAD_PRIOR_VISITS: f64 = 6.0;

/// Share of the last deviation of the inlet that is still there a week later (common practice, no
/// source: supply pressure wanders over days).
const INLET_MEMORY: f64 = 0.5;

/// Usual visit-to-visit spread, as a share (common practice, no source).
const INLET_SPREAD: f64 = 0.025;
const RATIO_SPREAD: f64 = 0.012;
const OUTLET_SPREAD: f64 = 0.018;

/// A Student predictive distribution.
#[derive(Debug, Clone, Copy)]
pub(super) struct Predicted {
    /// Its centre.
    pub centre: f64,
    /// Its scale; above zero.
    pub scale: f64,
    /// Degrees of freedom.
    pub nu: f64,
    /// The last value, which may be where a true change has gone.
    last: f64,
    /// The log density at the centre for a scale of 1.
    ln_front: f64,
}

/// The probability that the last value rather than the centre foretells the next one.
const LAST_HOLDS: f64 = 0.1;

impl Predicted {
    /// The log density at `x`.
    pub(super) fn ln(&self, x: f64) -> f64 {
        let about = |centre: f64| {
            let z = (x - centre) / self.scale;
            -0.5 * (self.nu + 1.0) * (z * z / self.nu).ln_1p()
        };
        let (centre, last) = (about(self.centre), about(self.last));
        let more = ((last - centre).min(700.0).exp() * LAST_HOLDS + (1.0 - LAST_HOLDS)).ln();
        self.ln_front + centre + more - self.scale.ln()
    }
}

/// What the definition alone says of a series.
struct Prior {
    centre: f64,
    /// How far the true centre may lie from it, one standard deviation.
    centre_sd: f64,
    /// Spread from visit to visit, one standard deviation.
    spread: f64,
}

/// Predictive distributions of a station's three gauges, pascals at the datum.
#[derive(Debug, Clone)]
pub(super) struct Model {
    inlet: Option<Predicted>,
    /// Interstage over inlet, a pure number.
    share: Option<Predicted>,
    outlet: Option<Predicted>,
    /// Reading spread of the interstage gauge, pascals: the least scale of a prediction.
    interstage_reading: f64,
}

impl Model {
    /// Learns from the definition and the last [`PAST_MAX`] visits.
    pub(super) fn new(
        station: &Station,
        dials: &Dials,
        past: &[PastReading],
        flow: FlowState,
    ) -> Self {
        let past = &past[past.len().saturating_sub(PAST_MAX)..];
        let seen: Vec<_> = past.iter().map(|visit| dials.seen(&visit.entry)).collect();
        let inlets: Vec<f64> = seen
            .iter()
            .filter_map(|seen| seen.at(Quantity::Inlet))
            .collect();
        let shares: Vec<f64> = seen
            .iter()
            .filter_map(|seen| {
                let inlet = seen.at(Quantity::Inlet)?;
                let between = seen.at(Quantity::Interstage)?;
                (inlet > 0.0).then(|| (between / inlet).clamp(-1.0e3, 1.0e3))
            })
            .collect();
        let still = flow == FlowState::Still;
        let outlets: Vec<f64> = past
            .iter()
            .zip(&seen)
            .filter(|(visit, _)| (visit.entry.flow == FlowState::Still) == still)
            .filter_map(|(_, seen)| seen.at(Quantity::Outlet))
            .collect();
        let inlet_prior = inlet_prior(station);
        let share_prior = share_prior(station, inlet_prior.as_ref().map(|prior| prior.centre));
        let outlet_prior = outlet_prior(station, flow);
        Self {
            inlet: learn(&inlets, inlet_prior, INLET_MEMORY),
            share: learn(&shares, share_prior, 0.0),
            outlet: learn(&outlets, outlet_prior, 0.0),
            interstage_reading: reading_sd(station, Quantity::Interstage),
        }
    }

    /// The distribution of one gauge given those before it (`None` where they were not read).
    pub(super) fn of(&self, quantity: Quantity, inlet: Option<f64>) -> Option<Predicted> {
        match quantity {
            Quantity::Inlet => self.inlet,
            Quantity::Outlet => self.outlet,
            Quantity::Interstage => {
                let share = self.share?;
                let (from, spread) = match (inlet, self.inlet) {
                    (Some(inlet), _) => (inlet, 0.0),
                    (None, Some(usual)) => (usual.centre, usual.scale),
                    (None, None) => return None,
                };
                let scale = (share.scale * from).hypot(share.centre * spread);
                Some(Predicted {
                    centre: share.centre * from,
                    scale: scale.max(self.interstage_reading),
                    last: share.last * from,
                    ..share
                })
            }
        }
    }
}

/// One standard deviation of reading a gauge, never zero.
fn reading_sd(station: &Station, quantity: Quantity) -> f64 {
    let division = station
        .gauge(quantity)
        .division_pressure()
        .as_f64_pa()
        .max(0.0);
    (division * defaults::READ_HALF_WIDTH_DIVISIONS / 3.0_f64.sqrt()).max(1.0)
}

/// One standard deviation of a gauge's own constant error.
fn class_sd(station: &Station, quantity: Quantity, at_pa: f64) -> f64 {
    let at = crate::units::Pressure::from_f64_pa(at_pa).unwrap_or_default();
    station.gauge(quantity).largest_error_pa(at) / 3.0_f64.sqrt()
}

fn inlet_prior(station: &Station) -> Option<Prior> {
    let band = expected(station, &Entry::default()).inlet?;
    let centre = band.target.as_f64_pa();
    // The usual range is taken as two standard deviations either side, shared by where the centre
    // lies and how far the supply wanders.
    let half = (band.high - band.low).as_f64_pa() / 4.0;
    Some(Prior {
        centre,
        centre_sd: half
            .hypot(class_sd(station, Quantity::Inlet, centre))
            .max(1.0),
        spread: (INLET_SPREAD * centre).hypot(reading_sd(station, Quantity::Inlet)),
    })
}

fn share_prior(station: &Station, inlet: Option<f64>) -> Option<Prior> {
    let centre = 1.0 / station.first_stage.ratio_in_use()?;
    let inlet = inlet.filter(|&inlet| inlet > 0.0)?;
    let relative = |inlet_sd: f64, interstage_sd: f64| {
        (inlet_sd / inlet)
            .hypot(interstage_sd / (inlet * centre))
            .min(1.0)
    };
    let class = relative(
        class_sd(station, Quantity::Inlet, inlet),
        class_sd(station, Quantity::Interstage, inlet * centre),
    );
    let reading = relative(
        reading_sd(station, Quantity::Inlet),
        reading_sd(station, Quantity::Interstage),
    );
    let tolerance = station.first_stage.tolerance_fraction() / 2.0;
    Some(Prior {
        centre,
        centre_sd: centre * tolerance.hypot(class).max(1.0e-4),
        spread: centre * RATIO_SPREAD.hypot(reading),
    })
}

fn outlet_prior(station: &Station, flow: FlowState) -> Option<Prior> {
    let band = expected(
        station,
        &Entry {
            flow,
            ..Entry::default()
        },
    )
    .outlet?;
    let set_point = station.second_stage.set_point.to_pressure().as_f64_pa();
    let centre = f64::midpoint(band.low.as_f64_pa(), band.high.as_f64_pa());
    let half = (band.high - band.low).as_f64_pa() / 4.0;
    Some(Prior {
        centre,
        centre_sd: half
            .hypot(class_sd(station, Quantity::Outlet, centre))
            .max(1.0),
        spread: (OUTLET_SPREAD * set_point).hypot(reading_sd(station, Quantity::Outlet)),
    })
}

/// The predictive distribution of the next value of a series.
///
/// # Formula
///
/// ```text
/// e_t = x_t - (m_t + phi (x_(t-1) - m_t)),   m_t = median of the CENTRE_VISITS values before
/// s^2 = (n0 s0^2 + sum min(e^2, cap^2)) / (n0 + n),   cap = 3 x 1.4826 x median |e|
/// centre c: prior and recent median weighted by 1/c0^2 and k/s^2 (k recent values)
/// next ~ Student(c + phi (x_last - c), sqrt(s^2 + 1/(1/c0^2 + k/s^2)), n0 + n)
/// ```
///
/// # Source
///
/// Own derivation, see `core/FORMULAS.md`.
fn learn(values: &[f64], prior: Option<Prior>, memory: f64) -> Option<Predicted> {
    let prior = prior?;
    let errors: Vec<f64> = (2..values.len())
        .map(|t| {
            let centre = median(&values[t.saturating_sub(CENTRE_VISITS)..t]);
            values[t] - centre - memory * (values[t - 1] - centre)
        })
        .collect();
    let sizes: Vec<f64> = errors.iter().map(|error| error.abs()).collect();
    let cap = if sizes.len() >= 5 {
        (3.0 * 1.4826 * median(&sizes)).max(2.0 * prior.spread)
    } else {
        4.0 * prior.spread
    };
    let squares: f64 = sizes.iter().map(|size| size.min(cap).powi(2)).sum();
    let count = as_f64(sizes.len());
    let spread_square =
        (SPREAD_PRIOR_VISITS * prior.spread.powi(2) + squares) / (SPREAD_PRIOR_VISITS + count);
    let spread = spread_square.sqrt();
    let recent = &values[values.len().saturating_sub(CENTRE_VISITS)..];
    let weight_prior = 1.0 / prior.centre_sd.powi(2);
    let weight_recent = as_f64(recent.len()) / spread_square;
    let (mut centre, mut extra) = (prior.centre, prior.centre_sd.powi(2));
    if let Some(last) = recent.last() {
        extra = 1.0 / (weight_prior + weight_recent);
        centre = (prior.centre * weight_prior + median(recent) * weight_recent) * extra;
        centre += memory * (last - centre).clamp(-3.0 * spread, 3.0 * spread);
    }
    let nu = (SPREAD_PRIOR_VISITS + count).min(30.0);
    let scale = (spread_square + extra).sqrt().max(1.0e-12);
    let last = recent.last().copied().unwrap_or(centre);
    let ln_front = student_log_pdf(0.0, nu);
    Some(Predicted {
        centre,
        scale,
        nu,
        last,
        ln_front,
    })
}

/// The median; zero for no values.
fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => 0.0,
        n if n % 2 == 1 => sorted[n / 2],
        n => f64::midpoint(sorted[n / 2 - 1], sorted[n / 2]),
    }
}

#[allow(clippy::cast_precision_loss, reason = "at most PAST_MAX")]
fn as_f64(count: usize) -> f64 {
    count as f64
}
