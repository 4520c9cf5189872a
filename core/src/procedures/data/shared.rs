//! Lists and steps that several procedures have in common.

use super::super::codes::{Caution, StepCode as S, TickCode};
use super::super::measure::MeasureCode;
use super::super::step::{Act, Measure, Step};

/// A measure without which the step is not done.
pub(super) const fn needed(code: MeasureCode) -> Measure {
    Measure {
        code,
        is_needed: true,
    }
}

/// A measure that may be left out.
pub(super) const fn wished(code: MeasureCode) -> Measure {
    Measure {
        code,
        is_needed: false,
    }
}

/// The three gauges and the draw-off.
pub(super) const GAUGES: &[Measure] = &[
    needed(MeasureCode::Inlet),
    needed(MeasureCode::Interstage),
    needed(MeasureCode::Outlet),
    needed(MeasureCode::Flow),
];

/// Venting a stage.
pub(super) const VENTING: &[Measure] = &[needed(MeasureCode::Air), wished(MeasureCode::Ventings)];

/// Before anything is touched.
pub(super) const PREPARATIONS: &[TickCode] = &[
    TickCode::ConsumersTold,
    TickCode::PlaceLookedOver,
    TickCode::WorkAgreed,
];

/// What a strainer cleaning comprises.
pub(super) const STRAINER: &[TickCode] = &[TickCode::Strainer, TickCode::LoopFilter];

/// What an isolation comprises.
pub(super) const ISOLATION: &[TickCode] = &[
    TickCode::UpstreamClosed,
    TickCode::DownstreamClosed,
    TickCode::LockedOff,
];

/// What making pressureless comprises.
pub(super) const PRESSURELESS: &[TickCode] = &[TickCode::Drained, TickCode::GaugesAtZero];

/// What closing up comprises.
pub(super) const CLOSED_UP: &[TickCode] = &[
    TickCode::CoversClosed,
    TickCode::ToolsCounted,
    TickCode::LocksOff,
];

/// What lets the control loop and the gauges feel the pressure.
pub(super) const COCKS: &[TickCode] = &[TickCode::TrimCocks, TickCode::GaugeCocks];

/// What is seen to at the end.
pub(super) const TOLD: &[TickCode] = &[TickCode::ConsumersTold, TickCode::PlaceLeft];

// Steps that are the same act wherever they come, with the same needs and cautions.

pub(super) const PREPARE: Step = Step::new(S::Prepare, Act::TickAll)
    .ticks(PREPARATIONS)
    .careful(&[Caution::ConfinedSpace, Caution::TellConsumers]);
pub(super) const AS_FOUND: Step = Step::new(S::AsFound, Act::Measure)
    .measures(GAUGES)
    .after(&[S::Prepare]);
pub(super) const ISOLATE: Step = Step::new(S::Isolate, Act::TickAll)
    .ticks(ISOLATION)
    .after(&[S::Prepare, S::AsFound])
    .careful(&[
        Caution::LockOff,
        Caution::MoveSlowly,
        Caution::TellConsumers,
    ]);
pub(super) const LET_OFF: Step = Step::new(S::Pressureless, Act::TickAll)
    .ticks(PRESSURELESS)
    .only_after(&[S::Isolate])
    .careful(&[Caution::StoredPressure, Caution::Discharge]);
pub(super) const SUPPLY_PRESENT: Step = Step::new(S::SupplyPresent, Act::Measure)
    .measures(&[needed(MeasureCode::Supply)])
    .after(&[S::ValvesClosed])
    .careful(&[Caution::StoredPressure]);
pub(super) const COCKS_OPEN: Step = Step::new(S::CocksOpen, Act::TickAll)
    .ticks(COCKS)
    .after(&[S::ValvesClosed]);
pub(super) const OPEN_DOWNSTREAM_PARTLY: Step = Step::new(S::OpenDownstreamPartly, Act::Do)
    .after(&[S::OpenUpstream])
    .careful(&[Caution::MoveSlowly, Caution::TellConsumers]);
pub(super) const VENT_FIRST: Step = Step::new(S::VentFirst, Act::Measure)
    .measures(VENTING)
    .after(&[S::OpenDownstreamPartly])
    .careful(&[Caution::StoredPressure, Caution::Discharge]);
pub(super) const VENT_SECOND: Step = Step::new(S::VentSecond, Act::Measure)
    .measures(VENTING)
    .after(&[S::VentFirst])
    .careful(&[Caution::StoredPressure, Caution::Discharge]);
pub(super) const OPEN_DOWNSTREAM: Step = Step::new(S::OpenDownstream, Act::Do)
    .after(&[S::VentSecond])
    .careful(&[Caution::MoveSlowly, Caution::TellConsumers]);
pub(super) const AS_LEFT: Step = Step::new(S::AsLeft, Act::Measure)
    .measures(GAUGES)
    .after(&[S::VentSecond, S::OpenDownstream]);
pub(super) const LEFT_FIGURES: Step =
    Step::new(S::LeftFigures, Act::CheckFigures).only_after(&[S::AsLeft]);
pub(super) const TELL: Step = Step::new(S::Told, Act::TickAll)
    .ticks(TOLD)
    .after(&[S::LeftFigures])
    .not_required()
    .careful(&[Caution::TellConsumers]);
