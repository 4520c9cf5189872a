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

fn stopped(setting: &Setting, points: &[Point]) -> Option<Refusal> {
    match assist(setting, points).advice {
        Advice::Stop(refusal) => Some(refusal),
        _ => None,
    }
}

#[test]
fn without_draw_off_no_turn_is_advised_and_the_reading_is_left_out() {
    let mut still = point("1", "2.90");
    still.draw_off = DrawOff::None;
    let mut points = twice(&[("0", "2.00"), ("1", "2.60")]);
    points.push(still);
    assert_eq!(stopped(&setting(), &points), Some(Refusal::NoDrawOff));
    let notes = assist(&setting(), &points).notes;
    assert!(
        notes.contains(&Note::LeftOutNoDrawOff { count: 1 }),
        "{notes:?}"
    );
}

#[test]
fn minimum_draw_off_is_accepted_and_noted() {
    let mut points = twice(&[("0", "2.00"), ("1", "2.60"), ("2", "3.20")]);
    for point in &mut points {
        point.draw_off = DrawOff::Minimum;
    }
    let found = assist(&setting(), &points);
    assert!(matches!(found.advice, Advice::TurnIn { .. }), "{found:?}");
    assert!(
        found
            .notes
            .iter()
            .any(|note| matches!(note, Note::MinimumDrawOff { .. })),
        "{:?}",
        found.notes
    );
}

#[test]
fn one_reading_is_read_again_and_a_rising_needle_is_waited_for() {
    assert_eq!(
        assist(&setting(), &[point("0", "2.00")]).advice.code(),
        "turn-in",
        "a screw nobody touched has settled"
    );
    let mut points = twice(&[("0", "2.00"), ("1", "2.60")]);
    points.push(point("2", "3.00"));
    assert_eq!(
        assist(&setting(), &points).advice,
        Advice::ReadAgain(Again::IsItStanding)
    );
    points.push(point("2", "3.12"));
    assert_eq!(
        assist(&setting(), &points).advice,
        Advice::Wait(Drift::Rising)
    );
    points.extend([point("2", "3.20"), point("2", "3.20")]);
    assert!(matches!(
        assist(&setting(), &points).advice,
        Advice::TurnIn { .. }
    ));
    let mut moving = point("2", "3.20");
    moving.steadiness = Steadiness::Moving;
    points.push(moving);
    assert!(matches!(
        assist(&setting(), &points).advice,
        Advice::Wait(_)
    ));
}

#[test]
fn a_passed_set_point_is_backed_off_beyond_the_play_and_come_up_to_again() {
    let points = twice(&[("0", "2.00"), ("1", "2.60"), ("2", "3.20"), ("4", "4.40")]);
    let Advice::BackOff { turns, foreseen_pa } = assist(&setting(), &points).advice else {
        panic!("{:?}", assist(&setting(), &points).advice);
    };
    // 0.4 bar too high at 0.6 bar a turn, and some play before it falls.
    assert!(turns.turns() > 0.4 / 0.6, "{turns}");
    assert!(foreseen_pa.middle < 400_000.0, "{foreseen_pa:?}");
}

#[test]
fn close_below_the_set_point_the_steps_are_small_and_rarely_pass_it() {
    let points = twice(&[("0", "2.00"), ("1", "2.60"), ("2", "3.20"), ("3", "3.80")]);
    let Advice::TurnIn {
        turns,
        overshoot,
        foreseen_pa,
        ..
    } = assist(&setting(), &points).advice
    else {
        panic!("{:?}", assist(&setting(), &points).advice);
    };
    assert!(turns.turns() <= 0.2 / 0.6 + 0.05, "{turns}");
    assert!(overshoot <= 0.01, "{overshoot}");
    assert!(foreseen_pa.middle <= 408_000.0, "{foreseen_pa:?}");
}

#[test]
fn what_does_not_fit_stops_with_its_reason() {
    let above = Setting {
        target: Pressure::from_pa(750_000),
        ..setting()
    };
    assert_eq!(stopped(&above, &[]), Some(Refusal::AboveSpringRange));
    let below = Setting {
        target: Pressure::from_pa(50_000),
        ..setting()
    };
    assert_eq!(stopped(&below, &[]), Some(Refusal::BelowSpringRange));
    let off_scale = Setting {
        target: Pressure::from_pa(1_100_000),
        spring_range: None,
        ..setting()
    };
    assert_eq!(stopped(&off_scale, &[]), Some(Refusal::OffScale));
    let nothing = Setting {
        target: Pressure::from_pa(0),
        ..setting()
    };
    assert_eq!(stopped(&nothing, &[]), Some(Refusal::NotSensible));

    let mut starved = twice(&[("0", "2.00"), ("1", "2.60")]);
    for point in &mut starved {
        point.interstage = Some(Typed::new("2.7".parse().expect("a number"), Unit::Bar));
    }
    assert_eq!(stopped(&setting(), &starved), Some(Refusal::SupplyTooLow));

    let fell = twice(&[("0", "2.60"), ("1", "2.00")]);
    assert_eq!(
        stopped(&setting(), &fell),
        Some(Refusal::FellWhileScrewedIn)
    );
    let dead = twice(&[("0", "2.00"), ("1", "2.00"), ("2", "2.00")]);
    assert_eq!(stopped(&setting(), &dead), Some(Refusal::NoAnswer));
}

#[test]
fn a_screw_touched_in_between_begins_anew() {
    let points = twice(&[("0", "2.00"), ("1", "2.60"), ("2", "3.20"), ("2", "2.40")]);
    let points = [&points[..6], &twice(&[("2.25", "5.60")])[..]].concat();
    let found = assist(&setting(), &points);
    assert!(
        found
            .notes
            .iter()
            .any(|note| matches!(note, Note::EarlierLeftOut { .. })),
        "{:?}",
        found.notes
    );
}

#[test]
fn anything_typed_is_answered_with_finite_figures() {
    let values = ["0", "-1", "0.0001", "1000000", "-1000000", "999999999"];
    for turns in values {
        for bar in values {
            let points = twice(&[("0", "2.00"), (turns, bar), ("1", "2.60")]);
            let found = assist(&setting(), &points);
            let spans = [found.rate_pa_per_turn, found.turns_to_go, found.now_pa];
            for span in spans.into_iter().flatten() {
                assert!(
                    span.low.is_finite() && span.high.is_finite() && span.low <= span.high,
                    "{turns} {bar}: {span:?}"
                );
            }
        }
    }
}
