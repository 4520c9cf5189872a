//! The two sentences under the dials: what the readings mean, and what to do.
//!
//! They inform. They never tell anyone to enter a place or to open anything.

use winze_core::station::{Quantity, Station};
use winze_core::units::Pressure;
use winze_core::verdict::{Basis, FlowState, Judged, Judgement, StationState, Verdict};

use super::view::{Sentences, Tone};
use super::words;

/// Says what a judgement means and what to do about it. `flow` is what was noted of it.
#[must_use]
pub fn sentences(station: &Station, judgement: &Judgement, flow: FlowState) -> Sentences {
    let worst = judgement.worst();
    let read = judgement.iter().count();
    match (
        worst,
        judgement
            .iter()
            .find(|judged| Some(judged.verdict) == worst),
    ) {
        (None, _) | (_, None) => nothing_read(judgement),
        (Some(Verdict::Within), _) => all_within(station, judgement, read),
        (Some(Verdict::Unsure), Some(judged)) => unsure(station, judged),
        (Some(Verdict::Outside), Some(judged)) => outside(station, judgement, judged, flow),
    }
}

fn of(tone: Tone, meaning: String, advice: impl Into<String>) -> Sentences {
    Sentences {
        meaning,
        advice: advice.into(),
        tone,
    }
}

fn nothing_read(judgement: &Judgement) -> Sentences {
    let is_known = judgement.expected.inlet.is_some() || judgement.expected.outlet.is_some();
    let advice = if is_known {
        "Touch a dial where its needle stands, or type the value."
    } else {
        "Touch a dial or type the value. Nothing is expected here yet, so nothing is judged."
    };
    of(Tone::None, "Read the three gauges.".to_owned(), advice)
}

fn all_within(station: &Station, judgement: &Judgement, read: usize) -> Sentences {
    let missing = Quantity::ALL
        .into_iter()
        .find(|quantity| judgement.get(*quantity).is_none());
    match missing {
        Some(quantity) => {
            let gauge = station.gauge(quantity);
            let name = words::gauge(quantity);
            let advice = match judgement.expected.on_dial(station, quantity) {
                Some((low, high)) => format!(
                    "Next the {name}: {} {} expected.",
                    words::band(gauge, low, high),
                    gauge.unit().symbol()
                ),
                None => format!("Next the {name}."),
            };
            let meaning = if read == 1 {
                "The gauge read stands where it should."
            } else {
                "Both gauges read stand where they should."
            };
            of(Tone::Within, meaning.to_owned(), advice)
        }
        None => of(
            Tone::Within,
            "All three stand where they should.".to_owned(),
            "Look round for leak, damage, noise, flooding and access; then read back.",
        ),
    }
}

fn unsure(station: &Station, judged: &Judged) -> Sentences {
    let quantity = judged.quantity;
    let gauge = station.gauge(quantity);
    let limit = if judged.is_high() {
        judged.expectation.high
    } else {
        judged.expectation.low
    };
    of(
        Tone::Unsure,
        format!(
            "The {} is too close to its limit of {} for this gauge to tell.",
            words::gauge(quantity),
            words::amount(gauge, limit - judged.correction)
        ),
        "Tap the gauge lightly and read it again; a test gauge would settle it.",
    )
}

fn outside(
    station: &Station,
    judgement: &Judgement,
    judged: &Judged,
    flow: FlowState,
) -> Sentences {
    let quantity = judged.quantity;
    if let Some(said) = off_the_dial(station, judged) {
        return said;
    }
    let is_high = judged.is_high();
    let beyond = if is_high {
        judged.observed - judged.expectation.high
    } else {
        judged.expectation.low - judged.observed
    };
    let meaning = format!(
        "The {} stands {} {} {}.",
        words::gauge(quantity),
        words::amount(
            station.gauge(quantity),
            beyond.abs().max(Pressure::from_pa(1))
        ),
        if is_high { "above" } else { "below" },
        band_name(station, judged),
    );
    let advice = match (quantity, is_high) {
        (Quantity::Inlet, true) => {
            "Read it again. If it stays, the supply has risen: report it before looking further."
        }
        (Quantity::Inlet, false) => {
            "Read it again. If it stays, the supply is weak: valve not fully open, or heavy draw-off?"
        }
        (Quantity::Interstage, true) if flow != FlowState::Flowing => {
            "Read it again while water flows. If it stays, the first stage lets water pass: report it."
        }
        (Quantity::Interstage, true) => {
            "Tap the gauge and read it again. If it stays, report the first stage."
        }
        (Quantity::Interstage, false) => {
            "Tap the gauge and read it again. If it stays, suspect a strainer filling up, then the first stage."
        }
        (Quantity::Outlet, true) if flow == FlowState::NotNoted => {
            "Note whether water flows: with no flow the outlet may stand somewhat higher."
        }
        (Quantity::Outlet, true) => {
            "Tap the gauge and read it again. If it stays, report the second stage."
        }
        (Quantity::Outlet, false) if judgement.state == StationState::Starved => {
            "The interstage pressure is too low for the second stage to hold: look at the supply first."
        }
        (Quantity::Outlet, false) => {
            "Tap the gauge and read it again. If it stays while water flows, report the second stage."
        }
    };
    of(Tone::Outside, meaning, advice)
}

