//! Bayesian linear regression with three coefficients and an unknown spread.

/// How many coefficients: level, rate, difference between the draw-off states.
pub(super) const COEFFICIENTS: usize = 3;

pub(super) type Vector = [f64; COEFFICIENTS];
type Matrix = [Vector; COEFFICIENTS];

/// What is believed before any row: independent coefficients; the spread is near 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Prior {
    /// Coefficients.
    pub mean: Vector,
    /// Standard deviations of the coefficients, above zero.
    pub spread: Vector,
    /// Degrees of freedom with which the spread is believed to be 1.
    pub degrees: f64,
}

/// One row: `value` is `sum(x coefficient)` plus noise of variance spread^2/`weight`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Row {
    pub x: Vector,
    pub value: f64,
    pub weight: f64,
}

/// What is believed after the rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit {
    /// Coefficients.
    pub mean: Vector,
    /// Scale matrix of their joint Student distribution.
    scale: Matrix,
    /// Degrees of freedom.
    pub degrees: f64,
    /// Logarithm of the probability density of the rows, up to a constant of the prior's shape.
    pub log_evidence: f64,
}

impl Fit {
    /// Mean and scale of `sum(x coefficient)`, a Student variable with [`Self::degrees`].
    pub fn at(&self, x: &Vector) -> (f64, f64) {
        let mean = dot(x, &self.mean);
        let along = self.scale.map(|row| dot(&row, x));
        (mean, dot(x, &along).max(0.0).sqrt())
    }
}

/// Takes the rows into account.
///
/// # Formula
///
/// ```text
/// L0 = diag(1/spread^2),  Ln = L0 + sum w x x',   m = Ln^-1 (L0 m0 + sum w x y)
/// an = (degrees + n)/2,   bn = degrees/2 + (sum w (y - x m)^2 + (m - m0)' L0 (m - m0))/2
/// coefficients ~ Student(m, (bn/an) Ln^-1, 2 an)
/// ln evidence  = (ln|L0| - ln|Ln| + sum ln w)/2 + a0 ln b0 - an ln bn + lnG(an) - lnG(a0) - n ln(2 pi)/2
/// ```
///
/// # Source
///
/// Normal linear model with the conjugate normal-inverse-gamma prior: Bernardo and Smith, Bayesian
/// Theory, 1994, 5.4; the sum of squares in the form that cannot cancel below zero.
pub(super) fn fit(prior: &Prior, rows: &[Row]) -> Fit {
    let mut precision = [[0.0; COEFFICIENTS]; COEFFICIENTS];
    let mut right = [0.0; COEFFICIENTS];
    let mut log_prior = 0.0;
    for i in 0..COEFFICIENTS {
        let own = 1.0 / (prior.spread[i] * prior.spread[i]);
        precision[i][i] = own;
        right[i] = own * prior.mean[i];
        log_prior += own.ln();
    }
    let mut log_weights = 0.0;
    for row in rows {
        for i in 0..COEFFICIENTS {
            right[i] += row.weight * row.x[i] * row.value;
            for j in 0..COEFFICIENTS {
                precision[i][j] += row.weight * row.x[i] * row.x[j];
            }
        }
        log_weights += row.weight.ln();
    }
    let (inverse, log_after) = inverse(&precision);
    let mean = inverse.map(|line| dot(&line, &right));
    let mut squares = 0.0;
    for row in rows {
        let off = row.value - dot(&row.x, &mean);
        squares += row.weight * off * off;
    }
    for i in 0..COEFFICIENTS {
        let off = (mean[i] - prior.mean[i]) / prior.spread[i];
        squares += off * off;
    }
    #[allow(clippy::cast_precision_loss, reason = "some hundred rows at most")]
    let count = rows.len() as f64;
    let (a0, b0) = (0.5 * prior.degrees, 0.5 * prior.degrees);
    let (an, bn) = (a0 + 0.5 * count, b0 + 0.5 * squares);
    let log_evidence = 0.5 * (log_prior - log_after + log_weights) + a0 * b0.ln() - an * bn.ln()
        + libm::lgamma(an)
        - libm::lgamma(a0)
        - 0.5 * count * std::f64::consts::TAU.ln();
    Fit {
        mean,
        scale: inverse.map(|line| line.map(|value| value * bn / an)),
        degrees: 2.0 * an,
        log_evidence,
    }
}

