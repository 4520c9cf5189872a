//! Calendars as ordinary calendar programs read them (RFC 5545): whole-day events, nothing else.
//!
//! The writer does escapes, folding and line ends, and knows nothing about stations. Everything in
//! the text follows from what it is given, so that the same data give the same bytes. Reading is
//! left to the programs that import; our tests read with a library of another author.

use std::fmt::Write as _;

use chrono::{DateTime, NaiveDate, Utc};

/// Octets of a line before the line end, at most (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;

/// A whole-day event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// Names it for good: an import with the same name replaces what was imported before.
    pub uid: String,
    /// Grows with every change of the event.
    pub sequence: u64,
    /// When the event was last changed, milliseconds since 1970.
    pub changed_ms: i64,
    /// The day, in the years 1 to 9999.
    pub day: NaiveDate,
    /// Whether it comes again each week.
    pub is_weekly: bool,
    /// One line.
    pub summary: String,
    /// Any number of lines.
    pub description: String,
    /// Where, or empty.
    pub location: String,
}

/// Writes a calendar. RFC 5545 asks for one event at least; that is for the caller to see to.
#[must_use]
pub fn calendar(name: &str, events: &[Event]) -> String {
    let mut out = String::new();
    let product = concat!("-//Winze//Winze ", env!("CARGO_PKG_VERSION"), "//EN");
    line(&mut out, "BEGIN:VCALENDAR");
    line(&mut out, "VERSION:2.0");
    line(&mut out, &format!("PRODID:{product}"));
    line(&mut out, "CALSCALE:GREGORIAN");
    line(&mut out, &format!("NAME:{}", escaped(name)));
    for event in events {
        write_event(&mut out, event);
    }
    line(&mut out, "END:VCALENDAR");
    out
}

fn write_event(out: &mut String, event: &Event) {
    let day = event.day.format("%Y%m%d");
    // A sequence number is a signed number of 32 bits (RFC 5545, 3.3.8).
    let sequence = event.sequence.min(i32::MAX as u64);
    let stamp = stamp(event.changed_ms);
    line(out, "BEGIN:VEVENT");
    line(out, &format!("UID:{}", escaped(&event.uid)));
    line(out, &format!("DTSTAMP:{stamp}"));
    line(out, &format!("LAST-MODIFIED:{stamp}"));
    line(out, &format!("SEQUENCE:{sequence}"));
    // Without an end a whole-day event lasts that day (RFC 5545, 3.6.1).
    line(out, &format!("DTSTART;VALUE=DATE:{day}"));
    if event.is_weekly {
        line(out, "RRULE:FREQ=WEEKLY");
    }
    line(out, &format!("SUMMARY:{}", escaped(&event.summary)));
    for (property, text) in [
        ("LOCATION", &event.location),
        ("DESCRIPTION", &event.description),
    ] {
        if !text.is_empty() {
            line(out, &format!("{property}:{}", escaped(text)));
        }
    }
    // It takes nobody's time: a due day is no appointment.
    line(out, "TRANSP:TRANSPARENT");
    line(out, "END:VEVENT");
}

/// A moment in UTC as RFC 5545 writes it; what no calendar of four-digit years has becomes the
/// nearest that it has.
fn stamp(unix_ms: i64) -> String {
    /// 0001-01-01T00:00:00Z and 9999-12-31T23:59:59Z, seconds since 1970.
    const YEARS: (i64, i64) = (-62_135_596_800, 253_402_300_799);
    let seconds = unix_ms.div_euclid(1000).clamp(YEARS.0, YEARS.1);
    DateTime::<Utc>::from_timestamp(seconds, 0)
        .unwrap_or_default()
        .format("%Y%m%dT%H%M%SZ")
        .to_string()
}

/// Text with the escapes of RFC 5545, 3.3.11. Other control characters have no place in a calendar
/// and become spaces.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' | ';' | ',' => {
                out.push('\\');
                out.push(letter);
            }
            '\r' if letters.peek() == Some(&'\n') => {}
            '\n' | '\r' => out.push_str("\\n"),
            control if control.is_control() => out.push(' '),
            other => out.push(other),
        }
    }
    out
}

/// Appends a content line, folded so that no line is longer than it may be and no letter is cut.
fn line(out: &mut String, content: &str) {
    let mut room = LINE_OCTETS;
    for letter in content.chars() {
        if letter.len_utf8() > room {
            out.push_str("\r\n ");
            room = LINE_OCTETS - 1;
        }
        out.push(letter);
        room -= letter.len_utf8();
    }
    // Writing to a string cannot fail.
    let _ = write!(out, "\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folded(content: &str) -> String {
        let mut out = String::new();
        line(&mut out, content);
        out
    }

    /// Check value F-2: RFC 5545, 3.1.
    #[test]
    fn f2_a_line_of_75_octets_stands_and_one_of_76_is_folded() {
        let whole = "X".repeat(75);
        assert_eq!(folded(&whole), format!("{whole}\r\n"));
        assert_eq!(
            folded(&"X".repeat(76)),
            format!("{}\r\n X\r\n", "X".repeat(75))
        );
        // Continuation lines count their leading space: 74 more fit.
        let three = folded(&"X".repeat(75 + 74 + 1));
        let lengths: Vec<usize> = three.trim_end().split("\r\n").map(str::len).collect();
        assert_eq!(lengths, [75, 75, 2]);
    }

    /// Check value F-2: 34 two-octet letters behind `SUMMARY:` would make 76 octets.
    #[test]
    fn f2_no_letter_is_cut_by_a_fold() {
        let out = folded(&format!("SUMMARY:{}", "\u{e4}".repeat(40)));
        let lines: Vec<&str> = out.trim_end().split("\r\n").collect();
        assert_eq!(lines[0].len(), 74);
        assert_eq!(
            lines[0]
                .chars()
                .filter(|letter| *letter == '\u{e4}')
                .count(),
            33
        );
        assert_eq!(lines[1].chars().count(), 1 + 7);
        assert_eq!(out.replace("\r\n ", "").trim_end().chars().count(), 8 + 40);
    }

    /// Check value F-2: RFC 5545, 3.3.11; the expected text was computed with the Python library
    /// `icalendar`.
    #[test]
    fn f2_text_is_escaped() {
        assert_eq!(
            escaped("Round; check A, B\\C\nnext: \"ok\""),
            "Round\\; check A\\, B\\\\C\\nnext: \"ok\""
        );
        assert_eq!(escaped("a\r\nb\rc\u{7}d"), "a\\nb\\nc d");
    }

    #[test]
    fn moments_outside_four_digit_years_are_brought_inside() {
        assert_eq!(stamp(0), "19700101T000000Z");
        assert_eq!(stamp(i64::MIN), "00010101T000000Z");
        assert_eq!(stamp(i64::MAX), "99991231T235959Z");
        assert_eq!(stamp(-1), "19691231T235959Z");
    }
}
