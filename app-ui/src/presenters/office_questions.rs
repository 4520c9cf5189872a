//! Questions: both sides in figures, the possible answers and what follows from each.

use winze_core::merge::{QuestionKind, QuestionState};
use winze_core::query::{GivenAnswer, Visit};
use winze_core::record::{Choice, Source};
use winze_core::station::{Quantity, Station};
use winze_core::verdict::{Entry, FlowState, judge};

use super::gauge;
use super::office_attention::noticed;
use super::office_time as time;
use super::office_view::{AnswerView, Fact, QuestionPage, SideView};
use super::view::{Figure, Tone};
use super::words;
use crate::office::snapshot::{Question, QuestionSide, Says, Snapshot, choices};

/// Puts one question, `place` of all. `chosen` is the answer chosen and not yet recorded.
#[must_use]
pub fn question(snapshot: &Snapshot, place: usize, chosen: Option<&Choice>) -> QuestionPage {
    let Some(question) = snapshot.questions.get(place) else {
        return QuestionPage {
            position: "Questions".to_owned(),
            nothing: "The records agree: there is no question.".to_owned(),
            ..QuestionPage::default()
        };
    };
    let names = side_names(question);
    let offset = snapshot.week.utc_offset_minutes;
    let open = snapshot.open_questions();
    let count = snapshot.questions.len();
    let offered = choices(question);
    let standing = standing(question);
    let can_record = chosen.is_some() && chosen != standing;
    let differing = differing(question);
    let answers = offered
        .iter()
        .enumerate()
        .map(|(index, choice)| answer(question, &names, index, choice, chosen.or(standing)))
        .collect();
    QuestionPage {
        position: match open {
            0 => format!("Question {} of {count}, all answered", place + 1),
            open => format!("Question {} of {count}, {open} open", place + 1),
        },
        heading: heading(question),
        detail: detail(question),
        nothing: String::new(),
        sides: question
            .sides
            .iter()
            .zip(&names)
            .map(|(one, name)| side(one, name, &differing, offset))
            .collect(),
        answers,
        answered: answered(question, &names, offset),
        record_label: match (can_record, standing) {
            (false, None) => "Choose an answer first".to_owned(),
            (false, Some(_)) => "Choose another answer to change it".to_owned(),
            (true, None) => "Record this answer".to_owned(),
            (true, Some(_)) => "Record the other answer".to_owned(),
        },
        can_record,
        can_before: place > 0,
        can_after: place + 1 < count,
    }
}

/// The answer that stands.
fn standing(question: &Question) -> Option<&Choice> {
    match &question.view.question.state {
        QuestionState::Answered { choice, .. } => Some(choice),
        QuestionState::Open | QuestionState::AnsweredDifferently => None,
    }
}

/// Names for the sides: their logbooks, numbered where two are the same.
fn side_names(question: &Question) -> Vec<String> {
    let bare: Vec<String> = question
        .sides
        .iter()
        .map(|side| match side.log_name.as_str() {
            "" => format!("logbook {}", side.at.log.short()),
            name => name.to_owned(),
        })
        .collect();
    bare.iter()
        .enumerate()
        .map(|(place, name)| {
            let same = bare.iter().filter(|other| *other == name).count();
            if same > 1 {
                format!("{name}, record {}", place + 1)
            } else {
                name.clone()
            }
        })
        .collect()
}

fn heading(question: &Question) -> String {
    let station = match &question.view.question.station {
        Some(code) if question.station_name.is_empty() => code.as_str().to_owned(),
        Some(code) => format!("{code}, {}", question.station_name, code = code.as_str()),
        None => String::new(),
    };
    match question.view.question.kind {
        QuestionKind::Readings => format!("{station}: which reading stands?"),
        QuestionKind::Revisions => format!("{station}: which definition stands?"),
        QuestionKind::Corrections => format!("{station}: which correction stands?"),
        QuestionKind::CopiedLog => "Was a logbook copied?".to_owned(),
    }
}

