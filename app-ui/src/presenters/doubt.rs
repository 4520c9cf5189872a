//! A doubtful entry as one plain question, the value probably meant as an answer to touch.

use winze_core::slips::{Doubt, DoubtKind};
use winze_core::station::{Quantity, Station};
use winze_core::units::Typed;
use winze_core::verdict::Entry;

use super::view::{Choice, QuestionView};
use super::words;

/// Answer: the value offered first was meant.
pub const LIKELY: &str = "likely";
/// Answer: the value offered second was meant.
pub const SECOND: &str = "second";
/// Answer: it does read what was typed.
pub const AS_TYPED: &str = "as-typed";
/// Answer: it will be typed anew.
pub const ANEW: &str = "anew";

/// Puts a doubt about `entry` as a question.
#[must_use]
pub fn question(station: &Station, entry: &Entry, doubt: &Doubt) -> QuestionView {
    let value = doubt
        .quantity
        .and_then(|quantity| Some((quantity, entry.get(quantity)?)));
    let question = match value {
        Some((quantity, value)) => {
            format!(
                "{} {}: is that right?",
                words::gauge_capital(quantity),
                words::typed(value)
            )
        }
        None if doubt.likely.is_some() => "Did you mean other values?".to_owned(),
        None => "Are these values right?".to_owned(),
    };
    let mut answers = Vec::new();
    for (id, meant) in [(LIKELY, doubt.likely), (SECOND, doubt.second)] {
        if let Some(meant) = meant {
            answers.push(Choice {
                is_on: id == LIKELY,
                ..Choice::new(id, changes(station, entry, &meant))
            });
        }
    }
    let as_typed = match value {
        Some((_, value)) => format!("It does read {}", words::typed(value)),
        None => "They are as typed".to_owned(),
    };
    answers.push(Choice::new(AS_TYPED, as_typed));
    answers.push(Choice::new(ANEW, "Type it again"));
    QuestionView {
        question,
        detail: reason(station, doubt),
        answers,
    }
}

/// Names what another entry has different: "inlet 10.2 bar".
fn changes(station: &Station, entry: &Entry, meant: &Entry) -> String {
    let changed: Vec<String> = Quantity::ALL
        .into_iter()
        .filter(|quantity| entry.get(*quantity) != meant.get(*quantity))
        .filter_map(|quantity| {
            let value = meant.get(quantity)?;
            Some(format!(
                "{} {}",
                words::gauge_capital(quantity),
                on_dial(station, quantity, value)
            ))
        })
        .collect();
    changed.join(", ")
}

/// A value as typed; where that is not the dial's unit, also as the dial shows it.
fn on_dial(station: &Station, quantity: Quantity, value: Typed) -> String {
    let gauge = station.gauge(quantity);
    if value.unit == gauge.unit() {
        words::typed(value)
    } else {
        let shown = words::amount(gauge, value.to_pressure());
        format!("{}, that is {shown}", words::typed(value))
    }
}

