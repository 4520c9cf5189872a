//! *Yearly clean*: isolate, make pressureless, clean strainer and control-loop filter, return to
//! service.

use super::super::codes::{Caution, ProcedureCode, StepCode as S};
use super::super::measure::MeasureCode;
use super::super::step::{Act, Procedure, Step};
use super::EDITION;
use super::shared::{
    AS_FOUND, AS_LEFT, CLOSED_UP, COCKS, ISOLATE, LEFT_FIGURES, LET_OFF, OPEN_DOWNSTREAM,
    OPEN_DOWNSTREAM_PARTLY, PREPARE, STRAINER, TELL, VENT_FIRST, VENT_SECOND, needed,
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
    PREPARE,
    AS_FOUND,
    ISOLATE,
    LET_OFF,
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
    OPEN_DOWNSTREAM_PARTLY,
    VENT_FIRST,
    VENT_SECOND,
    OPEN_DOWNSTREAM,
    AS_LEFT,
    LEFT_FIGURES,
    TELL,
];
