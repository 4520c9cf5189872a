//! Tests of the session on real logbooks.

use std::path::Path;

use tempfile::TempDir;

use super::*;
use crate::office::scenario;
use crate::office::work::Done;

/// The session of the scenario, with the tray read.
fn session() -> (TempDir, Session) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut session = Session::new(scenario::office(folder.path())).expect("opened");
    work(&mut session);
    (folder, session)
}

/// Runs what waits, here and now.
fn work(session: &mut Session) {
    while let Some(launch) = session.take_launch() {
        let done = launch.job.run(&launch.stop, &mut |_| ());
        session.finish(done);
    }
}

fn merged() -> (TempDir, Session) {
    let (folder, mut session) = session();
    session.merge_all();
    work(&mut session);
    (folder, session)
}

fn count(session: &Session, id: &str) -> usize {
    let tallies = session.week_view().tallies;
    tallies
        .iter()
        .find(|tally| tally.id == id)
        .map_or(0, |tally| tally.count)
}

fn place(session: &Session, id: &str) -> String {
    let places = session.places();
    places
        .into_iter()
        .find(|place| place.id == id)
        .map_or_else(String::new, |place| place.count)
}

#[test]
fn tray_says_of_each_bundle_how_it_was_found() {
    let (_folder, session) = session();
    let view = session.tray_view();
    assert_eq!(view.title, "3 bundles in the tray, 3 with something new");
    assert_eq!(view.merge_label, "Merge all 3 bundles");
    let mut words: Vec<&str> = view.bundles.iter().map(|line| line.word.as_str()).collect();
    words.sort_unstable();
    assert_eq!(words, ["damaged", "whole", "whole"]);
    let torn = view
        .bundles
        .iter()
        .find(|line| line.word == "damaged")
        .expect("one");
    assert!(torn.from.starts_with("Tablet South"), "{}", torn.from);
    assert!(torn.sentence.contains("Missing:"), "{}", torn.sentence);
    assert_eq!(place(&session, "tray"), "3");
}

#[test]
fn merging_is_one_act_and_says_exactly_what_was_lost() {
    let (_folder, session) = merged();
    let view = session.tray_view();
    assert_eq!(
        view.stage,
        crate::presenters::office_view::TrayStage::Merged
    );
    let value = |name: &str| {
        view.result
            .iter()
            .find(|figure| figure.name == name)
            .map(|figure| figure.value.clone())
    };
    assert_ne!(value("of them readings"), Some("0".to_owned()));
    assert_ne!(value("missing"), Some("0".to_owned()));
    let heads: Vec<&str> = view.losses.iter().map(|loss| loss.head.as_str()).collect();
    assert!(
        heads.iter().any(|head| head
            .starts_with("Bundle of Tablet South, damaged: 1 record of Tablet South (no. ")),
        "{heads:?}"
    );
    assert!(
        heads
            .iter()
            .any(|head| head.contains("of Tablet Spare held.")),
        "{heads:?}"
    );
    assert!(view.no_losses.is_empty());
}

#[test]
fn week_counts_what_needs_the_clerk() {
    let (_folder, session) = merged();
    for (id, expected) in [
        ("outside", 2),
        ("unsure", 1),
        ("finding", 1),
        ("skipped", 1),
        ("question", 1),
        ("held", 1),
    ] {
        assert_eq!(count(&session, id), expected, "{id}");
    }
    assert!(count(&session, "missed") >= 1);
    let lines = session.week_view().attention;
    let line = |place: usize| (lines[place].word.as_str(), lines[place].code.as_str());
    assert_eq!(
        [line(0), line(1)],
        [("outside", "T-07"), ("outside", "T-05")]
    );
    assert!(
        lines[1].sentence.ends_with("In question."),
        "{}",
        lines[1].sentence
    );
    assert!(
        lines[0].sentence.contains("Outlet 2.60 bar"),
        "{}",
        lines[0].sentence
    );
}

#[test]
fn tally_narrows_the_list_and_widens_it_again() {
    let (_folder, mut session) = merged();
    let all = session.week_view().attention.len();
    session.choose_category(Category::Unsure);
    let view = session.week_view();
    assert_eq!(view.attention.len(), 1);
    assert_eq!(view.attention[0].code, "T-03");
    session.choose_category(Category::Unsure);
    assert_eq!(session.week_view().attention.len(), all);
}

