//! A tablet's window over a logbook of its own, without a display: keys are found by their
//! accessible name and clicked with a mouse or touched with fingers.
//!
//! Touches go in by an interface that Slint keeps for its own back ends; it is used here only.

use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Arc;

use i_slint_backend_testing::{AccessibleRole, ElementHandle, ElementQuery};
use i_slint_core::input::TouchPhase;
use i_slint_core::lengths::LogicalPoint;
use i_slint_core::platform::{InternalEvent, WindowEvent};
use slint::platform::PointerEventButton;
use slint::{ComponentHandle, LogicalPosition, LogicalSize};
use winze_app_ui::bindings::tablet::Tablet;
use winze_app_ui::tablet::session::{Place, Session, Surroundings};
use winze_core::Logbook;
use winze_core::actions::{NewReading, record_reading, revise_station};
use winze_core::clock::FixedClock;
use winze_core::query::Visit;
use winze_core::record::{Role, Ticks};
use winze_core::verdict::{Entry, FlowState};
use winze_tests::samples::{MONDAY_MS, bar, code, station};

/// Lying.
pub const LANDSCAPE: (f32, f32) = (1280.0, 800.0);
/// Upright.
pub const PORTRAIT: (f32, f32) = (800.0, 1280.0);

/// A tablet's window, and the fingers on it.
pub struct Glass {
    pub tablet: Rc<Tablet>,
    _folder: tempfile::TempDir,
}

impl Glass {
    /// A window over a tablet logbook with `stations` stations on levels of three.
    pub fn with_stations(stations: u32, size: (f32, f32)) -> Self {
        Self::made(stations, size, |_, _| {})
    }

    /// Two stations, at the first of which the outlet has crept up for ten of forty weeks.
    pub fn with_creeping_outlet(size: (f32, f32)) -> Self {
        Self::made(2, size, |logbook, clock| {
            let weekly = 7 * 86_400_000;
            clock.set(MONDAY_MS - 40 * i64::from(weekly));
            for week in 0..40_u32 {
                // Small tremors of reading that repeat every seven and five weeks.
                let inlet = 1000 + 10 * ((week * 3) % 7);
                let interstage = 400 + 4 * ((week * 3) % 7) + 2 * ((week * 2) % 5);
                let outlet = 198 + 2 * ((week * 3) % 5) / 2 + 2 * week.saturating_sub(36);
                let hundredths = |value: u32| bar(&format!("{}.{:02}", value / 100, value % 100));
                let entry = Entry {
                    flow: FlowState::Flowing,
                    ..Entry::of(
                        hundredths(inlet),
                        hundredths(interstage),
                        hundredths(outlet),
                    )
                };
                let mut nonce = [7; 8];
                nonce[0] = u8::try_from(week).expect("few weeks");
                let new = NewReading {
                    station: code("T-01"),
                    revision: None,
                    round: None,
                    entry,
                    ticks: Ticks::NONE,
                    note: String::new(),
                    doubts: Vec::new(),
                    by: "A. Operator".to_owned(),
                    nonce,
                };
                record_reading(logbook, new).expect("recorded");
                clock.advance_ms(weekly);
            }
        })
    }

    fn made(
        stations: u32,
        size: (f32, f32),
        before: impl FnOnce(&mut Logbook, &FixedClock),
    ) -> Self {
        start_platform();
        let folder = tempfile::tempdir().expect("a folder");
        let book = folder.path().join("book");
        let clock = Arc::new(FixedClock::at(MONDAY_MS));
        let mut logbook =
            Logbook::create(&book, Role::Tablet, "tablet A", clock.clone()).expect("a logbook");
        for number in 1..=stations {
            let mut station = station(&format!("T-{number:02}"));
            station.level = format!("Level {}", 300 + 120 * ((number - 1) / 3));
            "north drive, chamber".clone_into(&mut station.name);
            station.order = number;
            revise_station(&mut logbook, station, "An Engineer".to_owned()).expect("revised");
        }
        before(&mut logbook, &clock);
        let stick = folder.path().join("stick");
        std::fs::create_dir(&stick).expect("a stick");
        let tablet = Tablet::new(Session::new(logbook, surroundings(stick))).expect("a window");
        let glass = Self {
            tablet,
            _folder: folder,
        };
        glass.tablet.window.show().expect("shown");
        glass.resize(size);
        glass
    }

    /// Turns the tablet.
    pub fn resize(&self, (width, height): (f32, f32)) {
        let window = self.tablet.window.window();
        window.set_size(LogicalSize::new(width, height));
        // Rows and sheets are made when they are first drawn.
        i_slint_backend_testing::mock_elapsed_time(core::time::Duration::from_secs(1));
    }

