//! The frame round what is seen of a station more closely: suspects, history, arithmetic.

use winze_core::station::{Quantity, Station};
use winze_core::verdict::{Entry, judge};

use super::office_sum::sum;
use super::office_view::SumLine;
use super::view::Choice;
use super::{moment, words};

/// Suspects and the next check.
pub const FINDING: &str = "finding";
/// The strips.
pub const HISTORY: &str = "history";
/// The arithmetic.
pub const WORKED_OUT: &str = "worked-out";

/// The ways to look, `on` being the one shown.
#[must_use]
pub fn tabs(on: &str, has_finding: bool) -> Vec<Choice> {
    let all = [
        (FINDING, "Suspects"),
        (HISTORY, "History"),
        (WORKED_OUT, "Worked out"),
    ];
    all.into_iter()
        .filter(|(id, _)| *id != FINDING || has_finding)
        .map(|(id, label)| Choice {
            is_on: id == on,
            ..Choice::new(id, label)
        })
        .collect()
}

/// How a verdict was worked out.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WorkedOut {
    /// "How this was worked out: outlet 2.60 bar, as typed".
    pub title: String,
    /// The gauges to choose from.
    pub gauges: Vec<Choice>,
    /// The arithmetic, line by line.
    pub lines: Vec<SumLine>,
    /// Why there is no arithmetic, or empty.
    pub nothing: String,
}

/// Shows the arithmetic of one gauge: of the entry as typed, or, while nothing is typed, of the
/// newest reading, taken at the time beside it.
#[must_use]
pub fn worked_out(
    station: &Station,
    typed: &Entry,
    newest: Option<(Entry, i64)>,
    quantity: Quantity,
    (now_ms, offset): (i64, i16),
) -> WorkedOut {
    let (entry, whose) = match newest {
        Some((entry, taken_ms)) if typed.is_empty() => (
            entry,
            format!("read {}", moment::date(taken_ms, now_ms, offset)),
        ),
        _ => (*typed, "as typed".to_owned()),
    };
    let judgement = judge(station, &entry);
    let gauges = Quantity::ALL.into_iter().map(|one| Choice {
        is_on: one == quantity,
        tone: judgement
            .get(one)
            .map_or_else(Default::default, |j| j.verdict.into()),
        ..Choice::new(one.code(), words::gauge(one))
    });
    let name = words::gauge(quantity);
    let value = entry.get(quantity).map(words::typed);
    WorkedOut {
        title: match &value {
            Some(value) => format!("How this was worked out: {name} {value}, {whose}"),
            None => format!("How this was worked out: {name}"),
        },
        gauges: gauges.collect(),
        lines: judgement
            .get(quantity)
            .map_or_else(Vec::new, |judged| sum(station, judged)),
        nothing: match (judgement.get(quantity), value) {
            (Some(_), _) => String::new(),
            (None, Some(_)) => {
                format!("Nothing is expected of the {name} yet, so it is not judged.")
            }
            (None, None) => format!("The {name} is not read."),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;

    const NOW: (i64, i16) = (1_799_712_000_000, 0);

    #[test]
    fn suspects_are_offered_only_where_something_stands() {
        let ids = |has: bool| -> Vec<String> {
            tabs(HISTORY, has).into_iter().map(|tab| tab.id).collect()
        };
        assert_eq!(ids(false), [HISTORY, WORKED_OUT]);
        assert_eq!(ids(true), [FINDING, HISTORY, WORKED_OUT]);
    }

    #[test]
    fn what_is_typed_goes_before_the_newest_reading() {
        let station = samples::station();
        let newest = Some((samples::entry(["10.2", "4.1", "2.0"]), NOW.0));
        let typed = samples::entry(["10.2", "4.1", "2.6"]);
        let shown = worked_out(&station, &typed, newest, Quantity::Outlet, NOW);
        assert_eq!(
            shown.title,
            "How this was worked out: outlet 2.6 bar, as typed"
        );
        assert_eq!(
            shown.lines.last().map(|line| line.figure.as_str()),
            Some("outside")
        );
        let shown = worked_out(&station, &Entry::default(), newest, Quantity::Outlet, NOW);
        assert_eq!(
            shown.title,
            "How this was worked out: outlet 2.0 bar, read 12 January"
        );
        assert_eq!(
            shown.lines.last().map(|line| line.figure.as_str()),
            Some("within")
        );
    }

    #[test]
    fn gauge_not_read_says_so() {
        let station = samples::station();
        let shown = worked_out(&station, &Entry::default(), None, Quantity::Inlet, NOW);
        assert_eq!(shown.nothing, "The inlet is not read.");
        assert!(shown.lines.is_empty());
    }
}
