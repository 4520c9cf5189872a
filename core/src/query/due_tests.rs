//! What is due, asked of real logbooks: readings, notes, jobs, two tablets.

use std::path::PathBuf;

use chrono::NaiveDate;
use winze_sync_format::RecordRef;

use super::{due, due_at, due_on, job, job_proposals, jobs, jobs_at};
use crate::Error;
use crate::actions::{
    NewJob, NewJobEnd, NewTaskDone, PackFor, close_job, note_task_done, raise_job,
};
use crate::clock::DAY_MS;
use crate::record::{JobEnd, PartUsed, Role, Tick, Ticks};
use crate::samples::{Kept, MONDAY_MS, code, entry, reading};
use crate::station::Quantity;
use crate::upkeep::{DoneBy, JobCause, JobWork, Status, Task, TaskDue};

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn task(kept: &Kept, task: Task, on: &str) -> TaskDue {
    let station = due_at(&kept.book, &code("T-07"), day(on)).unwrap();
    station
        .tasks
        .into_iter()
        .find(|due| due.task == task)
        .unwrap()
}

fn note(kept: &mut Kept, task: Task, on: &str) -> Result<RecordRef, Error> {
    let new = NewTaskDone {
        station: code("T-07"),
        task,
        done_on: day(on),
        note: String::new(),
        by: "C. Clerk".to_owned(),
    };
    note_task_done(&mut kept.book, new)
}

fn raise(kept: &mut Kept, work: JobWork) -> RecordRef {
    let new = NewJob {
        station: code("T-07"),
        work,
        cause: JobCause::Person,
        evidence: Vec::new(),
        note: String::new(),
        by: "Ada".to_owned(),
    };
    raise_job(&mut kept.book, new).unwrap()
}

fn close(
    kept: &mut Kept,
    job: RecordRef,
    as_left: RecordRef,
    note: &str,
) -> Result<RecordRef, Error> {
    let new = NewJobEnd {
        job,
        end: JobEnd::Done { as_left },
        parts: vec![PartUsed {
            what: "gland packing".to_owned(),
            count: 2,
        }],
        note: note.to_owned(),
        by: "Ben".to_owned(),
    };
    close_job(&mut kept.book, new)
}

#[test]
fn readings_and_notes_say_when_things_were_done() {
    let mut kept = Kept::new(Role::Office, "Office");
    kept.define("T-07");
    // MONDAY_MS is 2026-01-05.
    let round = task(&kept, Task::LookRound, "2026-01-05");
    assert_eq!((round.status, round.window), (Status::NeverDone, None));
    let read = kept.read("T-07", (100, 40, 20));
    let round = task(&kept, Task::LookRound, "2026-01-05");
    assert_eq!(
        (round.status, round.last_done.unwrap().at),
        (Status::NotYet, read)
    );
    assert_eq!(
        task(&kept, Task::LookRound, "2026-01-12").status,
        Status::Due
    );
    assert_eq!(
        task(&kept, Task::LookRound, "2026-01-19").status,
        Status::Overdue
    );

    let clean = task(&kept, Task::YearlyClean, "2026-01-05");
    assert_eq!(
        clean.window.unwrap().due,
        day("2027-01-05"),
        "from the oldest reading"
    );
    note(&mut kept, Task::YearlyClean, "2025-01-31").unwrap();
    let clean = task(&kept, Task::YearlyClean, "2026-01-05");
    assert_eq!(clean.last_done.unwrap().by, DoneBy::Note);
    assert_eq!(
        (clean.window.unwrap().due, clean.status),
        (day("2026-01-31"), Status::Early)
    );

    // As it would have been then: nothing was read, and the note is of a day to come.
    let then = task(&kept, Task::YearlyClean, "2025-01-30");
    assert_eq!((then.last_done, then.status), (None, Status::NeverDone));
    assert_eq!(then.why.len(), 2, "{:?}", then.why);
}

