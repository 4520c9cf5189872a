//! *Recalibrate*: the second stage of a station in service is set anew.

use super::super::codes::{Caution, ProcedureCode, StepCode as S, TickCode};
use super::super::measure::MeasureCode;
use super::super::step::{Act, Procedure, Step};
use super::EDITION;
use super::shared::{AS_FOUND, GAUGES, LEFT_FIGURES, PREPARE, TELL, VENT_SECOND, VENTING, needed};
use crate::watch::Restart;

pub(super) static RECALIBRATE: Procedure = Procedure {
    code: ProcedureCode::Recalibrate,
    edition: EDITION,
    steps: STEPS,
    gives_service: true,
    followed_by: None,
    needs_reason: true,
    restart: Some(Restart::SecondStage),
};

static STEPS: &[Step] = &[
    PREPARE,
    AS_FOUND,
    Step::new(S::WantedSetPoint, Act::Measure)
        .measures(&[needed(MeasureCode::WantedSetPoint)])
        .after(&[S::Prepare]),
    Step::new(S::Compatibility, Act::CheckFigures).after(&[S::AsFound, S::WantedSetPoint]),
    Step::new(S::Flow, Act::Measure)
        .measures(&[needed(MeasureCode::Flow)])
        .after(&[S::Compatibility])
        .careful(&[Caution::Discharge]),
    Step::new(S::LockNutLoose, Act::Do)
        .after(&[S::AsFound, S::Compatibility])
        .careful(&[Caution::DownstreamPressure]),
    Step::new(S::Calibrate, Act::Calibrate)
        .only_after(&[S::Flow])
        .after(&[S::AsFound, S::WantedSetPoint, S::LockNutLoose])
        .careful(&[Caution::DownstreamPressure, Caution::TellConsumers])
        .restarts(Restart::SecondStage),
    Step::new(S::LockNutAndCap, Act::TickAll)
        .ticks(&[TickCode::LockNut, TickCode::Cap])
        .after(&[S::Calibrate]),
    Step::new(S::VentFirst, Act::Measure)
        .measures(VENTING)
        .after(&[S::LockNutAndCap])
        .careful(&[Caution::StoredPressure, Caution::Discharge]),
    VENT_SECOND,
    Step::new(S::AsLeft, Act::Measure)
        .measures(GAUGES)
        .after(&[S::LockNutAndCap, S::VentSecond]),
    LEFT_FIGURES,
    TELL,
];
