//! Slips of the pen put into simulated readings, with the values that were meant.

use super::dice::Dice;
use super::station::SimulatedReading;
use crate::station::Quantity;
use crate::units::{Typed, Unit};
use crate::verdict::Entry;

/// How a value was written down wrongly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SlipKind {
    /// The decimal point is missing or one place off.
    DecimalPoint,
    /// The value stands in another unit than the one written.
    Unit,
    /// Two neighbouring digits are exchanged.
    DigitsSwapped,
    /// The values of two gauges are exchanged.
    GaugesSwapped,
}

impl SlipKind {
    /// Every kind.
    pub const ALL: [Self; 4] = [
        Self::DecimalPoint,
        Self::Unit,
        Self::DigitsSwapped,
        Self::GaugesSwapped,
    ];

    /// A stable name for tables and truth files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::DecimalPoint => "decimal-point",
            Self::Unit => "unit",
            Self::DigitsSwapped => "digits-swapped",
            Self::GaugesSwapped => "gauges-swapped",
        }
    }
}

/// One slip among the readings of a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slip {
    /// The place of the reading in the station's list.
    pub index: usize,
    /// How it came about.
    pub kind: SlipKind,
    /// The values that were meant.
    pub meant: Entry,
}

/// Spoils a share of `readings` and tells which.
///
/// A slip that would leave the reading as it was (equal digits, a blank) is not made.
pub fn inject_slips(readings: &mut [SimulatedReading], share: f64, dice: &mut Dice) -> Vec<Slip> {
    let mut slips = Vec::new();
    for (index, reading) in readings.iter_mut().enumerate() {
        if share <= 0.0 || !dice.happens(share) {
            continue;
        }
        let kind = dice.pick(&SlipKind::ALL, SlipKind::DecimalPoint);
        let meant = reading.entry;
        if let Some(spoiled) = spoil(kind, meant, dice)
            && spoiled != meant
        {
            reading.entry = spoiled;
            slips.push(Slip { index, kind, meant });
        }
    }
    slips
}

fn spoil(kind: SlipKind, meant: Entry, dice: &mut Dice) -> Option<Entry> {
    let which = dice.pick(&Quantity::ALL, Quantity::Inlet);
    let mut entry = meant;
    match kind {
        SlipKind::DecimalPoint => {
            let typed = meant.get(which)?;
            let shift = if dice.happens(0.8) { 1 } else { -1 };
            let mut digits = typed.digits;
            digits.exponent = digits.exponent.saturating_add(shift);
            if digits.exponent > 0 {
                digits.mantissa = digits.mantissa.saturating_mul(10);
                digits.exponent = 0;
            }
            set(&mut entry, which, Typed::new(digits, typed.unit));
        }
        SlipKind::Unit => {
            // A psi scale read by habit: the value is psi, the sheet says something else.
            for quantity in Quantity::ALL {
                let typed = meant.get(quantity)?;
                let psi = typed.converted(Unit::Psi, 0);
                set(&mut entry, quantity, Typed::new(psi.digits, typed.unit));
            }
        }
        SlipKind::DigitsSwapped => {
            let typed = meant.get(which)?;
            let swapped = swap_first_digits(typed.digits.mantissa)?;
            let digits = winze_sync_format::Decimal {
                mantissa: swapped,
                ..typed.digits
            };
            set(&mut entry, which, Typed::new(digits, typed.unit));
        }
        SlipKind::GaugesSwapped => {
            let (first, second) = if dice.happens(0.5) {
                (Quantity::Inlet, Quantity::Interstage)
            } else {
                (Quantity::Interstage, Quantity::Outlet)
            };
            let (a, b) = (meant.get(first)?, meant.get(second)?);
            set(&mut entry, first, b);
            set(&mut entry, second, a);
        }
    }
    Some(entry)
}

fn set(entry: &mut Entry, quantity: Quantity, typed: Typed) {
    match quantity {
        Quantity::Inlet => entry.inlet = Some(typed),
        Quantity::Interstage => entry.interstage = Some(typed),
        Quantity::Outlet => entry.outlet = Some(typed),
    }
}

/// Exchanges the two leading digits; `None` for one digit, two equal ones, or a leading zero.
fn swap_first_digits(mantissa: i64) -> Option<i64> {
    let text = mantissa.to_string();
    let mut digits: Vec<char> = text.chars().collect();
    if digits.len() < 2 || digits[0] == digits[1] || digits[1] == '0' || mantissa < 0 {
        return None;
    }
    digits.swap(0, 1);
    digits.into_iter().collect::<String>().parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leading_digits_change_places_where_that_makes_a_difference() {
        assert_eq!(swap_first_digits(412), Some(142));
        assert_eq!(swap_first_digits(44), None);
        assert_eq!(swap_first_digits(7), None);
        assert_eq!(swap_first_digits(402), None);
    }
}
