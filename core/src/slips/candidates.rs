//! Every entry that one slip could have turned into the one typed, with its prior probability.
//!
//! The probabilities are common practice, no source: they only rank slips against each other and
//! against good readings, and the measured figures in the tests say how well.

use winze_sync_format::Decimal;

use super::DoubtKind;
use super::dials::Dials;
use crate::station::{Quantity, Station};
use crate::units::{Typed, Unit};
use crate::verdict::Entry;

/// Probability per visit of each slip.
const UNIT_ALL: f64 = 0.000_5;
const UNIT_ONE: f64 = 0.000_5;
const DECIMAL_ALL: f64 = 0.000_3;
const DECIMAL_ONE: f64 = 0.002;
const SWAPPED_DIGITS: f64 = 0.003;
const SWAPPED_GAUGES: f64 = 0.001;
const DIGIT_DOUBLED: f64 = 0.000_5;
const DIGIT_BRUSHED: f64 = 0.000_1;
const DIGIT_MISSING: f64 = 0.000_2;
const DIGIT_WRONG: f64 = 0.000_1;
const STRAY_MINUS: f64 = 0.000_1;

/// All slips together, and a misread dial: the most a slip can weigh before its evidence.
pub(super) const ANY_SLIP: f64 = 0.009;

/// Probability per visit of misreading one dial in some way that leaves no trace of the meant value.
pub(super) const MISREAD: f64 = 0.000_2;

/// An entry that may have been meant.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    pub kind: DoubtKind,
    /// The gauge concerned; `None` for several.
    pub quantity: Option<Quantity>,
    /// What may have been meant.
    pub entry: Entry,
    /// Log of the prior probability of this slip.
    pub ln_prior: f64,
}

/// Every candidate for `entry`. `places` are the usual decimal places of the three gauges.
///
/// One that would not be on its dial is left out: nobody can have read it there.
pub(super) fn candidates(
    station: &Station,
    dials: &Dials,
    entry: &Entry,
    places: [u8; 3],
) -> Vec<Candidate> {
    let mut all = Vec::with_capacity(256);
    whole_entry(station, entry, places, &mut all);
    for quantity in Quantity::ALL {
        let Some(typed) = entry.get(quantity) else {
            continue;
        };
        let mut add = |kind, meant: Typed, probability: f64| {
            let pa = meant.unit.to_pa(meant.value());
            let moved = (pa - typed.unit.to_pa(typed.value())).abs() > 1.0;
            if moved && dials.reaches(quantity, pa) {
                all.push(Candidate {
                    kind,
                    quantity: Some(quantity),
                    entry: entry.with(quantity, Some(meant)),
                    ln_prior: (probability / 3.0).ln(),
                });
            }
        };
        for (unit, share) in other_units(station, typed.unit) {
            add(
                DoubtKind::UnitSlip,
                Typed { unit, ..typed },
                UNIT_ONE * share,
            );
        }
        for (digits, share) in shifted(typed.digits, places[quantity.index()]) {
            add(
                DoubtKind::DecimalSlip,
                Typed { digits, ..typed },
                DECIMAL_ONE * share,
            );
        }
        if typed.digits.mantissa < 0 {
            let mantissa = typed.digits.mantissa.saturating_neg();
            let digits = Decimal {
                mantissa,
                ..typed.digits
            };
            add(
                DoubtKind::Negative,
                Typed { digits, ..typed },
                STRAY_MINUS * 3.0,
            );
        } else {
            let written = Written::of(typed.digits, places[quantity.index()]);
            written.slips(|kind, digits, probability| {
                add(kind, Typed { digits, ..typed }, probability);
            });
        }
    }
    all
}

