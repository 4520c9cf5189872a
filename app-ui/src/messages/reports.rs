//! What stands in certificates and sheets: every title, label and sentence of them.
//!
//! Names are called typed, never signed: what is signed are records, by the key of their logbook.

use chrono::{Datelike as _, NaiveDate};
use winze_core::station::{Gauge, StationCode};
use winze_core::units::decimal_to_f64;
use winze_core::upkeep::local_date;
use winze_core::verdict::{Basis, Verdict};
use winze_sync_format::Decimal;

use super::number::{percent, significant};
use super::{UserMessage, counted};
use crate::reports::figures::Dial;
use crate::reports::{Act, Draw, Ending, ReportError, StepState, WorkDone, WorkKind};

pub use labels::*;
pub use moments::*;

mod labels;
mod moments;

/// A document that was not written.
#[must_use]
pub fn report_failed(error: &ReportError) -> UserMessage {
    UserMessage::new(
        format!("The document could not be made: {error}."),
        "Nothing was written; the records are safe.",
        "Report this to whoever looks after Winze here.",
    )
}

/// What a document is called.
#[must_use]
pub const fn title(kind: WorkKind) -> &'static str {
    match kind {
        WorkKind::SetUp => "Set-up certificate",
        WorkKind::Recalibration => "Recalibration sheet",
        WorkKind::YearlyClean => "Yearly report",
        WorkKind::Inspection => "Internal inspection report",
    }
}

/// The name of a document's file: kind, station and day, so that a folder sorts itself.
#[must_use]
pub fn file_name(work: &WorkDone) -> String {
    let act = work
        .closed
        .as_ref()
        .map_or(&work.opened, |closed| &closed.act);
    let day = local_date(act.wall_ms, act.utc_offset_minutes);
    paper_name(work.kind, &work.station.code, day)
}

/// The same from what it is made of.
#[must_use]
pub fn paper_name(kind: WorkKind, station: &StationCode, day: NaiveDate) -> String {
    // A code may hold what no file name may.
    let station: String = station
        .as_str()
        .chars()
        .map(|letter| {
            if letter.is_alphanumeric() {
                letter
            } else {
                '-'
            }
        })
        .collect();
    format!("{}-{station}-{}.pdf", kind.code(), day.format("%Y-%m-%d"))
}

/// The name of the file of a week's sheet, by the week's Monday.
#[must_use]
pub fn week_file_name(monday: NaiveDate) -> String {
    format!("week-{}.pdf", week_code(monday))
}

/// "2026-W41", by ISO 8601.
#[must_use]
pub fn week_code(monday: NaiveDate) -> String {
    let week = monday.iso_week();
    format!("{}-W{:02}", week.year(), week.week())
}

/// What the line of the work in the history is called.
#[must_use]
pub fn work_line(kind: WorkKind) -> String {
    match kind {
        WorkKind::SetUp => "set up",
        WorkKind::Recalibration => "recalibrated",
        WorkKind::YearlyClean => "cleaned",
        WorkKind::Inspection => "inspected",
    }
    .to_owned()
}

/// What a document is about, for the properties of the file.
#[must_use]
pub fn about(kind: WorkKind, subject: &str, date: &str) -> String {
    format!(
        "{} of the two-stage pressure reducing station {subject}, {date}",
        title(kind)
    )
}

/// The head of every page but the first.
#[must_use]
pub fn running(subject: &str, date: &str) -> String {
    format!("{subject}, {date}")
}

/// What the week's sheet is about.
#[must_use]
pub fn week_about(label: &str, week: &str) -> String {
    format!("Readings, findings and what falls due, {week}, {label}")
}

/// What the due list is about.
#[must_use]
pub fn due_about(label: &str, day: &str) -> String {
    format!("What is due and which jobs are open, {day}, {label}")
}

/// "3 jobs open".
#[must_use]
pub fn jobs_open(count: usize) -> String {
    format!("{} open", counted(count as u64, "job", "jobs"))
}

/// "9 of 12 stations read".
#[must_use]
pub fn stations_read(read: usize, total: usize) -> String {
    format!(
        "{read} of {} read",
        counted(total as u64, "station", "stations")
    )
}

/// A reading older than the week.
#[must_use]
pub fn before_the_week(when: &str) -> String {
    format!("before the week: {when}")
}

/// "page 2 of 3".
#[must_use]
pub fn page_of(number: usize, count: usize) -> String {
    format!("page {number} of {count}")
}

/// What the code shows, for whoever cannot see it.
#[must_use]
pub fn code_alt(id_of: &str, id: &str) -> String {
    format!("QR code of the {id_of} {id}")
}

