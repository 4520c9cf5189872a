//! A station with a flag, through the window: what stands is said at once, the check is answered
//! with one large key and moves the suspects, history goes through time, and a reading is corrected.

use winze_core::query;
use winze_core::suspects::Check;
use winze_tests::samples::{bar, code};

use crate::glass::{Glass, LANDSCAPE, PORTRAIT};

fn read(glass: &Glass, values: [&str; 3]) {
    for (index, value) in values.into_iter().enumerate() {
        if index > 0 {
            let next = ["", "next: interstage", "next: outlet"][index];
            glass.click(next);
        }
        glass.click_digits(value);
    }
    glass.click("Look-round clear: read back");
    for _ in 0..4 {
        let stands = glass
            .names()
            .into_iter()
            .find(|name| name.starts_with("It does read") || name == "They are as typed");
        match stands {
            Some(name) => glass.click(&name),
            None => break,
        }
    }
    glass.click("Save and go on");
}

/// The suspects in order, as figures and words.
fn suspects(glass: &Glass) -> Vec<(String, String)> {
    glass.tablet.act(|session| {
        let view = session.finding_view().expect("something stands");
        let lines = view.suspects.into_iter();
        lines.map(|line| (line.what, line.figure)).collect()
    })
}

#[test]
fn check_is_answered_after_saving_recorded_and_moves_the_suspects() {
    for size in [LANDSCAPE, PORTRAIT] {
        let glass = Glass::with_creeping_outlet(size);
        glass.open_first();
        assert!(glass.has("Suspects and check"), "{:?}", glass.names());
        read(&glass, ["10.2", "4.1", "2.1"]);
        let check = glass.tablet.act(|session| {
            let view = session.finding_view().expect("the suspects stay on");
            assert!(!view.flag.heading.is_empty());
            assert!(view.check.is_some(), "{view:#?}");
            view.check.expect("a check is worth its minutes")
        });
        let before = suspects(&glass);
        glass.click(&check.no);
        let after = suspects(&glass);
        assert_ne!(before, after, "the answer to {} told nothing", check.code);
        let answered = glass.tablet.act(|session| {
            let logbook = session.logbook().expect("here");
            let judged = query::judgement(logbook, &code("T-01")).expect("judged");
            let answers = judged.standing.into_iter().flat_map(|one| one.answers);
            answers
                .map(|one| (one.check, one.is_yes))
                .collect::<Vec<_>>()
        });
        let check = Check::from_code(&check.code).expect("a code of the list");
        assert!(answered.contains(&(check, false)), "{answered:?}");
        glass.click("Go on to T-02");
        let next = glass.tablet.act(|session| session.station_view());
        assert_eq!(next.map(|view| view.code).as_deref(), Some("T-02"));
    }
}

#[test]
fn ordinary_station_gives_way_to_the_next_without_a_word_more() {
    let glass = Glass::with_stations(2, LANDSCAPE);
    glass.open_first();
    assert!(!glass.has("Suspects and check"));
    read(&glass, ["10.2", "4.1", "2.0"]);
    let view = glass.tablet.act(|session| session.station_view());
    assert_eq!(view.map(|view| view.code).as_deref(), Some("T-02"));
}

#[test]
fn history_goes_through_time_by_large_keys_and_leads_back_to_the_gauges() {
    let glass = Glass::with_creeping_outlet(PORTRAIT);
    glass.open_first();
    glass.click("Suspects and check");
    glass.click("History");
    let span = || {
        glass.tablet.act(|session| {
            let view = session.history_view().expect("strips");
            let drawn = view.strips.iter().all(|strip| !strip.strip.line.is_empty());
            assert!(drawn, "a strip is empty: {}", view.title);
            view.title
        })
    };
    glass.click("13 weeks");
    let now = span();
    glass.click("Earlier");
    let earlier = span();
    assert_ne!(now, earlier);
    glass.click("Later");
    assert_eq!(span(), now);
    glass.click("All");
    assert_ne!(span(), now);
    glass.click("Worked out");
    glass.click("outlet");
    let title = glass
        .tablet
        .act(|session| session.worked_out().map(|view| view.title));
    assert!(title.expect("arithmetic").contains("outlet"));
    glass.click("Back to the gauges");
    assert!(glass.has("decimal point"));
}

#[test]
fn reading_of_this_round_is_corrected_with_its_reason() {
    let glass = Glass::with_stations(2, LANDSCAPE);
    glass.open_first();
    read(&glass, ["10.2", "4.1", "2.0"]);
    glass.tablet.act(|session| session.open_tag("T-01"));
    let correct = glass
        .names()
        .into_iter()
        .find(|name| name.starts_with("Correct "));
    glass.click(&correct.expect("the reading can be corrected"));
    glass.click("outlet");
    glass.click_digits("1.9");
    glass.click("Look-round clear: read back");
    glass.click("Correct it: say why");
    glass.click("Misread the gauge");
    let visit = glass.readings("T-01").remove(0);
    assert_eq!(visit.entry.outlet, Some(bar("1.9")));
    assert_eq!(
        visit.first_entry.and_then(|first| first.outlet),
        Some(bar("2.0"))
    );
    assert_eq!(glass.readings("T-01").len(), 1, "it is no second reading");
    assert!(glass.has("No gauge read yet"), "the station is shown anew");
}