fn detail(question: &Question) -> String {
    let times: Vec<i64> = question.sides.iter().map(QuestionSide::taken_ms).collect();
    let apart = match (times.iter().min(), times.iter().max()) {
        (Some(first), Some(last)) => time::apart(*first, *last),
        _ => String::new(),
    };
    let differing = differing(question);
    let differing: Vec<&str> = differing.iter().map(|one| words::gauge(*one)).collect();
    match question.view.question.kind {
        QuestionKind::Readings => format!(
            "Taken {apart} apart; {} by more than the dials explain.",
            match differing.as_slice() {
                [] => "they differ".to_owned(),
                [one] => format!("the {one} values differ"),
                several => format!("the {} values differ", words::listed(several)),
            }
        ),
        QuestionKind::Revisions => {
            "Neither was made with knowledge of the other. Until you decide, the later one is used."
                .to_owned()
        }
        QuestionKind::Corrections => {
            "Neither was made with knowledge of the other. Until you decide, the first values are used."
                .to_owned()
        }
        QuestionKind::CopiedLog => {
            "Two different records claim one place in a log. A copied folder does that. \
             Both records are kept; stop using one of the copies."
                .to_owned()
        }
    }
}

fn entry(side: &QuestionSide) -> Option<&Entry> {
    match &side.says {
        Says::Reading(visit, _) => Some(&visit.entry),
        Says::Correction(entry, _, _) => Some(entry),
        Says::Definition(_) | Says::Place => None,
    }
}

/// Names the gauges whose values are not the same on all sides.
fn differing(question: &Question) -> Vec<Quantity> {
    let differs = |quantity: &Quantity| {
        let mut values = question
            .sides
            .iter()
            .filter_map(|side| Some(entry(side)?.get(*quantity)?.to_pressure()));
        values
            .next()
            .is_some_and(|first| values.any(|value| value != first))
    };
    Quantity::ALL.into_iter().filter(differs).collect()
}

fn side(side: &QuestionSide, name: &str, differing: &[Quantity], offset: i16) -> SideView {
    let mut facts = vec![
        Fact::new("when", time::moment_and_year(side.taken_ms(), offset)),
        Fact::new(
            "who",
            if side.by.is_empty() {
                "not noted"
            } else {
                &side.by
            },
        ),
    ];
    let (figures, remark) = match &side.says {
        Says::Reading(visit, station) => {
            facts.push(Fact::new("water", flow(visit.entry.flow)));
            (figures(station, &visit.entry, differing), noticed(visit))
        }
        Says::Correction(entry, reason, station) => {
            facts.push(Fact::new("reason", reason.clone()));
            (figures(station, entry, differing), String::new())
        }
        Says::Definition(station) => (definition_figures(station), String::new()),
        Says::Place => {
            facts.push(Fact::new("place", format!("record {}", side.at.seq)));
            facts.push(Fact::new("record", side.at.id.short()));
            (Vec::new(), String::new())
        }
    };
    SideView {
        name: name.to_owned(),
        facts,
        figures,
        remark,
    }
}

/// Says whether water was flowing.
#[must_use]
pub const fn flow(flow: FlowState) -> &'static str {
    match flow {
        FlowState::Still => "still",
        FlowState::Flowing => "flowing",
        FlowState::NotNoted => "not noted",
    }
}

fn figures(station: &Station, entry: &Entry, differing: &[Quantity]) -> Vec<(Figure, bool)> {
    let judgement = judge(station, entry);
    Quantity::ALL
        .into_iter()
        .map(|quantity| {
            let figure = gauge::figure(station, &judgement, quantity, entry.get(quantity));
            (figure, !differing.contains(&quantity))
        })
        .collect()
}

