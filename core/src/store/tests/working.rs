//! Records of work for tests: a recalibration that was given up half way, a job that was done.

use winze_sync_format::{Decimal, RecordRef};

use crate::calibration::{DrawOff, Point};
use crate::procedures::{Measured, OpenReason, ProcedureCode, Reason, ReasonCode, StepCode};
use crate::record::{
    Body, JobClosed, JobEnd, JobRaised, ProcedureClosed, ProcedureEnd, ProcedureOpened,
    StepOutcome, StepRecorded,
};
use crate::station::StationCode;
use crate::units::{Typed, Unit};
use crate::upkeep::{JobCause, JobWork};

/// Writes a body with its references and says under which name.
pub type Write<'a> = dyn FnMut(Body, Vec<RecordRef>) -> RecordRef + 'a;

/// Turns the screw and gives up: the screw stays turned, so that the second stage starts anew.
pub fn recalibrate(station: &StationCode, write: &mut Write<'_>) {
    let opened = write(
        Body::ProcedureOpened(Box::new(ProcedureOpened {
            procedure: ProcedureCode::Recalibrate,
            edition: crate::procedures::EDITION,
            station: station.clone(),
            reason: Some(OpenReason::OutletOff),
            note: String::new(),
            utc_offset_minutes: 0,
        })),
        vec![],
    );
    let why = Some(Reason::new(ReasonCode::OrderOfPlace, "short of time"));
    let flow = StepRecorded {
        measured: vec![Measured::flow(DrawOff::Usual)],
        out_of_order: why.clone(),
        ..StepRecorded::done(opened, station.clone(), StepCode::Flow)
    };
    let flow = write(Body::StepRecorded(Box::new(flow)), vec![]);
    let point = |turns: i64, hundredths: i64| {
        let turns = Decimal {
            mantissa: turns,
            exponent: 0,
        };
        Point::of(turns, Typed::of(hundredths, -2, Unit::Bar))
    };
    let turned = StepRecorded {
        outcome: StepOutcome::GoingOn,
        points: vec![point(0, 200), point(1, 220)],
        out_of_order: why,
        ..StepRecorded::done(opened, station.clone(), StepCode::Calibrate)
    };
    let turned = write(Body::StepRecorded(Box::new(turned)), vec![flow]);
    let closed = ProcedureClosed {
        procedure: opened,
        station: station.clone(),
        end: ProcedureEnd::Abandoned,
        done_by: "A. Operator".into(),
        seen_by: String::new(),
        note: "called away".into(),
        utc_offset_minutes: 0,
    };
    write(Body::ProcedureClosed(Box::new(closed)), vec![flow, turned]);
}

/// Raises a job and closes it with an as-left reading.
pub fn job(station: &StationCode, work: JobWork, as_left: RecordRef, write: &mut Write<'_>) {
    let raised = write(
        Body::JobRaised(Box::new(JobRaised {
            station: station.clone(),
            work,
            cause: JobCause::Person,
            evidence: vec![],
            note: String::new(),
            utc_offset_minutes: 0,
        })),
        vec![],
    );
    let closed = JobClosed {
        job: raised,
        station: station.clone(),
        end: JobEnd::Done { as_left },
        parts: vec![],
        note: String::new(),
        utc_offset_minutes: 0,
    };
    write(Body::JobClosed(Box::new(closed)), vec![raised]);
}
