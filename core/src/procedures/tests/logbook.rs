//! Procedures through logbooks: written, read, resumed elsewhere, ended with what follows.

use super::desk::{bar, point, proper, why};
use crate::actions::*;
use crate::procedures::*;
use crate::query::{self, ProcedureView};
use crate::record::{Body, ProcedureEnd, Role, StepOutcome, StepRecorded};
use crate::samples::{Kept, code};
use crate::watch::Restart;
use crate::{Error, Result};
use winze_sync_format::{Decimal, RecordRef};

fn tablet() -> Kept {
    let mut tablet = Kept::new(Role::Tablet, "Tablet A");
    tablet.define("T-07");
    tablet
}

fn opening(procedure: ProcedureCode) -> NewProcedure {
    NewProcedure {
        procedure,
        station: code("T-07"),
        reason: Some(OpenReason::Due),
        note: String::new(),
        by: "A. Operator".to_owned(),
    }
}

fn open(kept: &mut Kept, procedure: ProcedureCode) -> RecordRef {
    open_procedure(&mut kept.book, opening(procedure)).unwrap()
}

fn view(kept: &Kept, at: RecordRef) -> ProcedureView {
    query::procedure(&kept.book, at).unwrap()
}

fn new_step(at: RecordRef, body: StepRecorded, nonce: u64) -> NewStep {
    NewStep {
        outcome: body.outcome,
        measured: body.measured,
        ticks: body.ticks,
        branch: body.branch,
        points: body.points,
        out_of_order: body.out_of_order,
        despite: body.despite,
        ..NewStep::done(at, body.step, "A. Operator", nonce.to_be_bytes())
    }
}

fn record(kept: &mut Kept, at: RecordRef, body: StepRecorded) -> Result<StepSaved> {
    let now = kept.clock.advance_and_read();
    record_step(&mut kept.book, new_step(at, body, now))
}

impl crate::clock::FixedClock {
    fn advance_and_read(&self) -> u64 {
        use crate::clock::Clock;
        self.advance_ms(20_000);
        self.now().monotonic_ms
    }
}

fn act(kept: &mut Kept, at: RecordRef, step: StepCode) -> Result<StepSaved> {
    let data = view(kept, at).data().unwrap();
    let mut body = proper(data, step);
    body.branch = body.branch.map(|_| Branch::Recalibrate);
    record(kept, at, body)
}

fn run(kept: &mut Kept, at: RecordRef) {
    run_until(kept, at, None);
}

fn run_until(kept: &mut Kept, at: RecordRef, stop: Option<StepCode>) {
    while let Some(next) = view(kept, at).state.unwrap().next {
        if Some(next) == stop {
            return;
        }
        act(kept, at, next).unwrap();
    }
}

fn ending(at: RecordRef, end: ProcedureEnd) -> NewEnd {
    NewEnd {
        procedure: at,
        end,
        done_by: "A. Operator".to_owned(),
        seen_by: "E. Engineer".to_owned(),
        note: "dry".to_owned(),
        by: "A. Operator".to_owned(),
    }
}

