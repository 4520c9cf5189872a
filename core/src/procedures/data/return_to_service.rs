//! *Return to service*: a station that was only shut is brought back.

use super::super::codes::{Caution, ProcedureCode, StepCode as S, TickCode};
use super::super::step::{Act, Procedure, Step};
use super::EDITION;
use super::shared::{
    AS_LEFT, COCKS_OPEN, LEFT_FIGURES, OPEN_DOWNSTREAM, OPEN_DOWNSTREAM_PARTLY, PREPARE,
    SUPPLY_PRESENT, TELL, VENT_FIRST, VENT_SECOND,
};

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
    PREPARE,
    Step::new(S::ValvesClosed, Act::TickAll)
        .ticks(&[TickCode::UpstreamClosed, TickCode::DownstreamClosed])
        .after(&[S::Prepare])
        .careful(&[Caution::MoveSlowly, Caution::LockOff]),
    SUPPLY_PRESENT,
    COCKS_OPEN,
    Step::new(S::OpenUpstream, Act::Do)
        .after(&[S::SupplyPresent, S::CocksOpen])
        .careful(&[Caution::MoveSlowly, Caution::StoredPressure]),
    OPEN_DOWNSTREAM_PARTLY,
    VENT_FIRST,
    VENT_SECOND,
    OPEN_DOWNSTREAM,
    AS_LEFT,
    LEFT_FIGURES,
    TELL,
];
