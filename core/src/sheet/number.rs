//! A pressure or a plain number in a cell: decimal points and commas, digits kept as typed, an
//! optional unit behind the digits.
//!
//! A mark that could also separate thousands is never guessed at: `1,234` where the sheet writes
//! decimal points is refused, because the two meanings differ a thousandfold.

use winze_sync_format::Decimal;

use super::unit_words::parse_unit_words;
use crate::units::{Typed, Unit};

/// Most digits a number on a sheet may have; no gauge is read to more than five.
const DIGITS_MAX: usize = 12;

/// The decimal mark a sheet writes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DecimalMark {
    /// `10.2`
    Point,
    /// `10,2`
    Comma,
}

impl DecimalMark {
    /// The mark as a character.
    #[must_use]
    pub const fn as_char(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }

    /// Chooses the mark from the separator and a stretch of the sheet.
    ///
    /// Cells separated by commas have decimal points. Otherwise a comma between two digits
    /// anywhere in the stretch shows that the sheet writes decimal commas.
    #[must_use]
    pub fn of_sheet(separator: char, stretch: &[u8]) -> Self {
        let is_comma = |three: &[u8]| {
            three[0].is_ascii_digit() && three[1] == b',' && three[2].is_ascii_digit()
        };
        if separator != ',' && stretch.windows(3).any(is_comma) {
            Self::Comma
        } else {
            Self::Point
        }
    }
}

/// Why a cell is not a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum NumberFault {
    /// Something else than digits, a sign and one decimal mark.
    #[error("not a number")]
    NotANumber,
    /// A second decimal mark.
    #[error("a second decimal mark")]
    TwoMarks,
    /// Could mean thousands or decimals.
    #[error("could mean thousands or decimals")]
    Grouped,
    /// A power of ten written with an `e`.
    #[error("a power of ten")]
    PowerOfTen,
    /// More digits than any gauge shows.
    #[error("more than {DIGITS_MAX} digits")]
    TooManyDigits,
}

/// Reads a plain number, keeping its trailing zeros.
///
/// # Errors
/// A [`NumberFault`] naming what is wrong.
pub fn parse_number(text: &str, mark: DecimalMark) -> Result<Decimal, NumberFault> {
    let text = text.trim();
    let (is_negative, body) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(body) => (true, body),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    if is_power_of_ten(body) {
        return Err(NumberFault::PowerOfTen);
    }
    if !body
        .chars()
        .all(|c| c.is_ascii_digit() || c == '.' || c == ',')
    {
        return Err(NumberFault::NotANumber);
    }
    let mut marks = body.char_indices().filter(|(_, c)| !c.is_ascii_digit());
    let (whole, fraction) = match (marks.next(), marks.next()) {
        (None, _) => (body, ""),
        (Some((at, found)), None) => {
            let (whole, fraction) = (&body[..at], &body[at + 1..]);
            if found != mark.as_char() && could_be_thousands(whole, fraction) {
                return Err(NumberFault::Grouped);
            }
            (whole, fraction)
        }
        (Some((_, first)), Some((_, second))) if first == second => {
            return Err(NumberFault::TwoMarks);
        }
        _ => return Err(NumberFault::Grouped),
    };
    let significant = whole.trim_start_matches('0').len() + fraction.len();
    if whole.is_empty() && fraction.is_empty() {
        return Err(NumberFault::NotANumber);
    }
    if significant > DIGITS_MAX {
        return Err(NumberFault::TooManyDigits);
    }
    let digits = whole.bytes().chain(fraction.bytes());
    let size = digits.fold(0_i64, |sum, byte| sum * 10 + i64::from(byte - b'0'));
    let exponent = i8::try_from(fraction.len()).map_err(|_| NumberFault::TooManyDigits)?;
    Ok(Decimal {
        mantissa: if is_negative { -size } else { size },
        exponent: -exponent,
    })
}

fn is_power_of_ten(body: &str) -> bool {
    body.split_once(['e', 'E']).is_some_and(|(digits, power)| {
        let power = power.strip_prefix(['+', '-']).unwrap_or(power);
        digits.starts_with(|c: char| c.is_ascii_digit())
            && !power.is_empty()
            && power.bytes().all(|byte| byte.is_ascii_digit())
    })
}

/// `1,234` and `12.500` could be whole numbers; `0,125`, `4.10` and `1234,5` could not.
fn could_be_thousands(whole: &str, fraction: &str) -> bool {
    fraction.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0')
}

/// A number and the unit written behind it, if any.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NumberWithUnit {
    /// The digits.
    pub digits: Decimal,
    /// The unit in the same cell.
    pub unit: Option<Unit>,
}

impl NumberWithUnit {
    /// The pressure, in the cell's own unit or else in `unit`.
    #[must_use]
    pub fn typed(self, unit: Unit) -> Typed {
        Typed {
            digits: self.digits,
            unit: self.unit.unwrap_or(unit),
        }
    }
}

