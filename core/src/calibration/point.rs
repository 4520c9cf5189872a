//! What an operator enters after each turn.

use winze_sync_format::Decimal;

use crate::units::Typed;

/// How much water was drawn off below while a value was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DrawOff {
    /// As usual: best.
    Usual,
    /// Little: accepted and noted, the pressure falls somewhat at usual draw-off.
    Minimum,
    /// None: the gauge shows lock-up, not what the pilot holds; refused.
    None,
}

impl DrawOff {
    /// Every state, best first.
    pub const ALL: [Self; 3] = [Self::Usual, Self::Minimum, Self::None];

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Usual => "usual",
            Self::Minimum => "minimum",
            Self::None => "none",
        }
    }

    /// The state with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|state| state.code() == code)
    }

    /// The number kept in records. Never renumber.
    #[must_use]
    pub const fn number(self) -> u64 {
        match self {
            Self::Usual => 0,
            Self::Minimum => 1,
            Self::None => 2,
        }
    }

    /// The state kept in records under `number`.
    #[must_use]
    pub fn from_number(number: u64) -> Option<Self> {
        Self::ALL.into_iter().find(|state| state.number() == number)
    }
}

/// Whether the needle stood when a value was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Steadiness {
    /// Watched for a while: it stands.
    Standing,
    /// It still moves.
    Moving,
    /// Not said: a second reading at the same turns tells.
    #[default]
    NotNoted,
}

impl Steadiness {
    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Standing => "standing",
            Self::Moving => "moving",
            Self::NotNoted => "not-noted",
        }
    }

    /// The state with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::Standing, Self::Moving, Self::NotNoted]
            .into_iter()
            .find(|state| state.code() == code)
    }
}

/// One reading of the outlet gauge during calibration.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Point {
    /// Turns of the adjusting screw since the first point, screwing in being positive. Points at
    /// the same turns are further readings of the same stop.
    pub turns: Decimal,
    /// The outlet gauge as typed.
    pub pressure: Typed,
    /// How much water was drawn off.
    pub draw_off: DrawOff,
    /// Whether the needle stood.
    pub steadiness: Steadiness,
    /// The interstage gauge, where it was read too: shows a supply that is too low.
    pub interstage: Option<Typed>,
}

impl Point {
    /// A reading at usual draw-off with nothing further noted.
    #[must_use]
    pub const fn of(turns: Decimal, pressure: Typed) -> Self {
        Self {
            turns,
            pressure,
            draw_off: DrawOff::Usual,
            steadiness: Steadiness::NotNoted,
            interstage: None,
        }
    }
}
