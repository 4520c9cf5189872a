//! Prints how well pilots are set by the assistant, beside plainer rules.
//!
//! `cargo run --release -p winze-core --example calibration_table [SEED [PILOTS]]`. The seed of
//! the published table is none of those the rules were chosen on.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::print_stdout,
    clippy::disallowed_macros,
    reason = "counts of a simulation, and printing is the purpose"
)]

mod measure;

use measure::{Figures, Plan, Rule, measure};
use winze_core::calibration::Start;
use winze_core::simulate::{Conditions, PilotConditions, RigConditions};

/// The seed of the published table; development used seeds below 10 000.
const SEED: u64 = 20_261_125;

fn main() {
    let mut numbers = std::env::args().skip(1).map(|text| text.parse().ok());
    let seed = numbers.next().flatten().unwrap_or(SEED);
    let pilots = numbers.next().flatten().unwrap_or(1000);
    let reference = RigConditions::in_service();
    let worn = RigConditions {
        pilot: PilotConditions::worn(),
        ..reference.clone()
    };
    let coarse = RigConditions {
        plant: Conditions::coarse(),
        look_scatter_divisions: 0.15,
        ..reference.clone()
    };
    let plan = |conditions: &RigConditions, start, rule| Plan {
        conditions: conditions.clone(),
        start,
        rule,
        seed,
        pilots,
    };
    println!(
        "{:<44}{:>8}{:>6}{:>10}{:>10}{:>10}{:>10}{:>10}",
        "pilots and rule", "median", "90 %", "within", "passed", "readings", "to go", "foreseen"
    );
    let only = numbers.next().flatten().unwrap_or(0);
    for (name, conditions, start, rule) in [
        (
            "as found, assistant",
            &reference,
            Start::AsFound,
            Rule::Assistant,
        ),
        (
            "backed off, assistant",
            &reference,
            Start::BackedOff,
            Rule::Assistant,
        ),
        (
            "as found, by the last slope",
            &reference,
            Start::AsFound,
            Rule::Slope,
        ),
        (
            "backed off, by the last slope",
            &reference,
            Start::BackedOff,
            Rule::Slope,
        ),
        (
            "as found, quarter turns",
            &reference,
            Start::AsFound,
            Rule::Quarters,
        ),
        (
            "backed off, quarter turns",
            &reference,
            Start::BackedOff,
            Rule::Quarters,
        ),
        (
            "worn pilots, as found, assistant",
            &worn,
            Start::AsFound,
            Rule::Assistant,
        ),
        (
            "worn pilots, backed off, assistant",
            &worn,
            Start::BackedOff,
            Rule::Assistant,
        ),
        (
            "half divisions, as found, assistant",
            &coarse,
            Start::AsFound,
            Rule::Assistant,
        ),
        (
            "half divisions, backed off, assistant",
            &coarse,
            Start::BackedOff,
            Rule::Assistant,
        ),
    ] {
        if only == 1 && rule != Rule::Assistant {
            continue;
        }
        print_line(name, &measure(&plan(conditions, start, rule)));
    }
}

fn print_line(name: &str, figures: &Figures) {
    println!(
        "{name:<44}{:>8.1}{:>6}{:>9.1}%{:>9.1}%{:>10.1}{:>9.1}%{:>9.1}%",
        figures.median_adjustments(),
        figures.adjustments_of_ninety_percent(),
        100.0 * figures.share(figures.reached),
        100.0 * figures.share(figures.overshot),
        figures.readings as f64 / figures.pilots.max(1) as f64,
        100.0 * figures.covered(),
        100.0 * figures.foreseen.0 as f64 / figures.foreseen.1.max(1) as f64,
    );
    let each: Vec<String> = figures
        .intervals
        .iter()
        .filter(|(_, all)| *all >= 20)
        .map(|(held, all)| format!("{:.0}% of {all}", 100.0 * *held as f64 / *all as f64))
        .collect();
    println!("      to go, by adjustment: {}", each.join(", "));
    if !figures.ended.is_empty() {
        println!("      ended otherwise: {:?}", figures.ended);
    }
    let first: Vec<&u64> = figures.overshooters.iter().take(5).collect();
    println!("      passed the band, the first: {first:?}");
}
