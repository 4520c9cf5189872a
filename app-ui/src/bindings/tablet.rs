//! The tablet's window on a session: every callback is one intent, and after each the screen
//! that is on is shown anew.

mod closer;
mod station;
mod step;
mod work;

use std::cell::RefCell;
use std::rc::{Rc, Weak};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};

use slint::{ComponentHandle, PlatformError, Timer, TimerMode};
use winze_core::Logbook;

use super::convert;
use super::rows::Rows;
use crate::markup::{
    self, AboutAdapter, HandOverAdapter, Light, RoundAdapter, TabletAdapter, TabletWindow, Theme,
    Touch, WhoAdapter,
};
use crate::presenters::who;
use crate::tablet::contacts::Contacts;
use crate::tablet::places;
use crate::tablet::session::{Job, JobDone, Screen, Session, Surroundings};

/// How often a running job is asked how far it is.
const JOB_POLL: Duration = Duration::from_millis(50);

/// News of a job on its own thread.
enum News {
    At(f32),
    Done(Box<JobDone>),
}

struct Running {
    news: Receiver<News>,
    stop: Arc<AtomicBool>,
}

/// The tablet's window with its session.
pub struct Tablet {
    /// The window; shown by [`Tablet::run`] or drawn to a picture.
    pub window: TabletWindow,
    session: RefCell<Session>,
    contacts: RefCell<Contacts>,
    started: Instant,
    station: station::StationRows,
    closer: closer::CloserRows,
    work: work::WorkRows,
    step: step::StepRows,
    lines: Rows<markup::ListLine>,
    marks: Rows<markup::RoundMark>,
    round_answers: Rows<markup::Choice>,
    places: Rows<markup::Choice>,
    others: Rows<markup::ListLine>,
    job: RefCell<Option<Running>>,
    poll: Timer,
}

impl Tablet {
    /// Makes the window, bound to a session and showing its screen.
    ///
    /// # Errors
    /// The platform's, when no window can be made.
    pub fn new(session: Session) -> Result<Rc<Self>, PlatformError> {
        let tablet = Rc::new(Self {
            window: TabletWindow::new()?,
            session: RefCell::new(session),
            contacts: RefCell::default(),
            started: Instant::now(),
            station: station::StationRows::default(),
            closer: closer::CloserRows::default(),
            work: work::WorkRows::default(),
            step: step::StepRows::default(),
            lines: Rows::default(),
            marks: Rows::default(),
            round_answers: Rows::default(),
            places: Rows::default(),
            others: Rows::default(),
            job: RefCell::default(),
            poll: Timer::default(),
        });
        tablet.bind_touch();
        tablet.bind_round();
        tablet.bind_hand_over();
        tablet.bind_who();
        tablet.bind_station();
        tablet.bind_closer();
        tablet.bind_work();
        tablet.bind_step();
        let is_bright = tablet.session.borrow().is_bright();
        tablet.set_bright(is_bright);
        tablet.refresh();
        Ok(tablet)
    }

    /// Shows the window until it is closed.
    ///
    /// # Errors
    /// The platform's, when there is no display.
    pub fn run(&self) -> Result<(), PlatformError> {
        self.window.run()
    }

    /// Lets the caller act on the session as a finger would; then shows what came of it.
    pub fn act<R>(&self, intent: impl FnOnce(&mut Session) -> R) -> R {
        let result = intent(&mut self.session.borrow_mut());
        self.refresh();
        result
    }

    /// Chooses the dark or the bright look.
    pub fn set_bright(&self, is_bright: bool) {
        let light = if is_bright {
            Light::Bright
        } else {
            Light::Dark
        };
        self.window.global::<Theme>().set_light(light);
    }

    fn now_ms(&self) -> u64 {
        u64::try_from(self.started.elapsed().as_millis()).unwrap_or(u64::MAX)
    }

    /// Shows the screen that is on.
    pub fn refresh(&self) {
        let mut session = self.session.borrow_mut();
        let screen = session.screen();
        match screen {
            Screen::Round => self.show_round(&mut session),
            Screen::Station => self.show_station(&session),
            Screen::Work => self.show_work(&session),
            Screen::HandOver => self.show_hand_over(&session),
            Screen::Who => self.show_who(&session),
            Screen::About => {
                let adapter = self.window.global::<AboutAdapter>();
                adapter.set_version(env!("CARGO_PKG_VERSION").into());
                adapter.set_folder(session.folder().display().to_string().as_str().into());
            }
        }
        let adapter = self.window.global::<TabletAdapter>();
        adapter.set_screen(convert::screen(screen));
    }

    fn bind_touch(self: &Rc<Self>) {
        let touch = self.window.global::<Touch>();
        touch.on_refuses(with_two(
            self,
            |tablet, finger, key: slint::SharedString| {
                let now_ms = tablet.now_ms();
                tablet.contacts.borrow_mut().refuses(finger, &key, now_ms)
            },
        ));
        touch.on_lifted(with_one(self, |tablet, finger| {
            tablet.contacts.borrow_mut().lifted(finger);
        }));
        let keys = self.window.global::<TabletAdapter>();
        keys.on_key(with_one(self, |tablet, text: slint::SharedString| {
            let now_ms = tablet.now_ms();
            tablet.act(|session| session.keyboard(&text, now_ms))
        }));
        let about = self.window.global::<AboutAdapter>();
        about.on_go_back(with_none(self, |tablet| tablet.act(Session::go_to_round)));
    }

