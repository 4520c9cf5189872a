//! Acts that leave a record, each signed with a name.

use std::path::PathBuf;

use winze_core::Logbook;
use winze_core::actions::{NewAnswer, answer_question, enrol_logbook, revise_station, save_draft};
use winze_core::query::LogView;
use winze_core::record::Role;

use super::{PERSON_DRAFT, Screen, Session};
use crate::messages::{UserMessage, counted, logbook_failed};
use crate::office::snapshot::choices;
use crate::office::work::Job;
use crate::presenters::office_view::HandBackStage;

/// An act that waits for a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Act {
    /// Answer the question shown.
    Answer,
    /// Enrol the held logbook shown.
    Enrol,
    /// Write the changed definition.
    Change,
    /// Write a bundle for the tablets.
    Pack,
    /// Write what was filled in about upkeep.
    Upkeep,
}

impl Session {
    /// Who is at the keyboard; empty before anybody said so.
    #[must_use]
    pub fn person(&self) -> &str {
        &self.person
    }

    /// Takes in who is at the keyboard, and does what waited for it.
    pub fn set_person(&mut self, name: &str) {
        let name = name.trim();
        if name.is_empty() {
            return;
        }
        name.clone_into(&mut self.person);
        if let Some(logbook) = &mut self.logbook {
            // A name that is not remembered is only asked for again.
            let _ = save_draft(logbook, PERSON_DRAFT, name);
        }
        let act = self.pending.take();
        if self.screen == Screen::Person {
            self.go(self.before);
        }
        if let Some(act) = act {
            self.act(act);
        }
    }

    /// Chooses an answer to the question shown; it is recorded by [`Session::record_answer`].
    pub fn choose_answer(&mut self, id: &str) {
        let Some(question) = self.snapshot.questions.get(self.questions.at) else {
            return;
        };
        let choice = id
            .parse::<usize>()
            .ok()
            .and_then(|place| choices(question).get(place).cloned());
        if choice.is_some() {
            self.questions.chosen = choice;
        }
    }

    /// Shows another question.
    pub fn turn_question(&mut self, by: isize) {
        let last = self.snapshot.questions.len().saturating_sub(1);
        let to = self.questions.at.saturating_add_signed(by).min(last);
        if to != self.questions.at {
            self.show_question(to);
        }
    }

    pub(super) fn show_question(&mut self, place: usize) {
        self.questions.at = place;
        self.questions.chosen = None;
        self.questions.note.clear();
        self.fields += 1;
    }

    /// Records the chosen answer.
    pub fn record_answer(&mut self, note: &str) {
        note.trim().clone_into(&mut self.questions.note);
        self.act(Act::Answer);
    }

    /// Shows another held logbook.
    pub fn choose_held(&mut self, id: &str) {
        let place = self
            .snapshot
            .held()
            .iter()
            .position(|log| log.log.to_string() == id);
        if let Some(place) = place {
            self.held.at.choose(place);
            self.held_opened();
        }
    }

    /// Takes in how many held logbooks there is room for.
    pub fn fit_held(&mut self, lines: usize) -> bool {
        self.held.at.fit(lines)
    }

    /// Turns the pages of the held logbooks.
    pub fn turn_held(&mut self, by: isize) {
        let length = self.snapshot.held().len();
        self.held.at.turn(by, length);
        self.held_opened();
    }

    pub(super) fn step_held(&mut self, by: isize) {
        let length = self.snapshot.held().len();
        self.held.at.step(by, length);
        self.held_opened();
    }

    fn held_chosen(&self) -> Option<&LogView> {
        let held = self.snapshot.held();
        let place = self.held.at.chosen(held.len())?;
        held.get(place).copied()
    }

    /// The name offered is the one the logbook has for itself.
    pub(super) fn held_opened(&mut self) {
        self.held.name = self
            .held_chosen()
            .map_or_else(String::new, |log| log.name.clone());
        self.fields += 1;
    }

    /// Takes in the name a held logbook is to have here, as it is typed.
    pub fn type_held_name(&mut self, name: &str) {
        name.clone_into(&mut self.held.name);
    }

    /// Enrols the held logbook shown: its eight words were compared and match.
    pub fn enrol(&mut self, name: &str) {
        name.trim().clone_into(&mut self.held.name);
        if !self.held.name.is_empty() {
            self.act(Act::Enrol);
        }
    }

    /// Writes the changed definition.
    pub fn save_change(&mut self, set_point: &str, band: &str) {
        self.type_change(set_point, band);
        self.act(Act::Change);
    }

    /// Chooses where the bundle for the tablets goes.
    pub fn choose_place(&mut self, folder: &str) {
        folder.trim().clone_into(&mut self.hand_back.folder);
        self.fields += 1;
    }

