//! The hydraulic check in words: recommendations, and what a figure lacks.

use winze_core::hydraulics::{
    Datum, DutyFlow, Failed, Gap, Lack, LimitKind, RatioWindow, Recommendation, SigmaLimit, Stage,
};
use winze_core::station::Quantity;
use winze_core::units::{Pressure, Unit};

use super::UserMessage;
use super::number::{amount, percent, significant};

/// A recommendation with its figures and what to do, pressures in `unit`.
#[must_use]
pub fn recommendation(recommendation: &Recommendation, unit: Unit) -> UserMessage {
    let (what, next) = what_and_next(recommendation, unit);
    UserMessage::new(what, "", next)
}

#[allow(
    clippy::too_many_lines,
    reason = "one arm for each thing that can be recommended"
)]
fn what_and_next(recommendation: &Recommendation, unit: Unit) -> (String, String) {
    let show = |pressure: Pressure| amount(pressure, unit);
    match recommendation {
        Recommendation::DownstreamUnprotected {
            failed,
            outlet,
            excess,
            relief,
        } => {
            let relief = match relief {
                Some(relief) => format!("the relief valve only opens at {}", show(*relief)),
                None => "no relief valve is recorded".to_owned(),
            };
            (
                format!(
                    "With {}, {} reaches the pipework, {} more than it may see, and {relief}.",
                    failed_in_words(*failed),
                    show(*outlet),
                    show(*excess)
                ),
                "Fit or reset a relief valve that can pass the flow, or raise what the pipework \
                 may see."
                    .to_owned(),
            )
        }
        Recommendation::SetPointTooNearInterstage {
            set_point,
            needed,
            expected,
            least,
        } => (
            format!(
                "For the set point {} the second stage needs {} before it. At the lowest usual \
                 inlet pressure it has {}, and {} if the ratio is at the end of its tolerance.",
                show(*set_point),
                show(*needed),
                show(*expected),
                show(*least)
            ),
            "Choose a smaller ratio or a lower set point.".to_owned(),
        ),
        Recommendation::SetPointOutsideSpring {
            set_point,
            low,
            high,
        } => (
            format!(
                "The pilot spring reaches {} to {}, not the set point {}.",
                show(*low),
                show(*high),
                show(*set_point)
            ),
            "Fit a pilot spring whose range holds the set point.".to_owned(),
        ),
        Recommendation::StageUndersized {
            stage,
            flow,
            required_kv,
            share,
        } => (
            format!(
                "At the {} flow and the lowest inlet pressure the {} needs Kv {}, {} of what it \
                 is rated.",
                flow_in_words(*flow),
                stage_in_words(*stage),
                significant(*required_kv, 3),
                percent(*share)
            ),
            if *share > 1.0 {
                "It cannot pass that flow. Choose a larger one."
            } else {
                "It has little in hand. Choose a larger one."
            }
            .to_owned(),
        ),
        Recommendation::StageOversized {
            stage,
            flow,
            required_kv,
            share,
        } => (
            format!(
                "At the {} flow and the highest inlet pressure the {} needs only Kv {}, {} of \
                 what it is rated: it works on its seat and may hunt.",
                flow_in_words(*flow),
                stage_in_words(*stage),
                significant(*required_kv, 3),
                percent(*share)
            ),
            "Choose a smaller one, or a smaller one beside it for small flows.".to_owned(),
        ),
        Recommendation::StageWouldCavitate {
            stage,
            sigma,
            limit,
            window,
        } => (
            format!(
                "At the highest usual inlet pressure the {} works at sigma {}; {}.",
                stage_in_words(*stage),
                significant(*sigma, 3),
                limit_in_words(*limit)
            ),
            match window {
                Some(window) => format!(
                    "{} would suit both stages; so might trim made for more.",
                    window_in_words(window)
                ),
                None => "Choose trim made for more, or take less off in this stage.".to_owned(),
            },
        ),
        Recommendation::StageChoked {
            stage,
            drop,
            choked_drop,
            ..
        } => (
            format!(
                "The {} takes off {} and is choked from {}: opening further passes no more water.",
                stage_in_words(*stage),
                show(*drop),
                show(*choked_drop)
            ),
            "Take less off in this stage, or choose trim with a higher FL.".to_owned(),
        ),
        Recommendation::TwoStagesNotEnough {
            second_from,
            first_up_to,
        } => (
            format!(
                "No ratio keeps both stages within their own limits on sigma: the second needs \
                 at least {}, the first bears at most {}.",
                significant(*second_from, 3),
                significant(*first_up_to, 3)
            ),
            "Plan a third stage, or trim made for more.".to_owned(),
        ),
        Recommendation::TwoStagesNotNeeded {
            sigma,
            limit,
            share,
        } => (
            format!(
                "The second stage alone would do: sigma {} with the whole drop ({}), {} of its \
                 rated Kv at the largest flow.",
                significant(*sigma, 3),
                limit_in_words(*limit),
                percent(*share)
            ),
            "Consider one stage, if its body is rated for the inlet pressure.".to_owned(),
        ),
        Recommendation::SurvivorWouldCavitate {
            failed,
            stage,
            sigma,
            limit,
            is_choked,
        } => {
            let limit = limit.map(|limit| format!("; {}", limit_in_words(limit)));
            let choked = if *is_choked == Some(true) {
                ", and is choked"
            } else {
                ""
            };
            (
                format!(
                    "With {} the {} works at sigma {}{choked}{}.",
                    failed_in_words(*failed),
                    stage_in_words(*stage),
                    significant(*sigma, 3),
                    limit.unwrap_or_default()
                ),
                "Should that happen, put the stuck stage right before the other wears.".to_owned(),
            )
        }
        Recommendation::GaugeOverranged { failed, gauge } => (
            format!(
                "With {} the {} gauge sees {} and ends at {}.",
                failed_in_words(*failed),
                quantity_in_words(gauge.quantity),
                show(gauge.pressure),
                show(gauge.full_scale)
            ),
            "Fit a gauge with a longer scale or an overpressure stop, or check it after such a \
             failure."
                .to_owned(),
        ),
        Recommendation::DataLacking { lacks } => (
            format!(
                "Not everything could be checked, for want of: {}.",
                lacks_in_words(lacks)
            ),
            "Add these to the station's definition.".to_owned(),
        ),
    }
}

