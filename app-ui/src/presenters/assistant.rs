//! The calibration assistant's screen: from what was read and what is being entered to the words
//! and figures at the screw. What it advises is the core's.

use winze_core::calibration::{
    Advice, Assistance, DrawOff, HandTurns, Point, Setting, Steadiness, assist,
};
use winze_core::procedures::MeasureCode;
use winze_core::station::{Quantity, Station};
use winze_core::units::Unit;

use super::turns_plot;
use super::view::{Choice, Tone};
use super::work_view::{AssistBody, FieldView, Saying};
use crate::messages::{procedures, setting as said};
use crate::tablet::step_entry::StepEntry;

/// Id of the key that says the screw was turned as advised.
pub const AS_ADVISED: &str = "turn:advised";
/// Id of the key that says it was not turned.
pub const NOT_TURNED: &str = "turn:none";
/// A chance of passing the band from which the caution stands: common practice, no source.
const RISKY: f64 = 0.02;

/// How far the assistant advises to turn after these readings.
#[must_use]
pub fn advised(setting: &Setting, points: &[Point]) -> Option<HandTurns> {
    match assist(setting, points).advice {
        Advice::TurnIn { turns, .. } => Some(turns),
        Advice::BackOff { turns, .. } => {
            Some(HandTurns::of_thirty_seconds(-turns.thirty_seconds()))
        }
        _ => None,
    }
}

/// Shows the assistant. `points` are the readings that are recorded; the one under entry is tried
/// out as soon as all of it is said.
#[must_use]
pub fn assistant(
    station: &Station,
    setting: &Setting,
    points: &[Point],
    entry: &StepEntry,
) -> AssistBody {
    let unit = station.gauge(Quantity::Outlet).unit();
    let tried = entry.point(points);
    let mut all = points.to_vec();
    all.extend(tried);
    let now = assist(setting, &all);
    let before = assist(setting, points);
    let words = said::advice(&now, setting, unit);
    let has_flow = tried.is_some_and(|point| point.draw_off != DrawOff::None);
    AssistBody {
        marks: Vec::new(),
        heading: words.heading,
        detail: words.detail,
        tone: tone(&now.advice),
        notes: notes(setting, &before, &now, entry, points, unit),
        figures: figures(setting, &now, all.len(), unit),
        plot: turns_plot::plot(setting, &all, &now),
        fields: fields(entry),
        draw_off: DrawOff::ALL
            .into_iter()
            .map(|flow| Choice {
                is_on: entry.draw_off() == Some(flow),
                tone: if flow == DrawOff::None {
                    Tone::Outside
                } else {
                    Tone::None
                },
                ..Choice::new(
                    format!("pick:{}:{}", MeasureCode::Flow.code(), flow.code()),
                    procedures::draw_off(flow),
                )
            })
            .collect(),
        steady: [
            (Steadiness::Standing, "needle stands"),
            (Steadiness::Moving, "still moving"),
        ]
        .into_iter()
        .map(|(state, label)| Choice {
            is_on: entry.steadiness == state,
            ..Choice::new(format!("steady:{}", state.code()), label)
        })
        .collect(),
        turned: turned(points, entry),
        turn_keys: turn_keys(setting, points, entry),
        keep: if points.is_empty() {
            "Keep this first reading".to_owned()
        } else {
            "Keep this reading".to_owned()
        },
        can_keep: has_flow,
        finish: "Keep it: set".to_owned(),
        can_finish: has_flow && matches!(now.advice, Advice::Reached { .. }),
        can_take_back: !points.is_empty(),
    }
}

const fn tone(advice: &Advice) -> Tone {
    match advice {
        Advice::ReadFirst | Advice::ReadAgain(_) | Advice::TurnIn { .. } => Tone::Act,
        Advice::Wait(_) => Tone::Unsure,
        Advice::BackOff { .. } => Tone::Caution,
        Advice::Reached { .. } => Tone::Within,
        Advice::Stop(_) => Tone::Outside,
    }
}

fn notes(
    setting: &Setting,
    before: &Assistance,
    now: &Assistance,
    entry: &StepEntry,
    points: &[Point],
    unit: Unit,
) -> Vec<Saying> {
    let mut notes = Vec::new();
    let too_high = (setting.target + setting.tolerance).as_f64_pa();
    let is_read = entry.number(MeasureCode::Outlet).is_some();
    if let (Some(by), false, false) = (entry.turned, is_read, points.is_empty()) {
        // Said before it is read, a turn can still be thought over.
        if let Some(foreseen) = before.foresee_pa(by.turns()) {
            let passes = before.passes(too_high, by.turns()).unwrap_or(0.0);
            notes.push(if passes > RISKY && by.thirty_seconds() > 0 {
                Saying::of(
                    Tone::Caution,
                    format!(
                        "Turned {}, it would show {}: it may pass the set point.",
                        said::turned(by),
                        said::span(foreseen, unit)
                    ),
                )
            } else {
                Saying::plain(format!(
                    "Turned {}, it should show {}.",
                    said::turned(by),
                    said::span(foreseen, unit)
                ))
            });
        }
    } else if let Advice::TurnIn { is_close, .. } = now.advice {
        notes.push(Saying::of(
            Tone::Caution,
            if is_close {
                "Close below the set point: slowly, with an eye on the needle."
            } else {
                "No farther in one go: beyond it the set point may be passed."
            },
        ));
    }
    notes.extend(
        now.notes
            .iter()
            .map(|note| Saying::plain(said::note(note, unit))),
    );
    notes.truncate(2);
    notes
}