fn definition_figures(station: &Station) -> Vec<(Figure, bool)> {
    let second = &station.second_stage;
    let ratio = station
        .first_stage
        .as_left_ratio
        .unwrap_or(station.first_stage.ratio);
    let figure = |name: &str, value: String, unit: &str| {
        let figure = Figure {
            name: name.to_owned(),
            value,
            unit: unit.to_owned(),
            tone: Tone::None,
            verdict: String::new(),
        };
        (figure, false)
    };
    vec![
        figure("ratio", ratio.to_string(), ""),
        figure(
            "set point",
            second.set_point.digits.to_string(),
            second.set_point.unit.symbol(),
        ),
        figure(
            "either side",
            second.band.digits.to_string(),
            second.band.unit.symbol(),
        ),
    ]
}

fn answer(
    question: &Question,
    names: &[String],
    index: usize,
    choice: &Choice,
    chosen: Option<&Choice>,
) -> AnswerView {
    let (label, consequence) = answer_words(question, names, choice);
    // Those that name a side come first and stand under it; the others follow, two in a row.
    let sided = match choice {
        Choice::Prefer(_) => None,
        _ => Some(index - preferring(question)),
    };
    let first_row = usize::from(preferring(question) > 0);
    AnswerView {
        column: sided.map_or(index, |rest| rest % 2),
        row: sided.map_or(0, |rest| first_row + rest / 2),
        id: index.to_string(),
        number: (index + 1).to_string(),
        label,
        consequence: consequence.to_owned(),
        is_chosen: chosen == Some(choice),
    }
}

/// How many answers name a side.
fn preferring(question: &Question) -> usize {
    let offered = choices(question);
    offered
        .iter()
        .filter(|choice| matches!(choice, Choice::Prefer(_)))
        .count()
}

fn answer_words(question: &Question, names: &[String], choice: &Choice) -> (String, &'static str) {
    let kind = question.view.question.kind;
    match choice {
        Choice::Prefer(at) => {
            let place = question.sides.iter().position(|side| side.at == *at);
            let name = place
                .and_then(|place| names.get(place))
                .map_or("one", String::as_str);
            let consequence = match kind {
                QuestionKind::Readings => "The other is set aside, but stays on record.",
                QuestionKind::Revisions => "Readings are judged against it from now on.",
                QuestionKind::Corrections | QuestionKind::CopiedLog => "Its values count.",
            };
            (format!("{name} stands"), consequence)
        }
        Choice::KeepAll => (
            "Both stand: separate visits".to_owned(),
            "Both count, each at its own time.",
        ),
        Choice::VoidAll => (
            "Neither counts".to_owned(),
            "Not read, until the next visit.",
        ),
        Choice::AsFirstWritten => ("As first written".to_owned(), "No correction counts."),
        Choice::Noted => (
            "Seen and dealt with".to_owned(),
            "It is asked no more for these two records.",
        ),
    }
}

fn answered(question: &Question, names: &[String], offset: i16) -> String {
    match &question.view.question.state {
        QuestionState::Open => String::new(),
        QuestionState::AnsweredDifferently => {
            "Answered differently by two people who did not know of each other. Decide again."
                .to_owned()
        }
        QuestionState::Answered { by, choice } => {
            let given = question.view.answers.iter().find(|answer| answer.at == *by);
            let (label, _) = answer_words(question, names, choice);
            match given {
                Some(GivenAnswer {
                    by, wall_ms, note, ..
                }) => {
                    let when = time::moment_and_year(*wall_ms, offset);
                    let note = if note.is_empty() {
                        String::new()
                    } else {
                        format!(" Note: {note}")
                    };
                    format!("Answered {when} by {by}: {label}.{note}")
                }
                None => format!("Answered: {label}."),
            }
        }
    }
}

