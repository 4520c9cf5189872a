//! `readings.csv`: one visit to one station in each row.
//!
//! Columns: `station,taken_at,inlet,interstage,outlet,unit` and, where there are such, `flow`
//! (`still` or `flowing`), `by` and `remark`. An empty gauge cell, `-` or `n/a` means that this
//! gauge was not read. A gauge cell may carry its own unit (`150 psi`), which then stands for that
//! cell. Readings that are merely bad news (negative, past the end of the scale, out of order) are
//! kept: judging them is not a reader's business. Whether the station is known is not known here
//! either.

use std::io::Read;

use chrono::FixedOffset;
use sha2::{Digest, Sha256};
use winze_sync_format::Decimal;

use super::moment::{Moment, parse_moment};
use super::number::{NumberWithUnit, parse_number_with_unit};
use super::report::{Notice, Refusal, RowReport, SheetError};
use super::rows::Row;
use super::table::{Known, Step, Table};
use super::unit_words::parse_unit_words;
use super::{NOTE_BYTES_MAX, PERSON_BYTES_MAX, SheetOptions};
use crate::station::StationCode;
use crate::units::{Typed, Unit};
use crate::verdict::{Entry, FlowState};

const KNOWN: Known = Known {
    required: &["station", "taken_at", "inlet", "interstage", "outlet"],
    optional: &["unit", "flow", "by", "remark"],
    needs_unit: true,
};

/// One visit as written on a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingRow {
    /// Line on which the row starts, from 1.
    pub line: u64,
    /// The station read.
    pub station: StationCode,
    /// When it was read.
    pub taken_at: Moment,
    /// What the gauges showed; at least one was read.
    pub entry: Entry,
    /// Who read them; empty where the sheet does not say.
    pub by: String,
    /// What was remarked; empty where nothing was.
    pub remark: String,
}

impl ReadingRow {
    /// SHA-256 of what makes this the same reading when the sheet is loaded again: station,
    /// instant, the three values with their units, and the flow.
    ///
    /// Who read it and the remark are left out, so that tidying those adds no second reading. Nor
    /// do separators, decimal marks or trailing zeros matter: saving the sheet anew in an office
    /// program changes them.
    #[must_use]
    pub fn digest(&self) -> [u8; 32] {
        let mut hash = Sha256::new();
        hash.update(b"winze reading row 1\0");
        let station = self.station.as_str().as_bytes();
        hash.update(
            u64::try_from(station.len())
                .unwrap_or(u64::MAX)
                .to_be_bytes(),
        );
        hash.update(station);
        hash.update(self.taken_at.unix_ms().to_be_bytes());
        for value in [self.entry.inlet, self.entry.interstage, self.entry.outlet] {
            match value {
                None => hash.update([0]),
                Some(typed) => {
                    let plain = without_trailing_zeros(typed.digits);
                    hash.update([1]);
                    hash.update(typed.unit.number().to_be_bytes());
                    hash.update(plain.mantissa.to_be_bytes());
                    hash.update(plain.exponent.to_be_bytes());
                }
            }
        }
        hash.update([match self.entry.flow {
            FlowState::NotNoted => 0,
            FlowState::Still => 1,
            FlowState::Flowing => 2,
        }]);
        hash.finalize().into()
    }
}

fn without_trailing_zeros(mut value: Decimal) -> Decimal {
    if value.mantissa == 0 {
        return Decimal {
            mantissa: 0,
            exponent: 0,
        };
    }
    while value.mantissa % 10 == 0 && value.exponent < i8::MAX {
        value.mantissa /= 10;
        value.exponent += 1;
    }
    value
}

/// A sheet of readings, read row by row.
#[derive(Debug)]
pub struct ReadingSheet<R> {
    table: Table<R>,
    row: Row,
    columns: Columns,
    site_offset: FixedOffset,
    usual_unit: Option<Unit>,
}

#[derive(Debug)]
struct Columns {
    station: Option<usize>,
    taken_at: Option<usize>,
    gauges: [Option<usize>; 3],
    unit: Option<usize>,
    flow: Option<usize>,
    by: Option<usize>,
    remark: Option<usize>,
}

impl<R: Read> ReadingSheet<R> {
    /// Opens a sheet and reads its heading.
    ///
    /// # Errors
    /// A [`SheetError`] when the source fails or the heading is not one of a sheet of readings.
    pub fn open(source: R, options: SheetOptions) -> Result<Self, SheetError> {
        let known = Known {
            needs_unit: options.usual_unit.is_none(),
            ..KNOWN
        };
        let table = Table::open(source, known)?;
        let columns = Columns {
            station: table.column("station"),
            taken_at: table.column("taken_at"),
            gauges: ["inlet", "interstage", "outlet"].map(|name| table.column(name)),
            unit: table.column("unit"),
            flow: table.column("flow"),
            by: table.column("by"),
            remark: table.column("remark"),
        };
        Ok(Self {
            table,
            row: Row::default(),
            columns,
            site_offset: options.site_offset,
            usual_unit: options.usual_unit,
        })
    }

