//! Walks through the session on a real logbook in a folder of its own.

use std::cell::Cell;
use std::path::Path;
use std::sync::Arc;

use winze_core::Logbook;
use winze_core::actions::revise_station;
use winze_core::clock::{Clock, DAY_MS, FixedClock};
use winze_core::query;
use winze_core::record::{DoubtReply, Role, Tick};
use winze_core::station::{Quantity, StationCode};
use winze_core::verdict::Verdict;

use super::{Place, Screen, Session, Sheet, Surroundings};
use crate::presenters::view::Tone;
use crate::presenters::{round, samples};

/// 2026-11-24T08:41:00Z, a Tuesday.
const TUESDAY_MS: i64 = 1_795_509_660_000;

struct Tablet {
    folder: tempfile::TempDir,
    clock: Arc<FixedClock>,
    session: Option<Session>,
}

fn surroundings(stick: &Path) -> Surroundings {
    let place = Place {
        label: "Stick BLUE".to_owned(),
        path: stick.to_path_buf(),
    };
    let count = Cell::new(0_u8);
    Surroundings {
        by: "A. Operator".to_owned(),
        places: Box::new(move || vec![place.clone()]),
        nonce: Box::new(move || {
            count.set(count.get() + 1);
            [count.get(); 8]
        }),
    }
}

impl Tablet {
    /// A tablet whose logbook knows three stations on two levels.
    fn with_stations() -> Self {
        let tablet = Self::empty();
        let mut logbook = tablet.open_logbook();
        for (order, (code, level)) in [
            ("T-06", "Level 420"),
            ("T-07", "Level 420"),
            ("T-08", "Level 540"),
        ]
        .into_iter()
        .enumerate()
        {
            let mut station = samples::station();
            station.code = code_of(code);
            station.level = level.to_owned();
            station.order = u32::try_from(order).expect("small") + 1;
            revise_station(&mut logbook, station, "An Engineer".to_owned()).expect("revised");
        }
        drop(logbook);
        tablet.started()
    }

    fn empty() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let clock = Arc::new(FixedClock::at(TUESDAY_MS));
        let as_clock: Arc<dyn Clock> = clock.clone();
        Logbook::create(
            &folder.path().join("book"),
            Role::Tablet,
            "tablet A",
            as_clock,
        )
        .expect("created");
        std::fs::create_dir(folder.path().join("stick")).expect("a stick");
        Self {
            folder,
            clock,
            session: None,
        }
    }

    fn open_logbook(&self) -> Logbook {
        Logbook::open(&self.folder.path().join("book"), self.clock.clone()).expect("opened")
    }

    fn started(mut self) -> Self {
        self.restart();
        self
    }

    /// Closes the window, as a dead battery would, and opens it again.
    fn restart(&mut self) {
        self.session = None;
        let around = surroundings(&self.folder.path().join("stick"));
        self.session = Some(Session::new(self.open_logbook(), around));
    }

    fn session(&mut self) -> &mut Session {
        self.session.as_mut().expect("started")
    }
}

fn code_of(code: &str) -> StationCode {
    StationCode::parse(code).expect("a code")
}

/// Does acts and counts them: each is one tap on the glass.
struct Taps<'a> {
    session: &'a mut Session,
    count: usize,
}

impl Taps<'_> {
    fn tap(&mut self, act: impl FnOnce(&mut Session)) {
        act(self.session);
        self.count += 1;
    }

    fn keys(&mut self, keys: &str) {
        for key in keys.chars() {
            self.tap(|session| session.key(key));
        }
    }

    /// A tap on the scale of a dial where the needle stands for `value`.
    fn dial(&mut self, quantity: Quantity, value: f64) {
        let session = &mut *self.session;
        let gauge = session.entry().expect("open").station().gauge(quantity);
        let degrees = crate::presenters::gauge::scale(gauge).needle_degrees(value);
        let angle = degrees.to_radians();
        let (x, y) = (0.5 + 0.42 * angle.sin(), 0.5 - 0.42 * angle.cos());
        session.touch_dial(quantity, x, y);
        session.release_dial();
        self.count += 1;
    }
}

fn enter(session: &mut Session, values: [&str; 3]) {
    for (quantity, value) in Quantity::ALL.into_iter().zip(values) {
        session.choose_gauge(quantity);
        value.chars().for_each(|key| session.key(key));
    }
}

#[test]
fn ordinary_station_on_the_keypad_takes_fourteen_taps() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    session.act_next();
    assert_eq!(session.screen(), Screen::Station);

    let mut taps = Taps { session, count: 0 };
    taps.keys("10.2");
    taps.tap(Session::next_gauge);
    taps.keys("4.1");
    taps.tap(Session::next_gauge);
    taps.keys("2.0");
    taps.tap(Session::ask_read_back);
    taps.tap(Session::save);
    let count = taps.count;
    assert!(count <= 14, "{count} taps");

    let logbook = session.logbook().expect("here");
    let visits = query::past_readings(logbook, &code_of("T-06"), 5).expect("read");
    assert_eq!(visits.len(), 1);
    assert_eq!(visits[0].entry, samples::entry(["10.2", "4.1", "2.0"]));
    assert_eq!(visits[0].by, "A. Operator");
    let view = session.station_view().expect("the next station is open");
    assert_eq!(view.code, "T-07");
    assert_eq!(view.sentences.meaning, "T-06 is saved: within.");
    assert!(view.gauges.iter().all(|gauge| gauge.value.is_empty()));
}

