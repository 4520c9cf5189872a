//! What the calibration assistant says, in words a hand on a screw can use.

use winze_core::calibration::{
    Advice, Again, Assistance, Drift, HandTurns, Note, RateBasis, Refusal, Setting, Span,
};
use winze_core::units::{Pressure, Unit};

use super::counted;
use super::number::{amount, percent, significant};

/// An advice: a few words to act on, and a sentence.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AdviceWords {
    /// What to do.
    pub heading: String,
    /// More about it.
    pub detail: String,
}

/// Turns as a hand counts them, without a direction: "1 and 3/8 turns", "3/8 of a turn".
#[must_use]
pub fn turns(turns: HandTurns) -> String {
    match turns.parts() {
        (0, 0, _) => "no turn".to_owned(),
        (1, 0, _) => "1 turn".to_owned(),
        (whole, 0, _) => format!("{whole} turns"),
        (0, over, under) => format!("{over}/{under} of a turn"),
        (whole, over, under) => format!("{whole} and {over}/{under} turns"),
    }
}

/// Turns with their direction: "in 3/8 of a turn".
#[must_use]
pub fn turned(by: HandTurns) -> String {
    match by.thirty_seconds() {
        0 => "not turned".to_owned(),
        1.. => format!("in {}", turns(by)),
        _ => format!("out {}", turns(by)),
    }
}

/// What to do next.
#[must_use]
pub fn advice(assistance: &Assistance, setting: &Setting, unit: Unit) -> AdviceWords {
    let (heading, detail) = match assistance.advice {
        Advice::ReadFirst => (
            "Read before you turn".to_owned(),
            "Enter what the outlet shows while the screw stands as it is.".to_owned(),
        ),
        Advice::ReadAgain(Again::IsItStanding) => (
            "Read once more".to_owned(),
            "Leave the screw. One look does not show whether the needle stands.".to_owned(),
        ),
        Advice::ReadAgain(Again::Unlikely) => (
            "Read once more".to_owned(),
            "Leave the screw. That is far from what was foreseen: look again, count again."
                .to_owned(),
        ),
        Advice::Wait(drift) => (
            format!("Wait: still {}", moving(drift)),
            "Leave the screw. Read again when the needle stands.".to_owned(),
        ),
        Advice::TurnIn {
            turns: by,
            foreseen_pa,
            ..
        } => (
            format!("Turn in {}", turns(by)),
            format!("Then the outlet should show {}.", span(foreseen_pa, unit)),
        ),
        Advice::BackOff {
            turns: by,
            foreseen_pa,
        } => (
            format!("Turn out {}", turns(by)),
            format!(
                "The set point is passed. Go below it, to about {}, and come up again.",
                span(foreseen_pa, unit)
            ),
        ),
        Advice::Reached { probability } => (
            "Set point reached".to_owned(),
            format!(
                "{} sure that the needle stands within {} of {}.",
                percent(probability),
                amount(setting.tolerance, unit),
                amount(setting.target, unit)
            ),
        ),
        Advice::Stop(refusal) => return refused(refusal, setting, unit),
    };
    AdviceWords { heading, detail }
}

const fn moving(drift: Drift) -> &'static str {
    match drift {
        Drift::Rising => "rising",
        Drift::Falling => "falling",
    }
}

fn refused(refusal: Refusal, setting: &Setting, unit: Unit) -> AdviceWords {
    let (heading, detail) = match refusal {
        Refusal::NoDrawOff => (
            "No flow: not set",
            "Without flow the outlet shows lock-up only and says nothing of the pilot. Draw water \
             first."
                .to_owned(),
        ),
        Refusal::NotSensible => (
            "Stop: figures do not fit",
            "Set point and spring range do not go together. Ask the engineer.".to_owned(),
        ),
        Refusal::OffScale => (
            "Stop: off the scale",
            format!(
                "The set point {} lies beyond the end of the outlet gauge, {}.",
                amount(setting.target, unit),
                amount(setting.full_scale, unit)
            ),
        ),
        Refusal::AboveSpringRange | Refusal::BelowSpringRange => (
            "Stop: not with this spring",
            match setting.spring_range {
                Some((low, high)) => format!(
                    "The set point {} lies outside the spring's range, {} to {}.",
                    amount(setting.target, unit),
                    amount(low, unit),
                    amount(high, unit)
                ),
                None => "The set point lies outside the spring's range.".to_owned(),
            },
        ),
        Refusal::NoAnswer => (
            "Stop: no answer",
            "The screw went in and the pressure stayed. Look at pilot, filter and cocks."
                .to_owned(),
        ),
        Refusal::FellWhileScrewedIn => (
            "Stop: it fell",
            "The screw went in and the pressure fell. Was it turned the other way, or did supply \
             or draw-off change?"
                .to_owned(),
        ),
        Refusal::RoseWhileScrewedOut => (
            "Stop: it rose",
            "The screw went out and the pressure rose. Was it turned the other way, or did supply \
             or draw-off change?"
                .to_owned(),
        ),
        Refusal::SupplyTooLow => (
            "Stop: supply too low",
            format!(
                "The second stage needs {} more before it than behind it.",
                amount(setting.minimum_differential, unit)
            ),
        ),
        Refusal::GaugeTooCoarse => (
            "Stop: gauge too coarse",
            "This gauge cannot show whether the set point is reached without passing it. Use a \
             finer test gauge."
                .to_owned(),
        ),
    };
    AdviceWords {
        heading: heading.to_owned(),
        detail,
    }
}

