//! Writes values in the one allowed form.
//!
//! Calls are chained; the first misuse or excess is remembered and [`Encoder::finish`] returns
//! it, so a half-right encoding never leaves this file.

use super::decimal::Decimal;
use super::scan::{self, Limits};
use crate::error::{Error, Result};

/// An append-only writer of one value.
///
/// # Examples
/// ```
/// use winze_sync_format::canonical::Encoder;
/// let bytes = Encoder::new().map(2).key(1).uint(2).key(3).uint(4).finish()?;
/// assert_eq!(bytes, [0xa2, 1, 2, 3, 4]);
/// # Ok::<(), winze_sync_format::Error>(())
/// ```
#[derive(Debug, Default)]
pub struct Encoder {
    out: Vec<u8>,
    open: Vec<Open>,
    started: bool,
    fault: Option<Error>,
    limits: Limits,
}

/// A map or array that still waits for entries.
#[derive(Debug)]
struct Open {
    left: u64,
    map: bool,
    last_key: Option<u64>,
    has_key: bool,
}

impl Encoder {
    /// An empty encoder with the limits of a record.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// An empty encoder with other limits.
    #[must_use]
    pub fn with_limits(limits: Limits) -> Self {
        Self {
            limits,
            ..Self::default()
        }
    }

    /// Starts a map of exactly `entries` keys and values.
    pub fn map(&mut self, entries: usize) -> &mut Self {
        self.container(true, entries)
    }

    /// Starts an array of exactly `items` values.
    pub fn array(&mut self, items: usize) -> &mut Self {
        self.container(false, items)
    }

    /// Writes a map key; keys must strictly rise.
    pub fn key(&mut self, key: u64) -> &mut Self {
        let at = self.out.len();
        let fault = match self.open.last_mut() {
            Some(open) if open.map && !open.has_key => {
                let order = scan::check_key(at, open.last_key, key);
                open.last_key = Some(key);
                open.has_key = true;
                order.err()
            }
            _ => Some(Error::EncoderMisuse {
                what: "a key where none is due",
            }),
        };
        self.note(fault);
        self.head(scan::UINT, key);
        self
    }

    /// Writes an unsigned integer.
    pub fn uint(&mut self, value: u64) -> &mut Self {
        self.leaf(|out| out.head(scan::UINT, value))
    }

    /// Writes a signed integer.
    pub fn int(&mut self, value: i64) -> &mut Self {
        self.leaf(|out| out.signed(value))
    }

    /// Writes a byte string.
    pub fn bytes(&mut self, value: &[u8]) -> &mut Self {
        self.leaf(|out| {
            out.head(scan::BYTES, value.len() as u64);
            out.out.extend_from_slice(value);
        })
    }

    /// Writes a text.
    pub fn text(&mut self, value: &str) -> &mut Self {
        let (at, length) = (self.out.len(), value.len() as u64);
        self.note(scan::check_count("text", at, length, self.limits.text_bytes).err());
        self.leaf(|out| {
            out.head(scan::TEXT, length);
            out.out.extend_from_slice(value.as_bytes());
        })
    }

    /// Writes true or false.
    pub fn bool(&mut self, value: bool) -> &mut Self {
        self.leaf(|out| out.head(scan::SIMPLE, if value { scan::TRUE } else { scan::FALSE }))
    }

    /// Writes null.
    pub fn null(&mut self) -> &mut Self {
        self.leaf(|out| out.head(scan::SIMPLE, scan::NULL))
    }

    /// Writes a decimal, its digits kept as they are.
    pub fn decimal(&mut self, value: Decimal) -> &mut Self {
        if !value.is_writable() {
            self.note(Some(Error::OutOfRange {
                offset: self.out.len(),
            }));
        }
        self.leaf(|out| {
            out.head(scan::TAG, scan::TAG_DECIMAL);
            out.head(scan::ARRAY, 2);
            out.signed(i64::from(value.exponent));
            out.signed(value.mantissa);
        })
    }

