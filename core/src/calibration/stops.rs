//! Readings at the same turns, taken together as one stop of the screw.

use winze_sync_format::Decimal;

use super::advice::Drift;
use super::point::{DrawOff, Point, Steadiness};
use super::setting::Setting;

/// Readings further apart than this many steps show a needle that moves: one step up is enough
/// after screwing in, because it may be the tail of the rise.
const STANDS_WITHIN_STEPS: f64 = 0.75;

/// Where no move explains a difference, or it goes against the move, it takes more to show drift.
const DRIFTS_FROM_STEPS: f64 = 2.5;

/// After a turn the needle creeps up to where it will stand, the last of it too slowly to be seen:
/// what remains when two readings agree, mean and standard deviation in steps, where no rise was
/// seen at this stop and where one was. Common practice, no source.
const CREEP_UNSEEN: (f64, f64) = (0.1, 0.25);
const CREEP_SEEN: (f64, f64) = (0.5, 0.5);

/// Turns beyond this are brought to it, so that sums stay finite.
const TURNS_LIMIT: f64 = 1.0e4;

/// How a stop stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Standing {
    /// It stands.
    Settled,
    /// One reading only.
    Once,
    /// It still moves.
    Drifting(Drift),
}

/// One stop of the screw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stop {
    /// Turns since the first point.
    pub turns: f64,
    /// The value at which it stands or will stand, pascals.
    pub pa: f64,
    /// What the creep that cannot be seen adds to the doubt, standard deviation in pascals.
    pub creep_pa: f64,
    /// Readings taken.
    pub readings: usize,
    pub draw_off: DrawOff,
    pub standing: Standing,
}

/// The stops in the order entered; readings without draw-off are left out and counted.
pub(super) fn stops(setting: &Setting, points: &[Point]) -> (Vec<Stop>, usize) {
    let mut stops: Vec<Stop> = Vec::new();
    let mut left_out = 0;
    let mut group: Vec<&Point> = Vec::new();
    for point in points {
        if point.draw_off == DrawOff::None {
            left_out += 1;
            continue;
        }
        let is_same = group.last().is_some_and(|last| {
            last.turns.same_value(point.turns) && last.draw_off == point.draw_off
        });
        if !is_same {
            close(setting, &mut group, &mut stops);
        }
        group.push(point);
    }
    close(setting, &mut group, &mut stops);
    (stops, left_out)
}

fn close(setting: &Setting, group: &mut Vec<&Point>, stops: &mut Vec<Stop>) {
    if let Some(stop) = stop(setting, group, stops.last()) {
        stops.push(stop);
    }
    group.clear();
}

fn stop(setting: &Setting, group: &[&Point], before: Option<&Stop>) -> Option<Stop> {
    let last = group.last()?;
    let turns = bounded_turns(last.turns);
    let pa = |point: &Point| point.pressure.to_pressure().as_f64_pa();
    let previous = group.len().checked_sub(2).and_then(|i| group.get(i));
    // 1 after screwing in, -1 after screwing out, 0 where nothing was turned.
    let moved = before.map_or(0.0, |before| sign(turns - before.turns));
    let standing = match (last.steadiness, previous) {
        (Steadiness::Standing, _) => Standing::Settled,
        (Steadiness::Moving, _) => {
            let shown = previous.map_or(0.0, |previous| sign(pa(last) - pa(previous)));
            let way = if shown == 0.0 { moved } else { shown };
            Standing::Drifting(if way < 0.0 {
                Drift::Falling
            } else {
                Drift::Rising
            })
        }
        // A screw that nobody has touched yet has had time to settle.
        (Steadiness::NotNoted, None) if moved == 0.0 => Standing::Settled,
        (Steadiness::NotNoted, None) => Standing::Once,
        (Steadiness::NotNoted, Some(previous)) => {
            drift(pa(last) - pa(previous), moved, setting.step_pa())
        }
    };
    let value = match previous {
        // The mean of two that agree; a first one far off is old.
        Some(previous) if (pa(last) - pa(previous)).abs() <= 1.5 * setting.step_pa() => {
            f64::midpoint(pa(last), pa(previous))
        }
        _ => pa(last),
    };
    let first = group.first().map_or(0.0, |first| pa(first));
    let step = setting.step_pa();
    let (rest, doubt) = match last.steadiness {
        _ if moved == 0.0 => (0.0, 0.0),
        Steadiness::NotNoted if (pa(last) - first) * moved > 0.0 => CREEP_SEEN,
        _ => CREEP_UNSEEN,
    };
    Some(Stop {
        turns,
        pa: value + moved * rest * step,
        creep_pa: doubt * step,
        readings: group.len(),
        draw_off: last.draw_off,
        standing,
    })
}

