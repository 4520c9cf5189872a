//! Encoded values for people and tools: diagnostic notation and a generic tree.
//!
//! For show only. Nothing is ever decided from these forms.

use std::fmt::Write as _;

use super::reader::{Kind, Reader};
use super::scan::{Limits, scan};
use crate::error::{Error, Result};

/// Turns one checked value into a generic tree.
///
/// # Errors
/// Whatever [`scan`] refuses.
pub fn to_value(bytes: &[u8]) -> Result<ciborium::Value> {
    scan(bytes, &Limits::RECORD)?;
    ciborium::from_reader(bytes).map_err(|_| Error::NotAllowed { offset: 0, byte: 0 })
}

/// Writes one checked value in the diagnostic notation of RFC 8949 section 8.
///
/// Control and direction-changing characters of texts are escaped.
///
/// # Errors
/// Whatever [`scan`] refuses.
pub fn to_diagnostic(bytes: &[u8]) -> Result<String> {
    scan(bytes, &Limits::RECORD)?;
    let mut out = String::with_capacity(bytes.len() * 2);
    let mut reader = Reader::new(bytes);
    write_value(&mut reader, &mut out)?;
    Ok(out)
}

fn write_value(reader: &mut Reader<'_>, out: &mut String) -> Result<()> {
    match reader.kind()? {
        Kind::Uint => push(out, reader.uint()?),
        Kind::Negative => push(out, reader.int()?),
        Kind::Bool => push(out, reader.bool()?),
        Kind::Null => {
            reader.is_null()?;
            out.push_str("null");
        }
        Kind::Bytes => {
            out.push_str("h'");
            for byte in reader.bytes()? {
                let _ = write!(out, "{byte:02x}");
            }
            out.push('\'');
        }
        Kind::Text => write_text(reader.text()?, out),
        Kind::Decimal => {
            let value = reader.decimal()?;
            let _ = write!(out, "4([{}, {}])", value.exponent, value.mantissa);
        }
        Kind::Array => {
            let count = reader.array()?;
            out.push('[');
            for index in 0..count {
                out.push_str(if index > 0 { ", " } else { "" });
                write_value(reader, out)?;
            }
            reader.end()?;
            out.push(']');
        }
        Kind::Map => {
            reader.map()?;
            out.push('{');
            let mut first = true;
            while let Some(key) = reader.next_key()? {
                out.push_str(if first { "" } else { ", " });
                first = false;
                let _ = write!(out, "{key}: ");
                write_value(reader, out)?;
            }
            reader.end()?;
            out.push('}');
        }
    }
    Ok(())
}

fn push(out: &mut String, value: impl std::fmt::Display) {
    let _ = write!(out, "{value}");
}

fn write_text(text: &str, out: &mut String) {
    out.push('"');
    for letter in text.chars() {
        match letter {
            '"' | '\\' => out.extend(['\\', letter]),
            // Control characters and those that turn or hide the direction of text.
            '\u{0}'..='\u{1f}'
            | '\u{7f}'..='\u{9f}'
            | '\u{200b}'..='\u{200f}'
            | '\u{2028}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}'
            | '\u{feff}' => {
                let _ = write!(out, "\\u{:04x}", u32::from(letter));
            }
            _ => out.push(letter),
        }
    }
    out.push('"');
}
