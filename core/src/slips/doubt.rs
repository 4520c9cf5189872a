//! What a doubt is: its kinds, its answer, and the past it is weighed against.

use crate::station::Quantity;
use crate::verdict::Entry;

/// An earlier visit to the same station, on the same gauges.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PastReading {
    /// When it was taken, milliseconds since 1970.
    pub taken_at_ms: i64,
    /// What was read, corrections applied.
    pub entry: Entry,
}

/// What a doubt is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DoubtKind {
    /// Above the end of the scale.
    AboveSpan,
    /// Above the share of the scale a gauge should carry, and not usual here.
    AboveWorkingRange,
    /// Below the lower end of the scale, such as a stray minus.
    Negative,
    /// Higher than the gauge before it.
    Order,
    /// The number fits in another unit.
    UnitSlip,
    /// The number fits with its decimal point elsewhere.
    DecimalSlip,
    /// The number fits with two neighbouring digits swapped.
    DigitsSwapped,
    /// The number fits with one of its digits taken out: a key pressed twice, or brushed.
    DigitAdded,
    /// The number fits with one more digit.
    DigitMissing,
    /// The number fits with one digit different.
    DigitWrong,
    /// The values fit on each other's gauges.
    GaugesSwapped,
    /// The same value as on so many visits that chance does not explain it.
    SameAsEver,
    /// Far from this station's own past, and no slip explains it.
    Jump,
}

impl DoubtKind {
    /// Every kind.
    pub const ALL: [Self; 13] = [
        Self::AboveSpan,
        Self::AboveWorkingRange,
        Self::Negative,
        Self::Order,
        Self::UnitSlip,
        Self::DecimalSlip,
        Self::DigitsSwapped,
        Self::DigitAdded,
        Self::DigitMissing,
        Self::DigitWrong,
        Self::GaugesSwapped,
        Self::SameAsEver,
        Self::Jump,
    ];

    /// The stable code used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::AboveSpan => "above-span",
            Self::AboveWorkingRange => "above-working-range",
            Self::Negative => "negative",
            Self::Order => "order",
            Self::UnitSlip => "unit-slip",
            Self::DecimalSlip => "decimal-slip",
            Self::DigitsSwapped => "digits-swapped",
            Self::DigitAdded => "digit-added",
            Self::DigitMissing => "digit-missing",
            Self::DigitWrong => "digit-wrong",
            Self::GaugesSwapped => "gauges-swapped",
            Self::SameAsEver => "same-as-ever",
            Self::Jump => "jump",
        }
    }

    /// The kind with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }
}

/// A doubt the operator has answered with "it is as typed".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Answered {
    /// What was asked.
    pub kind: DoubtKind,
    /// The gauge it was about; `None` for all of them.
    pub quantity: Option<Quantity>,
}

/// A doubt about an entry: one plain question.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// What is doubted.
    pub kind: DoubtKind,
    /// The gauge it is about; `None` when it is about several.
    pub quantity: Option<Quantity>,
    /// The entry probably meant, digits and unit as they would have been typed.
    pub likely: Option<Entry>,
    /// The next likely one, when it is not much less likely.
    pub second: Option<Entry>,
    /// How probable it is that the entry is not as read, 0 to 1.
    pub probability: f64,
}

impl Doubt {
    /// The answer "it is as typed".
    #[must_use]
    pub const fn stands(&self) -> Answered {
        Answered {
            kind: self.kind,
            quantity: self.quantity,
        }
    }
}
