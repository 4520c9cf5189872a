//! The setting of the second stage: its readings, and what the assistant makes of them.

use winze_core::Result;
use winze_core::calibration::{self, DrawOff, Point, RateBasis, Start, assist};
use winze_core::procedures::{ProcedureState, StepCode, StepStatus};
use winze_core::station::Station;
use winze_core::units::decimal_to_f64;

use super::super::work::{Draw, PerTurn, PointRead, Setting};
use super::Reader;

/// The setting as recorded; `None` where the screw was not to be turned.
pub(super) fn setting(
    reader: &Reader<'_>,
    station: &Station,
    state: &ProcedureState,
) -> Result<Option<Setting>> {
    let Some(step) = state.step(StepCode::Calibrate) else {
        return Ok(None);
    };
    if step.status == StepStatus::OtherBranch {
        return Ok(None);
    }
    let mut points = Vec::new();
    let mut entered = Vec::new();
    for entry in step.standing() {
        let act = reader.act(entry.at)?;
        for point in &entry.body.points {
            entered.push(*point);
            // Without draw-off nothing is set; such a reading stays in its record alone.
            let Some(draw) = draw(point.draw_off) else {
                continue;
            };
            points.push(PointRead {
                turns: decimal_to_f64(point.turns),
                outlet: point.pressure,
                draw,
                act: act.clone(),
            });
        }
    }
    let start = match state.status(StepCode::ScrewBackedOff) {
        Some(StepStatus::Done) => Start::BackedOff,
        _ => Start::AsFound,
    };
    Ok(Some(read(station, start, points, &entered)))
}

const fn draw(flow: DrawOff) -> Option<Draw> {
    match flow {
        DrawOff::Usual => Some(Draw::Usual),
        DrawOff::Minimum => Some(Draw::Minimum),
        DrawOff::None => None,
    }
}

fn read(station: &Station, start: Start, points: Vec<PointRead>, entered: &[Point]) -> Setting {
    let helped = assist(&calibration::Setting::of(station, start), entered);
    let rate = helped
        .rate_pa_per_turn
        .filter(|_| helped.rate_basis == RateBasis::Points);
    let per_turn = rate.zip(points.last()).map(|(rate, last)| {
        // The line goes through where the screw was left, down to the lowest pressure read.
        let last_pa = last.outlet.to_pressure().as_f64_pa();
        let lowest_pa = points
            .iter()
            .map(|point| point.outlet.to_pressure().as_f64_pa())
            .fold(last_pa, f64::min);
        let from = if rate.middle > 0.0 {
            last.turns - (last_pa - lowest_pa) / rate.middle
        } else {
            last.turns
        };
        PerTurn {
            pa: rate.middle,
            interval_pa: Some((rate.low, rate.high)),
            at_zero_pa: last_pa - rate.middle * last.turns,
            holds: (from, last.turns),
        }
    });
    Setting {
        backlash_turns: helped.backlash_turns.map(|span| span.middle),
        points,
        per_turn,
    }
}
