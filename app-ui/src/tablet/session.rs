//! The tablet without its window: what the operator wants goes in, what is shown comes out.
//!
//! One [`Session`] holds one open logbook. An intent is a method (`open_station`, `key`,
//! `save`, ...); after each, the window asks for the view of the screen that is on. Rules are
//! the core's; words are the presenters'. Every act on an entry keeps its draft, so closing
//! the window at any time loses nothing.

mod closer;
mod confirm;
mod correct;
mod hand_over;
mod station;
#[cfg(test)]
mod tests;
mod who;
mod work;

use std::path::PathBuf;

use winze_core::Logbook;
use winze_core::actions::{self, NewRound};
use winze_core::query::{self, LogStanding, RoundView};
use winze_core::station::StationCode;
use winze_sync_format::RecordRef;

pub use closer::CloserView;
pub use hand_over::{Job, JobDone, Place};
pub use station::{OpenStation, Sheet};

use crate::messages;
use crate::presenters::chart::Plot;
use crate::presenters::hand_over::{HandOverScreen, waiting};
use crate::presenters::moment;
use crate::presenters::round::{self, RoundScreen};
use crate::presenters::view::{QuestionView, Sentences};

/// Which screen is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Screen {
    /// The round, the first screen.
    #[default]
    Round,
    /// One station.
    Station,
    /// What is due, jobs, and procedures step by step.
    Work,
    /// Handing over and taking in.
    HandOver,
    /// Tablet and office: who is who.
    Who,
    /// About this program.
    About,
}

/// What the session is given by the program around it.
pub struct Surroundings {
    /// Who uses the tablet, as records will name them.
    pub by: String,
    /// Lists the sticks and folders a bundle can be written to.
    pub places: Box<dyn Fn() -> Vec<Place>>,
    /// Makes the nonce of a new entry.
    pub nonce: Box<dyn Fn() -> [u8; 8]>,
}

/// The state of the tablet.
pub struct Session {
    /// Away only while a [`Job`] has it.
    logbook: Option<Logbook>,
    around: Surroundings,
    screen: Screen,
    half_lines: usize,
    page: Option<usize>,
    is_asking_to_close: bool,
    /// What went wrong last on the round screen, or empty.
    trouble: String,
    station: Option<OpenStation>,
    hand_over: hand_over::HandOver,
    comparing: Option<winze_core::query::LogView>,
    who_trouble: String,
    tag: String,
    tag_at_ms: u64,
    /// How large the plots of the strips are.
    plot: Plot,
    work: work::Work,
}

/// A page before the window has said how tall it is.
const HALF_LINES_AT_FIRST: usize = 12;

/// The look is kept beside the drafts: like them it is this tablet's own and proves nothing.
const LIGHT: &str = "setting/light";
const BRIGHT: &str = "bright";
const DARK: &str = "dark";

/// Keys of one scanned tag follow each other faster than this.
const TAG_PAUSE_MS: u64 = 1_000;

impl Session {
    /// Starts on the round screen, or at the step of a procedure that the tablet went dark over.
    #[must_use]
    pub fn new(logbook: Logbook, around: Surroundings) -> Self {
        let mut session = Self {
            logbook: Some(logbook),
            around,
            screen: Screen::Round,
            half_lines: HALF_LINES_AT_FIRST,
            page: None,
            is_asking_to_close: false,
            trouble: String::new(),
            station: None,
            hand_over: hand_over::HandOver::default(),
            comparing: None,
            who_trouble: String::new(),
            tag: String::new(),
            tag_at_ms: 0,
            plot: Plot::default(),
            work: work::Work::default(),
        };
        session.resume();
        session
    }

    /// The screen that is on.
    #[must_use]
    pub fn screen(&self) -> Screen {
        self.screen
    }

    /// The logbook's folder, for the screen about the program.
    #[must_use]
    pub fn folder(&self) -> PathBuf {
        self.logbook
            .as_ref()
            .map_or_else(PathBuf::new, |logbook| logbook.dir().to_path_buf())
    }

    /// Gives the logbook back, ending the session.
    #[must_use]
    pub fn into_logbook(self) -> Option<Logbook> {
        self.logbook
    }