    /// Writes a value that is already encoded, after checking it.
    pub fn raw(&mut self, encoded: &[u8]) -> &mut Self {
        let deeper = u8::try_from(self.open.len()).unwrap_or(u8::MAX);
        let limits = Limits {
            depth: self.limits.depth.saturating_sub(deeper),
            ..self.limits
        };
        let at = self.out.len();
        self.note(
            scan::scan(encoded, &limits)
                .err()
                .map(|error| error.shifted(at)),
        );
        self.leaf(|out| out.out.extend_from_slice(encoded))
    }

    /// Hands out the finished value and leaves the encoder empty.
    ///
    /// # Errors
    /// The first misuse (wrong counts, keys that do not rise) or excess over the limits.
    pub fn finish(&mut self) -> Result<Vec<u8>> {
        let unfinished = !self.started || !self.open.is_empty();
        let done = std::mem::replace(self, Self::with_limits(self.limits));
        if let Some(fault) = done.fault {
            return Err(fault);
        }
        if unfinished {
            return Err(Error::EncoderMisuse {
                what: "fewer entries than announced",
            });
        }
        let (length, limit) = (done.out.len() as u64, done.limits.total_bytes as u64);
        scan::check_count("value", 0, length, limit)?;
        Ok(done.out)
    }

    fn container(&mut self, map: bool, count: usize) -> &mut Self {
        self.begin();
        let (at, count) = (self.out.len(), count as u64);
        let (what, major, limit) = if map {
            ("map", scan::MAP, self.limits.map_entries)
        } else {
            ("array", scan::ARRAY, self.limits.array_items)
        };
        self.note(scan::check_count(what, at, count, limit).err());
        if self.open.len() >= usize::from(self.limits.depth) {
            self.note(Some(Error::TooDeep {
                offset: at,
                limit: self.limits.depth,
            }));
        }
        self.head(major, count);
        self.open.push(Open {
            left: count,
            map,
            last_key: None,
            has_key: false,
        });
        self.close_full();
        self
    }

    fn leaf(&mut self, write: impl FnOnce(&mut Self)) -> &mut Self {
        self.begin();
        write(self);
        self.count_value();
        self.close_full();
        self
    }

    /// A value starts: it must be the first at the top, or due inside what is open.
    fn begin(&mut self) {
        let fault = match self.open.last() {
            None if self.started => Some("a second value at the top"),
            Some(open) if open.map && !open.has_key => Some("a map value without its key"),
            _ => None,
        };
        self.started = true;
        self.note(fault.map(|what| Error::EncoderMisuse { what }));
    }

    fn count_value(&mut self) {
        if let Some(open) = self.open.last_mut() {
            open.left = open.left.saturating_sub(1);
            open.has_key = false;
        }
    }

    /// Closes what is full; a closed container is itself one value of what holds it.
    fn close_full(&mut self) {
        while self.open.last().is_some_and(|open| open.left == 0) {
            self.open.pop();
            self.count_value();
        }
    }

    fn signed(&mut self, value: i64) {
        if value < 0 {
            // The complement is -1 - value, without overflow at the lowest value.
            self.head(scan::NINT, !value.cast_unsigned());
        } else {
            self.head(scan::UINT, value.cast_unsigned());
        }
    }

    fn head(&mut self, major: u8, value: u64) {
        let major = major << 5;
        let wide = value.to_be_bytes();
        match value {
            0..=23 => self.out.push(major | wide[7]),
            24..=0xff => self.out.extend_from_slice(&[major | 0x18, wide[7]]),
            0x100..=0xffff => self
                .out
                .extend_from_slice(&[major | 0x19, wide[6], wide[7]]),
            0x1_0000..=0xffff_ffff => {
                self.out.push(major | 0x1a);
                self.out.extend_from_slice(&wide[4..]);
            }
            _ => {
                self.out.push(major | 0x1b);
                self.out.extend_from_slice(&wide);
            }
        }
    }

    fn note(&mut self, fault: Option<Error>) {
        if self.fault.is_none() {
            self.fault = fault;
        }
    }
}