/// Slips of all gauges alike, and gauges swapped with each other.
fn whole_entry(station: &Station, entry: &Entry, places: [u8; 3], all: &mut Vec<Candidate>) {
    let read: Vec<Quantity> = Quantity::ALL
        .into_iter()
        .filter(|&quantity| entry.get(quantity).is_some())
        .collect();
    let mut add = |kind, meant: Entry, probability: f64| {
        let ln_prior = probability.ln();
        all.push(Candidate {
            kind,
            quantity: None,
            entry: meant,
            ln_prior,
        });
    };
    if read.len() >= 2 {
        let unit = entry.get(read[0]).map_or(station.unit, |typed| typed.unit);
        for (unit, share) in other_units(station, unit) {
            let meant = map(entry, |_, typed| Typed { unit, ..typed });
            add(DoubtKind::UnitSlip, meant, UNIT_ALL * share);
        }
        for by in [-3, -2, -1, 1, 2, 3_i8] {
            let meant = map(entry, |_, typed| Typed {
                digits: shift(typed.digits, by),
                ..typed
            });
            add(DoubtKind::DecimalSlip, meant, DECIMAL_ALL / 12.0);
        }
        // Every point left out: each value goes back by its own decimal places.
        let meant = map(entry, |quantity, typed| {
            let by = -i8::try_from(places[quantity.index()]).unwrap_or(0);
            Typed {
                digits: shift(typed.digits, by),
                ..typed
            }
        });
        add(DoubtKind::DecimalSlip, meant, DECIMAL_ALL / 2.0);
    }
    for (index, &one) in read.iter().enumerate() {
        for &other in &read[index + 1..] {
            let meant = entry
                .with(one, entry.get(other))
                .with(other, entry.get(one));
            add(DoubtKind::GaugesSwapped, meant, SWAPPED_GAUGES / 4.0);
        }
    }
    if entry.is_complete() {
        let [a, b, c] = [entry.inlet, entry.interstage, entry.outlet];
        for [inlet, interstage, outlet] in [[b, c, a], [c, a, b]] {
            let meant = Entry {
                inlet,
                interstage,
                outlet,
                flow: entry.flow,
            };
            add(DoubtKind::GaugesSwapped, meant, SWAPPED_GAUGES / 8.0);
        }
    }
}

fn map(entry: &Entry, change: impl Fn(Quantity, Typed) -> Typed) -> Entry {
    Quantity::ALL.into_iter().fold(*entry, |changed, quantity| {
        changed.with(
            quantity,
            entry.get(quantity).map(|typed| change(quantity, typed)),
        )
    })
}

/// The units that may have been meant instead, with their share of unit slips.
fn other_units(station: &Station, typed: Unit) -> impl Iterator<Item = (Unit, f64)> {
    let marked = [
        station.unit,
        station.inlet.unit(),
        station.interstage.unit(),
        station.outlet.unit(),
    ];
    Unit::ALL
        .into_iter()
        .filter(move |&unit| unit != typed)
        .map(move |unit| {
            let share = match unit {
                unit if marked.contains(&unit) => 0.5,
                Unit::Bar | Unit::Psi | Unit::Kilopascal => 0.25,
                Unit::Megapascal | Unit::MetreOfWater => 0.03,
                Unit::FootOfWater | Unit::KilogramForcePerCm2 => 0.01,
            };
            (unit, share)
        })
}

/// The values with the decimal point elsewhere, with their share of decimal slips.
fn shifted(digits: Decimal, places: u8) -> impl Iterator<Item = (Decimal, f64)> {
    let places_signed = i8::try_from(places).unwrap_or(0);
    let dropped = -places_signed;
    [-3, -2, -1, 1, 2, 3_i8].into_iter().map(move |by| {
        // Moving the point of 3770 gives 377 where whole numbers are written, not 377.0.
        let mut moved = shift(digits, by);
        while by < 0 && moved.exponent < -places_signed && moved.mantissa % 10 == 0 {
            moved = Decimal {
                mantissa: moved.mantissa / 10,
                exponent: moved.exponent + 1,
            };
        }
        let share = match by {
            by if by == dropped && digits.exponent >= 0 => 0.5,
            -1 | 1 => 0.2,
            _ => 0.03,
        };
        (moved, share)
    })
}

/// The decimal point moved by `by` places, written without a positive exponent where it fits.
fn shift(digits: Decimal, by: i8) -> Decimal {
    let exponent = digits.exponent.saturating_add(by);
    if exponent > 0 {
        let power = 10_i64.checked_pow(u32::from(exponent.unsigned_abs()));
        if let Some(mantissa) = power.and_then(|power| digits.mantissa.checked_mul(power)) {
            return Decimal {
                mantissa,
                exponent: 0,
            };
        }
    }
    Decimal {
        mantissa: digits.mantissa,
        exponent,
    }
}

