//! Names of logs and records: fixed-length bytes, shown as hex, never as bare strings.
//!
//! A log is named by its public key, a record by the hash of its payload; a reference always
//! carries both and the sequence number, so that a look-up never needs an index of hashes.

use std::fmt;
use std::str::FromStr;

use sha2::{Digest, Sha256};

use crate::error::{Error, Result};
use crate::words::words_for;

/// The name of a log: its 32-byte Ed25519 public key.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LogId(pub [u8; 32]);

/// The name of a record: SHA-256 of its payload.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RecordId(pub [u8; 32]);

/// A full reference to a record. Ordered by log, then sequence number, then id.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RecordRef {
    /// The log that holds the record.
    pub log: LogId,
    /// Its place in that log, from 0.
    pub seq: u64,
    /// The hash of its payload.
    pub id: RecordId,
}

impl LogId {
    /// The eight words that two people compare to make sure they mean the same log.
    #[must_use]
    pub fn words(&self) -> [&'static str; 8] {
        words_for(self)
    }

    /// The first eight hex digits: for file names and lists, not for decisions.
    #[must_use]
    pub fn short(&self) -> String {
        hex(&self.0[..4])
    }
}

impl RecordId {
    /// The id of a payload.
    #[must_use]
    pub fn of(payload: &[u8]) -> Self {
        Self(sha256(payload))
    }

    /// The first eight hex digits: for lists, not for decisions.
    #[must_use]
    pub fn short(&self) -> String {
        hex(&self.0[..4])
    }
}

/// SHA-256 (FIPS 180-4) of some bytes.
pub(crate) fn sha256(bytes: &[u8]) -> [u8; 32] {
    Sha256::digest(bytes).into()
}

/// Lower-case hex.
pub(crate) fn hex(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    bytes
        .iter()
        .flat_map(|byte| [byte >> 4, byte & 15])
        .map(|nibble| char::from(DIGITS[usize::from(nibble)]))
        .collect()
}

fn from_hex(what: &'static str, text: &str) -> Result<[u8; 32]> {
    let bad = || Error::bad_text(what, text);
    let digits = text.as_bytes();
    if digits.len() != 64 {
        return Err(bad());
    }
    let mut bytes = [0u8; 32];
    for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
        let nibble = |digit: u8| match digit {
            b'0'..=b'9' => Some(digit - b'0'),
            b'a'..=b'f' => Some(digit - b'a' + 10),
            _ => None,
        };
        *byte = nibble(pair[0])
            .zip(nibble(pair[1]))
            .map(|(high, low)| high << 4 | low)
            .ok_or_else(bad)?;
    }
    Ok(bytes)
}

macro_rules! hex_name {
    ($name:ident, $what:literal) => {
        impl fmt::Display for $name {
            /// All 64 hex digits.
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&hex(&self.0))
            }
        }

        impl fmt::Debug for $name {
            /// The first eight hex digits.
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}({}..)", stringify!($name), hex(&self.0[..4]))
            }
        }

        impl FromStr for $name {
            type Err = Error;

            /// Reads 64 lower-case hex digits.
            fn from_str(text: &str) -> Result<Self> {
                from_hex($what, text).map(Self)
            }
        }
    };
}

hex_name!(LogId, "log id");
hex_name!(RecordId, "record id");

impl fmt::Display for RecordRef {
    /// `log:seq:id` with full hex, as [`RecordRef::from_str`] reads it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", self.log, self.seq, self.id)
    }
}

impl fmt::Debug for RecordRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "RecordRef({}..:{}:{}..)",
            self.log.short(),
            self.seq,
            self.id.short()
        )
    }
}

impl FromStr for RecordRef {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let bad = || Error::bad_text("record reference", text);
        let mut parts = text.split(':');
        let (Some(log), Some(seq), Some(id), None) =
            (parts.next(), parts.next(), parts.next(), parts.next())
        else {
            return Err(bad());
        };
        let number: u64 = seq.parse().map_err(|_| bad())?;
        if number.to_string() != seq {
            return Err(bad());
        }
        Ok(Self {
            log: log.parse()?,
            seq: number,
            id: id.parse()?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reference_reads_back_as_shown() {
        let one = RecordRef {
            log: LogId([0xab; 32]),
            seq: 17,
            id: RecordId([0x0f; 32]),
        };
        assert_eq!(one.to_string().parse::<RecordRef>().unwrap(), one);
        assert_eq!(format!("{one:?}"), "RecordRef(abababab..:17:0f0f0f0f..)");
    }

    #[test]
    fn other_spellings_of_a_reference_are_refused() {
        let good = RecordRef {
            log: LogId([1; 32]),
            seq: 7,
            id: RecordId([2; 32]),
        }
        .to_string();
        for bad in [
            good.replace(":7:", ":07:"),
            good.replace(":7:", ":+7:"),
            good.replace(":7:", ":18446744073709551616:"),
            good.replace("01", "0A"),
            format!("{good}:"),
            good[1..].to_owned(),
            String::new(),
        ] {
            assert!(bad.parse::<RecordRef>().is_err(), "{bad}");
        }
    }

    /// FIPS 180-4 examples; padding boundaries computed with another program (check value C-5).
    #[test]
    fn c5_sha256_examples() {
        let of = |text: &[u8]| hex(&sha256(text));
        assert_eq!(
            of(b""),
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
        );
        assert_eq!(
            of(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
        assert_eq!(
            of(b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"
        );
        assert_eq!(
            of(b"abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu"),
            "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1"
        );
        assert_eq!(
            of(&vec![b'a'; 1_000_000]),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"
        );
    }
}