/// What else is worth knowing.
#[must_use]
pub fn note(note: &Note, unit: Unit) -> String {
    match note {
        Note::MinimumDrawOff { fall_pa } => format!(
            "Not ideal: set at the smallest draw-off. At the usual one it falls by about {}.",
            middle(fall_pa, unit)
        ),
        Note::LeftOutNoDrawOff { count } => format!(
            "{} without flow left out.",
            counted(*count as u64, "reading", "readings")
        ),
        Note::EarlierLeftOut { stops } => format!(
            "{} before this left out: supply, draw-off or turns do not fit what came after.",
            counted(*stops as u64, "reading", "readings")
        ),
        Note::LeftWhileMoving => {
            "A reading was left while the needle still moved; it counts for less.".to_owned()
        }
        Note::LastMovedOut => {
            "Last turned outwards: there is slack behind the screw. Better to come up from below."
                .to_owned()
        }
        Note::SlackAhead { turns } => format!(
            "The first {} of a turn may move nothing: slack.",
            significant(turns.middle, 2)
        ),
        Note::AboveSpringRange { high } => format!(
            "The outlet stands above the spring's range, which ends at {}.",
            amount(*high, unit)
        ),
        Note::OffScale => "The reading lies off the gauge's scale.".to_owned(),
    }
}

/// A pressure with its 95 % interval: "1.92 bar (1.88 to 1.96)".
#[must_use]
pub fn span(span: Span, unit: Unit) -> String {
    let places = usize::from(unit.usual_decimals());
    let show = |pa: f64| format!("{:.places$}", unit.from_pa(pa));
    format!(
        "{} {} ({} to {})",
        show(span.middle),
        unit.symbol(),
        show(span.low.max(0.0)),
        show(span.high)
    )
}

/// Pressure a turn with its interval.
#[must_use]
pub fn rate(span: Span, basis: RateBasis, unit: Unit) -> String {
    let show = |pa: f64| significant(unit.from_pa(pa), 2);
    let on = match basis {
        RateBasis::Points => "",
        RateBasis::SpringRange => ", from the spring",
        RateBasis::SetPoint => ", a guess only",
    };
    format!(
        "{} {} ({} to {}){on}",
        show(span.middle),
        unit.symbol(),
        show(span.low.max(0.0)),
        show(span.high)
    )
}

/// Turns with their interval, as decimals.
#[must_use]
pub fn turns_span(span: Span) -> String {
    format!(
        "{:.2} ({:.2} to {:.2})",
        span.middle,
        span.low.max(0.0),
        span.high.max(0.0)
    )
}

fn middle(span: &Span, unit: Unit) -> String {
    let pressure = Pressure::from_f64_pa(span.middle).unwrap_or(Pressure::ZERO);
    amount(pressure, unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_are_said_as_a_hand_counts_them() {
        for (count, said) in [
            (0, "not turned"),
            (12, "in 3/8 of a turn"),
            (32, "in 1 turn"),
            (-44, "out 1 and 3/8 turns"),
            (64, "in 2 turns"),
        ] {
            assert_eq!(turned(HandTurns::of_thirty_seconds(count)), said);
        }
    }

    #[test]
    fn every_refusal_has_its_own_reason() {
        let setting = Setting::of(
            &crate::presenters::samples::station(),
            winze_core::calibration::Start::AsFound,
        );
        let said: std::collections::BTreeSet<String> = Refusal::ALL
            .into_iter()
            .map(|refusal| refused(refusal, &setting, Unit::Bar).heading)
            .collect();
        // Above and below the spring's range are one thing to the hand.
        assert_eq!(said.len(), Refusal::ALL.len() - 1);
    }
}
