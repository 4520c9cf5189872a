//! The clerk's window over real logbooks, without a display: worked by mouse and by keyboard.

use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;

use i_slint_backend_testing::{AccessibleRole, ElementHandle, ElementQuery, mock_elapsed_time};
use slint::platform::{Key, PointerEventButton, WindowEvent};
use slint::{ComponentHandle, LogicalSize, SharedString};
use winze_app_ui::bindings::office::Office;
use winze_app_ui::office::session::{Screen, Session};
use winze_core::Logbook;
use winze_core::actions::{
    NewReading, PackFor, enrol_logbook, merge_bundles, pack_bundle, record_reading, revise_station,
};
use winze_core::clock::FixedClock;
use winze_core::query::{LogStanding, logs, questions};
use winze_core::record::{Role, Ticks};
use winze_tests::samples::{MONDAY_MS, code, entry, station};

use crate::glass::{LANDSCAPE, PORTRAIT, start_platform};

const MINUTE_MS: i64 = 60_000;

/// The office's window, and the folder all its logbooks are in.
pub(crate) struct Desk {
    pub(crate) office: Rc<Office>,
    pub(crate) folder: tempfile::TempDir,
}

fn read(logbook: &mut Logbook, station: &str, outlet: &str) {
    let new = NewReading {
        station: code(station),
        revision: None,
        round: None,
        entry: entry("10.0", "4.0", outlet),
        ticks: Ticks::NONE,
        note: String::new(),
        doubts: Vec::new(),
        by: "Walker".to_owned(),
        nonce: [7; 8],
    };
    record_reading(logbook, new).expect("saved");
}

/// An office with two stations, an enrolled tablet and an unknown one that read `T-01` ten minutes
/// apart and differently; both bundles lie in the office's tray.
pub(crate) fn logbook_with_tray(folder: &Path) -> Logbook {
    let clock = |after: i64| Arc::new(FixedClock::at(MONDAY_MS + after * MINUTE_MS));
    let dir = folder.join("office");
    let mut office = Logbook::create(&dir, Role::Office, "Office", clock(90)).expect("made");
    for name in ["T-01", "T-02"] {
        revise_station(&mut office, station(name), "Engineer".to_owned()).expect("defined");
    }
    let stick = folder.join("stick");
    let tray = dir.join("tray");
    std::fs::create_dir_all(&tray).expect("made");
    std::fs::create_dir(&stick).expect("made");
    let mut all = |_| true;
    let packed = pack_bundle(&mut office, &stick, PackFor::Tablets, "Engineer", &mut all);
    let definitions = [packed.expect("packed").path];
    for (name, after, outlets) in [("North", 0, ["2.0", "3.0"]), ("Guest", 10, ["2.3", "2.0"])] {
        let dir = folder.join(name);
        let mut tablet = Logbook::create(&dir, Role::Tablet, name, clock(after)).expect("made");
        let (log, by) = (office.log_id(), "Walker".to_owned());
        enrol_logbook(&mut tablet, log, "Office".to_owned(), Role::Office, by).expect("enrolled");
        merge_bundles(&mut tablet, &definitions, &mut all).expect("merged");
        read(&mut tablet, "T-01", outlets[0]);
        read(&mut tablet, "T-02", outlets[1]);
        pack_bundle(&mut tablet, &tray, PackFor::Office, "Walker", &mut all).expect("packed");
        if name == "North" {
            let (log, by) = (tablet.log_id(), "Engineer".to_owned());
            enrol_logbook(&mut office, log, name.to_owned(), Role::Tablet, by).expect("enrolled");
        }
    }
    office
}

impl Desk {
    fn new(size: (f32, f32)) -> Self {
        Self::of(size, logbook_with_tray)
    }

    /// The window on an office's logbook made in a folder of its own.
    pub(crate) fn of((width, height): (f32, f32), make: fn(&Path) -> Logbook) -> Self {
        start_platform();
        let folder = tempfile::tempdir().expect("a folder");
        let session = Session::new(make(folder.path())).expect("opened");
        let office = Office::new(session).expect("a window");
        office.window.show().expect("shown");
        let window = office.window.window();
        window.set_size(LogicalSize::new(width, height));
        window.dispatch_event(WindowEvent::WindowActiveChanged(true));
        let desk = Self { office, folder };
        desk.settle();
        desk
    }

    /// Does the work that waits and lets rows and screens be made.
    pub(crate) fn settle(&self) {
        self.office.work_now();
        for _ in 0..3 {
            mock_elapsed_time(std::time::Duration::from_secs(1));
        }
    }

    fn find(&self, name: &str) -> ElementHandle {
        let all = self.reachable();
        let is_it = |one: &&ElementHandle| one.accessible_label().is_some_and(|own| own == name);
        let names = || all.iter().map(label).collect::<Vec<_>>();
        all.iter()
            .find(is_it)
            .unwrap_or_else(|| panic!("nothing is called {name:?} among {:?}", names()))
            .clone()
    }

    pub(crate) fn reachable(&self) -> Vec<ElementHandle> {
        [
            AccessibleRole::Button,
            AccessibleRole::Tab,
            AccessibleRole::ListItem,
            AccessibleRole::TextInput,
        ]
        .into_iter()
        .flat_map(|role| {
            ElementQuery::from_root(&self.office.window)
                .match_descendants()
                .match_accessible_role(role)
                .find_all()
        })
        .collect()
    }

    pub(crate) fn click(&self, name: &str) {
        self.find(name).mock_single_click(PointerEventButton::Left);
        self.settle();
    }

    pub(crate) fn type_text(&self, text: &str) {
        for letter in text.chars() {
            self.press(letter);
        }
    }