#[test]
fn a_reading_that_is_voided_or_old_is_looked_at_as_it_stands() {
    let mut kept = Kept::new(Role::Office, "Office");
    kept.define("T-07");
    let old = kept.read("T-07", (100, 40, 20));
    let years = 3 * 366;
    let on = crate::upkeep::Interval::Days(years).after(day("2026-01-05"));
    let round = task(&kept, Task::LookRound, &on.to_string());
    assert_eq!(
        round.last_done.map(|done| done.at),
        Some(old),
        "older than the look back"
    );
    crate::actions::void_reading(
        &mut kept.book,
        old,
        "wrong station".to_owned(),
        "C. Clerk".to_owned(),
    )
    .unwrap();
    let round = task(&kept, Task::LookRound, &on.to_string());
    assert_eq!((round.last_done, round.status), (None, Status::NeverDone));
}

#[test]
fn a_day_to_come_and_unknown_stations_are_refused() {
    let mut kept = Kept::new(Role::Tablet, "Tablet");
    kept.define("T-07");
    let refused = note(&mut kept, Task::YearlyClean, "2026-01-07");
    assert!(
        matches!(refused, Err(Error::DayNotCome { .. })),
        "{refused:?}"
    );
    note(&mut kept, Task::YearlyClean, "2026-01-06").expect("a clock in another zone");
    let refused = note_task_done(
        &mut kept.book,
        NewTaskDone {
            station: code("T-99"),
            task: Task::YearlyClean,
            done_on: day("2026-01-01"),
            note: String::new(),
            by: String::new(),
        },
    );
    assert!(matches!(refused, Err(Error::UnknownStation { .. })));
    assert!(matches!(
        due_at(&kept.book, &code("T-99"), day("2026-01-01")),
        Err(Error::UnknownStation { .. })
    ));
}

#[test]
fn a_job_goes_from_proposal_to_its_as_left_reading() {
    let mut kept = Kept::new(Role::Tablet, "Tablet");
    kept.define("T-07");
    kept.define("T-08");
    kept.clock.advance_ms(60_000);
    let mut leaking = reading("T-07", entry(100, 40, 20), 7);
    leaking.ticks = Ticks::NONE.with(Tick::Leak);
    let seen = crate::actions::record_reading(&mut kept.book, leaking)
        .unwrap()
        .at;
    let proposed = job_proposals(&kept.book, &code("T-07")).unwrap();
    assert_eq!(proposed.len(), 1);
    let new = NewJob::of(proposed[0].clone(), "Ada".to_owned());
    let raised = raise_job(&mut kept.book, new).unwrap();
    assert_eq!(job_proposals(&kept.book, &code("T-07")).unwrap(), []);
    let found = job(&kept.book, raised).unwrap();
    assert_eq!(
        (found.work, found.cause),
        (JobWork::StopLeak, JobCause::Noticed(Tick::Leak))
    );
    assert_eq!(found.evidence, [seen]);
    let here = due_at(&kept.book, &code("T-07"), day("2026-01-05")).unwrap();
    assert_eq!(
        (here.jobs.len(), due(&kept.book).unwrap().counts().jobs),
        (1, 1)
    );

    let elsewhere = kept.read("T-08", (100, 40, 20));
    let refused = close(&mut kept, raised, elsewhere, "");
    assert!(
        matches!(refused, Err(Error::OtherStation { .. })),
        "{refused:?}"
    );
    let refused = close(&mut kept, raised, raised, "");
    assert!(
        matches!(refused, Err(Error::NotAReading { .. })),
        "{refused:?}"
    );
    let as_left = kept.read("T-07", (100, 40, 20));
    close(&mut kept, raised, as_left, "packed anew").unwrap();
    let closed = job(&kept.book, raised).unwrap();
    assert_eq!(closed.closings[0].end, JobEnd::Done { as_left });
    assert_eq!(closed.closings[0].parts[0].count, 2);
    let again = close(&mut kept, raised, as_left, "");
    assert!(matches!(again, Err(Error::JobClosed { .. })), "{again:?}");
    assert_eq!(jobs_at(&kept.book, &code("T-08")).unwrap(), []);
}

