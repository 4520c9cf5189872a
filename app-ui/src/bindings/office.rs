//! The office window on a session: every callback is one intent, and after each the screen that
//! is on is shown anew. Long work runs on a thread of its own and reports through a channel.

use std::cell::{Cell, RefCell};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::rc::Rc;
use std::sync::mpsc::{self, Receiver, Sender};
use std::time::{Duration, Instant};

use slint::platform::Key as SlintKey;

use slint::{ComponentHandle, PlatformError, SharedString, Timer, TimerMode};

use winze_core::Logbook;

use super::office_convert as to;
use super::office_show::Lists;
use crate::markup::{
    HandBackAdapter, HeldAdapter, HydraulicsAdapter, Light, OfficeAdapter, OfficeStationAdapter,
    OfficeWindow, PersonAdapter, QuestionAdapter, StationsAdapter, Theme, TrayAdapter, WeekAdapter,
};
use crate::messages::{UserMessage, logbook_failed, window_failed};
use crate::office::session::{Key, Launch, Screen, Session};
use crate::office::tray::names_and_sizes;
use crate::office::work::{Done, HowFar};
use crate::presenters::office_attention::Category;
use crate::presenters::office_hydraulics::Room;

/// How often the window looks whether work has come further.
const NEWS_POLL: Duration = Duration::from_millis(50);
/// How often the tray is looked into for bundles that came or went.
const TRAY_POLL: Duration = Duration::from_secs(4);
/// News from a thread closer together than this are not worth a redraw.
const NEWS_APART: Duration = Duration::from_millis(30);

enum News {
    At(HowFar),
    Done(Box<Done>),
    Tray(Vec<(std::path::PathBuf, u64)>),
}

/// The office window with its session.
pub struct Office {
    /// The window; shown by [`Office::run`] or drawn to a picture.
    pub window: OfficeWindow,
    session: RefCell<Session>,
    lists: Lists,
    fields_shown: Cell<u64>,
    is_peeking: Cell<bool>,
    sender: Sender<News>,
    news: Receiver<News>,
    poll: Timer,
    peek: Timer,
}

/// Makes a callback of an adapter one intent of the session.
macro_rules! on {
    ($me:expr, $adapter:expr, $set:ident, |$session:ident $(, $arg:ident)*| $body:expr) => {{
        let me = Rc::downgrade($me);
        $adapter.$set(move |$($arg),*| {
            if let Some(me) = me.upgrade() {
                me.act(|$session| { $body; });
            }
        });
    }};
}

/// As `on`, for intents that answer whether they changed anything: how many lines fit.
macro_rules! fits {
    ($me:expr, $adapter:expr, $set:ident, $intent:ident) => {{
        let me = Rc::downgrade($me);
        $adapter.$set(move |lines| {
            if let Some(me) = me.upgrade() {
                let lines = usize::try_from(lines).unwrap_or(1);
                me.fit(|session| session.$intent(lines));
            }
        });
    }};
}

impl Office {
    /// Makes the window, bound to a session and showing its screen.
    ///
    /// # Errors
    /// The platform's, when no window can be made.
    pub fn new(session: Session) -> Result<Rc<Self>, PlatformError> {
        let (sender, news) = mpsc::channel();
        let office = Rc::new(Self {
            window: OfficeWindow::new()?,
            session: RefCell::new(session),
            lists: Lists::default(),
            fields_shown: Cell::new(0),
            is_peeking: Cell::new(false),
            sender,
            news,
            poll: Timer::default(),
            peek: Timer::default(),
        });
        let theme = office.window.global::<Theme>();
        theme.set_desk(true);
        office
            .window
            .global::<OfficeAdapter>()
            .set_is_dark(theme.get_light() == Light::Dark);
        office.lists.hand_over(&office.window);
        office.bind_frame();
        office.bind_week();
        office.bind_tray();
        office.bind_questions();
        office.bind_held();
        office.bind_stations();
        office.bind_hand_back();
        office.bind_upkeep();
        office.refresh();
        Ok(office)
    }

