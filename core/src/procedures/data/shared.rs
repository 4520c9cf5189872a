//! Lists that several procedures have in common.

use super::super::codes::TickCode;
use super::super::measure::MeasureCode;
use super::super::step::Measure;

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