/// What the dials show, for whoever cannot see them.
#[must_use]
pub fn dials_alt(dials: &[Dial]) -> String {
    let one = |dial: &Dial| {
        let shown = |shown: &Option<crate::reports::figures::Shown>| {
            shown
                .as_ref()
                .map_or(NOT_READ.to_owned(), |shown| shown.text.clone())
        };
        format!(
            "{}: {AS_FOUND} {}, {AS_LEFT} {}",
            dial.title,
            shown(&dial.found),
            shown(&dial.left)
        )
    };
    dials.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// What the chart of turns shows.
#[must_use]
pub fn turns_alt(texts: &[String], set_point: &str) -> String {
    format!(
        "Outlet pressure after each turn of the screw, set point {set_point}: {}",
        texts.join(", ")
    )
}

/// What the history shows.
#[must_use]
pub fn history_alt(visits: usize) -> String {
    format!(
        "Inlet, interstage and outlet pressure over {} before and after the work",
        counted(visits as u64, "visit", "visits")
    )
}

/// How the work ended, for the head of the first page.
#[must_use]
pub fn ended(ending: Ending, act: &Act) -> String {
    let word = match ending {
        Ending::Completed => "Completed",
        Ending::Abandoned => "Given up",
    };
    format!("{word} {}", date(act))
}

/// The label of the end.
#[must_use]
pub const fn ended_label(ending: Ending) -> &'static str {
    match ending {
        Ending::Completed => "completed",
        Ending::Abandoned => "given up",
    }
}

/// "2 steps passed over, with the reasons below".
#[must_use]
pub fn steps_passed_over(count: usize) -> String {
    let steps = counted(count as u64, "step", "steps");
    let reasons = if count == 1 { "reason" } else { "reasons" };
    format!("{steps} passed over, with the {reasons} below")
}

/// "3 steps not done".
#[must_use]
pub fn steps_open(count: usize) -> String {
    format!("{} not done", counted(count as u64, "step", "steps"))
}

/// How the gauges stand as left.
#[must_use]
pub fn as_left_state(worst: Verdict, gauges: &str) -> String {
    match worst {
        Verdict::Within => "As left: within, every gauge that was read".to_owned(),
        Verdict::Unsure => format!("As left: unsure, too close to a limit to tell ({gauges})"),
        Verdict::Outside => format!("As left: outside ({gauges})"),
    }
}

/// "2.00 bar ± 0.10 bar".
#[must_use]
pub fn plus_minus(value: &str, half: &str) -> String {
    format!("{value} \u{b1} {half}")
}

/// "1.0 bar to 5.0 bar".
#[must_use]
pub fn range(low: &str, high: &str) -> String {
    format!("{low} to {high}")
}

/// The nominal ratio and its tolerance.
#[must_use]
pub fn ratio(ratio: Decimal, tolerance_percent: Decimal) -> String {
    format!("{ratio} \u{b1} {tolerance_percent} %")
}

/// What was noted at the end.
#[must_use]
pub fn closing_note(note: &str) -> String {
    format!("Noted at the end: {}", quoted(note))
}

/// Span and class of a gauge.
#[must_use]
pub fn gauge_facts(gauge: &Gauge) -> String {
    let class = gauge.grade.map_or_else(
        || format!("class {}", gauge.class),
        |grade| format!("grade {}", grade.code()),
    );
    format!(
        "{}\u{2013}{} {}, {class}",
        significant_span(gauge.low.digits),
        significant_span(gauge.high.digits),
        gauge.unit().symbol()
    )
}

fn significant_span(digits: Decimal) -> String {
    let value = decimal_to_f64(digits);
    if value.fract().abs() < 1.0e-9 {
        format!("{value:.0}")
    } else {
        digits.to_string()
    }
}

/// The reading at the datum of the station.
#[must_use]
pub fn at_datum(amount: &str) -> String {
    format!("{amount} at datum")
}

/// What a band rests on.
#[must_use]
pub fn basis(basis: Basis, ratio: Option<f64>) -> String {
    let by_ratio = |what: &str| match ratio {
        Some(ratio) => format!("{what} / {}", significant(ratio, 3)),
        None => what.to_owned(),
    };
    match basis {
        Basis::UsualRange => "usual range".to_owned(),
        Basis::NominalRatio => by_ratio("inlet"),
        Basis::AsLeftRatio => format!("{}, as left", by_ratio("inlet")),
        Basis::UsualRangeThroughRatio => by_ratio("usual inlet"),
        Basis::SetPoint => "set point".to_owned(),
        Basis::FollowsInterstage => "follows interstage".to_owned(),
        Basis::LockUp => "no flow: lock-up".to_owned(),
    }
}

