//! Places in a strip, checked by hand on a plot of 520 x 100 over 52 weeks: ten pixels a week.

use super::*;
use crate::presenters::view::Tone;

const WEEK_MS: i64 = 604_800_000;
const SPAN: Span = Span {
    from_ms: 0,
    to_ms: 52 * WEEK_MS,
};
const PLOT: Plot = Plot {
    width: 520.0,
    height: 100.0,
};

fn point(week: i64, value: f64) -> Point {
    Point {
        at_ms: week * WEEK_MS,
        value: Some(value),
        band: Some((1.0, 3.0)),
        stand: Stand::Usual,
    }
}

fn sign(week: i64, word: &str) -> Sign {
    Sign {
        at_ms: week * WEEK_MS,
        shape: FlagShape::Drift,
        tone: Tone::Caution,
        word: word.to_owned(),
    }
}

fn moves(path: &str) -> usize {
    // The last two moves only keep the corners.
    path.matches('M').count().saturating_sub(2)
}

#[test]
fn readings_lie_at_their_time_and_height() {
    let series = Series {
        points: (0..10).map(|week| point(week, 2.0)).collect(),
        ..Series::default()
    };
    let strip = strip(&series, SPAN, PLOT);
    // The band 1 to 3 with air of 0.16 lies between 8 and 94 pixels; 2 is in the middle.
    assert!(
        strip.line.starts_with("M 0.0 51.0 L 10.0 51.0"),
        "{}",
        strip.line
    );
    assert_eq!(moves(&strip.line), 1);
    assert_eq!(moves(&strip.dots), 10);
    let texts: Vec<_> = strip.ticks.iter().map(|tick| tick.text.as_str()).collect();
    assert_eq!(texts, ["1", "2", "3"]);
    assert!(strip.ticks[0].y > strip.ticks[2].y, "more is higher");
}

#[test]
fn missed_rounds_break_the_line_and_unread_gauges_leave_no_dot() {
    let mut points: Vec<Point> = (0..6).chain(12..18).map(|week| point(week, 2.0)).collect();
    points[2].value = None;
    let series = Series {
        points,
        ..Series::default()
    };
    let strip = strip(&series, SPAN, PLOT);
    assert_eq!(moves(&strip.line), 2, "{}", strip.line);
    assert_eq!(moves(&strip.dots), 11);
}

#[test]
fn verdicts_have_shapes_of_their_own() {
    let mut points: Vec<Point> = (0..5).map(|week| point(week, 2.0)).collect();
    points[1].stand = Stand::Unsure;
    points[3].stand = Stand::Outside;
    let series = Series {
        points,
        ..Series::default()
    };
    let strip = strip(&series, SPAN, PLOT);
    assert_eq!(
        (
            moves(&strip.dots),
            moves(&strip.unsure),
            moves(&strip.outside)
        ),
        (3, 1, 1)
    );
}

#[test]
fn many_visits_are_a_line_without_dots_but_what_is_outside_stays() {
    let mut points: Vec<Point> = (0..400)
        .map(|day| point(0, 2.0 + f64::from(day % 2)))
        .collect();
    for (day, point) in (0..).zip(&mut points) {
        point.at_ms = day * WEEK_MS / 8;
    }
    points[100].stand = Stand::Outside;
    let series = Series {
        points,
        ..Series::default()
    };
    let strip = strip(&series, SPAN, PLOT);
    assert!(strip.dots.is_empty());
    assert_eq!(moves(&strip.outside), 1);
}

#[test]
fn words_of_flags_keep_clear_of_each_other_and_of_the_edge() {
    let points: Vec<Point> = (0..52).map(|week| point(week, 2.0)).collect();
    let signs = vec![
        sign(10, "slow change"),
        sign(12, "outside"),
        sign(14, "outside"),
        sign(51, "never moves"),
    ];
    let series = Series {
        points,
        signs,
        fan: vec![],
    };
    let strip = strip(&series, SPAN, PLOT);
    let rows: Vec<_> = strip.marks.iter().map(|mark| mark.y > 0.0).collect();
    assert_eq!(rows, [false, true, true, false]);
    assert_eq!(strip.marks[2].word, "", "no place for a third word there");
    assert_eq!(
        strip.marks[1].word, "",
        "a word goes rather than run through a shape"
    );
    assert_eq!(strip.marks[0].word, "slow change");
    assert!(strip.marks[3].is_left, "a word must not leave the plot");
    assert_eq!(moves(&strip.stems), 4);
}

#[test]
fn forecast_opens_from_now_to_the_edge_of_the_band() {
    let points: Vec<Point> = (0..30).map(|week| point(week, 2.0)).collect();
    let ahead = |week: i64, low, likely, high| FanPoint {
        at_ms: week * WEEK_MS,
        low,
        likely,
        high,
    };
    let fan = vec![
        ahead(29, 2.0, 2.0, 2.0),
        ahead(39, 2.0, 2.5, 3.0),
        ahead(65, 2.0, 3.8, 3.0),
    ];
    let series = Series {
        points,
        signs: vec![],
        fan,
    };
    let strip = strip(&series, SPAN, PLOT);
    // Week 52 is half-way from 39 to 65: 3.15 of a scale whose upper end is then 3.16.
    assert!(
        strip.ahead.starts_with("M 290.0 51.0 L 390.0"),
        "{}",
        strip.ahead
    );
    assert!(
        strip.ahead.contains("L 520.0"),
        "ended at the edge: {}",
        strip.ahead
    );
    assert!(
        strip.fan.contains("L 520.0 51.0"),
        "level below: {}",
        strip.fan
    );
    // The band goes on under the forecast.
    assert!(strip.band.contains("L 520.0"), "{}", strip.band);
}

#[test]
fn nothing_read_draws_nothing_and_one_value_is_no_panic() {
    assert_eq!(strip(&Series::default(), SPAN, PLOT), Strip::default());
    let one = Series {
        points: vec![Point {
            band: None,
            ..point(3, 0.0)
        }],
        ..Series::default()
    };
    let drawn = strip(&one, SPAN, PLOT);
    assert!(drawn.line.is_empty());
    assert_eq!(moves(&drawn.dots), 1);
    let no_room = Plot::default();
    let _ = strip(&one, SPAN, no_room);
}
