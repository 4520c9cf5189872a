//! Tablet and office: comparing the eight words and letting an office count.

use winze_core::actions;
use winze_core::query::{self, LogStanding};
use winze_core::record::Role;

use super::Session;
use crate::messages;
use crate::presenters::who::{self, WhoScreen};

impl Session {
    /// What the screen of words shows.
    #[must_use]
    pub fn who_screen(&self) -> WhoScreen {
        self.logbook
            .as_ref()
            .and_then(|logbook| query::logs(logbook).ok())
            .map_or_else(WhoScreen::default, |logs| who::who(&logs))
    }

    /// Opens the comparison with another logbook, by its id. One that counts already needs none.
    pub fn compare(&mut self, id: &str) {
        self.who_trouble.clear();
        let logs = self.logbook.as_ref().map(query::logs);
        if let Some(Ok(logs)) = logs {
            self.comparing = logs
                .into_iter()
                .filter(|log| matches!(log.standing, LogStanding::Held))
                .find(|log| log.log.to_string() == id);
        }
    }

    /// Name and words of the logbook being compared.
    #[must_use]
    pub fn comparing(&self) -> Option<(String, Vec<String>)> {
        let log = self.comparing.as_ref()?;
        let words = log.words.iter().map(|word| (*word).to_owned()).collect();
        Some((format!("{}: {}", who::role(log.role), log.name), words))
    }

    /// What went wrong last on this screen, or empty.
    #[must_use]
    pub fn who_trouble(&self) -> &str {
        &self.who_trouble
    }

    /// The operator has compared the words aloud and they match: the logbook counts from now on.
    pub fn words_match(&mut self) {
        let (Some(log), Some(logbook)) = (self.comparing.take(), &mut self.logbook) else {
            return;
        };
        let role = log.role.unwrap_or(Role::Tablet);
        let by = self.around.by.clone();
        match actions::enrol_logbook(logbook, log.log, log.name.clone(), role, by) {
            Ok(_) => self.page = None,
            Err(error) => {
                self.who_trouble = messages::logbook_failed(&error).to_string();
                self.comparing = Some(log);
            }
        }
    }

    /// They do not match: it stays held.
    pub fn words_differ(&mut self) {
        self.comparing = None;
    }
}
