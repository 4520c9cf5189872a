//! Hostile records, one named test each: everything here has a good signature and the right form, and
//! is meant to make the office believe, forget or stop. Bytes, signatures and files that are not as
//! agreed are met in `sync-format/tests/hostile`, whose table names all cases of both.

mod quota;
mod site;

use winze_core::actions::{PackFor, pack_bundle, record_reading, void_reading};
use winze_core::query::{
    LogStanding, find_records, logs, not_yet_at_office, overview, questions, record,
};
use winze_core::record::{Acknowledgement, Body, Correction, Enrolment, LogOpened, Role, Shown};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;
use winze_sync_format::{LogHead, RecordId, SignedRecord};

use site::{MONDAY_MS, Office, Pen, code};

fn opened(pen: &mut Pen, role: Role) {
    let label = "x".to_owned();
    pen.write(&Body::LogOpened(LogOpened { role, label }));
}

fn enrolment(of: &Pen, role: Role) -> Body {
    let (log, name) = (of.log(), "a friend".to_owned());
    Body::Enrolment(Enrolment { log, name, role })
}

fn is_held(office: &Office, pen: &Pen) -> bool {
    let logs = logs(&office.book).expect("read");
    let log = logs
        .iter()
        .find(|log| log.log == pen.log())
        .expect("it is here");
    log.standing == LogStanding::Held && log.held == log.records
}

#[test]
fn a_log_that_grants_itself() {
    let mut office = Office::new();
    let mut thief = Pen::new(1);
    opened(&mut thief, Role::Office);
    thief.write(&enrolment(&thief_as_seen(), Role::Office));
    thief.read(office.revision, 20);
    let merged = office.merge(&thief.written);
    assert_eq!(merged.held_back.get(&thief.log()), Some(&3));
    assert!(is_held(&office, &thief) && office.counted().is_empty());
    office.reopened();
}

/// The same key in another hand.
fn thief_as_seen() -> Pen {
    Pen::new(1)
}

#[test]
fn an_unknown_office_that_grants_another() {
    let mut office = Office::new();
    let (mut unknown, mut friend) = (Pen::new(1), Pen::new(2));
    opened(&mut unknown, Role::Office);
    unknown.write(&enrolment(&friend, Role::Tablet));
    friend.write(&enrolment(&unknown, Role::Office));
    friend.read(office.revision, 20);
    let all = [&unknown.written[..], &friend.written].concat();
    office.merge(&all);
    assert!(is_held(&office, &unknown) && is_held(&office, &friend));
    assert!(office.counted().is_empty());
}

#[test]
fn a_tablet_that_grants() {
    let mut office = Office::new();
    let (mut tablet, mut friend) = (Pen::new(1), Pen::new(2));
    office.enrol(&tablet, Role::Tablet);
    opened(&mut tablet, Role::Tablet);
    tablet.write(&enrolment(&friend, Role::Tablet));
    // Nor does it become an office by saying so.
    tablet.write(&enrolment(&tablet_as_office(), Role::Office));
    friend.read(office.revision, 20);
    office.merge(&[&tablet.written[..], &friend.written].concat());
    assert!(is_held(&office, &friend) && office.counted().is_empty());
}

fn tablet_as_office() -> Pen {
    Pen::new(1)
}

/// Whoever stole a tablet has its key and may write any time into a record; what counts ends at a
/// place.
#[test]
fn a_revoked_key_that_dates_back() {
    let mut office = Office::new();
    let mut tablet = Pen::new(1);
    office.enrol(&tablet, Role::Tablet);
    let honest = tablet.read(office.revision, 20);
    office.merge(&tablet.written);
    office.revoke(&tablet, Some(0));
    tablet.wall_ms = MONDAY_MS - 86_400_000;
    tablet.read(office.revision, 26);
    office.merge(&tablet.written);
    assert_eq!(office.counted(), [honest]);

    // In a place that counts there is a record already: both are kept, and a person is asked.
    let mut copy = Pen::new(1);
    copy.wall_ms = MONDAY_MS - 86_400_000;
    let forged = copy.read(office.revision, 30);
    let merged = office.merge(&copy.written);
    assert_eq!(merged.new_records, 1);
    assert!(office.counted().contains(&honest));
    let asked = questions(&office.book, false).expect("read");
    assert!(
        asked
            .iter()
            .any(|asked| asked.question.about.contains(&forged)),
        "{asked:?}"
    );
    office.reopened();
}

