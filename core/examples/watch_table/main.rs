//! Prints how early and how rightly the watch finds faults, beside plainer rules.
//!
//! `cargo run --release -p winze-core --example watch_table [SEED]`: simulated fleets, weekly
//! visits, three years, 60 stations for each fault and 240 healthy ones; then fleets with other
//! gauges, noise and visit times. The seeds are not those the rules were chosen on.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "counts of a simulated fleet"
)]
#![allow(
    clippy::print_stdout,
    clippy::disallowed_macros,
    reason = "printing is the purpose"
)]

mod baselines;
mod measure;

use baselines::{CusumRule, FixedLimit, Shewhart};
use measure::{Figures, OurRule, measure};
use winze_core::simulate::{Conditions, FleetPlan};

/// The seed of the published table; development used seeds below 10 000.
const SEED: u64 = 20_260_731;

fn main() {
    let seed = std::env::args()
        .nth(1)
        .and_then(|text| text.parse().ok())
        .unwrap_or(SEED);
    let fleets = [
        ("reference fleet", Conditions::reference()),
        ("fine gauges, steady main", Conditions::fine()),
        ("coarse gauges, restless main", Conditions::coarse()),
        ("irregular visits", Conditions::irregular()),
    ];
    for (place, (name, conditions)) in (0..).zip(fleets) {
        let plan = FleetPlan::stated(conditions, seed + place);
        println!("== {name}, seed {} ==", plan.seed);
        println!(
            "{:<44}{:>15}{:>12}{:>12}",
            "rule", "false a year", "in 4 weeks", "in 13 weeks"
        );
        let ours = measure(&plan, || Box::new(OurRule::default()));
        print_line("this watch", &ours);
        if place == 0 {
            print_line(
                "fixed limit 10 %",
                &measure(&plan, || Box::new(FixedLimit::default())),
            );
            let shewhart = measure(&plan, || Box::new(Shewhart::default()));
            print_line("Shewhart 3 sigma on a 12-week baseline", &shewhart);
            let cusum = measure(&plan, || Box::new(CusumRule::default()));
            print_line("CUSUM k 0.5 h 5 on a 12-week baseline", &cusum);
        }
        print_details(&plan, &ours);
    }
}

fn print_line(name: &str, figures: &Figures) {
    println!(
        "{name:<44}{:>15.3}{:>11.1}%{:>11.1}%",
        figures.false_a_year(),
        100.0 * figures.found_within(4.0),
        100.0 * figures.found_within(13.0)
    );
}

fn print_details(plan: &FleetPlan, figures: &Figures) {
    println!("-- by fault: found in 4 / 13 weeks; cause first / among first two");
    for (index, kind) in plan.faults.iter().enumerate() {
        let (found, first, two) = figures.by_kind(index);
        println!(
            "   {:<24}{:>6.0}%{:>6.0}%{:>10.0}%{:>6.0}%",
            kind.code(),
            100.0 * found[0],
            100.0 * found[1],
            100.0 * first,
            100.0 * two
        );
    }
    let (first, two) = figures.ranked();
    println!(
        "-- cause first {:.1}%, among first two {:.1}%",
        100.0 * first,
        100.0 * two
    );
    println!("-- calibration: said / true, by decile (cases)");
    for decile in figures.deciles() {
        println!(
            "   {:.1}-{:.1}  said {:.2}  true {:.2}  ({})",
            decile.low,
            decile.low + 0.1,
            decile.said,
            decile.came_true,
            decile.cases
        );
    }
    println!(
        "-- false flags by leading cause: {}",
        figures.false_by_cause()
    );
}
