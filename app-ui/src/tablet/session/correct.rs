//! Correcting a reading of this round that was written down wrongly: its values come back to the
//! gauges, are changed and read back, and the reason goes into the record. The reading itself
//! stays as it was.

use winze_core::actions::{self, NewCorrection};
use winze_core::query;
use winze_core::verdict::Entry;
use winze_sync_format::RecordRef;

use super::Session;
use super::station::{Sheet, read_now};
use crate::messages;
use crate::presenters::view::{Sentences, Tone};
use crate::presenters::{correction, moment, words};
use crate::tablet::entry::StationEntry;

/// A saved reading on this round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Done {
    /// Its record.
    pub reading: RecordRef,
    /// When it was taken, milliseconds since 1970.
    pub taken_ms: i64,
}

/// A reading under correction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Correcting {
    /// The reading.
    pub done: Done,
    /// Its values before.
    pub before: Entry,
}

impl Session {
    /// Label of the key that corrects the reading of this round, or empty where there is none.
    pub(super) fn correct_label(&self) -> String {
        let (_, offset) = self.now();
        let open = self.station.as_ref();
        match open
            .filter(|open| open.correcting.is_none())
            .and_then(|open| open.done)
        {
            Some(done) => format!("Correct {}", moment::time(done.taken_ms, offset)),
            None => String::new(),
        }
    }

    /// Brings the reading of this round back to the gauges.
    pub fn start_correction(&mut self) {
        let (_, offset) = self.now();
        let (Some(open), Some(logbook)) = (&mut self.station, &self.logbook) else {
            return;
        };
        let Some(done) = open.done else {
            return;
        };
        let found = query::visit(logbook, done.reading).and_then(|visit| {
            let definition = query::definition_at(logbook, visit.revision)?;
            Ok((definition, visit.entry))
        });
        match found {
            Ok((definition, before)) => {
                // The past would question values that were confirmed once already.
                let mut entry = StationEntry::new(definition, Vec::new());
                entry.fill(&before);
                open.entry = entry;
                open.saved = None;
                open.correcting = Some(Correcting { done, before });
                open.sheet = Sheet::Gauges;
                open.frame.correcting = moment::time(done.taken_ms, offset);
                open.arrive(Sentences {
                    meaning: format!(
                        "Correcting what was saved at {}.",
                        moment::time(done.taken_ms, offset)
                    ),
                    advice: "Change what was written wrongly, then read back.".to_owned(),
                    tone: Tone::Caution,
                });
            }
            Err(error) => open.frame.trouble = messages::logbook_failed(&error).to_string(),
        }
    }

    /// Whether a reading is under correction.
    #[must_use]
    pub fn is_correcting(&self) -> bool {
        self.station
            .as_ref()
            .is_some_and(|open| open.correcting.is_some())
    }

    /// Asks why, once something was changed.
    pub(super) fn ask_why(&mut self) {
        if let Some(open) = &mut self.station
            && let Some(correcting) = open.correcting
        {
            if open.entry.entry() == correcting.before {
                "Nothing was changed.".clone_into(&mut open.frame.trouble);
            } else {
                open.frame.trouble.clear();
                open.sheet = Sheet::Why;
            }
        }
    }

    /// Corrects, for a reason by its id; "something else" asks for a note first.
    pub fn correct(&mut self, id: &str) {
        let by = self.around.by.clone();
        let (Some(open), Some(logbook)) = (&mut self.station, &mut self.logbook) else {
            return;
        };
        let Some(correcting) = open.correcting else {
            return;
        };
        let reason = if id == correction::OTHER {
            open.entry.note().to_owned()
        } else {
            id.to_owned()
        };
        if reason.is_empty() {
            open.correct_after_note = true;
            open.sheet = Sheet::Note;
            return;
        }
        let new = NewCorrection {
            reading: correcting.done.reading,
            entry: open.entry.entry(),
            reason,
            by,
        };
        match actions::correct_reading(logbook, new) {
            Ok(_) => {
                let worst = open.entry.judgement().worst();
                let verdict = worst.map_or("not judged", words::verdict);
                let code = open.code.clone();
                self.open_station(&code);
                if let Some(open) = &mut self.station {
                    open.arrive(Sentences {
                        meaning: format!("{} is corrected: {verdict}.", code.as_str()),
                        ..read_now()
                    });
                }
            }
            Err(error) => {
                open.frame.trouble = messages::logbook_failed(&error).to_string();
                open.sheet = Sheet::Gauges;
            }
        }
    }

    /// Leaves a reading as it was.
    pub(super) fn leave_uncorrected(&mut self) {
        if let Some(open) = &self.station {
            let code = open.code.clone();
            self.open_station(&code);
        }
    }
}
