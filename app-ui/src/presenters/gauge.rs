//! One gauge of the station screen: its dial with the expected band, the needle at what was
//! typed, the verdict in a word.

use winze_core::station::{Gauge, Quantity, Station};
use winze_core::units::{Typed, decimal_to_f64};
use winze_core::verdict::Judgement;

use super::dial::Scale;
use super::view::{Figure, GaugeView, Tone};
use super::words;

/// The scale of a gauge's dial, in the dial's unit.
#[must_use]
pub fn scale(gauge: &Gauge) -> Scale {
    Scale {
        low: gauge.low.value_in(gauge.unit()),
        high: gauge.high.value(),
        division: decimal_to_f64(gauge.division),
    }
}

/// Shows a gauge: `text` are the digits typed so far, `value` what they mean if they mean one.
#[must_use]
pub fn gauge(
    station: &Station,
    judgement: &Judgement,
    quantity: Quantity,
    text: &str,
    value: Option<Typed>,
    is_chosen: bool,
) -> GaugeView {
    let gauge = station.gauge(quantity);
    let unit = gauge.unit();
    let scale = scale(gauge);
    let band = judgement.expected.on_dial(station, quantity);
    let judged = judgement.get(quantity);
    let verdict = judged.map_or("", |judged| words::verdict(judged.verdict));
    let expected = band.map_or_else(String::new, |(low, high)| {
        format!("expected {}", words::band(gauge, low, high))
    });
    let name = words::gauge(quantity);
    let shown_unit = value.map_or(unit, |value| value.unit).symbol();
    GaugeView {
        name: name.to_owned(),
        value: text.to_owned(),
        unit: shown_unit.to_owned(),
        face: scale.face(band.map(|(low, high)| (low.in_unit(unit), high.in_unit(unit)))),
        needle_degrees: value.map(|value| scale.needle_degrees(value.value_in(unit))),
        tone: judged.map_or(Tone::None, |judged| judged.verdict.into()),
        verdict: verdict.to_owned(),
        spoken: spoken(name, text, shown_unit, verdict, &expected),
        expected,
        is_chosen,
    }
}

fn spoken(name: &str, text: &str, unit: &str, verdict: &str, expected: &str) -> String {
    let value = if text.is_empty() {
        "not read".to_owned()
    } else {
        format!("{text} {unit}")
    };
    [
        format!("{name} {value}"),
        verdict.to_owned(),
        expected.to_owned(),
    ]
    .iter()
    .filter(|part| !part.is_empty())
    .cloned()
    .collect::<Vec<_>>()
    .join(", ")
}

/// Shows a gauge for reading back.
#[must_use]
pub fn figure(
    station: &Station,
    judgement: &Judgement,
    quantity: Quantity,
    value: Option<Typed>,
) -> Figure {
    let judged = judgement.get(quantity);
    let unit = value.map_or(station.gauge(quantity).unit(), |value| value.unit);
    Figure {
        name: words::gauge(quantity).to_owned(),
        value: value.map_or_else(|| "\u{2013}".to_owned(), |value| value.digits.to_string()),
        unit: value.map_or_else(String::new, |_| unit.symbol().to_owned()),
        tone: judged.map_or(Tone::None, |judged| judged.verdict.into()),
        verdict: match (judged, value) {
            (Some(judged), _) => words::verdict(judged.verdict).to_owned(),
            (None, Some(_)) => "not judged".to_owned(),
            (None, None) => "not read".to_owned(),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::units::Unit;
    use winze_core::verdict::{Entry, judge};

    #[test]
    fn gauge_not_read_has_no_needle_and_no_verdict_but_its_expectation() {
        let station = samples::station();
        let judgement = judge(&station, &Entry::default());
        let view = gauge(&station, &judgement, Quantity::Inlet, "", None, true);
        assert_eq!(view.needle_degrees, None);
        assert_eq!((view.value.as_str(), view.verdict.as_str()), ("", ""));
        assert_eq!(view.expected, "expected 9.2 to 11.2");
        assert_eq!(view.spoken, "inlet not read, expected 9.2 to 11.2");
        assert!(!view.face.band.is_empty());
    }

    #[test]
    fn needle_and_verdict_follow_what_is_typed() {
        let station = samples::station();
        let entry = samples::entry(["10.2", "4.1", "2.6"]);
        let judgement = judge(&station, &entry);
        let outlet = gauge(
            &station,
            &judgement,
            Quantity::Outlet,
            "2.6",
            entry.outlet,
            false,
        );
        assert_eq!(
            (outlet.tone, outlet.verdict.as_str()),
            (Tone::Outside, "outside")
        );
        let needle = outlet.needle_degrees.expect("a needle");
        assert!(
            (needle - (-135.0 + 270.0 * 2.6 / 4.0)).abs() < 1e-6,
            "{needle}"
        );
    }

    #[test]
    fn value_in_another_unit_stands_at_its_place_on_the_dial() {
        let station = samples::station();
        let value = Typed::new(samples::digits("150"), Unit::Psi);
        let entry = Entry::default().with(Quantity::Inlet, Some(value));
        let judgement = judge(&station, &entry);
        let view = gauge(
            &station,
            &judgement,
            Quantity::Inlet,
            "150",
            Some(value),
            true,
        );
        assert_eq!(view.unit, "psi");
        // 150 psi are 10.342 bar (NIST SP 811).
        let needle = view.needle_degrees.expect("a needle");
        assert!(
            (needle - (-135.0 + 270.0 * 10.342 / 16.0)).abs() < 0.01,
            "{needle}"
        );
    }

    #[test]
    fn figure_of_a_gauge_not_read_says_so() {
        let station = samples::station();
        let judgement = judge(&station, &Entry::default());
        let back = figure(&station, &judgement, Quantity::Outlet, None);
        assert_eq!(
            (back.value.as_str(), back.verdict.as_str()),
            ("\u{2013}", "not read")
        );
    }
}
