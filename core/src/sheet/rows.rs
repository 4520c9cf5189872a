//! Comma-separated text to rows of cells, one row at a time: quoting, line breaks, comments,
//! damage. It knows no column names and no values; `columns` and the two sheets do.
//!
//! The rules are those of RFC 4180 section 2, with these choices where it is silent or where old
//! sheets differ: a byte-order mark is skipped; a row ends at CRLF, at LF or at a lone CR; a row
//! that starts with `#` is a comment; a blank line is no row; a first line `sep=;` names the
//! separator; a quote inside a cell that did not begin with one is an ordinary character (inches);
//! text that is not UTF-8 is read as Windows-1252.
//!
//! A row that cannot be read costs only itself: after an open or a stray quote reading goes on at
//! the next line.

use std::io::{self, Read};

use self::scan::{LineEnd, Scan, Scanner, line_end};

mod scan;

/// Most bytes one row may take. An open quote would otherwise swallow the whole file.
pub const ROW_BYTES_MAX: usize = 64 * 1024;

/// Bytes asked of the source at a time.
const READ_BYTES: usize = 64 * 1024;

/// One row: its place in the file and its cells, unquoted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Row {
    /// Line on which the row starts, from 1, as an editor counts lines.
    pub line: u64,
    /// True when the file ended before the row's line break did.
    pub is_unfinished: bool,
    /// True when some cell was not UTF-8 and was read as Windows-1252.
    pub was_recoded: bool,
    text: String,
    ends: Vec<usize>,
}

impl Row {
    /// Number of cells, at least 1.
    #[must_use]
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// True for a row without any cell, which the reader never returns.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// The cell at `index` from 0, spaces kept; `None` past the end of the row.
    #[must_use]
    pub fn cell(&self, index: usize) -> Option<&str> {
        let end = *self.ends.get(index)?;
        let start = if index == 0 { 0 } else { self.ends[index - 1] };
        self.text.get(start..end)
    }

    /// All cells in order.
    pub fn cells(&self) -> impl Iterator<Item = &str> {
        (0..self.len()).filter_map(|index| self.cell(index))
    }

    /// True when every cell is empty or holds spaces only.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

/// Why a row could not be read as cells.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RowFault {
    /// A quote was opened and not closed before the end of the file or [`ROW_BYTES_MAX`].
    #[error("a quote is opened and never closed")]
    OpenQuote,
    /// A closing quote is followed by `found` instead of a separator or a line break.
    #[error("a closing quote is followed by {found:?}")]
    StrayQuote {
        /// The character after the quote.
        found: char,
    },
    /// The row is longer than [`ROW_BYTES_MAX`].
    #[error("the row is longer than {ROW_BYTES_MAX} bytes")]
    TooLong,
}

/// What [`Rows::next_row`] found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Next {
    /// `row` was filled.
    Row,
    /// The row that starts on `line` could not be read; its cell number from 0 is given.
    Fault {
        /// Line on which the row starts, from 1.
        line: u64,
        /// Cell in which the fault stands, from 0.
        cell: usize,
        /// What is wrong.
        fault: RowFault,
    },
    /// The file has ended.
    End,
}

/// Reads rows from a source without holding more than one row and one block.
#[derive(Debug)]
pub struct Rows<R> {
    source: R,
    buffer: Vec<u8>,
    start: usize,
    has_ended: bool,
    line: u64,
    separator: u8,
    has_mark: bool,
    is_utf16: bool,
    bytes_read: u64,
}

impl<R: Read> Rows<R> {
    /// Starts reading: skips a byte-order mark and finds the separator from the first row.
    ///
    /// # Errors
    /// What the source answers.
    pub fn open(source: R) -> io::Result<Self> {
        let mut rows = Self {
            source,
            buffer: Vec::with_capacity(2 * READ_BYTES),
            start: 0,
            has_ended: false,
            line: 1,
            separator: b',',
            has_mark: false,
            is_utf16: false,
            bytes_read: 0,
        };
        rows.refill()?;
        rows.is_utf16 =
            rows.buffer.starts_with(&[0xff, 0xfe]) || rows.buffer.starts_with(&[0xfe, 0xff]);
        if rows.buffer.starts_with(&[0xef, 0xbb, 0xbf]) {
            rows.has_mark = true;
            rows.start = 3;
        }
        rows.find_separator();
        Ok(rows)
    }

    /// The separator in use: comma, semicolon or tab.
    #[must_use]
    pub fn separator(&self) -> char {
        char::from(self.separator)
    }

    /// True when the file began with a UTF-8 byte-order mark.
    #[must_use]
    pub fn has_mark(&self) -> bool {
        self.has_mark
    }

    /// True when the file began with a UTF-16 mark: its rows are not readable here.
    #[must_use]
    pub fn is_utf16(&self) -> bool {
        self.is_utf16
    }

    /// Bytes taken from the source so far, for progress.
    #[must_use]
    pub fn bytes_read(&self) -> u64 {
        self.bytes_read
    }

