//! Days and times as people say them, in the local time the caller names.

use chrono::{DateTime, Datelike, FixedOffset};

/// Turns a wall time and a zone into a local moment; `None` far outside the calendar.
fn local(wall_ms: i64, utc_offset_minutes: i16) -> Option<DateTime<FixedOffset>> {
    let zone = FixedOffset::east_opt(i32::from(utc_offset_minutes) * 60)?;
    Some(DateTime::from_timestamp_millis(wall_ms)?.with_timezone(&zone))
}

/// Says a day: "Tuesday 24 November", with the year when it is not the year of `now_ms`.
///
/// # Units
/// Milliseconds since 1970-01-01T00:00:00Z; minutes east of Greenwich.
#[must_use]
pub fn day(wall_ms: i64, now_ms: i64, utc_offset_minutes: i16) -> String {
    let Some(moment) = local(wall_ms, utc_offset_minutes) else {
        return "an unknown day".to_owned();
    };
    let is_this_year =
        local(now_ms, utc_offset_minutes).is_some_and(|now| now.year() == moment.year());
    let form = if is_this_year {
        "%A %-d %B"
    } else {
        "%A %-d %B %Y"
    };
    moment.format(form).to_string()
}

/// Says a day without its weekday: "12 March", with the year when it is not the year of `now_ms`.
///
/// # Units
/// As [`day`].
#[must_use]
pub fn date(wall_ms: i64, now_ms: i64, utc_offset_minutes: i16) -> String {
    let said = day(wall_ms, now_ms, utc_offset_minutes);
    match said.split_once(' ') {
        Some((weekday, date)) if weekday.ends_with("day") => date.to_owned(),
        _ => said,
    }
}

/// Says a day shortly: "12 Mar", with the year when it is not the year of `now_ms`.
///
/// # Units
/// As [`day`].
#[must_use]
pub fn short_date(wall_ms: i64, now_ms: i64, utc_offset_minutes: i16) -> String {
    let said = date(wall_ms, now_ms, utc_offset_minutes);
    let short = |word: &str| {
        if word.chars().all(char::is_alphabetic) {
            word.chars().take(3).collect()
        } else {
            word.to_owned()
        }
    };
    if said.starts_with(|first: char| first.is_ascii_digit()) {
        said.split(' ').map(short).collect::<Vec<_>>().join(" ")
    } else {
        said
    }
}

/// Says a time of day: "09:41".
///
/// # Units
/// As [`day`].
#[must_use]
pub fn time(wall_ms: i64, utc_offset_minutes: i16) -> String {
    local(wall_ms, utc_offset_minutes)
        .map_or_else(String::new, |moment| moment.format("%H:%M").to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2026-11-24T08:41:00Z, a Tuesday.
    const TUESDAY_MS: i64 = 1_795_509_660_000;

    #[test]
    fn day_names_the_year_only_when_it_is_another() {
        assert_eq!(day(TUESDAY_MS, TUESDAY_MS, 0), "Tuesday 24 November");
        let next_year_ms = TUESDAY_MS + 200 * 86_400_000;
        assert_eq!(day(TUESDAY_MS, next_year_ms, 0), "Tuesday 24 November 2026");
    }

    #[test]
    fn date_goes_without_its_weekday() {
        assert_eq!(date(TUESDAY_MS, TUESDAY_MS, 0), "24 November");
        assert_eq!(date(TUESDAY_MS, 0, 0), "24 November 2026");
        assert_eq!(date(i64::MAX, 0, 0), "an unknown day");
        assert_eq!(short_date(TUESDAY_MS, TUESDAY_MS, 0), "24 Nov");
        assert_eq!(short_date(TUESDAY_MS, 0, 0), "24 Nov 2026");
        assert_eq!(short_date(i64::MAX, 0, 0), "an unknown day");
    }

    #[test]
    fn local_time_is_the_callers() {
        assert_eq!(time(TUESDAY_MS, 0), "08:41");
        assert_eq!(time(TUESDAY_MS, 120), "10:41");
        assert_eq!(day(TUESDAY_MS, TUESDAY_MS, -600), "Monday 23 November");
    }

    #[test]
    fn absurd_time_is_no_panic() {
        assert_eq!(day(i64::MAX, 0, 0), "an unknown day");
        assert_eq!(time(i64::MIN, i16::MAX), "");
    }
}