    /// Shows the window until it is closed.
    ///
    /// # Errors
    /// The platform's, when there is no display.
    pub fn run(self: &Rc<Self>) -> Result<(), PlatformError> {
        let me = Rc::downgrade(self);
        self.peek.start(TimerMode::Repeated, TRAY_POLL, move || {
            if let Some(me) = me.upgrade() {
                me.peek_into_tray();
            }
        });
        self.start_work();
        self.window.run()
    }

    /// Lets the caller act on the session as a key would; then shows what came of it.
    pub fn act<R>(self: &Rc<Self>, intent: impl FnOnce(&mut Session) -> R) -> R {
        let result = intent(&mut self.session.borrow_mut());
        self.start_work();
        self.refresh();
        result
    }

    /// Does the work that waits at once, on this thread; for pictures and tests.
    pub fn work_now(self: &Rc<Self>) {
        loop {
            let Some(launch) = self.session.borrow_mut().take_launch() else {
                break;
            };
            let done = launch.job.run(&launch.stop, &mut |_| ());
            self.session.borrow_mut().finish(done);
        }
        self.refresh();
    }

    /// Chooses the dark or the bright look.
    pub fn set_bright(&self, is_bright: bool) {
        let light = if is_bright {
            Light::Bright
        } else {
            Light::Dark
        };
        self.window.global::<Theme>().set_light(light);
        self.window
            .global::<OfficeAdapter>()
            .set_is_dark(!is_bright);
    }

    /// Whether the bright look is on.
    #[must_use]
    pub fn is_bright(&self) -> bool {
        self.window.global::<Theme>().get_light() == Light::Bright
    }

    /// Shows the screen that is on.
    pub fn refresh(&self) {
        let session = self.session.borrow();
        let with_fields = self.fields_shown.replace(session.fields()) != session.fields();
        self.lists.show(&self.window, &session, with_fields);
    }

    /// Tells the session how much room there is; shows what changes by it.
    pub(super) fn fit(&self, fit: impl FnOnce(&mut Session) -> bool) {
        let changes = fit(&mut self.session.borrow_mut());
        if changes {
            self.refresh();
        }
    }

    /// Runs work that waits on a thread of its own, once the window is shown.
    fn start_work(self: &Rc<Self>) {
        if !self.peek.running() {
            return;
        }
        let Some(Launch { job, stop }) = self.session.borrow_mut().take_launch() else {
            return;
        };
        let sender = self.sender.clone();
        std::thread::spawn(move || {
            let mut last = None::<Instant>;
            let mut on_progress = |how_far: HowFar| {
                if last.is_none_or(|last| last.elapsed() > NEWS_APART) {
                    last = Some(Instant::now());
                    // Without a window nobody waits for news.
                    let _ = sender.send(News::At(how_far));
                }
            };
            let run = AssertUnwindSafe(|| job.run(&stop, &mut on_progress));
            let done = catch_unwind(run).unwrap_or(Done::Lost);
            let _ = sender.send(News::Done(Box::new(done)));
        });
        self.listen();
    }

    fn listen(self: &Rc<Self>) {
        if self.poll.running() {
            return;
        }
        let me = Rc::downgrade(self);
        self.poll.start(TimerMode::Repeated, NEWS_POLL, move || {
            if let Some(me) = me.upgrade() {
                me.take_news();
            }
        });
    }

    fn take_news(self: &Rc<Self>) {
        let news: Vec<News> = self.news.try_iter().collect();
        if news.is_empty() {
            return;
        }
        for one in news {
            match one {
                News::At(how_far) => self.session.borrow_mut().advance(how_far),
                News::Done(done) => self.session.borrow_mut().finish(*done),
                News::Tray(seen) => {
                    self.is_peeking.set(false);
                    self.session.borrow_mut().look_if_changed(&seen);
                }
            }
        }
        self.start_work();
        if !self.session.borrow().is_working() && !self.is_peeking.get() {
            self.poll.stop();
        }
        self.refresh();
    }

    /// Lists the tray on a thread: a share that does not answer must not hold the window up.
    fn peek_into_tray(self: &Rc<Self>) {
        let Some(folder) = self.session.borrow().peek_at() else {
            return;
        };
        if self.is_peeking.replace(true) {
            return;
        }
        let sender = self.sender.clone();
        std::thread::spawn(move || {
            // Without a window nobody waits for news.
            let _ = sender.send(News::Tray(names_and_sizes(&folder)));
        });
        self.listen();
    }