/// A value that no needle on this gauge can show says nothing about the pressure.
fn off_the_dial(station: &Station, judged: &Judged) -> Option<Sentences> {
    let gauge = station.gauge(judged.quantity);
    let value = judged.typed.to_pressure();
    let (end, side) = if value > gauge.high.to_pressure() {
        (gauge.high, "ends")
    } else if value < gauge.low.to_pressure() {
        (gauge.low, "begins")
    } else {
        return None;
    };
    Some(of(
        Tone::Outside,
        format!(
            "{} lies off the dial: the {} gauge {side} at {}.",
            words::typed(judged.typed),
            words::gauge(judged.quantity),
            words::typed(end)
        ),
        "Look at the decimal point and the unit, and read it again.",
    ))
}

/// What the band is that a reading has left.
fn band_name(station: &Station, judged: &Judged) -> String {
    match judged.expectation.basis {
        Basis::UsualRange => "its usual range".to_owned(),
        Basis::NominalRatio | Basis::AsLeftRatio => {
            "what the inlet and the ratio ask for".to_owned()
        }
        Basis::UsualRangeThroughRatio => "what the usual inlet and the ratio ask for".to_owned(),
        Basis::SetPoint => format!(
            "the band round its set point of {}",
            words::typed(station.second_stage.set_point)
        ),
        Basis::FollowsInterstage => "what the interstage pressure lets through".to_owned(),
        Basis::LockUp => "what it may reach with no flow".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::verdict::judge;

    fn say(values: [&str; 3], flow: FlowState) -> Sentences {
        let station = samples::station();
        let mut entry = samples::entry(values);
        entry.flow = flow;
        sentences(&station, &judge(&station, &entry), flow)
    }

    #[test]
    fn nothing_read_asks_for_the_gauges() {
        let said = say(["", "", ""], FlowState::NotNoted);
        assert_eq!(said.tone, Tone::None);
        assert_eq!(said.meaning, "Read the three gauges.");
    }

    #[test]
    fn good_values_say_so_and_name_what_comes_next() {
        let said = say(["10.2", "", ""], FlowState::NotNoted);
        assert_eq!(said.tone, Tone::Within);
        assert!(
            said.advice.starts_with("Next the interstage: 3.6"),
            "{}",
            said.advice
        );
        let said = say(["10.2", "4.1", "2.0"], FlowState::NotNoted);
        assert_eq!(said.meaning, "All three stand where they should.");
    }

    #[test]
    fn high_outlet_asks_about_the_flow_before_it_blames_the_second_stage() {
        let said = say(["10.2", "4.1", "2.6"], FlowState::NotNoted);
        assert_eq!(said.tone, Tone::Outside);
        assert!(
            said.meaning
                .starts_with("The outlet stands 0.40 bar above the band"),
            "{}",
            said.meaning
        );
        assert!(
            said.advice.contains("whether water flows"),
            "{}",
            said.advice
        );
        let said = say(["10.2", "4.1", "2.6"], FlowState::Flowing);
        assert!(said.advice.contains("second stage"), "{}", said.advice);
    }

    #[test]
    fn value_no_needle_can_show_is_called_off_the_dial() {
        let said = say(["150", "", ""], FlowState::NotNoted);
        assert_eq!(
            said.meaning,
            "150 bar lies off the dial: the inlet gauge ends at 16 bar."
        );
        assert_eq!(said.tone, Tone::Outside);
        let said = say(["10.2", "4.1", "4.0"], FlowState::Flowing);
        assert!(said.meaning.contains("above"), "{}", said.meaning);
    }

    #[test]
    fn starved_station_points_at_the_supply() {
        let said = say(["5.0", "2.0", "1.0"], FlowState::Flowing);
        assert_eq!(said.tone, Tone::Outside);
        assert!(
            said.meaning.starts_with("The inlet stands 4.2 bar below"),
            "{}",
            said.meaning
        );
    }

    #[test]
    fn close_value_is_called_unsure_with_its_limit() {
        let said = say(["10.2", "4.1", "2.19"], FlowState::Flowing);
        assert_eq!(said.tone, Tone::Unsure);
        assert!(
            said.meaning.contains("limit of 2.20 bar"),
            "{}",
            said.meaning
        );
    }
}
