//! What needs the clerk, the most urgent first, each in one sentence.

use winze_core::merge::{QuestionId, QuestionKind, Standing};
use winze_core::query::{LogView, Missed, MissedWhy, StopState, Visit};
use winze_core::record::{Role, SkipReason, Source, Tick};
use winze_core::station::{Station, StationCode};
use winze_core::units::Pressure;
use winze_core::verdict::{Judged, Verdict, judge};
use winze_sync_format::LogId;

pub use super::office_category::Category;
use super::office_fleet::newest_verdict;
use super::office_need;
use super::office_time as time;
use super::office_view::{AttentionLine, Tally};
use super::words;
use crate::messages::counted;
use crate::office::snapshot::{Question, Snapshot, StationSummary};

/// Where choosing a line leads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Target {
    /// To a station.
    Station(StationCode),
    /// To a question.
    Question(QuestionId),
    /// To a held logbook.
    Held(LogId),
    /// Nowhere.
    Nothing,
}

/// One thing that needs the clerk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attention {
    /// Why.
    pub category: Category,
    /// Where choosing it leads.
    pub target: Target,
    /// As shown.
    pub line: AttentionLine,
}

/// Counts each category. The chosen one narrows the list.
#[must_use]
pub fn tallies(all: &[Attention], chosen: Option<Category>) -> Vec<Tally> {
    let tally = |category: Category| Tally {
        id: category.id().to_owned(),
        label: category.plural().to_owned(),
        count: all.iter().filter(|one| one.category == category).count(),
        tone: category.tone(),
        is_chosen: chosen == Some(category),
    };
    Category::ALL.into_iter().map(tally).collect()
}

/// Finds what needs the clerk in the week looked at.
#[must_use]
pub fn attention(snapshot: &Snapshot) -> Vec<Attention> {
    let mut all = Vec::new();
    for station in &snapshot.stations {
        match newest_verdict(station) {
            Some(Verdict::Outside) => all.extend(verdict(snapshot, station, Category::Outside)),
            Some(Verdict::Unsure) => all.extend(verdict(snapshot, station, Category::Unsure)),
            Some(Verdict::Within) | None => {}
        }
        all.extend(flagged(snapshot, station));
        all.extend(finding(snapshot, station));
    }
    all.extend(
        snapshot
            .overview
            .missed
            .iter()
            .map(|missed| missing(snapshot, missed)),
    );
    if snapshot.is_this_week {
        let open = snapshot
            .questions
            .iter()
            .filter(|question| question.view.is_open());
        all.extend(open.map(|question| asked(snapshot, question)));
        all.extend(snapshot.held().into_iter().map(|log| held(snapshot, log)));
        all.extend(not_understood(snapshot.overview.not_understood));
    }
    // Within a category the core's order stands, which knows how far each is off.
    let place =
        |one: &Attention| (snapshot.needs.iter()).position(|n| n.code.as_str() == one.line.code);
    all.sort_by_key(|one| (one.category, place(one)));
    for (place, one) in all.iter_mut().enumerate() {
        one.line.id = place.to_string();
    }
    all
}

/// What the core raised about a station, where nothing is outside: then that is said already.
fn flagged(snapshot: &Snapshot, station: &StationSummary) -> Option<Attention> {
    let (_, needs) = snapshot.needs(&station.row.code)?;
    let offset = snapshot.week.utc_offset_minutes;
    let raised = office_need::flag(&station.detail.definition, needs, offset)?;
    let mut one = about(station, Category::Flagged);
    raised.word.clone_into(&mut one.line.word);
    one.line.sentence = format!("{}.", raised.phrase);
    if let Some(visit) = station.visits.first() {
        one.line.when = taken(snapshot, visit);
    }
    Some(one)
}

fn make(category: Category, target: Target, code: &str, name: String) -> Attention {
    Attention {
        category,
        target,
        line: AttentionLine {
            tone: category.tone(),
            word: category.id().to_owned(),
            code: code.to_owned(),
            name,
            ..AttentionLine::default()
        },
    }
}