    pub(crate) fn press(&self, key: impl Into<SharedString>) {
        let text = key.into();
        let window = self.office.window.window();
        window.dispatch_event(WindowEvent::KeyPressed { text: text.clone() });
        window.dispatch_event(WindowEvent::KeyReleased { text });
        self.settle();
    }

    fn press_with_control(&self, key: impl Into<SharedString>) {
        let window = self.office.window.window();
        let control: SharedString = Key::Control.into();
        window.dispatch_event(WindowEvent::KeyPressed {
            text: control.clone(),
        });
        self.press(key);
        window.dispatch_event(WindowEvent::KeyReleased { text: control });
    }

    pub(crate) fn screen(&self) -> Screen {
        self.office.act(|session| session.screen())
    }
}

pub(crate) fn label(element: &ElementHandle) -> SharedString {
    element.accessible_label().unwrap_or_default()
}

#[test]
fn clerk_merges_enrols_answers_and_sends_back_by_mouse() {
    let desk = Desk::new(LANDSCAPE);
    desk.click("Tray");
    desk.click("Merge all 2 bundles");
    desk.click("See what it means");
    assert_eq!(desk.screen(), Screen::Week);

    desk.click("Held");
    desk.click("These words match: enrol as tablet");
    assert_eq!(desk.screen(), Screen::Person, "an enrolment needs a name");
    desk.type_text("Clerk");
    desk.click("That is me");
    assert_eq!(desk.screen(), Screen::Held);

    desk.click("Questions");
    desk.click("North stands");
    desk.click("record the answer");

    let stick = desk.folder.path().join("stick");
    desk.click("To tablets");
    desk.office
        .act(|session| session.choose_place(&stick.display().to_string()));
    desk.click("Write and read back");
    assert_eq!(std::fs::read_dir(&stick).expect("there").count(), 2);

    let dir = desk.folder.path().join("office");
    drop(desk.office);
    let logbook = Logbook::open(&dir, Arc::new(FixedClock::at(MONDAY_MS))).expect("closed before");
    let held = |standing| {
        logs(&logbook)
            .expect("read")
            .iter()
            .any(|log| log.standing == standing)
    };
    assert!(!held(LogStanding::Held));
    let open = questions(&logbook, false).expect("read");
    assert_eq!(
        open.len(),
        1,
        "the question about T-02 is still open: {open:?}"
    );
    let answered = questions(&logbook, true).expect("read");
    assert_eq!(answered[0].answers.len() + answered[1].answers.len(), 1);
    drop(desk.folder);
}

#[test]
fn clerk_reaches_every_place_without_a_mouse() {
    let desk = Desk::new(LANDSCAPE);
    desk.press_with_control('m');
    assert_eq!(desk.screen(), Screen::Tray);
    for (digit, screen) in ['1', '2', '3', '4', '5', '6', '7']
        .into_iter()
        .zip(Screen::PLACES)
    {
        desk.press_with_control(digit);
        assert_eq!(desk.screen(), screen);
        desk.press(Key::Tab);
        desk.press(Key::Tab);
    }
    desk.press(Key::Escape);
    assert_eq!(desk.screen(), Screen::Week);
    desk.press(Key::Return);
    assert_eq!(desk.screen(), Screen::Station, "the first line is opened");
    desk.press(Key::Escape);
    assert_eq!(desk.screen(), Screen::Week);
}

#[test]
fn field_that_goes_away_gives_the_keyboard_back() {
    let desk = Desk::new(LANDSCAPE);
    desk.press_with_control('5');
    desk.click("Find by code, name or level");
    desk.type_text("02");
    desk.press(Key::Return);
    assert_eq!(desk.screen(), Screen::Station);
    desk.press(Key::Escape);
    assert_eq!(desk.screen(), Screen::Stations);
    desk.press_with_control('1');
    assert_eq!(desk.screen(), Screen::Week);
}

#[test]
fn key_that_means_nothing_leaves_the_focus_where_it_is() {
    let desk = Desk::new(LANDSCAPE);
    desk.press_with_control('m');
    desk.press_with_control('4');
    desk.office.act(|session| session.set_person("Clerk"));
    desk.click("These words match: enrol as tablet");
    desk.press_with_control('3');
    // Seven places and three keys at the right, two keys that turn the questions, then the answers.
    for _ in 0..12 {
        desk.press(Key::Tab);
    }
    desk.press(Key::Tab);
    desk.press(Key::F7);
    desk.press(' ');
    let chosen = desk.office.act(|session| session.question_view());
    let chosen: Vec<bool> = chosen
        .answers
        .iter()
        .map(|answer| answer.is_chosen)
        .collect();
    assert_eq!(
        chosen.iter().filter(|chosen| **chosen).count(),
        1,
        "{chosen:?}"
    );
}

#[test]
fn everything_to_choose_has_a_name_in_every_place_and_both_sizes() {
    for size in [LANDSCAPE, PORTRAIT] {
        let desk = Desk::new(size);
        desk.press_with_control('m');
        for screen in Screen::PLACES {
            desk.office.act(|session| session.go(screen));
            desk.settle();
            let (width, height) = size;
            for one in desk.reachable() {
                assert!(!label(&one).is_empty(), "{screen:?}: {:?}", one.type_name());
                let at = one.absolute_position();
                let (right, bottom) = (at.x + one.size().width, at.y + one.size().height);
                assert!(
                    at.x >= 0.0 && at.y >= 0.0 && right <= width + 1.0 && bottom <= height + 1.0,
                    "{screen:?}: {} lies outside the window: {at:?} {:?}",
                    label(&one),
                    one.size()
                );
            }
        }
    }
}
