//! The units of pressure accepted, with their exact values in pascals.

use std::fmt;
use std::str::FromStr;

/// A unit of pressure a gauge may be marked in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unit {
    /// 100 000 Pa.
    Bar,
    /// 1000 Pa.
    Kilopascal,
    /// 1 000 000 Pa.
    Megapascal,
    /// Pound-force per square inch.
    Psi,
    /// Conventional metre of water: 1000 kg/m3 at standard gravity.
    MetreOfWater,
    /// Conventional foot of water.
    FootOfWater,
    /// Kilogram-force per square centimetre, the technical atmosphere.
    KilogramForcePerCm2,
}

/// Text that names no accepted unit of pressure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("unknown pressure unit {0:?}")]
pub struct UnknownUnit(pub String);

impl Unit {
    /// Every unit, in the order shown to people.
    pub const ALL: [Self; 7] = [
        Self::Bar,
        Self::Kilopascal,
        Self::Megapascal,
        Self::Psi,
        Self::MetreOfWater,
        Self::FootOfWater,
        Self::KilogramForcePerCm2,
    ];

    /// One of this unit in pascals as an exact fraction in lowest terms (numerator, denominator).
    ///
    /// # Source
    ///
    /// NIST SP 811 (2008) B.8 and B.9; psi from the exact pound, inch and standard gravity:
    /// `0.45359237 * 9.80665 / 0.0254^2`.
    #[must_use]
    pub const fn pascals_exact(self) -> (i64, i64) {
        match self {
            Self::Bar => (100_000, 1),
            Self::Kilopascal => (1_000, 1),
            Self::Megapascal => (1_000_000, 1),
            // 45359237 * 980665 / (254^2 * 10^5), cancelled by 5 * 4064... to lowest terms.
            Self::Psi => (PSI_NUM, PSI_DEN),
            Self::MetreOfWater => (196_133, 20),
            Self::FootOfWater => (74_726_673, 25_000),
            Self::KilogramForcePerCm2 => (196_133, 2),
        }
    }

    /// One of this unit in pascals.
    #[must_use]
    #[allow(
        clippy::cast_precision_loss,
        reason = "numerators and denominators are below 2^53"
    )]
    pub const fn pascals(self) -> f64 {
        let (num, den) = self.pascals_exact();
        num as f64 / den as f64
    }

    /// Converts a float in this unit to pascals.
    #[must_use]
    #[allow(clippy::cast_precision_loss, reason = "factors are below 2^53")]
    pub fn to_pa(self, value: f64) -> f64 {
        let (num, den) = self.pascals_exact();
        value * num as f64 / den as f64
    }

    /// Converts a float in pascals to this unit.
    #[must_use]
    #[allow(
        clippy::cast_precision_loss,
        clippy::wrong_self_convention,
        reason = "factors are below 2^53; reads as `unit.from_pa(x)`"
    )]
    pub fn from_pa(self, pa: f64) -> f64 {
        let (num, den) = self.pascals_exact();
        pa * den as f64 / num as f64
    }

    /// The stable code used in files and on the command line.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Bar => "bar",
            Self::Kilopascal => "kPa",
            Self::Megapascal => "MPa",
            Self::Psi => "psi",
            Self::MetreOfWater => "mH2O",
            Self::FootOfWater => "ftH2O",
            Self::KilogramForcePerCm2 => "kgf/cm2",
        }
    }

    /// The symbol shown to people.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::MetreOfWater => "m H₂O",
            Self::FootOfWater => "ft H₂O",
            Self::KilogramForcePerCm2 => "kgf/cm²",
            other => other.code(),
        }
    }

    /// The number kept in records. Never renumber.
    #[must_use]
    pub const fn number(self) -> u64 {
        match self {
            Self::Bar => 0,
            Self::Kilopascal => 1,
            Self::Megapascal => 2,
            Self::Psi => 3,
            Self::MetreOfWater => 4,
            Self::FootOfWater => 5,
            Self::KilogramForcePerCm2 => 6,
        }
    }

    /// The unit kept in records under `number`.
    #[must_use]
    pub fn from_number(number: u64) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.number() == number)
    }

    /// Decimal places that show about 0.01 bar, for values without a gauge to go by.
    #[must_use]
    pub const fn usual_decimals(self) -> u8 {
        match self {
            Self::Kilopascal => 0,
            Self::Bar | Self::KilogramForcePerCm2 => 2,
            Self::Megapascal => 3,
            Self::Psi | Self::MetreOfWater | Self::FootOfWater => 1,
        }
    }
}

const PSI_NUM: i64 = 8_896_443_230_521;
const PSI_DEN: i64 = 1_290_320_000;

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl FromStr for Unit {
    type Err = UnknownUnit;

    /// Reads a code or one of the spellings found on sheets, whatever the case.
    ///
    /// # Errors
    ///
    /// [`UnknownUnit`] with the text when it names none.
    fn from_str(text: &str) -> Result<Self, UnknownUnit> {
        let plain: String = text
            .chars()
            .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '_' | '-' | '(' | ')'))
            .flat_map(char::to_lowercase)
            .map(|c| match c {
                '²' | '₂' => '2',
                other => other,
            })
            .collect();
        match plain.as_str() {
            "bar" | "barg" | "bars" => Ok(Self::Bar),
            "kpa" | "kpag" => Ok(Self::Kilopascal),
            "mpa" | "mpag" => Ok(Self::Megapascal),
            "psi" | "psig" | "lb/in2" | "lbf/in2" => Ok(Self::Psi),
            "m" | "mh2o" | "mwc" | "mwg" | "mca" | "mws" => Ok(Self::MetreOfWater),
            "ft" | "fth2o" | "ftwc" | "fthd" | "fthead" => Ok(Self::FootOfWater),
            "kgf/cm2" | "kg/cm2" | "kgcm2" | "kgf/cm^2" | "kg/cm^2" | "at" => {
                Ok(Self::KilogramForcePerCm2)
            }
            _ => Err(UnknownUnit(text.to_owned())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_symbols_and_numbers_lead_back() {
        for unit in Unit::ALL {
            assert_eq!(unit.code().parse(), Ok(unit));
            assert_eq!(unit.symbol().parse(), Ok(unit));
            assert_eq!(Unit::from_number(unit.number()), Some(unit));
        }
        assert_eq!(Unit::from_number(7), None);
    }

    #[test]
    fn spellings_found_on_sheets_are_read() {
        for (text, unit) in [
            (" Bar ", Unit::Bar),
            ("bar(g)", Unit::Bar),
            ("PSI", Unit::Psi),
            ("p.s.i.", Unit::Psi),
            ("KPa", Unit::Kilopascal),
            ("m WC", Unit::MetreOfWater),
            ("ft. hd", Unit::FootOfWater),
            ("kg/cm²", Unit::KilogramForcePerCm2),
        ] {
            assert_eq!(text.parse(), Ok(unit), "{text:?}");
        }
        assert_eq!("mbar".parse::<Unit>(), Err(UnknownUnit("mbar".to_owned())));
        assert_eq!("".parse::<Unit>(), Err(UnknownUnit(String::new())));
    }
}
