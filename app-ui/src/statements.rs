//! What a record says, in plain sentences: for `winze show` and for lists of records.
//!
//! The words are for reading; nothing is ever parsed back from them.

use chrono::{DateTime, FixedOffset, TimeZone as _, Utc};
use winze_core::query::RecordView;
use winze_core::record::{
    AskedDoubt, Body, Choice, Correction, DoubtReply, Reading, Role, Shown, SkipReason, Source,
    Tick,
};
use winze_core::station::{Quantity, Station, StationCode};
use winze_core::verdict::{Entry, FlowState, StationState};
use winze_sync_format::{ClockReading, ClockStatus, LogId, RecordRef};

use crate::messages::watch;
use crate::presenters::words;

mod picture;
mod procedure;
mod standing;
mod succession;
mod upkeep;

pub use standing::counts;

/// Says what a body says.
#[must_use]
pub fn body(body: &Body) -> Vec<String> {
    match body {
        Body::LogOpened(opened) => {
            vec![format!(
                "Opens {} logbook \"{}\".",
                role_with_article(opened.role),
                opened.label
            )]
        }
        Body::Enrolment(enrolment) => vec![
            format!(
                "Lets logbook {} count as {} \"{}\".",
                enrolment.log.short(),
                role_with_article(enrolment.role),
                enrolment.name
            ),
            format!("Its words: {}.", enrolment.log.words().join(" ")),
        ],
        Body::Revocation(revocation) => {
            let log = revocation.log.short();
            let reach = match revocation.last_seq {
                Some(last) => format!("Lets logbook {log} count no further than record {last}."),
                None => format!("Lets nothing of logbook {log} count any more."),
            };
            with_quote(vec![reach], "Reason", &revocation.reason)
        }
        Body::StationRevision(station) => station_revision(station),
        Body::RoundOpened(round) => vec![
            format!(
                "Opens the round \"{}\" of {}.",
                round.title,
                words::count(round.stations.len() as u64, "station", "stations")
            ),
            format!("In walking order: {}.", codes(&round.stations)),
        ],
        Body::RoundClosed(round) => with_quote(
            vec![format!("Closes round {}.", named(&round.round))],
            "Note",
            &round.note,
        ),
        Body::StationSkipped(skipped) => with_quote(
            vec![format!(
                "Station {} was passed by: {}.",
                skipped.station,
                skip_reason(skipped.reason)
            )],
            "Note",
            &skipped.note,
        ),
        Body::Reading(body) => reading(body),
        Body::Correction(body) => correction(body),
        Body::CheckAnswered(answer) => {
            let said = if answer.is_yes { "yes" } else { "no" };
            let lines = vec![format!(
                "Answers a check at station {}: {}; the answer is {said}.",
                answer.station,
                watch::check(answer.check)
            )];
            with_quote(lines, "Note", &answer.note)
        }
        Body::JobRaised(body) => upkeep::job_raised(body),
        Body::JobClosed(body) => upkeep::job_closed(body),
        Body::TaskDone(body) => upkeep::task_done(body),
        Body::LogContinued(body) => succession::log_continued(body),
        Body::OfficeReplaced(body) => succession::office_replaced(body),
        Body::ClockObserved(body) => succession::clock_observed(body),
        Body::Answer(answer) => {
            let station = answer.station.as_ref();
            let about = station.map_or_else(String::new, |code| format!(" on station {code}"));
            let lines = vec![format!(
                "Answers question {}{about}: {}.",
                &answer.question.to_string()[..8],
                choice(&answer.choice)
            )];
            with_quote(lines, "Note", &answer.note)
        }
        Body::AttachmentAdded(body) => picture::added(body),
        Body::AttachmentChunk(body) => picture::chunk(body),
        Body::ProcedureOpened(body) => procedure::opened(body),
        Body::StepRecorded(body) => procedure::step(body),
        Body::StepUndone(body) => procedure::undone(body),
        Body::ProcedureClosed(body) => procedure::closed(body),
        Body::BackedUp(held) => vec![format!(
            "Has logbook {} in a backup, read back and checked, up to record {}.",
            held.log.short(),
            held.seq
        )],
        Body::Acknowledgement(held) => vec![format!(
            "Holds logbook {} whole up to record {}.",
            held.log.short(),
            held.seq
        )],
    }
}

