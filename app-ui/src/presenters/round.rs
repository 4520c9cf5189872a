//! The first screen: the round in walking order, how far it is, and the one next act.

use winze_core::query::{RoundView, StationRow, Stop, StopState};

use super::view::{Choice, ListLine, QuestionView, Tone};
use super::{station, words};

/// Where the round stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stage {
    /// There is no station in this logbook.
    #[default]
    NoStations,
    /// No round is open.
    NotOpen,
    /// A round is open and stations are left.
    Open,
    /// A round is open and nothing is left.
    AllDone,
}

/// One station in the strip that shows the whole round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// Tone of its verdict.
    pub tone: Tone,
    /// Whether it is read or skipped.
    pub is_done: bool,
    /// Whether it comes next.
    pub is_next: bool,
}

/// The round screen.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RoundScreen {
    /// Where the round stands.
    pub stage: Stage,
    /// What the round is called.
    pub title: String,
    /// "14 not yet at the office", or empty.
    pub waiting: String,
    /// "5 of 12".
    pub count: String,
    /// What is skipped and left.
    pub count_detail: String,
    /// The whole round, station by station.
    pub marks: Vec<Mark>,
    /// The lines of the page that is shown.
    pub lines: Vec<ListLine>,
    /// The page shown, from 0.
    pub page: usize,
    /// How many pages there are.
    pub pages: usize,
    /// What comes next.
    pub heading: String,
    /// A sentence to it.
    pub sentence: String,
    /// Label of the one next act, or empty.
    pub next_act: String,
}

/// Pages of a list, each a slice of lines, headings repeated where a level goes on.
///
/// `half_lines` is what a page holds: a heading takes one, a line two.
#[must_use]
pub fn pages(lines: &[(String, ListLine)], half_lines: usize) -> Vec<Vec<ListLine>> {
    let room = half_lines.max(3);
    let mut pages: Vec<Vec<ListLine>> = Vec::new();
    let (mut used, mut level): (usize, Option<&str>) = (room, None);
    for (of, line) in lines {
        let is_new_level = !of.is_empty() && level != Some(of.as_str());
        let is_full = used + 2 + usize::from(is_new_level) > room;
        if is_full {
            pages.push(Vec::new());
            used = 0;
        }
        let Some(page) = pages.last_mut() else {
            continue;
        };
        if !of.is_empty() && (is_new_level || is_full) {
            page.push(ListLine {
                is_heading: true,
                name: of.clone(),
                ..ListLine::default()
            });
            used += 1;
        }
        page.push(line.clone());
        used += 2;
        level = Some(of);
    }
    pages
}

fn stop_line(stop: &Stop, is_next: bool) -> ListLine {
    let (tone, status) = match &stop.state {
        StopState::Left => (Tone::None, String::new()),
        StopState::Done { worst, .. } => match worst {
            Some(worst) => ((*worst).into(), words::verdict(*worst).to_owned()),
            None => (Tone::None, "read, not judged".to_owned()),
        },
        StopState::Skipped { reason, .. } => {
            (Tone::None, format!("skipped: {}", skipped_because(*reason)))
        }
    };
    ListLine {
        id: stop.code.as_str().to_owned(),
        code: stop.code.as_str().to_owned(),
        name: stop.name.clone(),
        tone,
        status,
        is_next,
        is_heading: false,
    }
}

fn skipped_because(reason: winze_core::record::SkipReason) -> String {
    let text = station::skip_reason(reason);
    let text = text.split(':').next().unwrap_or(text);
    text.to_lowercase()
}

/// Shows an open round. `page` is the page asked for; `None` shows the one with the next station.
#[must_use]
pub fn open(round: &RoundView, half_lines: usize, page: Option<usize>) -> RoundScreen {
    let next = round.next();
    let is_next = |stop: &Stop| next.is_some_and(|next| next.code == stop.code);
    let lines: Vec<_> = round
        .stops
        .iter()
        .map(|stop| (stop.level.clone(), stop_line(stop, is_next(stop))))
        .collect();
    let (done, skipped, left) = (round.done(), round.skipped(), round.left());
    let mut screen = RoundScreen {
        stage: if next.is_some() {
            Stage::Open
        } else {
            Stage::AllDone
        },
        title: round.title.clone(),
        count: format!("{done} of {}", round.stops.len()),
        count_detail: match (skipped, left) {
            (0, 0) => "none left".to_owned(),
            (0, left) => format!("{left} left"),
            (skipped, 0) => format!("{skipped} skipped, none left"),
            (skipped, left) => format!("{skipped} skipped, {left} left"),
        },
        marks: round
            .stops
            .iter()
            .zip(&lines)
            .map(|(stop, (_, line))| Mark {
                tone: line.tone,
                is_done: stop.state != StopState::Left,
                is_next: line.is_next,
            })
            .collect(),
        ..RoundScreen::default()
    };
    if let Some(stop) = next {
        screen.heading = format!("Next: {}", stop.code.as_str());
        screen.sentence = place(&stop.level, &stop.name);
        screen.next_act = format!("Open {}", stop.code.as_str());
    } else {
        "Nothing is left".clone_into(&mut screen.heading);
        "Close the round, then hand it over at the office.".clone_into(&mut screen.sentence);
        "Close the round".clone_into(&mut screen.next_act);
    }
    turn_to(screen, &lines, half_lines, page)
}

