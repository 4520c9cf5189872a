//! Jobs: what is to be put right, from what it was raised, how it came to its end; and jobs that
//! suggest themselves.

use winze_core::query::Visit;
use winze_core::record::{JobEnd, PartUsed};
use winze_core::station::Quantity;
use winze_core::upkeep::{Closing, JobWork, Proposal};
use winze_core::verdict::Verdict;

use super::office_due::STATION;
use super::office_time as time;
use super::office_upkeep::{ActKey, BoardDetail, BoardLine, Filter, is_found, on, sentences};
use super::office_view::{Fact, PlaceLine};
use super::view::Tone;
use super::words::{self, capital};
use crate::messages::reports::quoted;
use crate::messages::upkeep;
use crate::office::board::{Board, JobSummary};

/// Filter: jobs that are open.
pub const OPEN: &str = "open";
/// Filter: jobs that were closed.
pub const CLOSED: &str = "closed";
/// Filter: jobs that suggest themselves.
pub const SUGGESTED: &str = "suggested";
/// Key: raise a job.
pub const RAISE: &str = "raise";
/// Key: raise the job suggested.
pub const RAISE_SUGGESTED: &str = "raise-suggested";
/// Key: close the job.
pub const CLOSE: &str = "close";
/// Choice: the job turned out not to be needed.
pub const NOT_NEEDED: &str = "not-needed";

/// The ways of narrowing the list, with how many there are.
#[must_use]
pub fn filters(board: &Board, chosen: &str) -> Vec<Filter> {
    let open = board.jobs.iter().filter(|one| one.job.is_open()).count();
    let filter =
        |id, label: &str, count: usize| Filter::new(id, format!("{label} {count}"), chosen);
    vec![
        filter(OPEN, "Open", open),
        filter(SUGGESTED, "Suggested", board.proposals.len()),
        filter(CLOSED, "Closed", board.jobs.len() - open),
    ]
}

/// The list: open or closed jobs, those raised last first, or suggestions in walking order.
#[must_use]
pub fn lines(board: &Board, chosen: &str, find: &str) -> Vec<BoardLine> {
    let all: Vec<BoardLine> = if chosen == SUGGESTED {
        let proposals = board.proposals.iter();
        proposals.map(|one| suggestion(board, one)).collect()
    } else {
        let is_asked = |one: &&JobSummary| one.job.is_open() == (chosen == OPEN);
        let jobs = board.jobs.iter().filter(is_asked);
        jobs.map(|one| line(board, one)).collect()
    };
    let fits = |line: &BoardLine| is_found(find, &[&line.code, &line.name, &line.sentence]);
    all.into_iter().filter(fits).collect()
}

fn line(board: &Board, one: &JobSummary) -> BoardLine {
    let job = &one.job;
    let (tone, word) = stands(one);
    let because = format!("Because {}.", upkeep::cause(job.cause));
    BoardLine {
        id: job.raised.at.to_string(),
        tone,
        word: word.to_owned(),
        code: job.station.to_string(),
        name: named(board, job.work, job.station.as_str()),
        sentence: sentences([because.as_str(), quoted_or_empty(&job.note).as_str()]),
        when: match job.closings.first() {
            Some(closing) => format!("closed {}", on(closing.closed_on)),
            None => format!("raised {}", on(job.raised_on)),
        },
        ..BoardLine::default()
    }
}

fn quoted_or_empty(note: &str) -> String {
    if note.is_empty() {
        String::new()
    } else {
        quoted(note)
    }
}

fn named(board: &Board, work: JobWork, code: &str) -> String {
    let stations = board.due.stations.iter();
    let name = stations
        .filter(|station| station.code.as_str() == code && !station.name.is_empty())
        .map(|station| format!(" ({})", station.name));
    capital(upkeep::work(work)) + &name.collect::<String>()
}

