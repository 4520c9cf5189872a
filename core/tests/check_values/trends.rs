//! Trend and change of level: T-1 and T-2.

use winze_core::watch::trend::{mann_kendall, pettitt, theil_sen};

use crate::{near, near_relative, rows};

const TRENDS: &str = include_str!("../data/mann-kendall.csv");
const NILE: &str = include_str!("../data/nile.csv");

fn nile() -> Vec<(f64, f64)> {
    let number = |text: &str| text.parse::<f64>().expect("a number");
    rows(NILE)
        .iter()
        .map(|row| (number(&row[0]), number(&row[1])))
        .collect()
}

#[test]
fn t_1_mann_kendall_and_theil_sen() {
    let mut checked = 0;
    for row in rows(TRENDS) {
        let number = |place: usize| -> f64 { row[place].parse().expect("a number") };
        let values: Vec<f64> = row[2]
            .split_whitespace()
            .filter_map(|text| text.parse().ok())
            .collect();
        let points: Vec<(f64, f64)> = if row[0].starts_with("nile") {
            nile()
        } else {
            (0..).map(f64::from).zip(values).collect()
        };
        let values: Vec<f64> = points.iter().map(|point| point.1).collect();
        assert_eq!(
            points.len(),
            row[1].parse::<usize>().expect("a count"),
            "{}",
            row[0]
        );
        let test = mann_kendall(&values);
        near(test.score, number(4), 1e-12);
        near_relative(test.variance, number(5), 1e-9);
        near(test.z, number(6), 1e-9);
        near(test.probability, number(7), 1e-9);
        let fit = theil_sen(&points, 0.95).expect("two different times");
        // The table has ten figures.
        near(fit.slope, number(10), 1e-9);
        near(fit.limits.0, number(11), 1e-6);
        near(fit.limits.1, number(12), 1e-6);
        if !row[15].is_empty() {
            near_relative(fit.intercept, number(15), 1e-8);
        }
        if !row[13].is_empty() {
            let narrower = theil_sen(&points, 0.90).expect("two different times");
            near(narrower.limits.0, number(13), 1e-6);
            near(narrower.limits.1, number(14), 1e-6);
        }
        checked += 1;
    }
    assert!(checked >= 8, "checked {checked}");
}

#[test]
fn t_2_the_nile_changed_in_1898() {
    let values: Vec<f64> = nile().iter().map(|point| point.1).collect();
    assert_eq!(values.len(), 100);
    let change = pettitt(&values).expect("a hundred values");
    assert_eq!(change.before, 28);
    near(nile()[change.before - 1].0, 1898.0, 0.0);
    near(change.statistic, 1617.0, 0.0);
    near_relative(change.probability, 3.591_02e-7, 1e-5);
}

#[test]
fn t_1_g_a_step_looks_like_a_trend_and_the_change_test_tells() {
    let step = [4.0, 4.0, 4.0, 4.0, 4.0, 4.5, 4.5, 4.5, 4.5, 4.5];
    assert!(mann_kendall(&step).probability < 0.05);
    assert_eq!(pettitt(&step).expect("ten values").before, 5);
}
