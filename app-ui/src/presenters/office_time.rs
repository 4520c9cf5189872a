//! Days, times and weeks as the office writes them, from milliseconds and an offset.
//!
//! No clock is read here.

use crate::messages::counted;
use chrono::{DateTime, Datelike as _, Days, NaiveDate, NaiveDateTime, TimeDelta};

/// A week from Monday to Sunday in local time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Week {
    /// Its Monday.
    pub monday: NaiveDate,
    /// How far local time is ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl Week {
    /// The week that holds a moment, `back` weeks before it.
    ///
    /// # Units
    /// Milliseconds since 1970-01-01T00:00:00Z; minutes east of Greenwich.
    #[must_use]
    pub fn around(moment_ms: i64, utc_offset_minutes: i16, back: u32) -> Self {
        let day = local(moment_ms, utc_offset_minutes).date();
        let since_monday = u64::from(day.weekday().num_days_from_monday()) + 7 * u64::from(back);
        Self {
            monday: day.checked_sub_days(Days::new(since_monday)).unwrap_or(day),
            utc_offset_minutes,
        }
    }

    /// Its first moment, milliseconds since 1970.
    #[must_use]
    pub fn start_ms(&self) -> i64 {
        let midnight = self.monday.and_hms_opt(0, 0, 0).unwrap_or_default();
        midnight.and_utc().timestamp_millis() - i64::from(self.utc_offset_minutes) * 60_000
    }

    /// The first moment after it, milliseconds since 1970.
    #[must_use]
    pub fn end_ms(&self) -> i64 {
        self.start_ms() + 7 * 24 * 3_600_000
    }

    /// Whether a moment lies in it.
    #[must_use]
    pub fn holds(&self, moment_ms: i64) -> bool {
        (self.start_ms()..self.end_ms()).contains(&moment_ms)
    }

    /// "Week 47, 16 to 22 November 2026".
    #[must_use]
    pub fn title(&self) -> String {
        let sunday = self
            .monday
            .checked_add_days(Days::new(6))
            .unwrap_or(self.monday);
        let number = self.monday.iso_week().week();
        let from = if self.monday.month() == sunday.month() {
            self.monday.format("%-d").to_string()
        } else {
            self.monday.format("%-d %B").to_string()
        };
        format!("Week {number}, {from} to {}", sunday.format("%-d %B %Y"))
    }
}

fn local(moment_ms: i64, utc_offset_minutes: i16) -> NaiveDateTime {
    let utc = DateTime::from_timestamp_millis(moment_ms)
        .unwrap_or_default()
        .naive_utc();
    utc.checked_add_signed(TimeDelta::minutes(i64::from(utc_offset_minutes)))
        .unwrap_or(utc)
}

/// "Tue 17 Nov, 09:40".
#[must_use]
pub fn moment(moment_ms: i64, utc_offset_minutes: i16) -> String {
    local(moment_ms, utc_offset_minutes)
        .format("%a %-d %b, %H:%M")
        .to_string()
}

/// "17 Nov 2026, 09:40".
#[must_use]
pub fn moment_and_year(moment_ms: i64, utc_offset_minutes: i16) -> String {
    local(moment_ms, utc_offset_minutes)
        .format("%-d %b %Y, %H:%M")
        .to_string()
}

/// "17 Nov 2026".
#[must_use]
pub fn day(moment_ms: i64, utc_offset_minutes: i16) -> String {
    local(moment_ms, utc_offset_minutes)
        .format("%-d %b %Y")
        .to_string()
}

/// "17 Nov".
#[must_use]
pub fn short_day(moment_ms: i64, utc_offset_minutes: i16) -> String {
    local(moment_ms, utc_offset_minutes)
        .format("%-d %b")
        .to_string()
}

/// How far apart two moments are: "12 minutes", "3 hours", "2 days".
#[must_use]
pub fn apart(first_ms: i64, second_ms: i64) -> String {
    let minutes = first_ms.abs_diff(second_ms) / 60_000;
    let (number, one, many) = match minutes {
        0..=119 => (minutes, "minute", "minutes"),
        120..=2_879 => (minutes / 60, "hour", "hours"),
        _ => (minutes / 1_440, "day", "days"),
    };
    counted(number, one, many)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2026-11-17T09:40:00Z, a Tuesday; computed with `date -u -d ... +%s`.
    const TUESDAY_MS: i64 = 1_794_908_400_000;

    #[test]
    fn week_runs_from_monday_to_sunday_in_local_time() {
        let week = Week::around(TUESDAY_MS, 0, 0);
        assert_eq!(week.title(), "Week 47, 16 to 22 November 2026");
        assert!(week.holds(TUESDAY_MS));
        // Sunday 23:30 UTC is already Monday two hours east.
        let late_sunday = week.end_ms() - 30 * 60_000;
        assert!(week.holds(late_sunday));
        assert!(!Week::around(TUESDAY_MS, 120, 0).holds(late_sunday));
    }

    #[test]
    fn week_across_a_change_of_month_names_both() {
        let week = Week::around(TUESDAY_MS, 0, 3);
        assert_eq!(week.title(), "Week 44, 26 October to 1 November 2026");
        assert_eq!(week.end_ms() - week.start_ms(), 7 * 86_400_000);
    }

    #[test]
    fn moments_are_written_in_local_time() {
        assert_eq!(moment(TUESDAY_MS, 0), "Tue 17 Nov, 09:40");
        assert_eq!(moment(TUESDAY_MS, 120), "Tue 17 Nov, 11:40");
        assert_eq!(moment_and_year(TUESDAY_MS, -600), "16 Nov 2026, 23:40");
    }

    #[test]
    fn distance_is_told_in_the_unit_that_fits() {
        assert_eq!(apart(0, 60_000), "1 minute");
        assert_eq!(apart(0, 119 * 60_000), "119 minutes");
        assert_eq!(apart(3 * 3_600_000, 0), "3 hours");
        assert_eq!(apart(0, 3 * 86_400_000), "3 days");
    }
}