fn stands(one: &JobSummary) -> (Tone, &'static str) {
    match one.job.closings.first().map(|closing| closing.end) {
        None => (Tone::Act, "open"),
        Some(JobEnd::Done { .. }) => (Tone::Within, "done"),
        Some(JobEnd::NotNeeded) => (Tone::None, "not needed"),
    }
}

/// What the screen answers with for a suggestion.
fn suggestion_id(one: &Proposal) -> String {
    format!("{}/{}", one.work.code(), one.station)
}

fn suggestion(board: &Board, one: &Proposal) -> BoardLine {
    let sure = one.probability.map_or_else(String::new, |probability| {
        format!(" ({:.0} % probable)", (100.0 * probability).min(99.0))
    });
    BoardLine {
        id: suggestion_id(one),
        tone: Tone::Caution,
        word: "suggested".to_owned(),
        code: one.station.to_string(),
        name: named(board, one.work, one.station.as_str()),
        sentence: format!("Because {}{sure}.", upkeep::cause(one.cause)),
        ..BoardLine::default()
    }
}

/// The suggestion behind an answer.
#[must_use]
pub fn find_suggestion<'a>(board: &'a Board, id: &str) -> Option<&'a Proposal> {
    let mut proposals = board.proposals.iter();
    proposals.find(|one| suggestion_id(one) == id)
}

/// The job behind an answer.
#[must_use]
pub fn find<'a>(board: &'a Board, id: &str) -> Option<&'a JobSummary> {
    let mut jobs = board.jobs.iter();
    jobs.find(|one| one.job.raised.at.to_string() == id)
}

/// The particulars of a job or a suggestion.
#[must_use]
pub fn detail(board: &Board, id: &str) -> BoardDetail {
    if let Some(one) = find(board, id) {
        return of_job(board, one);
    }
    let Some(one) = find_suggestion(board, id) else {
        return BoardDetail::default();
    };
    let line = suggestion(board, one);
    BoardDetail {
        heading: format!("{}: {}", one.station, upkeep::work(one.work)),
        place: board.place(&one.station),
        tone: Tone::Caution,
        word: "suggested, not raised".to_owned(),
        facts: Vec::new(),
        told_title: "Why".to_owned(),
        told: vec![line.sentence],
        keys: vec![
            ActKey::primary(RAISE_SUGGESTED, "Raise this job"),
            ActKey::new(STATION, "See the station"),
        ],
    }
}

fn of_job(board: &Board, one: &JobSummary) -> BoardDetail {
    let job = &one.job;
    let offset = board.utc_offset_minutes;
    let mut facts = vec![
        Fact::new(
            "raised",
            format!("{}, {}", on(job.raised_on), job.raised.by),
        ),
        Fact::new("because", upkeep::cause(job.cause)),
    ];
    facts.extend(one.evidence.iter().map(|visit| {
        let when =
            time::moment_and_year(visit.taken_ms, visit.utc_offset_minutes.unwrap_or(offset));
        Fact::new(
            "from the reading",
            format!("{when}, {}: {}", visit.by, values(visit)),
        )
    }));
    if !job.note.is_empty() {
        facts.push(Fact::new("note", &job.note));
    }
    for (closing, as_left) in job.closings.iter().zip(&one.as_left) {
        facts.extend(ended(board, closing, as_left.as_ref()));
    }
    facts.push(Fact::new("record", job.raised.at.id.to_string()));
    let (tone, word) = stands(one);
    let mut told = Vec::new();
    if job.closings.len() > 1 {
        told.push(
            "It was closed more than once, by logbooks that did not know of each other. The \
             earlier closing counts; both are kept."
                .to_owned(),
        );
    }
    let close = job
        .is_open()
        .then(|| ActKey::primary(CLOSE, "Close this job"));
    BoardDetail {
        heading: format!("{}: {}", job.station, upkeep::work(job.work)),
        place: board.place(&job.station),
        tone,
        word: word.to_owned(),
        facts,
        told_title: String::new(),
        told,
        keys: close
            .into_iter()
            .chain([ActKey::new(STATION, "See the station")])
            .collect(),
    }
}

