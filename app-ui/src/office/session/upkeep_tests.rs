//! Tests of upkeep in the session, on real logbooks.

use tempfile::TempDir;

use super::*;
use crate::office::upkeep_scenario;
use crate::presenters::office_upkeep::{BoardDetail, UpkeepSide};
use crate::presenters::{office_due, office_jobs, office_papers, office_procedures};

fn session() -> (TempDir, Session) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut session = Session::new(upkeep_scenario::office(folder.path())).expect("opened");
    while let Some(launch) = session.take_launch() {
        let done = launch.job.run(&launch.stop, &mut |_| ());
        session.finish(done);
    }
    session.fit_upkeep(20);
    session.set_person("E. Maddern");
    session.go(Screen::Upkeep);
    (folder, session)
}

fn chosen(session: &Session) -> BoardDetail {
    session.upkeep_view().detail
}

fn tally(session: &Session, id: &str) -> usize {
    let tallies = session.upkeep_view().tallies;
    let found = tallies.into_iter().find(|tally| tally.id == id);
    found.map_or(0, |tally| tally.count)
}

fn choose_word(session: &mut Session, word: &str) {
    let lines = session.upkeep_view().lines;
    let line = lines
        .iter()
        .find(|line| line.word == word)
        .expect("such a line");
    session.choose_upkeep(&line.id.clone());
}

#[test]
fn overdue_task_is_noted_as_done_and_leaves_the_list() {
    let (_folder, mut session) = session();
    session.filter_upkeep("yearly-clean");
    assert_eq!(tally(&session, "overdue"), 1);
    session.choose_due("overdue");
    let view = session.upkeep_view();
    assert_eq!(view.lines.len(), 2, "a level and a task");
    assert_eq!(chosen(&session).word, "overdue");
    session.press_upkeep(office_due::NOTE_DONE);
    let form = session.upkeep_view().form.expect("open");
    assert!(form.title.starts_with("T-01"), "{form:?}");
    assert_eq!(session.form_fields()[0], "2026-11-19");
    session.save_form(["19.11.2026", "", ""]);
    assert!(
        session.notice().what.contains("is not a day"),
        "{:?}",
        session.notice()
    );
    assert!(session.is_filling_in(), "what was typed is kept");
    session.save_form(["2026-11-18", "by the fitter", ""]);
    assert_eq!(
        session.notice().tone,
        Tone::Within,
        "{:?}",
        session.notice()
    );
    assert_eq!(tally(&session, "overdue"), 0);
    assert_eq!(session.upkeep_view().nothing, "Nothing stands so.");
}

#[test]
fn job_is_raised_and_closed_with_a_reading_and_parts() {
    let (_folder, mut session) = session();
    session.show_upkeep(UpkeepSide::Jobs.id());
    session.press_upkeep(office_jobs::RAISE);
    assert!(!session.upkeep_view().form.expect("open").can_save);
    session.choose_in_form("clean-strainer");
    session.save_form(["T-03", "before the winter", ""]);
    assert_eq!(
        session.notice().tone,
        Tone::Within,
        "{:?}",
        session.notice()
    );
    assert_eq!(chosen(&session).heading, "T-03: clean the strainer");
    session.press_upkeep(office_jobs::CLOSE);
    let form = session.upkeep_view().form.expect("open");
    assert!(
        form.choices[0].label.contains("before the job was raised"),
        "{form:?}"
    );
    let reading = form.choices[0].id.clone();
    session.choose_in_form(&reading);
    session.save_form(["0 gaskets", "", ""]);
    assert!(session.notice().what.contains("0 gaskets"));
    session.save_form(["3 x gasket", "", ""]);
    assert_eq!(
        session.notice().tone,
        Tone::Within,
        "{:?}",
        session.notice()
    );
    session.filter_upkeep(office_jobs::CLOSED);
    let facts = chosen(&session).facts;
    assert!(
        facts.iter().any(|fact| fact.value == "3 x gasket"),
        "{facts:?}"
    );
}