    fn bind_frame(self: &Rc<Self>) {
        let adapter = self.window.global::<OfficeAdapter>();
        on!(self, adapter, on_go, |session, place| {
            if let Some(screen) = Screen::from_id(&place) {
                session.go(screen);
            }
        });
        on!(self, adapter, on_dismiss, |session| session.dismiss());
        on!(self, adapter, on_ask_person, |session| session
            .go(Screen::Person));
        let me = Rc::downgrade(self);
        adapter.on_turn_light(move || {
            if let Some(me) = me.upgrade() {
                let is_dark = me.window.global::<OfficeAdapter>().get_is_dark();
                me.set_bright(is_dark);
            }
        });
        let me = Rc::downgrade(self);
        adapter.on_key(move |text, control, _shift| {
            let Some(key) = key(&text, control) else {
                return false;
            };
            me.upgrade().is_some_and(|me| {
                let is_taken = me.session.borrow_mut().key(key);
                // A key that means nothing here changes nothing on the screen either.
                if is_taken {
                    me.start_work();
                    me.refresh();
                }
                is_taken
            })
        });
        let person = self.window.global::<PersonAdapter>();
        on!(self, person, on_accept, |session, name| session
            .set_person(&name));
        on!(self, person, on_cancel, |session| session.go_back());
    }

    fn bind_week(self: &Rc<Self>) {
        let adapter = self.window.global::<WeekAdapter>();
        on!(self, adapter, on_move_week, |session, by| session
            .move_week(by));
        on!(self, adapter, on_choose_tally, |session, id| {
            if let Some(category) = Category::from_id(&id) {
                session.choose_category(category);
            }
        });
        on!(self, adapter, on_open_attention, |session, id| session
            .open_attention(&id));
        on!(self, adapter, on_open_station, |session, code| session
            .open_station(&code));
        on!(self, adapter, on_turn_attention, |session, by| session
            .turn_attention(by as isize));
        on!(self, adapter, on_turn_fleet, |session, by| session
            .turn_fleet(by as isize));
        fits!(self, adapter, on_attention_fits, fit_attention);
        fits!(self, adapter, on_fleet_fits, fit_fleet);
    }

    fn bind_tray(self: &Rc<Self>) {
        let adapter = self.window.global::<TrayAdapter>();
        on!(self, adapter, on_look_again, |session, folder| session
            .look_into(&folder));
        on!(self, adapter, on_choose, |session, id| session
            .choose_bundle(&id));
        on!(self, adapter, on_merge, |session| session.merge_all());
        on!(self, adapter, on_stop, |session| session.stop());
        on!(self, adapter, on_done, |session| session.merge_seen());
        on!(self, adapter, on_turn, |session, by| session
            .turn_tray(by as isize));
        fits!(self, adapter, on_fits, fit_tray);
    }

    fn bind_questions(self: &Rc<Self>) {
        let adapter = self.window.global::<QuestionAdapter>();
        on!(self, adapter, on_choose, |session, id| session
            .choose_answer(&id));
        on!(self, adapter, on_record, |session, note| session
            .record_answer(&note));
        on!(self, adapter, on_turn, |session, by| session
            .turn_question(by as isize));
    }

    fn bind_held(self: &Rc<Self>) {
        let adapter = self.window.global::<HeldAdapter>();
        on!(self, adapter, on_choose, |session, id| session
            .choose_held(&id));
        on!(self, adapter, on_name_edited, |session, name| session
            .type_held_name(&name));
        on!(self, adapter, on_enrol, |session, name| session
            .enrol(&name));
        on!(self, adapter, on_turn, |session, by| session
            .turn_held(by as isize));
        fits!(self, adapter, on_fits, fit_held);
    }

