//! The sizes of change that are tried for each cause.
//!
//! Evenly on a logarithmic scale, each with the logarithm of its share. The ranges are invented,
//! close to practice and wider than the simulator's.

use std::sync::LazyLock;

/// Sizes, smallest first, each with the logarithm of its share of all.
type Sizes = LazyLock<Vec<(f64, f64)>>;

/// Shares of the usual pressure by which a supply is low or high.
pub(super) static SUPPLY_SHARES: Sizes = LazyLock::new(|| sizes(0.06, 0.40, 8));

/// Shares of the inlet pressure that a filling strainer takes each week.
pub(super) static STRAINER_WEEKLY: Sizes = LazyLock::new(|| sizes(0.004, 0.020, 6));

/// Shares by which a pilot creeps or a first stage passes each week.
pub(super) static CREEP_WEEKLY: Sizes = LazyLock::new(|| sizes(0.0015, 0.016, 6));

/// Shares by which a set point is moved.
pub(super) static SET_POINT_SHARES: Sizes = LazyLock::new(|| sizes(0.03, 0.14, 8));

/// Shares of its span by which a gauge is off.
static GAUGE_SPAN_SHARES: Sizes = LazyLock::new(|| sizes(0.02, 0.09, 8));

fn sizes(low: f64, high: f64, count: u8) -> Vec<(f64, f64)> {
    let n = f64::from(count);
    let size = |place: u8| low * libm::pow(high / low, (f64::from(place) + 0.5) / n);
    (0..count).map(|place| (size(place), -n.ln())).collect()
}

/// What a gauge that is off by a share of its span does to the logarithm of its reading.
///
/// The pressure share that is seen has the error in it already.
pub(super) fn gauge_steps(seen_share: f64) -> impl Iterator<Item = (f64, f64)> {
    let half = 0.5_f64.ln();
    GAUGE_SPAN_SHARES.iter().flat_map(move |&(off, ln_share)| {
        [off, -off].map(|off| (-(1.0 - off / seen_share).max(0.05).ln(), ln_share + half))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_lie_inside_their_range_and_their_shares_add_up() {
        for list in [
            &SUPPLY_SHARES,
            &STRAINER_WEEKLY,
            &CREEP_WEEKLY,
            &SET_POINT_SHARES,
        ] {
            let total: f64 = list.iter().map(|(_, ln_share)| ln_share.exp()).sum();
            assert!((total - 1.0).abs() < 1e-12);
            assert!(list.windows(2).all(|pair| pair[0].0 < pair[1].0));
        }
        let total: f64 = gauge_steps(0.5).map(|(_, ln_share)| ln_share.exp()).sum();
        assert!((total - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_gauge_off_by_a_share_of_span_reads_so_much_off() {
        // A true 0.50 of span shown as 0.55: ln(0.55 / 0.50), whatever the size list holds.
        let seen = 0.55_f64;
        let off = 0.05_f64;
        let step = -(1.0 - off / seen).ln();
        assert!((step - (0.55_f64 / 0.50).ln()).abs() < 1e-12);
        assert!(gauge_steps(0.01).all(|(amount, _)| amount.is_finite()));
    }
}