/// A number as a row of digits, with the zeros a slip may have hidden.
struct Written {
    /// Digits as typed, at least one before the point.
    digits: Vec<u8>,
    /// Digits after the point.
    places: usize,
    /// Zeros the usual writing would add behind.
    trailing: usize,
}

impl Written {
    fn of(value: Decimal, usual_places: u8) -> Self {
        let value = shift(value, 0);
        let places = usize::from(value.exponent.min(0).unsigned_abs()).min(18);
        let mut digits: Vec<u8> = value
            .mantissa
            .unsigned_abs()
            .to_string()
            .bytes()
            .map(|digit| digit - b'0')
            .collect();
        while digits.len() < places + 1 {
            digits.insert(0, 0);
        }
        let trailing = usize::from(usual_places).saturating_sub(places);
        Self {
            digits,
            places,
            trailing,
        }
    }

    /// Every value that a slip of a digit turns into this one.
    fn slips(&self, mut add: impl FnMut(DoubtKind, Decimal, f64)) {
        let count = self.digits.len();
        let length = as_f64(count);
        // Swaps also reach over a leading or trailing zero that left no trace in the number.
        let mut padded = vec![0];
        padded.extend(&self.digits);
        padded.extend(std::iter::repeat_n(0, self.trailing));
        for at in 0..padded.len() - 1 {
            if padded[at] != padded[at + 1] {
                let mut meant = padded.clone();
                meant.swap(at, at + 1);
                let share = SWAPPED_DIGITS / (length - 1.0).max(1.0);
                add(
                    DoubtKind::DigitsSwapped,
                    number(&meant, self.places + self.trailing),
                    share,
                );
            }
        }
        for at in 0..count {
            for digit in (0..10).filter(|&digit| digit != self.digits[at]) {
                let mut meant = self.digits.clone();
                meant[at] = digit;
                let share = DIGIT_WRONG / length / 9.0;
                add(DoubtKind::DigitWrong, number(&meant, self.places), share);
            }
            if at == 0 && self.digits[0] == 0 && count == self.places + 1 {
                // The zero before the point may stand for a digit that was not typed.
                for digit in 1..10 {
                    let mut meant = self.digits.clone();
                    meant[0] = digit;
                    let share = DIGIT_MISSING / length;
                    add(DoubtKind::DigitMissing, number(&meant, self.places), share);
                }
            }
            if count > 1 {
                let mut meant = self.digits.clone();
                let gone = meant.remove(at);
                let doubled = at > 0 && self.digits[at - 1] == gone;
                let share = if doubled {
                    DIGIT_DOUBLED
                } else {
                    DIGIT_BRUSHED / 10.0
                };
                let places = self.places - usize::from(at >= count - self.places);
                add(
                    DoubtKind::DigitAdded,
                    number(&meant, places),
                    share / (length - 1.0),
                );
            }
        }
        for at in 0..=count {
            for digit in 0..10 {
                let mut meant = self.digits.clone();
                meant.insert(at, digit);
                let share = DIGIT_MISSING / (length + 1.0);
                let before_point = at <= count - self.places;
                if before_point {
                    add(DoubtKind::DigitMissing, number(&meant, self.places), share);
                }
                if at >= count - self.places && self.places > 0 {
                    add(
                        DoubtKind::DigitMissing,
                        number(&meant, self.places + 1),
                        share,
                    );
                }
            }
        }
    }
}

/// Digits and places as a decimal; beyond 18 digits the value is far off every dial anyway.
fn number(digits: &[u8], places: usize) -> Decimal {
    let mantissa = digits.iter().fold(0_i64, |sum, &digit| {
        sum.saturating_mul(10).saturating_add(i64::from(digit))
    });
    Decimal {
        mantissa,
        exponent: -i8::try_from(places).unwrap_or(i8::MAX),
    }
}

#[allow(clippy::cast_precision_loss, reason = "a handful of digits")]
fn as_f64(count: usize) -> f64 {
    count as f64
}
