//! Why a station needs attention, each reason as one plain phrase.
//!
//! Which reasons there are and which presses most is the core's (`query::Need`); what the clerk
//! knows besides (missed, a question, something noticed) comes from [`super::office_attention`].

use winze_core::query::{Need, StationNeed};
use winze_core::station::{Quantity, Station};
use winze_core::suspects::Cause;
use winze_core::units::Pressure;
use winze_core::watch::{FlagQuantity, Watched};

use super::office_attention::Category;
use super::office_time as time;
use super::words;
use crate::messages::{counted, watch};

/// A suspect less probable than this is not named as the one behind something.
const NAMED_FROM: f64 = 0.5;

/// A reason in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// Its kind.
    pub category: Category,
    /// The same in a word.
    pub word: &'static str,
    /// Why, in one phrase.
    pub phrase: String,
}

/// Words every reason of a station, the most pressing first.
#[must_use]
pub fn reasons(station: &Station, needs: &StationNeed, utc_offset_minutes: i16) -> Vec<Reason> {
    let writer = Writer {
        station,
        needs: &needs.needs,
        utc_offset_minutes,
    };
    let mut reasons: Vec<Reason> = Vec::new();
    for need in &needs.needs {
        let reason = writer.reason(need);
        // That something stands and that it leaves its band is one reason, told once.
        let is_told = |told: &Reason| told.word == reason.word;
        if !reasons.iter().any(is_told) {
            reasons.push(reason);
        }
    }
    reasons
}

/// What was raised about a station and stands; `None` where a pressure is outside, for then that is
/// said already.
#[must_use]
pub fn flag(station: &Station, needs: &StationNeed, utc_offset_minutes: i16) -> Option<Reason> {
    let reasons = reasons(station, needs, utc_offset_minutes);
    let is = |category: Category| move |reason: &Reason| reason.category == category;
    if reasons.iter().any(is(Category::Outside)) {
        return None;
    }
    reasons.into_iter().find(is(Category::Flagged))
}

/// "the strainer is blocking (99 %)", where one suspect stands out behind what a gauge shows; else
/// nothing.
#[must_use]
pub fn suspected(needs: &StationNeed, quantity: Quantity) -> Option<String> {
    let named = named(behind(&needs.needs, quantity));
    named.strip_prefix(": ").map(str::to_owned)
}

fn behind(needs: &[Need], quantity: Quantity) -> Option<(Cause, f64)> {
    needs.iter().find_map(|need| match need {
        Need::Stands {
            quantity: about,
            suspect,
            ..
        } if strip(*about) == quantity => *suspect,
        _ => None,
    })
}

struct Writer<'a> {
    station: &'a Station,
    needs: &'a [Need],
    utc_offset_minutes: i16,
}

