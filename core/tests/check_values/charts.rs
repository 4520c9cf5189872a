//! Control charts: S-1, S-2 and the limit of S-8.

use winze_core::verdict::normal_cdf;
use winze_core::watch::Cusum;

use crate::{near, rows};

const CUSUM: &str = include_str!("../data/cusum.csv");

/// One published case: every sum and count, and the first signal.
fn check(case: &str, target: f64, allowance: f64, limit: f64, first_signal: u32) {
    let mut chart = Cusum::new(allowance, limit);
    let mut signals = Vec::new();
    let mut seen = 0;
    for row in rows(CUSUM).iter().filter(|row| row[0] == case) {
        let number = |place: usize| -> f64 { row[place].parse().expect("a number") };
        if chart.take(number(2) - target).is_some() {
            signals.push(row[1].parse::<u32>().expect("a sample number"));
        }
        // The table is exact; sums of some tens of doubles stay far within 1e-9.
        near(chart.up, number(3), 1e-9);
        near(chart.down, number(5), 1e-9);
        if !row[9].is_empty() {
            near(chart.up, number(9), 0.0051);
        }
        seen += 1;
    }
    assert!(seen >= 20);
    assert_eq!(signals.first(), Some(&first_signal));
}

#[test]
fn s_1_tabular_cusum_of_montgomery() {
    check("montgomery", 10.0, 0.5, 5.0, 29);
}

#[test]
fn s_1_the_signal_tells_since_when() {
    let mut chart = Cusum::new(0.5, 5.0);
    let signal = rows(CUSUM)
        .iter()
        .filter(|row| row[0] == "montgomery")
        .find_map(|row| chart.take(row[2].parse::<f64>().expect("a number") - 10.0))
        .expect("the series signals");
    assert!(signal.is_upward);
    // N+ = 7 at sample 29: the change lies between samples 22 and 23.
    assert_eq!(signal.visits, 7);
}

#[test]
fn s_2_tabular_cusum_of_the_nist_handbook() {
    check("nist-6.3.2.3", 325.0, 0.3175, 4.1959, 14);
}

#[test]
fn s_8_run_lengths_of_a_three_sigma_limit() {
    for (shift, wanted) in [(0.0, 370.3983), (1.0, 43.8947), (2.0, 6.30296), (3.0, 2.0)] {
        let out = normal_cdf(-3.0 - shift) + normal_cdf(-3.0 + shift);
        near(1.0 / out, wanted, 1e-4 * wanted);
    }
}