fn reading(reading: &Reading) -> Vec<String> {
    let mut lines = vec![format!(
        "Station {} was read: {}.",
        reading.station,
        entry(&reading.entry)
    )];
    lines.extend(shown(&reading.shown));
    let ticks: Vec<&str> = reading.ticks.iter().map(Tick::code).collect();
    if !ticks.is_empty() {
        lines.push(format!("Noticed: {}.", words::listed(&ticks)));
    }
    lines.extend(reading.doubts.iter().map(doubt));
    let mut lines = with_quote(lines, "Note", &reading.note);
    if let Source::Sheet { taken_ms, .. } = reading.source {
        lines.push(format!(
            "From an old sheet, which says it was taken on {}.",
            moment(taken_ms, reading.utc_offset_minutes)
        ));
    }
    lines
}

fn correction(correction: &Correction) -> Vec<String> {
    let mut lines = vec![format!(
        "Corrects reading {} of station {}: {}.",
        named(&correction.reading),
        correction.station,
        entry(&correction.entry)
    )];
    lines.extend(shown(&correction.shown));
    with_quote(lines, "Reason", &correction.reason)
}

fn station_revision(station: &Station) -> Vec<String> {
    let place = words::place(station);
    let called = if place.is_empty() {
        String::new()
    } else {
        format!(" ({place})")
    };
    let ratio = station
        .first_stage
        .as_left_ratio
        .unwrap_or(station.first_stage.ratio);
    let mut lines = vec![
        format!("Defines station {}{called}.", station.code),
        format!(
            "First stage {ratio}:1; second stage set to {}, {} either way.",
            words::typed(station.second_stage.set_point),
            words::typed(station.second_stage.band)
        ),
    ];
    for quantity in Quantity::ALL {
        let gauge = station.gauge(quantity);
        lines.push(format!(
            "{} gauge {} to {}, class {}.",
            words::gauge_capital(quantity),
            gauge.low.digits,
            words::typed(gauge.high),
            gauge.class
        ));
    }
    lines.push(format!(
        "The inlet is usually {} to {}.",
        station.inlet_usual.low.digits,
        words::typed(station.inlet_usual.high)
    ));
    lines
}

/// Says what the gauges showed.
#[must_use]
pub fn entry(entry: &Entry) -> String {
    let parts: Vec<String> = Quantity::ALL
        .into_iter()
        .map(|quantity| match entry.get(quantity) {
            Some(value) => format!("{} {}", words::gauge(quantity), words::typed(value)),
            None => format!("{} not read", words::gauge(quantity)),
        })
        .collect();
    let flow = match entry.flow {
        FlowState::Still => ", no flow",
        FlowState::Flowing => ", water flowing",
        FlowState::NotNoted => "",
    };
    parts.join(", ") + flow
}

/// Says the verdicts as they were shown; nothing where nothing could be judged.
fn shown(shown: &Shown) -> Vec<String> {
    let parts: Vec<String> = Quantity::ALL
        .into_iter()
        .filter_map(|quantity| Some((quantity, shown.get(quantity)?)))
        .map(|(quantity, part)| {
            format!(
                "{} {} ({} to {} bar, {} % sure to be in it)",
                words::gauge(quantity),
                words::verdict(part.verdict),
                thousandths(part.low_pa),
                thousandths(part.high_pa),
                part.probability_millionths / 10_000
            )
        })
        .collect();
    let mut lines = Vec::new();
    if !parts.is_empty() {
        lines.push(format!("Shown then: {}.", parts.join("; ")));
    }
    match shown.state {
        StationState::Normal => {}
        StationState::Starved => lines.push("The second stage was starved of pressure.".to_owned()),
        StationState::LockUp => {
            lines.push("Without flow the outlet shows lock-up only.".to_owned());
        }
    }
    lines
}