/// Reads a number that may carry its own unit, such as `10.2` or `150 psi`.
///
/// # Errors
/// A [`NumberFault`]; letters that name no unit are [`NumberFault::NotANumber`].
pub fn parse_number_with_unit(
    text: &str,
    mark: DecimalMark,
) -> Result<NumberWithUnit, NumberFault> {
    let text = text.trim();
    let is_number_part = |c: char| c.is_ascii_digit() || "+-\u{2212}.,".contains(c);
    let end = text.find(|c| !is_number_part(c)).unwrap_or(text.len());
    let (number, rest) = text.split_at(end);
    match parse_unit_words(rest) {
        Some(unit) if !rest.trim().is_empty() => Ok(NumberWithUnit {
            digits: parse_number(number, mark)?,
            unit: Some(unit),
        }),
        _ => Ok(NumberWithUnit {
            digits: parse_number(text, mark)?,
            unit: None,
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::{
        Decimal, DecimalMark, NumberFault, NumberWithUnit, parse_number, parse_number_with_unit,
    };
    use crate::units::Unit;

    fn decimal(mantissa: i64, exponent: i8) -> Decimal {
        Decimal { mantissa, exponent }
    }

    #[test]
    fn digits_are_kept_as_typed() {
        use DecimalMark::{Comma, Point};
        let cases = [
            ("10.2", Point, decimal(102, -1)),
            (" 4.10 ", Point, decimal(410, -2)),
            ("150", Point, decimal(150, 0)),
            ("007", Point, decimal(7, 0)),
            (".5", Point, decimal(5, -1)),
            ("5.", Point, decimal(5, 0)),
            ("+4.1", Point, decimal(41, -1)),
            ("-0.3", Point, decimal(-3, -1)),
            ("\u{2212}0.3", Point, decimal(-3, -1)),
            ("10,2", Comma, decimal(102, -1)),
            ("1,020", Comma, decimal(1020, -3)),
            ("1.020", Point, decimal(1020, -3)),
            // The other mark, where it can only be a decimal mark.
            ("10,2", Point, decimal(102, -1)),
            ("4.1", Comma, decimal(41, -1)),
            ("0,125", Point, decimal(125, -3)),
            ("1234,567", Point, decimal(1_234_567, -3)),
        ];
        for (text, mark, expected) in cases {
            assert_eq!(parse_number(text, mark), Ok(expected), "{text} {mark:?}");
        }
    }

    #[test]
    fn what_is_no_number_is_refused_with_the_reason() {
        use DecimalMark::{Comma, Point};
        use NumberFault::{Grouped, NotANumber, PowerOfTen, TooManyDigits, TwoMarks};
        let cases = [
            ("ten", Point, NotANumber),
            ("", Point, NotANumber),
            (".", Point, NotANumber),
            ("-", Point, NotANumber),
            ("4..1", Point, TwoMarks),
            ("4.1.2", Point, TwoMarks),
            ("1e308", Point, PowerOfTen),
            ("1E-3", Point, PowerOfTen),
            ("inf", Point, NotANumber),
            ("NaN", Point, NotANumber),
            ("4 1", Point, NotANumber),
            ("--4", Point, NotANumber),
            ("=10.2", Point, NotANumber),
            ("1,234", Point, Grouped),
            ("12.500", Comma, Grouped),
            ("1.234,5", Comma, Grouped),
            ("1,234.5", Point, Grouped),
            ("1234567890123", Point, TooManyDigits),
            ("0.1234567890123", Point, TooManyDigits),
            ("٤.١", Point, NotANumber),
        ];
        for (text, mark, expected) in cases {
            assert_eq!(parse_number(text, mark), Err(expected), "{text} {mark:?}");
        }
    }

    #[test]
    fn a_cell_may_carry_its_own_unit() {
        let psi = NumberWithUnit {
            digits: decimal(150, 0),
            unit: Some(Unit::Psi),
        };
        for text in ["150 psi", "150psi", "150 lbf/in²"] {
            assert_eq!(
                parse_number_with_unit(text, DecimalMark::Point),
                Ok(psi),
                "{text}"
            );
        }
        let bare = NumberWithUnit {
            digits: decimal(102, -1),
            unit: None,
        };
        assert_eq!(parse_number_with_unit("10.2", DecimalMark::Point), Ok(bare));
        for text in ["150 apples", "150 psia", "psi", "1e308"] {
            assert!(
                parse_number_with_unit(text, DecimalMark::Point).is_err(),
                "{text}"
            );
        }
    }

    #[test]
    fn decimal_mark_follows_the_separator_and_the_figures() {
        let cases = [
            (',', "10,2,4", DecimalMark::Point),
            (';', "a;10,2;4,1", DecimalMark::Comma),
            (';', "a;10.2;4.1", DecimalMark::Point),
            ('\t', "a\t10,2", DecimalMark::Comma),
        ];
        for (separator, stretch, expected) in cases {
            assert_eq!(
                DecimalMark::of_sheet(separator, stretch.as_bytes()),
                expected,
                "{stretch}"
            );
        }
    }
}
