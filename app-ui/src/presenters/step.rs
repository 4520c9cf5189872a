//! One step of a procedure on its screen: what to do, why, cautions, what is ticked and measured.

use winze_core::procedures::{
    Act, Air, Attempt, Branch, Dirt, DrawOff, Fit, Inside, Level, Measurand, MeasureCode,
    ProcedureState, StepCode, StepState, StepStatus, worst,
};
use winze_core::station::{Quantity, Station};
use winze_core::units::Unit;

use super::view::{Choice, Figure, Tone};
use super::work_view::{
    BackBody, FieldView, Offer, PickView, Saying, StepBody, StepMark, StripMark,
};
use super::{gauge, words};
use crate::messages::{fit, procedures, steps};
use crate::tablet::step_entry::StepEntry;

/// Id of the toggle that says a step is done, looked at, or that nothing is amiss.
pub const SAID: &str = "said";

/// The steps that are there on the chosen branch, in order.
#[must_use]
pub fn there(state: &ProcedureState) -> Vec<&StepState> {
    let is_there =
        |step: &&StepState| !matches!(step.status, StepStatus::OtherBranch | StepStatus::Waiting);
    state.steps.iter().filter(is_there).collect()
}

/// The whole procedure at one glance.
#[must_use]
pub fn marks(state: &ProcedureState, here: StepCode) -> Vec<StripMark> {
    let all = there(state).into_iter();
    all.map(|step| StripMark {
        mark: match step.status {
            StepStatus::Done => StepMark::Done,
            StepStatus::PassedOver => StepMark::Passed,
            StepStatus::GoingOn | StepStatus::Tried(_) | StepStatus::Disputed => StepMark::Begun,
            StepStatus::Open | StepStatus::OtherBranch | StepStatus::Waiting => StepMark::Open,
        },
        is_here: step.step.code == here,
    })
    .collect()
}

/// "step 6 of 13", or empty for a step that is not there.
#[must_use]
pub fn position(state: &ProcedureState, here: StepCode) -> String {
    let all = there(state);
    let at = all.iter().position(|step| step.step.code == here);
    at.map_or_else(String::new, |at| {
        format!("step {} of {}", at + 1, all.len())
    })
}

/// What a step is shown with.
#[derive(Clone, Copy)]
pub struct Around<'a> {
    /// The station.
    pub station: &'a Station,
    /// Where the procedure stands.
    pub state: &'a ProcedureState,
    /// The figures of a step that checks some.
    pub figures: &'a [Fit],
}

/// Shows a step that is to be done.
#[must_use]
pub fn step(around: &Around<'_>, entry: &StepEntry) -> StepBody {
    let data = entry.step();
    let unit = around.station.gauge(Quantity::Outlet).unit();
    let missing = around
        .state
        .way(data.code)
        .map_or(&[][..], |way| &way.missing[..]);
    let blocked = around
        .state
        .way(data.code)
        .map_or(&[][..], |way| &way.blocked_by[..]);
    let all = there(around.state);
    let place = all.iter().position(|one| one.step.code == data.code);
    let picks = picks(entry);
    let mut picks = picks.into_iter();
    StepBody {
        marks: marks(around.state, data.code),
        heading: procedures::step(data.code).to_owned(),
        what: steps::what(data.code).to_owned(),
        why: steps::why(data.code).to_owned(),
        cautions: data
            .cautions
            .iter()
            .map(|caution| procedures::caution(*caution).to_owned())
            .collect(),
        notice: notice(around.state, data.code, missing, blocked),
        ticks: ticks(entry),
        offers: offers(entry),
        gauges: entry.gauges.as_ref().map(|gauges| {
            let judgement = gauges.judgement();
            Quantity::ALL.map(|quantity| {
                gauge::gauge(
                    around.station,
                    &judgement,
                    quantity,
                    &gauges.cell(quantity).text,
                    gauges.value(quantity),
                    gauges.chosen() == quantity,
                )
            })
        }),
        fields: fields(entry),
        first_pick: picks.next().unwrap_or_default(),
        second_pick: picks.next().unwrap_or_default(),
        figures: figures(around.figures, unit),
        figures_say: match data.act {
            Act::CheckFigures => figures_say(around.figures),
            _ => Saying::default(),
        },
        has_keypad: entry.has_keypad(),
        next_field: next_field(entry),
        act: act_label(entry, around.figures, missing),
        can_act: entry.is_whole() && blocked.is_empty(),
        can_pass: data.may_be_passed,
        can_back: place.is_some_and(|place| place > 0),
        can_forward: place.is_some_and(|place| place + 1 < all.len()),
        note: if entry.note.is_empty() {
            "Note".to_owned()
        } else {
            "Note, written".to_owned()
        },
    }
}