fn ended(board: &Board, closing: &Closing, as_left: Option<&Visit>) -> Vec<Fact> {
    let who = format!("{}, {}", on(closing.closed_on), closing.written.by);
    let mut facts = vec![Fact::new("closed", who)];
    match (closing.end, as_left) {
        (JobEnd::Done { .. }, Some(visit)) => {
            let worst = worst(visit);
            facts.push(Fact::new("as left", reading(board, visit)).with(worst));
        }
        (JobEnd::Done { .. }, None) => {
            facts.push(Fact::new("as left", "a reading that is not here yet"));
        }
        (JobEnd::NotNeeded, _) => facts.push(Fact::new("as left", "not needed, so none")),
    }
    if !closing.parts.is_empty() {
        let part = |part: &PartUsed| format!("{} x {}", part.count, part.what);
        let parts: Vec<String> = closing.parts.iter().map(part).collect();
        facts.push(Fact::new("parts used", parts.join(", ")));
    }
    if !closing.note.is_empty() {
        facts.push(Fact::new("note", &closing.note));
    }
    facts
}

/// The worst verdict of a visit.
fn worst(visit: &Visit) -> Tone {
    let verdicts = Quantity::ALL.map(|quantity| visit.shown.get(quantity).map(|one| one.verdict));
    let tones = verdicts.into_iter().flatten().map(Tone::from);
    let rank = |tone: &Tone| match tone {
        Tone::Outside => 2,
        Tone::Unsure => 1,
        _ => 0,
    };
    tones.max_by_key(rank).unwrap_or(Tone::None)
}

fn reading(board: &Board, visit: &Visit) -> String {
    let offset = visit.utc_offset_minutes.unwrap_or(board.utc_offset_minutes);
    let when = time::moment_and_year(visit.taken_ms, offset);
    format!("{when}: {}", values(visit))
}

/// The values in flow order and the worst verdict: "inlet 10.2, interstage 4.1, outlet 2.00 bar:
/// within". Where units differ each value has its own.
fn values(visit: &Visit) -> String {
    let typed: Vec<_> = Quantity::ALL
        .into_iter()
        .filter_map(|quantity| Some((quantity, visit.entry.get(quantity)?)))
        .collect();
    let is_alike = typed
        .windows(2)
        .all(|pair| pair[0].1.unit == pair[1].1.unit);
    let last = typed.len().saturating_sub(1);
    let values = typed.iter().enumerate().map(|(place, (quantity, value))| {
        let unit = if is_alike && place < last {
            String::new()
        } else {
            format!(" {}", value.unit.symbol())
        };
        format!("{} {}{unit}", words::gauge(*quantity), value.digits)
    });
    let values = values.collect::<Vec<_>>().join(", ");
    let verdict = match worst(visit) {
        Tone::Outside => words::verdict(Verdict::Outside),
        Tone::Unsure => words::verdict(Verdict::Unsure),
        Tone::Within => words::verdict(Verdict::Within),
        _ => return values,
    };
    format!("{values}: {verdict}")
}

/// What a job can be closed with: readings of its station, the newest first, or that it is not
/// needed.
#[must_use]
pub fn endings(board: &Board, readings: &[Visit], raised_ms: i64, chosen: &str) -> Vec<PlaceLine> {
    let of = |visit: &Visit| {
        let id = visit.at.to_string();
        let offset = visit.utc_offset_minutes.unwrap_or(board.utc_offset_minutes);
        let before = if visit.taken_ms < raised_ms {
            ", before the job was raised"
        } else {
            ""
        };
        PlaceLine {
            is_chosen: id == chosen,
            label: format!(
                "Done, as left {}{before}",
                time::moment_and_year(visit.taken_ms, offset)
            ),
            detail: values(visit),
            id,
        }
    };
    let not_needed = PlaceLine {
        id: NOT_NEEDED.to_owned(),
        label: "It turned out not to be needed".to_owned(),
        detail: "Say why in the note.".to_owned(),
        is_chosen: chosen == NOT_NEEDED,
    };
    readings.iter().map(of).chain([not_needed]).collect()
}

