//! Files made from upkeep: the calendar, the due list and the documents, in a folder beside the
//! logbook; and that folder shown.

use std::path::PathBuf;

use super::Session;
use crate::messages::{UserMessage, counted, file_failed, logbook_failed};
use crate::papers;
use crate::presenters::due::to_calendar;
use crate::presenters::office_papers;
use crate::presenters::office_view::Notice;
use crate::presenters::view::Tone;
use crate::reports::{account, document, due_sheet};

/// The calendar's file.
const CALENDAR_FILE: &str = "due.ics";

impl Session {
    /// Runs something that writes a file, and says what became of it.
    pub(super) fn write_with(&mut self, make: fn(&Self) -> Result<(String, PathBuf), UserMessage>) {
        self.dismiss();
        let folder = &self.upkeep.folder;
        let outcome = std::fs::create_dir_all(folder)
            .map_err(|error| file_failed("written", folder, &error))
            .and_then(|()| make(self));
        match outcome {
            Ok((what, file)) => {
                self.upkeep.look_for_papers();
                self.upkeep.fill();
                self.notice = Notice {
                    tone: Tone::Within,
                    what,
                    advice: file.display().to_string(),
                };
            }
            Err(message) => self.failed(&message),
        }
    }

    pub(super) fn write_calendar(&self) -> Result<(String, PathBuf), UserMessage> {
        let list = self.upkeep.board.as_ref().map(|board| &board.due);
        let calendar = list.and_then(|list| to_calendar(list, self.label()));
        let calendar = calendar.ok_or_else(|| {
            UserMessage::new(
                "There is nothing with a date to put into a calendar.",
                "Nothing was written.",
                "Load a register and readings first, or note when work was last done.",
            )
        })?;
        let file = self.upkeep.folder.join(CALENDAR_FILE);
        papers::save_bytes(calendar.as_bytes(), &file)?;
        Ok(("The calendar is written.".to_owned(), file))
    }

    pub(super) fn write_due_list(&self) -> Result<(String, PathBuf), UserMessage> {
        let board = self.upkeep.board.as_ref().ok_or_else(nothing_chosen)?;
        let sheet = due_sheet(&board.due, self.label(), board.utc_offset_minutes);
        let name = format!("due-{}.pdf", board.due.today);
        let file = self.upkeep.folder.join(name);
        let written = papers::save(&sheet, &file)?;
        Ok((pages_written("The due list", written.pages), file))
    }

    pub(super) fn write_paper(&self) -> Result<(String, PathBuf), UserMessage> {
        let board = self.upkeep.board.as_ref().ok_or_else(nothing_chosen)?;
        let chosen = self.upkeep.list.chosen();
        let found = chosen.and_then(|id| office_papers::find(board, id));
        let (paper, view) = found.ok_or_else(nothing_chosen)?;
        let logbook = self.logbook.as_ref().ok_or_else(|| {
            UserMessage::new(
                "Work is under way.",
                "Nothing was written.",
                "Wait until it is done, then try again.",
            )
        })?;
        let work = account(logbook, view).map_err(|error| logbook_failed(&error))?;
        let work = work.ok_or_else(|| {
            UserMessage::new(
                "No document can be made of this work here.",
                "Its records are safe.",
                "Take in the bundle with the station\u{2019}s definition, or use the newer Winze.",
            )
        })?;
        let file = self.upkeep.folder.join(&paper.file);
        let written = papers::save(&document(&work), &file)?;
        Ok((pages_written("The PDF", written.pages), file))
    }

    pub(super) fn open_folder(&mut self) {
        self.dismiss();
        let folder = self.upkeep.folder.clone();
        let opened = std::fs::create_dir_all(&folder)
            .map_err(|error| file_failed("written", &folder, &error))
            .and_then(|()| {
                (self.upkeep.opener)(&folder).map_err(|error| {
                    UserMessage::new(
                        format!("No program opened the folder ({error})."),
                        "The documents in it are safe.",
                        format!("Open it by hand: {}", folder.display()),
                    )
                })
            });
        match opened {
            Ok(()) => {
                self.notice = Notice {
                    tone: Tone::Within,
                    what: "The desktop was asked to open the folder.".to_owned(),
                    advice: folder.display().to_string(),
                };
            }
            Err(message) => self.failed(&message),
        }
    }
}

fn pages_written(what: &str, pages: usize) -> String {
    format!(
        "{what} is written, {}.",
        counted(pages as u64, "page", "pages")
    )
}

fn nothing_chosen() -> UserMessage {
    UserMessage::new(
        "Nothing is chosen.",
        "Nothing was written.",
        "Choose a line first.",
    )
}
