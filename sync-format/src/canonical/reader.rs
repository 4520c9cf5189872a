//! A strict cursor over one value: it reads what it is asked for and refuses everything else.
//!
//! Maps and arrays are opened with [`Reader::map`] and [`Reader::array`] and closed with
//! [`Reader::end`]; [`Reader::finish`] then makes sure that nothing follows.

use super::decimal::Decimal;
use super::scan::{self, Head, Limits};
use crate::error::{Error, Result};

/// What stands at the cursor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// An integer of zero or above.
    Uint,
    /// An integer below zero.
    Negative,
    /// A byte string.
    Bytes,
    /// A text.
    Text,
    /// An array.
    Array,
    /// A map.
    Map,
    /// A decimal.
    Decimal,
    /// True or false.
    Bool,
    /// Null.
    Null,
}

/// The cursor.
///
/// # Examples
/// ```
/// use winze_sync_format::canonical::Reader;
/// let mut reader = Reader::new(&[0xa2, 1, 2, 3, 4]);
/// reader.map()?;
/// let (mut one, mut three) = (None, None);
/// while let Some(key) = reader.next_key()? {
///     match key {
///         1 => one = Some(reader.uint()?),
///         3 => three = Some(reader.uint()?),
///         _ => reader.skip()?,
///     }
/// }
/// reader.end()?;
/// reader.finish()?;
/// assert_eq!((one, three), (Some(2), Some(4)));
/// # Ok::<(), winze_sync_format::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
    open: Vec<Open>,
    started: bool,
    limits: Limits,
}

#[derive(Debug, Clone)]
struct Open {
    left: u64,
    map: bool,
    last_key: Option<u64>,
    has_key: bool,
}

impl<'a> Reader<'a> {
    /// A cursor at the start of `bytes`, with the limits of a record.
    #[must_use]
    pub fn new(bytes: &'a [u8]) -> Self {
        Self::with_limits(bytes, Limits::RECORD)
    }

    /// A cursor with other limits.
    #[must_use]
    pub fn with_limits(bytes: &'a [u8], limits: Limits) -> Self {
        Self {
            bytes,
            at: 0,
            open: Vec::new(),
            started: false,
            limits,
        }
    }

    /// Bytes read so far.
    #[must_use]
    pub fn offset(&self) -> usize {
        self.at
    }

    /// Opens a map and returns how many entries it has.
    ///
    /// # Errors
    /// Another type, too many entries, too deep.
    pub fn map(&mut self) -> Result<u64> {
        self.container(scan::MAP, "map", self.limits.map_entries)
    }

    /// Opens an array and returns how many items it has.
    ///
    /// # Errors
    /// Another type, too many items, too deep.
    pub fn array(&mut self) -> Result<u64> {
        self.container(scan::ARRAY, "array", self.limits.array_items)
    }

    /// The next key of the open map.
    ///
    /// # Errors
    /// [`Error::WrongCount`] when the map has no more entries; a key out of order.
    pub fn key(&mut self) -> Result<u64> {
        self.next_key()?.ok_or(Error::WrongCount {
            offset: self.at,
            left: 0,
        })
    }

    /// The next key of the open map, or none when all entries are read. Does not close the map.
    ///
    /// # Errors
    /// A key out of order or of another type; asking where no key is due.
    pub fn next_key(&mut self) -> Result<Option<u64>> {
        let Some((key, next)) = self.peek_key()? else {
            return Ok(None);
        };
        if let Some(open) = self.open.last_mut() {
            open.last_key = Some(key);
            open.has_key = true;
        }
        self.at = next;
        Ok(Some(key))
    }

    /// Steps over the next key, which must be `expected`.
    ///
    /// # Errors
    /// [`Error::WrongKey`] for another key, [`Error::WrongCount`] for none.
    pub fn expect_key(&mut self, expected: u64) -> Result<()> {
        let offset = self.at;
        match self.key()? {
            found if found == expected => Ok(()),
            found => Err(Error::WrongKey {
                offset,
                expected,
                found,
            }),
        }
    }

