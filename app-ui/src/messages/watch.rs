//! What is suspected, raised and advised, in words.

use winze_core::assess::RaisedRule;
use winze_core::suspects::{Cause, Caution, Check};
use winze_core::watch::FlagQuantity;

/// What was raised.
#[must_use]
pub const fn rule(rule: RaisedRule) -> &'static str {
    match rule {
        RaisedRule::Drift => "slow change",
        RaisedRule::Jump => "sudden change",
        RaisedRule::Stuck => "never moves",
        RaisedRule::Outside => "outside its band",
        RaisedRule::Slip => "probably a slip of the pen",
    }
}

/// What it is about.
#[must_use]
pub const fn quantity(quantity: FlagQuantity) -> &'static str {
    match quantity {
        FlagQuantity::Inlet => "inlet pressure",
        FlagQuantity::FirstStage => "first stage",
        FlagQuantity::Outlet => "outlet pressure",
        FlagQuantity::InletGauge => "inlet gauge",
        FlagQuantity::InterstageGauge => "interstage gauge",
        FlagQuantity::OutletGauge => "outlet gauge",
    }
}

/// What may be behind it.
#[must_use]
pub const fn cause(cause: Cause) -> &'static str {
    match cause {
        Cause::SupplyLow => "the supply is low",
        Cause::SupplyHigh => "the supply is high",
        Cause::StrainerBlocking => "the strainer is blocking",
        Cause::FirstStagePassing => "the first stage is passing",
        Cause::FirstStageSticking => "the first stage is sticking",
        Cause::SecondStageRising => "the second stage is rising",
        Cause::SecondStageFalling => "the second stage is falling",
        Cause::SecondStageOpen => "the second stage stands open",
        Cause::SetPointMoved => "the set point was moved",
        Cause::InletGaugeWrong => "the inlet gauge is wrong",
        Cause::InterstageGaugeWrong => "the interstage gauge is wrong",
        Cause::OutletGaugeWrong => "the outlet gauge is wrong",
        Cause::GaugeStuck => "a gauge is stuck",
        Cause::EntrySlip => "the value was written down wrongly",
    }
}

/// A check that tells suspects apart.
#[must_use]
pub const fn check(check: Check) -> &'static str {
    match check {
        Check::ReadAgain => "read the gauge again",
        Check::TapGauge => "tap the gauge lightly and see whether the needle moves",
        Check::TestInletGauge => "compare the inlet gauge with a test gauge",
        Check::TestInterstageGauge => "compare the interstage gauge with a test gauge",
        Check::TestOutletGauge => "compare the outlet gauge with a test gauge",
        Check::CompareMain => "compare with a neighbouring station on the same main",
        Check::FlushStrainer => "flush the strainer and read again",
        Check::LookAtScrew => "look whether the adjusting screw and its lock nut were moved",
        Check::CloseDownstream => "stop the flow downstream and see whether the outlet holds",
        Check::VaryDrawOff => "vary the draw-off and see whether the outlet follows",
    }
}

/// What to be careful of in a check.
#[must_use]
pub const fn caution(caution: Caution) -> &'static str {
    match caution {
        Caution::StoredPressure => "stored pressure",
        Caution::MoveSlowly => "move valves slowly",
        Caution::TellConsumers => "tell consumers first",
        Caution::Discharge => "mind where the water goes",
    }
}
