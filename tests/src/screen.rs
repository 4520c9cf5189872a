//! A window without a display, worked as a finger works it: keys are found by their label, and
//! each tap says where it landed.

use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use i_slint_backend_testing::{
    AccessibleRole, ElementHandle, TestingBackend, TestingBackendOptions, mock_elapsed_time,
};
use slint::platform::PointerEventButton;
use slint::{ComponentHandle, LogicalPosition, LogicalSize};
use winze_app_ui::bindings::tablet::Tablet;
use winze_app_ui::tablet::session::{Session, Surroundings};
use winze_core::Logbook;
use winze_core::actions::load_register;
use winze_core::clock::FixedClock;
use winze_core::record::Role;
use winze_core::station::Station;

use crate::samples;

/// Long enough for every movement on the screen to come to its end.
pub const SETTLE: Duration = Duration::from_secs(1);

/// The taps that read an ordinary station by the keypad, from the opened station to the saved
/// reading: 10.2, 4.1 and 2.0 bar.
pub const ORDINARY_READING: [&str; 14] = [
    "1",
    "0",
    "decimal point",
    "2",
    "next: interstage",
    "4",
    "decimal point",
    "1",
    "next: outlet",
    "2",
    "decimal point",
    "0",
    "Look-round clear: read back",
    "Save and go on",
];

/// Makes this thread one whose windows need no display, with real fonts and real layout.
///
/// # Panics
/// When the thread already shows windows on a display.
pub fn without_display() {
    let options = TestingBackendOptions {
        mock_time: true,
        threading: false,
        renderer_name: Some("software".into()),
    };
    let set = slint::platform::set_platform(Box::new(TestingBackend::new(options)));
    assert!(set.is_ok(), "this thread has a platform already: {set:?}");
}

/// Makes a tablet's logbook with these stations.
///
/// # Panics
/// When it cannot be made: a mistake in the test itself.
#[must_use]
pub fn tablet_logbook(folder: &Path, stations: Vec<Station>) -> Logbook {
    let clock = Arc::new(FixedClock::at(samples::MONDAY_MS));
    let mut logbook = Logbook::create(folder, Role::Tablet, "tablet a", clock)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    load_register(&mut logbook, stations, "tester", &mut |_| true)
        .unwrap_or_else(|error| panic!("the register of a test: {error}"));
    logbook
}

/// The tablet's window at a size, on a logbook.
///
/// # Panics
/// When no window can be made.
#[must_use]
pub fn tablet(logbook: Logbook, width: f32, height: f32) -> Rc<Tablet> {
    // Each record has its own, also after the tablet was started again.
    static NONCES: AtomicU64 = AtomicU64::new(1);
    let around = Surroundings {
        by: "tester".to_owned(),
        places: Box::new(Vec::new),
        nonce: Box::new(|| NONCES.fetch_add(1, Ordering::Relaxed).to_be_bytes()),
    };
    let tablet = Tablet::new(Session::new(logbook, around))
        .unwrap_or_else(|error| panic!("no window: {error}"));
    tablet
        .window
        .show()
        .unwrap_or_else(|error| panic!("no window: {error}"));
    tablet
        .window
        .window()
        .set_size(LogicalSize::new(width, height));
    mock_elapsed_time(SETTLE);
    tablet
}

/// The keys that are on the screen, by label.
#[must_use]
pub fn keys(component: &impl ComponentHandle) -> Vec<String> {
    i_slint_backend_testing::ElementQuery::from_root(component)
        .match_accessible_role(AccessibleRole::Button)
        .find_all()
        .iter()
        .filter_map(|key| key.accessible_label().map(String::from))
        .collect()
}

/// Taps the key with this label in its middle and returns where that was.
///
/// # Panics
/// When there is not exactly one such key.
pub fn tap(component: &impl ComponentHandle, label: &str) -> LogicalPosition {
    let found: Vec<ElementHandle> = ElementHandle::find_by_accessible_label(component, label)
        .filter(|element| element.accessible_role() == Some(AccessibleRole::Button))
        .collect();
    let [key] = found.as_slice() else {
        panic!(
            "{} keys {label:?}; there are {:?}",
            found.len(),
            keys(component)
        );
    };
    let (corner, size) = (key.absolute_position(), key.size());
    let middle = LogicalPosition::new(corner.x + size.width / 2.0, corner.y + size.height / 2.0);
    key.mock_single_click(PointerEventButton::Left);
    mock_elapsed_time(SETTLE);
    middle
}
