//! A station's history in three strips over one line of time.

use winze_core::station::{Quantity, Station};
use winze_core::verdict::Verdict;

use super::chart::{Plot, Point, Series, Sign, Span, Stand, Strip, TimeTick, strip, time_ticks};
use super::course::{Course, CourseVisit, Leaves, strip_of};
use super::flag::{self, FlagShape};
use super::view::{Choice, Tone};
use super::{moment, words};

const WEEK_MS: i64 = 604_800_000;
/// A forecast is given so many parts of what is shown of the past.
const AHEAD_PARTS: i64 = 4;
/// Air behind the newest reading, as a part of what is shown.
const AIR_PARTS: i64 = 50;
/// The least that is shown of the past.
const SHOWN_LEAST_MS: i64 = 4 * WEEK_MS;

/// How much of the past is shown at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Reach {
    /// Thirteen weeks.
    Quarter,
    /// A year.
    #[default]
    Year,
    /// Everything.
    All,
}

impl Reach {
    const ALL: [Self; 3] = [Self::Quarter, Self::Year, Self::All];

    const fn id(self) -> &'static str {
        match self {
            Self::Quarter => "quarter",
            Self::Year => "year",
            Self::All => "all",
        }
    }

    const fn label(self) -> &'static str {
        match self {
            Self::Quarter => "13 weeks",
            Self::Year => "Year",
            Self::All => "All",
        }
    }

    /// The reach with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|reach| reach.id() == id)
    }
}

/// Which part of the past is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Part {
    /// How much.
    pub reach: Reach,
    /// How many halves of it further back than now.
    pub back: u32,
}

/// The screen of history.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HistoryView {
    /// "From 9 March to 8 June 2026".
    pub title: String,
    /// Inlet, interstage, outlet.
    pub strips: Vec<StripView>,
    /// Dates along all three.
    pub dates: Vec<TimeTick>,
    /// How much is shown: the keys.
    pub reaches: Vec<Choice>,
    /// Whether there is anything earlier.
    pub can_earlier: bool,
    /// Whether there is anything later.
    pub can_later: bool,
}

/// One strip with its words.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StripView {
    /// "Outlet, bar".
    pub name: String,
    /// The newest reading: "1.95 within, 8 June".
    pub latest: String,
    /// How the newest reading stands.
    pub tone: Tone,
    /// When the quantity leaves its band, or empty.
    pub outlook: String,
    /// The drawing.
    pub strip: Strip,
}

/// Shows a part of a station's past on plots of one size. `now_ms` and `offset` say where the line
/// of time ends and how days are written.
#[must_use]
pub fn history(
    station: &Station,
    course: &Course,
    part: Part,
    plot: Plot,
    (now_ms, offset): (i64, i16),
) -> HistoryView {
    let (first, last) = match (course.visits.first(), course.visits.last()) {
        (Some(first), Some(last)) => (first.taken_ms, last.taken_ms),
        _ => (now_ms, now_ms),
    };
    let end = last.max(now_ms);
    let length = match part.reach {
        Reach::Quarter => 13 * WEEK_MS,
        Reach::Year => 52 * WEEK_MS,
        Reach::All => end.saturating_sub(first).max(SHOWN_LEAST_MS) + WEEK_MS,
    };
    let back = part.back.min(most_back(end, first, length));
    let span = span(course, end, length, back);
    let strips = Quantity::ALL
        .map(|quantity| strip_view(station, course, quantity, span, plot, (now_ms, offset)));
    HistoryView {
        title: format!(
            "{} to {}",
            moment::date(span.from_ms, i64::MAX, offset),
            moment::date(span.to_ms, i64::MAX, offset)
        ),
        strips: strips.to_vec(),
        dates: time_ticks(span, plot.width, offset),
        reaches: Reach::ALL
            .into_iter()
            .map(|reach| Choice {
                is_on: reach == part.reach,
                ..Choice::new(reach.id(), reach.label())
            })
            .collect(),
        can_earlier: back < most_back(end, first, length),
        can_later: back > 0,
    }
}

