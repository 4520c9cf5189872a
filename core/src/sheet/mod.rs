//! Old sheets: `register.csv` and `readings.csv` to domain values, row by row.
//!
//! Start at [`RegisterSheet`] and [`ReadingSheet`]. Both stream: they hold one row and one block,
//! never the file. A row that cannot be used becomes a [`RowReport`] and costs nothing but itself.
//! Accepted are RFC 4180 files as they come out of office programs and notebooks: with or without
//! a byte-order mark; cells separated by commas, semicolons or tabs; decimal points or commas;
//! any line break; `#` comments; headings in any order and case.
//!
//! Not here: storing what was read, knowing which stations exist, words for people.

pub mod moment;
mod number;
#[cfg(test)]
mod properties;
mod readings;
mod register;
mod report;
pub mod rows;
mod station_cells;
mod table;
mod unit_words;
mod windows_1252;

use chrono::{FixedOffset, Offset, Utc};

use crate::units::Unit;

pub use moment::{Moment, MomentFault, Precision, parse_moment, parse_site_offset};
pub use number::{DecimalMark, NumberFault, parse_number};
pub use readings::{ReadingRow, ReadingSheet};
pub use register::{RegisterRow, RegisterSheet};
pub use report::{Notice, Refusal, RowReport, SheetError};
pub use unit_words::parse_unit_words;

/// Most bytes of a remark, hazard or access text. A record carries 4 KiB of text in one piece.
pub const NOTE_BYTES_MAX: usize = 2048;

/// Most bytes of a name.
pub const PERSON_BYTES_MAX: usize = 120;

/// What a sheet does not say about itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SheetOptions {
    /// Offset from universal time of moments written without one.
    pub site_offset: FixedOffset,
    /// Unit of rows that name none; with `None` such rows are refused.
    pub usual_unit: Option<Unit>,
}

impl Default for SheetOptions {
    /// Universal time, and no unit taken for granted.
    fn default() -> Self {
        Self {
            site_offset: Utc.fix(),
            usual_unit: None,
        }
    }
}
