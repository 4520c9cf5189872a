//! A flag in words: its shape, what it is about, and what it means for the days to come.

use winze_core::assess::RaisedRule;
use winze_core::watch::FlagQuantity;

use super::course::{Finding, Leaves};
use super::view::Tone;
use super::{moment, words};
use crate::messages::watch;

/// The shape that stands for a rule; the word always stands beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FlagShape {
    /// No flag.
    #[default]
    None,
    /// A slow change: a slope.
    Drift,
    /// A sudden change: a step.
    Jump,
    /// A needle that never moves: two bars.
    Stuck,
    /// Outside its band: the diamond of the verdict.
    Outside,
    /// A value written down wrongly: a cross.
    Slip,
    /// A new baseline begins: an upright bar.
    Baseline,
}

impl From<RaisedRule> for FlagShape {
    fn from(rule: RaisedRule) -> Self {
        match rule {
            RaisedRule::Drift => Self::Drift,
            RaisedRule::Jump => Self::Jump,
            RaisedRule::Stuck => Self::Stuck,
            RaisedRule::Outside => Self::Outside,
            RaisedRule::Slip => Self::Slip,
        }
    }
}

/// What a flag means by its colour: outside its band is one thing, a change another.
#[must_use]
pub const fn tone(rule: RaisedRule) -> Tone {
    match rule {
        RaisedRule::Outside => Tone::Outside,
        RaisedRule::Drift | RaisedRule::Jump | RaisedRule::Stuck | RaisedRule::Slip => {
            Tone::Caution
        }
    }
}

/// A rule in a word or two, beside its mark in a strip of history.
#[must_use]
pub const fn short_word(rule: RaisedRule) -> &'static str {
    match rule {
        RaisedRule::Drift => "slow change",
        RaisedRule::Jump => "sudden change",
        RaisedRule::Stuck => "never moves",
        RaisedRule::Outside => "outside",
        RaisedRule::Slip => "slip",
    }
}

/// A flag with its words.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FlagLine {
    /// Its shape; [`FlagShape::None`] for no flag at all.
    pub shape: FlagShape,
    /// Its colour.
    pub tone: Tone,
    /// "Slow change: outlet pressure".
    pub heading: String,
    /// One sentence: when the quantity leaves its band, or how far it is off.
    pub detail: String,
}

/// Words a finding. `now_ms` and `offset` say how days are written.
#[must_use]
pub fn line(finding: &Finding, now_ms: i64, offset: i16) -> FlagLine {
    FlagLine {
        shape: finding.rule.into(),
        tone: tone(finding.rule),
        heading: heading(finding),
        detail: match &finding.leaves {
            Some(when) => leaves(finding.quantity, when, now_ms, offset),
            None => how_far(finding, now_ms, offset),
        },
    }
}

/// Words a finding's rule and quantity.
#[must_use]
pub fn heading(finding: &Finding) -> String {
    let rule = words::capital(watch::rule(finding.rule));
    let worse = if finding.is_worse {
        ", grown worse"
    } else {
        ""
    };
    format!("{rule}: {}{worse}", watch::quantity(finding.quantity))
}

/// "At this rate the outlet leaves its band about 12 March (8 February to 3 May)."
#[must_use]
pub fn leaves(quantity: FlagQuantity, when: &Leaves, now_ms: i64, offset: i16) -> String {
    let name = match quantity {
        FlagQuantity::Inlet | FlagQuantity::InletGauge => "inlet",
        FlagQuantity::FirstStage | FlagQuantity::InterstageGauge => "interstage",
        FlagQuantity::Outlet | FlagQuantity::OutletGauge => "outlet",
    };
    let date = |ms| moment::date(ms, now_ms, offset);
    let between = match when.latest_ms {
        Some(latest) => format!("{} to {}", date(when.earliest_ms), date(latest)),
        None => format!("{} at the earliest", date(when.earliest_ms)),
    };
    format!(
        "At this rate the {name} leaves its band about {} ({between}).",
        date(when.likely_ms)
    )
}

/// How far a quantity is off its usual, and since when.
fn how_far(finding: &Finding, now_ms: i64, offset: i16) -> String {
    let since = match finding.onset_ms {
        Some(onset) => format!(" since about {}", moment::date(onset, now_ms, offset)),
        None => String::new(),
    };
    match finding.rule {
        RaisedRule::Stuck => {
            "It shows the same value more often than a needle that moves would.".to_owned()
        }
        RaisedRule::Slip => "Another value fits this station far better.".to_owned(),
        RaisedRule::Outside => "It has been outside on more than one visit.".to_owned(),
        RaisedRule::Drift | RaisedRule::Jump => {
            let percent = (finding.shift.exp() - 1.0) * 100.0;
            if percent.abs() < 0.5 {
                return format!("It moves about its usual{since}.");
            }
            // The first stage is watched as inlet over interstage: more of it is less pressure.
            let is_up = (percent > 0.0) != (finding.quantity == FlagQuantity::FirstStage);
            let side = if is_up { "above" } else { "below" };
            format!("About {:.0} % {side} its usual{since}.", percent.abs())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::course::samples;
    use crate::presenters::course::samples::drift;

    /// 2027-01-12.
    const NOW_MS: i64 = 1_799_712_000_000;
    const DAY_MS: i64 = 86_400_000;

    #[test]
    fn forecast_is_one_plain_sentence_with_its_range() {
        let said = line(&drift(NOW_MS), NOW_MS, 0);
        assert_eq!(said.heading, "Slow change: outlet pressure");
        assert_eq!(
            said.detail,
            "At this rate the outlet leaves its band about 13 March (11 February to 22 May)."
        );
        assert_eq!((said.shape, said.tone), (FlagShape::Drift, Tone::Caution));
    }

    #[test]
    fn without_an_end_only_the_earliest_day_is_told() {
        let open = Leaves {
            latest_ms: None,
            likely_ms: NOW_MS + 400 * DAY_MS,
            ..samples::leaves(NOW_MS)
        };
        assert_eq!(
            leaves(FlagQuantity::FirstStage, &open, NOW_MS, 0),
            "At this rate the interstage leaves its band about 16 February 2028 (11 February at \
             the earliest)."
        );
    }

    #[test]
    fn without_a_forecast_the_size_is_told_and_the_first_stage_is_turned_round() {
        let mut finding = Finding {
            leaves: None,
            shift: -0.0619,
            ..drift(NOW_MS)
        };
        assert_eq!(
            line(&finding, NOW_MS, 0).detail,
            "About 6 % below its usual since about 3 November 2026."
        );
        finding.quantity = FlagQuantity::FirstStage;
        finding.is_worse = true;
        let said = line(&finding, NOW_MS, 0);
        assert!(said.detail.contains("6 % above"), "{}", said.detail);
        assert_eq!(said.heading, "Slow change: first stage, grown worse");
    }
}