/// How often one can go back by half of what is shown until the first visit is seen.
#[must_use]
pub fn most_back(end_ms: i64, first_ms: i64, length_ms: i64) -> u32 {
    let hidden = end_ms.saturating_sub(length_ms).saturating_sub(first_ms);
    let halves = (hidden.max(0) + length_ms / 2 - 1) / (length_ms / 2).max(1);
    u32::try_from(halves).unwrap_or(0)
}

fn span(course: &Course, end_ms: i64, length_ms: i64, back: u32) -> Span {
    let to_ms = end_ms - i64::from(back) * length_ms / 2;
    let is_ahead = back == 0 && course.outlooks.iter().any(Option::is_some);
    let after = if is_ahead {
        length_ms / AHEAD_PARTS
    } else {
        length_ms / AIR_PARTS
    };
    Span {
        from_ms: to_ms - length_ms,
        to_ms: to_ms + after,
    }
}

fn strip_view(
    station: &Station,
    course: &Course,
    quantity: Quantity,
    span: Span,
    plot: Plot,
    (now_ms, offset): (i64, i16),
) -> StripView {
    let index = quantity.index();
    let newest = course
        .visits
        .iter()
        .rev()
        .find(|v| v.values[index].is_some());
    let leaves = course.outlooks[index].as_ref().and_then(|o| o.leaves);
    let (latest, tone) = newest.map_or_else(Default::default, |visit| {
        latest(station, visit, quantity, (now_ms, offset))
    });
    StripView {
        name: format!(
            "{}, {}",
            words::gauge_capital(quantity),
            station.gauge(quantity).unit().symbol()
        ),
        latest,
        tone,
        outlook: leaves.map_or_else(String::new, |leaves| ahead(&leaves, now_ms, offset)),
        strip: strip(&series(course, quantity), span, plot),
    }
}

fn latest(
    station: &Station,
    visit: &CourseVisit,
    quantity: Quantity,
    (now_ms, offset): (i64, i16),
) -> (String, Tone) {
    let index = quantity.index();
    let decimals = usize::from(station.gauge(quantity).decimals());
    let value = visit.values[index].map_or_else(String::new, |value| format!("{value:.decimals$}"));
    let verdict = visit.verdicts[index];
    let word = verdict.map_or("not judged", words::verdict);
    let day = moment::short_date(visit.taken_ms, now_ms, offset);
    (
        format!("{value} {word}, {day}"),
        verdict.map_or(Tone::None, Tone::from),
    )
}

fn ahead(leaves: &Leaves, now_ms: i64, offset: i16) -> String {
    let date = |ms| moment::short_date(ms, now_ms, offset);
    let range = match leaves.latest_ms {
        Some(latest) => format!("{} to {}", date(leaves.earliest_ms), date(latest)),
        None => format!("{} at the earliest", date(leaves.earliest_ms)),
    };
    format!("leaves its band about {} ({range})", date(leaves.likely_ms))
}

