//! People who decide without knowing of each other: nobody's word is dropped, none wins by its clock,
//! and the next who knows both settles it everywhere.

use winze_sync_format::RecordRef;

use crate::actions::{NewAnswer, NewCorrection, PackFor, answer_question, correct_reading};
use crate::merge::{QuestionKind, QuestionState};
use crate::query;
use crate::record::{Choice, Role};
use crate::samples::{Kept, entry};

/// Two offices that know each other and both tablets, all with the same definitions.
fn two_offices() -> [Kept; 4] {
    let mut north = Kept::new(Role::Office, "North");
    let mut south = Kept::new(Role::Office, "South");
    let mut tablets = ["A", "B"].map(|name| Kept::new(Role::Tablet, name));
    north.define("T-01");
    north.enrol(&south, "South", Role::Office);
    south.enrol(&north, "North", Role::Office);
    for tablet in &mut tablets {
        north.enrol(tablet, "tablet", Role::Tablet);
        tablet.enrol(&north, "North", Role::Office);
    }
    let definitions = north.pack(PackFor::Everything);
    for other in std::iter::once(&mut south).chain(&mut tablets) {
        other.merge(std::slice::from_ref(&definitions));
    }
    let [a, b] = tablets;
    [north, south, a, b]
}

/// Brings everything each of them has to the other.
fn meet(one: &mut Kept, other: &mut Kept) {
    let bundles = [
        one.pack(PackFor::Everything),
        other.pack(PackFor::Everything),
    ];
    one.merge(&bundles);
    other.merge(&bundles);
}

fn answer(office: &mut Kept, choice: Choice) -> RecordRef {
    let all = query::questions(&office.book, true).unwrap();
    assert_eq!(all.len(), 1);
    let new = NewAnswer {
        question: all[0].question.id,
        choice,
        note: String::new(),
        by: "C".into(),
    };
    answer_question(&mut office.book, new).unwrap()
}

fn state(office: &Kept) -> QuestionState {
    let all = query::questions(&office.book, true).unwrap();
    assert_eq!(all.len(), 1);
    all[0].question.state.clone()
}

#[test]
fn two_clerks_who_answer_differently_leave_it_open_until_one_knows_both() {
    let [mut north, mut south, mut a, mut b] = two_offices();
    let first = a.read("T-01", (100, 40, 20));
    let second = b.read("T-01", (100, 40, 26));
    let bundles = [a.pack(PackFor::Office), b.pack(PackFor::Office)];
    north.merge(&bundles);
    south.merge(&bundles);
    answer(&mut north, Choice::Prefer(first));
    // By its clock the other answer is a day newer: that decides nothing.
    south.clock.advance_ms(86_400_000);
    answer(&mut south, Choice::Prefer(second));
    meet(&mut north, &mut south);
    for office in [&north, &south] {
        assert_eq!(state(office), QuestionState::AnsweredDifferently);
        let all = query::questions(&office.book, false).unwrap();
        assert_eq!((all.len(), all[0].answers.len()), (1, 2));
        for at in [first, second] {
            assert!(query::visit(&office.book, at).unwrap().counts());
        }
    }
    let by = answer(&mut south, Choice::Prefer(second));
    meet(&mut north, &mut south);
    for office in [&north, &south] {
        let choice = Choice::Prefer(second);
        assert_eq!(state(office), QuestionState::Answered { by, choice });
        assert!(!query::visit(&office.book, first).unwrap().counts());
        assert!(query::visit(&office.book, second).unwrap().counts());
    }
}

#[test]
fn an_answer_that_comes_before_what_it_answers_waits_for_it() {
    let [mut north, mut south, mut a, mut b] = two_offices();
    let first = a.read("T-01", (100, 40, 20));
    let second = b.read("T-01", (100, 40, 26));
    let bundles = [a.pack(PackFor::Office), b.pack(PackFor::Office)];
    north.merge(&bundles);
    answer(&mut north, Choice::VoidAll);
    // Only the office's own records: the readings come later.
    let own = north.book.log_id();
    let answers = north.pack(PackFor::Everything);
    let bytes = std::fs::read(&answers).unwrap();
    let bundle = winze_sync_format::bundle::read_bundle(&bytes[..]);
    let items = bundle.records.iter().filter(|record| record.log() == own);
    let stream: Vec<u8> = items.flat_map(|record| record.item().to_vec()).collect();
    let alone = north.folder.path().join("alone.winze");
    std::fs::write(&alone, stream).unwrap();
    south.merge(&[alone]);
    assert!(query::questions(&south.book, true).unwrap().is_empty());
    south.merge(&bundles);
    for at in [first, second] {
        assert!(!query::visit(&south.book, at).unwrap().counts());
    }
    assert!(query::questions(&south.book, false).unwrap().is_empty());
    assert_eq!(query::questions(&south.book, true).unwrap().len(), 1);
}

#[test]
fn two_corrections_that_do_not_know_of_each_other_are_disputed() {
    let [mut north, mut south, mut a, _b] = two_offices();
    let reading = a.read("T-01", (100, 40, 20));
    let bundle = a.pack(PackFor::Office);
    north.merge(std::slice::from_ref(&bundle));
    south.merge(&[bundle]);
    let correct = |office: &mut Kept, outlet| {
        let new = NewCorrection {
            reading,
            entry: entry(100, 40, outlet),
            reason: "misread".into(),
            by: "C".into(),
        };
        correct_reading(&mut office.book, new).unwrap()
    };
    let one = correct(&mut north, 21);
    let other = correct(&mut south, 24);
    meet(&mut north, &mut south);
    for office in [&north, &south] {
        let visit = query::visit(&office.book, reading).unwrap();
        // Until somebody decides, what was first written is used, with a mark.
        assert!(visit.state.correction_disputed && visit.counts());
        assert_eq!(visit.entry, entry(100, 40, 20));
        let all = query::questions(&office.book, false).unwrap();
        assert_eq!(all[0].question.kind, QuestionKind::Corrections);
        let mut about = vec![one, other];
        about.sort_unstable();
        assert_eq!(all[0].question.about, about);
    }
    answer(&mut north, Choice::Prefer(other));
    meet(&mut north, &mut south);
    for office in [&north, &south] {
        let visit = query::visit(&office.book, reading).unwrap();
        assert!(!visit.state.correction_disputed);
        assert_eq!(visit.entry, entry(100, 40, 24));
        assert_eq!(visit.first_entry, Some(entry(100, 40, 20)));
    }
    // A third that knows both replaces them; no question is left.
    correct(&mut south, 22);
    meet(&mut north, &mut south);
    for office in [&north, &south] {
        let visit = query::visit(&office.book, reading).unwrap();
        assert_eq!(visit.entry, entry(100, 40, 22));
        assert!(query::questions(&office.book, false).unwrap().is_empty());
    }
}