impl Writer<'_> {
    fn reason(&self, need: &Need) -> Reason {
        let make = |category: Category, word: &'static str, phrase: String| Reason {
            category,
            word,
            phrase,
        };
        let flagged = |word, phrase| make(Category::Flagged, word, phrase);
        match need {
            Need::Outside {
                quantity,
                observed,
                limit,
            } => {
                let phrase = self.outside(*quantity, *observed, *limit);
                make(Category::Outside, "outside", phrase)
            }
            Need::Stands { quantity, .. } => {
                flagged(self.standing_word(*quantity), self.stands(need))
            }
            Need::LeavesSoon { watched, .. } => {
                let name = words::gauge_capital(gauge_of(*watched));
                let phrase = format!("{name} {}", self.leaving(*watched).unwrap_or_default());
                flagged("drifting", phrase)
            }
            Need::Slip { quantity } => flagged(
                "slip",
                format!(
                    "Last reading of the {} was probably not meant",
                    watch::quantity(*quantity)
                ),
            ),
            Need::Unsure {
                quantity,
                probability,
            } => make(
                Category::Unsure,
                "unsure",
                format!(
                    "{} too near the end of its band to tell ({:.0} % sure it is within)",
                    words::gauge_capital(*quantity),
                    100.0 * probability
                ),
            ),
            Need::NotRead { days } => make(
                Category::Missed,
                "missed",
                format!(
                    "Not read for {}",
                    counted(days.unsigned_abs(), "day", "days")
                ),
            ),
            Need::NeverRead => make(Category::Missed, "not read", "Never read".to_owned()),
            Need::Disputed => make(
                Category::Question,
                "question",
                "Its definitions disagree".to_owned(),
            ),
        }
    }

    /// "Outlet 0.20 bar too high: the second stage is rising (90 %)".
    fn outside(&self, quantity: Quantity, observed: Pressure, limit: Pressure) -> String {
        let gauge = self.station.gauge(quantity);
        let beyond = (observed - limit).abs().max(Pressure::from_pa(1));
        let side = if observed > limit { "high" } else { "low" };
        let text = format!(
            "{} {} too {side}",
            words::gauge_capital(quantity),
            words::amount(gauge, beyond)
        );
        text + &named(behind(self.needs, quantity))
    }

    /// A gauge that stands still is one thing, a pressure that moves another.
    fn standing_word(&self, quantity: FlagQuantity) -> &'static str {
        match watched_of(quantity) {
            None => "stuck",
            Some(watched) if self.leaving(watched).is_some() => "drifting",
            Some(_) => "changed",
        }
    }

    fn stands(&self, need: &Need) -> String {
        let Need::Stands {
            quantity,
            since,
            shift,
            is_worse,
            suspect,
        } = need
        else {
            return String::new();
        };
        let since = time::short_day(since.timestamp_millis(), self.utc_offset_minutes);
        let Some(watched) = watched_of(*quantity) else {
            let gauge = words::capital(watch::quantity(*quantity));
            return match suspect {
                None | Some((Cause::GaugeStuck, _)) => {
                    format!("{gauge} never moves, since {since}")
                }
                Some(_) => format!("{gauge} in doubt since {since}{}", named(*suspect)),
            };
        };
        let name = words::gauge_capital(gauge_of(watched));
        let worse = if *is_worse { ", growing" } else { "" };
        let text = match (self.leaving(watched), how_far(watched, *shift)) {
            (Some(leaving), _) => format!("{name} {leaving}"),
            (None, Some(far)) => format!("{name} {far} since {since}{worse}"),
            (None, None) => format!("{name} unlike its past since {since}{worse}"),
        };
        text + &named(*suspect)
    }

    /// "leaves its band about 12 Mar, at the earliest 8 Feb".
    fn leaving(&self, about: Watched) -> Option<String> {
        self.needs.iter().find_map(|need| match need {
            Need::LeavesSoon {
                watched,
                likely,
                earliest,
            } if *watched == about => {
                let day = |at: &chrono::DateTime<chrono::Utc>| {
                    time::short_day(at.timestamp_millis(), self.utc_offset_minutes)
                };
                let (likely, earliest) = (day(likely), day(earliest));
                Some(format!(
                    "leaves its band about {likely} ({earliest} at the earliest)"
                ))
            }
            _ => None,
        })
    }
}

/// "5 % above usual"; `None` for less than half a per cent.
fn how_far(watched: Watched, shift: f64) -> Option<String> {
    let percent = (shift.exp() - 1.0) * 100.0;
    if percent.abs() < 0.5 {
        return None;
    }
    // The first stage is watched as inlet over interstage: more of it is less pressure.
    let is_up = (percent > 0.0) != (watched == Watched::FirstStage);
    let side = if is_up { "above" } else { "below" };
    Some(format!("{:.0} % {side} usual", percent.abs()))
}

/// ": the second stage is rising (90 %)", or nothing where no suspect stands out.
fn named(suspect: Option<(Cause, f64)>) -> String {
    match suspect {
        Some((cause, probability)) if probability >= NAMED_FROM => {
            let percent = (100.0 * probability).round().min(99.0);
            format!(": {} ({percent:.0} %)", watch::cause(cause))
        }
        _ => String::new(),
    }
}

const fn watched_of(quantity: FlagQuantity) -> Option<Watched> {
    match quantity {
        FlagQuantity::Inlet => Some(Watched::Inlet),
        FlagQuantity::FirstStage => Some(Watched::FirstStage),
        FlagQuantity::Outlet => Some(Watched::Outlet),
        FlagQuantity::InletGauge | FlagQuantity::InterstageGauge | FlagQuantity::OutletGauge => {
            None
        }
    }
}