fn reason(station: &Station, doubt: &Doubt) -> String {
    let name = doubt.quantity.map_or("gauge", words::gauge);
    let ends = doubt.quantity.map(|quantity| {
        let gauge = station.gauge(quantity);
        (words::typed(gauge.low), words::typed(gauge.high))
    });
    match doubt.kind {
        DoubtKind::AboveSpan => match ends {
            Some((_, high)) => format!("The dial of the {name} gauge ends at {high}."),
            None => "It is more than the dial can show.".to_owned(),
        },
        DoubtKind::AboveWorkingRange => match ends {
            Some((_, high)) => format!(
                "That is close to the end of the dial ({high}), and more than is usual here."
            ),
            None => "That is close to the end of the dial.".to_owned(),
        },
        DoubtKind::Negative => match ends {
            Some((low, _)) => format!("The dial of the {name} gauge begins at {low}."),
            None => "It is less than the dial can show.".to_owned(),
        },
        DoubtKind::Order => {
            "It is higher than the gauge before it, and a reducing station cannot raise pressure."
                .to_owned()
        }
        // No slip leads to a value that would be likely enough to offer.
        DoubtKind::UnitSlip
        | DoubtKind::DecimalSlip
        | DoubtKind::DigitsSwapped
        | DoubtKind::DigitAdded
        | DoubtKind::DigitMissing
        | DoubtKind::DigitWrong
        | DoubtKind::GaugesSwapped
        | DoubtKind::Jump
            if doubt.likely.is_none() =>
        {
            "It is far from what is to be expected at this station.".to_owned()
        }
        DoubtKind::UnitSlip => "The number fits this station in another unit.".to_owned(),
        DoubtKind::DecimalSlip => {
            "The number fits this station with its decimal point elsewhere.".to_owned()
        }
        DoubtKind::DigitsSwapped => {
            "The number fits this station with two digits the other way round.".to_owned()
        }
        DoubtKind::DigitAdded => "The number fits this station with one digit less.".to_owned(),
        DoubtKind::DigitMissing => "The number fits this station with one digit more.".to_owned(),
        DoubtKind::DigitWrong => "The number fits this station with one other digit.".to_owned(),
        DoubtKind::GaugesSwapped => "Each value fits on another of the gauges.".to_owned(),
        DoubtKind::SameAsEver => {
            "It has been the same on every visit for long. Tap the gauge: does the needle move?"
                .to_owned()
        }
        DoubtKind::Jump => "It is far from what this station has read so far.".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::units::Unit;

    fn doubt(kind: DoubtKind, quantity: Option<Quantity>, likely: Option<Entry>) -> Doubt {
        Doubt {
            kind,
            quantity,
            likely,
            second: None,
            probability: 0.99,
        }
    }

    #[test]
    fn unit_slip_offers_the_value_meant_in_both_units() {
        let station = samples::station();
        let entry = samples::entry(["150", "", ""]);
        let meant = Typed::new(samples::digits("150"), Unit::Psi);
        let likely = entry.with(Quantity::Inlet, Some(meant));
        let doubt = doubt(DoubtKind::UnitSlip, Some(Quantity::Inlet), Some(likely));
        let view = question(&station, &entry, &doubt);
        assert_eq!(view.question, "Inlet 150 bar: is that right?");
        let labels: Vec<_> = view
            .answers
            .iter()
            .map(|answer| answer.label.as_str())
            .collect();
        assert_eq!(
            labels,
            [
                "Inlet 150 psi, that is 10.3 bar",
                "It does read 150 bar",
                "Type it again"
            ]
        );
    }

    #[test]
    fn swapped_gauges_name_all_that_would_change() {
        let station = samples::station();
        let entry = samples::entry(["4.1", "10.2", "2.0"]);
        let likely = samples::entry(["10.2", "4.1", "2.0"]);
        let view = question(
            &station,
            &entry,
            &doubt(DoubtKind::GaugesSwapped, None, Some(likely)),
        );
        assert_eq!(view.answers[0].label, "Inlet 10.2 bar, Interstage 4.1 bar");
        assert_eq!(view.answers[0].id, LIKELY);
    }

    #[test]
    fn doubt_without_a_likely_value_offers_only_the_two_plain_answers() {
        let station = samples::station();
        let entry = samples::entry(["", "", "9"]);
        let view = question(
            &station,
            &entry,
            &doubt(DoubtKind::AboveSpan, Some(Quantity::Outlet), None),
        );
        assert_eq!(view.detail, "The dial of the outlet gauge ends at 4 bar.");
        let ids: Vec<_> = view
            .answers
            .iter()
            .map(|answer| answer.id.as_str())
            .collect();
        assert_eq!(ids, [AS_TYPED, ANEW]);
    }

    #[test]
    fn several_values_in_doubt_are_asked_about_together() {
        let station = samples::station();
        let entry = samples::entry(["4.1", "2.0", ""]);
        let view = question(&station, &entry, &doubt(DoubtKind::UnitSlip, None, None));
        assert_eq!(view.question, "Are these values right?");
        assert!(view.detail.contains("expected"), "{}", view.detail);
        assert!(view.answers.iter().all(|answer| !answer.is_on));
    }

    #[test]
    fn every_kind_of_doubt_has_its_reason() {
        let station = samples::station();
        let mut reasons = std::collections::BTreeSet::new();
        for kind in DoubtKind::ALL {
            let likely = Some(samples::entry(["10.2", "", ""]));
            let said = reason(&station, &doubt(kind, Some(Quantity::Inlet), likely));
            assert!(said.len() > 20, "{kind:?}");
            reasons.insert(said);
        }
        assert_eq!(reasons.len(), DoubtKind::ALL.len());
    }
}
