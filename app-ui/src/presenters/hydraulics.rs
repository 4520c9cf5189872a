//! The hydraulic check as tables of ready-to-show texts: for a screen, a page of the certificate
//! and the command.
//!
//! Every figure that is not there says so in its place; why stands in [`Sheet::lacking`].

mod summary;
mod tables;

use winze_core::hydraulics::{Concern, HydraulicCheck, Stage};
use winze_core::station::Station;

use super::view::Tone;
use crate::messages::hydraulics::{lack_in_words, recommendation};
pub use summary::summary;
use tables::{conditions, duties, failures, loads, set_point};

/// The whole check.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The station, code and name.
    pub title: String,
    /// Recommendations, gravest first.
    pub findings: Vec<Finding>,
    /// The figures.
    pub tables: Vec<Table>,
    /// What the definition lacks, each in words.
    pub lacking: Vec<String>,
}

/// One recommendation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What it means.
    pub tone: Tone,
    /// How grave it is, in a word or two.
    pub word: String,
    /// What was found, with figures.
    pub what: String,
    /// What to do.
    pub next: String,
}

/// Stands where a figure is not there for want of data.
pub const NOT_KNOWN: &str = "not known";

/// What a table is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Subject {
    /// Pressures and load over the usual inlet range.
    Pressures,
    /// The duty of the first stage.
    FirstStage,
    /// The duty of the second stage.
    SecondStage,
    /// The duty of both stages, on one page with everything else.
    BothStages,
    /// Set point and ratio.
    SetPoint,
    /// A stage stuck open.
    Failures,
    /// Water and air.
    Conditions,
}

/// Figures that belong together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// What they are about.
    pub subject: Subject,
    /// The same in words.
    pub title: String,
    /// Heads of the columns after the first; empty for a plain list.
    pub columns: Vec<String>,
    /// The rows, each with a cell per column (one cell in a plain list).
    pub rows: Vec<Row>,
    /// What to know when reading it, or empty.
    pub note: String,
}

/// One row of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// What the figures are. Those of one stage among others begin with the stage and a colon.
    pub name: String,
    /// The figures.
    pub cells: Vec<String>,
}

impl Row {
    fn new(name: impl Into<String>, cells: impl IntoIterator<Item = String>) -> Self {
        Self {
            name: name.into(),
            cells: cells.into_iter().collect(),
        }
    }
}

/// Lays the check of a station out.
#[must_use]
pub fn sheet(station: &Station, check: &HydraulicCheck) -> Sheet {
    let unit = station.unit;
    let mut tables = vec![loads(check, unit)];
    tables.extend(Stage::ALL.map(|stage| duties(check, stage)));
    tables.push(set_point(check, unit));
    tables.push(failures(check, unit));
    tables.push(conditions(check));
    with_tables(station, check, tables)
}

/// Title, findings and what is lacking, beside these tables.
fn with_tables(station: &Station, check: &HydraulicCheck, tables: Vec<Table>) -> Sheet {
    let unit = station.unit;
    Sheet {
        title: format!("{} {}", station.code, station.name)
            .trim()
            .to_owned(),
        findings: check
            .recommendations
            .iter()
            .map(|raised| {
                let message = recommendation(raised, unit);
                let (tone, word) = concern(raised.concern());
                Finding {
                    tone,
                    word: word.to_owned(),
                    what: message.what,
                    next: message.next,
                }
            })
            .collect(),
        tables,
        lacking: check
            .lacking
            .iter()
            .map(|&lack| lack_in_words(lack))
            .collect(),
    }
}

const fn concern(concern: Concern) -> (Tone, &'static str) {
    match concern {
        Concern::Danger => (Tone::Outside, "danger"),
        Concern::DoesNotWork => (Tone::Outside, "does not work"),
        Concern::Poor => (Tone::Caution, "poor"),
        Concern::Consider => (Tone::None, "consider"),
        Concern::Incomplete => (Tone::Unsure, "not complete"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;
    use winze_core::hydraulics::check;

    fn find<'a>(sheet: &'a Sheet, title: &str, row: &str) -> &'a [String] {
        let table = sheet
            .tables
            .iter()
            .find(|table| table.title.starts_with(title));
        let mut rows = table.expect("the table").rows.iter();
        &rows.find(|found| found.name == row).expect("the row").cells
    }

    #[test]
    fn figures_that_are_not_there_say_so() {
        let mut station = samples::station();
        station.site = winze_core::station::Site::default();
        let found = check(&station).unwrap();
        let sheet = sheet(&station, &found);
        assert_eq!(
            find(&sheet, "Pressures", "first stage: sigma"),
            ["not known", "not known", "not known"]
        );
        assert!(sheet.lacking.contains(&"water temperature".to_owned()));
        let last = sheet.findings.last().unwrap();
        assert_eq!(
            (last.tone, last.word.as_str()),
            (Tone::Unsure, "not complete")
        );
    }

    #[test]
    fn every_row_has_a_cell_for_each_column() {
        let station = samples::station();
        let sheet = sheet(&station, &check(&station).unwrap());
        for table in &sheet.tables {
            for row in &table.rows {
                assert_eq!(row.cells.len(), table.columns.len().max(1), "{}", row.name);
            }
        }
    }
}
