//! What ends an entry: the doubt answered, the values read back, saved, or the station skipped.

use winze_core::actions::{self, NewReading, NewSkip};
use winze_core::record::{DoubtReply, SkipReason};
use winze_core::station::StationCode;
use winze_core::verdict::Judgement;
use winze_sync_format::RecordRef;

use super::Session;
use super::correct::Done;
use super::station::{Sheet, TAKE_OVER, read_now};
use crate::messages;
use crate::presenters::course::Finding;
use crate::presenters::view::Sentences;
use crate::presenters::{correction, doubt, words};
use crate::tablet::draft;

impl Session {
    /// Asks to read back; a doubt is put first.
    pub fn ask_read_back(&mut self) {
        if let Some(open) = &mut self.station
            && !open.entry.entry().is_empty()
        {
            open.doubt = open.entry.doubt();
            open.sheet = if open.doubt.is_some() {
                Sheet::Question
            } else {
                Sheet::ReadBack
            };
        }
    }

    /// Takes the answer to [`Self::question`].
    pub fn answer(&mut self, id: &str) {
        let (now_ms, offset) = self.now();
        let Some(open) = &mut self.station else {
            return;
        };
        if let Some(left) = open.left_over.take() {
            open.sheet = Sheet::Gauges;
            if id == TAKE_OVER {
                open.restore(&left, now_ms, offset);
            }
            self.keep_draft();
            return;
        }
        let Some(doubt) = open.doubt.take() else {
            return;
        };
        let (reply, likely) = match id {
            doubt::LIKELY => (DoubtReply::Likely, doubt.likely),
            doubt::SECOND => (DoubtReply::Likely, doubt.second),
            doubt::AS_TYPED => (DoubtReply::AsTyped, None),
            _ => (DoubtReply::TypedAnew, None),
        };
        open.entry.answer(&doubt, reply, likely);
        open.sheet = Sheet::Gauges;
        self.keep_draft();
        if reply != DoubtReply::TypedAnew {
            self.ask_read_back();
        }
    }

    /// Goes back to the gauges from any sheet.
    pub fn change(&mut self) {
        if let Some(open) = &mut self.station {
            open.sheet = Sheet::Gauges;
            open.skip_after_note = false;
            open.correct_after_note = false;
            open.frame.trouble.clear();
        }
    }

    /// Confirms what was read back. When this moves on, the reading is safe.
    ///
    /// Where something stands that nobody has looked into, the station stays on with its suspects
    /// and the next check; an ordinary one gives way to the next at once.
    pub fn save(&mut self) {
        if self.is_correcting() {
            self.ask_why();
            return;
        }
        let by = self.around.by.clone();
        let (Some(open), Some(logbook)) = (&mut self.station, &mut self.logbook) else {
            return;
        };
        if open.sheet != Sheet::ReadBack {
            return;
        }
        let new = NewReading {
            station: open.code.clone(),
            revision: Some(open.revision),
            round: open.round,
            entry: open.entry.entry(),
            ticks: open.entry.ticks(),
            note: open.entry.note().to_owned(),
            doubts: open.entry.asked().to_vec(),
            by,
            nonce: open.kept.nonce,
        };
        // After a failed write both witnesses are read again first, and writing goes on in a new file.
        let ready = if logbook.stopped().is_some() {
            logbook.recover()
        } else {
            Ok(())
        };
        match ready.and_then(|()| actions::record_reading(logbook, new)) {
            Ok(saved) => {
                let said = is_saved(&open.code, &saved.judgement);
                let is_short = logbook.is_short_of_space();
                // The reading is safe; a draft that stays is only asked about next time.
                let _ = actions::clear_draft(logbook, &draft::name(open.code.as_str()));
                let (code, round) = (open.code.clone(), open.round);
                self.look_into(saved.at);
                match &mut self.station {
                    Some(open) if open.sheet == Sheet::Finding => open.saved = Some(said),
                    _ => self.go_on_after(&code, round, said),
                }
                if is_short {
                    self.trouble = messages::short_of_space().to_string();
                }
            }
            Err(error) => open.frame.trouble = messages::logbook_failed(&error).to_string(),
        }
    }