/// Every kind of work, to choose from.
#[must_use]
pub fn works(chosen: &str) -> Vec<PlaceLine> {
    JobWork::ALL
        .map(|work| PlaceLine {
            id: work.code().to_owned(),
            label: match work {
                // Short enough for a column.
                JobWork::CheckGauge(quantity) => {
                    format!("Check the {} gauge", words::gauge(quantity))
                }
                other => capital(upkeep::work(other)),
            },
            detail: String::new(),
            is_chosen: work.code() == chosen,
        })
        .to_vec()
}

/// Parts as they are typed: "2 gasket, 1 x pilot spring". Without a number it is one.
///
/// # Errors
/// The piece that cannot be understood: nothing but a number, or none of it.
pub fn parts(text: &str) -> Result<Vec<PartUsed>, String> {
    let pieces = text.split([',', ';']).map(str::trim);
    pieces
        .filter(|piece| !piece.is_empty())
        .map(|piece| {
            let digits = piece.chars().take_while(char::is_ascii_digit).count();
            let (number, rest) = piece.split_at(digits);
            // "2x gasket" and "2 x gasket" mean the same; "2 xenon lamps" does not.
            let rest = rest.trim_start();
            let what = match rest.strip_prefix(['x', '\u{d7}']) {
                Some(after) if digits > 0 && after.starts_with(' ') => after,
                _ => rest,
            };
            let what = what.trim().to_owned();
            let count = if digits == 0 {
                Some(1)
            } else {
                number.parse().ok()
            };
            match count {
                Some(count) if count > 0 && !what.is_empty() => Ok(PartUsed { what, count }),
                _ => Err(piece.to_owned()),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::upkeep_scenario;

    #[test]
    fn parts_are_read_as_people_type_them() {
        let read = |text: &str| {
            let parts = parts(text)?;
            Ok(parts
                .into_iter()
                .map(|part| (part.count, part.what))
                .collect::<Vec<_>>())
        };
        let part = |count, what: &str| (count, what.to_owned());
        let all: Result<_, String> = Ok(vec![
            part(2, "gasket"),
            part(1, "pilot spring"),
            part(3, "x-ring"),
        ]);
        assert_eq!(read("2 x gasket, pilot spring; 3 x-ring"), all);
        assert_eq!(read("2x gasket"), Ok(vec![part(2, "gasket")]));
        assert_eq!(read(""), Ok(Vec::new()));
        assert_eq!(read("gasket, 0 bolts"), Err("0 bolts".to_owned()));
        assert_eq!(read("4"), Err("4".to_owned()));
    }

    #[test]
    fn jobs_say_why_and_how_they_ended() {
        let board = upkeep_scenario::board();
        let open = lines(&board, OPEN, "");
        assert_eq!(open.len(), 1);
        assert_eq!(open[0].word, "open");
        assert!(open[0].sentence.contains("a leak was noticed"), "{open:?}");
        let closed = lines(&board, CLOSED, "");
        assert_eq!(closed[0].word, "done");
        let detail = detail(&board, &closed[0].id);
        let fact = |name: &str| detail.facts.iter().find(|fact| fact.name == name);
        assert!(
            fact("as left").is_some_and(|fact| fact.tone == Tone::Within),
            "{detail:?}"
        );
        assert_eq!(
            fact("parts used").map(|fact| fact.value.as_str()),
            Some("2 x gasket")
        );
        assert!(detail.keys.iter().all(|key| key.id != CLOSE));
    }

    #[test]
    fn filters_count_and_find_narrows() {
        let board = upkeep_scenario::board();
        let labels: Vec<String> = filters(&board, OPEN)
            .into_iter()
            .map(|one| one.label)
            .collect();
        assert_eq!(labels, ["Open 1", "Suggested 0", "Closed 1"]);
        assert!(lines(&board, OPEN, "no such thing").is_empty());
    }
}