fn about(station: &StationSummary, category: Category) -> Attention {
    let code = &station.row.code;
    let name = words::place(&station.detail.definition);
    make(category, Target::Station(code.clone()), code.as_str(), name)
}

fn taken(snapshot: &Snapshot, visit: &Visit) -> String {
    let when = time::moment(visit.taken_ms, snapshot.week.utc_offset_minutes);
    match (visit.source, visit.by.as_str()) {
        (Source::Sheet { .. }, _) => format!("{when}, from a sheet"),
        (Source::OnTheSpot, "") => when,
        (Source::OnTheSpot, by) => format!("{when}, {by}"),
    }
}

fn verdict(snapshot: &Snapshot, station: &StationSummary, category: Category) -> Option<Attention> {
    let visit = station.visits.first()?;
    let judgement = judge(&station.judged_against, &visit.entry);
    let needs = snapshot.needs(&station.row.code).map(|(_, needs)| needs);
    let sentences: Vec<String> = judgement
        .iter()
        .filter(|judged| judged.verdict != Verdict::Within)
        .map(|judged| {
            let suspected = needs
                .filter(|_| judged.verdict == Verdict::Outside)
                .and_then(|needs| office_need::suspected(needs, judged.quantity));
            match suspected {
                Some(suspect) => explained(&station.judged_against, judged, &suspect),
                None => deviation(&station.judged_against, judged),
            }
        })
        .collect();
    let mut one = about(station, category);
    one.line.sentence = sentences.join(" ");
    if visit.state.standing == Standing::Open {
        one.line.sentence.push_str(" In question.");
    }
    one.line.when = taken(snapshot, visit);
    Some(one)
}

/// "Outlet 2.60 bar, 0.50 bar too high: the second stage is rising (90 %)."
fn explained(station: &Station, judged: &Judged, suspect: &str) -> String {
    let gauge = station.gauge(judged.quantity);
    let (limit, side) = if judged.is_high() {
        (judged.expectation.high, "high")
    } else {
        (judged.expectation.low, "low")
    };
    let beyond = (judged.observed - limit).abs().max(Pressure::from_pa(1));
    format!(
        "{} {}, {} too {side}: {suspect}.",
        words::gauge_capital(judged.quantity),
        words::typed(judged.typed),
        words::amount(gauge, beyond)
    )
}

/// "Outlet 2.60 bar: 0.50 bar above the expected 1.80 to 2.10." or why a gauge cannot tell.
#[must_use]
pub fn deviation(station: &Station, judged: &Judged) -> String {
    let gauge = station.gauge(judged.quantity);
    let name = words::gauge_capital(judged.quantity);
    let value = words::typed(judged.typed);
    let (low, high) = (
        judged.expectation.low - judged.correction,
        judged.expectation.high - judged.correction,
    );
    let (limit, side) = if judged.is_high() {
        (judged.expectation.high, "above")
    } else {
        (judged.expectation.low, "below")
    };
    match judged.verdict {
        Verdict::Within => {
            format!("{name} {value}: within {}.", words::band(gauge, low, high))
        }
        Verdict::Unsure => format!(
            "{name} {value}: too close to {} for this gauge to tell.",
            words::amount(gauge, limit - judged.correction)
        ),
        Verdict::Outside => {
            let beyond = (judged.observed - limit).abs().max(Pressure::from_pa(1));
            format!(
                "{name} {value}: {} {side} the expected {}.",
                words::amount(gauge, beyond),
                words::band(gauge, low, high)
            )
        }
    }
}

/// What was ticked on the look-round and noted, in one sentence; empty for nothing.
#[must_use]
pub fn noticed(visit: &Visit) -> String {
    let ticks: Vec<&str> = visit.ticks.iter().map(tick).collect();
    let ticked = words::listed(&ticks);
    match (ticked.is_empty(), visit.note.is_empty()) {
        (true, true) => String::new(),
        (false, true) => format!("{}.", capital(&ticked)),
        (true, false) => format!("Note: {}", ended(&visit.note)),
        (false, false) => format!("{}. Note: {}", capital(&ticked), ended(&visit.note)),
    }
}