#[test]
fn a_gauge_that_never_moves_proposes_to_check_that_gauge() {
    let mut kept = Kept::new(Role::Tablet, "Tablet");
    kept.define("T-07");
    // The main wanders and the outlet with it; the interstage gauge has stopped.
    for week in 0..40_i64 {
        kept.clock.set(MONDAY_MS + week * 7 * DAY_MS);
        let wander = [0, 3, -2, 1, -3, 2, -1, 4][usize::try_from(week).unwrap() % 8];
        let outlet = 20 + i64::from(week % 3 == 0);
        kept.read("T-07", (100 + wander, 40, outlet));
    }
    let proposed = job_proposals(&kept.book, &code("T-07")).unwrap();
    let works: Vec<JobWork> = proposed.iter().map(|one| one.work).collect();
    assert!(
        works.contains(&JobWork::CheckGauge(Quantity::Interstage)),
        "{proposed:?}"
    );
    let one = proposed
        .iter()
        .find(|one| one.work == JobWork::CheckGauge(Quantity::Interstage))
        .unwrap();
    assert!(matches!(one.cause, JobCause::Suspected(_)), "{one:?}");
    assert!(one.probability.is_some_and(|p| p >= 0.25), "{one:?}");
    assert!(
        kept.book.read_visit(one.evidence[0]).is_ok(),
        "a reading stands behind it"
    );
}

#[test]
fn words_are_asked_for_where_they_are_needed() {
    let mut kept = Kept::new(Role::Tablet, "Tablet");
    kept.define("T-07");
    let job = raise(&mut kept, JobWork::StopLeak);
    let mut new = NewJobEnd {
        job,
        end: JobEnd::NotNeeded,
        parts: Vec::new(),
        note: "  ".to_owned(),
        by: "Ben".to_owned(),
    };
    let refused = close_job(&mut kept.book, new.clone());
    assert!(matches!(refused, Err(Error::NoteMissing)), "{refused:?}");
    new.note = "was condensation".to_owned();
    new.parts.push(PartUsed {
        what: String::new(),
        count: 1,
    });
    let refused = close_job(&mut kept.book, new.clone());
    assert!(matches!(refused, Err(Error::PartUnclear)), "{refused:?}");
    new.parts.clear();
    close_job(&mut kept.book, new.clone()).unwrap();
    new.job.seq += 70;
    let refused = close_job(&mut kept.book, new);
    assert!(
        matches!(refused, Err(Error::UnknownJob { .. })),
        "{refused:?}"
    );
    let other = NewJob {
        station: code("T-07"),
        work: JobWork::Other,
        cause: JobCause::Person,
        evidence: Vec::new(),
        note: String::new(),
        by: "Ada".to_owned(),
    };
    let refused = raise_job(&mut kept.book, other);
    assert!(matches!(refused, Err(Error::NoteMissing)), "{refused:?}");
}

/// Hands everything of one logbook to another.
fn hand(from: &mut Kept, to: &mut Kept, what: PackFor) -> PathBuf {
    let path = from.pack(what);
    to.merge(std::slice::from_ref(&path));
    path
}

#[test]
fn two_tablets_close_one_job_and_both_closings_survive_everywhere() {
    let mut office = Kept::new(Role::Office, "Office");
    let mut a = Kept::new(Role::Tablet, "Tablet A");
    let mut b = Kept::new(Role::Tablet, "Tablet B");
    office.define("T-07");
    office.enrol(&a, "Tablet A", Role::Tablet);
    office.enrol(&b, "Tablet B", Role::Tablet);
    let raised = raise(&mut office, JobWork::StopLeak);
    let orders = office.pack(PackFor::Tablets);
    for tablet in [&mut a, &mut b] {
        tablet.enrol(&office, "Office", Role::Office);
        tablet.merge(std::slice::from_ref(&orders));
        assert!(
            job(&tablet.book, raised).unwrap().is_open(),
            "the job reached the tablet"
        );
    }
    b.clock.advance_ms(3_600_000);
    let left_a = a.read("T-07", (100, 40, 20));
    let left_b = b.read("T-07", (101, 40, 20));
    let by_a = close(&mut a, raised, left_a, "tightened").unwrap();
    let by_b = close(&mut b, raised, left_b, "packed anew").unwrap();
    let bundle_a = hand(&mut a, &mut office, PackFor::Office);
    let bundle_b = hand(&mut b, &mut office, PackFor::Office);

    let mut other = Kept::new(Role::Office, "Office of the other order");
    other.enrol(&office, "Office", Role::Office);
    other.merge(&[orders, bundle_b, bundle_a]);
    for kept in [&office, &other] {
        let found = jobs(&kept.book).unwrap();
        assert_eq!(found.len(), 1);
        let closings: Vec<RecordRef> = found[0].closings.iter().map(|c| c.written.at).collect();
        assert_eq!(closings, [by_a, by_b], "{}", kept.book.label());
    }
    // Both tablets learn of both.
    office.clock.advance_ms(7_200_000);
    let back = office.pack(PackFor::Tablets);
    a.merge(std::slice::from_ref(&back));
    assert_eq!(job(&a.book, raised).unwrap().closings.len(), 2);
    // Folding survives a rebuild.
    let a = a.reopen_after(|dir| std::fs::remove_file(dir.join("projection.sqlite")).unwrap());
    assert_eq!(job(&a.book, raised).unwrap().closings.len(), 2);
}