    /// Bytes read ahead and not yet used, for a look at the style of the numbers.
    #[must_use]
    pub fn ahead(&self) -> &[u8] {
        &self.buffer[self.start..]
    }

    /// Reads the next row into `row`, skipping comments and blank lines.
    ///
    /// # Errors
    /// What the source answers; `row` then holds nothing of use.
    pub fn next_row(&mut self, row: &mut Row) -> io::Result<Next> {
        loop {
            match self.scan(row) {
                Scan::Row { used, breaks } => {
                    row.line = self.line;
                    self.start += used;
                    self.line += breaks;
                    return Ok(Next::Row);
                }
                Scan::Skip { used } => {
                    self.start += used;
                    self.line += 1;
                }
                Scan::Fault { cell, fault } => {
                    let line = self.line;
                    self.skip_line()?;
                    return Ok(Next::Fault { line, cell, fault });
                }
                Scan::More => self.refill()?,
                Scan::End => return Ok(Next::End),
            }
        }
    }

    fn refill(&mut self) -> io::Result<()> {
        self.buffer.drain(..self.start);
        self.start = 0;
        let old = self.buffer.len();
        self.buffer.resize(old + READ_BYTES, 0);
        let mut filled = old;
        while filled < self.buffer.len() {
            match self.source.read(&mut self.buffer[filled..]) {
                Ok(0) => {
                    self.has_ended = true;
                    break;
                }
                Ok(count) => filled += count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => {
                    self.buffer.truncate(filled);
                    return Err(error);
                }
            }
        }
        self.buffer.truncate(filled);
        self.bytes_read += (filled - old) as u64;
        Ok(())
    }

    /// Passes over the rest of the present line, however long it is.
    fn skip_line(&mut self) -> io::Result<()> {
        loop {
            let rest = &self.buffer[self.start..];
            if let Some(at) = rest.iter().position(|&byte| byte == b'\n' || byte == b'\r') {
                // A CR at the very end of what is read may be the first half of a CRLF.
                if rest[at] == b'\r' && at + 1 == rest.len() && !self.has_ended {
                    self.start += at;
                    self.refill()?;
                    continue;
                }
                let is_pair = rest[at] == b'\r' && rest.get(at + 1) == Some(&b'\n');
                self.start += at + 1 + usize::from(is_pair);
                self.line += 1;
                return Ok(());
            }
            self.start = self.buffer.len();
            if self.has_ended {
                return Ok(());
            }
            self.refill()?;
        }
    }

    /// Chooses the separator that stands most often, outside quotes, in the first real line.
    fn find_separator(&mut self) {
        let whole = self.buffer.len() - self.start;
        let mut rest = &self.buffer[self.start..];
        let is_break = |byte: &u8| *byte == b'\n' || *byte == b'\r';
        while let Some(&first) = rest.first() {
            let end = rest.iter().position(is_break).unwrap_or(rest.len());
            let line = &rest[..end];
            if let [s, e, p, b'=', separator @ (b',' | b';' | b'\t')] = line
                && rest.len() == whole
                && [s, e, p]
                    .into_iter()
                    .map(u8::to_ascii_lowercase)
                    .eq(*b"sep")
            {
                self.separator = *separator;
                self.start = self.buffer.len() - rest.len() + end;
                return;
            }
            if first == b'#' || line.trim_ascii().is_empty() {
                rest = &rest[(end + 1).min(rest.len())..];
                continue;
            }
            let mut counts = [(b',', 0), (b';', 0), (b'\t', 0)];
            let mut is_quoted = false;
            for &byte in line {
                is_quoted ^= byte == b'"';
                for (separator, count) in &mut counts {
                    *count += usize::from(!is_quoted && byte == *separator);
                }
            }
            // The first of equals wins, so a line without any separator keeps the comma.
            let best = counts.iter().rev().max_by_key(|(_, count)| *count);
            self.separator = best.map_or(b',', |(separator, _)| *separator);
            return;
        }
    }

    fn scan(&self, row: &mut Row) -> Scan {
        let bytes = &self.buffer[self.start..];
        row.text.clear();
        row.ends.clear();
        row.is_unfinished = false;
        row.was_recoded = false;
        let Some(&first) = bytes.first() else {
            return if self.has_ended {
                Scan::End
            } else {
                Scan::More
            };
        };
        if first == b'#' {
            return self.scan_comment(bytes);
        }
        Scanner {
            bytes,
            at: 0,
            breaks: 0,
            separator: self.separator,
            has_ended: self.has_ended,
        }
        .row(row)
    }

    fn scan_comment(&self, bytes: &[u8]) -> Scan {
        match line_end(bytes, 0, self.has_ended) {
            LineEnd::At { after, .. } => Scan::Skip { used: after },
            LineEnd::EndOfFile => Scan::Skip { used: bytes.len() },
            LineEnd::Unknown => Scan::More,
        }
    }
}

#[cfg(test)]
mod tests;
