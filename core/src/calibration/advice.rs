//! What the assistant answers: codes and figures, never text.

use super::HandTurns;
use crate::units::Pressure;

/// A value with its 95 % interval. Always finite, `low <= middle <= high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// The middle: half the probability on either side.
    pub middle: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
}

impl Span {
    /// Whether a value lies in the interval.
    #[must_use]
    pub fn contains(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

/// What the figure for bar per turn rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RateBasis {
    /// Only a guess from the set point: no spring range is known and nothing was turned yet.
    SetPoint,
    /// Only the spring's range over ten turns, as usual springs have it; nothing was turned yet.
    SpringRange,
    /// What was read at this pilot.
    Points,
}

impl RateBasis {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::SetPoint => "set-point",
            Self::SpringRange => "spring-range",
            Self::Points => "points",
        }
    }
}

/// Why another reading at the same turns is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Again {
    /// One reading does not show whether the needle stands.
    IsItStanding,
    /// The reading is far from what was foreseen.
    Unlikely,
}

impl Again {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::IsItStanding => "is-it-standing",
            Self::Unlikely => "unlikely",
        }
    }
}

/// Which way the needle still moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Drift {
    /// Upwards.
    Rising,
    /// Downwards.
    Falling,
}

impl Drift {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Rising => "rising",
            Self::Falling => "falling",
        }
    }
}

/// Why no turn is advised.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Refusal {
    /// Nothing flows: the gauge shows lock-up and says nothing of the pilot.
    NoDrawOff,
    /// The set point is zero or negative, or the spring range is reversed.
    NotSensible,
    /// The set point lies off the gauge's scale.
    OffScale,
    /// The set point lies above what the spring can hold.
    AboveSpringRange,
    /// The set point lies below what the spring can hold.
    BelowSpringRange,
    /// Screwed in for some turns without any answer of the pressure.
    NoAnswer,
    /// The pressure fell while screwing in.
    FellWhileScrewedIn,
    /// The pressure rose while screwing out.
    RoseWhileScrewedOut,
    /// The interstage pressure is too low for the set point.
    SupplyTooLow,
    /// This gauge cannot show whether the set point is reached without passing it.
    GaugeTooCoarse,
}

impl Refusal {
    /// Every reason.
    pub const ALL: [Self; 10] = [
        Self::NoDrawOff,
        Self::NotSensible,
        Self::OffScale,
        Self::AboveSpringRange,
        Self::BelowSpringRange,
        Self::NoAnswer,
        Self::FellWhileScrewedIn,
        Self::RoseWhileScrewedOut,
        Self::SupplyTooLow,
        Self::GaugeTooCoarse,
    ];

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::NoDrawOff => "no-draw-off",
            Self::NotSensible => "not-sensible",
            Self::OffScale => "off-scale",
            Self::AboveSpringRange => "above-spring-range",
            Self::BelowSpringRange => "below-spring-range",
            Self::NoAnswer => "no-answer",
            Self::FellWhileScrewedIn => "fell-while-screwed-in",
            Self::RoseWhileScrewedOut => "rose-while-screwed-out",
            Self::SupplyTooLow => "supply-too-low",
            Self::GaugeTooCoarse => "gauge-too-coarse",
        }
    }
}

/// What to do next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Advice {
    /// Nothing was entered yet: read the gauge before turning.
    ReadFirst,
    /// Read once more at the same turns.
    ReadAgain(Again),
    /// Wait: the needle still moves.
    Wait(Drift),
    /// Screw in.
    TurnIn {
        /// How far.
        turns: HandTurns,
        /// Where the gauge is expected then, pascals.
        foreseen_pa: Span,
        /// Probability that this passes the set point's band.
        overshoot: f64,
        /// The last steps: small ones, close below the set point.
        is_close: bool,
    },
    /// The set point was passed: screw out beyond the backlash, then come up again.
    BackOff {
        /// How far out; a positive number.
        turns: HandTurns,
        /// Where the gauge is expected then, pascals.
        foreseen_pa: Span,
    },
    /// The set point is reached.
    Reached {
        /// Probability that the needle stands within the tolerance, read without error.
        probability: f64,
    },
    /// No turn can be advised.
    Stop(Refusal),
}

impl Advice {
    /// The stable code used in files and screens.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::ReadFirst => "read-first",
            Self::ReadAgain(_) => "read-again",
            Self::Wait(_) => "wait",
            Self::TurnIn { .. } => "turn-in",
            Self::BackOff { .. } => "back-off",
            Self::Reached { .. } => "reached",
            Self::Stop(_) => "stop",
        }
    }
}

/// Something worth knowing beside the advice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Note {
    /// Read at minimum draw-off: not ideal. At usual draw-off the pressure is expected to be
    /// lower by about this much, pascals.
    MinimumDrawOff {
        /// Expected fall; measured where both states were read.
        fall_pa: Span,
    },
    /// Readings without draw-off were left out.
    LeftOutNoDrawOff {
        /// How many.
        count: usize,
    },
    /// What was read earlier does not fit what was read since (draw-off or supply changed, turns
    /// miscounted): left out.
    EarlierLeftOut {
        /// How many stops.
        stops: usize,
    },
    /// A stop before the latest was left while the needle still moved; it counts for less.
    LeftWhileMoving,
    /// Within the tolerance, but the last movement was outwards: the backlash is still behind it.
    LastMovedOut,
    /// The first turns take up slack before the pressure answers.
    SlackAhead {
        /// Turns.
        turns: Span,
    },
    /// The pressure lies above the spring's range.
    AboveSpringRange {
        /// Highest pressure of the spring.
        high: Pressure,
    },
    /// The reading lies off the gauge's scale.
    OffScale,
}

impl Note {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::MinimumDrawOff { .. } => "minimum-draw-off",
            Self::LeftOutNoDrawOff { .. } => "left-out-no-draw-off",
            Self::EarlierLeftOut { .. } => "earlier-left-out",
            Self::LeftWhileMoving => "left-while-moving",
            Self::LastMovedOut => "last-moved-out",
            Self::SlackAhead { .. } => "slack-ahead",
            Self::AboveSpringRange { .. } => "above-spring-range",
            Self::OffScale => "off-scale",
        }
    }
}
