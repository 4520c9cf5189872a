//! A tablet without a logbook: facts of one procedure, written as the actions would write them.

use winze_sync_format::{LogId, RecordId, RecordRef};

use crate::calibration::Point;
use crate::procedures::*;
use crate::record::{ProcedureClosed, ProcedureEnd, StepOutcome, StepRecorded, StepUndone};
use crate::samples::code;
use crate::units::{Typed, Unit};
use winze_sync_format::Decimal;

/// Makes the record that every fact here is about.
pub fn opened() -> RecordRef {
    name(0, 0)
}

/// A record's name by tablet and number.
pub fn name(tablet: u8, seq: u64) -> RecordRef {
    // Ids that do not follow the order of writing, so that nothing rests on it by accident.
    let mixed = (seq + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ u64::from(tablet);
    let mut id = [tablet; 32];
    id[..8].copy_from_slice(&mixed.to_be_bytes());
    RecordRef {
        log: LogId([tablet; 32]),
        seq,
        id: RecordId(id),
    }
}

/// One tablet's view of a procedure.
#[derive(Clone)]
pub struct Desk {
    pub procedure: &'static Procedure,
    pub facts: Vec<StepFact>,
    pub tablet: u8,
    pub seq: u64,
    pub now_ms: i64,
}

impl Desk {
    pub fn new(code: ProcedureCode, tablet: u8) -> Self {
        Self {
            procedure: procedure(code),
            facts: Vec::new(),
            tablet,
            seq: 1,
            now_ms: 1_000,
        }
    }

    pub fn state(&self) -> ProcedureState {
        state(self.procedure, &self.facts)
    }

    pub fn next(&self) -> Option<StepCode> {
        self.state().next
    }

    pub fn push(&mut self, based_on: Vec<RecordRef>, says: Says) -> RecordRef {
        let at = name(self.tablet, self.seq);
        self.seq += 1;
        self.now_ms += 1_000;
        self.facts.push(StepFact {
            at,
            wall_ms: self.now_ms,
            by: "A".to_owned(),
            based_on,
            says,
        });
        at
    }

    /// Writes a step record resting on what is settled, whether or not it will count.
    pub fn write(&mut self, body: StepRecorded) -> RecordRef {
        let state = self.state();
        let step = self.procedure.step(body.step);
        let based_on = step.map_or_else(Vec::new, |step| bases_of_step(step, &state));
        self.push(based_on, Says::Recorded(Box::new(body)))
    }

    /// Does a step as asked.
    pub fn act(&mut self, step: StepCode) -> RecordRef {
        self.write(proper(self.procedure, step))
    }

    /// Does whatever is next until nothing is, the branch being chosen.
    pub fn run(&mut self, branch: Branch) {
        self.run_until(branch, |_| false);
    }

    /// The same, stopping before a step.
    pub fn run_until(&mut self, branch: Branch, stop: impl Fn(StepCode) -> bool) {
        while let Some(next) = self.next() {
            if stop(next) {
                return;
            }
            let mut body = proper(self.procedure, next);
            body.branch = body.branch.map(|_| branch);
            let before = self.state();
            self.write(body);
            assert_ne!(self.state(), before, "no way on from {next:?}");
        }
    }

    pub fn pass(&mut self, step: StepCode) -> RecordRef {
        let mut body = bare(step);
        body.outcome = StepOutcome::PassedOver(why());
        self.write(body)
    }

    /// Takes back all that stands of a step.
    pub fn undo(&mut self, step: StepCode) -> RecordRef {
        let state = self.state();
        let standing = state.step(step).unwrap().standing();
        let records = standing.map(|entry| entry.at).collect();
        self.undo_records(step, records)
    }

    pub fn undo_records(&mut self, step: StepCode, records: Vec<RecordRef>) -> RecordRef {
        let body = StepUndone {
            procedure: opened(),
            station: code("T-07"),
            step,
            records,
            reason: "mistaken".to_owned(),
            utc_offset_minutes: 0,
        };
        self.push(Vec::new(), Says::Undone(body))
    }

    pub fn close(&mut self, end: ProcedureEnd) -> RecordRef {
        let based_on = bases_of_end(&self.facts, &self.state());
        let body = ProcedureClosed {
            procedure: opened(),
            station: code("T-07"),
            end,
            done_by: "A".to_owned(),
            seen_by: String::new(),
            note: "end".to_owned(),
            utc_offset_minutes: 0,
        };
        self.push(based_on, Says::Closed(body))
    }

    /// Takes in what another tablet knows.
    pub fn merge(&mut self, other: &Self) {
        for fact in &other.facts {
            if !self.facts.contains(fact) {
                self.facts.push(fact.clone());
            }
        }
    }

    /// Another tablet that knows the same.
    pub fn copy(&self, tablet: u8) -> Self {
        let mut copy = self.clone();
        copy.tablet = tablet;
        copy
    }
}

pub fn why() -> Reason {
    Reason::new(ReasonCode::ResponsibleDecided, "by radio")
}

pub fn bare(step: StepCode) -> StepRecorded {
    StepRecorded::done(opened(), code("T-07"), step)
}

pub fn bar(tenths: i64) -> Typed {
    Typed::of(tenths, -1, Unit::Bar)
}

pub fn point(quarter_turns: i64, tenths: i64) -> Point {
    Point::of(Decimal::new(quarter_turns * 25, -2), bar(tenths))
}

/// A step done as it asks: every measure, every tick, flow as usual, no air.
pub fn proper(procedure: &Procedure, code: StepCode) -> StepRecorded {
    let mut body = bare(code);
    let Some(step) = procedure.step(code) else {
        return body;
    };
    for measure in step.measures {
        let pressure = |tenths| Value::Pressure(bar(tenths));
        let value = match measure.code {
            MeasureCode::Supply | MeasureCode::Inlet => pressure(100),
            MeasureCode::Interstage => pressure(40),
            MeasureCode::Outlet | MeasureCode::FactorySetPoint | MeasureCode::WantedSetPoint => {
                pressure(20)
            }
            MeasureCode::TurnsBackedOff => Value::Turns(Decimal::new(-3, 0)),
            MeasureCode::Flow => Value::DrawOff(DrawOff::Usual),
            MeasureCode::Air => Value::Air(Air::None),
            MeasureCode::Ventings => Value::Count(2),
            MeasureCode::StrainerFound => Value::Dirt(Dirt::Light),
            MeasureCode::InsideFound => Value::Inside(Inside::Sound),
        };
        body.measured.push(Measured {
            code: measure.code,
            value,
        });
    }
    match step.act {
        Act::TickAll => body.ticks = step.ticks.to_vec(),
        Act::Choose => body.branch = Some(Branch::Keep),
        Act::Calibrate => body.points = vec![point(0, 12), point(4, 20)],
        Act::Do | Act::TickNoticed | Act::Measure | Act::CheckFigures => {}
    }
    body
}
