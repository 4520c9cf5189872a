//! What is suspected, raised and advised, in words.

use winze_core::assess::{BaselineWhy, RaisedRule, Work};
use winze_core::suspects::{Cause, Caution, Check};
use winze_core::watch::{Begun, FlagQuantity};

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

/// What to be careful of, as it stands beside the act.
#[must_use]
pub const fn caution_in_full(caution: Caution) -> &'static str {
    match caution {
        Caution::StoredPressure => "Stored pressure: a fitting can let go with force.",
        Caution::MoveSlowly => "Move valves slowly: water hammer.",
        Caution::TellConsumers => "Tell consumers before their water changes.",
        Caution::Discharge => "Mind where the water goes.",
    }
}

/// What stands above cautions: the tool informs, others decide.
pub const CAUTIONS_DEFER: &str = "Only as site rules and permits allow:";

/// A check as it is put at the station: what to do, what to look for, and the two answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked {
    /// What to do.
    pub act: &'static str,
    /// What to look for, answered with yes or no.
    pub question: &'static str,
    /// On the key for yes.
    pub yes: &'static str,
    /// On the key for no.
    pub no: &'static str,
    /// What is said once it was answered with yes.
    pub was_yes: &'static str,
    /// What is said once it was answered with no.
    pub was_no: &'static str,
}

/// Puts a check.
#[must_use]
pub const fn asked(check: Check) -> Asked {
    let (act, question, yes, no, was_yes, was_no) = match check {
        Check::ReadAgain => (
            "Read the gauge again, square to the glass.",
            "Does it read the same?",
            "The same",
            "Otherwise",
            "Read again: the same.",
            "Read again: otherwise.",
        ),
        Check::TapGauge => (
            "Tap the gauge lightly with a finger.",
            "Does the needle jump?",
            "It jumps",
            "It stays",
            "Tapped: the needle jumps.",
            "Tapped: the needle stays.",
        ),
        Check::TestInletGauge => (
            "Compare the inlet gauge with a test gauge.",
            "Do they differ?",
            "They differ",
            "They agree",
            "Test gauge: the inlet gauge differs.",
            "Test gauge: the inlet gauge agrees.",
        ),
        Check::TestInterstageGauge => (
            "Compare the interstage gauge with a test gauge.",
            "Do they differ?",
            "They differ",
            "They agree",
            "Test gauge: the interstage gauge differs.",
            "Test gauge: the interstage gauge agrees.",
        ),
        Check::TestOutletGauge => (
            "Compare the outlet gauge with a test gauge.",
            "Do they differ?",
            "They differ",
            "They agree",
            "Test gauge: the outlet gauge differs.",
            "Test gauge: the outlet gauge agrees.",
        ),
        Check::CompareMain => (
            "Ask for the pressure in the main, or read the next station on it.",
            "Is it unusual there too?",
            "There too",
            "Usual there",
            "Main: unusual there too.",
            "Main: as usual there.",
        ),
        Check::FlushStrainer => (
            "Flush the strainer, then read the inlet again.",
            "Did dirt come, or the inlet recover?",
            "It did",
            "Neither",
            "Strainer flushed: dirt came, or the inlet recovered.",
            "Strainer flushed: nothing changed.",
        ),
        Check::LookAtScrew => (
            "Look at the adjusting screw, its lock nut and its cap.",
            "Were they disturbed?",
            "Disturbed",
            "Untouched",
            "Adjusting screw: disturbed.",
            "Adjusting screw: untouched.",
        ),
        Check::CloseDownstream => (
            "Stop the flow downstream, slowly, and watch the outlet.",
            "Does it climb above lock-up?",
            "It climbs",
            "It holds",
            "Flow stopped: the outlet climbs.",
            "Flow stopped: the outlet holds.",
        ),
        Check::VaryDrawOff => (
            "Change the draw-off slowly and watch the interstage.",
            "Does it follow in jerks?",
            "In jerks",
            "Smoothly",
            "Draw-off varied: the interstage follows in jerks.",
            "Draw-off varied: the interstage follows smoothly.",
        ),
    };
    Asked {
        act,
        question,
        yes,
        no,
        was_yes,
        was_no,
    }
}

/// Why a baseline begins anew, beside its mark.
#[must_use]
pub const fn baseline(why: BaselineWhy) -> &'static str {
    match why {
        BaselineWhy::Watch(Begun::FirstSeen) => "first reading",
        BaselineWhy::Watch(Begun::Changed(_)) => "new definition",
        BaselineWhy::Watch(Begun::BecameUsual) => "now the usual",
        BaselineWhy::Work { work, .. } => match work {
            Work::SetUp => "set up",
            Work::Recalibrated => "recalibrated",
            Work::GaugeChanged => "gauge changed",
            Work::Overhauled => "overhauled",
            Work::Cleaned => "cleaned",
            Work::Inspected => "inspected",
            Work::Other => "worked on",
        },
    }
}

/// A probability in words; the figure stands beside it.
#[must_use]
pub fn likelihood(probability: f64) -> &'static str {
    match probability {
        p if p >= 0.90 => "almost certain",
        p if p >= 0.65 => "probable",
        p if p >= 0.35 => "may well be",
        p if p >= 0.10 => "possible",
        _ => "unlikely",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_check_can_be_answered_and_told_apart_afterwards() {
        for check in Check::ALL {
            let asked = asked(check);
            assert!(asked.question.ends_with('?'), "{asked:?}");
            assert_ne!(asked.yes, asked.no);
            assert_ne!(asked.was_yes, asked.was_no);
        }
    }

    #[test]
    fn words_for_probabilities_go_one_way() {
        let said: Vec<_> = [0.95, 0.7, 0.5, 0.2, 0.02].map(likelihood).to_vec();
        let wanted = [
            "almost certain",
            "probable",
            "may well be",
            "possible",
            "unlikely",
        ];
        assert_eq!(said, wanted);
    }
}
