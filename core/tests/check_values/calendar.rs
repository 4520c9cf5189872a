//! Weeks and recurrences: F-5 and F-3. Our own arithmetic has no rule language; here it reproduces
//! the published rules that come at a fixed distance. All eighteen are expanded in
//! `tests/it/due_calendar.rs` with the library that reads our calendars back.

use chrono::{Datelike, NaiveDate};
use winze_core::upkeep::{Interval, Schedule, Task, Week, monday_of, sunday_of};

use crate::rows;

/// ISO 8601 week dates; computed with Python `datetime.date.isocalendar`.
const WEEKS: &str = include_str!("../data/iso-weeks.csv");
/// Examples of RFC 5545, 3.8.5.3, and own rules; dates computed with python-dateutil.
const RULES: &str = include_str!("../data/rrule.csv");

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

#[test]
fn f_5_iso_8601_weeks() {
    let table = rows(WEEKS);
    assert_eq!(table.len(), 41);
    for row in table {
        let date = day(&row[0]);
        let number = |place: usize| -> i32 { row[place].parse().expect("a number") };
        let week = Week::of(date);
        assert_eq!(week.year, number(1), "{date}");
        assert_eq!(i64::from(week.number), i64::from(number(2)), "{date}");
        let weekday = date.weekday().number_from_monday();
        assert_eq!(format!("{week}-{weekday}"), row[4], "{date}");
        // The week is seven days around the date, all of which carry the same number.
        let (monday, sunday) = (monday_of(date), sunday_of(date));
        assert_eq!((sunday - monday).num_days(), 6, "{date}");
        assert_eq!((Week::of(monday), Week::of(sunday)), (week, week), "{date}");
        assert_eq!((date - monday).num_days() + 1, i64::from(weekday), "{date}");
    }
}

/// 2004 2009 2015 2020 2026 2032 2037 2043 2048 among 2000 to 2050, and 71 in 400 years.
#[test]
fn f_5_years_of_53_weeks() {
    let has_53 = |year: &i32| {
        // 28 December always lies in the last week of its year.
        let end = NaiveDate::from_ymd_opt(*year, 12, 28).expect("a day");
        Week::of(end).number == 53
    };
    let found: Vec<i32> = (2000..=2050).filter(has_53).collect();
    assert_eq!(
        found,
        [2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048]
    );
    assert_eq!((2000..2400).filter(has_53).count(), 71);
}

/// Rules that only repeat at a fixed distance, and what they come to.
fn plain_rules() -> Vec<(String, NaiveDate, Interval, Vec<NaiveDate>)> {
    rows(RULES)
        .into_iter()
        .filter_map(|row| {
            let part = |name: &str| {
                let start = format!("{name}=");
                row[2]
                    .split(';')
                    .find_map(|part| part.strip_prefix(&start).map(str::to_owned))
            };
            let every: u32 = part("INTERVAL").map_or(1, |text| text.parse().expect("a number"));
            let first = row[1].split('T').next().map(day)?;
            let by_other_than_its_own_day = part("BYDAY").is_some_and(|days| days != "MO")
                || ["BYMONTH", "BYYEARDAY", "BYWEEKNO", "BYMONTHDAY"]
                    .iter()
                    .any(|name| part(name).is_some());
            let interval = match part("FREQ")?.as_str() {
                _ if by_other_than_its_own_day => return None,
                "WEEKLY" => Interval::Days(7 * every),
                "YEARLY" => Interval::Months(12 * every),
                _ => return None,
            };
            let dates = row[4].split_whitespace().map(day).collect();
            Some((row[0].clone(), first, interval, dates))
        })
        .collect()
}

#[test]
fn f_3_rules_at_a_fixed_distance() {
    let rules = plain_rules();
    let mut checked = 0;
    for (source, first, interval, dates) in rules {
        if source.contains("leap day") {
            continue;
        }
        let mut found = first;
        for date in dates {
            assert_eq!(found, date, "{source}");
            found = interval.after(found);
        }
        checked += 1;
    }
    assert_eq!(
        checked, 5,
        "two weekly, one fortnightly, New Year, three-yearly"
    );
}

/// A rule that starts on 29 February leaves out the years that have none. Upkeep must not: what was
/// done on a leap day is due a year later on 28 February.
#[test]
fn f_3_a_leap_day_is_not_skipped_by_upkeep() {
    let leap = plain_rules();
    let (_, first, interval, dates) = leap
        .iter()
        .find(|rule| rule.0.contains("leap day"))
        .expect("the rule");
    assert_eq!(dates[1], day("2028-02-29"), "what the rule says");
    assert_eq!(
        interval.after(*first),
        day("2025-02-28"),
        "what upkeep does"
    );
    assert_eq!(Interval::Months(48).after(*first), dates[1]);
}

/// Weekly Mondays over New Year 2026/27: 14, 21, 28 December, 4, 11, 18 January.
#[test]
fn f_3_the_weekly_round_goes_through_week_53() {
    let (_, first, _, dates) = plain_rules()
        .into_iter()
        .find(|rule| rule.0.contains("weekly round"))
        .expect("the rule");
    assert_eq!(first, dates[0]);
    let mut done = first;
    for monday in dates.iter().skip(1) {
        let window = Schedule::usual(Task::LookRound).window_after(done);
        assert_eq!(window.due, *monday);
        // Whatever day of the week it is done on, the next is a week on.
        done = window.latest;
    }
}