#[test]
fn acts_ask_for_a_name_once_and_then_happen() {
    let (_folder, mut session) = merged();
    session.go(Screen::Questions);
    session.choose_answer("0");
    session.record_answer("read twice");
    assert_eq!(
        session.screen(),
        Screen::Person,
        "nobody said who is at the keyboard"
    );
    assert_eq!(
        place(&session, "questions"),
        "1",
        "nothing was recorded yet"
    );
    session.set_person("  ");
    assert_eq!(session.screen(), Screen::Person);
    session.set_person("E. Maddern");
    assert_eq!(session.screen(), Screen::Questions);
    assert_eq!(place(&session, "questions"), "");
    let view = session.question_view();
    assert!(view.answered.contains("by E. Maddern"), "{}", view.answered);
    assert!(
        view.answered.ends_with("Note: read twice"),
        "{}",
        view.answered
    );
}

#[test]
fn question_can_be_answered_differently_later() {
    let (_folder, mut session) = merged();
    session.set_person("E. Maddern");
    session.go(Screen::Questions);
    assert!(!session.question_view().can_record, "nothing is chosen");
    session.choose_answer("0");
    session.record_answer("");
    assert!(
        !session.question_view().can_record,
        "the answer that stands is no change"
    );
    session.choose_answer("2");
    assert!(session.question_view().can_record);
    session.record_answer("");
    let answered = session.question_view().answered;
    assert!(answered.contains("Both stand"), "{answered}");
}

#[test]
fn leaving_the_question_of_the_name_records_nothing() {
    let (_folder, mut session) = merged();
    session.go(Screen::Questions);
    session.choose_answer("0");
    session.record_answer("");
    session.go_back();
    assert_eq!(session.screen(), Screen::Questions);
    session.set_person("E. Maddern");
    assert_eq!(place(&session, "questions"), "1");
}

#[test]
fn held_logbook_counts_once_it_is_enrolled() {
    let (_folder, mut session) = merged();
    session.set_person("E. Maddern");
    session.open_attention(
        &session
            .week_view()
            .attention
            .last()
            .expect("held is last")
            .id
            .clone(),
    );
    assert_eq!(session.screen(), Screen::Held);
    let view = session.held_view();
    assert_eq!(view.words.len(), 8);
    assert_eq!(session.held_name(), "Tablet Spare");
    session.type_held_name("");
    assert!(!session.held_view().can_enrol);
    session.enrol("  ");
    assert_eq!(place(&session, "held"), "1", "a logbook needs a name here");
    session.enrol("Spare");
    assert_eq!(place(&session, "held"), "");
    assert!(
        session.notice().what.contains("Spare is enrolled"),
        "{:?}",
        session.notice()
    );
}

#[test]
fn station_shows_its_readings_and_the_arithmetic_of_the_worst() {
    let (_folder, mut session) = merged();
    session.open_station("T-07");
    let page = session.station_page();
    assert_eq!(page.code, "T-07");
    assert_eq!(page.chosen_gauge, 2);
    assert_eq!(page.sum_title, "Outlet: why it is outside");
    assert_eq!(
        page.sum.last().map(|line| line.figure.as_str()),
        Some("outside")
    );
    assert!(page.readings[0].is_chosen);
    assert_eq!(page.readings.len(), 6);
    session.key(Key::Down);
    session.key(Key::Left);
    let page = session.station_page();
    assert!(page.readings[1].is_chosen);
    assert_eq!(page.chosen_gauge, 1);
}

#[test]
fn change_is_checked_and_makes_a_new_definition() {
    let (_folder, mut session) = merged();
    session.set_person("E. Maddern");
    session.open_station("T-07");
    assert!(!session.station_page().can_save, "nothing is changed");
    session.type_change("2.x", "0.2");
    let page = session.station_page();
    assert!(!page.can_save);
    assert_eq!(page.change_problem, "The set point is not a number.");
    session.type_change("9", "0.2");
    assert!(
        !session.station_page().can_save,
        "above the interstage pressure"
    );
    session.save_change("2.1", "0.2");
    assert!(
        session
            .notice()
            .what
            .starts_with("T-07 has a new definition"),
        "{:?}",
        session.notice()
    );
    assert!(session.station_page().revision.starts_with("Definition 2"));
}

