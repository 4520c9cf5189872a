//! One attempt at one row: the state machine over quotes, separators and line breaks.
//!
//! It sees bytes already read and asks for more when a row is not whole; reading is `rows`.

use super::{ROW_BYTES_MAX, Row, RowFault};
use crate::sheet::windows_1252;

/// What one attempt at one row came to.
pub(super) enum Scan {
    Row { used: usize, breaks: u64 },
    Skip { used: usize },
    Fault { cell: usize, fault: RowFault },
    More,
    End,
}

/// Where a line ends.
pub(super) enum LineEnd {
    At { at: usize, after: usize },
    EndOfFile,
    Unknown,
}

/// Finds the line break at or after `from`.
pub(super) fn line_end(bytes: &[u8], from: usize, has_ended: bool) -> LineEnd {
    let Some(offset) = bytes[from..]
        .iter()
        .position(|&byte| byte == b'\n' || byte == b'\r')
    else {
        return if has_ended {
            LineEnd::EndOfFile
        } else {
            LineEnd::Unknown
        };
    };
    let at = from + offset;
    match (bytes[at], bytes.get(at + 1)) {
        (b'\r', None) if !has_ended => LineEnd::Unknown,
        (b'\r', Some(b'\n')) => LineEnd::At { at, after: at + 2 },
        _ => LineEnd::At { at, after: at + 1 },
    }
}

/// One attempt at one row from the start of `bytes`.
pub(super) struct Scanner<'a> {
    pub bytes: &'a [u8],
    pub at: usize,
    pub breaks: u64,
    pub separator: u8,
    pub has_ended: bool,
}

enum CellEnd {
    Separator,
    Break,
    EndOfFile,
    More,
    Fault(RowFault),
}

impl Scanner<'_> {
    pub fn row(mut self, row: &mut Row) -> Scan {
        loop {
            let end = match self.opening_quote() {
                Some(at) => {
                    self.at = at + 1;
                    self.quoted_cell(row)
                }
                None => self.plain_cell(row),
            };
            let is_over = self.at > ROW_BYTES_MAX;
            match end {
                CellEnd::Fault(fault) => {
                    return Scan::Fault {
                        cell: row.ends.len(),
                        fault,
                    };
                }
                CellEnd::More if self.bytes.len() <= ROW_BYTES_MAX => return Scan::More,
                CellEnd::More => return self.overlong(row.ends.len()),
                _ if is_over => return self.overlong(row.ends.len()),
                CellEnd::Separator => row.ends.push(row.text.len()),
                CellEnd::Break | CellEnd::EndOfFile => {
                    row.ends.push(row.text.len());
                    if row.ends.len() == 1 && row.text.trim().is_empty() && self.breaks <= 1 {
                        return Scan::Skip { used: self.at };
                    }
                    row.is_unfinished = matches!(end, CellEnd::EndOfFile);
                    return Scan::Row {
                        used: self.at,
                        breaks: self.breaks,
                    };
                }
            }
        }
    }

    /// A row past the limit is an open quote when it is one only because of line breaks in it.
    fn overlong(&self, cell: usize) -> Scan {
        let fault = if self.breaks > 0 {
            RowFault::OpenQuote
        } else {
            RowFault::TooLong
        };
        Scan::Fault { cell, fault }
    }

    /// Position of the quote that opens the next cell, spaces before it allowed.
    fn opening_quote(&self) -> Option<usize> {
        let spaces = self.bytes[self.at..]
            .iter()
            .take_while(|&&byte| byte == b' ')
            .count();
        (self.bytes.get(self.at + spaces) == Some(&b'"')).then_some(self.at + spaces)
    }

    fn plain_cell(&mut self, row: &mut Row) -> CellEnd {
        let rest = &self.bytes[self.at..];
        let separator = self.separator;
        let stop = rest
            .iter()
            .position(|&b| b == separator || b == b'\n' || b == b'\r');
        let length = stop.unwrap_or(rest.len());
        if stop.is_none() && !self.has_ended {
            return CellEnd::More;
        }
        push_text(row, &rest[..length]);
        self.at += length;
        self.cell_end()
    }

    fn quoted_cell(&mut self, row: &mut Row) -> CellEnd {
        loop {
            let rest = &self.bytes[self.at..];
            let Some(length) = rest.iter().position(|&byte| byte == b'"') else {
                self.count_breaks(rest.len());
                return if self.has_ended {
                    CellEnd::Fault(RowFault::OpenQuote)
                } else {
                    CellEnd::More
                };
            };
            push_text(row, &rest[..length]);
            self.count_breaks(length);
            self.at += length + 1;
            match self.bytes.get(self.at) {
                Some(b'"') => {
                    row.text.push('"');
                    self.at += 1;
                }
                None if !self.has_ended => return CellEnd::More,
                _ => break,
            }
        }
        while self.bytes.get(self.at) == Some(&b' ') {
            self.at += 1;
        }
        self.cell_end()
    }

    /// Counts the line breaks in the next `length` bytes: CRLF, LF and lone CR are one each.
    fn count_breaks(&mut self, length: usize) {
        let part = &self.bytes[self.at..self.at + length];
        let mut previous = 0;
        for &byte in part {
            self.breaks += u64::from(byte == b'\r' || (byte == b'\n' && previous != b'\r'));
            previous = byte;
        }
    }

    /// Takes what stands after a cell: separator, line break or the end of the file.
    fn cell_end(&mut self) -> CellEnd {
        match self.bytes.get(self.at) {
            None if self.has_ended => CellEnd::EndOfFile,
            None => CellEnd::More,
            Some(&byte) if byte == self.separator => {
                self.at += 1;
                CellEnd::Separator
            }
            Some(b'\n' | b'\r') => match line_end(self.bytes, self.at, self.has_ended) {
                LineEnd::At { at, after } if at == self.at => {
                    self.at = after;
                    self.breaks += 1;
                    CellEnd::Break
                }
                _ => CellEnd::More,
            },
            Some(_) => {
                let rest = &self.bytes[self.at..(self.at + 4).min(self.bytes.len())];
                let text = String::from_utf8_lossy(rest);
                CellEnd::Fault(RowFault::StrayQuote {
                    found: text.chars().next().unwrap_or(' '),
                })
            }
        }
    }
}

fn push_text(row: &mut Row, bytes: &[u8]) {
    if let Ok(text) = std::str::from_utf8(bytes) {
        row.text.push_str(text);
    } else {
        row.was_recoded = true;
        row.text
            .extend(bytes.iter().map(|&byte| windows_1252::to_char(byte)));
    }
}