/// Pascals as bar with three decimals, exactly rounded.
fn thousandths(pa: i64) -> String {
    let steps = (pa.abs() + 50) / 100;
    let sign = if pa < 0 && steps > 0 { "-" } else { "" };
    format!("{sign}{}.{:03}", steps / 1000, steps % 1000)
}

fn doubt(asked: &AskedDoubt) -> String {
    let reply = match asked.reply {
        DoubtReply::AsTyped => "it is as typed",
        DoubtReply::Likely => "the likely value was meant",
        DoubtReply::TypedAnew => "it was typed anew",
    };
    let on = asked
        .quantity
        .map_or_else(String::new, |gauge| format!(" on {}", words::gauge(gauge)));
    format!(
        "Asked about {}{on}; answered: {reply}.",
        asked.code.replace('-', " ")
    )
}

/// Says a choice.
#[must_use]
pub fn choice(choice: &Choice) -> String {
    match choice {
        Choice::Prefer(at) => format!("{} stands", named(at)),
        Choice::KeepAll => "all stand, as separate visits".to_owned(),
        Choice::VoidAll => "none of them counts".to_owned(),
        Choice::AsFirstWritten => "the values first written stand".to_owned(),
        Choice::Noted => "seen and dealt with".to_owned(),
    }
}

/// Says a reason for passing a station by.
#[must_use]
pub const fn skip_reason(reason: SkipReason) -> &'static str {
    match reason {
        SkipReason::NoAccess => "the way to it is closed",
        SkipReason::NotSafe => "the place is not safe at the moment",
        SkipReason::OutOfService => "it is out of service",
        SkipReason::GaugesUnreadable => "its gauges cannot be read",
        SkipReason::NoTime => "there was no time left",
        SkipReason::Other => "another reason",
    }
}

const fn role_with_article(role: Role) -> &'static str {
    match role {
        Role::Tablet => "a tablet",
        Role::Office => "an office",
    }
}

/// Names a record in short: its place and the start of its log's and its own id.
#[must_use]
pub fn named(at: &RecordRef) -> String {
    format!("{}/{}/{}", at.log.short(), at.seq, at.id.short())
}

/// Says when and by whom a record was written.
#[must_use]
pub fn signature(at: &RecordRef, person: &str, clock: &ClockReading, log_name: &str) -> String {
    let status = match clock.status {
        ClockStatus::Unset => ", by a clock that was never set",
        ClockStatus::HandSet => "",
        ClockStatus::SetAtOffice => ", by a clock set at the office",
    };
    let log = if log_name.is_empty() {
        at.log.short()
    } else {
        log_name.to_owned()
    };
    let person = if person.is_empty() {
        "nobody named"
    } else {
        person
    };
    format!(
        "Record {} of {log}, by {person} on {}{status}.",
        at.seq,
        moment(clock.wall_ms, None)
    )
}

/// Says what stands before a record in its log, as far as the logbook knows.
#[must_use]
pub fn follows(view: &RecordView) -> String {
    match (&view.prev, view.at.seq) {
        (_, 0) => "The first record of its logbook.".to_owned(),
        (Some(id), seq) if view.is_linked => {
            format!(
                "Follows record {} ({}), which is here.",
                seq - 1,
                &id.to_string()[..8]
            )
        }
        (Some(id), seq) => format!(
            "Follows record {} ({}), which is not here.",
            seq - 1,
            &id.to_string()[..8]
        ),
        (None, seq) => format!("What record {} before it says is not known.", seq - 1),
    }
}