/// Why a step stands open again, or is not its turn.
fn notice(
    state: &ProcedureState,
    code: StepCode,
    missing: &[StepCode],
    blocked: &[StepCode],
) -> String {
    let named = |steps: &[StepCode]| {
        let names: Vec<String> = steps
            .iter()
            .map(|step| format!("\u{201c}{}\u{201d}", procedures::step(*step)))
            .collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        words::listed(&names)
    };
    if !blocked.is_empty() {
        return format!("Not without {}.", named(blocked));
    }
    if let Some(first) = missing.first() {
        return format!(
            "It comes after {}. Done now, it needs a reason.",
            named(&[*first])
        );
    }
    match state.status(code) {
        Some(StepStatus::Tried(Attempt::NoFlow)) => {
            "No water was drawn. Without flow nothing can be set: draw some, and note it."
                .to_owned()
        }
        Some(StepStatus::Tried(Attempt::AirLeft)) => {
            "Air still came. Vent again until none comes.".to_owned()
        }
        _ => String::new(),
    }
}

fn ticks(entry: &StepEntry) -> Vec<Choice> {
    let data = entry.step();
    let tone = if data.act == Act::TickNoticed {
        Tone::Caution
    } else {
        Tone::Within
    };
    let of_list = data.ticks.iter().map(|tick| Choice {
        is_on: entry.ticks.contains(tick),
        tone,
        ..Choice::new(
            format!("tick:{}", tick.code()),
            words::capital(procedures::tick(*tick)),
        )
    });
    let said = match data.act {
        Act::Do => Some("It is done"),
        Act::CheckFigures => Some("The figures are looked at"),
        Act::TickNoticed => Some("Nothing amiss"),
        Act::Measure if !data.measures.iter().any(|one| one.is_needed) => Some("It is done"),
        _ => None,
    };
    let said = said.map(|label| Choice {
        is_on: entry.is_said,
        tone: Tone::Within,
        ..Choice::new(SAID, label)
    });
    of_list.chain(said).collect()
}

fn offers(entry: &StepEntry) -> Vec<Offer> {
    if entry.step().act != Act::Choose {
        return Vec::new();
    }
    let all = Branch::ALL.iter();
    all.map(|branch| Offer {
        id: format!("branch:{}", branch.code()),
        label: match branch {
            Branch::Keep => "Keep the set point".to_owned(),
            Branch::Recalibrate => "Set it anew".to_owned(),
        },
        detail: steps::branch_means(*branch).to_owned(),
        is_on: entry.branch == Some(*branch),
    })
    .collect()
}

fn fields(entry: &StepEntry) -> Vec<FieldView> {
    let numbers = entry.numbers.iter().enumerate();
    numbers
        .map(|(index, (code, digits))| FieldView {
            id: format!("field:{index}"),
            name: procedures::measure(*code).to_owned(),
            value: digits.text.clone(),
            unit: match code.measurand() {
                Measurand::Turns => "turns".to_owned(),
                _ => digits.unit.symbol().to_owned(),
            },
            is_chosen: entry.chosen == index,
        })
        .collect()
}