    /// Steps over the next key when it is `expected`; says whether it was.
    ///
    /// # Errors
    /// A key out of order or of another type.
    pub fn optional_key(&mut self, expected: u64) -> Result<bool> {
        match self.peek_key()? {
            Some((key, _)) if key == expected => self.next_key().map(|_| true),
            _ => Ok(false),
        }
    }

    /// Closes the innermost open map or array, all of whose entries must have been read.
    ///
    /// # Errors
    /// [`Error::WrongCount`] when entries are left.
    pub fn end(&mut self) -> Result<()> {
        match self.open.pop() {
            Some(open) if open.left == 0 && !open.has_key => Ok(()),
            Some(open) => Err(Error::WrongCount {
                offset: self.at,
                left: open.left,
            }),
            None => Err(Error::WrongCount {
                offset: self.at,
                left: 0,
            }),
        }
    }

    /// Makes sure that the whole value was read and nothing follows it.
    ///
    /// # Errors
    /// [`Error::WrongCount`] when something is still open, [`Error::TrailingBytes`] otherwise.
    pub fn finish(&self) -> Result<()> {
        if let Some(open) = self.open.last() {
            return Err(Error::WrongCount {
                offset: self.at,
                left: open.left,
            });
        }
        match self.bytes.len() - self.at {
            0 => Ok(()),
            count => Err(Error::TrailingBytes {
                offset: self.at,
                count,
            }),
        }
    }

    /// Reads an unsigned integer.
    ///
    /// # Errors
    /// Another type.
    pub fn uint(&mut self) -> Result<u64> {
        let head = self.expect(scan::UINT, "unsigned integer")?;
        self.step(head.next);
        Ok(head.value)
    }

    /// Reads an integer within 64 signed bits.
    ///
    /// # Errors
    /// Another type, out of range.
    pub fn int(&mut self) -> Result<i64> {
        let head = self.value_head()?;
        if head.major > scan::NINT {
            return Err(self.wrong_type("integer"));
        }
        let value = scan::int(self.at, head)?;
        self.step(head.next);
        Ok(value)
    }

