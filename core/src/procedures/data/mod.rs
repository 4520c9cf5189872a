//! The procedures themselves, edition 1.
//!
//! A change of order, needs, measures, ticks or codes is a new edition: add it beside this one, so
//! that what was opened under the old one is still judged by it. Which steps there are and in which
//! order is common practice, no source; local codes and site permits come first.

mod clean;
mod inspection;
mod look_round;
mod recalibrate;
mod return_to_service;
mod set_up;
mod shared;

use super::codes::ProcedureCode;
use super::step::Procedure;

/// The edition in use.
pub const EDITION: u32 = 1;

/// The procedure of this code in the edition in use.
#[must_use]
pub const fn procedure(code: ProcedureCode) -> &'static Procedure {
    match code {
        ProcedureCode::SetUp => &set_up::SET_UP,
        ProcedureCode::Recalibrate => &recalibrate::RECALIBRATE,
        ProcedureCode::YearlyClean => &clean::YEARLY_CLEAN,
        ProcedureCode::InternalInspection => &inspection::INTERNAL_INSPECTION,
        ProcedureCode::ReturnToService => &return_to_service::RETURN_TO_SERVICE,
        ProcedureCode::WeeklyLookRound => &look_round::WEEKLY_LOOK_ROUND,
    }
}

/// The procedure of this code in an edition; `None` for one this program does not know.
#[must_use]
pub fn in_edition(code: ProcedureCode, edition: u32) -> Option<&'static Procedure> {
    (edition == EDITION).then_some(procedure(code))
}