const fn tick(tick: Tick) -> &'static str {
    match tick {
        Tick::Leak => "leak",
        Tick::Damage => "damage",
        Tick::Noise => "noise",
        Tick::Flooding => "flooding",
        Tick::Access => "access obstructed",
    }
}

/// A note as a sentence.
fn ended(note: &str) -> String {
    let note = note.trim();
    if note.ends_with(['.', '!', '?']) {
        note.to_owned()
    } else {
        format!("{note}.")
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn finding(snapshot: &Snapshot, station: &StationSummary) -> Option<Attention> {
    // Any visit of the week: what was noticed on one is not undone by a later reading.
    let of_week = station
        .visits
        .iter()
        .filter(|visit| snapshot.week.holds(visit.taken_ms));
    let visit = of_week
        .into_iter()
        .find(|visit| !noticed(visit).is_empty())?;
    let mut one = about(station, Category::Finding);
    one.line.sentence = noticed(visit);
    one.line.when = taken(snapshot, visit);
    Some(one)
}

fn missing(snapshot: &Snapshot, missed: &Missed) -> Attention {
    let category = match missed.why {
        MissedWhy::Skipped { .. } => Category::Skipped,
        MissedWhy::LeftOut { .. } | MissedWhy::NotThisWeek => Category::Missed,
    };
    let name = match snapshot.station_name(&missed.code) {
        name if name.is_empty() => missed.name.clone(),
        name => name,
    };
    let target = Target::Station(missed.code.clone());
    let mut one = make(category, target, missed.code.as_str(), name);
    let offset = snapshot.week.utc_offset_minutes;
    let why = match missed.why {
        MissedWhy::NotThisWeek => "Not read this week.".to_owned(),
        MissedWhy::LeftOut { round } => match find_round(snapshot, round) {
            Some(round) => format!(
                "Left out on the round of {}.",
                time::moment(round.opened_ms, offset)
            ),
            None => "Left out on the round.".to_owned(),
        },
        MissedWhy::Skipped { round } => skipped(snapshot, round, &missed.code),
    };
    let last = missed.last_ms.map_or_else(
        || "Never read before.".to_owned(),
        |ms| format!("Last read {}.", time::day(ms, offset)),
    );
    one.line.sentence = match missed.why {
        MissedWhy::Skipped { .. } => why,
        _ => format!("{why} {last}"),
    };
    if let MissedWhy::Skipped { round } = missed.why
        && let Some(round) = find_round(snapshot, round)
    {
        one.line.when = format!("{}, {}", time::moment(round.opened_ms, offset), round.by);
    }
    one
}

fn find_round(
    snapshot: &Snapshot,
    at: winze_sync_format::RecordRef,
) -> Option<&winze_core::query::RoundView> {
    snapshot.rounds.iter().find(|round| round.at == at)
}

fn skipped(snapshot: &Snapshot, round: winze_sync_format::RecordRef, code: &StationCode) -> String {
    let stop = find_round(snapshot, round)
        .and_then(|round| round.stops.iter().find(|stop| &stop.code == code));
    match stop.map(|stop| &stop.state) {
        Some(StopState::Skipped { reason, note }) if note.is_empty() => {
            format!("Skipped: {}.", skip_reason(*reason))
        }
        Some(StopState::Skipped { reason, note }) => {
            format!("Skipped: {}. Note: {}", skip_reason(*reason), ended(note))
        }
        _ => "Skipped.".to_owned(),
    }
}

const fn skip_reason(reason: SkipReason) -> &'static str {
    match reason {
        SkipReason::NoAccess => "no way to it",
        SkipReason::NotSafe => "not safe",
        SkipReason::OutOfService => "out of service",
        SkipReason::GaugesUnreadable => "gauges unreadable",
        SkipReason::NoTime => "no time",
        SkipReason::Other => "another reason",
    }
}

fn asked(snapshot: &Snapshot, question: &Question) -> Attention {
    let id = question.view.question.id;
    let code = question.view.question.station.as_ref();
    let name = match code {
        Some(code) => snapshot.station_name(code),
        None => "a logbook".to_owned(),
    };
    let code = code.map_or("", StationCode::as_str);
    let mut one = make(Category::Question, Target::Question(id), code, name);
    let sentence = match question.view.question.kind {
        QuestionKind::Readings => "Readings of one visit differ. Which stands?",
        QuestionKind::Revisions => "Two definitions disagree. Which stands?",
        QuestionKind::Corrections => "Two corrections of one reading disagree. Which stands?",
        QuestionKind::CopiedLog => "A logbook was copied: two records claim one place.",
    };
    sentence.clone_into(&mut one.line.sentence);
    let newest = question.sides.iter().map(|side| side.wall_ms).max();
    one.line.when = newest.map_or_else(String::new, |ms| {
        time::moment(ms, snapshot.week.utc_offset_minutes)
    });
    one
}

fn held(snapshot: &Snapshot, log: &LogView) -> Attention {
    let kind = match log.role {
        Some(Role::Office) => "office",
        Some(Role::Tablet) | None => "tablet",
    };
    let name = if log.name.is_empty() {
        "without a name".to_owned()
    } else {
        log.name.clone()
    };
    let mut one = make(Category::Held, Target::Held(log.log), "", name);
    one.line.sentence = format!(
        "{} of an unknown {kind}, not counted. Compare its words.",
        counted(log.records, "record", "records")
    );
    one.line.when = log.newest_ms.map_or_else(String::new, |ms| {
        time::moment(ms, snapshot.week.utc_offset_minutes)
    });
    one
}

fn not_understood(records: u64) -> Option<Attention> {
    if records == 0 {
        return None;
    }
    let name = "a newer program".to_owned();
    let mut one = make(Category::Held, Target::Nothing, "", name);
    one.line.sentence = format!(
        "{} kept, but not understood by this version of Winze.",
        counted(records, "record", "records")
    );
    Some(one)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::samples;

    #[test]
    fn most_urgent_stands_first() {
        let all = attention(&samples::snapshot());
        let words: Vec<&str> = all.iter().map(|one| one.line.word.as_str()).collect();
        assert_eq!(
            words,
            [
                "outside", "unsure", "missed", "finding", "skipped", "question", "held"
            ]
        );
        assert_eq!(
            all[0].line.sentence,
            "Outlet 2.60 bar: 0.40 bar above the expected 1.8 to 2.2."
        );
        assert_eq!(
            all[3].line.sentence,
            "Leak and noise. Note: drips at the flange of the strainer."
        );
        assert_eq!(
            all[4].line.sentence,
            "Skipped: no way to it. Note: drive barred for blasting."
        );
    }

    #[test]
    fn reading_in_question_says_so() {
        let mut snapshot = samples::snapshot();
        snapshot.stations[6].visits[0].state.standing = Standing::Open;
        let all = attention(&snapshot);
        assert!(
            all[0].line.sentence.ends_with("In question."),
            "{}",
            all[0].line.sentence
        );
    }

    #[test]
    fn earlier_week_asks_for_no_decision_of_today() {
        let mut snapshot = samples::snapshot();
        snapshot.is_this_week = false;
        let all = attention(&snapshot);
        assert!(all.iter().all(|one| one.category < Category::Question));
    }

    #[test]
    fn records_not_understood_are_told_and_lead_nowhere() {
        let mut snapshot = samples::snapshot();
        snapshot.overview.not_understood = 3;
        let all = attention(&snapshot);
        let last = all.last().expect("something");
        assert_eq!(last.target, Target::Nothing);
        assert!(
            last.line.sentence.starts_with("3 records kept"),
            "{}",
            last.line.sentence
        );
    }
}
