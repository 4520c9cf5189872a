//! *Yearly clean*: isolate, make pressureless, clean strainer and control-loop filter, return to
//! service.

use super::super::codes::{Caution, ProcedureCode, StepCode as S};
use super::super::measure::MeasureCode;
use super::super::step::{Act, Procedure, Step};
use super::EDITION;
use super::shared::{
    CLOSED_UP, COCKS, GAUGES, ISOLATION, PREPARATIONS, PRESSURELESS, STRAINER, TOLD, VENTING,
    needed,
};
use crate::watch::Restart;

pub(super) static YEARLY_CLEAN: Procedure = Procedure {
    code: ProcedureCode::YearlyClean,
    edition: EDITION,
    steps: STEPS,
    gives_service: true,
    followed_by: None,
    needs_reason: false,
    restart: None,
};

static STEPS: &[Step] = &[
    Step::new(S::Prepare, Act::TickAll)
        .ticks(PREPARATIONS)
        .careful(&[Caution::ConfinedSpace, Caution::TellConsumers]),
    Step::new(S::AsFound, Act::Measure)
        .measures(GAUGES)
        .after(&[S::Prepare]),
    Step::new(S::Isolate, Act::TickAll)
        .ticks(ISOLATION)
        .after(&[S::Prepare, S::AsFound])
        .careful(&[
            Caution::LockOff,
            Caution::MoveSlowly,
            Caution::TellConsumers,
        ]),
    Step::new(S::Pressureless, Act::TickAll)
        .ticks(PRESSURELESS)
        .only_after(&[S::Isolate])
        .careful(&[Caution::StoredPressure, Caution::Discharge]),
    Step::new(S::StrainerClean, Act::TickAll)
        .ticks(STRAINER)
        .measures(&[needed(MeasureCode::StrainerFound)])
        .only_after(&[S::Pressureless])
        .careful(&[Caution::StoredPressure, Caution::LockOff])
        .restarts(Restart::Inlet),
    Step::new(S::CloseUp, Act::TickAll)
        .ticks(CLOSED_UP)
        .after(&[S::StrainerClean])
        .careful(&[Caution::LockOff]),
    Step::new(S::CocksOpen, Act::TickAll)
        .ticks(COCKS)
        .after(&[S::CloseUp]),
    Step::new(S::OpenUpstream, Act::Do)
        .after(&[S::CloseUp, S::CocksOpen])
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
