//! The clerk's session: intents in, views out, the logbook behind it.
//!
//! An intent is a method; after it, [`Session::take_launch`] answers whether work is to be run
//! on a thread, and the views tell what to show. The logbook travels with the work; meanwhile
//! the views go on showing what was known, and acts say that they must wait.

mod acts;
mod keys;
mod station;
#[cfg(test)]
mod tests;
mod tray_desk;
mod upkeep;
mod upkeep_files;
mod upkeep_forms;
#[cfg(test)]
mod upkeep_tests;
mod views;

use std::path::{Path, PathBuf};

use winze_core::actions::load_draft;
use winze_core::record::Choice;
use winze_core::{Logbook, Result};

use super::cursor::Cursor;
use super::fleet_list::FleetList;
use super::snapshot::Snapshot;
use super::work::{HowFar, Job, Stop};
use crate::messages::{UserMessage, logbook_failed};
use crate::presenters::office_attention::{Attention, Category, attention};
use crate::presenters::office_fleet::{Order, fleet};
use crate::presenters::office_view::{HandBackStage, Notice};
use crate::presenters::office_week::Side;
use crate::presenters::view::Tone;
use crate::tablet::places;
use crate::tablet::session::Place;

pub use keys::Key;
pub use station::Panel;

use acts::Act;
use station::StationDesk;
use tray_desk::TrayDesk;
use upkeep::UpkeepDesk;

pub use upkeep::Opener;

/// Under this name the last person is remembered.
const PERSON_DRAFT: &str = "office-person";
/// The folder in the logbook's own where bundles are looked for unless told otherwise.
const TRAY: &str = "tray";
/// The folder in the logbook's own that is offered for the way back where no stick is found.
const WAY_BACK: &str = "to-tablets";

/// What the window shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Screen {
    /// The week at a glance.
    #[default]
    Week,
    /// Bundles that wait.
    Tray,
    /// What the records disagree about.
    Questions,
    /// Logbooks that do not count.
    Held,
    /// The register.
    Stations,
    /// One station.
    Station,
    /// What is due, jobs, procedures and their papers.
    Upkeep,
    /// The way back to the tablets.
    HandBack,
    /// About the program.
    About,
    /// Who is at the keyboard.
    Person,
}

impl Screen {
    /// The places at the head of the window, in the order of their number keys.
    pub const PLACES: [Self; 7] = [
        Self::Week,
        Self::Tray,
        Self::Questions,
        Self::Held,
        Self::Stations,
        Self::Upkeep,
        Self::HandBack,
    ];

    /// What the head of the window answers with.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Week => "week",
            Self::Tray => "tray",
            Self::Questions => "questions",
            Self::Held => "held",
            Self::Stations => "stations",
            Self::Station => "station",
            Self::Upkeep => "upkeep",
            Self::HandBack => "hand-back",
            Self::About => "about",
            Self::Person => "person",
        }
    }

    /// Finds the screen with this id.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        let all = [Self::Station, Self::About, Self::Person];
        Self::PLACES
            .into_iter()
            .chain(all)
            .find(|screen| screen.id() == id)
    }
}

/// Work to be run on a thread of its own.
pub struct Launch {
    /// The work.
    pub job: Job,
    /// How it is stopped.
    pub stop: Stop,
}

#[derive(Debug, Default)]
struct QuestionDesk {
    at: usize,
    chosen: Option<Choice>,
    note: String,
}

#[derive(Debug, Default)]
struct HeldDesk {
    at: Cursor,
    name: String,
}

#[derive(Debug, Default)]
struct HandBackDesk {
    stage: HandBackStage,
    places: Vec<Place>,
    folder: String,
    how_far: Option<HowFar>,
    safe: String,
    result: String,
    facts: Vec<crate::presenters::office_view::Fact>,
}

