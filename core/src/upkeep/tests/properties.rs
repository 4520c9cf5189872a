//! Laws that hold for any history.

use chrono::NaiveDate;
use proptest::prelude::*;

use super::{Known, at};
use crate::record::{JobClosed, JobEnd, JobRaised};
use crate::samples::code;
use crate::upkeep::jobs::Written;
use crate::upkeep::{
    Done, DoneBy, InUse, Interval, JobCause, JobWork, Schedule, Task, Why, fold_jobs, station_due,
    task_due,
};

/// Any day chrono knows, and often one that matters.
fn any_day() -> impl Strategy<Value = NaiveDate> {
    let usual = (2000_i32..2060, 1_u32..13, 1_u32..32)
        .prop_filter_map("a day", |(y, m, d)| NaiveDate::from_ymd_opt(y, m, d));
    let edges = prop_oneof![
        Just(NaiveDate::MIN),
        Just(NaiveDate::MAX),
        Just(crate::upkeep::first_day()),
        Just(crate::upkeep::last_day()),
        (2000_i32..2400).prop_filter_map("a leap day", |y| NaiveDate::from_ymd_opt(y, 2, 29)),
        (2000_i32..2400).prop_filter_map("an end", |y| NaiveDate::from_ymd_opt(y, 12, 31)),
    ];
    let any = (i32::MIN / 4096..i32::MAX / 4096)
        .prop_filter_map("a day", NaiveDate::from_num_days_from_ce_opt);
    prop_oneof![6 => usual, 2 => edges, 1 => any]
}

fn any_task() -> impl Strategy<Value = Task> {
    prop::sample::select(Task::ALL.to_vec())
}

fn any_done() -> impl Strategy<Value = Done> {
    (any_day(), 0_u64..9).prop_map(|(on, n)| Done {
        on,
        by: DoneBy::Note,
        at: at(n),
    })
}

fn any_reasons() -> impl Strategy<Value = Vec<Why>> {
    let jobs = (0_usize..4, 0_u32..40)
        .prop_map(|(jobs, months_off)| Why::StageJobsOpen { jobs, months_off });
    prop::collection::vec(jobs, 0..3)
}

fn any_use() -> impl Strategy<Value = InUse> {
    let maybe = || prop::option::of(any_day());
    (maybe(), maybe()).prop_map(|(set_up_on, first_reading_on)| InUse {
        set_up_on,
        first_reading_on,
    })
}

proptest! {
    /// Done again later, nothing is due earlier.
    #[test]
    fn due_days_never_go_backwards(
        task in any_task(),
        dones in prop::collection::vec(any_done(), 1..6),
        in_use in any_use(),
        reasons in any_reasons(),
        later in 0_u32..4000,
        today in any_day(),
    ) {
        let schedule = Schedule::usual(task);
        let before = task_due(task, schedule, &dones, in_use, reasons.clone(), today);
        let last = dones.iter().map(|done| done.on).max().unwrap();
        let mut more = dones.clone();
        more.push(Done { on: Interval::Days(later).after(last), by: DoneBy::Note, at: at(99) });
        let after = task_due(task, schedule, &more, in_use, reasons, today);
        // Nothing was known and now something is: that is no step back.
        if before.last_done.is_some()
            && let (Some(before), Some(after)) = (before.window, after.window)
        {
            prop_assert!(after >= before, "{before:?} {after:?}");
            prop_assert!(after.due >= before.due && after.latest >= before.latest);
        }
    }

    /// The order in which records arrive, and their repeats, do not show.
    #[test]
    fn order_and_repeats_of_completions_do_not_show(
        task in any_task(),
        dones in prop::collection::vec(any_done(), 0..8),
        seed in any::<prop::sample::Index>(),
        today in any_day(),
    ) {
        let schedule = Schedule::usual(task);
        let plain = task_due(task, schedule, &dones, InUse::default(), Vec::new(), today);
        let mut other = dones.clone();
        other.reverse();
        if !dones.is_empty() {
            other.rotate_left(seed.index(dones.len()));
            other.push(dones[seed.index(dones.len())]);
        }
        let shuffled = task_due(task, schedule, &other, InUse::default(), Vec::new(), today);
        prop_assert_eq!(plain, shuffled);
    }

    /// A window is a window, reasons only bring its end forward, and no day does harm.
    #[test]
    fn windows_are_in_order_and_reasons_only_bring_them_forward(
        task in any_task(),
        dones in prop::collection::vec(any_done(), 0..4),
        in_use in any_use(),
        reasons in any_reasons(),
        today in any_day(),
    ) {
        let schedule = Schedule::usual(task);
        let plain = task_due(task, schedule, &dones, in_use, Vec::new(), today);
        let found = task_due(task, schedule, &dones, in_use, reasons, today);
        prop_assert_eq!(plain.window.is_some(), found.window.is_some());
        if let (Some(plain), Some(window)) = (plain.window, found.window) {
            prop_assert!(window.earliest <= window.due && window.due <= window.latest);
            prop_assert!(window.due <= plain.due && window.latest <= plain.latest);
        }
    }

    /// A whole station, on any day.
    #[test]
    fn no_history_and_no_day_does_harm(
        days in prop::collection::vec((any_day(), -5_i64..200), 0..20),
        dones in prop::collection::vec((any_task(), any_done()), 0..8),
        in_use in any_use(),
        today in any_day(),
    ) {
        let mut known = Known::new();
        for (on, inlet) in days {
            known.visit(on, inlet);
        }
        known.dones = dones;
        known.in_use = in_use;
        for due in station_due(&known.facts(), today) {
            prop_assert!(due.last_done.is_none_or(|done| done.on <= today));
            for why in &due.why {
                let _ = (why.code(), why.figures());
            }
        }
    }

    /// Jobs come to the same whatever the order and the repeats of their records.
    #[test]
    fn jobs_fold_to_the_same_in_any_order(
        raised in prop::collection::vec((0_u64..4, 0_i64..50), 0..6),
        closed in prop::collection::vec((10_u64..16, 0_u64..5, 0_i64..50), 0..8),
        turn in any::<prop::sample::Index>(),
    ) {
        let by = || "Ada".to_owned();
        // One record, one content: the number tells everything about it.
        let raised: Vec<(Written, JobRaised)> = raised.iter().map(|(n, _)| {
            let wall_ms = i64::try_from(*n).unwrap() * 3;
            let body = JobRaised {
                station: code("T-07"),
                work: JobWork::StopLeak,
                cause: JobCause::Person,
                evidence: Vec::new(),
                note: String::new(),
                utc_offset_minutes: 0,
            };
            (Written { wall_ms, at: at(*n), by: by() }, body)
        }).collect();
        let closed: Vec<(Written, JobClosed)> = closed.iter().map(|(n, _, _)| {
            let body = JobClosed {
                job: at(n % 5),
                station: code("T-07"),
                end: JobEnd::NotNeeded,
                parts: Vec::new(),
                note: n.to_string(),
                utc_offset_minutes: 0,
            };
            (Written { wall_ms: i64::try_from(n % 3).unwrap(), at: at(*n), by: by() }, body)
        }).collect();
        let (mut other_raised, mut other_closed) = (raised.clone(), closed.clone());
        other_raised.reverse();
        other_closed.reverse();
        if !closed.is_empty() {
            other_closed.rotate_left(turn.index(closed.len()));
            other_closed.push(closed[0].clone());
        }
        other_raised.extend(raised.first().cloned());
        prop_assert_eq!(fold_jobs(raised, closed), fold_jobs(other_raised, other_closed));
    }
}
