//! *Weekly look-round*: look at the station and read its gauges. On a walk-round the readings alone
//! do the same; this is for a station looked at by itself.

use super::super::codes::{Caution, ProcedureCode, StepCode as S, TickCode};
use super::super::step::{Act, Procedure, Step};
use super::EDITION;
use super::shared::GAUGES;

pub(super) static WEEKLY_LOOK_ROUND: Procedure = Procedure {
    code: ProcedureCode::WeeklyLookRound,
    edition: EDITION,
    steps: STEPS,
    gives_service: false,
    followed_by: None,
    needs_reason: false,
    restart: None,
};

static STEPS: &[Step] = &[
    Step::new(S::Look, Act::TickNoticed)
        .ticks(&[
            TickCode::Leak,
            TickCode::Damage,
            TickCode::Noise,
            TickCode::Flooding,
            TickCode::Access,
        ])
        .careful(&[Caution::ConfinedSpace]),
    Step::new(S::Readings, Act::Measure)
        .measures(GAUGES)
        .after(&[S::Look]),
];