/// The gauge in whose pressure a watched quantity is told.
const fn gauge_of(watched: Watched) -> Quantity {
    match watched {
        Watched::Inlet => Quantity::Inlet,
        Watched::FirstStage => Quantity::Interstage,
        Watched::Outlet => Quantity::Outlet,
    }
}

const fn strip(quantity: FlagQuantity) -> Quantity {
    match quantity {
        FlagQuantity::Inlet | FlagQuantity::InletGauge => Quantity::Inlet,
        FlagQuantity::FirstStage | FlagQuantity::InterstageGauge => Quantity::Interstage,
        FlagQuantity::Outlet | FlagQuantity::OutletGauge => Quantity::Outlet,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use chrono::{DateTime, TimeDelta, Utc};

    /// 2026-05-12.
    fn may() -> DateTime<Utc> {
        DateTime::UNIX_EPOCH + TimeDelta::days(20_585)
    }

    fn worded(needs: Vec<Need>) -> Vec<(&'static str, String)> {
        let station = samples::station();
        let all = StationNeed {
            code: station.code.clone(),
            name: String::new(),
            level: String::new(),
            last_ms: None,
            worst: None,
            needs,
        };
        reasons(&station, &all, 0)
            .into_iter()
            .map(|reason| (reason.word, reason.phrase))
            .collect()
    }

    fn rising(is_worse: bool) -> Need {
        Need::Stands {
            quantity: FlagQuantity::Outlet,
            since: may(),
            shift: 0.05,
            is_worse,
            suspect: Some((Cause::SecondStageRising, 0.9)),
        }
    }

    #[test]
    fn outside_says_by_how_much_and_what_is_probably_behind_it() {
        let outside = Need::Outside {
            quantity: Quantity::Outlet,
            observed: Pressure::from_pa(260_000),
            limit: Pressure::from_pa(220_000),
        };
        assert_eq!(
            worded(vec![outside, rising(true)]),
            [
                (
                    "outside",
                    "Outlet 0.40 bar too high: the second stage is rising (90 %)".to_owned()
                ),
                (
                    "changed",
                    "Outlet 5 % above usual since 12 May, growing: the second stage is rising \
                     (90 %)"
                        .to_owned()
                )
            ]
        );
    }

    #[test]
    fn the_suspect_behind_a_gauge_is_named_only_for_that_gauge() {
        let needs = StationNeed {
            code: samples::station().code,
            name: String::new(),
            level: String::new(),
            last_ms: None,
            worst: None,
            needs: vec![rising(false)],
        };
        assert_eq!(
            suspected(&needs, Quantity::Outlet).as_deref(),
            Some("the second stage is rising (90 %)")
        );
        assert_eq!(suspected(&needs, Quantity::Inlet), None);
    }

    #[test]
    fn drift_tells_when_it_leaves_and_is_told_once() {
        let leaves = Need::LeavesSoon {
            watched: Watched::Outlet,
            likely: may() + TimeDelta::days(30),
            earliest: may() + TimeDelta::days(10),
        };
        assert_eq!(
            worded(vec![leaves, rising(false)]),
            [(
                "drifting",
                "Outlet leaves its band about 11 Jun (22 May at the earliest)".to_owned()
            )]
        );
    }

    #[test]
    fn first_stage_is_told_as_interstage_pressure_and_turned_round() {
        let passing = Need::Stands {
            quantity: FlagQuantity::FirstStage,
            since: may(),
            shift: -0.0619,
            is_worse: false,
            suspect: Some((Cause::FirstStagePassing, 0.4)),
        };
        assert_eq!(
            worded(vec![passing]),
            [(
                "changed",
                "Interstage 6 % above usual since 12 May".to_owned()
            )]
        );
    }

    #[test]
    fn gauge_that_never_moves_is_not_a_pressure_that_changed() {
        let stuck = Need::Stands {
            quantity: FlagQuantity::OutletGauge,
            since: may(),
            shift: 0.0,
            is_worse: false,
            suspect: Some((Cause::GaugeStuck, 1.0)),
        };
        let silent = Need::NotRead { days: 21 };
        assert_eq!(
            worded(vec![stuck, silent]),
            [
                ("stuck", "Outlet gauge never moves, since 12 May".to_owned()),
                ("missed", "Not read for 21 days".to_owned())
            ]
        );
    }
}
