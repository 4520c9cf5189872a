//! Procedures in the office: which are open, how far, what each waits for, where two tablets
//! disagree. The steps of one are in [`super::office_steps`].

use winze_core::procedures::{Closing, ProcedureState};
use winze_core::query::ProcedureView;
use winze_core::record::ProcedureEnd;

use super::office_due::STATION;
use super::office_time as time;
use super::office_upkeep::{ActKey, BoardDetail, BoardLine, Filter, is_found, sentences};
use super::office_view::Fact;
use super::view::Tone;
use super::words::capital;
use crate::messages::procedures as words;
use crate::office::board::{Board, is_in_dispute};

/// Filter: procedures that still ask for something.
pub const OPEN: &str = "open";
/// Filter: procedures that have ended.
pub const ENDED: &str = "ended";
/// Key: look at the steps.
pub const STEPS: &str = "steps";
/// Key: back to the list.
pub const BACK: &str = "back";

/// The ways of narrowing the list, with how many there are.
#[must_use]
pub fn filters(board: &Board, chosen: &str) -> Vec<Filter> {
    let open = board
        .procedures
        .iter()
        .filter(|view| view.is_open())
        .count();
    let ended = board.procedures.len() - open;
    vec![
        Filter::new(OPEN, format!("Open {open}"), chosen),
        Filter::new(ENDED, format!("Ended {ended}"), chosen),
    ]
}

/// The list: the one opened last first, those with a disagreement before all others.
#[must_use]
pub fn lines(board: &Board, chosen: &str, find: &str) -> Vec<BoardLine> {
    let is_asked = |view: &&ProcedureView| view.is_open() == (chosen == OPEN);
    let mut asked: Vec<&ProcedureView> = board.procedures.iter().filter(is_asked).collect();
    asked.sort_by_key(|view| !view.state.as_ref().is_some_and(is_in_dispute));
    let lines = asked.into_iter().map(|view| line(board, view));
    let fits = |line: &BoardLine| is_found(find, &[&line.code, &line.name, &line.sentence]);
    lines.filter(fits).collect()
}

fn line(board: &Board, view: &ProcedureView) -> BoardLine {
    let (tone, word) = stands(view);
    let name = capital(words::procedure(view.code));
    BoardLine {
        id: view.at.to_string(),
        tone,
        word: word.to_owned(),
        code: view.station.to_string(),
        name: match step_of(view) {
            Some(step) if view.is_open() => format!("{name}, {step}"),
            _ => name,
        },
        sentence: waits_for(view),
        when: match ended_ms(view) {
            Some((ended_ms, offset)) => time::day(ended_ms, offset),
            None => format!("open for {}", time::apart(view.opened_ms, board.now_ms)),
        },
        ..BoardLine::default()
    }
}

fn ended_ms(view: &ProcedureView) -> Option<(i64, i16)> {
    let closing = view.state.as_ref().map(|state| &state.closing)?;
    let by = closing.closed_by()?;
    Some((by.wall_ms, by.body.utc_offset_minutes))
}

/// How a procedure stands, in a word.
fn stands(view: &ProcedureView) -> (Tone, &'static str) {
    let Some(state) = &view.state else {
        return (Tone::Caution, "unknown");
    };
    match &state.closing {
        Closing::Completed(_) => (Tone::Within, "completed"),
        Closing::Abandoned(_) => (Tone::None, "given up"),
        _ if is_in_dispute(state) => (Tone::Caution, "disputed"),
        _ => (Tone::Act, "open"),
    }
}

/// "step 7 of 24".
fn step_of(view: &ProcedureView) -> Option<String> {
    let (settled, all) = view.state.as_ref()?.progress();
    Some(format!("step {} of {all}", (settled + 1).min(all)))
}

/// What comes next, and what stands in its way.
fn waits_for(view: &ProcedureView) -> String {
    let Some(state) = &view.state else {
        return format!(
            "Its steps are of edition {}, which this Winze does not know.",
            view.edition
        );
    };
    if let Some(by) = state.closing.closed_by() {
        let seen = match by.body.seen_by.as_str() {
            "" => String::new(),
            seen => format!("Looked over by {seen}."),
        };
        let done = match by.body.done_by.as_str() {
            "" => format!("Ended by {}.", by.by),
            done => format!("Done by {done}."),
        };
        return sentences([done.as_str(), seen.as_str(), by.body.note.as_str()]);
    }
    let disagree = disagreement(state);
    let next = match state.next {
        Some(step) => format!("Waits for: {}.", words::step(step)),
        None if state.is_complete() => "Every step is done; it waits to be ended.".to_owned(),
        None => "No step can be done as things stand.".to_owned(),
    };
    if disagree.is_empty() { next } else { disagree }
}

