//! What fingers and palms really do to a keypad: the cases of a table that was measured on the
//! toolkit, each with what must come of it.

use slint::LogicalPosition;
use winze_app_ui::tablet::entry::StationEntry;
use winze_core::station::Quantity;

use crate::glass::{Glass, LANDSCAPE};

fn at_the_station() -> Glass {
    let glass = Glass::with_stations(2, LANDSCAPE);
    glass.open_first();
    glass
}

/// A place on the pipe, where nothing can be pressed.
const NOWHERE: LogicalPosition = LogicalPosition { x: 200.0, y: 520.0 };

#[test]
fn tap_types_once_and_so_does_a_slip_inside_the_key() {
    let glass = at_the_station();
    glass.tap("7");
    assert_eq!(glass.typed(), "7");
    let at = glass.middle("8");
    let slipped = LogicalPosition::new(at.x + 30.0, at.y);
    glass.down(1, at);
    glass.slide(1, slipped);
    glass.up(1, slipped);
    assert_eq!(glass.typed(), "78");
}

#[test]
fn key_held_while_a_second_contact_comes_and_goes_types_once() {
    let glass = at_the_station();
    let key = glass.middle("8");
    for second in [NOWHERE, glass.middle("5")] {
        let before = glass.typed();
        glass.down(1, key);
        glass.down(2, second);
        glass.up(2, second);
        glass.up(1, key);
        assert_eq!(glass.typed(), format!("{before}8"));
        // Long enough not to be taken for a bounce of the panel.
        std::thread::sleep(std::time::Duration::from_millis(150));
    }
    glass.tap("9");
    assert_eq!(glass.typed(), "889", "the next true tap acts");
}

#[test]
fn key_held_while_a_palm_stays_types_once_and_the_palm_types_nothing() {
    let glass = at_the_station();
    let (key, palm) = (glass.middle("8"), glass.middle("5"));
    glass.down(1, key);
    glass.down(2, palm);
    glass.up(1, key);
    assert_eq!(glass.typed(), "8");
    glass.up(2, palm);
    assert_eq!(glass.typed(), "8");
    glass.tap("9");
    assert_eq!(glass.typed(), "89");
}

#[test]
fn palm_taken_back_by_the_driver_leaves_the_keys_working() {
    let glass = at_the_station();
    glass.down(1, NOWHERE);
    glass.cancel(1, NOWHERE);
    glass.tap("7");
    assert_eq!(glass.typed(), "7");
}

#[test]
fn quick_roll_from_key_to_key_types_both() {
    let glass = at_the_station();
    glass.tap("7");
    glass.tap("8");
    assert_eq!(glass.typed(), "78");
}

#[test]
fn saving_twice_by_a_second_contact_saves_once() {
    let glass = at_the_station();
    for digit in ["1", "0"] {
        glass.tap(digit);
    }
    glass.tap("Read back 1 of 3");
    let save = glass.middle("Save and go on");
    glass.down(1, save);
    glass.down(2, NOWHERE);
    glass.up(2, NOWHERE);
    glass.up(1, save);
    assert_eq!(glass.readings("T-01").len(), 1);
    assert!(glass.readings("T-02").is_empty());
}

#[test]
fn finger_that_slides_off_saving_saves_nothing() {
    let glass = at_the_station();
    for digit in ["1", "0"] {
        glass.tap(digit);
    }
    glass.tap("Read back 1 of 3");
    glass.down(1, glass.middle("Save and go on"));
    glass.slide(1, NOWHERE);
    glass.up(1, NOWHERE);
    assert!(glass.readings("T-01").is_empty());
    assert!(glass.has("Save and go on"));
}

#[test]
fn finger_on_a_dial_sets_the_needle_there_and_takes_it_along() {
    let glass = at_the_station();
    let dial = glass.key("outlet");
    let (at, size) = (dial.absolute_position(), dial.size());
    let diameter = size.width.min(size.height);
    let middle = LogicalPosition::new(at.x + size.width / 2.0, at.y + diameter / 2.0);
    let on_scale = |degrees: f32| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        LogicalPosition::new(
            middle.x + 0.42 * diameter * sin,
            middle.y - 0.42 * diameter * cos,
        )
    };
    // Twelve o'clock of a dial to 4 bar is 2 bar; a sixth of the sweep on, 2.67 bar.
    glass.down(1, on_scale(0.0));
    assert_eq!(glass.typed(), "2.00");
    glass.slide(1, on_scale(45.0));
    glass.up(1, on_scale(45.0));
    assert_eq!(glass.typed(), "2.66");
    let chosen = glass
        .tablet
        .act(|session| session.entry().map(StationEntry::chosen));
    assert_eq!(chosen, Some(Quantity::Outlet));
    // The hub chooses a gauge and sets nothing.
    glass.tap("inlet");
    assert_eq!(glass.typed(), "");
}
