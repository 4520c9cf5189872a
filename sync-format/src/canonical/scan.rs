//! The strict scan: is this exactly one value in the one allowed form, and where does it end?
//!
//! It allocates nothing and recurses at most [`Limits::depth`] deep, so it is the first thing
//! that hostile bytes meet.

use super::decimal::Decimal;
use crate::error::{Error, Result};

/// How large a value may be before it is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Deepest nesting of maps and arrays; a decimal counts as a plain value.
    pub depth: u8,
    /// Most entries of one map.
    pub map_entries: u64,
    /// Most items of one array.
    pub array_items: u64,
    /// Longest text, in bytes of UTF-8.
    pub text_bytes: u64,
    /// Longest whole value, in bytes.
    pub total_bytes: usize,
}

impl Limits {
    /// The limits of a record.
    pub const RECORD: Self = Self {
        depth: 8,
        map_entries: 64,
        array_items: 4096,
        text_bytes: 4096,
        total_bytes: 65_536,
    };

    /// The limits of a body, which stands one map deeper than its record.
    pub const BODY: Self = Self {
        depth: 7,
        ..Self::RECORD
    };
}

impl Default for Limits {
    fn default() -> Self {
        Self::RECORD
    }
}

/// One decoded head: the type and the number of a CBOR value.
#[derive(Clone, Copy)]
pub(crate) struct Head {
    pub major: u8,
    pub value: u64,
    pub next: usize,
}

pub(super) const UINT: u8 = 0;
pub(super) const NINT: u8 = 1;
pub(crate) const BYTES: u8 = 2;
pub(super) const TEXT: u8 = 3;
pub(super) const ARRAY: u8 = 4;
pub(super) const MAP: u8 = 5;
pub(super) const TAG: u8 = 6;
pub(super) const SIMPLE: u8 = 7;

pub(super) const FALSE: u64 = 20;
pub(super) const TRUE: u64 = 21;
pub(super) const NULL: u64 = 22;
pub(super) const TAG_DECIMAL: u64 = 4;

/// Reads the head at `at`; refuses long forms, indefinite lengths and every float.
pub(crate) fn head(bytes: &[u8], at: usize) -> Result<Head> {
    let &first = bytes.get(at).ok_or(Error::Truncated { offset: at })?;
    let (major, info) = (first >> 5, first & 0x1f);
    if major == SIMPLE {
        return match u64::from(info) {
            value @ (FALSE | TRUE | NULL) => Ok(Head {
                major,
                value,
                next: at + 1,
            }),
            31 => Err(Error::Indefinite { offset: at }),
            _ => Err(Error::NotAllowed {
                offset: at,
                byte: first,
            }),
        };
    }
    let width = match info {
        0..=23 => {
            return Ok(Head {
                major,
                value: u64::from(info),
                next: at + 1,
            });
        }
        24 => 1,
        25 => 2,
        26 => 4,
        27 => 8,
        31 => return Err(Error::Indefinite { offset: at }),
        _ => {
            return Err(Error::NotAllowed {
                offset: at,
                byte: first,
            });
        }
    };
    let next = at + 1 + width;
    let digits = bytes
        .get(at + 1..next)
        .ok_or(Error::Truncated { offset: at })?;
    let value = digits
        .iter()
        .fold(0u64, |sum, &digit| (sum << 8) | u64::from(digit));
    let smallest = match width {
        1 => 24,
        2 => 0x100,
        4 => 0x1_0000,
        _ => 0x1_0000_0000,
    };
    if value < smallest {
        return Err(Error::NotShortest { offset: at });
    }
    Ok(Head { major, value, next })
}

/// The string that follows a head, without trusting its declared length.
pub(super) fn string(bytes: &[u8], at: usize, head: Head) -> Result<(&[u8], usize)> {
    let rest = &bytes[head.next..];
    let length = usize::try_from(head.value).map_err(|_| Error::Truncated { offset: at })?;
    let string = rest.get(..length).ok_or(Error::Truncated { offset: at })?;
    Ok((string, head.next + length))
}

/// The text that follows a head.
pub(super) fn text<'a>(
    bytes: &'a [u8],
    at: usize,
    head: Head,
    limits: &Limits,
) -> Result<(&'a str, usize)> {
    check_count("text", at, head.value, limits.text_bytes)?;
    let (raw, next) = string(bytes, at, head)?;
    let text = std::str::from_utf8(raw).map_err(|_| Error::BadUtf8 { offset: at })?;
    Ok((text, next))
}

