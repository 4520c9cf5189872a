//! S-6: how long a CUSUM runs before it signals, by the integral equation and by the chart itself.

#![allow(clippy::cast_precision_loss, reason = "some tens of nodes")]

use winze_core::simulate::Dice;
use winze_core::verdict::{normal_cdf, normal_pdf};
use winze_core::watch::Cusum;

use crate::{near, near_relative, rows};

const ARL: &str = include_str!("../data/arl.csv");

/// Nodes and weights of the Gauss-Legendre rule on `[0, 1]`, by Newton's method.
fn gauss_legendre(count: usize) -> Vec<(f64, f64)> {
    let n = count as f64;
    (1..=count)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 - 0.25) / (n + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut before, mut value) = (1.0, x);
                for k in 2..=count {
                    let k = k as f64;
                    (before, value) = (
                        value,
                        ((2.0 * k - 1.0) * x * value - (k - 1.0) * before) / k,
                    );
                }
                slope = n * (x * value - before) / (x * x - 1.0);
                let step = value / slope;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            (f64::midpoint(1.0, x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// Solves a linear system by elimination with row exchange.
fn solve(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let n = rows.len();
    for column in 0..n {
        let pivot = (column..n)
            .max_by(|a, b| rows[*a][column].abs().total_cmp(&rows[*b][column].abs()))
            .expect("rows are left");
        rows.swap(column, pivot);
        let top = rows[column].clone();
        for row in rows.iter_mut().skip(column + 1) {
            let factor = row[column] / top[column];
            for (value, top) in row.iter_mut().zip(&top).skip(column) {
                *value -= factor * top;
            }
        }
    }
    let mut found = vec![0.0; n];
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n)
            .map(|column| rows[row][column] * found[column])
            .sum();
        found[row] = (rows[row][n] - known) / rows[row][row];
    }
    found
}

/// Run length of a one-sided CUSUM from zero: Nystroem with an atom at zero.
fn one_sided(allowance: f64, limit: f64, shift: f64) -> f64 {
    let rule: Vec<(f64, f64)> = gauss_legendre(80)
        .into_iter()
        .map(|(x, w)| (x * limit, w * limit))
        .collect();
    let starts: Vec<f64> = std::iter::once(0.0)
        .chain(rule.iter().map(|(x, _)| *x))
        .collect();
    let matrix = starts
        .iter()
        .enumerate()
        .map(|(place, start)| {
            let mut row = vec![-normal_cdf(allowance - shift - start)];
            row.extend(
                rule.iter()
                    .map(|(x, w)| -w * normal_pdf(x - start + allowance - shift)),
            );
            row[place] += 1.0;
            row.push(1.0);
            row
        })
        .collect();
    solve(matrix)[0]
}

#[test]
fn s_6_run_lengths_by_the_integral_equation() {
    let mut checked = 0;
    for row in rows(ARL)
        .iter()
        .filter(|row| row[0] == "cusum" && !row[4].is_empty())
    {
        let number = |text: &str| -> f64 {
            text.rsplit('=')
                .next()
                .and_then(|text| text.parse().ok())
                .expect("a number")
        };
        let (allowance, limit, shift) = (number(&row[1]), number(&row[2]), number(&row[3]));
        if !(row[1].starts_with("k=") && row[2].starts_with("h=")) {
            continue;
        }
        let up = one_sided(allowance, limit, shift);
        if !row[5].is_empty() {
            near_relative(up, number(&row[5]), 1e-3);
        }
        let down = one_sided(allowance, limit, -shift);
        near_relative(1.0 / (1.0 / up + 1.0 / down), number(&row[4]), 1e-3);
        checked += 1;
    }
    assert!(checked >= 18, "checked {checked}");
}

#[test]
fn s_6_the_chart_itself_runs_as_long() {
    // k 0.5, h 4: 167.684 at no shift, 26.630 at half a deviation, 8.383 at one.
    let runs = 3000_u32;
    for (shift, wanted) in [(0.0, 167.684), (0.5, 26.630), (1.0, 8.383)] {
        let mut dice = Dice::new(20, 6);
        let (mut total, mut squares) = (0.0, 0.0);
        for _ in 0..runs {
            let mut chart = Cusum::new(0.5, 4.0);
            let mut length = 1.0;
            while chart.take(dice.normal() + shift).is_none() {
                length += 1.0;
            }
            total += length;
            squares += length * length;
        }
        let n = f64::from(runs);
        let mean = total / n;
        let error = ((squares / n - mean * mean) / n).sqrt();
        near(mean, wanted, 4.0 * error);
    }
}