#[test]
fn ordinary_station_on_the_dials_takes_five_taps() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    session.act_next();
    let mut taps = Taps { session, count: 0 };
    taps.dial(Quantity::Inlet, 10.2);
    taps.dial(Quantity::Interstage, 4.08);
    taps.dial(Quantity::Outlet, 2.0);
    taps.tap(Session::ask_read_back);
    taps.tap(Session::save);
    assert_eq!(taps.count, 5);
    let logbook = session.logbook().expect("here");
    let visits = query::past_readings(logbook, &code_of("T-06"), 5).expect("read");
    assert_eq!(visits[0].entry, samples::entry(["10.2", "4.08", "2.00"]));
}

#[test]
fn doubtful_entry_asks_and_the_answer_is_kept_with_the_reading() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    session.act_next();
    enter(session, ["150", "4.1", "2.0"]);
    session.ask_read_back();
    assert_eq!(session.sheet(), Some(Sheet::Question));
    let question = session.question().expect("a question");
    assert_eq!(question.question, "Inlet 150 bar: is that right?");
    while session.sheet() == Some(Sheet::Question) {
        session.answer(crate::presenters::doubt::AS_TYPED);
    }
    assert_eq!(session.sheet(), Some(Sheet::ReadBack));
    session.save();
    let logbook = session.logbook().expect("here");
    let visits = query::past_readings(logbook, &code_of("T-06"), 5).expect("read");
    assert_eq!(visits[0].doubts[0].reply, DoubtReply::AsTyped);
    assert_eq!(
        visits[0].entry.inlet,
        Some(samples::bar("150")),
        "bad news is kept"
    );
}

#[test]
fn typing_again_goes_back_to_the_gauge_in_doubt() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    session.act_next();
    enter(session, ["10.2", "4.1", "9"]);
    session.ask_read_back();
    session.answer(crate::presenters::doubt::ANEW);
    assert_eq!(session.sheet(), Some(Sheet::Gauges));
    "2.0".chars().for_each(|key| session.key(key));
    session.ask_read_back();
    assert_eq!(session.sheet(), Some(Sheet::ReadBack));
    assert_eq!(session.read_back().expect("shown").figures[2].value, "2.0");
}

#[test]
fn nothing_is_saved_without_having_been_read_back() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    session.act_next();
    session.ask_read_back();
    assert_eq!(
        session.sheet(),
        Some(Sheet::Gauges),
        "nothing to read back yet"
    );
    enter(session, ["10.2", "4.1", "2.0"]);
    session.save();
    assert_eq!(session.station_view().expect("still open").code, "T-06");
    let logbook = session.logbook().expect("here");
    assert!(
        query::past_readings(logbook, &code_of("T-06"), 5)
            .expect("read")
            .is_empty()
    );
}

#[test]
fn entry_survives_the_window_being_closed_at_any_time() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    session.act_next();
    session.key('1');
    session.key('0');
    session.toggle_look_round(Tick::Leak.code());
    session.ask_read_back();
    tablet.restart();
    let session = tablet.session();
    assert_eq!(session.screen(), Screen::Round);
    session.act_next();
    let view = session.station_view().expect("open");
    assert_eq!(view.gauges[0].value, "10");
    assert!(view.look_round[0].is_on);
    assert!(
        view.sentences.meaning.starts_with("Typed Tuesday"),
        "{}",
        view.sentences.meaning
    );
}

#[test]
fn draft_of_another_round_is_asked_about_not_shown() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    session.act_next();
    enter(session, ["10.2", "", ""]);
    session.go_to_round();
    session.ask_close();
    assert!(session.round_question().is_some());
    session.answer_round(round::CLOSE);
    tablet.clock.set(TUESDAY_MS + 7 * DAY_MS);
    tablet.restart();
    let session = tablet.session();
    session.act_next();
    session.act_next();
    assert_eq!(session.sheet(), Some(Sheet::Question));
    assert_eq!(session.station_view().expect("open").gauges[0].value, "");
    let question = session.question().expect("asked");
    assert!(
        question.question.contains("Tuesday 24 November"),
        "{}",
        question.question
    );
    let afresh = question.answers[0].id.clone();
    session.answer(&afresh);
    assert_eq!(session.sheet(), Some(Sheet::Gauges));
    assert!(session.entry().expect("open").is_untouched());
}