/// A negative or positive integer within 64 signed bits.
pub(super) fn int(at: usize, head: Head) -> Result<i64> {
    let magnitude = i64::try_from(head.value).map_err(|_| Error::OutOfRange { offset: at })?;
    Ok(if head.major == NINT {
        -1 - magnitude
    } else {
        magnitude
    })
}

/// The decimal whose tag head stands at `at`.
pub(super) fn decimal(bytes: &[u8], at: usize, tag: Head) -> Result<(Decimal, usize)> {
    if tag.value != TAG_DECIMAL {
        return Err(Error::NotAllowed {
            offset: at,
            byte: bytes[at],
        });
    }
    let array = head(bytes, tag.next)?;
    if array.major != ARRAY || array.value != 2 {
        let byte = bytes[tag.next];
        return Err(Error::WrongType {
            offset: tag.next,
            expected: "array of two",
            byte,
        });
    }
    let mut next = array.next;
    let mut parts = [0i64; 2];
    for part in &mut parts {
        let number = head(bytes, next)?;
        if number.major > NINT {
            return Err(Error::WrongType {
                offset: next,
                expected: "integer",
                byte: bytes[next],
            });
        }
        *part = int(next, number)?;
        next = number.next;
    }
    let exponent = i8::try_from(parts[0]).map_err(|_| Error::OutOfRange { offset: at })?;
    let decimal = Decimal {
        mantissa: parts[1],
        exponent,
    };
    if !decimal.is_writable() {
        return Err(Error::OutOfRange { offset: at });
    }
    Ok((decimal, next))
}

/// Refuses a declared count above its limit.
pub(super) fn check_count(what: &'static str, at: usize, declared: u64, limit: u64) -> Result<()> {
    if declared > limit {
        return Err(Error::TooLong {
            offset: at,
            what,
            declared,
            limit,
        });
    }
    Ok(())
}

/// Refuses a map key that does not rise.
pub(super) fn check_key(at: usize, previous: Option<u64>, key: u64) -> Result<()> {
    match previous {
        Some(previous) if key <= previous => Err(Error::KeyOrder {
            offset: at,
            previous,
            key,
        }),
        _ => Ok(()),
    }
}

/// Checks the value at `at` and returns where it ends. `depth` is the nesting still allowed.
pub(super) fn value(bytes: &[u8], at: usize, depth: u8, limits: &Limits) -> Result<usize> {
    let head_here = head(bytes, at)?;
    match head_here.major {
        UINT | SIMPLE => Ok(head_here.next),
        NINT => int(at, head_here).map(|_| head_here.next),
        BYTES => string(bytes, at, head_here).map(|(_, next)| next),
        TEXT => text(bytes, at, head_here, limits).map(|(_, next)| next),
        TAG => decimal(bytes, at, head_here).map(|(_, next)| next),
        major => {
            let depth = depth.checked_sub(1).ok_or(Error::TooDeep {
                offset: at,
                limit: limits.depth,
            })?;
            if major == ARRAY {
                check_count("array", at, head_here.value, limits.array_items)?;
            } else {
                check_count("map", at, head_here.value, limits.map_entries)?;
            }
            entries(bytes, head_here, depth, limits)
        }
    }
}

fn entries(bytes: &[u8], container: Head, depth: u8, limits: &Limits) -> Result<usize> {
    let mut next = container.next;
    let mut previous = None;
    for _ in 0..container.value {
        if container.major == MAP {
            let key = head(bytes, next)?;
            if key.major != UINT {
                return Err(Error::KeyNotUint { offset: next });
            }
            check_key(next, previous, key.value)?;
            previous = Some(key.value);
            next = key.next;
        }
        next = value(bytes, next, depth, limits)?;
    }
    Ok(next)
}

/// Checks that `bytes` start with one value in the allowed form and returns its length.
///
/// # Errors
/// Whatever is not in the one allowed form, with its byte offset.
pub fn scan_prefix(bytes: &[u8], limits: &Limits) -> Result<usize> {
    let window = &bytes[..bytes.len().min(limits.total_bytes)];
    match value(window, 0, limits.depth, limits) {
        Err(Error::Truncated { .. }) if window.len() < bytes.len() => Err(Error::TooLong {
            offset: 0,
            what: "value",
            declared: bytes.len() as u64,
            limit: limits.total_bytes as u64,
        }),
        other => other,
    }
}

/// Checks that `bytes` are exactly one value in the allowed form, nothing before or after it.
///
/// # Errors
/// Whatever is not in the one allowed form, with its byte offset.
pub fn scan(bytes: &[u8], limits: &Limits) -> Result<()> {
    let offset = scan_prefix(bytes, limits)?;
    match bytes.len() - offset {
        0 => Ok(()),
        count => Err(Error::TrailingBytes { offset, count }),
    }
}