fn dot(a: &Vector, b: &Vector) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Inverse and logarithm of the determinant of a symmetric positive matrix, by Cholesky.
fn inverse(matrix: &Matrix) -> (Matrix, f64) {
    let mut lower = [[0.0_f64; COEFFICIENTS]; COEFFICIENTS];
    let mut log_determinant = 0.0;
    for i in 0..COEFFICIENTS {
        for j in 0..=i {
            let known: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
            let rest = matrix[i][j] - known;
            lower[i][j] = if i == j {
                // The prior keeps it above zero; rounding must not take it below.
                rest.max(f64::MIN_POSITIVE).sqrt()
            } else {
                rest / lower[j][j]
            };
        }
        log_determinant += 2.0 * lower[i][i].ln();
    }
    let mut inverse = [[0.0; COEFFICIENTS]; COEFFICIENTS];
    for column in 0..COEFFICIENTS {
        let mut forward = [0.0; COEFFICIENTS];
        for i in 0..COEFFICIENTS {
            let unit = if i == column { 1.0 } else { 0.0 };
            let known: f64 = (0..i).map(|k| lower[i][k] * forward[k]).sum();
            forward[i] = (unit - known) / lower[i][i];
        }
        for i in (0..COEFFICIENTS).rev() {
            let known: f64 = (i + 1..COEFFICIENTS)
                .map(|k| lower[k][i] * inverse[k][column])
                .sum();
            inverse[i][column] = (forward[i] - known) / lower[i][i];
        }
    }
    (inverse, log_determinant)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(x: f64, value: f64) -> Row {
        Row {
            x: [1.0, x, 0.0],
            value,
            weight: 1.0,
        }
    }

    /// With a vague prior: ordinary least squares.
    ///
    /// Source of the figures: x 0 1 2 3, y 1 3 4 8 by hand: slope 2.2, intercept 0.7, residual sum
    /// of squares 1.8.
    #[test]
    fn a_vague_prior_gives_least_squares() {
        let prior = Prior {
            mean: [0.0; 3],
            spread: [1.0e4; 3],
            degrees: 1.0e-9,
        };
        let rows = [row(0.0, 1.0), row(1.0, 3.0), row(2.0, 4.0), row(3.0, 8.0)];
        let fit = fit(&prior, &rows);
        assert!((fit.mean[0] - 0.7).abs() < 1e-6 && (fit.mean[1] - 2.2).abs() < 1e-6);
        // Var(slope) = (1.8/4)/5 with n degrees of freedom in the conjugate form.
        let (_, scale) = fit.at(&[0.0, 1.0, 0.0]);
        assert!((scale - (1.8_f64 / 4.0 / 5.0).sqrt()).abs() < 1e-6);
        assert!((fit.degrees - 4.0).abs() < 1e-6);
    }

    /// The evidence of one row is the Student density with the prior's predictive scale.
    #[test]
    fn evidence_of_one_row_is_its_predictive_density() {
        let prior = Prior {
            mean: [2.0, 0.5, 0.0],
            spread: [3.0, 0.7, 1.0],
            degrees: 6.0,
        };
        let fit = fit(&prior, &[row(1.5, 4.0)]);
        let variance: f64 = 1.0 + 9.0 + 1.5 * 1.5 * 0.49;
        let t = (4.0 - 2.75) / variance.sqrt();
        let expected = crate::verdict::student_log_pdf(t, 6.0) - 0.5 * variance.ln();
        assert!((fit.log_evidence - expected).abs() < 1e-9);
    }

    #[test]
    fn a_weight_of_four_is_the_same_row_four_times_for_the_coefficients() {
        let prior = Prior {
            mean: [0.0, 1.0, 0.0],
            spread: [10.0, 2.0, 1.0],
            degrees: 10.0,
        };
        let heavy = Row {
            weight: 4.0,
            ..row(2.0, 5.0)
        };
        let (one, four) = (fit(&prior, &[heavy]), fit(&prior, &[row(2.0, 5.0); 4]));
        for i in 0..COEFFICIENTS {
            assert!((one.mean[i] - four.mean[i]).abs() < 1e-9);
        }
    }
}