/// Why there is nothing to check at all.
#[must_use]
pub fn nothing_to_check(gap: &Gap) -> UserMessage {
    UserMessage::new(
        format!("There is nothing to check: {}.", gap_in_words(gap)),
        "Nothing was changed.",
        "Put the station's definition right.",
    )
}

/// Why a figure is not there, as a clause.
#[must_use]
pub fn gap_in_words(gap: &Gap) -> String {
    match gap {
        Gap::Lacking(lacks) => format!("for want of {}", lacks_in_words(lacks)),
        Gap::NoDrop => "the stage has nothing to reduce".to_owned(),
        Gap::Boils => "the water would boil before the stage".to_owned(),
    }
}

/// What is lacking, separated by commas.
#[must_use]
pub fn lacks_in_words(lacks: &[Lack]) -> String {
    let texts: Vec<String> = lacks.iter().map(|&lack| lack_in_words(lack)).collect();
    texts.join(", ")
}

/// One thing that is lacking.
#[must_use]
pub fn lack_in_words(lack: Lack) -> String {
    match lack {
        Lack::Missing(datum) => datum_in_words(datum),
        Lack::Unusable(datum) => format!("a sensible {}", datum_in_words(datum)),
    }
}

fn datum_in_words(datum: Datum) -> String {
    let of = |what: &str, stage| format!("{what} of the {}", stage_in_words(stage));
    match datum {
        Datum::InletUsual => "usual inlet pressure".into(),
        Datum::Ratio => "ratio above 1".into(),
        Datum::SetPoint => "set point".into(),
        Datum::MinimumDifferential => "minimum differential".into(),
        Datum::WaterTemperature => "water temperature".into(),
        Datum::Height => "altitude or depth".into(),
        Datum::DutyMin => "smallest flow".into(),
        Datum::DutyUsual => "usual flow".into(),
        Datum::DutyMax => "largest flow".into(),
        Datum::RatedKv(stage) => of("rated Kv", stage),
        Datum::RecoveryFactor(stage) => of("recovery factor FL", stage),
        Datum::SigmaLimit(stage) => of("permitted sigma or xFz", stage),
        Datum::Size(stage) => of("size", stage),
        Datum::SpringRange => "spring range of the pilot".into(),
        Datum::DownstreamMax => "highest permitted downstream pressure".into(),
        Datum::ReliefSet => "relief set pressure".into(),
    }
}

/// Names a stage.
#[must_use]
pub const fn stage_in_words(stage: Stage) -> &'static str {
    match stage {
        Stage::First => "first stage",
        Stage::Second => "second stage",
    }
}

/// Names a failure.
#[must_use]
pub const fn failed_in_words(failed: Failed) -> &'static str {
    match failed {
        Failed::First => "the first stage stuck open",
        Failed::Second => "the second stage stuck open",
        Failed::Both => "both stages stuck open",
    }
}

/// Names a flow.
#[must_use]
pub const fn flow_in_words(flow: DutyFlow) -> &'static str {
    match flow {
        DutyFlow::Min => "smallest",
        DutyFlow::Usual => "usual",
        DutyFlow::Max => "largest",
    }
}

const fn quantity_in_words(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Inlet => "inlet",
        Quantity::Interstage => "interstage",
        Quantity::Outlet => "outlet",
    }
}

fn limit_in_words(limit: SigmaLimit) -> String {
    let sigma = significant(limit.sigma, 3);
    match limit.kind {
        LimitKind::Permitted => format!("its maker permits no less than {sigma}"),
        LimitKind::Onset => format!("by its maker's xFz it begins to cavitate below {sigma}"),
    }
}

fn window_in_words(window: &RatioWindow) -> String {
    format!(
        "A ratio from {} to {}",
        significant(window.second_from, 3),
        significant(window.up_to(), 3)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_recommendation_carries_its_figures_and_what_to_do() {
        let raised = Recommendation::DownstreamUnprotected {
            failed: Failed::Both,
            outlet: Pressure::from_pa(1_100_000),
            excess: Pressure::from_pa(600_000),
            relief: None,
        };
        let message = recommendation(&raised, Unit::Bar);
        assert_eq!(
            message.what,
            "With both stages stuck open, 11.00 bar reaches the pipework, 6.00 bar more than it \
             may see, and no relief valve is recorded."
        );
        assert!(!message.next.is_empty());
    }

    #[test]
    fn what_is_lacking_is_named() {
        let lacks = [
            Lack::Missing(Datum::WaterTemperature),
            Lack::Unusable(Datum::RatedKv(Stage::Second)),
        ];
        assert_eq!(
            lacks_in_words(&lacks),
            "water temperature, a sensible rated Kv of the second stage"
        );
    }
}