    /// Shows what the reading just saved raised, or what stands and was not looked into yet.
    fn look_into(&mut self, reading: RecordRef) {
        let (now_ms, _) = self.now();
        self.read_past();
        let Some(open) = &mut self.station else {
            return;
        };
        open.done = Some(Done {
            reading,
            taken_ms: now_ms,
        });
        let standing = open.past.as_ref().map(|past| &past.course.standing);
        let wants = |finding: &Finding| {
            finding.reading == Some(reading)
                || (finding.answered.is_empty() && !finding.checks.is_empty())
        };
        let first = standing.and_then(|standing| standing.iter().position(wants));
        if let Some(first) = first {
            open.closer.finding = first;
            open.closer.passed = 0;
            open.sheet = Sheet::Finding;
        }
    }

    /// Asks for the reason to skip.
    pub fn ask_skip(&mut self) {
        if self.is_correcting() {
            self.leave_uncorrected();
            return;
        }
        self.show(Sheet::Skip);
    }

    /// Skips the station, by the reason's code; "something else" asks for a note first.
    pub fn skip(&mut self, id: &str) {
        let by = self.around.by.clone();
        let (Some(open), Some(logbook)) = (&mut self.station, &mut self.logbook) else {
            return;
        };
        let (Some(reason), Some(round)) = (SkipReason::from_code(id), open.round) else {
            return;
        };
        if reason == SkipReason::Other && open.entry.note().is_empty() {
            open.skip_after_note = true;
            open.sheet = Sheet::Note;
            return;
        }
        let new = NewSkip {
            round,
            station: open.code.clone(),
            reason,
            note: open.entry.note().to_owned(),
            by,
        };
        match actions::skip_station(logbook, new) {
            Ok(_) => {
                let _ = actions::clear_draft(logbook, &draft::name(open.code.as_str()));
                let code = open.code.clone();
                let said = Sentences {
                    meaning: format!("{} is skipped.", code.as_str()),
                    ..read_now()
                };
                self.go_on_after(&code, Some(round), said);
            }
            Err(error) => {
                open.frame.trouble = messages::logbook_failed(&error).to_string();
                open.sheet = Sheet::Gauges;
            }
        }
    }

    /// Whether the open station can be skipped, only on a round, or a correction left.
    #[must_use]
    pub fn can_skip(&self) -> bool {
        self.station
            .as_ref()
            .is_some_and(|open| open.round.is_some() || open.correcting.is_some())
    }

    /// Opens the note.
    pub fn ask_note(&mut self) {
        self.show(Sheet::Note);
    }

    /// Puts a phrase at the end of the note.
    #[must_use]
    pub fn with_phrase(note: &str, phrase: &str) -> String {
        if note.trim().is_empty() {
            phrase.to_owned()
        } else {
            format!("{}, {phrase}", note.trim_end())
        }
    }

    /// Keeps the note as written so far, without leaving it.
    pub fn note_so_far(&mut self, text: &str) {
        self.edit(|entry| entry.set_note(text));
    }

    /// Keeps the note and goes back to where it was asked for.
    pub fn note_done(&mut self, text: &str) {
        self.edit(|entry| entry.set_note(text));
        let Some(open) = &mut self.station else {
            return;
        };
        open.sheet = Sheet::Gauges;
        if std::mem::take(&mut open.skip_after_note) && !open.entry.note().is_empty() {
            self.skip(SkipReason::Other.code());
            return;
        }
        if std::mem::take(&mut open.correct_after_note) && !open.entry.note().is_empty() {
            self.correct(correction::OTHER);
        }
    }
}

fn is_saved(code: &StationCode, judgement: &Judgement) -> Sentences {
    let verdict = judgement.worst().map_or("not judged", words::verdict);
    Sentences {
        meaning: format!("{} is saved: {verdict}.", code.as_str()),
        // No mark: it would look like the verdict on the station that is open now.
        ..read_now()
    }
}
