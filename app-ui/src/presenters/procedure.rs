//! A procedure as a whole: choosing and opening one, its steps, one step that is settled, its end.

use winze_core::actions::{Ended, Revised};
use winze_core::procedures::{
    Closing, OpenReason, ProcedureCode, ProcedureState, ReasonCode, StepCode, StepEntry, StepState,
    StepStatus,
};
use winze_core::query::ProcedureView;
use winze_core::record::{ProcedureEnd, StepOutcome};
use winze_core::watch::Restart;

use super::step::there;
use super::view::{Choice, Tone};
use super::work_view::{ChoicesBody, DetailBody, ListBody, Offer, Saying, TaskLine};
use super::{moment, words};
use crate::messages::{counted, procedures, steps};

/// Milliseconds since 1970 and minutes east of Greenwich.
pub type Now = (i64, i16);

/// Which procedure to open.
#[must_use]
pub fn choose(station: &str, open: &[ProcedureView]) -> ChoicesBody {
    let all = ProcedureCode::ALL.iter();
    ChoicesBody {
        heading: format!("Which procedure at {station}?"),
        under: String::new(),
        offers: all
            .map(|code| {
                let is_open = open.iter().any(|view| view.code == *code);
                Offer {
                    id: format!("procedure:{}", code.code()),
                    label: words::capital(procedures::procedure(*code)),
                    detail: if is_open {
                        "It is open already: go on with it.".to_owned()
                    } else {
                        steps::purpose(*code).to_owned()
                    },
                    is_on: false,
                }
            })
            .collect(),
        leave: "Open none".to_owned(),
    }
}

/// Why it is opened.
#[must_use]
pub fn why_open(code: ProcedureCode) -> ChoicesBody {
    let all = OpenReason::ALL.iter();
    ChoicesBody {
        heading: format!("{}: why?", words::capital(procedures::procedure(code))),
        under: "It stands on the certificate.".to_owned(),
        offers: all
            .map(|reason| {
                let label = match reason {
                    OpenReason::Other => "Something else, in words".to_owned(),
                    reason => words::capital(&procedures::open_reason(Some(*reason), "")),
                };
                Offer::new(format!("why:{}", reason.code()), label)
            })
            .collect(),
        leave: "Do not open it".to_owned(),
    }
}

/// A stated reason to choose; `heading` says for what.
#[must_use]
pub fn reasons(heading: String, under: &str) -> ChoicesBody {
    let all = ReasonCode::ALL.iter();
    ChoicesBody {
        heading,
        under: under.to_owned(),
        offers: all
            .map(|code| Offer::new(format!("because:{}", code.code()), steps::reason_key(*code)))
            .collect(),
        leave: "Leave it as it is".to_owned(),
    }
}

/// Ready-made words to choose, and a key to write others.
#[must_use]
pub fn worded(heading: String, under: &str, said: &[&str]) -> ChoicesBody {
    let all = said.iter();
    ChoicesBody {
        heading,
        under: under.to_owned(),
        offers: all
            .map(|text| Offer::new(format!("worded:{text}"), *text))
            .chain([Offer::new("write", "Something else, in words")])
            .collect(),
        leave: "Leave it as it is".to_owned(),
    }
}

/// The status of a step: a word with its tone.
#[must_use]
pub const fn status(status: StepStatus) -> (&'static str, Tone) {
    match status {
        StepStatus::Done => ("done", Tone::Within),
        StepStatus::PassedOver => ("passed over", Tone::Caution),
        StepStatus::Disputed => ("two say different things", Tone::Outside),
        StepStatus::GoingOn => ("going on", Tone::Unsure),
        StepStatus::Tried(_) => ("tried, still open", Tone::Unsure),
        StepStatus::Open | StepStatus::OtherBranch | StepStatus::Waiting => ("", Tone::None),
    }
}

/// Every step of the chosen branch.
#[must_use]
pub fn all_steps(state: &ProcedureState, now: Now) -> ListBody {
    let lines = there(state).into_iter().enumerate().map(|(index, step)| {
        let (word, tone) = status(step.status);
        TaskLine {
            id: format!("step:{}", step.step.code.code()),
            title: format!("{}  {}", index + 1, procedures::step(step.step.code)),
            detail: step
                .in_force()
                .map_or_else(String::new, |entry| who(entry, now)),
            tone,
            status: word.to_owned(),
            is_next: state.next == Some(step.step.code),
            is_heading: false,
        }
    });
    ListBody {
        lines: lines.collect(),
        nothing: String::new(),
        keys: vec![
            Choice {
                is_on: true,
                ..Choice::new("step", "Back to the step")
            },
            Choice::new("give-up", "Give it up"),
        ],
    }
}

fn who(entry: &StepEntry, (now_ms, offset): Now) -> String {
    format!(
        "{}, {} {}",
        entry.by,
        moment::day(entry.wall_ms, now_ms, offset),
        moment::time(entry.wall_ms, offset)
    )
}

