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
            for (sum, x) in precision[i].iter_mut().zip(&row.x) {
                *sum += row.weight * row.x[i] * x;
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
    for ((mean, before), spread) in mean.iter().zip(&prior.mean).zip(&prior.spread) {
        let off = (mean - before) / spread;
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
#[allow(
    clippy::needless_range_loop,
    reason = "rows and columns by number, as the method is written down"
)]
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

    /// With a vague prior; the published spreads have n - 2 below the squares, the conjugate form n.
    fn straight_line(x: &[f64], y: &[f64]) -> (Fit, f64) {
        let prior = Prior {
            mean: [0.0; 3],
            spread: [1.0e6; 3],
            degrees: 1.0e-12,
        };
        let rows: Vec<Row> = x.iter().zip(y).map(|(x, y)| row(*x, *y)).collect();
        #[allow(clippy::cast_precision_loss, reason = "some tens of rows")]
        let count = rows.len() as f64;
        (fit(&prior, &rows), (count / (count - 2.0)).sqrt())
    }

    /// NIST `StRD`, linear regression, Norris (36 points) with its certified values.
    #[test]
    fn r_1_norris() {
        let x = [
            0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6,
            775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8,
            339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
        ];
        let y = [
            0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1,
            778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6,
            339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
        ];
        let (fit, widen) = straight_line(&x, &y);
        assert!((fit.mean[1] - 1.002_116_818_020_45).abs() < 1e-10);
        assert!((fit.mean[0] + 0.262_323_073_774_029).abs() < 1e-8);
        let spread = |at: &Vector| fit.at(at).1 * widen;
        assert!((spread(&[1.0, 0.0, 0.0]) - 0.232_818_234_301_152).abs() < 1e-8);
        assert!((spread(&[0.0, 1.0, 0.0]) - 0.000_429_796_848_199_937).abs() < 1e-10);
    }

    /// JCGM 100:2008, H.3: a straight line of corrections, and the correction at 30. The two
    /// coefficients hang together; taken as independent, the last figure would be 0.00727.
    #[test]
    fn u_4_a_straight_line_of_corrections() {
        let t = [
            21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
        ];
        let t = t.map(|t| t - 20.0);
        let b = [
            -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
        ];
        let (fit, widen) = straight_line(&t, &b);
        assert!((fit.mean[0] + 0.171_203_790_131_350).abs() < 1e-9);
        assert!((fit.mean[1] - 0.002_182_697_739_887).abs() < 1e-9);
        let spread = |at: &Vector| fit.at(at).1 * widen;
        assert!((spread(&[1.0, 0.0, 0.0]) - 0.002_877_597_835_160).abs() < 1e-8);
        assert!((spread(&[0.0, 1.0, 0.0]) - 0.000_667_938_773_228).abs() < 1e-8);
        let (correction, scale) = fit.at(&[1.0, 10.0, 0.0]);
        assert!((correction + 0.149_376_812_732_477).abs() < 1e-9);
        assert!((scale * widen - 0.004_138_595_752_855).abs() < 1e-8);
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