/// What two tablets disagree about; empty where they do not.
fn disagreement(state: &ProcedureState) -> String {
    match &state.closing {
        Closing::Disputed(_) => {
            "One tablet completed it, another gave it up; it has to be ended anew.".to_owned()
        }
        _ if state.disputed.is_empty() => String::new(),
        _ => {
            let steps = state.disputed.iter();
            let steps: Vec<&str> = steps.map(|step| words::step(*step)).collect();
            format!("Two tablets recorded differently: {}.", steps.join("; "))
        }
    }
}

/// The procedure behind an answer.
#[must_use]
pub fn find<'a>(board: &'a Board, id: &str) -> Option<&'a ProcedureView> {
    let mut procedures = board.procedures.iter();
    procedures.find(|view| view.at.to_string() == id)
}

/// The particulars of a procedure.
#[must_use]
pub fn detail(board: &Board, id: &str) -> BoardDetail {
    let Some(view) = find(board, id) else {
        return BoardDetail::default();
    };
    let (tone, word) = stands(view);
    let mut told = Vec::new();
    if let Some(state) = &view.state
        && is_in_dispute(state)
    {
        told.push(disagreement(state));
        told.push(
            "See the steps for what each tablet says. On a tablet the wrong record is taken back \
             with a reason; both stay on record."
                .to_owned(),
        );
    }
    if told.is_empty() {
        told.push(waits_for(view));
    }
    BoardDetail {
        heading: format!("{}: {}", view.station, words::procedure(view.code)),
        place: board.place(&view.station),
        tone,
        word: word.to_owned(),
        facts: facts(board, view),
        told_title: String::new(),
        told,
        keys: vec![
            ActKey::primary(STEPS, "See the steps"),
            ActKey::new(STATION, "See the station"),
        ],
    }
}

/// What is known of a procedure as a whole.
#[must_use]
pub fn facts(board: &Board, view: &ProcedureView) -> Vec<Fact> {
    let opened = time::moment_and_year(view.opened_ms, view.utc_offset_minutes);
    let mut facts = vec![Fact::new("opened", format!("{opened}, {}", view.by))];
    facts.push(Fact::new("logbook", board.log_name(view.log)));
    let why = words::open_reason(view.reason, &view.note);
    if !why.is_empty() {
        facts.push(Fact::new("because", why));
    }
    if let Some((settled, all)) = view.state.as_ref().map(ProcedureState::progress) {
        facts.push(Fact::new("steps", format!("{settled} of {all} settled")));
    }
    match ended_ms(view) {
        Some((ended_ms, offset)) => {
            facts.push(Fact::new("ended", time::moment_and_year(ended_ms, offset)));
        }
        None => facts.push(Fact::new("age", time::apart(view.opened_ms, board.now_ms))),
    }
    facts.push(Fact::new("record", view.at.id.to_string()));
    facts
}

/// How a procedure ended, in a word, for lists of documents.
#[must_use]
pub const fn ending(end: ProcedureEnd) -> (Tone, &'static str) {
    match end {
        ProcedureEnd::Completed => (Tone::Within, "completed"),
        ProcedureEnd::Abandoned => (Tone::None, "given up"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::upkeep_scenario;

    #[test]
    fn open_procedures_say_how_far_and_what_they_wait_for() {
        let board = upkeep_scenario::board();
        let found = lines(&board, OPEN, "");
        assert_eq!(found.len(), 1);
        let line = &found[0];
        assert_eq!(
            (line.word.as_str(), line.code.as_str()),
            ("disputed", "T-02")
        );
        assert!(
            line.name.starts_with("Recalibration, step 2 of "),
            "{line:?}"
        );
        assert_eq!(
            line.sentence,
            "Two tablets recorded differently: Read the gauges as found."
        );
        assert!(line.when.starts_with("open for "), "{line:?}");
    }

    #[test]
    fn ended_procedures_are_listed_apart() {
        let board = upkeep_scenario::board();
        let ended = lines(&board, ENDED, "");
        assert_eq!(ended.len(), 1);
        assert_eq!(ended[0].word, "given up");
        assert!(ended[0].sentence.contains("water was needed"), "{ended:?}");
    }
}
