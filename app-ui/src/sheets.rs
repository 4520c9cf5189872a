//! Old sheets from files into a logbook: what `winze load`, the office window and the demo share.
//!
//! Reading and refusing rows is `core::sheet`, storing them `core::actions`; here the two meet a
//! file. A heading is understood before anything is written.

use std::fs::File;
use std::path::{Path, PathBuf};

use winze_core::Logbook;
use winze_core::actions::{RefusedRow, RefusedWhy, load_readings, load_register};
use winze_core::sheet::{
    Notice, ReadingSheet, Refusal, RegisterRow, RegisterSheet, RowReport, SheetError, SheetOptions,
};

use crate::messages::{UserMessage, file_failed, logbook_failed, sheet_failed};

/// Told how many bytes of how many were read.
pub type OnBytes<'a> = dyn FnMut(u64, u64) + 'a;

/// A register read whole and not yet taken over.
#[derive(Debug)]
pub struct Register {
    /// The file.
    pub path: PathBuf,
    /// Its good rows.
    pub rows: Vec<RegisterRow>,
    /// Its rows that were left out.
    pub refused: Vec<RowReport>,
    /// What was noticed.
    pub notices: Vec<Notice>,
}

/// What became of a register.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RegisterTaken {
    /// Stations that are new.
    pub added: usize,
    /// Stations defined anew.
    pub revised: usize,
    /// Stations already defined so.
    pub unchanged: usize,
}

/// A sheet of readings whose heading has been understood.
#[derive(Debug)]
pub struct Readings {
    /// The file.
    pub path: PathBuf,
    bytes: u64,
    sheet: ReadingSheet<File>,
}

/// What became of a sheet of readings.
#[derive(Debug)]
pub struct ReadingsTaken {
    /// The file.
    pub path: PathBuf,
    /// Readings that are new.
    pub added: u64,
    /// Rows that were loaded before.
    pub already_there: u64,
    /// Rows that were left out, in order.
    pub refused: Vec<RowReport>,
    /// What was noticed.
    pub notices: Vec<Notice>,
    /// Why reading stopped before the end of the file, if it did.
    pub stopped: Option<UserMessage>,
}

fn open(path: &Path) -> Result<(File, u64), UserMessage> {
    let failed = |error: std::io::Error| file_failed("read", path, &error);
    let file = File::open(path).map_err(failed)?;
    let facts = file.metadata().map_err(failed)?;
    if facts.is_dir() {
        return Err(failed(std::io::ErrorKind::IsADirectory.into()));
    }
    Ok((file, facts.len()))
}

/// Reads a register to its end.
///
/// # Errors
/// When the file cannot be read or is no register.
pub fn read_register(path: &Path, options: SheetOptions) -> Result<Register, UserMessage> {
    let failed = |error: SheetError| sheet_failed(&error, path);
    let (file, _) = open(path)?;
    let mut sheet = RegisterSheet::open(file, options).map_err(failed)?;
    let (mut rows, mut refused) = (Vec::new(), Vec::new());
    while let Some(row) = sheet.next_row().map_err(failed)? {
        match row {
            Ok(row) => rows.push(row),
            Err(report) => refused.push(report),
        }
    }
    Ok(Register {
        path: path.to_owned(),
        rows,
        refused,
        notices: sheet.notices(),
    })
}

/// Takes over the good rows of a register.
///
/// # Errors
/// Those of the logbook.
pub fn take_register(
    logbook: &mut Logbook,
    register: &Register,
    by: &str,
) -> Result<RegisterTaken, UserMessage> {
    let stations = register
        .rows
        .iter()
        .map(|row| row.station.clone())
        .collect();
    let loaded = load_register(logbook, stations, by, &mut |_| true)
        .map_err(|error| logbook_failed(&error))?;
    Ok(RegisterTaken {
        added: loaded.added,
        revised: loaded.revised,
        unchanged: loaded.unchanged,
    })
}

/// Opens a sheet of readings and understands its heading.
///
/// # Errors
/// When the file cannot be read or is no sheet of readings.
pub fn open_readings(path: &Path, options: SheetOptions) -> Result<Readings, UserMessage> {
    let (file, bytes) = open(path)?;
    let sheet = ReadingSheet::open(file, options).map_err(|error| sheet_failed(&error, path))?;
    Ok(Readings {
        path: path.to_owned(),
        bytes,
        sheet,
    })
}

/// Takes over the good rows of a sheet of readings, as it is read.
///
/// # Errors
/// Those of the logbook. A file that cannot be read to its end is no error: what was read is kept,
/// and [`ReadingsTaken::stopped`] says why it ended.
pub fn take_readings(
    logbook: &mut Logbook,
    readings: Readings,
    by: &str,
    on_bytes: &mut OnBytes<'_>,
) -> Result<ReadingsTaken, UserMessage> {
    let Readings {
        path,
        bytes,
        mut sheet,
    } = readings;
    let (mut refused, mut stopped) = (Vec::new(), None);
    let rows = std::iter::from_fn(|| {
        loop {
            match sheet.next_row() {
                Ok(Some(Ok(row))) => {
                    on_bytes(sheet.bytes_read(), bytes);
                    return Some(row);
                }
                Ok(Some(Err(report))) => refused.push(report),
                Ok(None) => return None,
                Err(error) => {
                    stopped = Some(sheet_failed(&error, &path));
                    return None;
                }
            }
        }
    });
    let loaded =
        load_readings(logbook, rows, by, &mut |_| true).map_err(|error| logbook_failed(&error))?;
    refused.extend(loaded.refused.iter().map(report_of));
    refused.sort_by_key(|report: &RowReport| report.line);
    Ok(ReadingsTaken {
        added: loaded.added,
        already_there: loaded.already_there,
        refused,
        notices: sheet.notices(),
        stopped,
        path,
    })
}

/// A row that the logbook could not take, reported like one the reader could not.
fn report_of(row: &RefusedRow) -> RowReport {
    let (column, refusal) = match row.why {
        RefusedWhy::UnknownStation => (Some("station".to_owned()), Refusal::UnknownStation),
        RefusedWhy::NothingRead => (None, Refusal::NothingRead),
    };
    let found = row.station.to_string();
    RowReport {
        line: row.line,
        column,
        found,
        refusal,
        file_ends_here: false,
    }
}