/// Who took a reading, for lists.
#[must_use]
pub fn taker(visit: &Visit) -> String {
    if matches!(visit.source, Source::Sheet { .. }) {
        return "from a sheet".to_owned();
    }
    match (visit.by.is_empty(), visit.log_name.is_empty()) {
        (false, false) => format!("{}, {}", visit.by, visit.log_name),
        (false, true) => visit.by.clone(),
        (true, _) => visit.log_name.clone(),
    }
}

#[cfg(test)]
mod tests {
    use winze_core::merge::Question as MergeQuestion;

    use super::*;
    use crate::office::samples;

    fn with(change: impl FnOnce(&mut MergeQuestion, &mut Vec<QuestionSide>)) -> QuestionPage {
        let mut snapshot = samples::snapshot();
        let question = &mut snapshot.questions[0];
        change(&mut question.view.question, &mut question.sides);
        super::question(&snapshot, 0, None)
    }

    fn labels(page: &QuestionPage) -> Vec<&str> {
        page.answers
            .iter()
            .map(|answer| answer.label.as_str())
            .collect()
    }

    #[test]
    fn answers_stand_under_the_sides_they_name() {
        let page = with(|_, _| ());
        assert_eq!(page.heading, "T-05, east drive: which reading stands?");
        assert_eq!(
            labels(&page),
            [
                "Tablet North stands",
                "Tablet South stands",
                "Both stand: separate visits",
                "Neither counts"
            ]
        );
        let places: Vec<_> = page
            .answers
            .iter()
            .map(|one| (one.row, one.column))
            .collect();
        assert_eq!(places, [(0, 0), (0, 1), (1, 0), (1, 1)]);
    }

    #[test]
    fn only_values_that_differ_stand_out() {
        let page = with(|_, _| ());
        let same: Vec<bool> = page.sides[0]
            .figures
            .iter()
            .map(|(_, is_same)| *is_same)
            .collect();
        assert_eq!(same, [true, true, false]);
        assert!(
            page.detail.contains("the outlet values differ"),
            "{}",
            page.detail
        );
        assert!(
            page.detail.starts_with("Taken 41 minutes apart"),
            "{}",
            page.detail
        );
    }

    #[test]
    fn definitions_are_compared_by_what_they_ask_for() {
        let page = with(|question, sides| {
            question.kind = QuestionKind::Revisions;
            for side in sides {
                side.says = Says::Definition(Box::new(samples::definition(4)));
            }
        });
        assert_eq!(labels(&page).len(), 2, "one of them must stand");
        let names: Vec<&str> = page.sides[0]
            .figures
            .iter()
            .map(|(figure, _)| figure.name.as_str())
            .collect();
        assert_eq!(names, ["ratio", "set point", "either side"]);
    }

    #[test]
    fn correction_can_be_set_aside_for_what_was_first_written() {
        let page = with(|question, sides| {
            question.kind = QuestionKind::Corrections;
            for side in sides {
                let Says::Reading(visit, station) = side.says.clone() else {
                    panic!("readings")
                };
                side.says = Says::Correction(visit.entry, "misread".to_owned(), station);
            }
        });
        assert_eq!(labels(&page).last(), Some(&"As first written"));
        assert!(
            page.sides[0]
                .facts
                .iter()
                .any(|fact| fact.value == "misread")
        );
    }

    #[test]
    fn copied_logbook_is_only_noted() {
        let page = with(|question, sides| {
            question.kind = QuestionKind::CopiedLog;
            question.station = None;
            for side in sides {
                side.says = Says::Place;
            }
        });
        assert_eq!(labels(&page), ["Seen and dealt with"]);
        assert_eq!((page.answers[0].row, page.answers[0].column), (0, 0));
        assert_eq!(page.heading, "Was a logbook copied?");
    }

    #[test]
    fn records_that_agree_ask_nothing() {
        let mut snapshot = samples::snapshot();
        snapshot.questions.clear();
        let page = super::question(&snapshot, 0, None);
        assert!(!page.nothing.is_empty() && page.answers.is_empty() && !page.can_record);
    }
}
