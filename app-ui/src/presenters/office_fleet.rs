//! The stations with the verdicts of their last readings: what needs attention first, or in
//! walking order.

use winze_core::query::{MissedWhy, Visit};
use winze_core::station::{Quantity, Station};
use winze_core::verdict::Verdict;

use super::office_attention::Attention;
use super::office_time as time;
use super::office_view::FleetLine;
use super::view::Tone;
use super::words;
use crate::office::snapshot::{MARKS, Snapshot, StationSummary};

/// In which order the stations stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// What needs attention first.
    #[default]
    Need,
    /// As they are walked, each level under its heading.
    Walk,
}

/// Makes one line for each station that `find` finds (all of them for an empty text). `all` is
/// what needs attention, the most urgent first.
#[must_use]
pub fn fleet(snapshot: &Snapshot, all: &[Attention], find: &str, order: Order) -> Vec<FleetLine> {
    let found = snapshot
        .stations
        .iter()
        .filter(|station| matches(station, find));
    match order {
        Order::Walk => by_walk(found.map(|station| (station, line(snapshot, all, station)))),
        Order::Need => by_need(found.map(|station| (station, line(snapshot, all, station)))),
    }
}

/// Stations that need something come first, in the order of `all`; the rest as they are walked.
fn by_need<'a>(
    stations: impl Iterator<Item = (&'a StationSummary, (usize, FleetLine))>,
) -> Vec<FleetLine> {
    let mut lines: Vec<(usize, FleetLine)> = stations
        .map(|(station, (rank, line))| {
            let name = words::place(&station.detail.definition);
            (rank, FleetLine { name, ..line })
        })
        .collect();
    // Stable, so that equals stay in walking order.
    lines.sort_by_key(|(rank, _)| *rank);
    lines.into_iter().map(|(_, line)| line).collect()
}

fn by_walk<'a>(
    stations: impl Iterator<Item = (&'a StationSummary, (usize, FleetLine))>,
) -> Vec<FleetLine> {
    let mut lines: Vec<FleetLine> = Vec::new();
    let mut level: Option<&str> = None;
    for (station, (_, line)) in stations {
        if level != Some(&station.row.level) {
            level = Some(&station.row.level);
            lines.push(heading(&station.row.level));
        }
        lines.push(line);
    }
    if lines
        .iter()
        .filter(|line| line.is_heading)
        .all(|line| line.name.is_empty())
    {
        lines.retain(|line| !line.is_heading);
    }
    lines
}

fn heading(level: &str) -> FleetLine {
    FleetLine {
        is_heading: true,
        name: level.to_owned(),
        ..FleetLine::default()
    }
}

fn matches(station: &StationSummary, find: &str) -> bool {
    let find = find.trim().to_lowercase();
    let texts = [
        station.row.code.as_str(),
        &station.row.name,
        &station.row.level,
    ];
    find.is_empty() || texts.iter().any(|text| text.to_lowercase().contains(&find))
}

/// A station's line, and its place among those that need something.
fn line(snapshot: &Snapshot, all: &[Attention], station: &StationSummary) -> (usize, FleetLine) {
    let offset = snapshot.week.utc_offset_minutes;
    let definition = &station.detail.definition;
    let (tone, word) = state(snapshot, station);
    let is_about = |one: &Attention| one.line.code == station.row.code.as_str();
    let mut needs = all.iter().enumerate().filter(|(_, one)| is_about(one));
    let first = needs.next();
    let (tone, word, reason) = match first {
        None => (tone, word, String::new()),
        Some((_, one)) => {
            let others: Vec<&str> = needs.map(|(_, one)| one.line.word.as_str()).collect();
            let also = match others.as_slice() {
                [] => String::new(),
                others => format!(" Also: {}.", words::listed(others)),
            };
            let reason = format!("{}{also}", one.line.sentence);
            (one.line.tone, one.line.word.clone(), reason)
        }
    };
    let newest = station.visits.first();
    let last_ms = newest
        .map(|visit| visit.taken_ms)
        .or(station.row.last.map(|last| last.taken_ms));
    let set_point = words::typed(definition.second_stage.set_point);
    let values = newest.map_or_else(String::new, |visit| values(definition, visit));
    let line = FleetLine {
        code: station.row.code.as_str().to_owned(),
        is_heading: false,
        name: station.row.name.clone(),
        marks: marks(&station.visits),
        tone,
        word,
        reason,
        last_read: last_ms.map_or_else(String::new, |ms| time::short_day(ms, offset)),
        values: format!("{set_point};   {values}"),
        is_chosen: false,
    };
    (first.map_or(usize::MAX, |(place, _)| place), line)
}

/// The marks of the newest readings, the newest at the end, a dash where there is none.
fn marks(visits: &[Visit]) -> Vec<Tone> {
    let mut marks = vec![Tone::None; MARKS];
    for (place, visit) in visits.iter().take(MARKS).enumerate() {
        marks[MARKS - 1 - place] = visit.shown.worst().map_or(Tone::None, Tone::from);
    }
    marks
}

/// How a station stands in the week looked at.
fn state(snapshot: &Snapshot, station: &StationSummary) -> (Tone, String) {
    let missed = snapshot
        .overview
        .missed
        .iter()
        .find(|missed| missed.code == station.row.code);
    if let Some(missed) = missed {
        return match missed.why {
            MissedWhy::Skipped { .. } => (Tone::None, "skipped".to_owned()),
            MissedWhy::LeftOut { .. } | MissedWhy::NotThisWeek => (Tone::Act, "missed".to_owned()),
        };
    }
    match station.visits.first().map(|visit| visit.shown.worst()) {
        None => (Tone::None, "not read".to_owned()),
        Some(None) => (Tone::None, "not judged".to_owned()),
        Some(Some(verdict)) => (verdict.into(), words::verdict(verdict).to_owned()),
    }
}

