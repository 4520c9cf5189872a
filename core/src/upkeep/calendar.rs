//! Days, weeks and months on the local calendar: no time of day, no zone, never a panic.
//!
//! A moment becomes a local date once, with the offset that was kept beside it; from there on only
//! dates are reckoned with, so that daylight saving cannot move anything. Dates stay within the
//! years 1 to 9999, which is what ISO 8601 and RFC 5545 can write with four digits; what would leave
//! that range stops at its end.

use chrono::{DateTime, Datelike, Days, Months, NaiveDate, TimeDelta};

/// The first day that is reckoned with, 0001-01-01.
#[must_use]
pub fn first_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(1, 1, 1).unwrap_or_default()
}

/// The last day that is reckoned with, 9999-12-31.
#[must_use]
pub fn last_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(9999, 12, 31).unwrap_or_default()
}

/// The same day, or the nearest one within the years 1 to 9999.
#[must_use]
pub fn within_calendar(day: NaiveDate) -> NaiveDate {
    day.clamp(first_day(), last_day())
}

/// The local date of a moment.
///
/// # Units
/// `unix_ms` milliseconds since 1970-01-01T00:00:00Z; `utc_offset_minutes` how far local time was
/// ahead of UTC then, not now: the two differ across a change of daylight saving.
#[must_use]
pub fn local_date(unix_ms: i64, utc_offset_minutes: i16) -> NaiveDate {
    let utc = DateTime::from_timestamp_millis(unix_ms).map(|moment| moment.naive_utc());
    let local = utc
        .and_then(|utc| utc.checked_add_signed(TimeDelta::minutes(i64::from(utc_offset_minutes))));
    match local {
        Some(local) => within_calendar(local.date()),
        None if unix_ms < 0 => first_day(),
        None => last_day(),
    }
}

/// A length on the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Interval {
    /// Whole days.
    Days(u32),
    /// Whole calendar months.
    Months(u32),
}

impl Interval {
    /// The day this much later; a month end stays a month end of the shorter month (31 January and
    /// one month is 28 or 29 February).
    ///
    /// # Source
    /// Own rule. Each step is taken from the day really done, never from the day before it, so that
    /// the shortening does not add up (31 January, 28 February, 28 March).
    #[must_use]
    pub fn after(self, day: NaiveDate) -> NaiveDate {
        let later = match self {
            Self::Days(days) => day.checked_add_days(Days::new(u64::from(days))),
            Self::Months(months) => day.checked_add_months(Months::new(months)),
        };
        within_calendar(later.unwrap_or_else(last_day))
    }

    /// The day this much earlier, with the same rule for month ends.
    #[must_use]
    pub fn before(self, day: NaiveDate) -> NaiveDate {
        let earlier = match self {
            Self::Days(days) => day.checked_sub_days(Days::new(u64::from(days))),
            Self::Months(months) => day.checked_sub_months(Months::new(months)),
        };
        within_calendar(earlier.unwrap_or_else(first_day))
    }
}

/// A week by ISO 8601: Monday to Sunday, belonging to the year that has its Thursday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Week {
    /// The year it belongs to, which is not always the year of each of its days.
    pub year: i32,
    /// Its number, 1 to 53.
    pub number: u32,
}

impl Week {
    /// The week a day lies in.
    #[must_use]
    pub fn of(day: NaiveDate) -> Self {
        let week = day.iso_week();
        Self {
            year: week.year(),
            number: week.week(),
        }
    }
}

/// ISO 8601: `2026-W53`.
impl std::fmt::Display for Week {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-W{:02}", self.year, self.number)
    }
}

/// Monday of the week a day lies in.
#[must_use]
pub fn monday_of(day: NaiveDate) -> NaiveDate {
    Interval::Days(day.weekday().num_days_from_monday()).before(day)
}

/// Sunday of the week a day lies in.
#[must_use]
pub fn sunday_of(day: NaiveDate) -> NaiveDate {
    Interval::Days(6).after(monday_of(day))
}
