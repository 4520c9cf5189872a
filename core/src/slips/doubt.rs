//! The one question worth asking about an entry.

use crate::station::{Quantity, Station};
use crate::units::Pressure;
use crate::verdict::{Entry, at_datum};

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

/// The one question worth asking about an entry, or `None`.
///
/// `past` holds earlier visits on the same gauges, oldest first (about the last 26 are looked
/// at); `answered` what was asked of this entry and stands as typed.
#[must_use]
pub fn first_doubt(
    station: &Station,
    past: &[PastReading],
    entry: &Entry,
    answered: &[Answered],
) -> Option<Doubt> {
    let _ = past;
    Quantity::ALL.into_iter().find_map(|quantity| {
        let about = |answer: &Answered| answer.quantity.is_none_or(|about| about == quantity);
        if answered.iter().any(about) {
            return None;
        }
        let kind = impossible(station, entry, quantity)?;
        Some(Doubt {
            kind,
            quantity: Some(quantity),
            likely: None,
            second: None,
            probability: 1.0,
        })
    })
}

/// What no gauge can show.
fn impossible(station: &Station, entry: &Entry, quantity: Quantity) -> Option<DoubtKind> {
    let gauge = station.gauge(quantity);
    let reading = entry.get(quantity)?.to_pressure();
    if gauge.span() > Pressure::ZERO {
        if reading > gauge.high.to_pressure() {
            return Some(DoubtKind::AboveSpan);
        }
        if reading < gauge.low.to_pressure() {
            return Some(DoubtKind::Negative);
        }
    }
    let before = match quantity {
        Quantity::Inlet => return None,
        Quantity::Interstage => Quantity::Inlet,
        Quantity::Outlet => Quantity::Interstage,
    };
    let typed = entry.get(quantity).zip(entry.get(before));
    let rises = typed.is_some_and(|(here, there)| {
        let error = gauge.largest_error_pa(reading)
            + station.gauge(before).largest_error_pa(there.to_pressure());
        let rise = at_datum(station, quantity, here) - at_datum(station, before, there);
        rise.as_f64_pa() > error
    });
    rises.then_some(DoubtKind::Order)
}