/// How probably the true value lies in the band.
#[must_use]
pub fn in_band(probability: f64) -> String {
    // 99.99 % is no certainty, and 0.004 % no impossibility.
    match probability {
        p if p > 0.999 => "over 99.9 %".to_owned(),
        p if p < 0.001 => "under 0.1 %".to_owned(),
        // Close to certainty a place more keeps 99.8 % apart from all.
        p if p > 0.99 => format!("{:.1} %", p * 100.0),
        p => percent(p),
    }
}

/// How far the factory set point lies from the one required.
#[must_use]
pub fn away_from_required(difference: &str) -> String {
    format!("{difference} from the set point required")
}

/// What was decided on the set point.
#[must_use]
pub const fn decided(keeps: Option<bool>) -> &'static str {
    match keeps {
        Some(true) => "kept as it came",
        Some(false) => "set anew, the screw backed off first",
        None => "not recorded",
    }
}

/// How much was drawn.
#[must_use]
pub const fn draw(draw: Draw) -> &'static str {
    match draw {
        Draw::Usual => "usual",
        Draw::Minimum => "smallest",
    }
}

/// "1.42 bar to 2.00 bar".
#[must_use]
pub fn from_to(from: &str, to: &str) -> String {
    format!("{from} to {to}")
}

/// "0.15 turns".
#[must_use]
pub fn turns_of(turns: &str) -> String {
    format!("{turns} turns")
}

/// A value and the ends of its interval.
#[must_use]
pub fn with_interval(value: &str, low: &str, high: &str) -> String {
    format!("{value} (95 %: {low} to {high})")
}

/// What stands over the scale of the outlet.
#[must_use]
pub fn outlet_in(unit: &str) -> String {
    format!("outlet, {unit}")
}

/// The label of the set point in the chart.
#[must_use]
pub fn set_point_label(set_point: &str) -> String {
    format!("set point {set_point} and its allowed band")
}

/// "12 records".
#[must_use]
pub fn records(count: usize) -> String {
    counted(count as u64, "record", "records")
}

/// A record of a step that goes on.
#[must_use]
pub fn record_going_on(title: &str) -> String {
    format!("{title}: going on")
}

/// A record of a step that was passed over.
#[must_use]
pub fn record_passed_over(title: &str) -> String {
    format!("{title}: passed over")
}

/// A record that takes a step back.
#[must_use]
pub fn record_undone(title: &str) -> String {
    format!("{title}: taken back")
}

/// Something measured.
#[must_use]
pub fn measured(what: &str, value: &str) -> String {
    format!("{what} {value}")
}

/// What the figures of the program said at a step.
#[must_use]
pub fn figure_said(code: &str, is_stop: bool) -> String {
    let word = if is_stop { "stop and ask" } else { "note" };
    format!("{word}: {}", code.replace('-', " "))
}

/// Why the work went on although the figures said stop.
#[must_use]
pub fn despite(reason: &str) -> String {
    format!("gone on all the same: {reason}")
}

/// A part used.
#[must_use]
pub fn part(what: &str, count: u32) -> String {
    format!("{what}, {count}")
}

/// The record of the end.
#[must_use]
pub fn record_closed(ending: Ending) -> String {
    match ending {
        Ending::Completed => "work completed",
        Ending::Abandoned => "work given up",
    }
    .to_owned()
}

/// How a step stands.
#[must_use]
pub const fn step_state(state: &StepState) -> &'static str {
    match state {
        StepState::Done => "done",
        StepState::PassedOver { .. } => "passed over",
        StepState::TakenBack { .. } => "taken back",
        StepState::GoingOn => "going on",
        StepState::Disputed => "disputed",
        StepState::Open => "not done",
    }
}

/// A reason as typed.
#[must_use]
pub fn because(reason: &str) -> String {
    format!("reason: {}", reason_or_none(reason))
}

/// A reason, or that none was given.
#[must_use]
pub const fn reason_or_none(reason: &str) -> &str {
    if reason.is_empty() {
        "none given"
    } else {
        reason
    }
}

/// Why a step was done out of its order.
#[must_use]
pub fn out_of_order(reason: &str) -> String {
    format!("out of order: {reason}")
}

/// Where a caution stands.
#[must_use]
pub fn at_steps(steps: &[usize]) -> String {
    let numbers: Vec<String> = steps.iter().map(ToString::to_string).collect();
    let noun = if steps.len() == 1 { "step" } else { "steps" };
    format!("{noun} {}", numbers.join(", "))
}

/// Words somebody typed.
#[must_use]
pub fn quoted(text: &str) -> String {
    format!("\u{201c}{text}\u{201d}")
}

/// A name, or that there is none.
#[must_use]
pub const fn name_or_none(name: &str) -> &str {
    if name.is_empty() { "no name" } else { name }
}

/// A logbook's name, or that it has none here.
#[must_use]
pub const fn log_or_none(name: &str) -> &str {
    if name.is_empty() { "unknown" } else { name }
}