#[test]
fn a_rollback_to_what_was_before_a_revocation() {
    let mut office = Office::new();
    let mut tablet = Pen::new(1);
    office.enrol(&tablet, Role::Tablet);
    tablet.read(office.revision, 20);
    let old = pack_bundle(
        &mut office.book,
        office.folder.path(),
        PackFor::Everything,
        "",
        &mut |_| true,
    )
    .expect("packed")
    .path;
    office.revoke(&tablet, None);
    office.merge(&tablet.written);
    let before = office.book.dump_projection().expect("dumped");
    let merged = office.merge_file(old);
    assert_eq!((merged.new_records, office.counted().len()), (0, 0));
    assert_eq!(office.book.dump_projection().expect("dumped"), before);
}

#[test]
fn a_replay_of_another_site() {
    let (mut here, mut there) = (Office::new(), Office::new());
    let mut tablet = Pen::new(1);
    there.enrol(&tablet, Role::Tablet);
    tablet.read(there.revision, 20);
    there.merge(&tablet.written);
    let path = pack_bundle(
        &mut there.book,
        there.folder.path(),
        PackFor::Everything,
        "",
        &mut |_| true,
    )
    .expect("packed")
    .path;
    let merged = here.merge_file(path);
    assert_eq!(merged.held_back.values().sum::<u64>(), merged.new_records);
    assert!(is_held(&here, &tablet) && here.counted().is_empty());
}

/// Places that no honest log reaches, up to the last number there is.
#[test]
fn a_sequence_number_at_the_end_of_all_numbers() {
    let mut office = Office::new();
    let mut tablet = Pen::new(1);
    office.enrol(&tablet, Role::Tablet);
    let first = tablet.read(office.revision, 20);
    for next_seq in [1 << 62, i64::MAX as u64 - 1, i64::MAX as u64, u64::MAX - 1] {
        tablet.head = LogHead {
            log: tablet.log(),
            next_seq,
            prev: Some(RecordId([7; 32])),
        };
        tablet.read(office.revision, 21);
    }
    let merged = office.merge(&tablet.written);
    assert_eq!(merged.new_records + merged.refused, 5);
    assert!(merged.refused >= 1, "above 2^63-1 nothing is stored");
    let logs = logs(&office.book).expect("read");
    let log = logs
        .iter()
        .find(|log| log.log == tablet.log())
        .expect("it is here");
    assert_eq!(
        log.whole_to,
        Some(0),
        "what is said to be held is what is held"
    );
    assert!(office.counted().contains(&first));
    // It goes on.
    let mut other = Pen::new(2);
    office.enrol(&other, Role::Tablet);
    let next = other.read(office.revision, 20);
    office.merge(&other.written);
    let office = office.reopened();
    assert!(office.counted().contains(&next));
}

/// A log that leaps ahead, so that its true records would look long since held.
#[test]
fn a_fast_forward() {
    let mut office = Office::new();
    let mut tablet = Pen::new(1);
    office.enrol(&tablet, Role::Tablet);
    tablet.read(office.revision, 20);
    let back = tablet.head;
    tablet.head = LogHead {
        next_seq: 1_000_000,
        ..tablet.head
    };
    tablet.read(office.revision, 21);
    office.merge(&tablet.written);
    tablet.head = back;
    let late = tablet.read(office.revision, 20);
    let merged = office.merge(&tablet.written[2..]);
    assert_eq!(merged.new_records, 1);
    assert!(office.counted().contains(&late));
    let view = logs(&office.book).expect("read");
    let log = view
        .iter()
        .find(|log| log.log == tablet.log())
        .expect("it is here");
    assert_eq!((log.whole_to, log.newest), (Some(1), Some(1_000_000)));
}

