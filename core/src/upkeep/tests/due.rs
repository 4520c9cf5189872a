//! Windows and how they stand: early, late, twice, never.

use super::{Known, codes, day, done, window};
use crate::record::SkipReason;
use crate::station::Quantity;
use crate::upkeep::{InUse, StationFacts, Status, Task, Why, station_due};

#[test]
fn a_yearly_task_goes_through_its_window() {
    let mut known = Known::new();
    known.dones.push((Task::YearlyClean, done("2025-10-31")));
    let expected = Some(window("2026-08-31", "2026-10-31", "2026-11-30"));
    for (today, status) in [
        ("2025-10-31", Status::NotYet),
        ("2026-08-30", Status::NotYet),
        ("2026-08-31", Status::Early),
        ("2026-10-30", Status::Early),
        ("2026-10-31", Status::Due),
        ("2026-11-30", Status::Due),
        ("2026-12-01", Status::Overdue),
    ] {
        let due = known.task(Task::YearlyClean, today);
        assert_eq!((due.window, due.status), (expected, status), "{today}");
        assert_eq!(codes(&due), ["counted-from", "usual-interval"]);
    }
}

#[test]
fn early_and_late_completions_move_the_rhythm() {
    for (second, due) in [("2026-08-31", "2027-08-31"), ("2027-02-01", "2028-02-01")] {
        let mut known = Known::new();
        known.dones.push((Task::YearlyClean, done("2025-10-31")));
        known.dones.push((Task::YearlyClean, done(second)));
        let found = known.task(Task::YearlyClean, second);
        assert_eq!(found.window.unwrap().due, day(due));
        assert_eq!(found.times_done, 2);
    }
}

#[test]
fn done_twice_on_a_day_is_done_once() {
    let mut known = Known::new();
    let mut again = done("2024-02-29");
    again.at = super::at(2);
    known.dones.push((Task::YearlyClean, again));
    known.dones.push((Task::YearlyClean, done("2024-02-29")));
    let due = known.task(Task::YearlyClean, "2024-03-01");
    assert_eq!(due.times_done, 1);
    assert_eq!(due.window.unwrap().due, day("2025-02-28"));
    assert_eq!(
        due.last_done,
        Some(again),
        "the later record stands for both"
    );
}

#[test]
fn the_look_round_belongs_to_its_week_however_often_it_is_made() {
    let mut known = Known::new();
    known.visit(day("2026-12-28"), 100);
    let next = Some(window("2027-01-04", "2027-01-04", "2027-01-10"));
    // Monday of week 53 or its Sunday, once or twice: next is the first week of 2027.
    assert_eq!(known.task(Task::LookRound, "2026-12-28").window, next);
    known.visit(day("2027-01-03"), 100);
    let due = known.task(Task::LookRound, "2027-01-03");
    assert_eq!((due.window, due.status), (next, Status::NotYet));
    assert_eq!(
        known.task(Task::LookRound, "2027-01-04").status,
        Status::Due
    );
    assert_eq!(
        known.task(Task::LookRound, "2027-01-10").status,
        Status::Due
    );
    assert_eq!(
        known.task(Task::LookRound, "2027-01-11").status,
        Status::Overdue
    );
}

#[test]
fn a_station_passed_by_says_so_until_it_is_read() {
    let mut known = Known::new();
    known.visit(day("2026-09-28"), 100);
    let why = |known: &Known| {
        let facts = StationFacts {
            passed_by: Some((day("2026-10-06"), SkipReason::NoAccess)),
            ..known.facts()
        };
        station_due(&facts, day("2026-10-07"))[0].why.clone()
    };
    let passed_by = Why::PassedBy {
        on: day("2026-10-06"),
        reason: SkipReason::NoAccess,
    };
    assert_eq!(why(&known).last(), Some(&passed_by));
    known.visit(day("2026-10-07"), 100);
    assert_ne!(why(&known).last(), Some(&passed_by));
}