    fn bind_round(self: &Rc<Self>) {
        let adapter = self.window.global::<RoundAdapter>();
        adapter.set_lines(self.lines.model());
        adapter.set_marks(self.marks.model());
        adapter.set_answers(self.round_answers.model());
        adapter.on_resized(with_one(self, |tablet, half_lines| {
            let half_lines = usize::try_from(half_lines).unwrap_or(0);
            tablet.act(|session| session.resized(half_lines));
        }));
        adapter.on_turn_page(with_one(self, |tablet, by| {
            let by = isize::try_from(by).unwrap_or(0);
            tablet.act(|session| session.turn_page(by));
        }));
        adapter.on_open(with_one(self, |tablet, id: slint::SharedString| {
            tablet.act(|session| session.open_tag(&id));
        }));
        adapter.on_act_next(with_none(self, |tablet| tablet.act(Session::act_next)));
        adapter.on_ask_close(with_none(self, |tablet| tablet.act(Session::ask_close)));
        adapter.on_answer(with_one(self, |tablet, id: slint::SharedString| {
            tablet.act(|session| session.answer_round(&id));
        }));
        adapter.on_go_to_due(with_none(self, |tablet| tablet.act(Session::go_to_due)));
        adapter.on_go_to_hand_over(with_none(self, |tablet| {
            tablet.act(Session::go_to_hand_over);
        }));
        adapter.on_go_to_words(with_none(self, |tablet| tablet.act(Session::go_to_who)));
        adapter.on_go_to_about(with_none(self, |tablet| tablet.act(Session::go_to_about)));
        adapter.on_change_light(with_none(self, |tablet| {
            tablet.act(Session::change_light);
            let is_bright = tablet.session.borrow().is_bright();
            tablet.set_bright(is_bright);
        }));
    }

    fn show_round(&self, session: &mut Session) {
        let screen = session.round_screen();
        let question = session.round_question();
        let adapter = self.window.global::<RoundAdapter>();
        adapter.set_stage(convert::stage(screen.stage));
        adapter.set_title(screen.title.as_str().into());
        adapter.set_waiting(screen.waiting.as_str().into());
        adapter.set_count(screen.count.as_str().into());
        adapter.set_count_detail(screen.count_detail.as_str().into());
        self.marks
            .set(screen.marks.iter().copied().map(convert::mark));
        self.lines.set(screen.lines.iter().map(convert::line));
        adapter.set_page(format!("page {} of {}", screen.page + 1, screen.pages).into());
        adapter.set_can_page_back(screen.page > 0);
        adapter.set_can_page_on(screen.page + 1 < screen.pages);
        adapter.set_heading(screen.heading.as_str().into());
        adapter.set_sentence(screen.sentence.as_str().into());
        adapter.set_next_act(screen.next_act.as_str().into());
        adapter.set_trouble(session.round_trouble().into());
        let question = question.unwrap_or_default();
        adapter.set_question(question.question.as_str().into());
        self.round_answers
            .set(question.answers.iter().map(convert::choice));
    }

    fn bind_hand_over(self: &Rc<Self>) {
        let adapter = self.window.global::<HandOverAdapter>();
        adapter.set_places(self.places.model());
        adapter.on_go_back(with_none(self, |tablet| tablet.act(Session::go_to_round)));
        adapter.on_go_to_words(with_none(self, |tablet| tablet.act(Session::go_to_who)));
        adapter.on_look_again(with_none(self, |tablet| {
            tablet.act(Session::look_for_places);
        }));
        adapter.on_choose(with_one(self, |tablet, id: slint::SharedString| {
            tablet.act(|session| session.choose_place(&id));
        }));
        adapter.on_other_place_typed(with_one(self, |tablet, text: slint::SharedString| {
            tablet.act(|session| session.set_other_place(&text));
        }));
        adapter.on_give(with_none(self, |tablet| {
            let job = tablet.act(Session::give);
            tablet.start(job);
        }));
        adapter.on_take(with_none(self, |tablet| {
            let job = tablet.act(Session::take);
            tablet.start(job);
        }));
        adapter.on_cancel(with_none(self, |tablet| {
            if let Some(running) = &*tablet.job.borrow() {
                running.stop.store(true, Ordering::Relaxed);
            }
        }));
    }

    fn start(self: &Rc<Self>, job: Option<Job>) {
        let Some(job) = job else {
            return;
        };
        let (sender, news) = mpsc::channel();
        let stop = Arc::new(AtomicBool::new(false));
        *self.job.borrow_mut() = Some(Running {
            news,
            stop: stop.clone(),
        });
        std::thread::spawn(move || {
            // A window that is gone takes no more news; the act itself goes to its end.
            let done = job.run(&mut |share| {
                let _ = sender.send(News::At(share));
                !stop.load(Ordering::Relaxed)
            });
            let _ = sender.send(News::Done(Box::new(done)));
        });
        let tablet = Rc::downgrade(self);
        self.poll.start(TimerMode::Repeated, JOB_POLL, move || {
            if let Some(tablet) = tablet.upgrade() {
                tablet.hear();
            }
        });
    }

