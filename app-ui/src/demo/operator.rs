//! An operator who walks a round: the same intents as fingers on the glass, one after another.
//!
//! It knows the tablet only through its session and never touches the logbook behind it.

use std::path::Path;

use winze_core::query::logs;
use winze_core::record::Role;
use winze_core::station::{Quantity, StationCode};
use winze_core::units::Typed;
use winze_core::verdict::Entry;

use crate::messages::UserMessage;
use crate::presenters::{doubt, who};
use crate::tablet::entry::StationEntry;
use crate::tablet::session::{Job, Session, Sheet};

/// What the operator does at one station.
#[derive(Debug, Clone, PartialEq)]
pub enum Act {
    /// Reads the gauges.
    Read(Visit),
    /// Passes it by, for a reason by its code, with a note.
    Skip {
        /// The reason's code.
        reason: &'static str,
        /// What is written down.
        note: &'static str,
    },
}

/// Reading one station.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// What the gauges show.
    pub entry: Entry,
    /// The decimal point of the outlet value is forgotten at first.
    pub forgets_point: bool,
    /// Ticked on the look-round, by code.
    pub ticks: &'static [&'static str],
    /// The note.
    pub note: &'static str,
    /// How checks come out, by code; one that is asked for and not named is passed over.
    pub checks: &'static [(&'static str, bool)],
}

impl Visit {
    /// A visit without anything special.
    #[must_use]
    pub const fn plain(entry: Entry) -> Self {
        Self {
            entry,
            forgets_point: false,
            ticks: &[],
            note: "",
            checks: &[],
        }
    }
}

/// Does one act at one station and makes sure that it was saved.
///
/// # Errors
/// What the screen says when the station was not saved.
pub fn act(session: &mut Session, code: &StationCode, act: &Act) -> Result<(), UserMessage> {
    session.open_station(code);
    match act {
        Act::Read(visit) => read(session, visit)?,
        Act::Skip { reason, note } => {
            session.note_done(note);
            session.ask_skip();
            session.skip(reason);
        }
    }
    let is_still_open = session
        .entry()
        .is_some_and(|entry| &entry.station().code == code);
    if is_still_open {
        Err(not_saved(session, code))
    } else {
        Ok(())
    }
}

fn read(session: &mut Session, visit: &Visit) -> Result<(), UserMessage> {
    for quantity in Quantity::ALL {
        let Some(typed) = visit.entry.get(quantity) else {
            continue;
        };
        let digits = typed.digits.to_string();
        let slips = visit.forgets_point && quantity == Quantity::Outlet;
        let keys = if slips {
            digits.replace('.', "")
        } else {
            digits
        };
        session.choose_gauge(quantity);
        keys.chars().for_each(|key| session.key(key));
    }
    session.toggle_flow("flowing");
    visit
        .ticks
        .iter()
        .for_each(|tick| session.toggle_look_round(tick));
    if !visit.note.is_empty() {
        session.ask_note();
        session.note_done(visit.note);
    }
    session.ask_read_back();
    answer_questions(session, visit)?;
    session.save();
    look_into(session, visit);
    Ok(())
}

/// Does the checks that are asked for after saving, as far as the visit knows how they come out.
fn look_into(session: &mut Session, visit: &Visit) {
    if session.sheet() != Some(Sheet::Finding) {
        return;
    }
    for (code, is_yes) in visit.checks {
        let asked = session.finding_view().and_then(|view| view.check);
        if asked.is_some_and(|check| check.code == *code) {
            session.answer_check(code, *is_yes);
        }
    }
    session.go_on();
}

/// Answers what is asked: the likely value where the point was forgotten, else "as typed".
fn answer_questions(session: &mut Session, visit: &Visit) -> Result<(), UserMessage> {
    // Each question is asked at most once, and there are fewer kinds than this.
    for _ in 0..16 {
        match session.sheet() {
            Some(Sheet::Question) => {
                let offers_likely = session
                    .question()
                    .is_some_and(|asked| asked.answers.iter().any(|a| a.id == doubt::LIKELY));
                let wants_likely = visit.forgets_point && offers_likely;
                session.answer(if wants_likely {
                    doubt::LIKELY
                } else {
                    doubt::AS_TYPED
                });
            }
            Some(Sheet::ReadBack) => return check_read_back(session, visit),
            _ => break,
        }
    }
    Ok(())
}

/// Before saving, the values read back must be those on the gauges.
fn check_read_back(session: &Session, visit: &Visit) -> Result<(), UserMessage> {
    let shown = session.entry().map(StationEntry::entry);
    let is_same = |shown: &Entry| {
        Quantity::ALL.into_iter().all(|quantity| {
            let (shown, meant) = (shown.get(quantity), visit.entry.get(quantity));
            shown.map(Typed::to_pressure) == meant.map(Typed::to_pressure)
        })
    };
    if shown.as_ref().is_some_and(is_same) {
        return Ok(());
    }
    Err(UserMessage::new(
        "The values read back are not those on the gauges.",
        "They were not saved.",
        "Report this to whoever looks after Winze here.",
    ))
}

fn not_saved(session: &Session, code: &StationCode) -> UserMessage {
    let said = session.station_trouble();
    let why = if said.is_empty() {
        "the screen did not move on".to_owned()
    } else {
        said
    };
    UserMessage::new(
        format!("Station {code} was not saved: {why}."),
        "What was saved before is safe.",
        "Report this to whoever looks after Winze here.",
    )
}

/// Gives a bundle to a stick, as the hand-over screen does.
///
/// # Errors
/// What the screen says when it was not written.
pub fn give(session: &mut Session, stick: &Path) -> Result<(), UserMessage> {
    let has_bundle =
        |_: &Session| std::fs::read_dir(stick).is_ok_and(|mut entries| entries.next().is_some());
    hand_over(session, stick, Session::give, has_bundle)
}

/// Takes in what lies on a stick, as the hand-over screen does.
///
/// # Errors
/// What the screen says when it was not taken in.
pub fn take(session: &mut Session, stick: &Path) -> Result<(), UserMessage> {
    let knows_another = |session: &Session| {
        session
            .logbook()
            .map(logs)
            .is_some_and(|logs| logs.is_ok_and(|l| l.len() > 1))
    };
    hand_over(session, stick, Session::take, knows_another)
}

fn hand_over(
    session: &mut Session,
    stick: &Path,
    start: impl FnOnce(&mut Session) -> Option<Job>,
    has_worked: impl FnOnce(&Session) -> bool,
) -> Result<(), UserMessage> {
    session.go_to_hand_over();
    session.set_other_place(&stick.display().to_string());
    let Some(job) = start(session) else {
        return Err(UserMessage::new(
            "The hand-over did not start.",
            "Nothing was lost.",
            "Report this to whoever looks after Winze here.",
        ));
    };
    let done = job.run(&mut |_| true);
    session.finish(done);
    let outcome = session.hand_over_screen().outcome;
    if !has_worked(session) {
        return Err(UserMessage::new(outcome.result, "", outcome.detail));
    }
    session.set_other_place("");
    session.go_to_round();
    Ok(())
}

/// Lets the office that is not known yet count, after its words were compared.
pub fn trust_office(session: &mut Session) {
    session.go_to_who();
    let others = session.who_screen().others;
    for office in others
        .iter()
        .filter(|other| other.code == who::role(Some(Role::Office)))
    {
        // Only a logbook that does not count yet opens for comparison.
        session.compare(&office.id);
        session.words_match();
    }
    session.go_to_round();
}