/// "10.2   4.1   2.04 bar": the values as typed, a dash where a gauge was not read. The unit
/// stands once where it is the same for all.
fn values(station: &Station, visit: &Visit) -> String {
    let units: Vec<_> = Quantity::ALL
        .into_iter()
        .filter_map(|quantity| Some(visit.entry.get(quantity)?.unit))
        .collect();
    let one_unit = units.iter().all(|unit| Some(unit) == units.first());
    let parts = Quantity::ALL.map(|quantity| match visit.entry.get(quantity) {
        None => "\u{2013}".to_owned(),
        Some(typed) if one_unit => typed.digits.to_string(),
        Some(typed) => words::typed(typed),
    });
    let unit = units.first().copied().unwrap_or(station.unit);
    let unit = if one_unit {
        format!(" {}", unit.symbol())
    } else {
        String::new()
    };
    format!("{}{unit}", parts.join(" / "))
}

/// The worst verdict of a station's newest reading.
#[must_use]
pub fn newest_verdict(station: &StationSummary) -> Option<Verdict> {
    station.visits.first()?.shown.worst()
}

/// Splits lines into pages of `fits` lines. A page that starts inside a level repeats its
/// heading, and none ends with a heading.
#[must_use]
pub fn pages(lines: &[FleetLine], fits: usize) -> Vec<Vec<FleetLine>> {
    let fits = fits.max(2);
    let mut pages: Vec<Vec<FleetLine>> = Vec::new();
    let mut page: Vec<FleetLine> = Vec::new();
    let mut heading: Option<&FleetLine> = None;
    for line in lines {
        let needed = if line.is_heading { 2 } else { 1 };
        if page.len() + needed > fits {
            pages.push(std::mem::take(&mut page));
        }
        if line.is_heading {
            heading = Some(line);
        } else if page.is_empty() {
            page.extend(heading.cloned());
        }
        page.push(line.clone());
    }
    if !page.is_empty() {
        pages.push(page);
    }
    pages
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::office::samples;
    use crate::presenters::office_attention::attention;

    fn walked(find: &str) -> Vec<FleetLine> {
        let snapshot = samples::snapshot();
        fleet(&snapshot, &attention(&snapshot), find, Order::Walk)
    }

    fn codes(lines: &[FleetLine]) -> Vec<String> {
        lines
            .iter()
            .map(|line| {
                if line.is_heading {
                    format!("[{}]", line.name)
                } else {
                    line.code.clone()
                }
            })
            .collect()
    }

    #[test]
    fn stations_stand_under_their_level() {
        let lines = walked("");
        assert_eq!(lines.iter().filter(|line| line.is_heading).count(), 4);
        assert_eq!(lines.iter().filter(|line| !line.is_heading).count(), 12);
        assert_eq!(codes(&lines)[..2], ["[Level 180]", "T-01"]);
    }

    #[test]
    fn finding_looks_at_code_name_and_level() {
        assert_eq!(codes(&walked(" t-07 ")), ["[Level 420]", "T-07"]);
        assert_eq!(walked("420").len(), 4);
        assert!(walked("nowhere").is_empty());
    }

    #[test]
    fn state_tells_missed_before_the_last_verdict() {
        let lines = walked("");
        let word = |code: &str| {
            lines
                .iter()
                .find(|line| line.code == code)
                .map(|line| line.word.as_str())
        };
        assert_eq!(word("T-07"), Some("outside"));
        assert_eq!(word("T-03"), Some("unsure"));
        assert_eq!(word("T-11"), Some("missed"));
        assert_eq!(word("T-09"), Some("skipped"));
        assert_eq!(word("T-01"), Some("within"));
    }

    #[test]
    fn what_needs_attention_stands_first_and_says_why() {
        let snapshot = samples::snapshot();
        let lines = fleet(&snapshot, &attention(&snapshot), "", Order::Need);
        let first: Vec<(&str, &str)> = lines
            .iter()
            .take(5)
            .map(|line| (line.code.as_str(), line.word.as_str()))
            .collect();
        assert_eq!(
            first,
            [
                ("T-07", "outside"),
                ("T-03", "unsure"),
                ("T-11", "missed"),
                ("T-05", "finding"),
                ("T-09", "skipped"),
            ]
        );
        assert!(lines.iter().take(5).all(|line| !line.reason.is_empty()));
        assert!(
            lines[3].reason.ends_with("Also: question."),
            "{}",
            lines[3].reason
        );
        let rest: Vec<&str> = lines
            .iter()
            .skip(5)
            .map(|line| line.code.as_str())
            .collect();
        assert!(rest.is_sorted(), "{rest:?}");
        assert_eq!(lines.len(), 12);
    }

    #[test]
    fn pages_repeat_their_heading_and_never_end_with_one() {
        let line = |code: &str| FleetLine {
            code: code.to_owned(),
            ..FleetLine::default()
        };
        let lines = [
            heading("A"),
            line("1"),
            line("2"),
            line("3"),
            heading("B"),
            line("4"),
        ];
        let pages: Vec<_> = pages(&lines, 3).iter().map(|page| codes(page)).collect();
        assert_eq!(
            pages,
            [vec!["[A]", "1", "2"], vec!["[A]", "3"], vec!["[B]", "4"]]
        );
    }
}
