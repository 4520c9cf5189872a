//! *Return to service*: a station that was only shut is brought back.

use super::super::codes::{Caution, ProcedureCode, StepCode as S, TickCode};
use super::super::measure::MeasureCode;
use super::super::step::{Act, Procedure, Step};
use super::EDITION;
use super::shared::{COCKS, GAUGES, PREPARATIONS, TOLD, VENTING, needed};

pub(super) static RETURN_TO_SERVICE: Procedure = Procedure {
    code: ProcedureCode::ReturnToService,
    edition: EDITION,
    steps: STEPS,
    gives_service: true,
    followed_by: None,
    needs_reason: true,
    restart: None,
};

static STEPS: &[Step] = &[
    Step::new(S::Prepare, Act::TickAll)
        .ticks(PREPARATIONS)
        .careful(&[Caution::ConfinedSpace, Caution::TellConsumers]),
    Step::new(S::ValvesClosed, Act::TickAll)
        .ticks(&[TickCode::UpstreamClosed, TickCode::DownstreamClosed])
        .after(&[S::Prepare])
        .careful(&[Caution::MoveSlowly, Caution::LockOff]),
    Step::new(S::SupplyPresent, Act::Measure)
        .measures(&[needed(MeasureCode::Supply)])
        .after(&[S::ValvesClosed])
        .careful(&[Caution::StoredPressure]),
    Step::new(S::CocksOpen, Act::TickAll)
        .ticks(COCKS)
        .after(&[S::ValvesClosed]),
    Step::new(S::OpenUpstream, Act::Do)
        .after(&[S::SupplyPresent, S::CocksOpen])
        .careful(&[Caution::MoveSlowly, Caution::StoredPressure]),
    Step::new(S::OpenDownstreamPartly, Act::Do)
        .after(&[S::OpenUpstream])
        .careful(&[Caution::MoveSlowly, Caution::TellConsumers]),
    Step::new(S::VentFirst, Act::Measure)
        .measures(VENTING)
        .after(&[S::OpenDownstreamPartly])
        .careful(&[Caution::StoredPressure, Caution::Discharge]),
    Step::new(S::VentSecond, Act::Measure)
        .measures(VENTING)
        .after(&[S::VentFirst])
        .careful(&[Caution::StoredPressure, Caution::Discharge]),
    Step::new(S::OpenDownstream, Act::Do)
        .after(&[S::VentSecond])
        .careful(&[Caution::MoveSlowly, Caution::TellConsumers]),
    Step::new(S::AsLeft, Act::Measure)
        .measures(GAUGES)
        .after(&[S::VentSecond, S::OpenDownstream]),
    Step::new(S::LeftFigures, Act::CheckFigures).only_after(&[S::AsLeft]),
    Step::new(S::Told, Act::TickAll)
        .ticks(TOLD)
        .after(&[S::LeftFigures])
        .not_required()
        .careful(&[Caution::TellConsumers]),
];
