//! The words of the trade as the tablet uses them, and numbers as people write them.

use winze_core::station::{Gauge, Quantity, Station};
use winze_core::units::{Pressure, Typed};
use winze_core::verdict::Verdict;

/// Names a gauge.
#[must_use]
pub const fn gauge(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Inlet => "inlet",
        Quantity::Interstage => "interstage",
        Quantity::Outlet => "outlet",
    }
}

/// Names a gauge at the head of a sentence.
#[must_use]
pub const fn gauge_capital(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Inlet => "Inlet",
        Quantity::Interstage => "Interstage",
        Quantity::Outlet => "Outlet",
    }
}

/// Says a verdict in a word.
#[must_use]
pub const fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Within => "within",
        Verdict::Unsure => "unsure",
        Verdict::Outside => "outside",
    }
}

/// Writes a pressure as the digits its gauge can show, without the unit.
#[must_use]
pub fn number(gauge: &Gauge, pressure: Pressure) -> String {
    pressure
        .to_decimal(gauge.unit(), gauge.decimals())
        .to_string()
}

/// Writes a pressure as its gauge can show it, with the unit.
#[must_use]
pub fn amount(gauge: &Gauge, pressure: Pressure) -> String {
    format!("{} {}", number(gauge, pressure), gauge.unit().symbol())
}

/// Writes a value as it was typed, with the unit.
#[must_use]
pub fn typed(value: Typed) -> String {
    format!("{} {}", value.digits, value.unit.symbol())
}

/// Writes a band as its gauge shows it.
#[must_use]
pub fn band(gauge: &Gauge, low: Pressure, high: Pressure) -> String {
    let (mut low, mut high) = (number(gauge, low), number(gauge, high));
    // Places that are nought in both say nothing; one stays, as people write pressures.
    while [&low, &high]
        .iter()
        .all(|text| text.ends_with('0') && places(text) > 1)
    {
        low.pop();
        high.pop();
    }
    format!("{low} to {high}")
}

fn places(text: &str) -> usize {
    text.split_once('.').map_or(0, |(_, places)| places.len())
}

/// Says where a station stands: level and name, or what of them is known.
#[must_use]
pub fn place(station: &Station) -> String {
    match (station.level.is_empty(), station.name.is_empty()) {
        (false, false) => format!("{}, {}", station.level, station.name),
        (false, true) => station.level.clone(),
        (true, _) => station.name.clone(),
    }
}

/// Counts things: "1 record", "14 records".
#[must_use]
pub fn count(number: u64, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Puts a sentence's first letter in capitals.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Joins words as a sentence does: "leak", "leak and noise", "leak, noise and access".
#[must_use]
pub fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;

    #[test]
    fn words_are_joined_as_in_a_sentence() {
        assert_eq!(listed(&[]), "");
        assert_eq!(listed(&["leak"]), "leak");
        assert_eq!(listed(&["leak", "noise"]), "leak and noise");
        assert_eq!(
            listed(&["leak", "noise", "access"]),
            "leak, noise and access"
        );
    }

    #[test]
    fn pressures_are_written_as_the_dial_can_show_them() {
        let station = samples::station();
        let pressure = Pressure::from_pa(204_000);
        assert_eq!(amount(&station.inlet, pressure), "2.0 bar");
        assert_eq!(amount(&station.outlet, pressure), "2.04 bar");
    }

    #[test]
    fn band_drops_places_that_say_nothing() {
        let station = samples::station();
        let bands = [
            (180_000, 220_000, "1.8 to 2.2"),
            (180_000, 222_000, "1.80 to 2.22"),
            (0, 300_000, "0.0 to 3.0"),
        ];
        for (low, high, text) in bands {
            let (low, high) = (Pressure::from_pa(low), Pressure::from_pa(high));
            assert_eq!(band(&station.outlet, low, high), text);
        }
    }

    #[test]
    fn place_says_what_is_known() {
        let mut station = samples::station();
        assert_eq!(place(&station), "Level 420, north drive");
        station.name.clear();
        assert_eq!(place(&station), "Level 420");
        station.level.clear();
        assert_eq!(place(&station), "");
    }
}
