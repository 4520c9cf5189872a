//! Digits as a keypad gives them, one key at a time.

use winze_core::slips::parse_entry;
use winze_core::units::{Typed, Unit};

/// More characters than any dial needs, fewer than would leave its place on the screen.
const TEXT_LENGTH_MAX: usize = 6;

/// What the text becomes after a digit or the decimal point; `None` where the key changes nothing.
#[must_use]
pub fn after_key(text: &str, key: char) -> Option<String> {
    let is_point = matches!(key, '.' | ',');
    if !(is_point || key.is_ascii_digit()) {
        return None;
    }
    let mut text = text.to_owned();
    if is_point {
        if text.contains('.') {
            return None;
        }
        if text.is_empty() {
            text.push('0');
        }
        text.push('.');
    } else {
        if text == "0" {
            text.clear();
        }
        text.push(key);
    }
    (text.chars().count() <= TEXT_LENGTH_MAX).then_some(text)
}

/// A number under entry that is no gauge of the station's dials.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Digits {
    /// Digits so far; empty where nothing was typed.
    pub text: String,
    /// The unit they are meant in.
    pub unit: Unit,
    is_fresh: bool,
}

impl Digits {
    /// Nothing typed yet.
    #[must_use]
    pub const fn empty(unit: Unit) -> Self {
        Self {
            text: String::new(),
            unit,
            is_fresh: false,
        }
    }

    /// What was typed before, to be typed over by the next digit.
    #[must_use]
    pub const fn of(text: String, unit: Unit) -> Self {
        Self {
            text,
            unit,
            is_fresh: true,
        }
    }

    /// The next digit starts anew.
    pub fn renew(&mut self) {
        self.is_fresh = true;
    }

    /// Takes a digit or the decimal point.
    pub fn key(&mut self, key: char) {
        let before = if self.is_fresh { "" } else { &self.text };
        if let Some(text) = after_key(before, key) {
            self.text = text;
            self.is_fresh = false;
        }
    }

    /// Takes the last character away.
    pub fn erase(&mut self) {
        self.text.pop();
        self.is_fresh = false;
    }

    /// What the digits mean; `None` while they mean no number.
    #[must_use]
    pub fn value(&self) -> Option<Typed> {
        Some(Typed::new(parse_entry(&self.text).ok()?, self.unit))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(keys: &str) -> String {
        let mut digits = Digits::empty(Unit::Bar);
        keys.chars().for_each(|key| digits.key(key));
        digits.text
    }

    #[test]
    fn keys_make_numbers_and_nothing_else() {
        for (keys, text) in [
            ("2.0", "2.0"),
            (".5", "0.5"),
            ("007", "7"),
            ("1..2", "1.2"),
            ("1x2", "12"),
            ("1234567", "123456"),
        ] {
            assert_eq!(typed(keys), text);
        }
    }

    #[test]
    fn first_digit_replaces_what_stood_there() {
        let mut digits = Digits::of("2.0".to_owned(), Unit::Bar);
        digits.key('1');
        digits.key('.');
        assert_eq!(digits.text, "1.");
        digits.erase();
        assert_eq!(digits.value(), Some(Typed::of(1, 0, Unit::Bar)));
    }
}
