//! Units of pressure in the words and spellings people put on sheets.
//!
//! Not the stable codes: those belong to `units`. Absolute pressures (`bara`, `psia`) are not
//! accepted: every pressure here is a gauge pressure.

use crate::units::Unit;

const METRE: [&str; 5] = ["m", "metre", "metres", "meter", "meters"];
const FOOT: [&str; 3] = ["ft", "foot", "feet"];

/// What may follow metre or foot, with spaces and points taken out.
const OF_WATER: [&str; 13] = [
    "",
    "h2o",
    "ofh2o",
    "water",
    "ofwater",
    "wc",
    "wg",
    "ws",
    "ca",
    "hd",
    "head",
    "ofhead",
    "ofwatercolumn",
];

/// Reads a unit from plain words, whatever the case, spacing and points; `None` if it is none.
#[must_use]
pub fn parse_unit_words(text: &str) -> Option<Unit> {
    let plain: String = text
        .chars()
        .filter(|c| !c.is_whitespace() && !".-_()[]^".contains(*c))
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            '²' | '₂' => '2',
            other => other,
        })
        .collect();
    let plain = plain.strip_suffix("gauge").unwrap_or(&plain);
    let is_water = |names: &[&str]| {
        let rests = names.iter().filter_map(|name| plain.strip_prefix(name));
        rests.into_iter().any(|rest| OF_WATER.contains(&rest))
    };
    match plain {
        "bar" | "bars" | "barg" => Some(Unit::Bar),
        "kpa" | "kpag" | "kilopascal" | "kilopascals" => Some(Unit::Kilopascal),
        "mpa" | "mpag" | "megapascal" | "megapascals" => Some(Unit::Megapascal),
        "psi"
        | "psig"
        | "lb/in2"
        | "lbs/in2"
        | "lbf/in2"
        | "lb/sqin"
        | "lbs/sqin"
        | "lbf/sqin"
        | "poundspersquareinch" => Some(Unit::Psi),
        "kgf/cm2" | "kg/cm2" | "kgfcm2" | "kgcm2" | "kgf/sqcm" | "kg/sqcm" | "kp/cm2" => {
            Some(Unit::KilogramForcePerCm2)
        }
        _ if is_water(&METRE) => Some(Unit::MetreOfWater),
        _ if is_water(&FOOT) => Some(Unit::FootOfWater),
        other => other.parse().ok(),
    }
}

#[cfg(test)]
mod tests {
    use super::parse_unit_words;
    use crate::units::Unit;

    #[test]
    fn plain_spellings_are_understood() {
        let cases = [
            (
                Unit::Bar,
                vec![
                    "bar",
                    "Bar",
                    "BAR",
                    "barg",
                    "bar(g)",
                    "bar g",
                    "bar gauge",
                    " bar ",
                ],
            ),
            (
                Unit::Kilopascal,
                vec!["kPa", "KPA", "kpa", "kPa(g)", "kilopascals"],
            ),
            (Unit::Megapascal, vec!["MPa", "mpa", "MPa gauge"]),
            (
                Unit::Psi,
                vec![
                    "psi",
                    "PSI",
                    "psig",
                    "p.s.i.",
                    "lb/in2",
                    "lbf/in²",
                    "lbs/sq.in.",
                ],
            ),
            (
                Unit::MetreOfWater,
                vec![
                    "m",
                    "mH2O",
                    "m H₂O",
                    "m of water",
                    "metres of water",
                    "meters",
                    "mwc",
                    "m w.c.",
                ],
            ),
            (
                Unit::FootOfWater,
                vec![
                    "ft",
                    "ftH2O",
                    "ft of water",
                    "feet of water",
                    "feet",
                    "ft head",
                ],
            ),
            (
                Unit::KilogramForcePerCm2,
                vec![
                    "kgf/cm2", "kgf/cm²", "kg/cm2", "kgf/cm^2", "kg/sq cm", "KGF/CM2",
                ],
            ),
        ];
        for (unit, spellings) in cases {
            for text in spellings {
                assert_eq!(parse_unit_words(text), Some(unit), "{text}");
            }
        }
    }

    #[test]
    fn every_code_and_symbol_is_understood() {
        for unit in Unit::ALL {
            assert_eq!(parse_unit_words(unit.code()), Some(unit));
            assert_eq!(parse_unit_words(unit.symbol()), Some(unit));
        }
    }

    #[test]
    fn other_words_name_no_unit() {
        for text in [
            "",
            "x",
            "bara",
            "psia",
            "Pa",
            "mbar",
            "mm",
            "inHg",
            "miles",
            "footprint",
        ] {
            assert_eq!(parse_unit_words(text), None, "{text}");
        }
    }
}
