//! What else happens at a station, through the window: doubts, look-round, note, skipping.

use winze_tests::samples::bar;

use crate::glass::{Glass, LANDSCAPE, PORTRAIT};

#[test]
fn value_far_over_the_dial_is_asked_about_before_it_is_read_back() {
    let glass = Glass::with_stations(1, LANDSCAPE);
    glass.open_first();
    glass.click_digits("150");
    glass.click("Read back 1 of 3");
    assert!(!glass.has("Save and go on"));
    glass.click("It does read 150 bar");
    glass.click("Save and go on");
    assert_eq!(glass.readings("T-01")[0].entry.inlet, Some(bar("150")));
}

#[test]
fn look_round_flow_and_note_go_into_the_record() {
    let glass = Glass::with_stations(1, PORTRAIT);
    glass.open_first();
    glass.click_digits("10.0");
    for key in [
        "leak",
        "noise",
        "leak",
        "flowing",
        "note",
        "tag missing",
        "Keep the note",
    ] {
        glass.click(key);
    }
    glass.click("Read back 1 of 3");
    glass.click("Save and go on");
    let reading = &glass.readings("T-01")[0];
    let noticed: Vec<_> = reading
        .ticks
        .iter()
        .map(winze_core::record::Tick::code)
        .collect();
    assert_eq!(noticed, ["noise"]);
    assert_eq!(reading.entry.flow.code(), "flowing");
    assert_eq!(reading.note, "tag missing");
}

#[test]
fn skipping_asks_for_the_reason() {
    let glass = Glass::with_stations(2, LANDSCAPE);
    glass.open_first();
    glass.click("Skip, with a reason");
    glass.click("No way in");
    let (skipped, next) = glass.tablet.act(|session| {
        let code = session.station_view().expect("the next one").code;
        session.go_to_round();
        (session.round_screen().count_detail, code)
    });
    assert_eq!(
        (skipped.as_str(), next.as_str()),
        ("1 skipped, 1 left", "T-02")
    );
}

#[test]
fn about_screen_with_the_toolkits_mark_is_one_tap_from_the_first() {
    let glass = Glass::with_stations(1, LANDSCAPE);
    glass.click("About");
    let mark = i_slint_backend_testing::ElementHandle::find_by_element_type_name(
        &glass.tablet.window,
        "AboutSlint",
    );
    assert_eq!(mark.count(), 1);
}
