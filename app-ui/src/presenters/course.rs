//! What a station's past comes to, as the screens at the station want it: visits, what was raised
//! and stands, and where it leads. Plain values without words; worked out by `crate::tablet::past`.

use winze_core::assess::RaisedRule;
use winze_core::station::Quantity;
use winze_core::suspects::{Advice, Check, Ranking};
use winze_core::verdict::Verdict;
use winze_core::watch::FlagQuantity;
use winze_sync_format::RecordRef;

use super::chart::FanPoint;

/// A station's past, oldest visit first.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Course {
    /// The visits that count.
    pub visits: Vec<CourseVisit>,
    /// Where baselines began anew after the first visit, and what for.
    pub baselines: Vec<BaselineStart>,
    /// What stands, the weightiest first.
    pub standing: Vec<Finding>,
    /// Where the three gauges are going, by [`Quantity::index`].
    pub outlooks: [Option<Outlook>; 3],
}

/// One visit. Pressures are as the dials show them, in the unit of each dial.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseVisit {
    /// Its record.
    pub at: RecordRef,
    /// When, milliseconds since 1970.
    pub taken_ms: i64,
    /// Inlet, interstage, outlet; `None` where not read.
    pub values: [Option<f64>; 3],
    /// What was expected of each: low, high.
    pub bands: [Option<(f64, f64)>; 3],
    /// The verdict on each.
    pub verdicts: [Option<Verdict>; 3],
    /// What was raised at this visit.
    pub raised: Vec<(RaisedRule, FlagQuantity)>,
}

/// A baseline that began anew.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BaselineStart {
    /// When, milliseconds since 1970.
    pub at_ms: i64,
    /// For which gauges' strips, by [`Quantity::index`].
    pub touches: [bool; 3],
    /// Why, in a word or two.
    pub why: String,
}

/// Something raised that stands, or that the entry would raise.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The rule.
    pub rule: RaisedRule,
    /// What it is about.
    pub quantity: FlagQuantity,
    /// The reading that raised it; `None` while that is not saved.
    pub reading: Option<RecordRef>,
    /// When that was taken, milliseconds since 1970.
    pub raised_ms: i64,
    /// When it probably began, milliseconds since 1970.
    pub onset_ms: Option<i64>,
    /// How far the quantity is off its usual, as a logarithm.
    pub shift: f64,
    /// Whether it stood before and has grown clearly worse.
    pub is_worse: bool,
    /// The suspects before any check was answered.
    pub before: Ranking,
    /// The suspects now.
    pub now: Ranking,
    /// Checks answered, oldest first; true is yes.
    pub answered: Vec<(Check, bool)>,
    /// The checks worth their time now, best first, without those answered.
    pub checks: Vec<Advice>,
    /// When the quantity leaves its band, where that can be told.
    pub leaves: Option<Leaves>,
}

/// Where a gauge is going if it goes on as it does. Values as its dial shows them.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// When it leaves its band; `None` where it does not within two years.
    pub leaves: Option<Leaves>,
    /// Its likely, lowest and highest courses, from now on.
    pub fan: Vec<FanPoint>,
}

/// When a gauge leaves its band, milliseconds since 1970.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leaves {
    /// Most likely.
    pub likely_ms: i64,
    /// With the steepest slope the readings allow.
    pub earliest_ms: i64,
    /// With the flattest; `None` for beyond two years.
    pub latest_ms: Option<i64>,
}

/// The gauge in whose strip a quantity's flag stands.
#[must_use]
pub const fn strip_of(quantity: FlagQuantity) -> Quantity {
    match quantity {
        FlagQuantity::Inlet | FlagQuantity::InletGauge => Quantity::Inlet,
        FlagQuantity::FirstStage | FlagQuantity::InterstageGauge => Quantity::Interstage,
        FlagQuantity::Outlet | FlagQuantity::OutletGauge => Quantity::Outlet,
    }
}

#[cfg(test)]
pub(crate) mod samples {
    use super::*;
    use winze_core::suspects::{Cause, next_checks};

    const DAY_MS: i64 = 86_400_000;

    /// In thirty to a hundred and thirty days, most likely in sixty.
    pub fn leaves(now_ms: i64) -> Leaves {
        Leaves {
            likely_ms: now_ms + 60 * DAY_MS,
            earliest_ms: now_ms + 30 * DAY_MS,
            latest_ms: Some(now_ms + 130 * DAY_MS),
        }
    }

    /// From 2.1 towards 2.2, in sixty days.
    pub fn outlook(now_ms: i64) -> Outlook {
        let point = |days: i64, low, likely, high| FanPoint {
            at_ms: now_ms + days * DAY_MS,
            low,
            likely,
            high,
        };
        Outlook {
            leaves: Some(leaves(now_ms)),
            fan: vec![point(0, 2.1, 2.1, 2.1), point(60, 2.05, 2.2, 2.3)],
        }
    }

    /// Half a second stage that rises, three tenths a moved set point, the rest its gauge.
    pub fn ranking() -> Ranking {
        let mut ln = [f64::NEG_INFINITY; Cause::COUNT];
        for (cause, share) in [
            (Cause::SecondStageRising, 0.5_f64),
            (Cause::SetPointMoved, 0.3),
            (Cause::OutletGaugeWrong, 0.2),
        ] {
            ln[cause.index()] = share.ln();
        }
        Ranking::from_ln_weights(&ln)
    }

    /// The outlet creeping up for ten weeks.
    pub fn drift(now_ms: i64) -> Finding {
        Finding {
            rule: RaisedRule::Drift,
            quantity: FlagQuantity::Outlet,
            reading: None,
            raised_ms: now_ms,
            onset_ms: Some(now_ms - 70 * DAY_MS),
            shift: 0.05,
            is_worse: false,
            before: ranking(),
            now: ranking(),
            answered: Vec::new(),
            checks: next_checks(&ranking()),
            leaves: Some(leaves(now_ms)),
        }
    }
}