    /// Reads a byte string.
    ///
    /// # Errors
    /// Another type, cut short.
    pub fn bytes(&mut self) -> Result<&'a [u8]> {
        let head = self.expect(scan::BYTES, "byte string")?;
        let (value, next) = scan::string(self.bytes, self.at, head)?;
        self.step(next);
        Ok(value)
    }

    /// Reads a byte string of exactly `N` bytes.
    ///
    /// # Errors
    /// Another type or length.
    pub fn fixed_bytes<const N: usize>(&mut self) -> Result<[u8; N]> {
        let offset = self.at;
        let what = "byte string of another length";
        self.bytes()?.try_into().map_err(|_| Error::BadField {
            offset,
            field: "bytes",
            what,
        })
    }

    /// Reads a text.
    ///
    /// # Errors
    /// Another type, too long, not UTF-8, cut short.
    pub fn text(&mut self) -> Result<&'a str> {
        let head = self.expect(scan::TEXT, "text")?;
        let (value, next) = scan::text(self.bytes, self.at, head, &self.limits)?;
        self.step(next);
        Ok(value)
    }

    /// Reads true or false.
    ///
    /// # Errors
    /// Another type.
    pub fn bool(&mut self) -> Result<bool> {
        let head = self.value_head()?;
        if head.major != scan::SIMPLE || head.value == scan::NULL {
            return Err(self.wrong_type("true or false"));
        }
        self.step(head.next);
        Ok(head.value == scan::TRUE)
    }

    /// Says whether null stands here, and steps over it if so.
    ///
    /// # Errors
    /// No value here, or one that is never written.
    pub fn is_null(&mut self) -> Result<bool> {
        let head = self.value_head()?;
        let null = head.major == scan::SIMPLE && head.value == scan::NULL;
        if null {
            self.step(head.next);
        }
        Ok(null)
    }

    /// Reads a decimal.
    ///
    /// # Errors
    /// Another type, out of range.
    pub fn decimal(&mut self) -> Result<Decimal> {
        let head = self.expect(scan::TAG, "decimal")?;
        let (value, next) = scan::decimal(self.bytes, self.at, head)?;
        self.step(next);
        Ok(value)
    }

    /// Steps over one value of any type, checking it.
    ///
    /// # Errors
    /// Whatever is not in the one allowed form.
    pub fn skip(&mut self) -> Result<()> {
        self.raw().map(|_| ())
    }

    /// Steps over one value of any type, checking it, and returns its bytes.
    ///
    /// # Errors
    /// Whatever is not in the one allowed form.
    pub fn raw(&mut self) -> Result<&'a [u8]> {
        self.value_head()?;
        let deep = u8::try_from(self.open.len()).unwrap_or(u8::MAX);
        let left = self.limits.depth.saturating_sub(deep);
        let next = scan::value(self.bytes, self.at, left, &self.limits)?;
        let raw = &self.bytes[self.at..next];
        self.step(next);
        Ok(raw)
    }

    /// What stands at the cursor, without moving it.
    ///
    /// # Errors
    /// No value here, or one that is never written.
    pub fn kind(&self) -> Result<Kind> {
        let head = self.value_head()?;
        Ok(match head.major {
            scan::UINT => Kind::Uint,
            scan::NINT => Kind::Negative,
            scan::BYTES => Kind::Bytes,
            scan::TEXT => Kind::Text,
            scan::ARRAY => Kind::Array,
            scan::MAP => Kind::Map,
            scan::TAG => Kind::Decimal,
            _ if head.value == scan::NULL => Kind::Null,
            _ => Kind::Bool,
        })
    }

    fn peek_key(&self) -> Result<Option<(u64, usize)>> {
        let offset = self.at;
        match self.open.last() {
            Some(open) if open.map && !open.has_key => {
                if open.left == 0 {
                    return Ok(None);
                }
                let head = scan::head(self.bytes, offset)?;
                if head.major != scan::UINT {
                    return Err(Error::KeyNotUint { offset });
                }
                scan::check_key(offset, open.last_key, head.value)?;
                Ok(Some((head.value, head.next)))
            }
            _ => Err(Error::WrongCount { offset, left: 0 }),
        }
    }

    fn container(&mut self, major: u8, what: &'static str, limit: u64) -> Result<u64> {
        let head = self.expect(major, what)?;
        scan::check_count(what, self.at, head.value, limit)?;
        if self.open.len() >= usize::from(self.limits.depth) {
            return Err(Error::TooDeep {
                offset: self.at,
                limit: self.limits.depth,
            });
        }
        self.step(head.next);
        let map = major == scan::MAP;
        self.open.push(Open {
            left: head.value,
            map,
            last_key: None,
            has_key: false,
        });
        Ok(head.value)
    }

    /// The head of a value, if one is due here.
    fn value_head(&self) -> Result<Head> {
        let due = match self.open.last() {
            Some(open) if open.map => open.has_key,
            Some(open) => open.left > 0,
            None => !self.started,
        };
        if !due {
            return Err(Error::WrongCount {
                offset: self.at,
                left: 0,
            });
        }
        scan::head(self.bytes, self.at)
    }

    fn expect(&self, major: u8, expected: &'static str) -> Result<Head> {
        let head = self.value_head()?;
        if head.major == major {
            Ok(head)
        } else {
            Err(self.wrong_type(expected))
        }
    }

    fn wrong_type(&self, expected: &'static str) -> Error {
        Error::WrongType {
            offset: self.at,
            expected,
            byte: self.bytes[self.at],
        }
    }

    /// Moves behind a value (or into a container) and counts it where it stands.
    fn step(&mut self, next: usize) {
        self.at = next;
        self.started = true;
        if let Some(open) = self.open.last_mut() {
            open.left -= 1;
            open.has_key = false;
        }
    }
}
