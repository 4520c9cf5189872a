//! The one error of this crate: what failed, where, and the facts needed to explain it.
//!
//! Display texts are for logs. Offsets are bytes from the start of the slice that was read.

use std::path::PathBuf;

use crate::id::LogId;

/// The result of everything in this crate that can fail.
pub type Result<T, E = Error> = std::result::Result<T, E>;

/// Everything that can go wrong with bytes, signatures and files of this format.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The bytes end inside a value.
    #[error("cut short inside the value at byte {offset}")]
    Truncated {
        /// Where the unfinished value starts.
        offset: usize,
    },
    /// More bytes follow a complete value.
    #[error("{count} bytes follow the value that ends at byte {offset}")]
    TrailingBytes {
        /// Where the first surplus byte stands.
        offset: usize,
        /// How many bytes are surplus.
        count: usize,
    },
    /// A length or number is written longer than needed.
    #[error("head at byte {offset} is not the shortest form")]
    NotShortest {
        /// Where the head stands.
        offset: usize,
    },
    /// A string, array or map of indefinite length, or a stray end mark.
    #[error("indefinite length at byte {offset}")]
    Indefinite {
        /// Where the head stands.
        offset: usize,
    },
    /// A float, an undefined, a tag or another form outside the profile.
    #[error("byte {byte:#04x} at byte {offset} starts a form that is not used here")]
    NotAllowed {
        /// Where the head stands.
        offset: usize,
        /// The first byte of the head.
        byte: u8,
    },
    /// A map key that is not an unsigned integer.
    #[error("map key at byte {offset} is not an unsigned integer")]
    KeyNotUint {
        /// Where the key stands.
        offset: usize,
    },
    /// A map key equal to or below the one before it.
    #[error("map key {key} at byte {offset} does not rise above {previous}")]
    KeyOrder {
        /// Where the key stands.
        offset: usize,
        /// The key before.
        previous: u64,
        /// The offending key.
        key: u64,
    },
    /// Maps and arrays nested deeper than allowed.
    #[error("value at byte {offset} is nested deeper than {limit}")]
    TooDeep {
        /// Where the value stands.
        offset: usize,
        /// The deepest allowed nesting.
        limit: u8,
    },
    /// A declared length or count above the limit.
    #[error("{what} at byte {offset} declares {declared}, the limit is {limit}")]
    TooLong {
        /// Where the value stands.
        offset: usize,
        /// What is too long: `map`, `array`, `text`, `record`, ...
        what: &'static str,
        /// The declared length or count.
        declared: u64,
        /// The limit.
        limit: u64,
    },
    /// A text that is not UTF-8.
    #[error("text at byte {offset} is not UTF-8")]
    BadUtf8 {
        /// Where the text stands.
        offset: usize,
    },
    /// An integer or decimal outside the range used here.
    #[error("number at byte {offset} is out of range")]
    OutOfRange {
        /// Where the number stands.
        offset: usize,
    },
    /// A value of another type than the reader asked for.
    #[error("expected {expected} at byte {offset}, found byte {byte:#04x}")]
    WrongType {
        /// Where the value stands.
        offset: usize,
        /// What was asked for.
        expected: &'static str,
        /// The first byte found.
        byte: u8,
    },
    /// Another map key than the reader asked for.
    #[error("expected map key {expected} at byte {offset}, found {found}")]
    WrongKey {
        /// Where the key stands.
        offset: usize,
        /// The key asked for.
        expected: u64,
        /// The key found.
        found: u64,
    },
    /// A map or array has more or fewer entries than the reader asked for.
    #[error("map or array before byte {offset} has {left} entries that were not asked for")]
    WrongCount {
        /// Where the reader stands.
        offset: usize,
        /// Entries left over; 0 when the reader asked for one too many.
        left: u64,
    },
    /// A field of the envelope, or of a header or trailer, has a value that is never written.
    #[error("{field} before byte {offset}: {what}")]
    BadField {
        /// Where the reader stands.
        offset: usize,
        /// The name of the field.
        field: &'static str,
        /// What is wrong with it.
        what: &'static str,
    },
    /// The encoder was driven wrongly (program fault, not data).
    #[error("encoder misuse: {what}")]
    EncoderMisuse {
        /// What was done wrongly.
        what: &'static str,
    },
    /// The bytes do not start with the fixed mark of an item.
    #[error("no item at byte {offset}")]
    NotAnItem {
        /// Where an item was expected.
        offset: usize,
    },
    /// The log id is not a usable public key.
    #[error("log id {log} is not a usable public key")]
    BadKey {
        /// The log id.
        log: LogId,
    },
    /// The signature does not match, or is not in its only allowed form.
    #[error("signature does not match log {log}")]
    BadSignature {
        /// The log that the item claims.
        log: LogId,
    },
    /// A key was used for the log of another key.
    #[error("key of log {found} used for log {expected}")]
    WrongLog {
        /// The log to be written.
        expected: LogId,
        /// The log of the key.
        found: LogId,
    },
    /// The log has used its last sequence number.
    #[error("log {log} has no sequence number left")]
    LogFull {
        /// The log.
        log: LogId,
    },
    /// A text that should be a number, an id or a reference is not one.
    #[error("not a {what}: {text:?}")]
    BadText {
        /// What was expected.
        what: &'static str,
        /// The text, cut to 80 characters.
        text: String,
    },
    /// The records handed to the bundle writer are not those it declared.
    #[error("bundle of other records than declared: {what}")]
    PlanMismatch {
        /// What differs.
        what: &'static str,
    },
    /// An item handed to the bundle writer is not whole.
    #[error("item {index} for the bundle: {source}")]
    SpoiltItem {
        /// Its place among the items handed over, from 0.
        index: u64,
        /// What is wrong with it.
        source: Box<Error>,
    },
    /// The caller broke off.
    #[error("broken off by the caller")]
    Cancelled,
    /// A file or folder operation failed.
    #[error("{action} {path}: {source}", path = path.display())]
    Io {
        /// What was tried: `open`, `write`, `sync`, ...
        action: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// The system's answer.
        source: std::io::Error,
    },
    /// What was read back from the medium is not what was written.
    #[error("{path} reads back differently from byte {offset}", path = path.display())]
    ReadBack {
        /// The file.
        path: PathBuf,
        /// The first byte that differs, or the length where it ends early.
        offset: u64,
    },
    /// The file was given up after a failed write or sync and takes nothing more.
    #[error("{path} was given up after a failed write", path = path.display())]
    GivenUp {
        /// The file.
        path: PathBuf,
    },
    /// A key file does not hold one usable key.
    #[error("key file {path}: {what}", path = path.display())]
    KeyFile {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        what: &'static str,
    },
    /// The system gave no random bytes.
    #[error("no random bytes: {source}")]
    Random {
        /// The system's answer.
        source: getrandom::Error,
    },
}

