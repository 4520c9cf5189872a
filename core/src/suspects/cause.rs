//! The closed list of causes the tool may name, with their stable codes.
//!
//! Codes are part of the command output and never change meaning. Wording for people is not here.

use std::fmt;
use std::str::FromStr;

/// What may be behind a condition of a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cause {
    /// The main delivers less pressure than usual.
    SupplyLow,
    /// The main delivers more pressure than usual.
    SupplyHigh,
    /// The main strainer before the inlet gauge is filling up.
    StrainerBlocking,
    /// The first stage lets more through than its ratio allows: the interstage pressure rises.
    FirstStagePassing,
    /// The first stage does not follow the inlet freely: the ratio jumps about.
    FirstStageSticking,
    /// The second stage's set point creeps upwards.
    SecondStageRising,
    /// The second stage's set point creeps downwards.
    SecondStageFalling,
    /// The second stage stands open: the outlet follows the interstage pressure.
    SecondStageOpen,
    /// Somebody turned the adjusting screw.
    SetPointMoved,
    /// The inlet gauge shows a wrong value.
    InletGaugeWrong,
    /// The interstage gauge shows a wrong value.
    InterstageGaugeWrong,
    /// The outlet gauge shows a wrong value.
    OutletGaugeWrong,
    /// A gauge's pointer no longer moves.
    GaugeStuck,
    /// The value written down is not the value that stood on the gauge.
    EntrySlip,
}

impl Cause {
    /// Every cause, in flow order.
    pub const ALL: [Self; 14] = [
        Self::SupplyLow,
        Self::SupplyHigh,
        Self::StrainerBlocking,
        Self::FirstStagePassing,
        Self::FirstStageSticking,
        Self::SecondStageRising,
        Self::SecondStageFalling,
        Self::SecondStageOpen,
        Self::SetPointMoved,
        Self::InletGaugeWrong,
        Self::InterstageGaugeWrong,
        Self::OutletGaugeWrong,
        Self::GaugeStuck,
        Self::EntrySlip,
    ];

    /// How many causes there are.
    pub const COUNT: usize = Self::ALL.len();

    /// The stable code, as the commands print it.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::SupplyLow => "supply-low",
            Self::SupplyHigh => "supply-high",
            Self::StrainerBlocking => "strainer-blocking",
            Self::FirstStagePassing => "first-stage-passing",
            Self::FirstStageSticking => "first-stage-sticking",
            Self::SecondStageRising => "second-stage-rising",
            Self::SecondStageFalling => "second-stage-falling",
            Self::SecondStageOpen => "second-stage-open",
            Self::SetPointMoved => "set-point-moved",
            Self::InletGaugeWrong => "inlet-gauge-wrong",
            Self::InterstageGaugeWrong => "interstage-gauge-wrong",
            Self::OutletGaugeWrong => "outlet-gauge-wrong",
            Self::GaugeStuck => "gauge-stuck",
            Self::EntrySlip => "entry-slip",
        }
    }

    /// Whether the cause works little by little rather than at once.
    #[must_use]
    pub const fn is_gradual(self) -> bool {
        matches!(
            self,
            Self::StrainerBlocking
                | Self::FirstStagePassing
                | Self::SecondStageRising
                | Self::SecondStageFalling
        )
    }

    /// The cause's place in [`Cause::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// The text is not the code of a cause.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("not the code of a cause: {0:?}")]
pub struct UnknownCause(pub String);

impl FromStr for Cause {
    type Err = UnknownCause;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::ALL
            .into_iter()
            .find(|cause| cause.code() == text)
            .ok_or_else(|| UnknownCause(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_read_back_and_indices_match_the_list() {
        for (index, cause) in Cause::ALL.into_iter().enumerate() {
            assert_eq!(cause.index(), index);
            assert_eq!(cause.code().parse(), Ok(cause));
        }
        assert_eq!(
            "gremlin".parse::<Cause>(),
            Err(UnknownCause("gremlin".to_owned()))
        );
    }
}
