//! A week of two tablets and an office, through the same actions that screens use.

use std::path::PathBuf;

use crate::Error;
use crate::actions::{
    NewAnswer, NewCorrection, NewRound, NewSkip, PackFor, answer_question, close_round,
    correct_reading, open_round, record_reading, revise_station, revoke_logbook, skip_station,
    void_reading,
};
use crate::merge::{QuestionKind, QuestionState, Standing};
use crate::query::{self, LogStanding, MissedWhy, StopState};
use crate::record::{Choice, Role, SkipReason};
use crate::samples::{Kept, code, entry, reading, station};
use crate::verdict::Verdict;

/// An office with two stations, and two tablets that know each other's office.
fn site() -> (Kept, Kept, Kept) {
    let mut office = Kept::new(Role::Office, "Office");
    let mut tablet_a = Kept::new(Role::Tablet, "Tablet A");
    let mut tablet_b = Kept::new(Role::Tablet, "Tablet B");
    office.define("T-01");
    office.define("T-02");
    office.enrol(&tablet_a, "Tablet A", Role::Tablet);
    office.enrol(&tablet_b, "Tablet B", Role::Tablet);
    tablet_a.enrol(&office, "Office", Role::Office);
    tablet_b.enrol(&office, "Office", Role::Office);
    let definitions = office.pack(PackFor::Tablets);
    for tablet in [&mut tablet_a, &mut tablet_b] {
        let report = tablet.merge(std::slice::from_ref(&definitions));
        assert!(report.is_whole());
        assert_eq!(query::stations(&tablet.book).unwrap().len(), 2);
    }
    (office, tablet_a, tablet_b)
}

fn round_on(kept: &mut Kept) -> winze_sync_format::RecordRef {
    let new = NewRound {
        title: "Monday".into(),
        stations: vec![],
        by: "A. Operator".into(),
    };
    open_round(&mut kept.book, new).unwrap()
}

#[test]
fn a_round_shows_what_is_done_skipped_and_left() {
    let (_, mut tablet, _) = site();
    let round = round_on(&mut tablet);
    let again = NewRound {
        title: String::new(),
        stations: vec![],
        by: String::new(),
    };
    assert!(matches!(
        open_round(&mut tablet.book, again),
        Err(Error::RoundOpen { .. })
    ));
    let mut new = reading("T-01", entry(100, 40, 20), 77);
    new.round = Some(round);
    record_reading(&mut tablet.book, new).unwrap();
    let view = query::open_round(&tablet.book).unwrap().unwrap();
    assert_eq!((view.done(), view.skipped(), view.left()), (1, 0, 1));
    assert_eq!(view.next().unwrap().code, code("T-02"));
    assert!(matches!(
        view.stops[0].state,
        StopState::Done {
            worst: Some(Verdict::Within),
            ..
        }
    ));

    let mut skip = NewSkip {
        round,
        station: code("T-02"),
        reason: SkipReason::Other,
        note: " ".into(),
        by: "A. Operator".into(),
    };
    let refused = skip_station(&mut tablet.book, skip.clone());
    assert!(matches!(refused, Err(Error::NoteMissing)));
    skip.reason = SkipReason::NoAccess;
    skip_station(&mut tablet.book, skip.clone()).unwrap();
    skip.station = code("T-09");
    assert!(matches!(
        skip_station(&mut tablet.book, skip),
        Err(Error::NotOnRound { .. })
    ));
    let view = query::open_round(&tablet.book).unwrap().unwrap();
    assert_eq!((view.done(), view.skipped(), view.left()), (1, 1, 0));

    close_round(&mut tablet.book, round, String::new(), "A. Operator".into()).unwrap();
    assert_eq!(query::open_round(&tablet.book).unwrap(), None);
    let closed = close_round(&mut tablet.book, round, String::new(), String::new());
    assert!(matches!(closed, Err(Error::RoundClosed { .. })));
    assert!(
        query::round(&tablet.book, round)
            .unwrap()
            .closed_ms
            .is_some()
    );
}

