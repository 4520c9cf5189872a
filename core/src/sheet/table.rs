//! A sheet with a heading: columns found by name, rows delivered with all their cells.
//!
//! What both sheets share. Which columns there are and what they mean is theirs.

use std::io::Read;

use super::number::DecimalMark;
use super::report::{Notice, Refusal, RowReport, SheetError, shorten};
use super::rows::{Next, Row, Rows};

/// The columns one kind of sheet knows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Known {
    /// Must stand in the heading.
    pub required: &'static [&'static str],
    /// May stand in the heading.
    pub optional: &'static [&'static str],
    /// Whether `unit` must stand in the heading too.
    pub needs_unit: bool,
}

/// A sheet opened for reading, positioned after its heading.
#[derive(Debug)]
pub(super) struct Table<R> {
    rows: Rows<R>,
    headings: Vec<String>,
    names: Vec<String>,
    mark: DecimalMark,
    notices: Vec<Notice>,
    recoded: Option<(u64, u64)>,
    last_line: u64,
}

/// What [`Table::next_row`] found.
pub(super) enum Step {
    Row,
    Refused(RowReport),
    End,
}

impl<R: Read> Table<R> {
    /// Reads the heading and matches its columns.
    pub fn open(source: R, known: Known) -> Result<Self, SheetError> {
        let read_error = |source| SheetError::Read { line: 1, source };
        let mut rows = Rows::open(source).map_err(read_error)?;
        if rows.is_utf16() {
            return Err(SheetError::Utf16);
        }
        let mark = DecimalMark::of_sheet(rows.separator(), rows.ahead());
        let mut row = Row::default();
        match rows.next_row(&mut row).map_err(read_error)? {
            Next::Row => {}
            Next::Fault { line, fault, .. } => return Err(SheetError::Heading { line, fault }),
            Next::End => return Err(SheetError::Empty),
        }
        let mut headings: Vec<String> = row.cells().map(|cell| cell.trim().to_owned()).collect();
        // A separator at the end of every line is not a column.
        while headings.len() > 1 && headings.last().is_some_and(String::is_empty) {
            headings.pop();
        }
        let names: Vec<String> = headings.iter().map(|heading| plain_name(heading)).collect();
        let mut table = Self {
            rows,
            headings,
            names,
            mark,
            notices: Vec::new(),
            recoded: None,
            last_line: row.line,
        };
        table.check_heading(known)?;
        Ok(table)
    }

    fn check_heading(&mut self, known: Known) -> Result<(), SheetError> {
        for (second, name) in self.names.iter().enumerate() {
            let first = self
                .names
                .iter()
                .position(|other| other == name)
                .unwrap_or(second);
            if first < second && !name.is_empty() {
                let name = self.headings[second].clone();
                return Err(SheetError::RepeatedColumn {
                    name,
                    first: first + 1,
                    second: second + 1,
                });
            }
            if !known.required.contains(&name.as_str()) && !known.optional.contains(&name.as_str())
            {
                let name = self.headings[second].clone();
                self.notices.push(Notice::UnknownColumn {
                    name,
                    position: second + 1,
                });
            }
        }
        let is_missing = |name: &&&str| !self.names.iter().any(|found| found == **name);
        let unit: &[&'static str] = if known.needs_unit { &["unit"] } else { &[] };
        let required = known.required.iter().chain(unit);
        let missing: Vec<&'static str> = required.filter(is_missing).copied().collect();
        if missing.is_empty() {
            return Ok(());
        }
        let found = self
            .headings
            .iter()
            .map(|heading| shorten(heading))
            .collect();
        Err(SheetError::MissingColumns { missing, found })
    }

    /// Place of a column, from 0.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|found| found == name)
    }

    /// The decimal mark of this sheet.
    pub fn mark(&self) -> DecimalMark {
        self.mark
    }

    /// Bytes read so far.
    pub fn bytes_read(&self) -> u64 {
        self.rows.bytes_read()
    }

    /// Notices so far; complete once the end has been reached.
    pub fn notices(&self) -> Vec<Notice> {
        let recoded = self
            .recoded
            .map(|(rows, first_line)| Notice::Recoded { rows, first_line });
        self.notices.iter().cloned().chain(recoded).collect()
    }

    /// Reads the next row with as many cells as the heading into `row`; blank rows are passed over.
    pub fn next_row(&mut self, row: &mut Row) -> Result<Step, SheetError> {
        loop {
            let next = self.rows.next_row(row);
            let line = self.last_line + 1;
            match next.map_err(|source| SheetError::Read { line, source })? {
                Next::End => return Ok(Step::End),
                Next::Fault { line, cell, fault } => {
                    self.last_line = line;
                    let column = self.headings.get(cell).cloned();
                    let refusal = Refusal::Row(fault);
                    let found = String::new();
                    let report = RowReport {
                        line,
                        column,
                        found,
                        refusal,
                        file_ends_here: false,
                    };
                    return Ok(Step::Refused(report));
                }
                Next::Row => {}
            }
            self.last_line = row.line;
            if row.is_blank() {
                continue;
            }
            if row.was_recoded {
                let (rows, first_line) = self.recoded.unwrap_or((0, row.line));
                self.recoded = Some((rows + 1, first_line));
            }
            return Ok(match self.wrong_length(row) {
                Some(refusal) => Step::Refused(RowReport {
                    line: row.line,
                    column: None,
                    found: String::new(),
                    refusal,
                    file_ends_here: row.is_unfinished,
                }),
                None => Step::Row,
            });
        }
    }

    fn wrong_length(&self, row: &Row) -> Option<Refusal> {
        let (cells, expected) = (row.len(), self.headings.len());
        let has_surplus = || {
            row.cells()
                .skip(expected)
                .any(|cell| !cell.trim().is_empty())
        };
        if cells < expected && row.is_unfinished {
            Some(Refusal::CutShort { cells, expected })
        } else if cells < expected {
            Some(Refusal::TooFewCells { cells, expected })
        } else if cells > expected && has_surplus() {
            Some(Refusal::TooManyCells { cells, expected })
        } else {
            None
        }
    }

    /// A report on one cell of a row.
    ///
    /// In a row with surplus cells the surplus is the plainer reason: a decimal comma between
    /// commas has moved everything behind it.
    pub fn refuse(&self, row: &Row, column: Option<usize>, refusal: Refusal) -> RowReport {
        let (cells, expected) = (row.len(), self.headings.len());
        let (column, refusal) = if cells > expected {
            (None, Refusal::TooManyCells { cells, expected })
        } else {
            (column, refusal)
        };
        RowReport {
            line: row.line,
            column: column.and_then(|index| self.headings.get(index).cloned()),
            found: column
                .and_then(|index| row.cell(index))
                .map(shorten)
                .unwrap_or_default(),
            refusal,
            file_ends_here: row.is_unfinished,
        }
    }
}

/// A heading as compared: small letters, blanks and hyphens as underscores.
fn plain_name(heading: &str) -> String {
    let is_gap = |c: char| c.is_whitespace() || c == '-' || c == '_';
    let words: Vec<&str> = heading
        .split(is_gap)
        .filter(|word| !word.is_empty())
        .collect();
    words.join("_").to_lowercase()
}
