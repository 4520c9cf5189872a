//! The plain structs that the office's station screen is given.

use super::office_view::{Fact, Page};
use super::view::{GaugeView, Tone};

/// A value in the table of readings.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cell {
    /// As typed; empty where the gauge was not read.
    pub value: String,
    /// Its verdict.
    pub tone: Tone,
    /// The same in a word.
    pub word: String,
}

/// A reading in the table.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadingLine {
    /// What the screen answers with.
    pub id: String,
    /// When it was taken.
    pub when: String,
    /// Who took it.
    pub who: String,
    /// The three gauges.
    pub cells: Vec<Cell>,
    /// What was noticed, and how it stands.
    pub remark: String,
    /// Whether it is the one shown on the dials.
    pub is_chosen: bool,
}

/// One line of a verdict's arithmetic.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SumLine {
    /// What is done.
    pub what: String,
    /// From what.
    pub how: String,
    /// What it gives.
    pub figure: String,
    /// Whether it is a result.
    pub is_strong: bool,
    /// What it means, where it means something.
    pub tone: Tone,
}

/// One station.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StationPage {
    /// Its code.
    pub code: String,
    /// Its name and level.
    pub name: String,
    /// Which definition is in force.
    pub revision: String,
    /// Which reading the dials show.
    pub reading_title: String,
    /// The three dials in flow order; none before a definition is known.
    pub gauges: Vec<GaugeView>,
    /// The gauge whose arithmetic is shown, in flow order from 0.
    pub chosen_gauge: usize,
    /// What the reading means.
    pub meaning: String,
    /// What the table holds.
    pub readings_title: String,
    /// Said instead of an empty table.
    pub nothing: String,
    /// The readings, newest first.
    pub readings: Vec<ReadingLine>,
    /// Which part of them.
    pub page: Page,
    /// What the arithmetic is about.
    pub sum_title: String,
    /// The arithmetic.
    pub sum: Vec<SumLine>,
    /// The definition.
    pub definition: Vec<Fact>,
    /// What is wrong with it.
    pub problems: Vec<Fact>,
    /// The unit of the set point.
    pub unit: String,
    /// What a change does.
    pub change_title: String,
    /// What the change typed would mean.
    pub change_effect: Vec<Fact>,
    /// Why it cannot be written.
    pub change_problem: String,
    /// Whether it can be written.
    pub can_save: bool,
}