fn next_field(entry: &StepEntry) -> String {
    match &entry.gauges {
        Some(gauges) => format!("next: {}", words::gauge(gauges.next_gauge())),
        None if entry.numbers.len() > 1 => {
            let next = (entry.chosen + 1) % entry.numbers.len();
            format!("next: {}", procedures::measure(entry.numbers[next].0))
        }
        None => String::new(),
    }
}

/// The short lists of a step, each with its name.
fn picks(entry: &StepEntry) -> Vec<PickView> {
    let measures = entry.step().measures.iter();
    measures
        .filter_map(|measure| {
            let code = measure.code;
            let choices: Vec<(&str, &str)> = match code.measurand() {
                Measurand::Pressure | Measurand::Turns => return None,
                Measurand::Count => vec![
                    ("1", "once"),
                    ("2", "twice"),
                    ("3", "3 times"),
                    ("4", "4 times"),
                    ("5", "5 times"),
                ],
                Measurand::DrawOff => DrawOff::ALL
                    .iter()
                    .map(|one| (one.code(), procedures::draw_off(*one)))
                    .collect(),
                Measurand::Air => Air::ALL
                    .iter()
                    .map(|one| {
                        let label = match one {
                            Air::None => "no air any more",
                            Air::Some => "air still comes",
                        };
                        (one.code(), label)
                    })
                    .collect(),
                Measurand::Dirt => Dirt::ALL
                    .iter()
                    .map(|one| (one.code(), procedures::dirt(*one)))
                    .collect(),
                Measurand::Inside => Inside::ALL
                    .iter()
                    .map(|one| (one.code(), procedures::inside(*one)))
                    .collect(),
            };
            Some(PickView {
                name: pick_name(code).to_owned(),
                choices: choices
                    .into_iter()
                    .map(|(value, label)| Choice {
                        is_on: entry.picked.get(&code).is_some_and(|one| one == value),
                        ..Choice::new(format!("pick:{}:{value}", code.code()), label)
                    })
                    .collect(),
            })
        })
        .collect()
}

const fn pick_name(code: MeasureCode) -> &'static str {
    match code {
        MeasureCode::Air => "At the last venting",
        MeasureCode::Ventings => "Vented how often",
        MeasureCode::Flow => "Water drawn",
        MeasureCode::StrainerFound => "How the strainer was found",
        MeasureCode::InsideFound => "How it was found inside",
        _ => procedures::measure(code),
    }
}

fn figures(found: &[Fit], unit: Unit) -> Vec<Saying> {
    let found = found.iter();
    found
        .map(|one| Saying::of(level_tone(one.level()), fit::fit(one, unit)))
        .collect()
}

/// What figures come to.
#[must_use]
pub fn figures_say(found: &[Fit]) -> Saying {
    let worst = worst(found);
    Saying::of(
        level_tone(worst),
        format!("{}. {}", fit::heading(worst), fit::advice(worst)),
    )
}

/// The tone of a level.
#[must_use]
pub const fn level_tone(level: Level) -> Tone {
    match level {
        Level::Fits => Tone::Within,
        Level::Note => Tone::Unsure,
        Level::Stop => Tone::Outside,
    }
}

fn act_label(entry: &StepEntry, found: &[Fit], missing: &[StepCode]) -> String {
    let (ticks, measures) = entry.lacking();
    if ticks > 0 {
        return match ticks {
            1 => "1 more to tick".to_owned(),
            n => format!("{n} to tick"),
        };
    }
    if let Some(first) = measures.first() {
        return match first.measurand() {
            Measurand::Pressure | Measurand::Turns => {
                format!("Enter {}", procedures::measure(*first))
            }
            _ => format!("Say: {}", procedures::measure(*first)),
        };
    }
    if entry.step().act == Act::Choose && entry.branch.is_none() {
        return "Choose one".to_owned();
    }
    let is_stop = entry.step().act == Act::CheckFigures && worst(found) == Level::Stop;
    if is_stop || !missing.is_empty() {
        "Go on: say why".to_owned()
    } else if entry.wants_read_back() {
        "Read back".to_owned()
    } else {
        "Done: go on".to_owned()
    }
}