    /// Things noticed so far; complete once the sheet has been read to its end.
    #[must_use]
    pub fn notices(&self) -> Vec<Notice> {
        self.table.notices()
    }

    /// Bytes taken from the source so far, for progress.
    #[must_use]
    pub fn bytes_read(&self) -> u64 {
        self.table.bytes_read()
    }

    /// The next row: a reading, or a report on why there is none in it; `None` at the end.
    ///
    /// # Errors
    /// [`SheetError::Read`] when the source fails; rows delivered before remain good.
    pub fn next_row(&mut self) -> Result<Option<Result<ReadingRow, RowReport>>, SheetError> {
        Ok(match self.table.next_row(&mut self.row)? {
            Step::End => None,
            Step::Refused(report) => Some(Err(report)),
            Step::Row => Some(
                self.parse()
                    .map_err(|(column, refusal)| self.table.refuse(&self.row, column, refusal)),
            ),
        })
    }

    fn parse(&self) -> Result<ReadingRow, (Option<usize>, Refusal)> {
        let columns = &self.columns;
        let station = filled(&self.row, columns.station)?;
        let station =
            StationCode::parse(station).map_err(|error| (columns.station, Refusal::Code(error)))?;
        let taken_at = parse_moment(filled(&self.row, columns.taken_at)?, self.site_offset)
            .map_err(|fault| (columns.taken_at, Refusal::Moment(fault)))?;
        let unit = self.unit()?;
        let [inlet, interstage, outlet] = columns.gauges;
        let entry = Entry {
            inlet: self.gauge(inlet, unit)?,
            interstage: self.gauge(interstage, unit)?,
            outlet: self.gauge(outlet, unit)?,
            flow: self.flow()?,
        };
        if entry.inlet.is_none() && entry.interstage.is_none() && entry.outlet.is_none() {
            return Err((None, Refusal::NothingRead));
        }
        let by = self.text(columns.by, PERSON_BYTES_MAX)?;
        let remark = self.text(columns.remark, NOTE_BYTES_MAX)?;
        Ok(ReadingRow {
            line: self.row.line,
            station,
            taken_at,
            entry,
            by,
            remark,
        })
    }

    fn unit(&self) -> Result<Option<Unit>, (Option<usize>, Refusal)> {
        let column = self.columns.unit;
        match text(&self.row, column) {
            "" => Ok(self.usual_unit),
            written => parse_unit_words(written)
                .map(Some)
                .ok_or((column, Refusal::UnknownUnit)),
        }
    }

    fn gauge(
        &self,
        column: Option<usize>,
        row_unit: Option<Unit>,
    ) -> Result<Option<Typed>, (Option<usize>, Refusal)> {
        let written = text(&self.row, column);
        if is_not_read(written) {
            return Ok(None);
        }
        let number: NumberWithUnit = parse_number_with_unit(written, self.table.mark())
            .map_err(|fault| (column, Refusal::Number(fault)))?;
        match (number.unit, row_unit) {
            (Some(unit), _) | (None, Some(unit)) => Ok(Some(Typed {
                digits: number.digits,
                unit,
            })),
            (None, None) => Err((self.columns.unit, Refusal::Empty)),
        }
    }

    fn flow(&self) -> Result<FlowState, (Option<usize>, Refusal)> {
        match text(&self.row, self.columns.flow) {
            "" | "-" => Ok(FlowState::NotNoted),
            word if word.eq_ignore_ascii_case("still") => Ok(FlowState::Still),
            word if word.eq_ignore_ascii_case("flowing") => Ok(FlowState::Flowing),
            _ => Err((self.columns.flow, Refusal::Flow)),
        }
    }

    fn text(&self, column: Option<usize>, max: usize) -> Result<String, (Option<usize>, Refusal)> {
        let written = text(&self.row, column);
        if written.len() > max {
            return Err((column, Refusal::TextTooLong { max }));
        }
        Ok(written.to_owned())
    }
}

fn text(row: &Row, column: Option<usize>) -> &str {
    column
        .and_then(|index| row.cell(index))
        .unwrap_or("")
        .trim()
}

fn filled(row: &Row, column: Option<usize>) -> Result<&str, (Option<usize>, Refusal)> {
    match text(row, column) {
        "" => Err((column, Refusal::Empty)),
        written => Ok(written),
    }
}

/// Ways of writing that a gauge was not read.
fn is_not_read(written: &str) -> bool {
    matches!(written, "" | "-" | "\u{2013}" | "\u{2014}") || written.eq_ignore_ascii_case("n/a")
}

#[cfg(test)]
mod tests;
