//! When a row says it was taken: RFC 3339, a bare date, or a date and a time of day.
//!
//! A text with an offset means that instant. A text without one means local time at the site,
//! whose offset the caller gives (zero where nothing is known). A bare date stands at the start
//! of that day. Nothing is guessed: day-first and month-first dates are refused, because
//! `03/04/2025` has two meanings.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, TimeZone, Timelike, Utc};

/// How finely a moment was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Precision {
    /// A date only.
    Day,
    /// Hours and minutes.
    Minute,
    /// Seconds or finer.
    Second,
}

/// A moment as written: the instant, the offset it was read with, and how fine it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Moment {
    /// The instant, in the offset written or, where none was written, the site's.
    pub at: DateTime<FixedOffset>,
    /// How finely it was written.
    pub precision: Precision,
}

impl Moment {
    /// Milliseconds since 1970-01-01T00:00:00Z; negative before.
    #[must_use]
    pub fn unix_ms(&self) -> i64 {
        self.at.timestamp_millis()
    }
}

/// Why a text is not a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum MomentFault {
    /// Not one of the accepted shapes.
    #[error("not a date in one of the accepted shapes")]
    Shape,
    /// The right shape, but no such day in the calendar.
    #[error("no such day in the calendar")]
    NoSuchDay,
    /// The right shape, but no such time of day.
    #[error("no such time of day")]
    NoSuchTime,
    /// The right shape, but the offset is not one that exists.
    #[error("no such offset from universal time")]
    NoSuchOffset,
    /// A year outside 1900 to 2199, most likely a slip of the pen.
    #[error("a year outside 1900 to 2199")]
    Year,
}

/// Reads a moment from a cell; spaces around it are ignored.
///
/// Accepted: `2025-03-31`, `2025-03-31 07:45`, `2025-03-31 07:45:30`, the same with `T`, and
/// each of those with a time followed by `Z`, `+02:00`, `-0800` or `+02`.
///
/// # Errors
/// A [`MomentFault`] naming what is wrong.
///
/// # Source
/// RFC 3339 sections 5.6 and 5.7 for the full form; the shorter ones are this program's choice.
pub fn parse_moment(text: &str, site_offset: FixedOffset) -> Result<Moment, MomentFault> {
    let text = text.trim();
    if !text.is_ascii() || text.len() < 10 {
        return Err(MomentFault::Shape);
    }
    let (date, rest) = text.split_at(10);
    let day = parse_day(date)?;
    let Some(separator) = rest.chars().next() else {
        let start = day.and_time(NaiveTime::MIN);
        return moment(start, site_offset, Precision::Day);
    };
    if !matches!(separator, 'T' | 't' | ' ') {
        return Err(MomentFault::Shape);
    }
    let rest = rest[1..].trim_start();
    let clock_length = rest
        .find(|c: char| !(c.is_ascii_digit() || c == ':' || c == '.'))
        .unwrap_or(rest.len());
    let (clock, offset) = rest.split_at(clock_length);
    let (time, precision) = parse_clock(clock)?;
    let offset = match offset.trim() {
        "" => site_offset,
        written => parse_offset(written)?,
    };
    let moment = moment(day.and_time(time), offset, precision)?;
    let is_leap_second = time.nanosecond() >= 1_000_000_000;
    let utc = moment.at.with_timezone(&Utc);
    if is_leap_second && (utc.hour(), utc.minute()) != (23, 59) {
        return Err(MomentFault::NoSuchTime);
    }
    Ok(moment)
}

/// Reads a full RFC 3339 date-time: date, time with seconds, and an offset, none missing.
///
/// # Errors
/// A [`MomentFault`]; a text without seconds or without an offset is [`MomentFault::Shape`].
///
/// # Source
/// RFC 3339 section 5.6, `date-time`.
pub fn parse_rfc3339(text: &str) -> Result<DateTime<FixedOffset>, MomentFault> {
    let has_offset = text.ends_with(['Z', 'z'])
        || text.len() > 6
            && text.is_ascii()
            && text.as_bytes()[text.len() - 3] == b':'
            && matches!(text.as_bytes()[text.len() - 6], b'+' | b'-');
    let moment = parse_moment(
        text,
        FixedOffset::east_opt(0).ok_or(MomentFault::NoSuchOffset)?,
    )?;
    let is_full = has_offset && moment.precision == Precision::Second && text.len() >= 20;
    if is_full && text == text.trim() {
        Ok(moment.at)
    } else {
        Err(MomentFault::Shape)
    }
}