#[test]
fn skipped_station_keeps_its_reason_and_something_else_needs_a_note() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    session.act_next();
    session.ask_skip();
    session.skip("not-safe");
    assert_eq!(
        session.station_view().expect("next").sentences.meaning,
        "T-06 is skipped."
    );
    session.ask_skip();
    session.skip("other");
    assert_eq!(session.sheet(), Some(Sheet::Note));
    session.note_done("chamber being painted");
    assert_eq!(session.station_view().expect("next").code, "T-08");
    session.go_to_round();
    let screen = session.round_screen();
    assert_eq!(screen.count, "0 of 3");
    assert_eq!(screen.count_detail, "2 skipped, 1 left");
    let skipped = screen
        .lines
        .iter()
        .find(|line| line.id == "T-06")
        .expect("listed");
    assert_eq!(skipped.status, "skipped: not safe at the moment");
}

#[test]
fn round_goes_from_start_to_close_and_on_to_the_hand_over() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    assert_eq!(session.round_screen().stage, round::Stage::NotOpen);
    session.act_next();
    let screen = session.round_screen();
    assert_eq!(screen.stage, round::Stage::Open);
    assert_eq!(screen.title, "Tuesday 24 November");
    session.act_next();
    for outlet in ["2.0", "2.9", "2.0"] {
        enter(session, ["10.2", "4.1", outlet]);
        session.ask_read_back();
        while session.sheet() == Some(Sheet::Question) {
            session.answer(crate::presenters::doubt::AS_TYPED);
        }
        session.save();
    }
    assert_eq!(session.screen(), Screen::Round);
    let screen = session.round_screen();
    assert_eq!(screen.stage, round::Stage::AllDone);
    let tones: Vec<_> = screen.marks.iter().map(|mark| mark.tone).collect();
    assert_eq!(
        tones,
        [Tone::Within, Tone::from(Verdict::Outside), Tone::Within]
    );
    session.act_next();
    assert_eq!(session.screen(), Screen::HandOver);
}

#[test]
fn bundle_is_written_to_the_only_stick_and_read_back() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.go_to_hand_over();
    let screen = session.hand_over_screen();
    assert!(screen.can_act, "one stick needs no choosing");
    assert!(
        screen.heading.contains("not yet at the office"),
        "{}",
        screen.heading
    );
    let job = session.give().expect("a job");
    assert!(session.hand_over_screen().is_busy);
    assert!(session.give().is_none(), "one at a time");
    let done = job.run(&mut |_| true);
    session.finish(done);
    let screen = session.hand_over_screen();
    assert_eq!(
        screen.outcome.tone,
        Tone::Within,
        "{}",
        screen.outcome.detail
    );
    let files = std::fs::read_dir(tablet.folder.path().join("stick"))
        .expect("listed")
        .count();
    assert_eq!(files, 1);
}

#[test]
fn hand_over_to_a_folder_that_is_gone_says_so_and_loses_nothing() {
    let mut tablet = Tablet::with_stations();
    let gone = tablet.folder.path().join("gone");
    let session = tablet.session();
    session.go_to_hand_over();
    session.set_other_place(&gone.display().to_string());
    let job = session.take().expect("a job");
    let done = job.run(&mut |_| true);
    session.finish(done);
    let outcome = session.hand_over_screen().outcome;
    assert_eq!(outcome.tone, Tone::Caution);
    assert!(!outcome.result.is_empty());
    session.go_to_round();
    assert_eq!(session.round_screen().count, "3");
}

#[test]
fn scanned_tag_opens_its_station_and_digits_still_go_to_the_gauge() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    for key in ["t", "-", "0", "7", "\n"] {
        assert!(session.keyboard(key, 10));
    }
    assert_eq!(session.station_view().expect("open").code, "T-07");
    for key in ["1", "0", ".", "2", "\n", "4"] {
        assert!(session.keyboard(key, 5_000));
    }
    let view = session.station_view().expect("open");
    assert_eq!(
        (view.gauges[0].value.as_str(), view.gauges[1].value.as_str()),
        ("10.2", "4")
    );
    for key in ["T", "-", "0", "8", "\n"] {
        session.keyboard(key, 9_000);
    }
    assert_eq!(session.station_view().expect("open").code, "T-08");
}

#[test]
fn unknown_tag_is_said_and_the_round_stays() {
    let mut tablet = Tablet::with_stations();
    let session = tablet.session();
    session.act_next();
    session.open_tag("Z-99");
    assert_eq!(session.screen(), Screen::Round);
    assert!(
        session.round_trouble().contains("Z-99"),
        "{}",
        session.round_trouble()
    );
}

#[test]
fn chosen_look_is_there_again_after_a_restart() {
    let mut tablet = Tablet::with_stations();
    assert!(!tablet.session().is_bright());
    tablet.session().change_light();
    tablet.restart();
    assert!(tablet.session().is_bright());
    tablet.session().change_light();
    assert!(!tablet.session().is_bright());
}

#[test]
fn empty_logbook_leads_to_the_hand_over() {
    let mut tablet = Tablet::empty().started();
    let session = tablet.session();
    assert_eq!(session.round_screen().stage, round::Stage::NoStations);
    session.act_next();
    assert_eq!(session.screen(), Screen::HandOver);
}
