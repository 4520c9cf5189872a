//! The steps of one procedure in the office, with values, reasons, what was taken back, and what two
//! tablets recorded differently.

use winze_core::procedures::{
    Attempt, Level, ProcedureState, Says, Standing, StepCode, StepEntry, StepState, StepStatus,
};
use winze_core::query::ProcedureView;
use winze_core::record::{ShownFigure, StepOutcome, StepRecorded};
use winze_sync_format::RecordRef;

use super::office_time as time;
use super::office_upkeep::{BoardDetail, BoardLine, sentences};
use super::office_view::Fact;
use super::view::Tone;
use super::words::{self as trade, capital};
use crate::messages::procedures as words;
use crate::messages::reports::figure_said;
use crate::office::board::Board;

fn taken(state: &ProcedureState) -> impl Iterator<Item = (usize, &StepState)> {
    let steps = state.steps.iter();
    let taken = steps.filter(|step| step.status != StepStatus::OtherBranch);
    taken.enumerate().map(|(index, step)| (index + 1, step))
}

/// The steps of a procedure, those of the other branch left out.
#[must_use]
pub fn steps(view: &ProcedureView) -> Vec<BoardLine> {
    let Some(state) = &view.state else {
        return Vec::new();
    };
    let line = |(number, step): (usize, &StepState)| {
        let entry = step.in_force().or_else(|| step.entries.last());
        let (tone, word) = step_stands(step);
        let is_next = state.next == Some(step.step.code);
        let says = entry.map_or_else(String::new, |entry| says(&entry.body).join(", "));
        BoardLine {
            id: step.step.code.code().to_owned(),
            tone: if is_next { Tone::Act } else { tone },
            word: if is_next && step.status == StepStatus::Open {
                "next".to_owned()
            } else {
                word.to_owned()
            },
            code: number.to_string(),
            name: words::step(step.step.code).to_owned(),
            sentence: sentences([told_of(step).as_str(), capital(&says).as_str()]),
            when: entry.map_or_else(String::new, when),
            ..BoardLine::default()
        }
    };
    taken(state).map(line).collect()
}

fn told_of(step: &StepState) -> String {
    match (step.status, step.entries.len()) {
        (StepStatus::Disputed, many) => format!("{many} records say different things."),
        (status, many) if many > 1 && !status.is_open() => {
            let back = step.entries.iter().filter(|entry| is_back(entry)).count();
            if back == 0 {
                String::new()
            } else {
                format!(
                    "{} taken back before.",
                    trade::count(back as u64, "record", "records")
                )
            }
        }
        _ => String::new(),
    }
}

const fn is_back(entry: &StepEntry) -> bool {
    matches!(
        entry.standing,
        Standing::Undone { .. } | Standing::Fell { .. }
    )
}

fn when(entry: &StepEntry) -> String {
    let at = time::moment(entry.wall_ms, entry.body.utc_offset_minutes);
    format!("{at}, {}", entry.by)
}

fn step_stands(step: &StepState) -> (Tone, &'static str) {
    match step.status {
        StepStatus::Done => (Tone::Within, "done"),
        StepStatus::PassedOver => (Tone::None, "passed over"),
        StepStatus::Disputed => (Tone::Caution, "disputed"),
        StepStatus::GoingOn => (Tone::Act, "going on"),
        StepStatus::Tried(_) => (Tone::Act, "tried"),
        StepStatus::Open | StepStatus::Waiting | StepStatus::OtherBranch => {
            if step.entries.iter().any(is_back) {
                (Tone::Unsure, "taken back")
            } else {
                (Tone::None, "not done")
            }
        }
    }
}

/// What was measured, chosen, ticked and noted.
fn says(body: &StepRecorded) -> Vec<String> {
    let measured = body.measured.iter();
    let mut all: Vec<String> = measured
        .map(|one| format!("{} {}", words::measure(one.code), words::value(one.value)))
        .collect();
    all.extend(body.branch.map(|branch| words::branch(branch).to_owned()));
    if !body.points.is_empty() {
        all.push(trade::count(
            body.points.len() as u64,
            "turn of the screw",
            "turns of the screw",
        ));
    }
    all.extend(body.ticks.iter().map(|tick| words::tick(*tick).to_owned()));
    if !body.note.is_empty() {
        all.push(format!("\u{201c}{}\u{201d}", body.note));
    }
    all
}

