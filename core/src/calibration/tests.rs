//! The assistant on made-up points: codes for every situation, and helpers for its neighbours.

use super::*;
use crate::units::{Pressure, Typed, Unit};

/// A point at usual draw-off: turns and bar as typed.
pub(super) fn point(turns: &str, bar: &str) -> Point {
    Point::of(
        turns.parse().expect("a number"),
        Typed::new(bar.parse().expect("a number"), Unit::Bar),
    )
}

/// 4 bar with a gauge of 0-10 bar in divisions of 0.2, spring 1-7 bar.
pub(super) fn setting() -> Setting {
    let kpa = |value: i64| Pressure::from_pa(value * 1000);
    Setting {
        target: kpa(400),
        tolerance: kpa(8),
        read_step: kpa(4),
        division: kpa(20),
        full_scale: kpa(1000),
        spring_range: Some((kpa(100), kpa(700))),
        minimum_differential: kpa(30),
        start: Start::AsFound,
    }
}

/// Every stop read twice alike.
fn twice(values: &[(&str, &str)]) -> Vec<Point> {
    values
        .iter()
        .flat_map(|(turns, bar)| [point(turns, bar); 2])
        .collect()
}

fn advice(values: &[(&str, &str)]) -> Advice {
    assist(&setting(), &twice(values)).advice
}

#[test]
fn a_straight_spring_is_measured_and_brought_home_from_below() {
    assert_eq!(assist(&setting(), &[]).advice, Advice::ReadFirst);
    let points = twice(&[("0", "2.00"), ("1", "2.60"), ("2", "3.20")]);
    let found = assist(&setting(), &points);
    // 0.6 bar a turn, 0.8 bar to go: one turn and a third.
    let rate = found.rate_pa_per_turn.expect("points");
    assert!(rate.contains(60_000.0), "{rate:?}");
    let go = found.turns_to_go.expect("points");
    assert!(go.contains(0.8 / 0.6) && go.high - go.low < 0.4, "{go:?}");
    let Advice::TurnIn {
        turns, overshoot, ..
    } = found.advice
    else {
        panic!("{:?}", found.advice);
    };
    assert!(turns.turns() > 1.0 && turns.turns() <= 0.8 / 0.6, "{turns}");
    assert!(overshoot <= 0.01);
    assert!(matches!(
        advice(&[
            ("0", "2.00"),
            ("1", "2.60"),
            ("2", "3.20"),
            ("3.25", "3.96")
        ]),
        Advice::Reached { .. }
    ));
}