/// The clerk's session.
pub struct Session {
    logbook: Option<Box<Logbook>>,
    dir: PathBuf,
    snapshot: Snapshot,
    screen: Screen,
    before: Screen,
    notice: Notice,
    person: String,
    pending: Option<Act>,
    launch: Option<Launch>,
    running: Option<Stop>,
    fields: u64,
    weeks_back: u32,
    attention: Vec<Attention>,
    category: Option<Category>,
    side: Side,
    attention_at: Cursor,
    week_fleet: FleetList,
    register: FleetList,
    order: Order,
    find: String,
    tray: TrayDesk,
    questions: QuestionDesk,
    held: HeldDesk,
    station: Option<StationDesk>,
    upkeep: UpkeepDesk,
    hand_back: HandBackDesk,
}

impl Session {
    /// Starts at the week of today, and looks into the tray.
    ///
    /// # Errors
    /// The database's.
    pub fn new(logbook: Logbook) -> Result<Self> {
        let snapshot = Snapshot::load(&logbook, 0)?;
        let dir = logbook.dir().to_owned();
        let person = load_draft(&logbook, PERSON_DRAFT)?;
        // A tray that cannot be made is reported when it is looked into.
        let _ = std::fs::create_dir_all(dir.join(TRAY));
        let mut session = Self::of(snapshot, dir);
        session.logbook = Some(Box::new(logbook));
        session.person = person.map_or_else(String::new, |kept| kept.content);
        session.reload_board();
        session.look_for_places();
        session.look_into_tray();
        Ok(session)
    }

    /// A session that knows something and has no logbook yet.
    fn of(snapshot: Snapshot, dir: PathBuf) -> Self {
        let mut session = Self {
            logbook: None,
            snapshot,
            screen: Screen::Week,
            before: Screen::Week,
            notice: Notice::default(),
            person: String::new(),
            pending: None,
            launch: None,
            running: None,
            fields: 1,
            weeks_back: 0,
            attention: Vec::new(),
            category: None,
            side: Side::Attention,
            attention_at: Cursor::default(),
            week_fleet: FleetList::default(),
            register: FleetList::default(),
            order: Order::default(),
            find: String::new(),
            tray: TrayDesk::new(dir.join(TRAY)),
            questions: QuestionDesk::default(),
            held: HeldDesk::default(),
            station: None,
            upkeep: UpkeepDesk::new(&dir),
            hand_back: HandBackDesk::default(),
            dir,
        };
        session.spread();
        session
    }

    /// The folder of the logbook.
    #[must_use]
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// What is shown.
    #[must_use]
    pub const fn screen(&self) -> Screen {
        self.screen
    }

    /// Rises whenever texts under edit are to be taken from the session again.
    #[must_use]
    pub const fn fields(&self) -> u64 {
        self.fields
    }

    /// Hands out work that waits to be run.
    pub fn take_launch(&mut self) -> Option<Launch> {
        self.launch.take()
    }

    /// Goes to one of the places at the head, to the station, or about.
    pub fn go(&mut self, screen: Screen) {
        if screen == self.screen {
            return;
        }
        if self.screen == Screen::Person {
            self.pending = None;
        }
        if !matches!(
            self.screen,
            Screen::Station | Screen::About | Screen::Person
        ) {
            self.before = self.screen;
        }
        // What was done is old news on another screen; what went wrong stays until it is read.
        if self.notice.tone == Tone::Within {
            self.dismiss();
        }
        self.screen = screen;
        self.fields += 1;
        match screen {
            Screen::HandBack => self.look_for_places(),
            Screen::Tray => self.tray_opened(),
            Screen::Held => self.held_opened(),
            Screen::Upkeep => self.upkeep_opened(),
            _ => {}
        }
    }

    /// Goes back: from a station to the list it was opened from, from anywhere else to the week.
    pub fn go_back(&mut self) {
        self.pending = None;
        if !self.notice.what.is_empty() {
            self.dismiss();
            return;
        }
        if self.screen == Screen::Upkeep && self.leave_upkeep_part() {
            return;
        }
        match self.screen {
            Screen::Station | Screen::About | Screen::Person => self.go(self.before),
            _ => self.go(Screen::Week),
        }
    }

    /// Takes the message at the foot away.
    pub fn dismiss(&mut self) {
        self.notice = Notice::default();
    }

