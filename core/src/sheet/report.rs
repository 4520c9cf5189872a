//! What a sheet reader has to say: rows refused, and things noticed about the whole sheet.
//!
//! Data only; the words for people are made by the program. A refused row never touches another.

use std::io;

use super::moment::MomentFault;
use super::number::NumberFault;
use super::rows::RowFault;
use crate::station::{CodeError, Problem};
use crate::units::Unit;

/// Most characters of a cell that a report repeats.
const FOUND_MAX: usize = 60;

/// One refused row.
#[derive(Debug, Clone, PartialEq)]
pub struct RowReport {
    /// Line on which the row starts, from 1.
    pub line: u64,
    /// Column the refusal is about, as its heading is written; `None` for the row as a whole.
    pub column: Option<String>,
    /// What stands in the cell, at most 60 characters of it; empty for the row as a whole.
    pub found: String,
    /// What is wrong.
    pub refusal: Refusal,
    /// True when the file ends in this row without a line break, as a copy cut short does.
    pub file_ends_here: bool,
}

/// Why a row was refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// The row cannot be split into cells.
    #[error("{0}")]
    Row(RowFault),
    /// The file ends before the row has all its cells.
    #[error("the file ends after {cells} of {expected} cells")]
    CutShort {
        /// Cells found.
        cells: usize,
        /// Cells in the heading.
        expected: usize,
    },
    /// Fewer cells than the heading has.
    #[error("{cells} cells where the heading has {expected}")]
    TooFewCells {
        /// Cells found.
        cells: usize,
        /// Cells in the heading.
        expected: usize,
    },
    /// More cells than the heading has, and not only empty ones.
    #[error("{cells} cells where the heading has {expected}")]
    TooManyCells {
        /// Cells found.
        cells: usize,
        /// Cells in the heading.
        expected: usize,
    },
    /// A cell that must be filled is empty.
    #[error("empty cell")]
    Empty,
    /// Not a number.
    #[error("{0}")]
    Number(NumberFault),
    /// A number, but not a whole one or not one that fits.
    #[error("not a whole number from {min} to {max}")]
    WholeNumber {
        /// Smallest accepted.
        min: i64,
        /// Largest accepted.
        max: i64,
    },
    /// Not a span such as `16`, `0-16` or `-1..5`.
    #[error("not a span")]
    Span,
    /// Not a date or a time.
    #[error("{0}")]
    Moment(MomentFault),
    /// A unit nobody knows.
    #[error("unknown unit")]
    UnknownUnit,
    /// Not a station code.
    #[error("{0}")]
    Code(CodeError),
    /// Neither still nor flowing.
    #[error("neither still nor flowing")]
    Flow,
    /// None of the three gauges was read.
    #[error("no gauge was read")]
    NothingRead,
    /// A text longer than a record may carry.
    #[error("text longer than {max} bytes")]
    TextTooLong {
        /// Most bytes accepted.
        max: usize,
    },
    /// The station stands in the register already.
    #[error("station already defined on line {first_line}")]
    RepeatedStation {
        /// Line of the first row for this station.
        first_line: u64,
    },
    /// A station that cannot work as written.
    #[error("{problem:?}")]
    Definition {
        /// The first thing that keeps it from being used.
        problem: Problem,
        /// The unit of the row, to show the figures in.
        unit: Unit,
    },
    /// A reading of a station that nobody has defined. Found by the loader, not by the reader.
    #[error("unknown station")]
    UnknownStation,
}

impl Refusal {
    /// The stable code used in `--json`.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Row(RowFault::OpenQuote) => "open-quote",
            Self::Row(RowFault::StrayQuote { .. }) => "stray-quote",
            Self::Row(RowFault::TooLong) => "row-too-long",
            Self::CutShort { .. } => "cut-short",
            Self::TooFewCells { .. } => "too-few-cells",
            Self::TooManyCells { .. } => "too-many-cells",
            Self::Empty => "empty",
            Self::Number(NumberFault::NotANumber) => "not-a-number",
            Self::Number(NumberFault::TwoMarks) => "second-decimal-mark",
            Self::Number(NumberFault::Grouped) => "thousands-or-decimals",
            Self::Number(NumberFault::PowerOfTen) => "power-of-ten",
            Self::Number(NumberFault::TooManyDigits) => "too-many-digits",
            Self::WholeNumber { .. } => "not-a-whole-number",
            Self::Span => "not-a-span",
            Self::Moment(MomentFault::Shape) => "not-a-date",
            Self::Moment(MomentFault::NoSuchDay) => "no-such-day",
            Self::Moment(MomentFault::NoSuchTime) => "no-such-time",
            Self::Moment(MomentFault::NoSuchOffset) => "no-such-offset",
            Self::Moment(MomentFault::Year) => "year-out-of-range",
            Self::UnknownUnit => "unknown-unit",
            Self::Code(_) => "not-a-station-code",
            Self::Flow => "not-a-flow-state",
            Self::NothingRead => "nothing-read",
            Self::TextTooLong { .. } => "text-too-long",
            Self::RepeatedStation { .. } => "repeated-station",
            Self::Definition { problem, .. } => problem.code(),
            Self::UnknownStation => "unknown-station",
        }
    }
}

/// Something noticed about the sheet as a whole; nothing is refused for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// A column that nothing is read from.
    UnknownColumn {
        /// Its heading.
        name: String,
        /// Its place from 1.
        position: usize,
    },
    /// Cells that were not UTF-8 were read as Windows-1252.
    Recoded {
        /// Rows with such cells.
        rows: u64,
        /// Line of the first.
        first_line: u64,
    },
}

/// Why a sheet could not be read at all, or not further.
#[derive(Debug, thiserror::Error)]
pub enum SheetError {
    /// The source failed; rows before `line` were delivered.
    #[error("reading failed at line {line}: {source}")]
    Read {
        /// Line that was being read.
        line: u64,
        /// The source's answer.
        source: io::Error,
    },
    /// Nothing but comments and blank lines.
    #[error("no heading")]
    Empty,
    /// UTF-16 text.
    #[error("UTF-16 text")]
    Utf16,
    /// The heading row cannot be split into cells.
    #[error("the heading on line {line} cannot be read: {fault}")]
    Heading {
        /// Line of the heading.
        line: u64,
        /// What is wrong.
        fault: RowFault,
    },
    /// The heading lacks columns.
    #[error("the heading lacks {missing:?}")]
    MissingColumns {
        /// Columns that must be there and are not.
        missing: Vec<&'static str>,
        /// Headings found.
        found: Vec<String>,
    },
    /// Two columns have one heading.
    #[error("column {name:?} stands at {first} and {second}")]
    RepeatedColumn {
        /// The heading.
        name: String,
        /// Place of the first, from 1.
        first: usize,
        /// Place of the second, from 1.
        second: usize,
    },
}

/// Shortens a cell for a report, on a character border.
pub(super) fn shorten(cell: &str) -> String {
    let cell = cell.trim();
    match cell.char_indices().nth(FOUND_MAX) {
        Some((at, _)) => format!("{}...", &cell[..at]),
        None => cell.to_owned(),
    }
}
