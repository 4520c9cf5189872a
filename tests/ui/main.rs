//! The windows worked by their labels, without a display: clicked, touched and measured.

mod glass;
mod office;
mod office_upkeep;
mod tablet_closer;
mod tablet_layout;
mod tablet_station;
mod tablet_steps;
mod tablet_together;
mod tablet_touch;
mod tablet_work;

use winze_core::query;
use winze_tests::screen::ORDINARY_READING;
use winze_tests::{samples, screen};

/// Opening an ordinary station is one tap before these. 10.2, 4.1 and 2.0 bar on the keypad is the
/// longest way in; touching the dials is shorter.
const TAPS_ALLOWED: usize = 14;

fn read_ordinary_station(width: f32, height: f32) {
    screen::without_display();
    let folder = tempfile::tempdir().expect("a temporary folder");
    let folder = folder.path().join("tablet");
    let logbook = screen::tablet_logbook(
        &folder,
        vec![samples::station("T-07"), samples::station("T-08")],
    );
    let tablet = screen::tablet(logbook, width, height);
    screen::tap(&tablet.window, "Start the round");
    screen::tap(&tablet.window, "Open T-07");

    let taps = ORDINARY_READING;
    assert!(taps.len() <= TAPS_ALLOWED);
    for label in taps {
        screen::tap(&tablet.window, label);
    }
    tablet.act(|session| {
        let logbook = session.logbook().expect("open");
        let visits = query::past_readings(logbook, &samples::code("T-07"), 9).expect("readable");
        assert_eq!(visits.len(), 1, "one reading was saved");
        assert_eq!(visits[0].entry.inlet, Some(samples::bar("10.2")));
        assert_eq!(visits[0].entry.interstage, Some(samples::bar("4.1")));
        assert_eq!(visits[0].entry.outlet, Some(samples::bar("2.0")));
    });
}

#[test]
fn an_ordinary_station_takes_at_most_14_taps_on_a_tablet_held_across() {
    read_ordinary_station(1280.0, 800.0);
}

#[test]
fn an_ordinary_station_takes_at_most_14_taps_on_a_tablet_held_upright() {
    read_ordinary_station(800.0, 1280.0);
}