    /// Writes a bundle for the tablets and reads it back.
    pub fn pack(&mut self, folder: &str) {
        folder.trim().clone_into(&mut self.hand_back.folder);
        if !self.hand_back.folder.is_empty() {
            self.act(Act::Pack);
        }
    }

    /// Makes ready for another bundle.
    pub fn pack_again(&mut self) {
        self.hand_back.stage = HandBackStage::Ready;
        self.look_for_places();
        self.fields += 1;
    }

    pub(super) fn act(&mut self, act: Act) {
        if self.person.is_empty() {
            self.pending = Some(act);
            let here = self.screen;
            self.go(Screen::Person);
            self.before = here;
            return;
        }
        self.dismiss();
        let Some(mut logbook) = self.logbook.take() else {
            self.busy();
            return;
        };
        if act == Act::Pack {
            self.start_packing(logbook);
            return;
        }
        let result = match act {
            Act::Answer => self.answer(&mut logbook),
            Act::Enrol => self.enrol_in(&mut logbook),
            Act::Change => self.change_in(&mut logbook),
            Act::Upkeep => self.save_upkeep(&mut logbook),
            Act::Pack => Ok(String::new()),
        };
        self.logbook = Some(logbook);
        match result {
            Ok(what) => {
                self.reload();
                self.fields += 1;
                self.done(what);
            }
            Err(message) => self.failed(&message),
        }
    }

    fn answer(&mut self, logbook: &mut Logbook) -> Result<String, UserMessage> {
        let question = self.snapshot.questions.get(self.questions.at);
        let (Some(question), Some(choice)) = (question, self.questions.chosen.clone()) else {
            return Err(UserMessage::new(
                "No answer is chosen.",
                "Nothing was changed.",
                "Choose one first.",
            ));
        };
        let id = question.view.question.id;
        let new = NewAnswer {
            question: id,
            choice,
            note: self.questions.note.clone(),
            by: self.person.clone(),
        };
        answer_question(logbook, new).map_err(|error| logbook_failed(&error))?;
        self.questions.chosen = None;
        self.questions.note.clear();
        // The answered question stays in sight, wherever it now stands in the list.
        self.reload_with(logbook);
        let is_it = |one: &crate::office::snapshot::Question| one.view.question.id == id;
        self.questions.at = self.snapshot.questions.iter().position(is_it).unwrap_or(0);
        Ok("The answer is recorded.".to_owned())
    }

    fn reload_with(&mut self, logbook: &Logbook) {
        if let Ok(snapshot) = crate::office::snapshot::Snapshot::load(logbook, self.weeks_back) {
            self.snapshot = snapshot;
        }
    }

    fn enrol_in(&mut self, logbook: &mut Logbook) -> Result<String, UserMessage> {
        let Some(log) = self.held_chosen() else {
            return Err(UserMessage::new(
                "No logbook is chosen.",
                "Nothing was changed.",
                "",
            ));
        };
        let (name, role) = (self.held.name.clone(), log.role.unwrap_or(Role::Tablet));
        let records = log.records;
        enrol_logbook(logbook, log.log, name.clone(), role, self.person.clone())
            .map_err(|error| logbook_failed(&error))?;
        self.held.name.clear();
        Ok(format!(
            "{name} is enrolled; its {} count now.",
            counted(records, "record", "records")
        ))
    }

    fn change_in(&mut self, logbook: &mut Logbook) -> Result<String, UserMessage> {
        let Some(desk) = &self.station else {
            return Err(UserMessage::new(
                "No station is shown.",
                "Nothing was changed.",
                "",
            ));
        };
        let changed = desk
            .change
            .apply(&desk.detail.definition)
            .map_err(|problem| {
                UserMessage::new(problem, "Nothing was changed.", "Type another value.")
            })?;
        let code = changed.code.as_str().to_owned();
        revise_station(logbook, changed, self.person.clone())
            .map_err(|error| logbook_failed(&error))?;
        Ok(format!(
            "{code} has a new definition. The next bundle takes it to the tablets."
        ))
    }

    fn start_packing(&mut self, logbook: Box<Logbook>) {
        if self.running.is_some() {
            self.logbook = Some(logbook);
            self.busy();
            return;
        }
        self.hand_back.stage = HandBackStage::Writing;
        self.hand_back.how_far = None;
        let folder = PathBuf::from(&self.hand_back.folder);
        // The folder offered within the logbook's own need not be there yet; one that was typed
        // is not made, since a typing error would then look like a place.
        if folder.starts_with(&self.dir) {
            let _ = std::fs::create_dir_all(&folder);
        }
        let by = self.person.clone();
        self.launch(Job::Pack {
            logbook,
            folder,
            by,
        });
    }
}