/// Shows that the stations are here but do not count, because nobody has compared the words of
/// the office they came from.
#[must_use]
pub fn held() -> RoundScreen {
    RoundScreen {
        heading: "The stations are not counted yet".to_owned(),
        sentence:
            "They came from an office that this tablet does not know. Compare its eight words \
                   with it first."
                .to_owned(),
        next_act: "Compare the words".to_owned(),
        ..RoundScreen::default()
    }
}

/// Shows the register while no round is open.
#[must_use]
pub fn not_open(stations: &[StationRow], half_lines: usize, page: Option<usize>) -> RoundScreen {
    if stations.is_empty() {
        return RoundScreen {
            heading: "No stations yet".to_owned(),
            sentence: "The office sends the stations on a stick. Put it in, and take in what the \
                       office sent."
                .to_owned(),
            next_act: "Go to the hand-over".to_owned(),
            ..RoundScreen::default()
        };
    }
    let lines: Vec<_> = stations
        .iter()
        .map(|row| {
            let worst = row.last.and_then(|last| last.worst);
            let line = ListLine {
                id: row.code.as_str().to_owned(),
                code: row.code.as_str().to_owned(),
                name: row.name.clone(),
                tone: worst.map_or(Tone::None, Tone::from),
                status: worst.map_or_else(String::new, |worst| {
                    format!("last {}", words::verdict(worst))
                }),
                ..ListLine::default()
            };
            (row.level.clone(), line)
        })
        .collect();
    let screen = RoundScreen {
        stage: Stage::NotOpen,
        count: stations.len().to_string(),
        count_detail: if stations.len() == 1 {
            "station"
        } else {
            "stations"
        }
        .to_owned(),
        heading: "No round is open".to_owned(),
        sentence: "A round leads through the stations in walking order.".to_owned(),
        next_act: "Start the round".to_owned(),
        ..RoundScreen::default()
    };
    turn_to(screen, &lines, half_lines, page.or(Some(0)))
}

fn place(level: &str, name: &str) -> String {
    [level, name]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(", ")
}

fn turn_to(
    mut screen: RoundScreen,
    lines: &[(String, ListLine)],
    half_lines: usize,
    page: Option<usize>,
) -> RoundScreen {
    let pages = pages(lines, half_lines);
    let with_next = || {
        pages
            .iter()
            .position(|page| page.iter().any(|line| line.is_next))
    };
    let last = pages.len().saturating_sub(1);
    screen.pages = pages.len();
    screen.page = page.or_else(with_next).unwrap_or(0).min(last);
    screen.lines = pages.into_iter().nth(screen.page).unwrap_or_default();
    screen
}

/// Answer: the round is closed although stations are left.
pub const CLOSE: &str = "close";
/// Answer: the round goes on.
pub const GO_ON: &str = "go-on";

/// Asks before a round with stations left is closed.
#[must_use]
pub fn close_question(left: usize) -> QuestionView {
    let left = words::count(left as u64, "station is", "stations are");
    QuestionView {
        question: format!("{left} not read. Close the round?"),
        detail: "What was not read stays on the office's list of missed stations.".to_owned(),
        answers: vec![
            Choice {
                is_on: true,
                ..Choice::new(GO_ON, "Go on with the round")
            },
            Choice::new(CLOSE, "Close it, leave them unread"),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(code: &str) -> ListLine {
        ListLine {
            code: code.to_owned(),
            ..ListLine::default()
        }
    }

    fn shape(pages: &[Vec<ListLine>]) -> Vec<String> {
        let name = |line: &ListLine| {
            if line.is_heading {
                format!("[{}]", line.name)
            } else {
                line.code.clone()
            }
        };
        pages
            .iter()
            .map(|page| page.iter().map(name).collect::<Vec<_>>().join(" "))
            .collect()
    }

    #[test]
    fn pages_are_full_and_repeat_the_heading_of_a_level_that_goes_on() {
        let lines: Vec<_> = [("A", "1"), ("A", "2"), ("A", "3"), ("B", "4"), ("B", "5")]
            .into_iter()
            .map(|(level, code)| (level.to_owned(), line(code)))
            .collect();
        assert_eq!(shape(&pages(&lines, 5)), ["[A] 1 2", "[A] 3", "[B] 4 5"]);
        assert_eq!(shape(&pages(&lines, 12)), ["[A] 1 2 3 [B] 4 5"]);
    }

    #[test]
    fn stations_without_a_level_have_no_headings() {
        let lines: Vec<_> = ["1", "2", "3"]
            .map(|code| (String::new(), line(code)))
            .into();
        assert_eq!(shape(&pages(&lines, 4)), ["1 2", "3"]);
        assert!(pages(&[], 10).is_empty());
    }

    #[test]
    fn tiny_page_still_shows_one_line_each() {
        let lines: Vec<_> = ["1", "2"].map(|code| ("A".to_owned(), line(code))).into();
        assert_eq!(shape(&pages(&lines, 0)), ["[A] 1", "[A] 2"]);
    }

    #[test]
    fn empty_register_says_what_to_do() {
        let screen = not_open(&[], 12, None);
        assert_eq!(screen.stage, Stage::NoStations);
        assert!(!screen.sentence.is_empty() && !screen.next_act.is_empty());
    }
}