fn drift(difference: f64, moved: f64, step: f64) -> Standing {
    let steps = difference.abs() / step;
    let limit = if difference * moved > 0.0 {
        STANDS_WITHIN_STEPS
    } else {
        DRIFTS_FROM_STEPS
    };
    if steps < limit {
        Standing::Settled
    } else if difference > 0.0 {
        Standing::Drifting(Drift::Rising)
    } else {
        Standing::Drifting(Drift::Falling)
    }
}

/// -1, 0 or 1.
pub(super) fn sign(value: f64) -> f64 {
    if value > 0.0 {
        1.0
    } else if value < 0.0 {
        -1.0
    } else {
        0.0
    }
}

fn bounded_turns(turns: Decimal) -> f64 {
    crate::units::decimal_to_f64(turns).clamp(-TURNS_LIMIT, TURNS_LIMIT)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::tests::{point, setting};

    #[test]
    fn readings_at_the_same_turns_are_one_stop_that_stands_when_two_agree() {
        let setting = setting();
        let standing = |values: &[&str]| {
            let mut points = vec![point("0", "2.00")];
            points.extend(values.iter().map(|value| point("1.0", value)));
            let (stops, _) = stops(&setting, &points);
            assert_eq!(stops.len(), 2);
            stops[1].standing
        };
        assert_eq!(standing(&["3.00"]), Standing::Once);
        assert_eq!(standing(&["3.00", "3.00"]), Standing::Settled);
        // One step of 0.04 bar up is the tail of the rise, one step down is the eye.
        assert_eq!(
            standing(&["3.00", "3.04"]),
            Standing::Drifting(Drift::Rising)
        );
        assert_eq!(standing(&["3.00", "3.04", "3.04"]), Standing::Settled);
        assert_eq!(standing(&["3.04", "3.00"]), Standing::Settled);
        assert_eq!(
            standing(&["3.40", "3.00"]),
            Standing::Drifting(Drift::Falling)
        );
    }

    #[test]
    fn what_the_operator_says_of_the_needle_stands() {
        let setting = setting();
        let mut moving = point("1", "3.00");
        moving.steadiness = Steadiness::Moving;
        let (found, _) = stops(&setting, &[point("0", "2.00"), moving]);
        assert_eq!(found[1].standing, Standing::Drifting(Drift::Rising));
        let mut out = moving;
        out.turns = "-1".parse().expect("a number");
        let (found, _) = stops(&setting, &[point("0", "2.00"), out]);
        assert_eq!(found[1].standing, Standing::Drifting(Drift::Falling));
        let mut still = moving;
        still.steadiness = Steadiness::Standing;
        let (found, _) = stops(&setting, &[point("0", "2.00"), still]);
        assert_eq!(found[1].standing, Standing::Settled);
    }

    #[test]
    fn readings_without_draw_off_are_left_out_and_counted() {
        let mut dry = point("1", "3.00");
        dry.draw_off = DrawOff::None;
        let (found, left_out) = stops(&setting(), &[point("0", "2.00"), dry, dry]);
        assert_eq!((found.len(), left_out), (1, 2));
    }
}