    fn bind_stations(self: &Rc<Self>) {
        let register = self.window.global::<StationsAdapter>();
        on!(self, register, on_found, |session, text| session
            .find(&text));
        on!(self, register, on_order, |session, by_need| session
            .order_register(by_need));
        on!(self, register, on_open, |session, code| session
            .open_station(&code));
        on!(self, register, on_open_chosen, |session| session
            .key(Key::Enter));
        on!(self, register, on_turn, |session, by| session
            .turn_register(by as isize));
        fits!(self, register, on_fits, fit_register);
        let station = self.window.global::<OfficeStationAdapter>();
        on!(self, station, on_go_back, |session| session.go_back());
        on!(self, station, on_move_station, |session, by| session
            .move_station(by as isize));
        on!(self, station, on_choose_gauge, |session, gauge| {
            session.choose_gauge(usize::try_from(gauge).unwrap_or(0));
        });
        on!(self, station, on_choose_reading, |session, id| session
            .choose_reading(&id));
        on!(self, station, on_show_panel, |session, panel| {
            session.show_panel(to::panel_back(panel));
        });
        on!(
            self,
            station,
            on_change_edited,
            |session, set_point, band| {
                session.type_change(&set_point, &band);
            }
        );
        on!(self, station, on_save_change, |session, set_point, band| {
            session.save_change(&set_point, &band);
        });
        on!(self, station, on_turn, |session, by| session
            .turn_readings(by as isize));
        fits!(self, station, on_fits, fit_readings);
        self.bind_hydraulics();
    }

    fn bind_hydraulics(self: &Rc<Self>) {
        let adapter = self.window.global::<HydraulicsAdapter>();
        on!(self, adapter, on_show_flow, |session, is_flow| session
            .show_part(to::part_back(is_flow)));
        on!(self, adapter, on_turn_findings, |session, by| session
            .turn_findings(by as isize));
        let me = Rc::downgrade(self);
        adapter.on_findings_fit(move |lines, letters| {
            if let Some(me) = me.upgrade() {
                let room = Room {
                    lines: usize::try_from(lines).unwrap_or(1),
                    letters: usize::try_from(letters).unwrap_or(1),
                };
                me.fit(|session| session.fit_findings(room));
            }
        });
    }

    fn bind_hand_back(self: &Rc<Self>) {
        let adapter = self.window.global::<HandBackAdapter>();
        on!(self, adapter, on_choose_place, |session, folder| session
            .choose_place(&folder));
        on!(self, adapter, on_write, |session, folder| session
            .pack(&folder));
        on!(self, adapter, on_stop, |session| session.stop());
        on!(self, adapter, on_again, |session| session.pack_again());
    }
}

/// Shows the office window on a logbook until it is closed. `by` is the name that records will
/// carry, if it is known already; bundles are looked for in `tray`, or in the logbook's own.
///
/// # Errors
/// In words, when the logbook cannot be read or there is no display.
pub fn run(logbook: Logbook, by: Option<&str>, tray: Option<&Path>) -> Result<(), UserMessage> {
    let mut session = Session::new(logbook).map_err(|error| logbook_failed(&error))?;
    if let Some(by) = by {
        session.set_person(by);
    }
    if let Some(tray) = tray {
        session.take_tray(tray);
    }
    Office::new(session)
        .and_then(|office| office.run())
        .map_err(|error| window_failed(&error.to_string()))
}

/// The key behind the text of a key event.
fn key(text: &SharedString, control: bool) -> Option<Key> {
    let is = |key: SlintKey| *text == SharedString::from(key);
    let arrows = [
        (SlintKey::UpArrow, Key::Up),
        (SlintKey::DownArrow, Key::Down),
        (
            SlintKey::LeftArrow,
            if control { Key::ControlLeft } else { Key::Left },
        ),
        (
            SlintKey::RightArrow,
            if control {
                Key::ControlRight
            } else {
                Key::Right
            },
        ),
        (SlintKey::PageUp, Key::PageUp),
        (SlintKey::PageDown, Key::PageDown),
        (SlintKey::Home, Key::Home),
        (SlintKey::End, Key::End),
        (SlintKey::Return, Key::Enter),
        (SlintKey::Escape, Key::Escape),
    ];
    let named = arrows
        .into_iter()
        .find(|(one, _)| is(*one))
        .map(|(_, key)| key);
    let letter = text.chars().next()?;
    match (named, control) {
        (Some(key), _) => Some(key),
        (None, true) => letter
            .is_ascii_alphanumeric()
            .then(|| Key::Control(letter.to_ascii_lowercase())),
        (None, false) => {
            let digit = letter.to_digit(10).filter(|digit| *digit > 0)?;
            u8::try_from(digit).ok().map(Key::Digit)
        }
    }
}