/// What a record of a step says, in sentences.
fn says(entry: &StepEntry) -> Vec<Saying> {
    let body = &entry.body;
    let mut said: Vec<Saying> = body
        .measured
        .iter()
        .map(|one| {
            Saying::plain(format!(
                "{}: {}",
                words::capital(procedures::measure(one.code)),
                procedures::value(one.value)
            ))
        })
        .collect();
    said.extend(
        body.branch
            .map(|branch| Saying::plain(words::capital(procedures::branch(branch)))),
    );
    if !body.ticks.is_empty() {
        let ticks: Vec<&str> = body
            .ticks
            .iter()
            .map(|tick| procedures::tick(*tick))
            .collect();
        said.push(Saying::plain(format!("Ticked: {}.", words::listed(&ticks))));
    }
    if let (Some(last), count) = (body.points.last(), body.points.len()) {
        said.push(Saying::plain(format!(
            "{}, the last {} at {} turns from where it began.",
            counted(count as u64, "reading", "readings"),
            words::typed(last.pressure),
            last.turns
        )));
    }
    let reasons = [
        ("Done out of turn", &body.out_of_order),
        ("Gone on although the figures said stop", &body.despite),
    ];
    for (what, reason) in reasons {
        if let Some(reason) = reason {
            let why = procedures::reason(reason);
            said.push(Saying::of(Tone::Caution, format!("{what}: {why}.")));
        }
    }
    if let StepOutcome::PassedOver(reason) = &body.outcome {
        let why = procedures::reason(reason);
        said.push(Saying::of(Tone::Caution, format!("Passed over: {why}.")));
    }
    if !body.note.is_empty() {
        said.push(Saying::plain(format!(
            "Note: \u{201c}{}\u{201d}",
            body.note
        )));
    }
    said
}

/// A step that is settled, or disputed: what was recorded, and the keys to take it back.
#[must_use]
pub fn settled(state: &ProcedureState, step: &StepState, now: Now) -> DetailBody {
    let (word, tone) = status(step.status);
    let is_closed = state.closing.is_closed();
    let mut sayings = Vec::new();
    let mut keys = Vec::new();
    if step.status == StepStatus::Disputed {
        sayings.push(Saying::of(
            Tone::Outside,
            "Two tablets recorded it differently. Take back the one that is wrong.",
        ));
        for entry in step.standing() {
            sayings.push(Saying::of(Tone::Unsure, format!("{}:", who(entry, now))));
            sayings.extend(says(entry));
            keys.push(Choice::new(
                format!("undo:{}", entry.at),
                format!("Take back that of {}", who(entry, now)),
            ));
        }
    } else if let Some(entry) = step.in_force() {
        sayings.push(Saying::plain(format!("{}.", who(entry, now))));
        sayings.extend(says(entry));
        keys.push(Choice {
            is_on: true,
            ..Choice::new("next-open", "Go on with the next")
        });
        keys.push(Choice::new("undo", "Take it back: say why"));
    }
    if is_closed {
        keys.clear();
    }
    keys.extend([
        Choice::new("back", "Step before"),
        Choice::new("forward", "Step after"),
        Choice::new("steps", "All steps"),
    ]);
    DetailBody {
        heading: procedures::step(step.step.code).to_owned(),
        tone,
        status: word.to_owned(),
        sayings,
        keys,
    }
}

/// What a procedure that nothing is open in any more comes to, before it is closed.
#[must_use]
pub fn closing(view: &ProcedureView, done_by: &str, seen_by: &str) -> DetailBody {
    let mut sayings = Vec::new();
    let Some(state) = &view.state else {
        return DetailBody::default();
    };
    if let Closing::Contested(_) | Closing::Disputed(_) = state.closing {
        sayings.push(Saying::of(
            Tone::Outside,
            "It was ended on another tablet while something else was recorded here. End it anew.",
        ));
    }
    for (label, code) in [
        ("As found", StepCode::AsFound),
        ("As left", StepCode::AsLeft),
    ] {
        if let Some(entry) = state.entry(code) {
            let value = |typed| Option::map_or(typed, "\u{2013}".to_owned(), words::typed);
            sayings.push(Saying::plain(format!(
                "{label}: {}, {}, {}.",
                value(entry.inlet),
                value(entry.interstage),
                value(entry.outlet)
            )));
        }
    }
    let passed: Vec<&str> = there(state)
        .into_iter()
        .filter(|step| step.status == StepStatus::PassedOver)
        .map(|step| procedures::step(step.step.code))
        .collect();
    if !passed.is_empty() {
        sayings.push(Saying::of(
            Tone::Caution,
            format!("Passed over: {}.", words::listed(&passed)),
        ));
    }
    sayings.push(Saying::plain(format!("Done by: {done_by}.")));
    sayings.push(Saying::plain(if seen_by.is_empty() {
        "Looked over by: nobody.".to_owned()
    } else {
        format!("Looked over by: {seen_by}.")
    }));
    DetailBody {
        heading: "Every step is settled".to_owned(),
        tone: Tone::Within,
        status: format!("{} can be closed", procedures::procedure(view.code)),
        sayings,
        keys: vec![
            Choice {
                is_on: true,
                ..Choice::new("close", close_label(view))
            },
            Choice::new("done-by", "Who did it"),
            Choice::new("seen-by", "Who looked it over"),
            Choice::new("steps", "All steps"),
        ],
    }
}

