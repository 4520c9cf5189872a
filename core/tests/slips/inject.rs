//! Slips made on purpose, on the text that was to be typed.

use winze_core::slips::parse_entry;
use winze_core::station::{Quantity, Station};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;

use crate::fleet::Chance;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    UnitAll,
    UnitOne,
    PointDropped,
    PointShifted,
    PointsAllDropped,
    DigitsSwapped,
    GaugesSwapped,
    KeyDoubled,
    DigitMissing,
}

impl Slip {
    pub const ALL: [Self; 9] = [
        Self::UnitAll,
        Self::UnitOne,
        Self::PointDropped,
        Self::PointShifted,
        Self::PointsAllDropped,
        Self::DigitsSwapped,
        Self::GaugesSwapped,
        Self::KeyDoubled,
        Self::DigitMissing,
    ];
}

fn text(typed: Typed) -> String {
    typed.digits.to_string()
}

fn retyped(text: &str, unit: Unit) -> Option<Typed> {
    parse_entry(text)
        .ok()
        .map(|digits| Typed::new(digits, unit))
}

/// The number read in `unit`, entered under the unit of the gauge.
fn in_other_unit(typed: Typed, unit: Unit) -> Typed {
    let places = unit.usual_decimals();
    let number = typed.to_pressure().to_decimal(unit, places);
    Typed::new(number, typed.unit)
}

fn without_point(typed: Typed) -> Option<Typed> {
    let typed_text = text(typed);
    typed_text
        .contains('.')
        .then(|| retyped(&typed_text.replace('.', ""), typed.unit))
        .flatten()
}

/// The entry with this slip in it and the entry meant (in the unit that was read, for a unit slip);
/// `None` where this entry gives no room for it.
pub fn inject(
    slip: Slip,
    station: &Station,
    entry: &Entry,
    chance: &mut Chance,
) -> Option<(Entry, Entry)> {
    let quantity = chance.pick(&Quantity::ALL);
    let typed = entry.get(quantity)?;
    let all = |change: &dyn Fn(Typed) -> Option<Typed>| {
        Quantity::ALL
            .into_iter()
            .try_fold(*entry, |changed, quantity| {
                Some(changed.with(quantity, Some(change(entry.get(quantity)?)?)))
            })
    };
    let metres = chance.below(10) == 0;
    let others: Vec<Unit> = [Unit::Bar, Unit::Psi, Unit::Kilopascal]
        .into_iter()
        .filter(|&unit| unit != station.unit)
        .collect();
    let unit = if metres {
        Unit::MetreOfWater
    } else {
        chance.pick(&others)
    };
    let one = |changed: Option<Typed>| Some(entry.with(quantity, Some(changed?)));
    let slipped = match slip {
        Slip::UnitAll => all(&|typed| Some(in_other_unit(typed, unit))),
        Slip::UnitOne => one(Some(in_other_unit(typed, unit))),
        Slip::PointsAllDropped => all(&without_point),
        Slip::PointDropped => one(without_point(typed)),
        Slip::PointShifted => {
            let by = chance.pick(&[-1, 1_i8]);
            let mut digits = typed.digits;
            digits.exponent += by;
            one(retyped(&digits.to_string(), typed.unit))
        }
        Slip::DigitsSwapped => {
            let mut keys: Vec<char> = text(typed).chars().collect();
            let places: Vec<usize> = (0..keys.len()).filter(|&at| keys[at] != '.').collect();
            // A single digit has no neighbour.
            let at = chance.below(places.len().checked_sub(1).filter(|&last| last > 0)?);
            keys.swap(places[at], places[at + 1]);
            one(retyped(&keys.into_iter().collect::<String>(), typed.unit))
        }
        Slip::GaugesSwapped => {
            let (a, b) = chance.pick(&[
                (Quantity::Inlet, Quantity::Interstage),
                (Quantity::Interstage, Quantity::Outlet),
                (Quantity::Inlet, Quantity::Outlet),
            ]);
            Some(entry.with(a, entry.get(b)).with(b, entry.get(a)))
        }
        Slip::KeyDoubled => {
            let mut keys: Vec<char> = text(typed).chars().collect();
            let at = chance.below(keys.len());
            (keys[at] != '.').then(|| keys.insert(at, keys[at]))?;
            one(retyped(&keys.into_iter().collect::<String>(), typed.unit))
        }
        Slip::DigitMissing => {
            let mut keys: Vec<char> = text(typed).chars().collect();
            let at = chance.below(keys.len());
            (keys[at] != '.' && keys.len() > 1).then(|| keys.remove(at))?;
            one(retyped(&keys.into_iter().collect::<String>(), typed.unit))
        }
    }?;
    let meant = Quantity::ALL.into_iter().fold(*entry, |meant, quantity| {
        let other_unit = match slip {
            Slip::UnitAll => true,
            Slip::UnitOne => slipped.get(quantity) != entry.get(quantity),
            _ => false,
        };
        match slipped.get(quantity) {
            Some(typed) if other_unit => meant.with(quantity, Some(Typed { unit, ..typed })),
            _ => meant,
        }
    });
    matters(station, entry, &slipped).then_some((slipped, meant))
}

/// Whether a slip changes any value by more than its gauge's own largest error; what is smaller
/// could as well be the gauge.
fn matters(station: &Station, meant: &Entry, typed: &Entry) -> bool {
    Quantity::ALL.into_iter().any(|quantity| {
        let (Some(meant), Some(typed)) = (meant.get(quantity), typed.get(quantity)) else {
            return false;
        };
        let moved = (typed.to_pressure() - meant.to_pressure())
            .as_f64_pa()
            .abs();
        moved
            > station
                .gauge(quantity)
                .largest_error_pa(meant.to_pressure())
    })
}
