//! Reading typed digits: one number, one decimal point or comma, nothing else.

use winze_sync_format::Decimal;

/// The longest entry read, in characters after blanks around it are dropped.
pub const ENTRY_LENGTH_MAX: usize = 12;

/// Why a text is no reading.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EntryError {
    /// Nothing typed.
    #[error("empty reading")]
    Empty,
    /// More characters than any reading has.
    #[error("reading of {length} characters, at most {max} allowed", max = ENTRY_LENGTH_MAX)]
    TooLong {
        /// Characters found.
        length: usize,
    },
    /// A character that belongs to no reading: a letter, an exponent, a blank inside.
    #[error("character {character:?} at position {position} of a reading")]
    Character {
        /// The offending character.
        character: char,
        /// Its position, counted from 1.
        position: usize,
    },
    /// A second decimal point or comma.
    #[error("second decimal point at position {position} of a reading")]
    SecondPoint {
        /// Its position, counted from 1.
        position: usize,
    },
    /// A sign or a point without a digit.
    #[error("no digit in a reading")]
    NoDigit,
}

/// Reads one typed number, digits kept as typed.
///
/// A point and a comma both stand for the decimal point. A leading minus is read (a doubt follows,
/// see [`super::first_doubt`]); exponents, separators of thousands and text are not.
///
/// # Errors
///
/// [`EntryError`] with the first thing wrong.
///
/// # Examples
///
/// ```
/// use winze_core::slips::{EntryError, parse_entry};
///
/// assert_eq!(parse_entry("4,10").unwrap().to_string(), "4.10");
/// assert_eq!(parse_entry("4.1.0"), Err(EntryError::SecondPoint { position: 4 }));
/// ```
pub fn parse_entry(text: &str) -> Result<Decimal, EntryError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(EntryError::Empty);
    }
    let length = text.chars().count();
    if length > ENTRY_LENGTH_MAX {
        return Err(EntryError::TooLong { length });
    }
    let (mut mantissa, mut places, mut digits) = (0_i64, 0_i8, 0);
    let (mut negative, mut point) = (false, false);
    for (index, character) in text.chars().enumerate() {
        let position = index + 1;
        match character {
            '-' | '\u{2212}' if index == 0 => negative = true,
            '+' if index == 0 => {}
            '.' | ',' if point => return Err(EntryError::SecondPoint { position }),
            '.' | ',' => point = true,
            _ => {
                let digit = character.to_digit(10).ok_or(EntryError::Character {
                    character,
                    position,
                })?;
                // At most twelve digits: neither can overflow.
                mantissa = mantissa * 10 + i64::from(digit);
                places += i8::from(point);
                digits += 1;
            }
        }
    }
    if digits == 0 {
        return Err(EntryError::NoDigit);
    }
    Ok(Decimal {
        mantissa: if negative { -mantissa } else { mantissa },
        exponent: -places,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(text: &str) -> Result<String, EntryError> {
        parse_entry(text).map(|digits| digits.to_string())
    }

    #[test]
    fn digits_are_kept_as_typed() {
        for (text, kept) in [
            ("4.10", "4.10"),
            (" 4,1 ", "4.1"),
            ("150", "150"),
            (".5", "0.5"),
            ("5.", "5"),
            ("007", "7"),
            ("-0.3", "-0.3"),
            ("\u{2212}3", "-3"),
            ("+3", "3"),
            ("999999999999", "999999999999"),
        ] {
            assert_eq!(typed(text).as_deref(), Ok(kept), "{text:?}");
        }
    }

    #[test]
    fn what_is_no_number_is_refused_with_the_place() {
        use EntryError::{Character, Empty, NoDigit, SecondPoint, TooLong};
        for (text, error) in [
            ("", Empty),
            ("  \t", Empty),
            (
                "1e308",
                Character {
                    character: 'e',
                    position: 2,
                },
            ),
            (
                "4.1 bar",
                Character {
                    character: ' ',
                    position: 4,
                },
            ),
            (
                "four",
                Character {
                    character: 'f',
                    position: 1,
                },
            ),
            (
                "NaN",
                Character {
                    character: 'N',
                    position: 1,
                },
            ),
            ("4..1", SecondPoint { position: 3 }),
            ("1,234.5", SecondPoint { position: 6 }),
            (
                "4-",
                Character {
                    character: '-',
                    position: 2,
                },
            ),
            (".", NoDigit),
            ("-", NoDigit),
            ("1234567890123", TooLong { length: 13 }),
            (
                "٣",
                Character {
                    character: '٣',
                    position: 1,
                },
            ),
        ] {
            assert_eq!(parse_entry(text), Err(error), "{text:?}");
        }
    }
}
