//! Student's t distribution, for statements from few readings.

use super::normal::{normal_cdf, normal_quantile};

/// Degrees of freedom above which the normal distribution is used; they differ by less than 1e-9.
const NORMAL_FROM: f64 = 1.0e9;

/// The natural logarithm of the density of Student's t at `t`.
///
/// `nu` degrees of freedom, taken as at least 0.1.
///
/// # Formula
///
/// ```text
/// ln f = lnG((nu+1)/2) - lnG(nu/2) - ln(nu pi)/2 - (nu+1)/2 ln(1 + t^2/nu)
/// ```
#[must_use]
pub fn student_log_pdf(t: f64, nu: f64) -> f64 {
    let nu = sane(nu);
    let half = 0.5 * (nu + 1.0);
    libm::lgamma(half)
        - libm::lgamma(0.5 * nu)
        - 0.5 * (nu * std::f64::consts::PI).ln()
        - half * (t * t / nu).ln_1p()
}

/// The probability that Student's t is at most `t`.
///
/// # Formula
///
/// ```text
/// P(T > t) = I_x(nu/2, 1/2) / 2   for t >= 0,   x = nu / (nu + t^2)
/// ```
///
/// # Source
///
/// NIST Digital Library of Mathematical Functions, 8.17 (incomplete beta function, continued
/// fraction 8.17.22).
#[must_use]
pub fn student_cdf(t: f64, nu: f64) -> f64 {
    let nu = sane(nu);
    if t.is_nan() {
        return 0.5;
    }
    if nu > NORMAL_FROM {
        return normal_cdf(t);
    }
    let tail = if t.is_finite() {
        0.5 * incomplete_beta(nu / (nu + t * t), t * t / (nu + t * t), 0.5 * nu, 0.5)
    } else {
        0.0
    };
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// The value Student's t stays below with probability `p`; infinite at 0 and 1.
///
/// Found by bisection and Newton steps on [`student_cdf`], to about 1e-12 relative.
#[must_use]
pub fn student_quantile(p: f64, nu: f64) -> f64 {
    let nu = sane(nu);
    let p = if p.is_nan() { 0.5 } else { p.clamp(0.0, 1.0) };
    if nu > NORMAL_FROM {
        return normal_quantile(p);
    }
    if p <= 0.0 || p >= 1.0 {
        return if p <= 0.0 {
            f64::NEG_INFINITY
        } else {
            f64::INFINITY
        };
    }
    if p > 0.5 {
        return -student_quantile(1.0 - p, nu);
    }
    // Lower tail: bracket [low, 0] by doubling, then close in.
    let (mut low, mut high) = (-1.0, 0.0);
    while student_cdf(low, nu) > p && low > -1.0e300 {
        high = low;
        low *= 2.0;
    }
    let mut t = 0.5 * (low + high);
    for _ in 0..200 {
        let error = student_cdf(t, nu) - p;
        if error > 0.0 {
            high = t;
        } else {
            low = t;
        }
        let step = error / student_log_pdf(t, nu).exp();
        let newton = t - step;
        let next = if newton > low && newton < high {
            newton
        } else {
            0.5 * (low + high)
        };
        if (next - t).abs() <= 1.0e-14 * t.abs() {
            return next;
        }
        t = next;
    }
    t
}

/// Effective degrees of freedom of a combined uncertainty.
///
/// `parts` are (standard uncertainty, degrees of freedom); infinite degrees add nothing. Infinite
/// when every part has them.
///
/// # Formula
///
/// ```text
/// nu_eff = (sum u_i^2)^2 / sum (u_i^4 / nu_i)
/// ```
///
/// # Source
///
/// JCGM 100:2008, G.4.1, equation G.2b (Welch-Satterthwaite).
#[must_use]
pub fn welch_satterthwaite(parts: &[(f64, f64)]) -> f64 {
    let total: f64 = parts.iter().map(|(u, _)| u * u).sum();
    let spread: f64 = parts.iter().map(|(u, nu)| u.powi(4) / sane(*nu)).sum();
    if spread > 0.0 {
        total * total / spread
    } else {
        f64::INFINITY
    }
}

fn sane(nu: f64) -> f64 {
    if nu.is_nan() { 1.0 } else { nu.max(0.1) }
}

/// The regularised incomplete beta function, `x + y = 1` given separately to keep their digits.
fn incomplete_beta(x: f64, y: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if y <= 0.0 {
        return 1.0;
    }
    let front =
        (libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * x.ln() + b * y.ln()).exp();
    if x < (a + 1.0) / (a + b + 2.0) {
        front * beta_fraction(x, a, b) / a
    } else {
        1.0 - front * beta_fraction(y, b, a) / b
    }
}

/// The continued fraction of the incomplete beta function, by the modified Lentz method.
#[allow(
    clippy::many_single_char_names,
    reason = "the names of the published formula"
)]
fn beta_fraction(x: f64, a: f64, b: f64) -> f64 {
    const TINY: f64 = 1.0e-300;
    let away_from_zero = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    let mut m = 1.0;
    while m < 10_000.0 {
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / away_from_zero(1.0 + even * d);
        c = away_from_zero(1.0 + even / c);
        fraction *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / away_from_zero(1.0 + odd * d);
        c = away_from_zero(1.0 + odd / c);
        let change = d * c;
        fraction *= change;
        if (change - 1.0).abs() < 1.0e-16 {
            break;
        }
        m += 1.0;
    }
    fraction
}
