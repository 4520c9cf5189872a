//! *Set-up*: a station is brought into service, new or after intrusive work.

use super::super::codes::{Branch, Caution, ProcedureCode, StepCode as S, TickCode};
use super::super::measure::MeasureCode;
use super::super::step::{Act, Procedure, Step};
use super::EDITION;
use super::shared::{
    COCKS_OPEN, GAUGES, LEFT_FIGURES, OPEN_DOWNSTREAM_PARTLY, PREPARE, STRAINER, SUPPLY_PRESENT,
    TELL, VENT_SECOND, VENTING, needed, wished,
};
use crate::watch::Restart;

pub(super) static SET_UP: Procedure = Procedure {
    code: ProcedureCode::SetUp,
    edition: EDITION,
    steps: STEPS,
    gives_service: true,
    followed_by: None,
    needs_reason: true,
    restart: Some(Restart::Station),
};

static STEPS: &[Step] = &[
    PREPARE,
    Step::new(S::Flush, Act::Do)
        .after(&[S::Prepare])
        .careful(&[Caution::Discharge, Caution::MoveSlowly]),
    Step::new(S::StrainerClean, Act::TickAll)
        .ticks(STRAINER)
        .measures(&[wished(MeasureCode::StrainerFound)])
        .after(&[S::Flush])
        .careful(&[Caution::StoredPressure, Caution::LockOff])
        .restarts(Restart::Inlet),
    Step::new(S::InstallationFirm, Act::TickAll)
        .ticks(&[
            TickCode::FlowArrow,
            TickCode::Supports,
            TickCode::Bolts,
            TickCode::SmallPipes,
            TickCode::Gauges,
        ])
        .after(&[S::Prepare]),
    Step::new(S::ValvesClosed, Act::TickAll)
        .ticks(&[TickCode::UpstreamClosed, TickCode::DownstreamClosed])
        .after(&[S::StrainerClean, S::InstallationFirm])
        .careful(&[Caution::MoveSlowly]),
    SUPPLY_PRESENT,
    COCKS_OPEN,
    Step::new(S::FactorySetPoint, Act::Measure)
        .measures(&[
            needed(MeasureCode::FactorySetPoint),
            needed(MeasureCode::WantedSetPoint),
        ])
        .after(&[S::Prepare]),
    Step::new(S::Compatibility, Act::CheckFigures).after(&[S::SupplyPresent, S::FactorySetPoint]),
    Step::new(S::Branch, Act::Choose)
        .after(&[S::FactorySetPoint, S::Compatibility])
        .never_passed(),
    Step::new(S::ScrewBackedOff, Act::Measure)
        .on(Branch::Recalibrate)
        .measures(&[wished(MeasureCode::TurnsBackedOff)])
        .only_after(&[S::Branch])
        .careful(&[Caution::DownstreamPressure]),
    Step::new(S::OpenUpstream, Act::Do)
        .only_after(&[S::Branch])
        .after(&[
            S::ValvesClosed,
            S::CocksOpen,
            S::Compatibility,
            S::ScrewBackedOff,
        ])
        .careful(&[Caution::MoveSlowly, Caution::StoredPressure]),
    OPEN_DOWNSTREAM_PARTLY,
    Step::new(S::Flow, Act::Measure)
        .on(Branch::Recalibrate)
        .measures(&[needed(MeasureCode::Flow)])
        .only_after(&[S::Branch])
        .after(&[S::OpenDownstreamPartly])
        .careful(&[Caution::Discharge]),
    Step::new(S::Calibrate, Act::Calibrate)
        .on(Branch::Recalibrate)
        .only_after(&[S::Branch, S::Flow])
        .after(&[S::ScrewBackedOff, S::OpenDownstreamPartly])
        .careful(&[Caution::DownstreamPressure, Caution::TellConsumers])
        .restarts(Restart::SecondStage),
    Step::new(S::LockNutAndCap, Act::TickAll)
        .ticks(&[TickCode::LockNut, TickCode::Cap])
        .only_after(&[S::Branch])
        .after(&[S::OpenDownstreamPartly, S::Calibrate]),
    Step::new(S::VentFirst, Act::Measure)
        .measures(VENTING)
        .after(&[S::OpenDownstreamPartly, S::LockNutAndCap])
        .careful(&[Caution::StoredPressure, Caution::Discharge]),
    VENT_SECOND,
    Step::new(S::OpenDownstream, Act::Do)
        .after(&[S::LockNutAndCap, S::VentSecond])
        .careful(&[Caution::MoveSlowly, Caution::TellConsumers]),
    Step::new(S::AsLeft, Act::Measure).measures(GAUGES).after(&[
        S::LockNutAndCap,
        S::VentSecond,
        S::OpenDownstream,
    ]),
    LEFT_FIGURES,
    TELL,
];