#[test]
fn what_was_never_done_is_counted_from_set_up_or_from_the_oldest_reading() {
    let mut known = Known::new();
    let due = known.task(Task::YearlyClean, "2026-10-06");
    assert_eq!((due.window, due.status), (None, Status::NeverDone));
    assert_eq!(codes(&due), ["nothing-known", "usual-interval"]);

    known.in_use = InUse {
        set_up_on: None,
        first_reading_on: Some(day("2025-08-12")),
    };
    let due = known.task(Task::YearlyClean, "2026-10-06");
    assert_eq!(
        due.window,
        Some(window("2026-06-12", "2026-08-12", "2026-09-12"))
    );
    assert_eq!((due.last_done, due.status), (None, Status::Overdue));

    known.in_use.set_up_on = Some(day("2025-11-20"));
    let due = known.task(Task::YearlyClean, "2026-10-06");
    assert_eq!(due.window.unwrap().due, day("2026-11-20"));
    // A set-up after the last cleaning comes to the same as a cleaning.
    known.dones.push((Task::YearlyClean, done("2025-01-05")));
    let due = known.task(Task::YearlyClean, "2026-10-06");
    assert_eq!(due.window.unwrap().due, day("2026-11-20"));
    assert_eq!(due.last_done.unwrap().on, day("2025-01-05"));
}

#[test]
fn a_look_round_never_made_is_due_in_the_week_of_the_set_up() {
    let mut known = Known::new();
    known.in_use.set_up_on = Some(day("2026-10-07"));
    let due = known.task(Task::LookRound, "2026-10-09");
    assert_eq!(
        due.window,
        Some(window("2026-10-05", "2026-10-05", "2026-10-11"))
    );
    assert_eq!(due.status, Status::Due);
}

#[test]
fn a_day_to_come_silences_nothing() {
    let mut known = Known::new();
    known.dones.push((Task::YearlyClean, done("2025-06-01")));
    known.dones.push((Task::YearlyClean, done("2062-06-01")));
    let due = known.task(Task::YearlyClean, "2026-06-01");
    assert_eq!(due.status, Status::Due);
    assert_eq!(
        codes(&due),
        ["counted-from", "usual-interval", "done-in-future"]
    );
    // When its day has come it counts.
    let due = known.task(Task::YearlyClean, "2062-06-01");
    assert_eq!((due.status, due.times_done), (Status::NotYet, 2));
}

#[test]
fn a_gauge_is_listed_where_its_check_is_known() {
    let mut known = Known::new();
    let listed = |known: &Known| {
        station_due(&known.facts(), day("2026-10-06"))
            .iter()
            .map(|due| due.task)
            .collect::<Vec<_>>()
    };
    let three = [Task::LookRound, Task::YearlyClean, Task::InternalInspection];
    assert_eq!(listed(&known), three);
    known.definition.outlet.checked_on = Some(day("2025-10-06"));
    assert_eq!(
        listed(&known).last(),
        Some(&Task::GaugeCheck(Quantity::Outlet))
    );
    let due = known.task(Task::GaugeCheck(Quantity::Outlet), "2026-10-06");
    assert_eq!(due.status, Status::Due);
}

#[test]
fn every_reason_has_its_code_and_figures_in_order() {
    let mut known = Known::new();
    known
        .dones
        .push((Task::InternalInspection, done("2022-10-06")));
    let due = known.task(Task::InternalInspection, "2026-10-06");
    assert_eq!(
        codes(&due),
        ["counted-from", "usual-interval", "cavitation-not-known"]
    );
    let names: Vec<&str> = due.why[1].figures().iter().map(|(name, _)| *name).collect();
    assert_eq!(names, ["least_months", "most_months"]);
    assert_eq!(
        due.window,
        Some(window("2025-10-06", "2026-10-06", "2027-10-06"))
    );
}