#[test]
fn confirming_one_entry_twice_makes_one_reading() {
    let (_, mut tablet, _) = site();
    let new = reading("T-01", entry(100, 40, 20), 5);
    let first = record_reading(&mut tablet.book, new.clone()).unwrap();
    let second = record_reading(&mut tablet.book, new).unwrap();
    assert_eq!(first.at, second.at);
    assert!(second.was_saved_before && !first.was_saved_before);
    assert_eq!(
        query::past_readings(&tablet.book, &code("T-01"), 9)
            .unwrap()
            .len(),
        1
    );
}

#[test]
fn the_office_sees_new_outside_missed_and_the_tablet_what_has_arrived() {
    let (mut office, mut tablet, _) = site();
    let round = round_on(&mut tablet);
    let mut new = reading("T-01", entry(100, 40, 30), 1);
    new.round = Some(round);
    record_reading(&mut tablet.book, new).unwrap();
    close_round(&mut tablet.book, round, String::new(), "A. Operator".into()).unwrap();
    let waiting = query::not_yet_at_office(&tablet.book).unwrap();
    assert_eq!(waiting, 5);

    let bundle = tablet.pack(PackFor::Office);
    let report = office.merge(std::slice::from_ref(&bundle));
    assert!(report.is_whole());
    assert_eq!((report.new_records(), report.new_readings()), (5, 1));
    let overview = query::overview(&office.book).unwrap();
    assert_eq!(
        (overview.stations, overview.readings, overview.new.len()),
        (2, 1, 1)
    );
    assert_eq!(overview.outside[0].visit.station, code("T-01"));
    assert_eq!(overview.missed.len(), 1);
    assert_eq!(overview.missed[0].code, code("T-02"));
    assert_eq!(overview.missed[0].why, MissedWhy::LeftOut { round });
    assert!(overview.held.is_empty());
    // The same stick again brings nothing and hides nothing.
    let again = office.merge(&[bundle]);
    assert_eq!((again.new_records(), again.bundles[0].already_held), (0, 5));
    let overview = query::overview(&office.book).unwrap();
    assert_eq!(overview.new.len(), 1);
    office.book.rebuild().unwrap();
    assert_eq!(query::overview(&office.book).unwrap(), overview);

    let back = office.pack(PackFor::Tablets);
    tablet.merge(&[back]);
    assert_eq!(query::not_yet_at_office(&tablet.book).unwrap(), 0);
    let nothing = crate::actions::pack_bundle(
        &mut tablet.book,
        office.folder.path(),
        PackFor::Office,
        "",
        &mut crate::samples::carry_on,
    );
    assert!(matches!(nothing, Err(Error::NothingToPack)), "{nothing:?}");
    tablet.read("T-02", (100, 40, 20));
    assert_eq!(query::not_yet_at_office(&tablet.book).unwrap(), 1);
    let report = office.merge(&[tablet.pack(PackFor::Office)]);
    assert_eq!((report.new_records(), report.is_whole()), (1, true));
}

#[test]
fn a_tablet_is_sent_what_others_read_but_not_their_rounds_and_not_ten_years() {
    let (mut office, mut tablet_a, mut tablet_b) = site();
    let round = round_on(&mut tablet_a);
    for visit in 0..80 {
        let mut new = reading(
            "T-01",
            entry(100 + visit % 3, 40, 20),
            u64::try_from(visit).unwrap(),
        );
        new.round = Some(round);
        record_reading(&mut tablet_a.book, new).unwrap();
        tablet_a.clock.advance_ms(7 * 86_400_000);
    }
    tablet_a.read("T-02", (100, 40, 20));
    office.merge(&[tablet_a.pack(PackFor::Office)]);
    tablet_b.merge(&[office.pack(PackFor::Tablets)]);
    let known = |kept: &Kept, station| {
        query::past_readings(&kept.book, &code(station), 200)
            .unwrap()
            .len()
    };
    assert_eq!(known(&office, "T-01"), 80);
    assert_eq!(known(&tablet_b, "T-01"), 78);
    assert_eq!(known(&tablet_b, "T-02"), 1);
    assert_eq!(query::rounds(&tablet_b.book, 9).unwrap(), vec![]);
}

