//! Whether station, set point and duty suit each other, in words with the figures.

use winze_core::procedures::{Fit, Level};
use winze_core::units::Unit;
use winze_core::verdict::Verdict;

use super::hydraulics;
use super::number::{amount, percent};
use crate::presenters::words;

/// A level in a word.
#[must_use]
pub const fn level(level: Level) -> &'static str {
    match level {
        Level::Fits => "fits",
        Level::Note => "note",
        Level::Stop => "stop and ask",
    }
}

/// What the gravest of some findings comes to.
#[must_use]
pub const fn heading(worst: Level) -> &'static str {
    match worst {
        Level::Fits => "It fits",
        Level::Note => "It works; some of it is worth knowing",
        Level::Stop => "Stop and ask",
    }
}

/// What to do about it.
#[must_use]
pub const fn advice(worst: Level) -> &'static str {
    match worst {
        Level::Fits => "Go on.",
        Level::Note => "Go on, and tell whoever is responsible for the station.",
        Level::Stop => {
            "Ask whoever is responsible for the station. Going on needs their reason, which is kept."
        }
    }
}

/// A finding with its figures.
#[must_use]
#[allow(
    clippy::too_many_lines,
    reason = "one sentence for each finding, all in one place"
)]
pub fn fit(fit: &Fit, unit: Unit) -> String {
    let show = |pressure| amount(pressure, unit);
    match fit {
        Fit::FactorySetPoint {
            factory,
            wanted,
            band,
        } => format!(
            "It came set to {}; {} is wanted, and {} either way is allowed.",
            show(*factory),
            show(*wanted),
            show(*band)
        ),
        Fit::FactoryOutsideSpring { factory, low, high } => format!(
            "It came set to {}, but its spring reaches only {} to {}: plate, reading or spring is \
             not what it seems.",
            show(*factory),
            show(*low),
            show(*high)
        ),
        Fit::WantedInSpring {
            wanted,
            low,
            high,
            share,
        } => {
            let place = if (0.0..=1.0).contains(share) {
                format!("lies at {} of", percent(*share))
            } else {
                "lies outside".to_owned()
            };
            format!(
                "The set point {} {place} the spring's range, {} to {}.",
                show(*wanted),
                show(*low),
                show(*high)
            )
        }
        Fit::SpringNotKnown => {
            "The range of the pilot spring is not known, so it could not be checked.".to_owned()
        }
        Fit::InterstageAtLowest {
            wanted,
            needed,
            expected,
            least,
        } => format!(
            "For {} the second stage needs {} before it. At the lowest usual inlet pressure it \
             has {}, and {} at the end of the ratio's tolerance.",
            show(*wanted),
            show(*needed),
            show(*expected),
            show(*least)
        ),
        Fit::Supply {
            found,
            low,
            high,
            needed,
        } => format!(
            "The supply stands at {}. Usual is {} to {}; the set point needs {}.",
            show(*found),
            show(*low),
            show(*high),
            show(*needed)
        ),
        Fit::Hydraulic(advice) => {
            let said = hydraulics::recommendation(advice, unit);
            format!("{} {}", said.what, said.next)
        }
        Fit::NotChecked(gap) => hydraulics::nothing_to_check(gap).what,
        Fit::Left {
            quantity,
            observed,
            low,
            high,
            verdict,
        } => {
            let stands = match verdict {
                Verdict::Within => "within",
                Verdict::Unsure => "too close to the end of",
                Verdict::Outside => "outside",
            };
            format!(
                "{} {}, {stands} its band of {} to {}.",
                words::gauge_capital(*quantity),
                show(*observed),
                show(*low),
                show(*high)
            )
        }
        Fit::LeftWithoutFlow => {
            "It was read without flow, so the outlet shows lock-up only.".to_owned()
        }
        Fit::LeftStarved => {
            "The pressure between the stages is too low for the set point: the second stage stands \
             wide open."
                .to_owned()
        }
        Fit::LeftNotRead(quantity) => {
            format!("The {} gauge was not read.", words::gauge(*quantity))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use winze_core::procedures::{FitQuestion, compatibility};
    use winze_core::units::Typed;

    use crate::presenters::samples;

    #[test]
    fn set_point_beyond_the_spring_says_stop_with_its_figures() {
        let mut station = samples::station();
        let bar = |text: &str| Typed::new(samples::digits(text), Unit::Bar);
        station.second_stage.spring_range = Some((bar("0.5"), bar("1.5")));
        let question = FitQuestion {
            wanted: Some(bar("2.0")),
            ..FitQuestion::default()
        };
        let found = compatibility(&station, &question);
        assert_eq!(found.worst(), Level::Stop);
        let said: Vec<String> = found
            .findings
            .iter()
            .map(|one| fit(one, Unit::Bar))
            .collect();
        assert!(
            said[0].contains("2.00 bar lies outside") && said[0].contains("0.50 bar to 1.50 bar"),
            "{said:?}"
        );
        assert!(said.iter().all(|one| one.ends_with('.')), "{said:?}");
    }
}