#[test]
fn what_is_held_is_not_counted_until_its_tablet_is_let_in() {
    let mut office = Kept::new(Role::Office, "Office");
    office.define("T-07");
    let mut tablet = Kept::new(Role::Tablet, "Tablet");
    let orders = office.pack(PackFor::Tablets);
    tablet.enrol(&office, "Office", Role::Office);
    tablet.merge(&[orders]);
    note(&mut tablet, Task::YearlyClean, "2025-12-01").unwrap();
    raise(&mut tablet, JobWork::StopLeak);
    hand(&mut tablet, &mut office, PackFor::Office);
    let seen = |office: &Kept| {
        let clean = task(office, Task::YearlyClean, "2026-01-05");
        (clean.last_done.is_some(), jobs(&office.book).unwrap().len())
    };
    assert_eq!(seen(&office), (false, 0));
    office.enrol(&tablet, "Tablet", Role::Tablet);
    assert_eq!(seen(&office), (true, 1));
}

#[test]
fn the_list_goes_by_level_and_walking_order_and_carries_the_sites_name() {
    let mut office = Kept::new(Role::Office, "Office");
    for (text, level, order) in [
        ("T-3", "Level 420", 1),
        ("T-1", "Level 160", 2),
        ("T-2", "Level 420", 3),
    ] {
        let mut station = crate::samples::station(text);
        station.level = level.to_owned();
        station.order = order;
        crate::actions::revise_station(&mut office.book, station, "E. Engineer".to_owned())
            .unwrap();
    }
    let list = due_on(&office.book, day("2026-01-05")).unwrap();
    let levels: Vec<(&str, Vec<&str>)> = list
        .by_level()
        .into_iter()
        .map(|(level, stations)| (level, stations.iter().map(|s| s.code.as_str()).collect()))
        .collect();
    assert_eq!(
        levels,
        [
            ("Level 420", vec!["T-3", "T-2"]),
            ("Level 160", vec!["T-1"])
        ]
    );
    assert_eq!(list.site, office.book.log_id());
    let mut tablet = Kept::new(Role::Tablet, "Tablet");
    assert_eq!(due(&tablet.book).unwrap().site, tablet.book.log_id());
    tablet.enrol(&office, "Office", Role::Office);
    assert_eq!(due(&tablet.book).unwrap().site, office.book.log_id());
}

#[test]
fn records_only_grow_and_the_newest_is_named() {
    let mut kept = Kept::new(Role::Office, "Office");
    kept.define("T-07");
    let mut last = (0, 0);
    for step in 0..5_i64 {
        kept.clock.set(MONDAY_MS + step * DAY_MS);
        match step {
            0 | 3 => drop(kept.read("T-07", (100, 40, 20))),
            1 => drop(note(&mut kept, Task::YearlyClean, "2025-01-01").unwrap()),
            2 => drop(raise(&mut kept, JobWork::StopLeak)),
            _ => {
                let job = jobs(&kept.book).unwrap()[0].raised.at;
                let as_left = kept.read("T-07", (100, 40, 20));
                close(&mut kept, job, as_left, "").unwrap();
            }
        }
        let station = due(&kept.book).unwrap().stations.remove(0);
        let now = (station.records, station.newest_ms);
        assert!(now.0 > last.0 && now.1 > last.1, "{last:?} {now:?}");
        last = now;
    }
}