/// Records that name each other as coming before them cannot be made, but two that name what is not
/// there can, and a log may begin in the middle.
#[test]
fn previous_records_that_are_not_there() {
    let mut office = Office::new();
    let mut tablet = Pen::new(1);
    office.enrol(&tablet, Role::Tablet);
    for seq in [5, 5, 4, 6, 5] {
        tablet.head = LogHead {
            log: tablet.log(),
            next_seq: seq,
            prev: Some(RecordId([u8::try_from(seq).expect("small"); 32])),
        };
        tablet.read(office.revision, 20);
    }
    let merged = office.merge(&tablet.written);
    assert_eq!(merged.new_records, 5, "each says another time");
    for written in &tablet.written {
        assert!(
            !record(&office.book, written.reference())
                .expect("read")
                .is_linked
        );
    }
    office.reopened();
}

/// Kinds, bodies and clocks from the edge of what can be written.
#[test]
fn clocks_at_both_ends_of_time() {
    let mut office = Office::new();
    let mut tablet = Pen::new(1);
    office.enrol(&tablet, Role::Tablet);
    let honest = tablet.read(office.revision, 20);
    for wall_ms in [
        i64::MIN,
        i64::MIN + 1,
        -1,
        253_402_300_800_000,
        i64::MAX - 60_000,
        i64::MAX,
    ] {
        tablet.wall_ms = wall_ms;
        tablet.read(office.revision, 21);
    }
    let merged = office.merge(&tablet.written);
    assert_eq!(merged.new_records, 7);
    let view = overview(&office.book).expect("an overview");
    assert_eq!(view.readings, 7);
    assert!(office.counted().contains(&honest));
    let mut mine = Office::new();
    let reading = winze_core::actions::NewReading {
        station: code(),
        revision: None,
        round: None,
        entry: entry(20),
        ticks: winze_core::record::Ticks::NONE,
        note: String::new(),
        doubts: Vec::new(),
        by: "B. Other".into(),
        nonce: [1; 8],
    };
    mine.enrol(&tablet, Role::Tablet);
    mine.merge(&tablet.written);
    let saved = record_reading(&mut mine.book, reading).expect("its own clock is as it was");
    let own = record(&mine.book, saved.at).expect("read");
    assert_eq!(own.clock.map(|clock| clock.wall_ms), Some(MONDAY_MS));
    office.reopened();
}

fn entry(outlet_tenths: i64) -> Entry {
    let tenths = |mantissa| Typed::of(mantissa, -1, Unit::Bar);
    Entry::of(tenths(100), tenths(40), tenths(outlet_tenths))
}

/// Corrections and acknowledgements by somebody who does not count.
#[test]
fn words_of_a_stranger_about_our_records() {
    let mut office = Office::new();
    let (mut tablet, mut stranger) = (Pen::new(1), Pen::new(2));
    office.enrol(&tablet, Role::Tablet);
    let reading = tablet.read(office.revision, 20);
    office.merge(&tablet.written);
    let waiting = not_yet_at_office(&office.book).expect("read");
    let before = office.counted();
    stranger.write(&Body::Correction(Box::new(Correction {
        reading,
        station: code(),
        entry: entry(99),
        shown: Shown::default(),
        reason: "because".into(),
    })));
    let (log, seq, id) = (
        office.book.log_id(),
        office.revision.seq,
        office.revision.id,
    );
    stranger.write(&Body::Acknowledgement(Acknowledgement { log, seq, id }));
    office.merge(&stranger.written);
    assert_eq!(office.counted(), before);
    let view = record(&office.book, reading).expect("read");
    assert_eq!(view.state.and_then(|state| state.corrected_by), None);
    assert_eq!(not_yet_at_office(&office.book).expect("read"), waiting);
}