fn refused(result: Result<StepSaved>) -> ProcedureError {
    match result {
        Err(Error::Procedure(error)) => error,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_set_up_is_written_read_again_and_revises_the_station_in_one_act() {
    let mut tablet = tablet();
    let at = open(&mut tablet, ProcedureCode::SetUp);
    run(&mut tablet, at);
    let records = tablet.dump();
    let ended = close_procedure(&mut tablet.book, ending(at, ProcedureEnd::Completed)).unwrap();
    assert_ne!(tablet.dump(), records);
    assert!(ended.state.is_in_service());
    assert_eq!(ended.restarts[0].restart, Restart::Station);
    let Revised::By(revision) = ended.revised else {
        panic!("{:?}", ended.revised);
    };
    assert_eq!(revision.seq, ended.at.seq + 1);
    let station = query::station(&tablet.book, &code("T-07"))
        .unwrap()
        .unwrap();
    assert_eq!(station.revision, revision);
    let ratio = station.definition.first_stage.as_left_ratio;
    assert_eq!(ratio, Some(Decimal::new(250, -2)));
    let tablet = tablet.reopen_after(|dir| {
        std::fs::remove_file(dir.join("projection.sqlite")).unwrap();
    });
    let view = view(&tablet, at);
    assert_eq!(view.state.as_ref(), Some(&ended.state));
    assert!(!view.is_open());
    assert_eq!(
        (view.reason, view.by.as_str()),
        (Some(OpenReason::Due), "A. Operator")
    );
    assert_eq!(query::open_procedures(&tablet.book).unwrap(), []);
    assert_eq!(
        query::procedures_at(&tablet.book, &code("T-07")).unwrap(),
        [view]
    );
}

#[test]
fn as_found_and_as_left_are_readings_of_the_station_too() {
    let mut tablet = tablet();
    let at = open(&mut tablet, ProcedureCode::Recalibrate);
    run(&mut tablet, at);
    let visits = query::past_readings(&tablet.book, &code("T-07"), 9).unwrap();
    assert_eq!(visits.len(), 2);
    let state = view(&tablet, at).state.unwrap();
    let left = state.step(StepCode::AsLeft).unwrap().in_force().unwrap();
    assert_eq!(left.body.reading, Some(visits[0].at));
    assert_eq!(state.entry(StepCode::AsLeft), Some(visits[0].entry));
    let ended = close_procedure(&mut tablet.book, ending(at, ProcedureEnd::Completed)).unwrap();
    // The new time begins between them.
    let from_ms = ended.restarts[0].from_ms;
    assert!(visits[1].taken_ms < from_ms && from_ms <= visits[0].taken_ms);
    assert_eq!(ended.revised, Revised::Unchanged);
}

#[test]
fn what_was_noticed_on_a_look_round_goes_into_its_reading() {
    let mut tablet = tablet();
    let at = open(&mut tablet, ProcedureCode::WeeklyLookRound);
    let data = view(&tablet, at).data().unwrap();
    let mut look = proper(data, StepCode::Look);
    look.ticks = vec![TickCode::Leak, TickCode::Noise];
    record(&mut tablet, at, look).unwrap();
    act(&mut tablet, at, StepCode::Readings).unwrap();
    let visits = query::past_readings(&tablet.book, &code("T-07"), 9).unwrap();
    let ticks: Vec<&str> = visits[0]
        .ticks
        .iter()
        .map(crate::record::Tick::code)
        .collect();
    assert_eq!(ticks, ["leak", "noise"]);
}

#[test]
fn confirming_one_step_twice_makes_one_record_and_one_reading() {
    let mut tablet = tablet();
    let at = open(&mut tablet, ProcedureCode::Recalibrate);
    act(&mut tablet, at, StepCode::Prepare).unwrap();
    let data = view(&tablet, at).data().unwrap();
    let new = new_step(at, proper(data, StepCode::AsFound), 77);
    let first = record_step(&mut tablet.book, new.clone()).unwrap();
    let before = tablet.dump();
    let again = record_step(&mut tablet.book, new.clone()).unwrap();
    assert!(again.was_saved_before && !first.was_saved_before);
    assert_eq!((again.at, again.reading), (first.at, first.reading));
    assert_eq!(tablet.dump(), before);
    // Power lost between the reading and its step: the reading is there once, whatever is repeated.
    let mut half = tablet_with_half_a_step(new);
    let visits = query::past_readings(&half.book, &code("T-07"), 9).unwrap();
    assert_eq!(visits.len(), 1);
    half.read("T-07", (100, 40, 20));
}

/// A tablet that had written the reading of a step and not the step, and does it again.
fn tablet_with_half_a_step(like: NewStep) -> Kept {
    let mut tablet = tablet();
    let at = open(&mut tablet, ProcedureCode::Recalibrate);
    act(&mut tablet, at, StepCode::Prepare).unwrap();
    let body = StepRecorded {
        measured: like.measured.clone(),
        ..StepRecorded::done(at, code("T-07"), like.step)
    };
    let reading = NewReading {
        nonce: like.nonce,
        ..crate::samples::reading("T-07", entry_of(&body), 0)
    };
    record_reading(&mut tablet.book, reading).unwrap();
    let step = NewStep {
        procedure: at,
        ..like
    };
    record_step(&mut tablet.book, step).unwrap();
    tablet
}

#[test]
fn what_cannot_count_is_refused_with_what_is_missing_and_writes_nothing() {
    let mut tablet = tablet();
    let no_reason = NewProcedure {
        reason: None,
        ..opening(ProcedureCode::SetUp)
    };
    let error = open_procedure(&mut tablet.book, no_reason).unwrap_err();
    assert!(matches!(
        error,
        Error::Procedure(ProcedureError::ReasonMissing)
    ));
    let at = open(&mut tablet, ProcedureCode::SetUp);
    let again = open_procedure(&mut tablet.book, opening(ProcedureCode::SetUp)).unwrap_err();
    assert!(
        matches!(again, Error::Procedure(ProcedureError::Open { procedure }) if procedure == at)
    );
    let before = tablet.dump();
    let refused_as = |step, why| ProcedureError::Refused { step, why };
    assert_eq!(
        refused(act(&mut tablet, at, StepCode::Flush)),
        refused_as(StepCode::Flush, Unfit::OutOfOrder(StepCode::Prepare))
    );
    assert_eq!(
        refused(act(&mut tablet, at, StepCode::Calibrate)),
        refused_as(StepCode::Calibrate, Unfit::OtherBranch)
    );
    assert_eq!(
        refused(act(&mut tablet, at, StepCode::Isolate)),
        refused_as(StepCode::Isolate, Unfit::NotInProcedure)
    );
    let early = close_procedure(&mut tablet.book, ending(at, ProcedureEnd::Completed));
    assert!(matches!(
        early,
        Err(Error::Procedure(ProcedureError::Lacking { .. }))
    ));
    let undo = NewUndo {
        procedure: at,
        step: StepCode::Prepare,
        record: None,
        reason: "x".to_owned(),
        by: String::new(),
    };
    let nothing = undo_step(&mut tablet.book, undo).unwrap_err();
    assert!(matches!(
        nothing,
        Error::Procedure(ProcedureError::NothingToUndo { .. })
    ));
    assert_eq!(tablet.dump(), before);
    act(&mut tablet, at, StepCode::Prepare).unwrap();
    let settled = refused(act(&mut tablet, at, StepCode::Prepare));
    assert_eq!(
        settled,
        ProcedureError::Settled {
            step: StepCode::Prepare
        }
    );
    close_procedure(&mut tablet.book, ending(at, ProcedureEnd::Abandoned)).unwrap();
    let closed = refused(act(&mut tablet, at, StepCode::Flush));
    assert_eq!(closed, ProcedureError::Closed { procedure: at });
}

/// The definition wants 2 bar; with 3.4 bar the lowest usual inlet does not suffice.
#[test]
fn a_set_point_that_does_not_fit_stops_until_a_reason_is_stated() {
    let mut tablet = tablet();
    let at = open(&mut tablet, ProcedureCode::SetUp);
    run_until(&mut tablet, at, Some(StepCode::FactorySetPoint));
    let data = view(&tablet, at).data().unwrap();
    let mut body = proper(data, StepCode::FactorySetPoint);
    body.measured[1] = Measured::pressure(MeasureCode::WantedSetPoint, bar(34));
    record(&mut tablet, at, body).unwrap();
    let stop = refused(act(&mut tablet, at, StepCode::Compatibility));
    let why_not = ProcedureError::Refused {
        step: StepCode::Compatibility,
        why: Unfit::FiguresSayStop,
    };
    assert_eq!(stop, why_not);
    let found = query::procedure_compatibility(&tablet.book, at).unwrap();
    assert_eq!(found.worst(), Level::Stop);
    let mut body = proper(data, StepCode::Compatibility);
    body.despite = Some(why());
    let saved = record(&mut tablet, at, body).unwrap();
    assert_eq!(saved.figures, found.findings);
    let entry = saved
        .state
        .step(StepCode::Compatibility)
        .unwrap()
        .in_force()
        .unwrap()
        .clone();
    let kept = entry
        .body
        .figures
        .iter()
        .map(|figure| (figure.code.as_str(), figure.level));
    assert!(
        kept.into_iter()
            .any(|figure| figure == ("interstage-at-lowest", Level::Stop))
    );
    assert_eq!(saved.state.next, Some(StepCode::Branch));
}

#[test]
fn another_tablet_goes_on_where_the_first_one_stopped() {
    let mut office = Kept::new(Role::Office, "Office");
    let mut one = Kept::new(Role::Tablet, "Tablet A");
    let mut two = Kept::new(Role::Tablet, "Tablet B");
    office.enrol(&one, "Tablet A", Role::Tablet);
    office.enrol(&two, "Tablet B", Role::Tablet);
    one.enrol(&office, "Office", Role::Office);
    two.enrol(&office, "Office", Role::Office);
    office.define("T-07");
    let bundle = office.pack(PackFor::Tablets);
    one.merge(std::slice::from_ref(&bundle));
    two.merge(&[bundle]);
    let at = open(&mut one, ProcedureCode::SetUp);
    run_until(&mut one, at, Some(StepCode::Calibrate));
    let mut body = proper(view(&one, at).data().unwrap(), StepCode::Calibrate);
    body.outcome = StepOutcome::GoingOn;
    body.points = vec![point(0, 12), point(1, 15)];
    record(&mut one, at, body).unwrap();
    office.merge(&[one.pack(PackFor::Office)]);
    two.merge(&[office.pack(PackFor::Tablets)]);
    assert_eq!(view(&two, at).state, view(&one, at).state);
    let open_there = query::open_procedures(&two.book).unwrap();
    assert_eq!(open_there[0].at, at);
    let state = open_there[0].state.clone().unwrap();
    assert_eq!(
        (state.next, state.turns().len()),
        (Some(StepCode::Calibrate), 2)
    );
    run(&mut two, at);
    let ended = close_procedure(&mut two.book, ending(at, ProcedureEnd::Completed)).unwrap();
    assert!(ended.state.is_in_service());
    // Meanwhile the first one, which knows nothing of it, does the step otherwise.
    let mut other = proper(view(&one, at).data().unwrap(), StepCode::Calibrate);
    other.points = vec![point(2, 19)];
    record(&mut one, at, other).unwrap();
    office.merge(&[two.pack(PackFor::Office), one.pack(PackFor::Office)]);
    let state = view(&office, at).state.unwrap();
    assert_eq!(state.closing.code(), "contested");
    assert!(!state.is_in_service());
    let of_step = state.step(StepCode::Calibrate).unwrap();
    assert_eq!(of_step.entries.len(), 3);
    let theirs = of_step
        .entries
        .iter()
        .find(|entry| entry.at.log == one.book.log_id() && entry.body.outcome == StepOutcome::Done);
    let undo = NewUndo {
        procedure: at,
        step: StepCode::Calibrate,
        record: Some(theirs.unwrap().at),
        reason: "tablet B finished it".to_owned(),
        by: "C. Clerk".to_owned(),
    };
    undo_step(&mut office.book, undo).unwrap();
    assert!(view(&office, at).state.unwrap().is_in_service());
    one.merge(&[office.pack(PackFor::Tablets)]);
    two.merge(&[office.pack(PackFor::Tablets)]);
    for kept in [&one, &two] {
        assert_eq!(view(kept, at).state, view(&office, at).state);
    }
}

#[test]
fn steps_that_come_before_their_procedure_wait_for_it() {
    let mut office = Kept::new(Role::Office, "Office");
    let mut tablet = tablet();
    office.enrol(&tablet, "Tablet A", Role::Tablet);
    let at = open(&mut tablet, ProcedureCode::YearlyClean);
    run(&mut tablet, at);
    // The record that opened it is lost on the way, and comes later.
    let bundle = tablet.pack(PackFor::Office);
    let bytes = std::fs::read(&bundle).unwrap();
    let item = query::record(&tablet.book, at).unwrap().item;
    let place = bytes
        .windows(item.len())
        .position(|part| part == item)
        .unwrap();
    let mut damaged = bytes.clone();
    damaged[place + item.len() / 2] ^= 0xff;
    let path = tablet.folder.path().join("damaged.winze");
    std::fs::write(&path, damaged).unwrap();
    office.merge(&[path]);
    assert_eq!(query::procedures(&office.book).unwrap(), []);
    let missing = query::procedure(&office.book, at).unwrap_err();
    assert!(matches!(
        missing,
        Error::Procedure(ProcedureError::Unknown { .. })
    ));
    office.merge(&[bundle]);
    assert_eq!(view(&office, at).state, view(&tablet, at).state);
}

#[test]
fn an_edition_nobody_knows_is_shown_and_left_alone() {
    let mut tablet = tablet();
    let body = crate::record::ProcedureOpened {
        procedure: ProcedureCode::SetUp,
        edition: EDITION + 1,
        station: code("T-07"),
        reason: Some(OpenReason::Due),
        note: String::new(),
        utc_offset_minutes: 0,
    };
    let new = crate::store::NewRecord::new(Body::ProcedureOpened(Box::new(body)), "A");
    let at = tablet.book.confirm_one(new).unwrap();
    let found = query::open_procedures(&tablet.book).unwrap();
    assert_eq!((found[0].at, found[0].state.is_some()), (at, false));
    let new = NewStep::done(at, StepCode::Prepare, "A", [1; 8]);
    let error = refused(record_step(&mut tablet.book, new));
    let other = ProcedureError::OtherEdition {
        procedure: at,
        edition: EDITION + 1,
    };
    assert_eq!(error, other);
}

#[test]
fn the_assistant_is_told_the_set_point_wanted_and_where_the_screw_stands() {
    let mut tablet = tablet();
    let at = open(&mut tablet, ProcedureCode::SetUp);
    run_until(&mut tablet, at, Some(StepCode::Calibrate));
    let setting = query::procedure_calibration(&tablet.book, at).unwrap();
    assert_eq!(setting.start, crate::calibration::Start::BackedOff);
    assert_eq!(setting.target, bar(20).to_pressure());
}