fn moment(
    local: NaiveDateTime,
    offset: FixedOffset,
    precision: Precision,
) -> Result<Moment, MomentFault> {
    let at = offset
        .from_local_datetime(&local)
        .single()
        .ok_or(MomentFault::NoSuchTime)?;
    Ok(Moment { at, precision })
}

fn parse_day(text: &str) -> Result<NaiveDate, MomentFault> {
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = *text.as_bytes() else {
        return Err(MomentFault::Shape);
    };
    let year = number(&[y1, y2, y3, y4])?;
    let (month, day) = (number(&[m1, m2])?, number(&[d1, d2])?);
    if !(1900..2200).contains(&year) {
        return Err(MomentFault::Year);
    }
    let year = i32::try_from(year).map_err(|_| MomentFault::Year)?;
    NaiveDate::from_ymd_opt(year, month, day).ok_or(MomentFault::NoSuchDay)
}

/// Reads `HH:MM`, `HH:MM:SS` or `HH:MM:SS.fraction`. Second 60 becomes a leap second.
fn parse_clock(text: &str) -> Result<(NaiveTime, Precision), MomentFault> {
    let (whole, fraction) = match text.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (text, None),
    };
    let bytes = whole.as_bytes();
    let (hour, minute, second) = match *bytes {
        [h1, h2, b':', m1, m2] if fraction.is_none() => {
            (number(&[h1, h2])?, number(&[m1, m2])?, None)
        }
        // Spreadsheets drop the first zero of the hour.
        [h, b':', m1, m2] if fraction.is_none() => (number(&[h])?, number(&[m1, m2])?, None),
        [h1, h2, b':', m1, m2, b':', s1, s2] => (
            number(&[h1, h2])?,
            number(&[m1, m2])?,
            Some(number(&[s1, s2])?),
        ),
        _ => return Err(MomentFault::Shape),
    };
    let nanoseconds = fraction.map_or(Ok(0), parse_fraction)?;
    let (second_kept, leap) = match second {
        Some(60) => (59, 1_000_000_000),
        other => (other.unwrap_or(0), 0),
    };
    let time = NaiveTime::from_hms_nano_opt(hour, minute, second_kept, nanoseconds + leap)
        .ok_or(MomentFault::NoSuchTime)?;
    Ok((
        time,
        if second.is_some() {
            Precision::Second
        } else {
            Precision::Minute
        },
    ))
}

/// Nanoseconds of a decimal fraction of a second; digits past the ninth are dropped.
fn parse_fraction(digits: &str) -> Result<u32, MomentFault> {
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(MomentFault::Shape);
    }
    let kept = digits.bytes().chain(std::iter::repeat(b'0')).take(9);
    Ok(kept.fold(0, |sum, byte| sum * 10 + u32::from(byte - b'0')))
}

fn parse_offset(text: &str) -> Result<FixedOffset, MomentFault> {
    if text.eq_ignore_ascii_case("z") {
        return FixedOffset::east_opt(0).ok_or(MomentFault::NoSuchOffset);
    }
    let (sign, hours, minutes) = match *text.as_bytes() {
        [sign, h1, h2, b':', m1, m2] | [sign, h1, h2, m1, m2] => {
            (sign, number(&[h1, h2])?, number(&[m1, m2])?)
        }
        [sign, h1, h2] => (sign, number(&[h1, h2])?, 0),
        _ => return Err(MomentFault::Shape),
    };
    if hours > 23 || minutes > 59 {
        return Err(MomentFault::NoSuchOffset);
    }
    let seconds =
        i32::try_from(hours * 3600 + minutes * 60).map_err(|_| MomentFault::NoSuchOffset)?;
    match sign {
        b'+' => FixedOffset::east_opt(seconds),
        b'-' => FixedOffset::west_opt(seconds),
        _ => return Err(MomentFault::Shape),
    }
    .ok_or(MomentFault::NoSuchOffset)
}

/// Reads an offset as given on a command line: `Z`, `+02:00`, `-0800`, `+02`.
///
/// # Errors
/// [`MomentFault::Shape`] or [`MomentFault::NoSuchOffset`].
pub fn parse_site_offset(text: &str) -> Result<FixedOffset, MomentFault> {
    parse_offset(text.trim())
}

fn number(digits: &[u8]) -> Result<u32, MomentFault> {
    digits.iter().try_fold(0_u32, |sum, &byte| {
        byte.is_ascii_digit()
            .then(|| sum * 10 + u32::from(byte - b'0'))
            .ok_or(MomentFault::Shape)
    })
}

#[cfg(test)]
mod tests {
    use chrono::FixedOffset;

    use super::{MomentFault, Precision, parse_moment, parse_rfc3339, parse_site_offset};