/// What was typed at a step, read back.
#[must_use]
pub fn back(station: &Station, entry: &StepEntry) -> BackBody {
    let mut figures: Vec<Figure> = Vec::new();
    if let Some(gauges) = &entry.gauges {
        let judgement = gauges.judgement();
        figures.extend(
            Quantity::ALL.map(|quantity| {
                gauge::figure(station, &judgement, quantity, gauges.value(quantity))
            }),
        );
    }
    let numbers = entry.numbers.iter();
    figures.extend(numbers.filter_map(|(code, digits)| {
        let value = digits.value()?;
        Some(Figure {
            name: procedures::measure(*code).to_owned(),
            value: value.digits.to_string(),
            unit: match code.measurand() {
                Measurand::Turns => "turns".to_owned(),
                _ => value.unit.symbol().to_owned(),
            },
            ..Figure::default()
        })
    }));
    let picked = picks(entry).into_iter().filter_map(|pick| {
        let on = pick.choices.into_iter().find(|choice| choice.is_on)?;
        Some(Saying::plain(format!("{}: {}.", pick.name, on.label)))
    });
    let mut sayings: Vec<Saying> = picked.collect();
    if !entry.note.is_empty() {
        sayings.push(Saying::plain(format!(
            "Note: \u{201c}{}\u{201d}",
            entry.note
        )));
    }
    BackBody {
        heading: procedures::step(entry.code()).to_owned(),
        figures,
        sayings,
        save: "Record it and go on".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::procedures::{ProcedureCode, procedure, state};

    fn shown(code: ProcedureCode, at: StepCode, change: impl FnOnce(&mut StepEntry)) -> StepBody {
        let data = procedure(code);
        let station = samples::complete_station();
        let state = state(data, &[]);
        let step_data = data.step(at).expect("a step of it");
        let mut entry = StepEntry::new(step_data, &station, Vec::new(), [1; 8]);
        change(&mut entry);
        let around = Around {
            station: &station,
            state: &state,
            figures: &[],
        };
        step(&around, &entry)
    }

    #[test]
    fn key_says_what_is_still_lacking() {
        let at = |change: fn(&mut StepEntry)| {
            let body = shown(ProcedureCode::Recalibrate, StepCode::Prepare, change);
            (body.act, body.can_act)
        };
        assert_eq!(at(|_| {}), ("3 to tick".to_owned(), false));
        let all = |entry: &mut StepEntry| {
            let ticks = entry.step().ticks;
            for tick in ticks {
                entry.toggle_tick(*tick);
            }
        };
        assert_eq!(at(all), ("Done: go on".to_owned(), true));
    }

    #[test]
    fn step_out_of_turn_says_what_comes_first_and_asks_for_a_reason() {
        let body = shown(ProcedureCode::YearlyClean, StepCode::Isolate, |entry| {
            let ticks = entry.step().ticks;
            for tick in ticks {
                entry.toggle_tick(*tick);
            }
        });
        assert!(body.notice.contains("Prepare"), "{}", body.notice);
        assert_eq!((body.act.as_str(), body.can_act), ("Go on: say why", true));
        let blocked = shown(ProcedureCode::YearlyClean, StepCode::Pressureless, |_| {});
        assert!(
            blocked.notice.starts_with("Not without"),
            "{}",
            blocked.notice
        );
        assert!(!blocked.can_act);
    }

    #[test]
    fn every_step_of_every_procedure_can_be_entered_on_its_screen() {
        for code in ProcedureCode::ALL {
            for data in procedure(*code).steps {
                let body = shown(*code, data.code, |_| {});
                let can_enter = !body.ticks.is_empty()
                    || !body.offers.is_empty()
                    || body.has_keypad
                    || !body.first_pick.choices.is_empty();
                assert!(can_enter, "{:?}", data.code);
                assert_eq!(body.cautions.len(), data.cautions.len());
            }
        }
    }
}