#[test]
fn records_of_an_unknown_tablet_are_held_and_count_once_it_is_enrolled() {
    let (mut office, _, _) = site();
    let mut stray = Kept::new(Role::Tablet, "Stray");
    stray.enrol(&office, "Office", Role::Office);
    stray.merge(&[office.pack(PackFor::Tablets)]);
    stray.read("T-01", (100, 40, 20));
    let report = office.merge(&[stray.pack(PackFor::Office)]);
    assert_eq!(report.bundles[0].held_back[&stray.book.log_id()], 3);
    let overview = query::overview(&office.book).unwrap();
    assert_eq!(
        (overview.readings, overview.new.len(), overview.held.len()),
        (0, 0, 1)
    );
    assert_eq!(overview.held[0].name, "Stray");
    assert_eq!(overview.held[0].words, stray.book.log_id().words());
    assert_eq!(overview.held[0].standing, LogStanding::Held);
    let visits = query::past_readings(&office.book, &code("T-01"), 9).unwrap();
    assert!(visits.len() == 1 && visits[0].is_held && !visits[0].counts());

    office.enrol(&stray, "Third tablet", Role::Tablet);
    let overview = query::overview(&office.book).unwrap();
    assert_eq!(
        (overview.readings, overview.new.len(), overview.held.len()),
        (1, 1, 0)
    );
    // Revoked from before the reading: it is held again.
    let log = stray.book.log_id();
    revoke_logbook(&mut office.book, log, Some(1), "lost".into(), "C".into()).unwrap();
    assert_eq!(query::overview(&office.book).unwrap().readings, 0);
    let logs = query::logs(&office.book).unwrap();
    let view = logs.iter().find(|view| view.log == log).unwrap();
    assert_eq!(view.standing, LogStanding::Revoked { last_seq: Some(1) });
}

#[test]
fn two_tablets_that_differ_raise_one_question_that_an_answer_settles_everywhere() {
    let (mut office, mut tablet_a, mut tablet_b) = site();
    let a = tablet_a.read("T-01", (100, 40, 20));
    let b = tablet_b.read("T-01", (100, 40, 26));
    let bundles = [
        tablet_a.pack(PackFor::Office),
        tablet_b.pack(PackFor::Office),
    ];
    office.merge(&bundles);
    let questions = query::questions(&office.book, false).unwrap();
    assert_eq!(questions.len(), 1);
    let question = questions[0].question.clone();
    assert_eq!(
        (question.kind, question.about.len()),
        (QuestionKind::Readings, 2)
    );
    for at in [a, b] {
        assert_eq!(
            query::visit(&office.book, at).unwrap().state.standing,
            Standing::Open
        );
    }

    let mut answer = NewAnswer {
        question: question.id,
        choice: Choice::AsFirstWritten,
        note: String::new(),
        by: "C. Clerk".into(),
    };
    let refused = answer_question(&mut office.book, answer.clone());
    assert!(matches!(refused, Err(Error::ChoiceDoesNotFit { .. })));
    answer.choice = Choice::Prefer(a);
    let first = answer_question(&mut office.book, answer.clone()).unwrap();
    assert!(query::questions(&office.book, false).unwrap().is_empty());
    assert!(query::visit(&office.book, a).unwrap().counts());
    let set_aside = query::visit(&office.book, b).unwrap();
    assert_eq!(set_aside.state.standing, Standing::SetAside(first));
    assert_eq!(query::overview(&office.book).unwrap().readings, 1);

    // Thinking again: the later answer replaces the earlier.
    answer.choice = Choice::KeepAll;
    answer_question(&mut office.book, answer).unwrap();
    assert!(query::visit(&office.book, b).unwrap().counts());
    let all = query::questions(&office.book, true).unwrap();
    assert_eq!(all[0].answers.len(), 2);
    assert!(matches!(
        all[0].question.state,
        QuestionState::Answered {
            choice: Choice::KeepAll,
            ..
        }
    ));

    tablet_b.merge(&[office.pack(PackFor::Everything)]);
    assert_eq!(query::questions(&tablet_b.book, true).unwrap(), all);
}