    /// The logbook, for those who look without the window.
    #[must_use]
    pub fn logbook(&self) -> Option<&Logbook> {
        self.logbook.as_ref()
    }

    fn now(&self) -> (i64, i16) {
        self.logbook.as_ref().map_or((0, 0), |logbook| {
            let clock = logbook.clock();
            (clock.now().wall_ms, clock.utc_offset_minutes())
        })
    }

    fn open_round(&mut self) -> Option<RoundView> {
        match query::open_round(self.logbook.as_ref()?) {
            Ok(round) => round,
            Err(error) => {
                self.trouble = messages::logbook_failed(&error).to_string();
                None
            }
        }
    }

    /// Whether records of a logbook that does not count are here.
    fn holds_back(&self) -> bool {
        let logs = self.logbook.as_ref().map(query::logs);
        matches!(logs, Some(Ok(logs)) if logs.iter().any(|log| log.standing == LogStanding::Held))
    }

    fn not_at_office(&self) -> u64 {
        self.logbook
            .as_ref()
            .and_then(|logbook| query::not_yet_at_office(logbook).ok())
            .unwrap_or(0)
    }

    fn waiting(&self) -> String {
        waiting(self.not_at_office())
    }

    /// What the round screen shows.
    pub fn round_screen(&mut self) -> RoundScreen {
        let mut screen = match self.open_round() {
            Some(open) => round::open(&open, self.half_lines, self.page),
            None => match self.logbook.as_ref().map(query::stations) {
                Some(Ok(stations)) if stations.is_empty() && self.holds_back() => round::held(),
                Some(Ok(stations)) => round::not_open(&stations, self.half_lines, self.page),
                Some(Err(error)) => {
                    self.trouble = messages::logbook_failed(&error).to_string();
                    RoundScreen::default()
                }
                None => RoundScreen::default(),
            },
        };
        screen.waiting = self.waiting();
        self.page = self.page.map(|_| screen.page);
        screen
    }

    /// What went wrong last on the round screen, or empty.
    #[must_use]
    pub fn round_trouble(&self) -> &str {
        &self.trouble
    }

    /// The question before a round with stations left is closed, while it is put.
    pub fn round_question(&mut self) -> Option<QuestionView> {
        if !self.is_asking_to_close {
            return None;
        }
        let left = self.open_round()?.left();
        Some(round::close_question(left))
    }

    /// The window tells how much a page of the list holds.
    pub fn resized(&mut self, half_lines: usize) {
        self.half_lines = half_lines;
    }

    /// Turns the list by pages.
    pub fn turn_page(&mut self, by: isize) {
        let shown = self.round_screen();
        self.page = Some(shown.page.saturating_add_signed(by));
    }

    /// Does the one next act of the round screen.
    pub fn act_next(&mut self) {
        self.trouble.clear();
        match self.open_round() {
            Some(open) => match open.next() {
                Some(stop) => self.open_station(&stop.code.clone()),
                None => self.close(&open),
            },
            None => match self.logbook.as_ref().map(query::stations) {
                Some(Ok(stations)) if stations.is_empty() && self.holds_back() => self.go_to_who(),
                Some(Ok(stations)) if stations.is_empty() => self.go_to_hand_over(),
                Some(Ok(_)) => self.start_round(),
                Some(Err(error)) => {
                    self.trouble = messages::logbook_failed(&error).to_string();
                }
                None => {}
            },
        }
    }

    fn start_round(&mut self) {
        let (now_ms, offset) = self.now();
        let title = moment::day(now_ms, now_ms, offset);
        let new = NewRound {
            title,
            stations: Vec::new(),
            by: self.around.by.clone(),
        };
        let Some(logbook) = &mut self.logbook else {
            return;
        };
        if let Err(error) = actions::open_round(logbook, new) {
            self.trouble = messages::logbook_failed(&error).to_string();
        }
        self.page = None;
    }

    /// Asks to close the round; with nothing left it is closed at once.
    pub fn ask_close(&mut self) {
        self.trouble.clear();
        if let Some(open) = self.open_round() {
            if open.next().is_none() {
                self.close(&open);
            } else {
                self.is_asking_to_close = true;
            }
        }
    }