    fn utc() -> FixedOffset {
        FixedOffset::east_opt(0).unwrap()
    }

    fn unix_ms(text: &str) -> i64 {
        parse_rfc3339(text).unwrap().timestamp_millis()
    }

    /// Inputs and instants printed in RFC 3339 section 5.8; Unix seconds worked out by calendar.
    #[test]
    fn f4_examples_of_rfc_3339_give_their_instants() {
        let cases = [
            ("1985-04-12T23:20:50.52Z", 482_196_050_520),
            ("1996-12-19T16:39:57-08:00", 851_042_397_000),
            ("1996-12-20T00:39:57Z", 851_042_397_000),
            ("1937-01-01T12:00:27.87+00:20", -1_041_337_172_130),
            ("1937-01-01T11:40:27.87Z", -1_041_337_172_130),
        ];
        for (text, expected) in cases {
            assert_eq!(unix_ms(text), expected, "{text}");
        }
    }

    #[test]
    fn f4_leap_seconds_written_in_two_offsets_are_one_instant() {
        let a = parse_rfc3339("1990-12-31T23:59:60Z").unwrap();
        let b = parse_rfc3339("1990-12-31T15:59:60-08:00").unwrap();
        assert_eq!(a, b);
        assert_eq!(
            parse_rfc3339("1990-12-31T12:30:60Z"),
            Err(MomentFault::NoSuchTime)
        );
    }

    #[test]
    fn f4_unknown_offset_is_universal_time() {
        assert_eq!(unix_ms("2025-01-01T00:00:00-00:00"), 1_735_689_600_000);
    }

    #[test]
    fn f4_what_rfc_3339_forbids_is_refused() {
        let cases = [
            ("2025-13-01T00:00:00Z", MomentFault::NoSuchDay),
            ("2023-02-29T00:00:00Z", MomentFault::NoSuchDay),
            ("2025-01-01T00:00:00", MomentFault::Shape),
            ("2025-01-01T00:00Z", MomentFault::Shape),
            ("2025-01-01", MomentFault::Shape),
            ("2025-01-01T24:00:00Z", MomentFault::NoSuchTime),
            ("2025-01-01T00:60:00Z", MomentFault::NoSuchTime),
            ("2025-01-01T00:00:00.Z", MomentFault::Shape),
            ("2025-01-01T00:00:00+24:00", MomentFault::NoSuchOffset),
            ("2025-01-01T00:00:00+0200", MomentFault::Shape),
        ];
        for (text, expected) in cases {
            assert_eq!(parse_rfc3339(text), Err(expected), "{text}");
        }
    }

    #[test]
    fn text_without_offset_is_local_to_the_site() {
        let site = parse_site_offset("+02:00").unwrap();
        for text in [
            "2025-03-31 07:45",
            "2025-03-31 7:45",
            "2025-03-31T07:45",
            " 2025-03-31  07:45:00 ",
        ] {
            let moment = parse_moment(text, site).unwrap();
            assert_eq!(
                moment.at.to_rfc3339(),
                "2025-03-31T07:45:00+02:00",
                "{text}"
            );
        }
        let written = parse_moment("2025-03-31T07:45Z", site).unwrap();
        assert_eq!(written.at.to_rfc3339(), "2025-03-31T07:45:00+00:00");
        assert_eq!(written.precision, Precision::Minute);
    }

    #[test]
    fn bare_date_is_the_start_of_the_day_at_the_site() {
        let moment = parse_moment("2024-02-29", parse_site_offset("-0330").unwrap()).unwrap();
        assert_eq!(moment.at.to_rfc3339(), "2024-02-29T00:00:00-03:30");
        assert_eq!(moment.precision, Precision::Day);
    }

    #[test]
    fn other_shapes_are_refused_and_never_guessed() {
        let cases = [
            "",
            "yesterday",
            "03/04/2025",
            "3.4.2025",
            "2025/03/31",
            "20250331",
            "2025-3-31",
            "2025-03-31x",
            "2025-03-31 7:4",
            "2025-03-31 07.45",
            "2025-03-31 07:45 CET",
            "45747",
            "2025-03-31 07:45 +2:00",
            "２０２５-03-31",
        ];
        for text in cases {
            assert_eq!(parse_moment(text, utc()), Err(MomentFault::Shape), "{text}");
        }
        assert_eq!(parse_moment("0025-03-31", utc()), Err(MomentFault::Year));
        assert_eq!(
            parse_moment("2025-02-30", utc()),
            Err(MomentFault::NoSuchDay)
        );
        assert_eq!(
            parse_moment("2025-02-20 25:00", utc()),
            Err(MomentFault::NoSuchTime)
        );
    }
}
