//! The dates along a strip: few enough to be read, at moments people think in.

use chrono::{DateTime, Datelike as _, Days, FixedOffset, Months, NaiveDate};

use super::Span;

/// A date needs so much room, pixels.
const ROOM: f64 = 96.0;
/// No date stands nearer to an edge than this, pixels.
const MARGIN: f64 = 30.0;

/// A date along the strips.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeTick {
    /// From the left edge, pixels.
    pub x: f64,
    /// As printed.
    pub text: String,
}

#[derive(Clone, Copy)]
enum Step {
    Weeks(u64),
    Months(u32),
}

const STEPS: [Step; 9] = [
    Step::Weeks(1),
    Step::Weeks(2),
    Step::Months(1),
    Step::Months(2),
    Step::Months(3),
    Step::Months(6),
    Step::Months(12),
    Step::Months(24),
    Step::Months(60),
];

const DAY_MS: i64 = 86_400_000;

/// Dates over a span: Mondays, or the first days of months.
///
/// # Units
/// `width` in pixels; `offset` in minutes east of Greenwich.
#[must_use]
pub fn time_ticks(span: Span, width: f64, offset: i16) -> Vec<TimeTick> {
    let Some(zone) = FixedOffset::east_opt(i32::from(offset) * 60) else {
        return Vec::new();
    };
    let local = |ms| {
        Some(
            DateTime::from_timestamp_millis(ms)?
                .with_timezone(&zone)
                .date_naive(),
        )
    };
    let (Some(from), Some(to)) = (local(span.from_ms), local(span.to_ms)) else {
        return Vec::new();
    };
    #[allow(clippy::cast_precision_loss, reason = "days of some years")]
    let days = span.length_ms() as f64 / DAY_MS as f64;
    let fits = |step: &&Step| {
        let length = match step {
            Step::Weeks(weeks) => 7.0 * f64::from(u32::try_from(*weeks).unwrap_or(1)),
            Step::Months(months) => 30.4 * f64::from(*months),
        };
        days / length * ROOM <= width
    };
    let Some(step) = STEPS.iter().find(fits) else {
        return Vec::new();
    };
    let mut ticks = Vec::new();
    let mut date = first(*step, from);
    while let Some(at) = date.filter(|at| *at <= to) {
        let midnight = at.and_hms_opt(0, 0, 0).map(|time| time.and_utc());
        let ms = midnight.map(|time| time.timestamp_millis() - i64::from(offset) * 60_000);
        if let Some(x) = ms.map(|ms| span.x(ms, width))
            && (MARGIN..=width - MARGIN).contains(&x)
        {
            ticks.push(TimeTick {
                x,
                text: text(*step, at),
            });
        }
        date = match step {
            Step::Weeks(weeks) => at.checked_add_days(Days::new(7 * weeks)),
            Step::Months(months) => at.checked_add_months(Months::new(*months)),
        };
    }
    ticks
}

/// The first date of a step at or after `from`.
fn first(step: Step, from: NaiveDate) -> Option<NaiveDate> {
    match step {
        Step::Weeks(_) => {
            let to_monday = (7 - u64::from(from.weekday().num_days_from_monday())) % 7;
            from.checked_add_days(Days::new(to_monday))
        }
        Step::Months(months) => {
            let month = NaiveDate::from_ymd_opt(from.year(), from.month(), 1)?;
            let mut at = if month < from {
                month.checked_add_months(Months::new(1))?
            } else {
                month
            };
            // Whole years begin in January, half years in January and July, every other year is
            // an even one.
            let years = i32::try_from(months / 12).unwrap_or(1).max(1);
            while !at.month0().is_multiple_of(months.min(12)) || at.year() % years != 0 {
                at = at.checked_add_months(Months::new(1))?;
            }
            Some(at)
        }
    }
}

fn text(step: Step, at: NaiveDate) -> String {
    let form = match step {
        Step::Weeks(_) => "%-d %b",
        Step::Months(months) if months >= 12 => "%Y",
        Step::Months(_) if at.month() == 1 => "Jan %Y",
        Step::Months(_) => "%b",
    };
    at.format(form).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2026-11-24T00:00:00Z, a Tuesday.
    const TUESDAY_MS: i64 = 1_795_478_400_000;

    fn texts(weeks: i64, width: f64) -> Vec<String> {
        let span = Span {
            from_ms: TUESDAY_MS,
            to_ms: TUESDAY_MS + weeks * 7 * DAY_MS,
        };
        let ticks = time_ticks(span, width, 0);
        assert!(ticks.windows(2).all(|pair| pair[1].x - pair[0].x > 60.0));
        ticks.into_iter().map(|tick| tick.text).collect()
    }

    #[test]
    fn a_quarter_shows_mondays_and_a_year_months() {
        let quarter = texts(13, 860.0);
        assert_eq!(quarter[..2], ["30 Nov", "14 Dec"]);
        let year = texts(52, 860.0);
        assert_eq!(year[..3], ["Jan 2027", "Mar", "May"]);
        let long = texts(520, 860.0);
        assert_eq!(long[..2], ["2028", "2030"]);
    }

    #[test]
    fn a_narrow_or_absurd_span_has_no_dates() {
        assert!(texts(13, 10.0).is_empty());
        let span = Span {
            from_ms: i64::MIN,
            to_ms: i64::MAX,
        };
        assert!(time_ticks(span, 800.0, 0).is_empty());
    }
}
