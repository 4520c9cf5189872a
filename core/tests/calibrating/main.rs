//! The calibration assistant as a whole: how many adjustments it takes, how seldom the band is
//! passed, and how honest its intervals are.
//!
//! On a seed that the rules were not chosen on. The quick tests take some of the thousand pilots; all
//! are set by `cargo test --release -p winze-core --test calibrating -- --include-ignored`. The table
//! with all rows, plainer rules beside it, is printed by
//! `cargo run --release -p winze-core --example calibration_table`.

#[path = "../../examples/calibration_table/measure.rs"]
#[allow(dead_code, reason = "the example prints more than the tests need")]
#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "counts of a simulation"
)]
mod measure;

use measure::{Figures, Plan, Rule, measure};
use winze_core::calibration::Start;
use winze_core::simulate::RigConditions;

/// Pilots with a spring rate within three tenths, backlash, droop, and a dial read to a fifth of a
/// division.
fn set(start: Start, pilots: u64) -> Figures {
    measure(&Plan {
        conditions: RigConditions::in_service(),
        start,
        rule: Rule::Assistant,
        seed: 20_261_125,
        pilots,
    })
}

#[allow(clippy::cast_precision_loss, reason = "a thousand pilots")]
fn is_as_stated(figures: &Figures) {
    assert!(
        figures.median_adjustments() <= 4.0,
        "{}",
        figures.median_adjustments()
    );
    assert!(
        figures.share(figures.reached) >= 0.98,
        "within 2 %: {}",
        figures.share(figures.reached)
    );
    assert!(
        figures.share(figures.overshot) <= 0.02,
        "{}",
        figures.share(figures.overshot)
    );
    let covered = figures.covered();
    assert!((0.90..=0.98).contains(&covered), "{covered}");
    let (held, all) = figures.foreseen;
    let foreseen = held as f64 / all as f64;
    assert!((0.90..=0.98).contains(&foreseen), "{foreseen}");
}

#[test]
fn pilots_are_set_from_as_found() {
    is_as_stated(&set(Start::AsFound, 300));
}

#[test]
fn pilots_are_set_from_backed_off() {
    is_as_stated(&set(Start::BackedOff, 200));
}

#[test]
#[ignore = "a minute; see above"]
fn a_thousand_pilots_are_set_from_as_found() {
    is_as_stated(&set(Start::AsFound, 1000));
}

#[test]
#[ignore = "two minutes; see above"]
fn a_thousand_pilots_are_set_from_backed_off() {
    is_as_stated(&set(Start::BackedOff, 1000));
}
