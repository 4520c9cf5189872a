//! Days and times in documents, in the zone of whoever recorded them.

use chrono::{DateTime, FixedOffset};

use super::name_or_none;
use crate::reports::Act;

fn local(wall_ms: i64, utc_offset_minutes: i16) -> Option<DateTime<FixedOffset>> {
    let zone = FixedOffset::east_opt(i32::from(utc_offset_minutes) * 60)?;
    Some(DateTime::from_timestamp_millis(wall_ms)?.with_timezone(&zone))
}

fn formed(wall_ms: i64, utc_offset_minutes: i16, form: &str) -> String {
    local(wall_ms, utc_offset_minutes).map_or_else(
        || "unknown day".to_owned(),
        |at| at.format(form).to_string(),
    )
}

/// "6 October 2026".
#[must_use]
pub fn date(act: &Act) -> String {
    formed(act.wall_ms, act.utc_offset_minutes, "%-d %B %Y")
}

/// "6 Oct 26".
#[must_use]
pub fn short_date(wall_ms: i64, utc_offset_minutes: i16) -> String {
    formed(wall_ms, utc_offset_minutes, "%-d %b %y")
}

/// "6 Oct 2026, 09:41".
#[must_use]
pub fn moment(act: &Act) -> String {
    formed(act.wall_ms, act.utc_offset_minutes, "%-d %b %Y, %H:%M")
}

/// The time alone on the day of `near`, else with the date.
#[must_use]
pub fn moment_near(act: &Act, near: &Act) -> String {
    let is_same_day = date(act) == date(near);
    let form = if is_same_day {
        "%H:%M"
    } else {
        "%-d %b, %H:%M"
    };
    formed(act.wall_ms, act.utc_offset_minutes, form)
}

/// "6 Oct 2026, 09:41 to 11:20".
#[must_use]
pub fn span(first: &Act, last: &Act) -> String {
    if first.wall_ms == last.wall_ms {
        moment(first)
    } else {
        format!("{} to {}", moment(first), moment_near(last, first))
    }
}

/// "6 October 2026, 09:41 (UTC+02:00), Ada".
#[must_use]
pub fn moment_and_person(act: &Act) -> String {
    let when = formed(act.wall_ms, act.utc_offset_minutes, "%-d %B %Y, %H:%M");
    format!(
        "{when} ({}), {}",
        zone(act.utc_offset_minutes),
        name_or_none(&act.by)
    )
}

fn zone(utc_offset_minutes: i16) -> String {
    if utc_offset_minutes == 0 {
        return "UTC".to_owned();
    }
    let sign = if utc_offset_minutes < 0 {
        '\u{2212}'
    } else {
        '+'
    };
    let minutes = utc_offset_minutes.unsigned_abs();
    format!("UTC{sign}{:02}:{:02}", minutes / 60, minutes % 60)
}
