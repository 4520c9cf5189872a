//! Local days, months and weeks.

use chrono::{Datelike, NaiveDate};

use super::day;
use crate::clock::{DAY_MS, MINUTE_MS};
use crate::upkeep::{
    Interval, Schedule, Task, Week, first_day, last_day, local_date, monday_of, sunday_of,
};

#[test]
fn months_end_where_the_shorter_month_ends() {
    let months = |n, text: &str| Interval::Months(n).after(day(text)).to_string();
    assert_eq!(months(1, "2026-01-31"), "2026-02-28");
    assert_eq!(months(1, "2024-01-31"), "2024-02-29");
    assert_eq!(months(12, "2024-02-29"), "2025-02-28");
    assert_eq!(months(48, "2024-02-29"), "2028-02-29");
    assert_eq!(months(12, "1900-02-28"), "1901-02-28");
    assert_eq!(months(13, "2026-08-31"), "2027-09-30");
    let before = |n, text: &str| Interval::Months(n).before(day(text)).to_string();
    assert_eq!(before(1, "2024-03-31"), "2024-02-29");
    // 2100 is no leap year, 2000 was one.
    assert_eq!(months(12, "2099-03-31"), "2100-03-31");
    assert_eq!(
        Interval::Days(1).after(day("2100-02-28")),
        day("2100-03-01")
    );
    assert_eq!(
        Interval::Days(1).after(day("2000-02-28")),
        day("2000-02-29")
    );
}

#[test]
fn a_local_day_is_the_one_on_the_wall_there_and_then() {
    // 2026-03-29T00:30Z; in central Europe clocks went from +1 h to +2 h at 01:00Z that day.
    let night = 20_541 * DAY_MS + 30 * MINUTE_MS;
    assert_eq!(local_date(night, 0), day("2026-03-29"));
    assert_eq!(local_date(night, 60), day("2026-03-29"));
    assert_eq!(local_date(night, -60), day("2026-03-28"));
    // 23:30 local before the change and 23:30 local after it are on their own days, with the
    // offsets kept beside them; with one offset for both, the first would slip.
    let saturday = 20_540 * DAY_MS + (22 * 60 + 30) * MINUTE_MS;
    let sunday = 20_541 * DAY_MS + (21 * 60 + 30) * MINUTE_MS;
    assert_eq!(local_date(saturday, 60), day("2026-03-28"));
    assert_eq!(local_date(sunday, 120), day("2026-03-29"));
    assert_eq!(local_date(saturday, 120), day("2026-03-29"));
}

#[test]
fn a_day_of_23_or_25_hours_moves_no_due_day() {
    // Done on the evening before clocks change, in each direction: counted from the date alone.
    for (wall_ms, offset, on) in [
        (20_540 * DAY_MS + 22 * 60 * MINUTE_MS, 60, "2026-03-28"),
        (20_750 * DAY_MS + 21 * 60 * MINUTE_MS, 120, "2026-10-24"),
    ] {
        let done = local_date(wall_ms, offset);
        assert_eq!(done, day(on));
        let window = Schedule::usual(Task::YearlyClean).window_after(done);
        assert_eq!(window.due, Interval::Months(12).after(day(on)));
        let week = Schedule::usual(Task::LookRound).window_after(done);
        assert_eq!(
            week.due,
            Interval::Days(2).after(day(on)),
            "the Monday after a Saturday"
        );
    }
}

#[test]
fn weeks_are_those_of_iso_8601() {
    assert_eq!(Week::of(day("2026-12-31")).to_string(), "2026-W53");
    assert_eq!(Week::of(day("2027-01-03")).to_string(), "2026-W53");
    assert_eq!(Week::of(day("2027-01-04")).to_string(), "2027-W01");
    assert_eq!(monday_of(day("2027-01-03")), day("2026-12-28"));
    assert_eq!(sunday_of(day("2026-12-28")), day("2027-01-03"));
}

#[test]
fn the_ends_of_the_calendar_do_no_harm() {
    assert_eq!(Interval::Months(60).after(last_day()), last_day());
    assert_eq!(
        Interval::Days(u32::MAX).after(day("2026-01-01")),
        last_day()
    );
    assert_eq!(
        Interval::Months(u32::MAX).after(day("2026-01-01")),
        last_day()
    );
    assert_eq!(
        Interval::Months(u32::MAX).before(day("2026-01-01")),
        first_day()
    );
    assert_eq!(Interval::Months(1).before(first_day()), first_day());
    for wall_ms in [i64::MIN, i64::MIN + 1, -1, 0, i64::MAX] {
        for offset in [i16::MIN, -1439, 0, 1439, i16::MAX] {
            let found = local_date(wall_ms, offset);
            assert!((1..=9999).contains(&found.year()), "{found}");
        }
    }
    for edge in [NaiveDate::MIN, first_day(), last_day(), NaiveDate::MAX] {
        let _ = (monday_of(edge), sunday_of(edge), Week::of(edge));
        for task in Task::ALL {
            let window = Schedule::usual(task).window_after(edge);
            assert!(window.earliest <= window.due && window.due <= window.latest);
        }
    }
}