    /// What can be pressed, everything that is on.
    pub fn pressable(&self) -> Vec<ElementHandle> {
        [AccessibleRole::Button, AccessibleRole::Checkbox]
            .into_iter()
            .flat_map(|role| {
                ElementQuery::from_root(&self.tablet.window)
                    .match_descendants()
                    .match_accessible_role(role)
                    .find_all()
            })
            .collect()
    }

    /// The names of all that can be pressed, for messages of failing tests.
    pub fn names(&self) -> Vec<String> {
        let name = |element: &ElementHandle| element.accessible_label().unwrap_or_default();
        self.pressable()
            .iter()
            .map(|element| name(element).into())
            .collect()
    }

    /// A key by its name.
    pub fn key(&self, name: &str) -> ElementHandle {
        let found = self.pressable().into_iter();
        let mut found = found.filter(|key| key.accessible_label().is_some_and(|own| own == name));
        let key = found.next();
        key.unwrap_or_else(|| panic!("no key {name:?} among {:?}", self.names()))
    }

    /// Whether there is a key of this name.
    pub fn has(&self, name: &str) -> bool {
        self.names().iter().any(|own| own == name)
    }

    /// Clicks a key.
    pub fn click(&self, name: &str) {
        self.key(name).mock_single_click(PointerEventButton::Left);
    }

    /// Clicks digits and points.
    pub fn click_digits(&self, digits: &str) {
        for digit in digits.chars() {
            match digit {
                '.' => self.click("decimal point"),
                digit => self.click(&digit.to_string()),
            }
        }
    }

    /// The middle of a key.
    pub fn middle(&self, name: &str) -> LogicalPosition {
        let key = self.key(name);
        let (at, size) = (key.absolute_position(), key.size());
        LogicalPosition::new(at.x + size.width / 2.0, at.y + size.height / 2.0)
    }

    fn touch(&self, finger: i32, at: LogicalPosition, phase: TouchPhase) {
        let position = LogicalPoint::new(at.x, at.y);
        let event = InternalEvent::Touch {
            id: finger,
            position,
            phase,
        };
        let window = self.tablet.window.window();
        window
            .dispatch_event_with_result(WindowEvent::internal(event))
            .expect("the window takes touches");
    }

    /// A finger comes down.
    pub fn down(&self, finger: i32, at: LogicalPosition) {
        self.touch(finger, at, TouchPhase::Started);
    }

    /// A finger slides.
    pub fn slide(&self, finger: i32, at: LogicalPosition) {
        self.touch(finger, at, TouchPhase::Moved);
    }

    /// A finger lifts.
    pub fn up(&self, finger: i32, at: LogicalPosition) {
        self.touch(finger, at, TouchPhase::Ended);
    }

    /// The touch driver takes a contact for a palm.
    pub fn cancel(&self, finger: i32, at: LogicalPosition) {
        self.touch(finger, at, TouchPhase::Cancelled);
    }

    /// A tap with one finger.
    pub fn tap(&self, name: &str) {
        let at = self.middle(name);
        self.down(1, at);
        self.up(1, at);
    }

    /// What is typed on the chosen gauge of the open station.
    pub fn typed(&self) -> String {
        self.tablet.act(|session| {
            let entry = session.entry().expect("a station is open");
            entry.cell(entry.chosen()).text.clone()
        })
    }

    /// The readings of a station, newest first.
    pub fn readings(&self, station: &str) -> Vec<Visit> {
        self.tablet.act(|session| {
            let logbook = session.logbook().expect("here");
            winze_core::query::past_readings(logbook, &code(station), 10).expect("read")
        })
    }

    /// Starts the round and opens its first station.
    pub fn open_first(&self) {
        self.click("Start the round");
        self.click("Open T-01");
    }
}

/// A thread has one platform, however many windows a test opens on it.
pub fn start_platform() {
    thread_local! {
        static STARTED: std::cell::OnceCell<()> = const { std::cell::OnceCell::new() };
    }
    STARTED.with(|started| {
        started.get_or_init(winze_tests::screen::without_display);
    });
}

fn surroundings(stick: PathBuf) -> Surroundings {
    let count = std::cell::Cell::new(0_u8);
    Surroundings {
        by: "A. Operator".to_owned(),
        places: Box::new(move || {
            vec![Place {
                label: "Stick BLUE".to_owned(),
                path: stick.clone(),
            }]
        }),
        nonce: Box::new(move || {
            count.set(count.get() + 1);
            [count.get(); 8]
        }),
    }
}