/// The particulars of one step: what stands, and every record that does not.
#[must_use]
pub fn step_detail(board: &Board, view: &ProcedureView, id: &str) -> BoardDetail {
    let Some(state) = &view.state else {
        return BoardDetail::default();
    };
    let Some((number, step)) = taken(state).find(|(_, step)| step.step.code.code() == id) else {
        return BoardDetail::default();
    };
    let (tone, word) = step_stands(step);
    let in_force = step.in_force();
    let mut facts = Vec::new();
    if let Some(entry) = in_force {
        facts.push(Fact::new("recorded", when(entry)));
        facts.push(Fact::new("logbook", board.log_name(entry.at.log)));
        facts.extend(particulars(&entry.body));
    }
    if let Some(way) = state.way(step.step.code) {
        let named = |steps: &[StepCode]| {
            let steps = steps.iter().map(|one| words::step(*one));
            steps.collect::<Vec<_>>().join("; ")
        };
        if !way.blocked_by.is_empty() {
            facts.push(Fact::new("not before", named(&way.blocked_by)));
        }
        if !way.missing.is_empty() {
            facts.push(Fact::new("comes after", named(&way.missing)));
        }
    }
    let others = step.entries.iter();
    let others = others.filter(|entry| in_force.is_none_or(|one| one.at != entry.at));
    let others: Vec<_> = others.map(|entry| told(board, view, entry)).collect();
    BoardDetail {
        heading: format!("{number}  {}", words::step(step.step.code)),
        place: format!("{}: {}", view.station, words::procedure(view.code)),
        tone,
        word: word.to_owned(),
        facts,
        told_title: match (step.status, others.len()) {
            (StepStatus::Disputed, _) => "What was recorded".to_owned(),
            (_, 0) => String::new(),
            _ => "Other records of this step".to_owned(),
        },
        told: others,
        keys: Vec::new(),
    }
}

/// What a record says, one fact for each thing.
fn particulars(body: &StepRecorded) -> Vec<Fact> {
    let measured = body.measured.iter();
    let mut facts: Vec<Fact> = measured
        .map(|one| Fact::new(words::measure(one.code), words::value(one.value)))
        .collect();
    facts.extend(
        body.branch
            .map(|branch| Fact::new("chosen", words::branch(branch))),
    );
    facts.extend(body.points.iter().map(|point| {
        let turns = format!("after {} turns", point.turns);
        Fact::new(turns, format!("outlet {}", trade::typed(point.pressure)))
    }));
    if !body.ticks.is_empty() {
        let ticks: Vec<&str> = body.ticks.iter().map(|tick| words::tick(*tick)).collect();
        facts.push(Fact::new("seen to", ticks.join(", ")));
    }
    if !body.figures.is_empty() {
        let said = |figure: &ShownFigure| figure_said(&figure.code, figure.level == Level::Stop);
        let mut figures: Vec<String> = body.figures.iter().map(said).collect();
        figures.dedup();
        facts.push(Fact::new("figures", figures.join(", ")));
    }
    if let StepOutcome::PassedOver(reason) = &body.outcome {
        facts.push(Fact::new("passed over", words::reason(reason)));
    }
    if let Some(reason) = &body.out_of_order {
        facts.push(Fact::new("out of order", words::reason(reason)));
    }
    if let Some(reason) = &body.despite {
        facts.push(Fact::new("all the same", words::reason(reason)));
    }
    if !body.note.is_empty() {
        facts.push(Fact::new("note", &body.note));
    }
    facts
}

/// A record of a step that does not settle it, in sentences.
fn told(board: &Board, view: &ProcedureView, entry: &StepEntry) -> String {
    let how = match entry.standing {
        Standing::Stands => String::new(),
        Standing::Tried(attempt) => tried(attempt).to_owned(),
        Standing::Undone { by } => undone(view, by),
        Standing::Fell { .. } => "Fell with a step it rests on.".to_owned(),
        Standing::Unfit(_) => "Does not count.".to_owned(),
    };
    let mut said = says(&entry.body);
    if let StepOutcome::PassedOver(reason) = &entry.body.outcome {
        said.insert(0, format!("passed over, {}", words::reason(reason)));
    }
    let says = if said.is_empty() {
        "done".to_owned()
    } else {
        said.join(", ")
    };
    let who = format!("{}, {}:", when(entry), board.log_name(entry.at.log));
    sentences([who.as_str(), &format!("{says}."), how.as_str()])
}

const fn tried(attempt: Attempt) -> &'static str {
    match attempt {
        Attempt::NoFlow => "No water was drawn, so the step stays open.",
        Attempt::AirLeft => "Air was still coming, so the step stays open.",
    }
}

fn undone(view: &ProcedureView, by: RecordRef) -> String {
    let fact = view.facts.iter().find(|fact| fact.at == by);
    match fact.map(|fact| (fact, &fact.says)) {
        Some((fact, Says::Undone(body))) => format!(
            "Taken back {} by {}: {}.",
            time::moment(fact.wall_ms, body.utc_offset_minutes),
            fact.by,
            body.reason.trim_end_matches('.')
        ),
        _ => "Taken back.".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::upkeep_scenario;

    #[test]
    fn disputed_step_shows_both_records_and_the_one_taken_back() {
        let board = upkeep_scenario::board();
        let view = board
            .procedures
            .iter()
            .find(|view| view.is_open())
            .expect("one");
        let steps = steps(view);
        let disputed = steps
            .iter()
            .find(|line| line.word == "disputed")
            .expect("one");
        let detail = step_detail(&board, view, &disputed.id);
        assert_eq!(detail.told.len(), 2, "{detail:?}");
        assert!(
            detail
                .told
                .iter()
                .any(|told| told.contains("outlet 2.31 bar"))
        );
        assert!(
            detail
                .told
                .iter()
                .any(|told| told.contains("outlet 2.05 bar"))
        );
        let prepare = step_detail(&board, view, &steps[0].id);
        assert!(
            prepare
                .told
                .iter()
                .any(|told| told.contains("Taken back")
                    && told.contains("permit was for another drive")),
            "{prepare:?}"
        );
        assert_eq!(prepare.word, "done");
    }
}
