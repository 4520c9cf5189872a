//! Questions: what the records disagree about and only a person can decide.
//!
//! A question's id is the hash of the records it is about, so every logbook that holds them asks the
//! same question, and an answer made in one settles it in all.

use std::fmt;

use sha2::{Digest, Sha256};
use winze_sync_format::RecordRef;

use crate::record::Choice;
use crate::station::StationCode;

/// Names a question: SHA-256 over the records it is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct QuestionId(pub [u8; 32]);

impl fmt::Display for QuestionId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl QuestionId {
    /// Reads 64 hexadecimal digits; `None` for anything else.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let digits = text.as_bytes();
        if digits.len() != 64 {
            return None;
        }
        let mut id = [0; 32];
        for (byte, pair) in id.iter_mut().zip(digits.chunks_exact(2)) {
            let high = char::from(pair[0]).to_digit(16)?;
            let low = char::from(pair[1]).to_digit(16)?;
            *byte = u8::try_from(high * 16 + low).ok()?;
        }
        Some(Self(id))
    }
}

/// Works out the id of the question about these records: which of them stands.
///
/// # Formula
/// SHA-256 over, for each record in ascending order and once: log id (32 bytes), sequence number
/// (8 bytes, big-endian), record id (32 bytes).
#[must_use]
pub fn question_id(about: &[RecordRef]) -> QuestionId {
    hashed(Sha256::new(), about)
}

/// Works out the id of the question about a copied log, of which these records hold one place.
///
/// They may be two definitions or two readings that are a question of their own, so this one is told
/// apart by what is hashed first: the text `copied-log` and a zero byte.
#[must_use]
pub fn copied_log_id(about: &[RecordRef]) -> QuestionId {
    hashed(Sha256::new().chain_update(b"copied-log\0"), about)
}

fn hashed(mut hash: Sha256, about: &[RecordRef]) -> QuestionId {
    let mut sorted = about.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    for at in sorted {
        hash.update(at.log.0);
        hash.update(at.seq.to_be_bytes());
        hash.update(at.id.0);
    }
    QuestionId(hash.finalize().into())
}

/// What a question is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum QuestionKind {
    /// Two readings of one station, close in time, that differ by more than the dials can.
    Readings,
    /// Two definitions of one station, neither made with knowledge of the other.
    Revisions,
    /// Two corrections of one reading, neither made with knowledge of the other.
    Corrections,
    /// Two different records with the same place in one log: a logbook was copied.
    CopiedLog,
}

impl QuestionKind {
    /// Stable code, used in the database and in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Readings => "readings",
            Self::Revisions => "revisions",
            Self::Corrections => "corrections",
            Self::CopiedLog => "copied-log",
        }
    }

    /// Finds the kind with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        [
            Self::Readings,
            Self::Revisions,
            Self::Corrections,
            Self::CopiedLog,
        ]
        .into_iter()
        .find(|kind| kind.code() == code)
    }

    /// Says whether `choice` is a possible answer to a question of this kind.
    #[must_use]
    pub fn allows(self, choice: &Choice) -> bool {
        match choice {
            Choice::Prefer(_) => self != Self::CopiedLog,
            Choice::KeepAll | Choice::VoidAll => self == Self::Readings,
            Choice::AsFirstWritten => self == Self::Corrections,
            Choice::Noted => self == Self::CopiedLog,
        }
    }
}

/// Whether a question has been answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum QuestionState {
    /// Nobody has answered.
    Open,
    /// Answered; the record is the answer that stands.
    Answered {
        /// The answer's record.
        by: RecordRef,
        /// What was chosen.
        choice: Choice,
    },
    /// Answered differently by people who did not know of each other's answer.
    AnsweredDifferently,
}

impl QuestionState {
    /// Stable code, used in the database and in exports.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Answered { .. } => "answered",
            Self::AnsweredDifferently => "answered-differently",
        }
    }
}

/// One question with its state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Its stable id.
    pub id: QuestionId,
    /// What it is about.
    pub kind: QuestionKind,
    /// The station concerned; none for a copied log.
    pub station: Option<StationCode>,
    /// The records concerned, ascending.
    pub about: Vec<RecordRef>,
    /// Whether it has been answered.
    pub state: QuestionState,
}

#[cfg(test)]
mod tests {
    use winze_sync_format::{LogId, RecordId};

    use super::*;

    fn at(n: u8) -> RecordRef {
        RecordRef {
            log: LogId([n; 32]),
            seq: u64::from(n),
            id: RecordId([n ^ 0xff; 32]),
        }
    }

    #[test]
    fn the_id_knows_no_order_and_no_repetition() {
        let id = question_id(&[at(1), at(2)]);
        assert_eq!(id, question_id(&[at(2), at(1), at(2)]));
        assert_ne!(id, question_id(&[at(1), at(3)]));
        assert_eq!(QuestionId::parse(&id.to_string()), Some(id));
        assert_eq!(QuestionId::parse("zz"), None);
        assert_ne!(id, copied_log_id(&[at(1), at(2)]));
    }

    #[test]
    fn the_id_is_pinned() {
        // Computed with Python's hashlib over the 144 bytes written out by hand.
        let id = question_id(&[at(1), at(2)]);
        assert_eq!(
            id.to_string(),
            "762b7c0695861ba5c537f8c69446308ed057f245e362d6ccb24d3a5c1f1fa860"
        );
    }
}
