//! Bodies about logs: opened, enrolled, revoked.

use winze_sync_format::LogId;
use winze_sync_format::canonical::Reader;

use super::wire::{Fields, ReadExt};
use super::{BodyError, BodyResult};

/// What a logbook is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Taken on walk-rounds.
    Tablet,
    /// Merges, answers questions, enrols others.
    Office,
}

impl Role {
    /// Stable code, used on the command line, in the database and in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Tablet => "tablet",
            Self::Office => "office",
        }
    }

    /// Finds the role with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::Tablet, Self::Office]
            .into_iter()
            .find(|role| role.code() == code)
    }

    pub(super) const fn number(self) -> u64 {
        match self {
            Self::Tablet => 1,
            Self::Office => 2,
        }
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        match reader.uint()? {
            1 => Ok(Self::Tablet),
            2 => Ok(Self::Office),
            _ => Err(BodyError::field("role", "neither tablet nor office")),
        }
    }
}

/// The first record of a log: what it says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogOpened {
    /// What the logbook is for.
    pub role: Role,
    /// What its people call it.
    pub label: String,
}

impl LogOpened {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.role.number())
            .put(1, self.label.as_str())
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            role: reader.need(0, Role::read)?,
            label: reader.need(1, |reader| Ok(reader.text()?.to_owned()))?,
        })
    }
}

/// A log is to count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Enrolment {
    /// The log enrolled.
    pub log: LogId,
    /// What it is called here.
    pub name: String,
    /// The role it is given.
    pub role: Role,
}

impl Enrolment {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, &self.log.0)
            .put(1, self.name.as_str())
            .put(2, self.role.number())
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            log: reader.need(0, ReadExt::log_id)?,
            name: reader.need(1, |reader| Ok(reader.text()?.to_owned()))?,
            role: reader.need(2, Role::read)?,
        })
    }
}

/// A log counts no further.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revocation {
    /// The log revoked.
    pub log: LogId,
    /// The last sequence number that counts; when absent nothing of it counts.
    pub last_seq: Option<u64>,
    /// Why, in the writer's words.
    pub reason: String,
}

impl Revocation {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, &self.log.0)
            .put_some(1, self.last_seq)
            .put_text(2, &self.reason)
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            log: reader.need(0, ReadExt::log_id)?,
            last_seq: reader.maybe(1, |reader| Ok(reader.uint()?))?,
            reason: reader.maybe_text(2, "reason")?,
        })
    }
}