    /// Looks at another week, later ones for a positive number, up to this one.
    pub fn move_week(&mut self, by: i32) {
        let back = i64::from(self.weeks_back) - i64::from(by);
        let back = u32::try_from(back.max(0)).unwrap_or(self.weeks_back);
        if back != self.weeks_back {
            self.weeks_back = back;
            self.attention_at = Cursor::default();
            self.reload();
        }
    }

    /// Narrows what needs attention to one category, or widens it again.
    pub fn choose_category(&mut self, category: Category) {
        self.category = if self.category == Some(category) {
            None
        } else {
            Some(category)
        };
        self.side = Side::Attention;
        self.attention_at.choose(0);
    }

    /// Takes in how many lines the attention list has room for.
    pub fn fit_attention(&mut self, lines: usize) -> bool {
        self.attention_at.fit(lines)
    }

    /// Takes in how many lines the week's list of stations has room for.
    pub fn fit_fleet(&mut self, lines: usize) -> bool {
        self.week_fleet.fit(lines)
    }

    /// Takes in how many lines the register has room for.
    pub fn fit_register(&mut self, lines: usize) -> bool {
        self.register.fit(lines)
    }

    /// Turns the pages of the attention list.
    pub fn turn_attention(&mut self, by: isize) {
        self.side = Side::Attention;
        let length = self.shown_attention().len();
        self.attention_at.turn(by, length);
    }

    /// Turns the pages of the week's list of stations.
    pub fn turn_fleet(&mut self, by: isize) {
        self.week_fleet.turn(by);
    }

    /// Turns the pages of the register.
    pub fn turn_register(&mut self, by: isize) {
        self.register.turn(by);
    }

    /// Narrows the register to what a text finds in code, name or level.
    pub fn find(&mut self, text: &str) {
        text.clone_into(&mut self.find);
        self.fill_register();
    }

    /// Puts what needs attention first in the register, or everything in walking order.
    pub fn order_register(&mut self, is_by_need: bool) {
        self.order = if is_by_need { Order::Need } else { Order::Walk };
        self.fill_register();
        self.register.start();
    }

    fn fill_register(&mut self) {
        let lines = fleet(&self.snapshot, &self.attention, &self.find, self.order);
        self.register.fill(lines);
    }

    fn shown_attention(&self) -> Vec<&Attention> {
        crate::presenters::office_week::narrowed(&self.attention, self.category)
    }

    fn look_for_places(&mut self) {
        self.hand_back.places = places::mounted();
        if self.hand_back.folder.is_empty() {
            let stick = self
                .hand_back
                .places
                .first()
                .map(|place| place.path.clone());
            let folder = stick.unwrap_or_else(|| self.dir.join(WAY_BACK));
            self.hand_back.folder = folder.display().to_string();
        }
    }

    /// Reads the logbook anew, after an act or for another week.
    fn reload(&mut self) {
        let Some(logbook) = &self.logbook else {
            return;
        };
        match Snapshot::load(logbook, self.weeks_back) {
            Ok(snapshot) => {
                self.snapshot = snapshot;
                self.spread();
                self.count_news();
                self.reload_station();
                self.reload_board();
            }
            Err(error) => self.failed(&logbook_failed(&error)),
        }
    }

    /// Puts what is known into the lists.
    fn spread(&mut self) {
        self.attention = attention(&self.snapshot);
        let lines = fleet(&self.snapshot, &self.attention, "", Order::Walk);
        self.week_fleet.fill(lines);
        self.fill_register();
        let questions = self.snapshot.questions.len();
        self.questions.at = self.questions.at.min(questions.saturating_sub(1));
    }

    fn failed(&mut self, message: &UserMessage) {
        self.notice = Notice {
            tone: Tone::Outside,
            what: message.what.clone(),
            advice: [message.safe.as_str(), message.next.as_str()]
                .join(" ")
                .trim()
                .to_owned(),
        };
    }

    fn done(&mut self, what: impl Into<String>) {
        self.notice = Notice {
            tone: Tone::Within,
            what: what.into(),
            advice: String::new(),
        };
    }

    fn busy(&mut self) {
        self.notice = Notice {
            tone: Tone::Caution,
            what: "Work is under way.".to_owned(),
            advice: "Wait until it is done, or stop it, then try again.".to_owned(),
        };
    }
}