    /// Takes the answer to [`Self::round_question`].
    pub fn answer_round(&mut self, id: &str) {
        self.is_asking_to_close = false;
        if id == round::CLOSE
            && let Some(open) = self.open_round()
        {
            self.close(&open);
        }
    }

    fn close(&mut self, open: &RoundView) {
        let by = self.around.by.clone();
        let Some(logbook) = &mut self.logbook else {
            return;
        };
        match actions::close_round(logbook, open.at, String::new(), by) {
            Ok(_) => self.go_to_hand_over(),
            Err(error) => self.trouble = messages::logbook_failed(&error).to_string(),
        }
        self.page = None;
    }

    /// Goes to the round screen from any other.
    pub fn go_to_round(&mut self) {
        self.screen = Screen::Round;
        self.station = None;
        self.comparing = None;
        self.page = None;
    }

    /// Goes to the hand-over; an entry under way stays as a draft.
    pub fn go_to_hand_over(&mut self) {
        self.screen = Screen::HandOver;
        self.station = None;
        self.hand_over.arrive((self.around.places)());
    }

    /// Goes to the screen of words.
    pub fn go_to_who(&mut self) {
        self.screen = Screen::Who;
    }

    /// Whether the bright look was chosen last, on this tablet.
    #[must_use]
    pub fn is_bright(&self) -> bool {
        let kept = self
            .logbook
            .as_ref()
            .map(|logbook| actions::load_draft(logbook, LIGHT));
        matches!(kept, Some(Ok(Some(kept))) if kept.content == BRIGHT)
    }

    /// Changes between the dark and the bright look, for this and later starts.
    pub fn change_light(&mut self) {
        let light = if self.is_bright() { DARK } else { BRIGHT };
        if let Some(logbook) = &mut self.logbook {
            // A look that is not kept is no loss worth a message.
            let _ = actions::save_draft(logbook, LIGHT, light);
        }
    }

    /// Goes to the screen about the program.
    pub fn go_to_about(&mut self) {
        self.screen = Screen::About;
    }

    /// What the hand-over screen shows.
    #[must_use]
    pub fn hand_over_screen(&self) -> HandOverScreen {
        let stations = self.logbook.as_ref().map(query::stations);
        let has_none = matches!(stations, Some(Ok(stations)) if stations.is_empty());
        self.hand_over.screen(self.not_at_office(), has_none)
    }

    /// Takes a key from a keyboard or a wedge scanner: a character, or `"\n"` and `"\u{8}"` for
    /// enter and backspace. A text that begins with a letter and ends with enter is a station's
    /// tag; digits go to the chosen gauge. Returns whether the key meant anything here.
    pub fn keyboard(&mut self, text: &str, now_ms: u64) -> bool {
        if now_ms.saturating_sub(self.tag_at_ms) > TAG_PAUSE_MS {
            self.tag.clear();
        }
        let Some(key) = text.chars().next() else {
            return false;
        };
        let on_gauges = self.sheet() == Some(Sheet::Gauges);
        if !matches!(self.screen, Screen::Round) && !on_gauges {
            return false;
        }
        match key {
            '\n' | '\r' => {
                let tag = std::mem::take(&mut self.tag);
                match StationCode::parse(&tag) {
                    Ok(code) => self.open_station(&code),
                    Err(_) if on_gauges => self.next_gauge(),
                    Err(_) => return false,
                }
            }
            '\u{8}' if on_gauges => self.erase(),
            key if !self.tag.is_empty() || key.is_alphabetic() || !on_gauges => {
                if key.is_control() {
                    return false;
                }
                self.tag.push(key);
                self.tag_at_ms = now_ms;
            }
            key => self.key(key),
        }
        true
    }

    /// Opens a station by the tag on it or the line in the list.
    pub fn open_tag(&mut self, tag: &str) {
        if let Ok(code) = StationCode::parse(tag) {
            self.open_station(&code);
        }
    }

    fn go_on_after(&mut self, code: &StationCode, round: Option<RecordRef>, said: Sentences) {
        let next = round
            .and_then(|_| self.open_round())
            .and_then(|open| open.next_after(code).map(|stop| stop.code.clone()));
        match next {
            Some(next) => {
                self.open_station(&next);
                if let Some(open) = &mut self.station {
                    open.arrive(said);
                }
            }
            None => self.go_to_round(),
        }
    }
}