impl Error {
    /// The stable name of the failure, as the frozen vectors write it.
    #[must_use]
    pub fn class(&self) -> &'static str {
        match self {
            Self::Truncated { .. } => "truncated",
            Self::TrailingBytes { .. } => "trailing-bytes",
            Self::NotShortest { .. } => "not-shortest",
            Self::Indefinite { .. } => "indefinite",
            Self::NotAllowed { .. } => "not-allowed",
            Self::KeyNotUint { .. } => "key-not-uint",
            Self::KeyOrder { .. } => "key-order",
            Self::TooDeep { .. } => "too-deep",
            Self::TooLong { .. } => "too-long",
            Self::BadUtf8 { .. } => "bad-utf8",
            Self::OutOfRange { .. } => "out-of-range",
            Self::WrongType { .. } => "wrong-type",
            Self::WrongKey { .. } => "wrong-key",
            Self::WrongCount { .. } => "wrong-count",
            Self::BadField { .. } => "bad-field",
            Self::EncoderMisuse { .. } => "encoder-misuse",
            Self::NotAnItem { .. } => "not-an-item",
            Self::BadKey { .. } => "bad-key",
            Self::BadSignature { .. } => "bad-signature",
            Self::WrongLog { .. } => "wrong-log",
            Self::LogFull { .. } => "log-full",
            Self::BadText { .. } => "bad-text",
            Self::PlanMismatch { .. } => "plan-mismatch",
            Self::SpoiltItem { .. } => "spoilt-item",
            Self::Cancelled => "cancelled",
            Self::Io { .. } => "io",
            Self::ReadBack { .. } => "read-back",
            Self::GivenUp { .. } => "given-up",
            Self::KeyFile { .. } => "key-file",
            Self::Random { .. } => "random",
        }
    }

    /// The same error, its offset moved by `by` bytes: for slices out of a larger whole.
    #[must_use]
    pub(crate) fn shifted(mut self, by: usize) -> Self {
        match &mut self {
            Self::Truncated { offset }
            | Self::TrailingBytes { offset, .. }
            | Self::NotShortest { offset }
            | Self::Indefinite { offset }
            | Self::NotAllowed { offset, .. }
            | Self::KeyNotUint { offset }
            | Self::KeyOrder { offset, .. }
            | Self::TooDeep { offset, .. }
            | Self::TooLong { offset, .. }
            | Self::BadUtf8 { offset }
            | Self::OutOfRange { offset }
            | Self::WrongType { offset, .. }
            | Self::WrongKey { offset, .. }
            | Self::WrongCount { offset, .. }
            | Self::BadField { offset, .. }
            | Self::NotAnItem { offset } => *offset = offset.saturating_add(by),
            _ => {}
        }
        self
    }

    /// An [`Error::BadText`] that keeps at most 80 characters of the text.
    pub(crate) fn bad_text(what: &'static str, text: &str) -> Self {
        Self::BadText {
            what,
            text: text.chars().take(80).collect(),
        }
    }
}

/// Adds what was tried and where to a bare system error.
pub(crate) trait IoContext<T> {
    /// Names the action and the path.
    fn at(self, action: &'static str, path: &std::path::Path) -> Result<T>;
}

impl<T> IoContext<T> for std::io::Result<T> {
    fn at(self, action: &'static str, path: &std::path::Path) -> Result<T> {
        self.map_err(|source| Error::Io {
            action,
            path: path.to_owned(),
            source,
        })
    }
}