/// An acknowledgement by an office that counts, of more than there is, or of another record.
#[test]
fn acknowledgements_of_what_was_never_written() {
    let mut office = Office::new();
    let mut other = Pen::new(1);
    office.enrol(&other, Role::Office);
    let log = office.book.log_id();
    for (seq, id) in [(1_000_000, RecordId([1; 32])), (0, RecordId([2; 32]))] {
        other.write(&Body::Acknowledgement(Acknowledgement { log, seq, id }));
    }
    let waiting = not_yet_at_office(&office.book).expect("read");
    office.merge(&other.written);
    // It looks as if this logbook had been rolled back: it goes on in a new log, whose first record
    // waits with all the others. Nothing is called arrived.
    assert_ne!(office.book.log_id(), log);
    assert_eq!(not_yet_at_office(&office.book).expect("read"), waiting + 1);
}

/// Bodies that nobody understands are kept as they are and handed on so.
#[test]
fn kinds_and_bodies_that_nobody_understands() {
    let mut office = Office::new();
    let mut tablet = Pen::new(1);
    office.enrol(&tablet, Role::Tablet);
    for (kind, body) in [
        (59, vec![0xa0]),
        (40, vec![0xa0]),
        (u64::MAX, vec![0xa0]),
        (3, vec![0xa0]),
    ] {
        tablet.write_raw(kind, body, "");
    }
    let merged = office.merge(&tablet.written);
    assert_eq!((merged.new_records, merged.not_understood), (4, 4));
    // Also the one that calls itself a reading.
    assert_eq!(merged.new_readings, 0);
    assert!(office.counted().is_empty());
    let path = pack_bundle(
        &mut office.book,
        office.folder.path(),
        PackFor::Everything,
        "",
        &mut |_| true,
    )
    .expect("packed")
    .path;
    let bytes = std::fs::read(path).expect("read");
    let has = |record: &SignedRecord| {
        bytes
            .windows(record.item().len())
            .any(|part| part == record.item())
    };
    assert!(tablet.written.iter().all(has));
}

/// Names of people and notes may turn the direction of writing; they are kept as they came, and
/// nothing is found or ordered by how they look.
#[test]
fn bidirectional_names_of_people() {
    let mut office = Office::new();
    let mut tablet = Pen::new(1);
    office.enrol(&tablet, Role::Tablet);
    let person = "\u{202e}adA\u{2066}\u{0}\u{1b}[2J";
    tablet.read(office.revision, 20);
    let raw = tablet.written[0].body().to_vec();
    let at = tablet.write_raw(40, raw, person);
    office.merge(&tablet.written);
    assert_eq!(record(&office.book, at).expect("read").person, person);
    let found = find_records(&office.book, &at.id.to_string()[..8]).expect("read");
    assert_eq!(found, [at]);
    office.reopened();
}

/// An office may void a reading; a tablet may not make the office's log say so.
#[test]
fn a_void_in_the_offices_name_needs_the_offices_key() {
    let mut office = Office::new();
    let mut tablet = Pen::new(1);
    office.enrol(&tablet, Role::Tablet);
    let reading = tablet.read(office.revision, 20);
    office.merge(&tablet.written);
    // The true way, to have a body to forge from.
    let mut other = Office::new();
    other.enrol(&tablet, Role::Tablet);
    other.merge(&tablet.written);
    let by = "C. Clerk".to_owned();
    let voided = void_reading(&mut other.book, reading, "no".to_owned(), by).expect("voided");
    let view = record(&other.book, voided).expect("read");
    let body = view.body.expect("understood").encode().expect("encoded");
    let mut stranger = Pen::new(2);
    stranger.write_raw(view.kind, body, "C. Clerk");
    office.merge(&stranger.written);
    assert_eq!(office.counted(), [reading]);
    assert!(other.counted().is_empty());
}