/// Says when and by whom a bundle was packed.
#[must_use]
pub fn packed(log: &LogId, person: &str, clock: &ClockReading) -> String {
    let person = if person.is_empty() {
        "nobody named"
    } else {
        person
    };
    format!(
        "Packed with logbook {} by {person} on {}.",
        log.short(),
        moment(clock.wall_ms, None)
    )
}

/// Writes a moment to the minute, in local time where the offset is known, else in UTC.
#[must_use]
pub fn moment(unix_ms: i64, utc_offset_minutes: Option<i16>) -> String {
    let Some(utc) = DateTime::<Utc>::from_timestamp_millis(unix_ms) else {
        return format!("{unix_ms} ms");
    };
    let offset =
        utc_offset_minutes.and_then(|minutes| FixedOffset::east_opt(i32::from(minutes) * 60));
    match offset {
        Some(offset) => offset
            .from_utc_datetime(&utc.naive_utc())
            .format("%Y-%m-%d %H:%M %:z")
            .to_string(),
        None => utc.format("%Y-%m-%d %H:%M UTC").to_string(),
    }
}

fn codes(stations: &[StationCode]) -> String {
    stations
        .iter()
        .map(StationCode::as_str)
        .collect::<Vec<_>>()
        .join(", ")
}

fn with_quote(mut lines: Vec<String>, label: &str, text: &str) -> Vec<String> {
    if !text.is_empty() {
        lines.push(format!("{label}: \"{text}\"."));
    }
    lines
}

#[cfg(test)]
mod tests {
    use winze_core::record::{Body, RoundOpened, Ticks};
    use winze_core::units::{Typed, Unit};

    use super::{Entry, FlowState, Reading, Shown, Source, Tick, body, moment, thousandths};
    use winze_core::station::StationCode;
    use winze_sync_format::{LogId, RecordId, RecordRef};

    fn at(seq: u64) -> RecordRef {
        RecordRef {
            log: LogId([1; 32]),
            seq,
            id: RecordId([2; 32]),
        }
    }

    #[test]
    fn reading_says_what_was_read_and_noticed() {
        let reading = Reading {
            station: StationCode::parse("T-07").unwrap(),
            revision: at(3),
            round: None,
            entry: Entry {
                inlet: Some(Typed::of(102, -1, Unit::Bar)),
                interstage: None,
                outlet: Some(Typed::of(200, -2, Unit::Bar)),
                flow: FlowState::Flowing,
            },
            ticks: Ticks::NONE.with(Tick::Leak),
            note: "gland drips".to_owned(),
            doubts: Vec::new(),
            shown: Shown::default(),
            source: Source::OnTheSpot,
            utc_offset_minutes: None,
        };
        let lines = body(&Body::Reading(Box::new(reading)));
        assert_eq!(
            lines,
            [
                "Station T-07 was read: inlet 10.2 bar, interstage not read, outlet 2.00 bar, \
                 water flowing.",
                "Noticed: leak.",
                "Note: \"gland drips\".",
            ]
        );
    }

    #[test]
    fn round_lists_its_stations_in_walking_order() {
        let stations = ["T-02", "T-01"]
            .map(|code| StationCode::parse(code).unwrap())
            .to_vec();
        let round = RoundOpened {
            title: "Week 48".to_owned(),
            stations,
            utc_offset_minutes: 60,
        };
        assert_eq!(
            body(&Body::RoundOpened(round)),
            [
                "Opens the round \"Week 48\" of 2 stations.",
                "In walking order: T-02, T-01."
            ]
        );
    }

    #[test]
    fn pressures_and_moments_are_written_exactly() {
        assert_eq!(thousandths(190_049), "1.900");
        assert_eq!(thousandths(-50), "-0.001");
        assert_eq!(thousandths(-49), "0.000");
        assert_eq!(moment(1_735_689_600_000, None), "2025-01-01 00:00 UTC");
        assert_eq!(
            moment(1_735_689_600_000, Some(-210)),
            "2024-12-31 20:30 -03:30"
        );
        assert_eq!(moment(i64::MAX, None), "9223372036854775807 ms");
    }
}