    /// Takes the news of the running job, if any.
    fn hear(&self) {
        let news: Vec<News> = match &*self.job.borrow() {
            Some(running) => running.news.try_iter().collect(),
            None => return,
        };
        for news in news {
            match news {
                News::At(share) => self.act(|session| session.job_is_at(share)),
                News::Done(done) => {
                    self.poll.stop();
                    *self.job.borrow_mut() = None;
                    self.act(|session| session.finish(*done));
                }
            }
        }
    }

    fn show_hand_over(&self, session: &Session) {
        let screen = session.hand_over_screen();
        let adapter = self.window.global::<HandOverAdapter>();
        adapter.set_heading(screen.heading.as_str().into());
        adapter.set_detail(screen.detail.as_str().into());
        self.places.set(screen.places.iter().map(convert::choice));
        adapter.set_places_hint(screen.places_hint.as_str().into());
        adapter.set_other_place(session.other_place().into());
        adapter.set_take_comes_first(screen.take_comes_first);
        adapter.set_can_act(screen.can_act);
        adapter.set_is_busy(screen.is_busy);
        adapter.set_progress(screen.progress);
        adapter.set_must_compare(screen.outcome.must_compare);
        adapter.set_result_tone(convert::tone(screen.outcome.tone));
        adapter.set_result(screen.outcome.result.as_str().into());
        adapter.set_result_detail(screen.outcome.detail.as_str().into());
    }

    fn bind_who(self: &Rc<Self>) {
        let adapter = self.window.global::<WhoAdapter>();
        adapter.set_others(self.others.model());
        adapter.on_go_back(with_none(self, |tablet| tablet.act(Session::go_to_round)));
        adapter.on_compare(with_one(self, |tablet, id: slint::SharedString| {
            tablet.act(|session| session.compare(&id));
        }));
        adapter.on_they_match(with_none(self, |tablet| tablet.act(Session::words_match)));
        adapter.on_they_differ(with_none(self, |tablet| tablet.act(Session::words_differ)));
    }

    fn show_who(&self, session: &Session) {
        let screen = session.who_screen();
        let adapter = self.window.global::<WhoAdapter>();
        adapter.set_label(screen.label.as_str().into());
        adapter.set_words(convert::texts(&screen.words));
        adapter.set_sentence(screen.sentence.as_str().into());
        self.others.set(screen.others.iter().map(convert::line));
        adapter.set_others_hint(screen.others_hint.as_str().into());
        let (name, words) = session.comparing().unwrap_or_default();
        adapter.set_comparing(name.as_str().into());
        adapter.set_comparing_detail(who::COMPARE.into());
        adapter.set_compared_words(convert::texts(&words));
        adapter.set_trouble(session.who_trouble().into());
    }
}

fn with_none(tablet: &Rc<Tablet>, act: impl Fn(&Rc<Tablet>) + 'static) -> impl Fn() + 'static {
    let tablet: Weak<Tablet> = Rc::downgrade(tablet);
    move || {
        if let Some(tablet) = tablet.upgrade() {
            act(&tablet);
        }
    }
}

fn with_one<A: 'static, R: Default>(
    tablet: &Rc<Tablet>,
    act: impl Fn(&Rc<Tablet>, A) -> R + 'static,
) -> impl Fn(A) -> R + 'static {
    let tablet: Weak<Tablet> = Rc::downgrade(tablet);
    move |a| {
        tablet
            .upgrade()
            .map_or_else(R::default, |tablet| act(&tablet, a))
    }
}

fn with_two<A: 'static, B: 'static, R: Default>(
    tablet: &Rc<Tablet>,
    act: impl Fn(&Rc<Tablet>, A, B) -> R + 'static,
) -> impl Fn(A, B) -> R + 'static {
    let tablet: Weak<Tablet> = Rc::downgrade(tablet);
    move |a, b| {
        tablet
            .upgrade()
            .map_or_else(R::default, |tablet| act(&tablet, a, b))
    }
}

/// Shows the tablet's window on a logbook until it is closed. `by` is the name that records
/// will carry.
///
/// # Errors
/// The platform's, when there is no display.
pub fn run(logbook: Logbook, by: &str) -> Result<(), PlatformError> {
    let around = Surroundings {
        by: by.to_owned(),
        places: Box::new(places::mounted),
        nonce: Box::new(nonce),
    };
    Tablet::new(Session::new(logbook, around))?.run()
}

/// Eight bytes that no other entry has: hashed from what differs between any two moments and
/// processes. They need to be unlike, not secret.
fn nonce() -> [u8; 8] {
    use std::hash::{BuildHasher as _, RandomState};
    let moment = std::time::SystemTime::now();
    RandomState::new()
        .hash_one((moment, std::process::id()))
        .to_be_bytes()
}
