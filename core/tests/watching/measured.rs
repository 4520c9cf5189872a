//! The figures: few false flags, early finds, right causes, honest probabilities.
//!
//! On seeds that the rules were not chosen on. The table with all rows is printed by
//! `cargo run --release -p winze-core --example watch_table`.

use winze_core::simulate::{Conditions, FleetPlan};

use crate::measure::{Figures, OurRule, measure};

const SEED: u64 = 20_260_731;

fn ours(conditions: Conditions, place: u64) -> Figures {
    measure(&FleetPlan::stated(conditions, SEED + place), || {
        Box::new(OurRule::default())
    })
}

#[test]
fn the_reference_fleet_is_watched_as_stated() {
    let figures = ours(Conditions::reference(), 0);
    assert!(figures.false_a_year() <= 0.05, "{}", figures.false_a_year());
    assert!(
        figures.found_within(4.0) >= 0.55,
        "{}",
        figures.found_within(4.0)
    );
    assert!(
        figures.found_within(13.0) >= 0.95,
        "{}",
        figures.found_within(13.0)
    );
    let (first, two) = figures.ranked();
    assert!(first >= 0.75 && two >= 0.92, "{first} {two}");
    for decile in figures.deciles().iter().filter(|decile| decile.cases >= 30) {
        let off = (decile.said - decile.came_true).abs();
        assert!(off <= 0.1, "said {} true {}", decile.said, decile.came_true);
    }
}

#[test]
fn irregular_visits_cost_little() {
    let figures = ours(Conditions::irregular(), 3);
    assert!(figures.false_a_year() <= 0.05, "{}", figures.false_a_year());
    assert!(
        figures.found_within(4.0) >= 0.50,
        "{}",
        figures.found_within(4.0)
    );
    assert!(
        figures.found_within(13.0) >= 0.95,
        "{}",
        figures.found_within(13.0)
    );
}

#[test]
fn poor_gauges_and_a_restless_main_cost_speed_rather_than_trust() {
    let figures = ours(Conditions::coarse(), 2);
    // Noise is half as large again and the wander longer: false flags stay of the same order.
    assert!(figures.false_a_year() <= 0.08, "{}", figures.false_a_year());
    assert!(
        figures.found_within(13.0) >= 0.88,
        "{}",
        figures.found_within(13.0)
    );
}