#[test]
fn bundle_for_the_tablets_is_written_and_read_back() {
    let (folder, mut session) = merged();
    let stick = folder.path().join("other-stick");
    std::fs::create_dir(&stick).expect("made");
    session.set_person("E. Maddern");
    session.go(Screen::HandBack);
    session.pack(&stick.display().to_string());
    work(&mut session);
    let view = session.hand_back_view();
    assert_eq!(view.safe, "Safe to remove");
    assert!(Path::new(&stick).read_dir().expect("there").count() == 1);
    session.pack_again();
    session.pack(&folder.path().join("no/such/stick").display().to_string());
    work(&mut session);
    let view = session.hand_back_view();
    assert_eq!(view.stage, HandBackStage::Failed);
    assert_ne!(view.safe, "Safe to remove");
}

#[test]
fn while_the_logbook_is_away_acts_wait_and_views_stay() {
    let (_folder, mut session) = session();
    session.set_person("E. Maddern");
    session.merge_all();
    let launch = session.take_launch().expect("work to do");
    assert_eq!(session.week_view().title, "Week 47, 16 to 22 November 2026");
    session.open_station("T-07");
    assert_eq!(session.notice().what, "Work is under way.");
    session.stop();
    assert!(launch.stop.is_asked());
    let done = launch.job.run(&launch.stop, &mut |_| ());
    session.finish(done);
    session.open_station("T-07");
    assert_eq!(session.screen(), Screen::Station);
}

#[test]
fn work_that_broke_off_is_told() {
    let (_folder, mut session) = session();
    session.merge_all();
    let _ = session.take_launch();
    session.finish(Done::Lost);
    assert_eq!(session.notice().what, "The work broke off.");
    assert!(!session.is_working());
}

#[test]
fn tray_is_read_again_only_when_something_came_or_went() {
    let (folder, mut session) = session();
    let tray = folder.path().join("office/tray");
    assert_eq!(session.peek_at(), Some(tray.clone()));
    session.look_if_changed(&crate::office::tray::names_and_sizes(&tray));
    assert!(session.take_launch().is_none());
    std::fs::write(tray.join("new.winze"), b"x").expect("written");
    session.look_if_changed(&crate::office::tray::names_and_sizes(&tray));
    work(&mut session);
    let view = session.tray_view();
    assert_eq!(view.bundles.len(), 4);
    assert!(view.bundles.iter().any(|line| line.word == "no bundle"));
    assert_eq!(
        view.merge_label, "Merge all 3 bundles",
        "what is no bundle is left out"
    );
}

#[test]
fn folder_that_is_not_there_is_told_plainly() {
    let (folder, mut session) = session();
    session.look_into(&folder.path().join("gone").display().to_string());
    work(&mut session);
    let view = session.tray_view();
    assert!(view.bundles.is_empty() && !view.can_merge);
    assert!(!view.nothing.is_empty());
}

#[test]
fn keys_go_where_they_say() {
    let (_folder, mut session) = merged();
    assert!(session.key(Key::Control('1')));
    assert_eq!(session.screen(), Screen::Week);
    session.key(Key::Down);
    session.key(Key::Enter);
    assert_eq!(session.screen(), Screen::Station);
    session.key(Key::ControlRight);
    assert_eq!(session.station_page().code, "T-06");
    session.key(Key::Escape);
    assert_eq!(session.screen(), Screen::Week);
    session.key(Key::Right);
    session.key(Key::Home);
    session.key(Key::Enter);
    assert_eq!(session.station_page().code, "T-01");
    assert!(!session.key(Key::Control('q')));
    assert!(session.key(Key::Digit(3)));
    assert_eq!(session.panel(), Panel::Definition);
    assert!(!session.key(Key::Digit(4)));
}

#[test]
fn week_before_tells_what_was_then() {
    let (_folder, mut session) = merged();
    session.move_week(-1);
    let view = session.week_view();
    assert_eq!(view.title, "Week 46, 9 to 15 November 2026");
    assert!(view.can_later);
    assert_eq!(
        count(&session, "held"),
        0,
        "what is to decide now is not of that week"
    );
    assert_eq!(count(&session, "outside"), 0);
    session.move_week(1);
    session.move_week(1);
    assert_eq!(session.week_view().title, "Week 47, 16 to 22 November 2026");
}

#[test]
fn register_is_searched_by_code_name_and_level() {
    let (_folder, mut session) = session();
    session.go(Screen::Stations);
    session.fit_register(40);
    session.find("540");
    let view = session.stations_view();
    assert_eq!(view.list_title, "3 found");
    session.key(Key::Enter);
    assert_eq!(session.station_page().code, "T-10");
}