fn close_label(view: &ProcedureView) -> String {
    if view.data().is_some_and(|data| data.gives_service) {
        "Close it: in service".to_owned()
    } else {
        "Close it".to_owned()
    }
}

/// What came of an end.
#[must_use]
pub fn ended(view: &ProcedureView, ended: &Ended) -> DetailBody {
    let by = ended.state.closing.closed_by();
    let is_given_up = by.is_some_and(|by| by.body.end == ProcedureEnd::Abandoned);
    let mut sayings = Vec::new();
    let anew: Vec<&str> = ended
        .restarts
        .iter()
        .map(|one| restart(one.restart))
        .collect();
    if !anew.is_empty() {
        sayings.push(Saying::plain(format!(
            "A new baseline begins for {}.",
            words::listed(&anew)
        )));
    }
    match &ended.revised {
        Revised::Unchanged => {}
        Revised::By(_) => sayings.push(Saying::plain(
            "The station\u{2019}s definition was revised with what was measured.",
        )),
        Revised::Unsound(_) => sayings.push(Saying::of(
            Tone::Caution,
            "The station\u{2019}s definition was left alone: it would not fit what was measured. \
             Tell the office.",
        )),
        Revised::Disputed => sayings.push(Saying::of(
            Tone::Caution,
            "The station\u{2019}s definition was left alone: two disagree, and the office decides.",
        )),
    }
    let follows = view.data().and_then(|data| data.followed_by);
    let follows = follows.filter(|_| !is_given_up);
    if let Some(code) = follows {
        sayings.push(Saying::of(
            Tone::Act,
            format!(
                "The station is not in service yet: the {} follows.",
                procedures::procedure(code)
            ),
        ));
    }
    let (status, tone) = match (is_given_up, ended.state.is_in_service()) {
        (true, _) => ("given up", Tone::Caution),
        (false, true) => ("in service", Tone::Within),
        (false, false) => ("closed", Tone::Within),
    };
    let mut keys = vec![Choice::new("hub", format!("Back to {}", view.station))];
    if let Some(code) = follows {
        let label = format!("Open the {}", procedures::procedure(code));
        keys.push(Choice::new(format!("follow:{}", code.code()), label));
    }
    if let Some(last) = keys.last_mut() {
        last.is_on = true;
    }
    DetailBody {
        heading: format!(
            "{} at {}",
            words::capital(procedures::procedure(view.code)),
            view.station
        ),
        tone,
        status: status.to_owned(),
        sayings,
        keys,
    }
}

const fn restart(restart: Restart) -> &'static str {
    match restart {
        Restart::Station => "the whole station",
        Restart::Inlet => "the inlet",
        Restart::FirstStage => "the first stage",
        Restart::SecondStage => "the second stage",
        Restart::InletGauge => "the inlet gauge",
        Restart::InterstageGauge => "the interstage gauge",
        Restart::OutletGauge => "the outlet gauge",
    }
}

/// How far a procedure is, in a line: "step 6 of 13, Read the gauges as found".
#[must_use]
pub fn how_far(view: &ProcedureView) -> String {
    let Some(state) = &view.state else {
        return "its steps are not known to this Winze".to_owned();
    };
    match state.next {
        Some(next) => {
            let all = there(state);
            let place = all.iter().position(|step| step.step.code == next);
            let turns = state.turns();
            let turned = match turns.len() {
                0 => String::new(),
                n if next == StepCode::Calibrate => {
                    format!(", {}", counted(n as u64, "reading", "readings"))
                }
                _ => String::new(),
            };
            format!(
                "step {} of {}: {}{turned}",
                place.map_or(0, |place| place + 1),
                all.len(),
                procedures::step(next)
            )
        }
        None => "every step is settled: close it".to_owned(),
    }
}

/// What was said after a step: which, and what follows from it.
#[must_use]
pub fn recorded(step: StepCode) -> Saying {
    Saying::plain(format!("Recorded: {}.", procedures::step(step)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_procedure_and_every_reason_can_be_chosen_by_its_own_words() {
        let offers = choose("T-07", &[]).offers;
        assert_eq!(offers.len(), ProcedureCode::ALL.len());
        for offers in [
            offers,
            why_open(ProcedureCode::SetUp).offers,
            reasons(String::new(), "").offers,
            worded(String::new(), "", &steps::UNDO_REASONS).offers,
        ] {
            let labels: std::collections::BTreeSet<_> =
                offers.iter().map(|offer| &offer.label).collect();
            assert_eq!(labels.len(), offers.len());
            assert!(offers.iter().all(|offer| !offer.label.is_empty()));
        }
    }
}