#[test]
fn job_that_is_not_needed_asks_for_the_reason() {
    let (_folder, mut session) = session();
    session.show_upkeep(UpkeepSide::Jobs.id());
    session.press_upkeep(office_jobs::CLOSE);
    session.choose_in_form(office_jobs::NOT_NEEDED);
    session.save_form(["", "", ""]);
    assert_eq!(
        session.notice().tone,
        Tone::Outside,
        "{:?}",
        session.notice()
    );
    session.save_form(["", "it was the neighbour\u{2019}s hose", ""]);
    assert_eq!(
        session.notice().tone,
        Tone::Within,
        "{:?}",
        session.notice()
    );
}

#[test]
fn steps_are_looked_at_and_left_again() {
    let (_folder, mut session) = session();
    session.show_upkeep(UpkeepSide::Procedures.id());
    assert_eq!(chosen(&session).word, "disputed");
    assert!(session.key(Key::Enter), "the first act is to see the steps");
    choose_word(&mut session, "disputed");
    assert_eq!(chosen(&session).told.len(), 2);
    session.key(Key::Escape);
    assert_eq!(session.screen(), Screen::Upkeep);
    assert_eq!(
        chosen(&session).word,
        "disputed",
        "the same procedure is chosen"
    );
    session.filter_upkeep(office_procedures::ENDED);
    assert_eq!(chosen(&session).word, "given up");
    session.key(Key::Escape);
    assert_eq!(session.screen(), Screen::Week);
}

#[test]
fn files_are_written_beside_the_logbook_and_said_where() {
    let (folder, mut session) = session();
    session.press_upkeep(office_due::CALENDAR);
    session.press_upkeep(office_due::PRINT);
    session.show_upkeep(UpkeepSide::Papers.id());
    let before = chosen(&session);
    assert_eq!(before.keys[0].label, "Make the PDF");
    session.press_upkeep(office_papers::MAKE);
    assert!(
        session.notice().what.contains("The PDF is written"),
        "{:?}",
        session.notice()
    );
    assert_eq!(chosen(&session).keys[0].label, "Make it again");
    let papers = folder.path().join("office/papers");
    let mut names: Vec<String> = std::fs::read_dir(papers)
        .expect("there")
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "due-2026-11-19.pdf",
            "due.ics",
            "yearly-T-04-2026-11-17.pdf"
        ]
    );
}

#[test]
fn folder_that_cannot_be_opened_is_named() {
    let (_folder, mut session) = session();
    session.show_upkeep(UpkeepSide::Papers.id());
    session.take_opener(|_| Err(std::io::ErrorKind::NotFound.into()));
    session.press_upkeep(office_papers::FOLDER);
    assert_eq!(session.notice().tone, Tone::Outside);
    assert!(
        session.notice().advice.contains("papers"),
        "{:?}",
        session.notice()
    );
    session.take_opener(|_| Ok(()));
    session.press_upkeep(office_papers::FOLDER);
    assert_eq!(session.notice().tone, Tone::Within);
}

#[test]
fn act_waits_for_a_name_and_is_done_then() {
    let (_folder, mut session) = session();
    session.person.clear();
    session.press_upkeep(office_due::NOTE_DONE);
    session.save_form(["2026-11-18", "", ""]);
    assert_eq!(session.screen(), Screen::Person);
    session.set_person("E. Maddern");
    assert_eq!(session.screen(), Screen::Upkeep);
    assert_eq!(
        session.notice().tone,
        Tone::Within,
        "{:?}",
        session.notice()
    );
}

#[test]
fn station_is_opened_from_upkeep_and_leads_back() {
    let (_folder, mut session) = session();
    session.press_upkeep(office_due::STATION);
    assert_eq!(
        (session.screen(), session.back_label()),
        (Screen::Station, "Upkeep")
    );
    session.key(Key::Escape);
    assert_eq!(session.screen(), Screen::Upkeep);
}