#[test]
fn two_tablets_that_agree_count_once() {
    let (mut office, mut tablet_a, mut tablet_b) = site();
    let a = tablet_a.read("T-01", (100, 40, 20));
    tablet_b.clock.advance_ms(3_600_000);
    let b = tablet_b.read("T-01", (101, 40, 20));
    let bundles = [
        tablet_b.pack(PackFor::Office),
        tablet_a.pack(PackFor::Office),
    ];
    office.clock.advance_ms(2 * 3_600_000);
    office.merge(&bundles);
    assert!(query::questions(&office.book, true).unwrap().is_empty());
    assert_eq!(
        query::visit(&office.book, b).unwrap().state.standing,
        Standing::Repeats(a)
    );
    assert_eq!(query::overview(&office.book).unwrap().readings, 1);
    assert_eq!(
        query::past_for_checks(&office.book, &code("T-01"), 9)
            .unwrap()
            .len(),
        1
    );
}

#[test]
fn a_correction_shows_both_values_and_a_void_reading_stays_on_the_list() {
    let (_, mut tablet, _) = site();
    let at = tablet.read("T-01", (100, 40, 200));
    let mut new = NewCorrection {
        reading: at,
        entry: entry(100, 40, 20),
        reason: "point forgotten".into(),
        by: "A. Operator".into(),
    };
    correct_reading(&mut tablet.book, new.clone()).unwrap();
    let visit = query::visit(&tablet.book, at).unwrap();
    assert_eq!(
        (visit.entry, visit.first_entry),
        (entry(100, 40, 20), Some(entry(100, 40, 200)))
    );
    assert_eq!(visit.shown.worst(), Some(Verdict::Within));
    new.entry = entry(100, 41, 20);
    let second = correct_reading(&mut tablet.book, new).unwrap();
    let visit = query::visit(&tablet.book, at).unwrap();
    assert_eq!(visit.state.corrected_by, Some(second));
    assert!(!visit.state.correction_disputed);

    let missing = void_reading(&mut tablet.book, at, String::new(), String::new());
    assert!(matches!(missing, Err(Error::NoteMissing)));
    void_reading(&mut tablet.book, at, "wrong station".into(), "A".into()).unwrap();
    let visits = query::past_readings(&tablet.book, &code("T-01"), 9).unwrap();
    assert!(matches!(visits[0].state.standing, Standing::Void(_)));
    assert!(
        query::past_for_checks(&tablet.book, &code("T-01"), 9)
            .unwrap()
            .is_empty()
    );
}

#[test]
fn definitions_revised_apart_are_a_question_until_one_replaces_both() {
    let (mut office, mut tablet, _) = site();
    let mut one = station("T-01");
    one.name = "North drive".into();
    let mut two = station("T-01");
    two.name = "South drive".into();
    revise_station(&mut office.book, one.clone(), "C".into()).unwrap();
    tablet.clock.advance_ms(5000);
    revise_station(&mut tablet.book, two, "A".into()).unwrap();
    office.merge(&[tablet.pack(PackFor::Office)]);
    let detail = query::station(&office.book, &code("T-01"))
        .unwrap()
        .unwrap();
    assert!(detail.is_disputed);
    let questions = query::questions(&office.book, false).unwrap();
    assert_eq!(questions[0].question.kind, QuestionKind::Revisions);
    assert_eq!(
        query::overview(&office.book).unwrap().disputed_stations,
        [code("T-01")]
    );
    revise_station(&mut office.book, one, "C".into()).unwrap();
    let detail = query::station(&office.book, &code("T-01"))
        .unwrap()
        .unwrap();
    assert_eq!(
        (detail.is_disputed, detail.definition.name.as_str()),
        (false, "North drive")
    );
    assert!(query::questions(&office.book, false).unwrap().is_empty());
}

