//! The hydraulic check as the office's screen shows it: what to do about it first, then the
//! figures, in two parts that each fit a window.
//!
//! Which figures there are and how they are worded is [`super::hydraulics`]; here they only find
//! their place.

use winze_core::hydraulics::check;
use winze_core::station::Station;

use super::hydraulics::{Finding, NOT_KNOWN, Sheet, Subject, Table, sheet};
use super::office_view::Page;
use crate::messages::hydraulics::nothing_to_check;

/// Which figures are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Part {
    /// What to do, the pressures, and what happens when a stage sticks.
    #[default]
    Pressures,
    /// What flows, and what it flows through.
    Flow,
}

/// The check of one station, worked out once.
#[derive(Debug, Clone, PartialEq)]
pub enum Checked {
    /// The figures.
    Sheet(Box<Sheet>),
    /// Why there are none, and what to do.
    Nothing(String),
}

/// Checks a station.
#[must_use]
pub fn checked(station: &Station) -> Checked {
    match check(station) {
        Ok(found) => Checked::Sheet(Box::new(sheet(station, &found))),
        Err(gap) => {
            let message = nothing_to_check(&gap);
            Checked::Nothing(format!("{} {}", message.what, message.next))
        }
    }
}

/// Room for the recommendations: how many lines, and how many letters fit on one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Room {
    /// Lines.
    pub lines: usize,
    /// Letters on a line.
    pub letters: usize,
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetCell {
    /// As shown.
    pub text: String,
    /// Whether it only says that the figure is not there.
    pub is_gap: bool,
}

/// A row of a table, or the name of the rows that follow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetRow {
    /// Whether it only names what follows.
    pub is_heading: bool,
    /// What the figures are.
    pub name: String,
    /// The figures.
    pub cells: Vec<SheetCell>,
}

/// A table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetTable {
    /// What it is about.
    pub title: String,
    /// Heads of the columns; none for a plain list.
    pub columns: Vec<String>,
    /// The rows.
    pub rows: Vec<SheetRow>,
    /// What to know when reading it, or empty.
    pub note: String,
}

/// The screen.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct HydraulicsView {
    /// Said instead of everything else where there is nothing to check.
    pub nothing: String,
    /// Which part is shown.
    pub part: Part,
    /// How many recommendations there are, in words.
    pub findings_title: String,
    /// The recommendations that there is room for.
    pub findings: Vec<Finding>,
    /// Which of them.
    pub findings_page: Page,
    /// Tables under the recommendations, or in the first column.
    pub left: Vec<SheetTable>,
    /// Tables of the second column.
    pub right: Vec<SheetTable>,
    /// Names the list of what the definition lacks; empty where it lacks nothing.
    pub lacking_title: String,
    /// What it lacks, one thing a line.
    pub lacking: Vec<String>,
}

/// Lays one part of the check out; of the recommendations the page number `page`, from 0.
#[must_use]
pub fn hydraulics(checked: &Checked, part: Part, room: Room, page: usize) -> HydraulicsView {
    let sheet = match checked {
        Checked::Sheet(sheet) => sheet,
        Checked::Nothing(why) => {
            return HydraulicsView {
                nothing: why.clone(),
                ..HydraulicsView::default()
            };
        }
    };
    let tables = |subjects: &[Subject]| {
        let of = |subject: &Subject| sheet.tables.iter().find(|table| table.subject == *subject);
        subjects.iter().filter_map(of).map(table).collect()
    };
    let (left, right): (&[Subject], &[Subject]) = match part {
        Part::Pressures => (
            &[Subject::Failures],
            &[Subject::Pressures, Subject::SetPoint],
        ),
        Part::Flow => (
            &[Subject::FirstStage, Subject::SecondStage],
            &[Subject::Conditions],
        ),
    };
    let mut view = HydraulicsView {
        part,
        left: tables(left),
        right: tables(right),
        ..HydraulicsView::default()
    };
    match part {
        Part::Pressures => put_findings(&mut view, &sheet.findings, room, page),
        Part::Flow => put_lacking(&mut view, &sheet.lacking),
    }
    view
}

fn put_findings(view: &mut HydraulicsView, findings: &[Finding], room: Room, page: usize) {
    view.findings_title = match findings.len() {
        0 => "Nothing to object to.".to_owned(),
        1 => "One thing to look at".to_owned(),
        many => format!("{many} things to look at, the gravest first"),
    };
    let pages = pages(findings, room);
    let page = page.min(pages.len().saturating_sub(1));
    let Some(&(from, to)) = pages.get(page) else {
        return;
    };
    view.findings = findings[from..to].to_vec();
    view.findings_page = Page {
        text: format!("{} to {to} of {}", from + 1, findings.len()),
        can_back: page > 0,
        can_on: page + 1 < pages.len(),
    };
}

fn put_lacking(view: &mut HydraulicsView, lacking: &[String]) {
    if lacking.is_empty() {
        return;
    }
    "The definition does not say".clone_into(&mut view.lacking_title);
    view.lacking = lacking.to_vec();
}

/// How many pages the recommendations take.
#[must_use]
pub fn page_count(checked: &Checked, room: Room) -> usize {
    match checked {
        Checked::Sheet(sheet) => pages(&sheet.findings, room).len(),
        Checked::Nothing(_) => 0,
    }
}