fn series(course: &Course, quantity: Quantity) -> Series {
    let index = quantity.index();
    let points = course.visits.iter().map(|visit| Point {
        at_ms: visit.taken_ms,
        value: visit.values[index],
        band: visit.bands[index],
        stand: match visit.verdicts[index] {
            Some(Verdict::Unsure) => Stand::Unsure,
            Some(Verdict::Outside) => Stand::Outside,
            Some(Verdict::Within) | None => Stand::Usual,
        },
    });
    let mut signs: Vec<Sign> = course
        .visits
        .iter()
        .flat_map(|visit| {
            visit
                .raised
                .iter()
                .filter(move |(_, about)| strip_of(*about) == quantity)
                .map(|(rule, _)| Sign {
                    at_ms: visit.taken_ms,
                    shape: (*rule).into(),
                    tone: flag::tone(*rule),
                    word: flag::short_word(*rule).to_owned(),
                })
        })
        .collect();
    signs.extend(
        course
            .baselines
            .iter()
            .filter(|start| start.touches[index])
            .map(|start| Sign {
                at_ms: start.at_ms,
                shape: FlagShape::Baseline,
                tone: Tone::None,
                word: start.why.clone(),
            }),
    );
    signs.sort_by_key(|sign| sign.at_ms);
    Series {
        points: points.collect(),
        signs,
        fan: course.outlooks[index]
            .as_ref()
            .map_or_else(Vec::new, |outlook| outlook.fan.clone()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::course::samples::outlook;
    use crate::presenters::course::{BaselineStart, CourseVisit};
    use crate::presenters::samples;
    use winze_core::assess::RaisedRule;
    use winze_core::watch::FlagQuantity;
    use winze_sync_format::{LogId, RecordId, RecordRef};

    /// 2027-01-12.
    const NOW_MS: i64 = 1_799_712_000_000;
    const PLOT: Plot = Plot {
        width: 840.0,
        height: 160.0,
    };

    fn course(weeks: i64) -> Course {
        let visits = (0..weeks).map(|week| CourseVisit {
            at: RecordRef {
                log: LogId([1; 32]),
                seq: week.unsigned_abs(),
                id: RecordId([0; 32]),
            },
            taken_ms: NOW_MS - (weeks - 1 - week) * WEEK_MS,
            values: [Some(10.2), Some(4.1), Some(2.0)],
            bands: [Some((9.2, 11.2)), Some((3.7, 4.5)), Some((1.8, 2.2))],
            verdicts: [Some(Verdict::Within); 3],
            raised: Vec::new(),
        });
        Course {
            visits: visits.collect(),
            ..Course::default()
        }
    }

    fn show(course: &Course, reach: Reach, back: u32) -> HistoryView {
        let part = Part { reach, back };
        history(&samples::station(), course, part, PLOT, (NOW_MS, 0))
    }

    #[test]
    fn a_year_of_weekly_rounds_is_shown_and_older_ones_are_reached_by_halves() {
        let course = course(110);
        let now = show(&course, Reach::Year, 0);
        assert_eq!(now.title, "13 January 2026 to 19 January 2027");
        assert!(now.can_earlier && !now.can_later);
        assert_eq!(now.strips[2].name, "Outlet, bar");
        assert_eq!(now.strips[2].latest, "2.00 within, 12 Jan");
        let back = show(&course, Reach::Year, 3);
        assert!(!back.can_earlier && back.can_later);
        assert_eq!(
            show(&course, Reach::Year, 99).title,
            back.title,
            "no further than the first"
        );
        let all = show(&course, Reach::All, 0);
        assert!(!all.can_earlier && !all.can_later);
    }

    #[test]
    fn forecast_makes_room_ahead_and_says_when() {
        let mut course = course(30);
        course.outlooks[2] = Some(outlook(NOW_MS));
        let view = show(&course, Reach::Quarter, 0);
        assert_eq!(view.title, "13 October 2026 to 3 February 2027");
        assert_eq!(
            view.strips[2].outlook,
            "leaves its band about 13 Mar (11 Feb to 22 May)"
        );
        assert!(!view.strips[2].strip.fan.is_empty());
        assert!(view.strips[0].strip.fan.is_empty());
        // Further back there is nothing to look ahead from.
        assert!(
            show(&course, Reach::Quarter, 1).strips[2]
                .strip
                .fan
                .is_empty()
        );
    }

    #[test]
    fn flags_and_baselines_stand_in_the_strip_they_are_about() {
        let mut course = course(40);
        course.visits[30].raised = vec![
            (RaisedRule::Drift, FlagQuantity::FirstStage),
            (RaisedRule::Stuck, FlagQuantity::OutletGauge),
        ];
        course.baselines = vec![BaselineStart {
            at_ms: course.visits[10].taken_ms,
            touches: [false, true, false],
            why: "recalibrated".to_owned(),
        }];
        let view = show(&course, Reach::Year, 0);
        let words = |index: usize| -> Vec<&str> {
            let marks = &view.strips[index].strip.marks;
            marks.iter().map(|mark| mark.word.as_str()).collect()
        };
        assert!(words(0).is_empty());
        assert_eq!(words(1), ["recalibrated", "slow change"]);
        assert_eq!(words(2), ["never moves"]);
        assert!(!view.strips[1].strip.baselines.is_empty());
    }

    #[test]
    fn station_never_read_has_empty_strips() {
        let view = show(&Course::default(), Reach::All, 0);
        assert!(view.strips.iter().all(|strip| strip.latest.is_empty()));
        assert!(!view.can_earlier && !view.can_later);
    }
}
