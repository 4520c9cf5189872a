//! What records about procedures say: opened, a step recorded, a step undone, closed.
//!
//! Steps are called by their codes here; what a step asks of people is told on its screen.

use winze_core::calibration::{Point, Steadiness};
use winze_core::procedures::{Measured, Reason, Value};
use winze_core::record::{
    ProcedureClosed, ProcedureEnd, ProcedureOpened, StepOutcome, StepRecorded, StepUndone,
};

use super::{named, with_quote};
use crate::presenters::words;

pub(super) fn opened(opened: &ProcedureOpened) -> Vec<String> {
    let because = opened.reason.map_or_else(String::new, |reason| {
        format!(", because of: {}", spoken(reason.code()))
    });
    let lines = vec![format!(
        "Opens the procedure \"{}\" (edition {}) at station {}{because}.",
        spoken(opened.procedure.code()),
        opened.edition,
        opened.station
    )];
    with_quote(lines, "Note", &opened.note)
}

pub(super) fn step(step: &StepRecorded) -> Vec<String> {
    let outcome = match &step.outcome {
        StepOutcome::Done => "done".to_owned(),
        StepOutcome::GoingOn => "going on".to_owned(),
        StepOutcome::PassedOver(why) => format!("passed over, because of: {}", reason(why)),
    };
    let mut lines = vec![format!(
        "Station {}, step \"{}\" of procedure {}: {outcome}.",
        step.station,
        spoken(step.step.code()),
        named(&step.procedure)
    )];
    if let Some(branch) = step.branch {
        lines.push(format!("Chosen: {}.", spoken(branch.code())));
    }
    if !step.measured.is_empty() {
        let parts: Vec<String> = step.measured.iter().map(measured).collect();
        lines.push(format!("Measured: {}.", parts.join(", ")));
    }
    lines.extend(step.points.iter().map(point));
    if !step.ticks.is_empty() {
        let ticks: Vec<String> = step.ticks.iter().map(|tick| spoken(tick.code())).collect();
        lines.push(format!("Ticked: {}.", ticks.join(", ")));
    }
    if !step.figures.is_empty() {
        let figures: Vec<String> = step
            .figures
            .iter()
            .map(|figure| format!("{} ({})", spoken(&figure.code), figure.level.code()))
            .collect();
        lines.push(format!("The figures said: {}.", figures.join(", ")));
    }
    if let Some(why) = &step.despite {
        lines.push(format!(
            "Gone on all the same, because of: {}.",
            reason(why)
        ));
    }
    if let Some(why) = &step.out_of_order {
        lines.push(format!("Done out of order, because of: {}.", reason(why)));
    }
    if let Some(reading) = &step.reading {
        lines.push(format!("The reading with it: {}.", named(reading)));
    }
    with_quote(lines, "Note", &step.note)
}

pub(super) fn undone(undone: &StepUndone) -> Vec<String> {
    let records: Vec<String> = undone.records.iter().map(named).collect();
    let lines = vec![format!(
        "Station {}: takes back step \"{}\" of procedure {}: {}.",
        undone.station,
        spoken(undone.step.code()),
        named(&undone.procedure),
        records.join(", ")
    )];
    with_quote(lines, "Reason", &undone.reason)
}

pub(super) fn closed(closed: &ProcedureClosed) -> Vec<String> {
    let end = match closed.end {
        ProcedureEnd::Completed => "complete",
        ProcedureEnd::Abandoned => "given up",
    };
    let procedure = named(&closed.procedure);
    let mut lines = vec![format!(
        "Ends procedure {procedure} at station {}: {end}.",
        closed.station
    )];
    if !closed.done_by.is_empty() {
        lines.push(format!("Work done by {}.", closed.done_by));
    }
    if !closed.seen_by.is_empty() {
        lines.push(format!("Looked over by {}.", closed.seen_by));
    }
    with_quote(lines, "Note", &closed.note)
}

/// A code as words.
fn spoken(code: &str) -> String {
    code.replace('-', " ")
}

fn reason(reason: &Reason) -> String {
    if reason.note.is_empty() {
        spoken(reason.code.code())
    } else {
        format!("{} (\"{}\")", spoken(reason.code.code()), reason.note)
    }
}

fn measured(measured: &Measured) -> String {
    let value = match measured.value {
        Value::Pressure(typed) => words::typed(typed),
        Value::Turns(turns) => format!("{turns} turns"),
        Value::Count(count) => count.to_string(),
        Value::DrawOff(flow) => flow.code().to_owned(),
        Value::Air(air) => air.code().to_owned(),
        Value::Dirt(dirt) => dirt.code().to_owned(),
        Value::Inside(inside) => inside.code().to_owned(),
    };
    format!("{} {value}", spoken(measured.code.code()))
}

fn point(point: &Point) -> String {
    let rest = match point.steadiness {
        Steadiness::Moving => ", still moving",
        Steadiness::Standing | Steadiness::NotNoted => "",
    };
    let interstage = point.interstage.map_or_else(String::new, |typed| {
        format!(", interstage {}", words::typed(typed))
    });
    format!(
        "Screw at {} turns: outlet {}{interstage}, {} draw-off{rest}.",
        point.turns,
        words::typed(point.pressure),
        point.draw_off.code()
    )
}

#[cfg(test)]
mod tests {
    use winze_core::calibration::DrawOff;
    use winze_core::procedures::{MeasureCode, ReasonCode, StepCode, TickCode};
    use winze_core::record::Body;
    use winze_core::station::StationCode;
    use winze_core::units::{Typed, Unit};
    use winze_sync_format::{Decimal, LogId, RecordId, RecordRef};

    use super::super::body;
    use super::*;

    fn at(seq: u64) -> RecordRef {
        RecordRef {
            log: LogId([1; 32]),
            seq,
            id: RecordId([2; 32]),
        }
    }

    fn station() -> StationCode {
        StationCode::parse("T-07").unwrap()
    }

    #[test]
    fn a_step_says_what_was_measured_ticked_and_why() {
        let name = named(&at(4));
        let mut step = StepRecorded::done(at(4), station(), StepCode::StrainerClean);
        step.ticks = vec![TickCode::Strainer, TickCode::LoopFilter];
        step.measured = vec![Measured::pressure(
            MeasureCode::Supply,
            Typed::of(102, -1, Unit::Bar),
        )];
        step.out_of_order = Some(Reason::new(ReasonCode::OrderOfPlace, ""));
        step.points = vec![Point {
            turns: Decimal::new(15, -1),
            pressure: Typed::of(19, -1, Unit::Bar),
            draw_off: DrawOff::Usual,
            steadiness: Steadiness::Moving,
            interstage: None,
        }];
        assert_eq!(
            body(&Body::StepRecorded(Box::new(step))),
            [
                format!("Station T-07, step \"strainer clean\" of procedure {name}: done."),
                "Measured: supply 10.2 bar.".to_owned(),
                "Screw at 1.5 turns: outlet 1.9 bar, usual draw-off, still moving.".to_owned(),
                "Ticked: strainer, loop filter.".to_owned(),
                "Done out of order, because of: order of place.".to_owned(),
            ]
        );
        let mut passed = StepRecorded::done(at(4), station(), StepCode::Flush);
        let why = Reason::new(ReasonCode::Other, "no drain");
        passed.outcome = StepOutcome::PassedOver(why);
        assert_eq!(
            body(&Body::StepRecorded(Box::new(passed))),
            [format!(
                "Station T-07, step \"flush\" of procedure {name}: passed over, because of: other (\"no drain\")."
            )]
        );
    }
}
