//! Turns of a screw as a hand can do them: whole thirty-seconds.

use std::fmt;

use winze_sync_format::Decimal;

/// A turn in thirty-seconds, in being positive. A thirty-second is about 11 degrees.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct HandTurns(i32);

impl HandTurns {
    /// The finest movement advised: a thirty-second of a turn.
    pub const FINEST: Self = Self(1);

    /// So many thirty-seconds.
    #[must_use]
    pub const fn of_thirty_seconds(count: i32) -> Self {
        Self(count)
    }

    /// The largest turn of at most `turns` that a hand does well: eighths from half a turn on,
    /// sixteenths from an eighth on, thirty-seconds below. Zero for less than one, negative or not
    /// a number; at most 1000.
    #[must_use]
    pub fn at_most(turns: f64) -> Self {
        if turns.is_nan() || turns <= 0.0 {
            return Self(0);
        }
        #[allow(
            clippy::cast_possible_truncation,
            reason = "between 0 and 32 000 after the limit"
        )]
        let count = (turns.min(1000.0) * 32.0 + 1.0e-9).floor() as i32;
        let coarse = match count {
            16.. => 4,
            4.. => 2,
            _ => 1,
        };
        Self(count - count % coarse)
    }

    /// The smallest turn of at least `turns` that a hand does well; see [`Self::at_most`].
    #[must_use]
    pub fn at_least(turns: f64) -> Self {
        if turns.is_nan() || turns <= 0.0 {
            return Self(0);
        }
        let down = Self::at_most(turns);
        if down.turns() >= turns - 1.0e-9 {
            return down;
        }
        let coarse = match down.0 {
            16.. => 4,
            4.. => 2,
            _ => 1,
        };
        Self(down.0 + coarse)
    }

    /// Thirty-seconds.
    #[must_use]
    pub const fn thirty_seconds(self) -> i32 {
        self.0
    }

    /// The value in turns.
    #[must_use]
    pub fn turns(self) -> f64 {
        f64::from(self.0) / 32.0
    }

    /// The value as an exact decimal number of turns.
    #[must_use]
    pub fn to_decimal(self) -> Decimal {
        let (mut mantissa, mut exponent) = (i64::from(self.0) * 3125, -5);
        while exponent < 0 && mantissa % 10 == 0 {
            mantissa /= 10;
            exponent += 1;
        }
        Decimal { mantissa, exponent }
    }

    /// Whole turns and the fraction in lowest terms, of the size without the sign: 44
    /// thirty-seconds are (1, 3, 8). The fraction of a whole number is 0/1.
    #[must_use]
    pub const fn parts(self) -> (u32, u32, u32) {
        let size = self.0.unsigned_abs();
        let (mut over, mut under) = (size % 32, 32);
        while over.is_multiple_of(2) && under > 1 {
            over /= 2;
            under /= 2;
        }
        (size / 32, over, under)
    }
}

impl fmt::Display for HandTurns {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/32", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_come_in_steps_a_hand_does_well() {
        for (turns, thirty_seconds) in [
            (2.3, 72),
            (1.99, 60),
            (0.5, 16),
            (0.49, 14),
            (0.125, 4),
            (0.12, 3),
            (0.031, 0),
            (-1.0, 0),
            (f64::NAN, 0),
        ] {
            assert_eq!(HandTurns::at_most(turns).0, thirty_seconds, "{turns}");
        }
        assert_eq!(HandTurns::at_least(1.99).0, 64);
        assert_eq!(HandTurns::at_least(0.5).0, 16);
        assert_eq!(HandTurns::at_least(0.01).0, 1);
        assert_eq!(HandTurns::at_most(f64::INFINITY).0, 32_000);
    }

    #[test]
    fn decimals_and_fractions_are_exact() {
        assert_eq!(HandTurns(44).to_decimal().to_string(), "1.375");
        assert_eq!(HandTurns(-1).to_decimal().to_string(), "-0.03125");
        assert_eq!(HandTurns(64).to_decimal().to_string(), "2");
        assert_eq!(HandTurns(44).parts(), (1, 3, 8));
        assert_eq!(HandTurns(-16).parts(), (0, 1, 2));
        assert_eq!(HandTurns(64).parts(), (2, 0, 1));
    }
}