fn figures(setting: &Setting, now: &Assistance, count: usize, unit: Unit) -> Vec<(String, String)> {
    let mut figures = vec![(
        "set point".to_owned(),
        crate::messages::number::amount(setting.target, unit),
    )];
    if count == 0 {
        return figures;
    }
    let mut add = |name: &str, value: Option<String>| {
        figures.extend(value.map(|value| (name.to_owned(), value)));
    };
    add(
        "one turn",
        now.rate_pa_per_turn
            .map(|span| said::rate(span, now.rate_basis, unit)),
    );
    add(
        "turns to go",
        now.turns_to_go
            .filter(|span| span.high > 0.0)
            .map(said::turns_span),
    );
    add(
        "dead band",
        now.backlash_turns
            .map(|span| format!("{} turns", said::turns_span(span))),
    );
    figures
}

fn fields(entry: &StepEntry) -> Vec<FieldView> {
    let numbers = entry.numbers.iter().enumerate();
    numbers
        .map(|(index, (code, digits))| FieldView {
            id: format!("field:{index}"),
            name: match code {
                MeasureCode::Interstage => "interstage, if read".to_owned(),
                code => procedures::measure(*code).to_owned(),
            },
            value: digits.text.clone(),
            unit: digits.unit.symbol().to_owned(),
            is_chosen: entry.chosen == index,
        })
        .collect()
}

fn turned(points: &[Point], entry: &StepEntry) -> String {
    if points.is_empty() {
        return "first reading: screw as it stands".to_owned();
    }
    entry
        .turned
        .map_or_else(|| "turned since: say how far".to_owned(), said::turned)
}

fn turn_keys(setting: &Setting, points: &[Point], entry: &StepEntry) -> Vec<Choice> {
    if points.is_empty() {
        return Vec::new();
    }
    let mut keys = Vec::new();
    let none = HandTurns::of_thirty_seconds(0);
    if let Some(by) = advised(setting, points) {
        keys.push(Choice {
            is_on: entry.turned == Some(by),
            ..Choice::new(AS_ADVISED, "as advised")
        });
    }
    keys.push(Choice {
        is_on: entry.turned == Some(none),
        ..Choice::new(NOT_TURNED, "not turned")
    });
    let steps = [
        (-8, "out 1/4"),
        (-1, "out 1/32"),
        (1, "in 1/32"),
        (8, "in 1/4"),
    ];
    keys.extend(steps.map(|(by, label)| Choice::new(format!("turn:{by}"), label)));
    keys
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::calibration::Start;
    use winze_core::procedures::{ProcedureCode, StepCode, procedure};
    use winze_sync_format::Decimal;

    fn entry() -> StepEntry {
        let step = procedure(ProcedureCode::Recalibrate).step(StepCode::Calibrate);
        StepEntry::new(
            step.expect("a step"),
            &samples::station(),
            Vec::new(),
            [1; 8],
        )
    }

    fn read(turns: i64, bar: &str) -> Point {
        Point {
            steadiness: Steadiness::Standing,
            ..Point::of(Decimal::whole(turns), samples::bar(bar))
        }
    }

    fn shown(points: &[Point], entry: &StepEntry) -> AssistBody {
        let station = samples::complete_station();
        let setting = Setting::of(&station, Start::AsFound);
        assistant(&station, &setting, points, entry)
    }

    #[test]
    fn no_flow_is_refused_with_its_reason_and_cannot_be_kept() {
        let mut entry = entry();
        "1.5".chars().for_each(|key| entry.key(key));
        entry.pick(MeasureCode::Flow, "none");
        let view = shown(&[], &entry);
        assert_eq!(view.tone, Tone::Outside);
        assert!(view.heading.contains("No flow") && view.detail.contains("lock-up"));
        assert!(!view.can_keep && !view.can_finish);
    }

    #[test]
    fn reading_under_entry_is_advised_on_before_it_is_kept() {
        let mut entry = entry();
        entry.pick(MeasureCode::Flow, "usual");
        entry.turn(32);
        "1.98".chars().for_each(|key| entry.key(key));
        entry.steadiness = Steadiness::Standing;
        let points = [read(0, "1.50"), read(1, "1.75")];
        let view = shown(&points, &entry);
        assert!(view.can_keep);
        assert!(
            view.heading.starts_with("Set point reached") && view.can_finish,
            "{view:?}"
        );
    }

    #[test]
    fn too_wide_a_turn_is_cautioned_before_it_is_read() {
        let mut entry = entry();
        entry.turn(4 * 32);
        let view = shown(&[read(0, "1.50"), read(1, "1.75")], &entry);
        assert_eq!(view.notes[0].tone, Tone::Caution, "{view:?}");
        assert!(view.notes[0].text.contains("may pass the set point"));
        assert!(!view.can_keep);
    }
}
