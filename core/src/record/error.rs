//! Why a body cannot be written or read.

use super::Kind;

/// The result of writing or reading a body.
pub type BodyResult<T> = Result<T, BodyError>;

/// What is wrong with a body.
#[derive(Debug, thiserror::Error)]
pub enum BodyError {
    /// A kind this program does not know; the record is kept.
    #[error("record kind {number} is not known")]
    UnknownKind {
        /// The number in the envelope.
        number: u64,
    },
    /// The bytes are not the expected values, or a value does not fit the format's limits.
    #[error("body: {0}")]
    Format(#[from] winze_sync_format::Error),
    /// A field has a value that is never written.
    #[error("body field {field}: {what}")]
    Field {
        /// The field.
        field: &'static str,
        /// What is wrong with it.
        what: &'static str,
    },
    /// The body means something, but is not spelt as this program spells it.
    #[error("body of kind {kind:?} is not in its one spelling")]
    OtherSpelling {
        /// The kind.
        kind: Kind,
    },
}

impl BodyError {
    pub(super) const fn field(field: &'static str, what: &'static str) -> Self {
        Self::Field { field, what }
    }
}
