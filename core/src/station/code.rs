//! The short code painted at a station, as a checked type of its own.

use std::fmt;
use std::str::FromStr;

/// The code a station is known by, such as `T-07`.
///
/// One to 24 characters: letters, digits and `-_./`, starting with a letter or digit. Small letters
/// become capitals, so that a scanned tag and a typed code meet.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StationCode(String);

/// Why a text is no station code.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CodeError {
    /// Nothing but blanks.
    #[error("empty station code")]
    Empty,
    /// More than [`StationCode::LENGTH_MAX`] characters.
    #[error("station code of {length} characters, at most {max} allowed", max = StationCode::LENGTH_MAX)]
    TooLong {
        /// Characters found.
        length: usize,
    },
    /// A character that is not allowed, or not at the start.
    #[error("character {character:?} at position {position} of a station code")]
    Character {
        /// The offending character.
        character: char,
        /// Its position, counted from 1.
        position: usize,
    },
}

impl StationCode {
    /// The longest code accepted, in characters.
    pub const LENGTH_MAX: usize = 24;

    /// Checks and normalises a code; blanks around it are dropped.
    ///
    /// # Errors
    ///
    /// [`CodeError`] with the first thing wrong.
    pub fn parse(text: &str) -> Result<Self, CodeError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(CodeError::Empty);
        }
        let length = text.chars().count();
        if length > Self::LENGTH_MAX {
            return Err(CodeError::TooLong { length });
        }
        for (index, character) in text.chars().enumerate() {
            let inside = index > 0 && matches!(character, '-' | '_' | '.' | '/');
            if !(character.is_alphanumeric() || inside) {
                return Err(CodeError::Character {
                    character,
                    position: index + 1,
                });
            }
        }
        Ok(Self(text.to_uppercase()))
    }

    /// The code as text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for StationCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl FromStr for StationCode {
    type Err = CodeError;
    fn from_str(text: &str) -> Result<Self, CodeError> {
        Self::parse(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_trimmed_and_put_in_capitals() {
        assert_eq!(StationCode::parse(" t-07 ").unwrap().as_str(), "T-07");
        assert_eq!(
            StationCode::parse("L420/ND.3").unwrap().as_str(),
            "L420/ND.3"
        );
    }

    #[test]
    fn what_is_no_code_is_refused_with_the_place() {
        assert_eq!(StationCode::parse("  "), Err(CodeError::Empty));
        assert_eq!(
            StationCode::parse("-7"),
            Err(CodeError::Character {
                character: '-',
                position: 1
            })
        );
        assert_eq!(
            StationCode::parse("T 07"),
            Err(CodeError::Character {
                character: ' ',
                position: 2
            })
        );
        assert_eq!(
            StationCode::parse(&"A".repeat(25)),
            Err(CodeError::TooLong { length: 25 })
        );
    }

    #[test]
    fn a_code_stays_the_same_when_parsed_again() {
        for text in ["straße", "T-07", "ﬁ9"] {
            if let Ok(code) = StationCode::parse(text) {
                assert_eq!(StationCode::parse(code.as_str()), Ok(code.clone()));
            }
        }
    }
}