#[test]
fn a_definition_told_again_adds_nothing_and_an_unsound_one_is_refused() {
    let (mut office, _, _) = site();
    let before = office.dump();
    office.define("T-01");
    assert_eq!(office.dump(), before);
    let mut bad = station("T-01");
    bad.first_stage.ratio.mantissa = 0;
    let refused = revise_station(&mut office.book, bad, "C".into());
    assert!(
        matches!(refused, Err(Error::UnsoundDefinition { .. })),
        "{refused:?}"
    );
    assert_eq!(office.dump(), before);
}

#[test]
fn a_bundle_cut_or_damaged_anywhere_yields_its_whole_records_and_names_the_rest() {
    let (_, mut tablet, _) = site();
    for n in 0..6 {
        tablet.read("T-01", (100 + n, 40, 20));
    }
    let bundle = tablet.pack(PackFor::Office);
    let bytes = std::fs::read(&bundle).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let records = 8;
    for part in [bytes.len() / 3, bytes.len() / 2, bytes.len() - 1] {
        let cut: PathBuf = folder.path().join(format!("{part}.winze"));
        std::fs::write(&cut, &bytes[..part]).unwrap();
        let mut office = Kept::new(Role::Office, "Office");
        let report = office.merge(&[cut]);
        assert!(!report.is_whole());
        let merged = &report.bundles[0];
        let missing = merged.report.as_ref().unwrap().missing_count();
        assert_eq!(merged.new_records + missing, records);
    }
    let mut flipped = bytes.clone();
    flipped[bytes.len() / 2] ^= 0x10;
    let path = folder.path().join("flipped.winze");
    std::fs::write(&path, flipped).unwrap();
    let mut office = Kept::new(Role::Office, "Office");
    let report = office.merge(&[
        path,
        folder.path().join("absent.winze"),
        folder.path().into(),
    ]);
    assert_eq!(report.bundles[0].new_records, records - 1);
    assert_eq!(
        report.bundles[0].report.as_ref().unwrap().missing_count(),
        1
    );
    assert_eq!(
        report.bundles[1].unreadable,
        Some(std::io::ErrorKind::NotFound)
    );
    assert!(report.bundles[2].unreadable.is_some());
}

#[test]
fn a_merge_can_be_stopped_and_taken_up_again() {
    let (mut office, mut tablet, _) = site();
    tablet.read("T-01", (100, 40, 20));
    let bundles = [tablet.pack(PackFor::Office)];
    let mut stop = |_| false;
    let report = crate::actions::merge_bundles(&mut office.book, &bundles, &mut stop).unwrap();
    assert!(report.was_cancelled);
    office.merge(&bundles);
    assert_eq!(query::overview(&office.book).unwrap().readings, 1);
}

#[test]
fn any_record_can_be_looked_at_by_name() {
    let (_, mut tablet, _) = site();
    let at = tablet.read("T-01", (100, 40, 20));
    let view = query::record(&tablet.book, at).unwrap();
    assert_eq!((view.kind, view.person.as_str()), (40, "A. Operator"));
    assert!(view.is_linked && !view.is_held && view.body.is_some());
    let prefix = at.id.to_string()[..10].to_owned();
    assert_eq!(query::find_records(&tablet.book, &prefix).unwrap(), [at]);
    assert!(query::find_records(&tablet.book, "%").unwrap().is_empty());
    let mut absent = at;
    absent.seq = 999;
    assert!(matches!(
        query::record(&tablet.book, absent),
        Err(Error::UnknownRecord { .. })
    ));
    is_send(&tablet.book);
}

fn is_send<T: Send>(_: &T) {}
