//! *Internal inspection*: the stages are opened. The station is not in service afterwards: a set-up
//! follows.

use super::super::codes::{Caution, ProcedureCode, StepCode as S, TickCode};
use super::super::measure::MeasureCode;
use super::super::step::{Act, Procedure, Step};
use super::EDITION;
use super::shared::{AS_FOUND, CLOSED_UP, ISOLATE, LET_OFF, PREPARE, STRAINER, TOLD, needed};
use crate::watch::Restart;

pub(super) static INTERNAL_INSPECTION: Procedure = Procedure {
    code: ProcedureCode::InternalInspection,
    edition: EDITION,
    steps: STEPS,
    gives_service: false,
    followed_by: Some(ProcedureCode::SetUp),
    needs_reason: false,
    restart: None,
};

static STEPS: &[Step] = &[
    PREPARE,
    AS_FOUND,
    ISOLATE,
    LET_OFF,
    Step::new(S::StrainerClean, Act::TickAll)
        .ticks(STRAINER)
        .measures(&[needed(MeasureCode::StrainerFound)])
        .only_after(&[S::Pressureless])
        .not_required()
        .careful(&[Caution::StoredPressure, Caution::LockOff])
        .restarts(Restart::Inlet),
    Step::new(S::InspectFirst, Act::TickAll)
        .ticks(&[TickCode::SeatAndSeal, TickCode::MovingParts, TickCode::Body])
        .measures(&[needed(MeasureCode::InsideFound)])
        .only_after(&[S::Pressureless])
        .careful(&[Caution::StoredPressure, Caution::LockOff])
        .restarts(Restart::FirstStage),
    Step::new(S::InspectSecond, Act::TickAll)
        .ticks(&[
            TickCode::SeatAndSeal,
            TickCode::MovingParts,
            TickCode::Body,
            TickCode::Pilot,
        ])
        .measures(&[needed(MeasureCode::InsideFound)])
        .only_after(&[S::Pressureless])
        .careful(&[Caution::StoredPressure, Caution::LockOff])
        .restarts(Restart::SecondStage),
    Step::new(S::CloseUp, Act::TickAll)
        .ticks(CLOSED_UP)
        .after(&[S::InspectFirst, S::InspectSecond])
        .careful(&[Caution::LockOff]),
    Step::new(S::Told, Act::TickAll)
        .ticks(TOLD)
        .after(&[S::CloseUp])
        .not_required()
        .careful(&[Caution::TellConsumers]),
];