/// Splits recommendations into pages, each from one number up to but not including another. One
/// that is longer than a page has a page for itself.
fn pages(findings: &[Finding], room: Room) -> Vec<(usize, usize)> {
    let mut pages = Vec::new();
    let (mut from, mut used) = (0, 0);
    for (place, finding) in findings.iter().enumerate() {
        let needed = lines(finding, room.letters);
        if place > from && used + needed > room.lines {
            pages.push((from, place));
            (from, used) = (place, 0);
        }
        used += needed;
    }
    if from < findings.len() {
        pages.push((from, findings.len()));
    }
    pages
}

/// Lines that a recommendation takes, with the gap after it.
fn lines(finding: &Finding, letters: usize) -> usize {
    let letters = letters.max(20);
    let of = |text: &str| text.chars().count().div_ceil(letters);
    // The word, what was found, what to do, and half a line of space rounded up.
    1 + of(&finding.what) + of(&finding.next) + 1
}

/// A table with the stage named once above its rows.
fn table(table: &Table) -> SheetTable {
    let mut rows = Vec::new();
    let mut group = "";
    for row in &table.rows {
        let (own, name) = row.name.split_once(": ").unwrap_or(("", &row.name));
        if own != group {
            rows.extend((!own.is_empty()).then(|| SheetRow {
                is_heading: true,
                name: own.to_owned(),
                cells: Vec::new(),
            }));
            group = own;
        }
        rows.push(SheetRow {
            is_heading: false,
            name: name.to_owned(),
            cells: row.cells.iter().map(|text| cell(text)).collect(),
        });
    }
    SheetTable {
        title: table.title.clone(),
        columns: table.columns.clone(),
        rows,
        note: table.note.clone(),
    }
}

fn cell(text: &str) -> SheetCell {
    SheetCell {
        text: text.to_owned(),
        is_gap: text == NOT_KNOWN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;

    const ROOM: Room = Room {
        lines: 20,
        letters: 70,
    };

    fn titles(tables: &[SheetTable]) -> Vec<&str> {
        tables.iter().map(|table| table.title.as_str()).collect()
    }

    #[test]
    fn both_parts_together_show_every_table_once() {
        let checked = checked(&samples::complete_station());
        let Checked::Sheet(sheet) = &checked else {
            panic!("{checked:?}");
        };
        let mut shown = Vec::new();
        for part in [Part::Pressures, Part::Flow] {
            let view = hydraulics(&checked, part, ROOM, 0);
            for table in view.left.iter().chain(&view.right) {
                shown.push(table.title.clone());
            }
        }
        let mut all: Vec<_> = sheet
            .tables
            .iter()
            .map(|table| table.title.clone())
            .collect();
        shown.sort_unstable();
        all.sort_unstable();
        assert_eq!(shown, all);
    }

    #[test]
    fn stage_is_named_once_above_its_rows() {
        let checked = checked(&samples::complete_station());
        let view = hydraulics(&checked, Part::Pressures, ROOM, 0);
        let table = view.right.first().expect("the pressures");
        let heads: Vec<&str> = table
            .rows
            .iter()
            .filter(|row| row.is_heading)
            .map(|row| row.name.as_str())
            .collect();
        assert_eq!(heads, ["first stage", "second stage"]);
        assert!(table.rows.iter().any(|row| row.name == "sigma"));
        assert_eq!(
            titles(&view.left),
            ["A stage stuck open, no draw-off, inlet at its highest"]
        );
    }

    #[test]
    fn what_is_missing_is_faint_in_its_place_and_named_in_a_list() {
        let checked = checked(&samples::station());
        let view = hydraulics(&checked, Part::Flow, ROOM, 0);
        assert!(
            view.lacking
                .contains(&"rated Kv of the first stage".to_owned())
        );
        let cells = view.left.iter().flat_map(|table| &table.rows);
        assert!(cells.flat_map(|row| &row.cells).all(|cell| cell.is_gap));
    }

    #[test]
    fn pages_hold_every_recommendation_once_and_fit() {
        let finding = |what: &str| Finding {
            tone: super::super::view::Tone::Caution,
            word: "poor".to_owned(),
            what: what.to_owned(),
            next: "Do something.".to_owned(),
        };
        let findings: Vec<Finding> = (0..7).map(|_| finding(&"w".repeat(150))).collect();
        let found = pages(&findings, ROOM);
        // A word, three lines of what, one of what to do, one of space: six; three to a page.
        assert_eq!(found, [(0, 3), (3, 6), (6, 7)]);
        let tight = Room { lines: 1, ..ROOM };
        assert_eq!(pages(&findings, tight).len(), 7);
        assert_eq!(pages(&[], ROOM), []);
    }

    #[test]
    fn station_that_cannot_be_checked_says_why() {
        let mut station = samples::station();
        station.first_stage.ratio = samples::digits("0");
        let view = hydraulics(&checked(&station), Part::Pressures, ROOM, 0);
        assert!(view.nothing.contains("ratio above 1"), "{}", view.nothing);
        assert!(view.left.is_empty() && view.right.is_empty());
    }
}
