//! Bodies about a log that goes on in another, an office whose key was replaced, what a clock showed
//! beside the office's, and the number a person signs on with.
//!
//! What they come to is worked out in `merge`.

use winze_sync_format::canonical::Reader;
use winze_sync_format::{LogId, RecordRef};

use super::trust::Role;
use super::wire::{Fields, ReadExt};
use super::{BodyError, BodyResult};

/// Why a logbook went on in a new log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NewLogWhy {
    /// The folder is on another machine than before.
    OtherMachine,
    /// The program was set up anew on this machine.
    OtherInstallation,
    /// The folder stands elsewhere, or its key file is another file than before.
    OtherFolder,
    /// An office holds more of the log than is here: the folder is an older copy of itself.
    RolledBack,
    /// Other records bear the log's name: somebody else writes with a copy of its key.
    Copied,
    /// The folder was brought back from a backup.
    Restored,
    /// The key was replaced on purpose.
    KeyReplaced,
}

impl NewLogWhy {
    /// Every reason, in order of number.
    pub const ALL: [Self; 7] = [
        Self::OtherMachine,
        Self::OtherInstallation,
        Self::OtherFolder,
        Self::RolledBack,
        Self::Copied,
        Self::Restored,
        Self::KeyReplaced,
    ];

    /// Stable code, used in the database and in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::OtherMachine => "other-machine",
            Self::OtherInstallation => "other-installation",
            Self::OtherFolder => "other-folder",
            Self::RolledBack => "rolled-back",
            Self::Copied => "copied",
            Self::Restored => "restored",
            Self::KeyReplaced => "key-replaced",
        }
    }

    /// Finds the reason with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|why| why.code() == code)
    }

    const fn number(self) -> u64 {
        match self {
            Self::OtherMachine => 1,
            Self::OtherInstallation => 2,
            Self::OtherFolder => 3,
            Self::RolledBack => 4,
            Self::Copied => 5,
            Self::Restored => 6,
            Self::KeyReplaced => 7,
        }
    }

    fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        let number = reader.uint()?;
        Self::ALL
            .into_iter()
            .find(|why| why.number() == number)
            .ok_or_else(|| BodyError::field("why", "not on the list"))
    }
}

/// The first record of a log that goes on where another of the same logbook ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogContinued {
    /// What the logbook is for.
    pub role: Role,
    /// What its people call it.
    pub label: String,
    /// The last record of the former log that was here.
    pub former: RecordRef,
    /// Why it did not go on in the former.
    pub why: NewLogWhy,
}

impl LogContinued {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.role.number())
            .put(1, self.label.as_str())
            .put(2, self.former)
            .put(3, self.why.number())
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            role: reader.need(0, Role::read)?,
            label: reader.need(1, |reader| Ok(reader.text()?.to_owned()))?,
            former: reader.need(2, ReadExt::reference)?,
            why: reader.need(3, NewLogWhy::read)?,
        })
    }
}

/// The office that writes this goes on under another key, and its own words end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfficeReplaced {
    /// The log the office goes on in.
    pub log: LogId,
    /// The last sequence number of the writer's log that counts.
    pub last_seq: u64,
    /// Why, in the writer's words.
    pub reason: String,
}

impl OfficeReplaced {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, &self.log.0)
            .put(1, self.last_seq)
            .put_text(2, &self.reason)
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            log: reader.need(0, ReadExt::log_id)?,
            last_seq: reader.need(1, |reader| Ok(reader.uint()?))?,
            reason: reader.maybe_text(2, "reason")?,
        })
    }
}

/// On which side of the office's time a moment lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// At it: both clocks were looked at in one moment.
    At,
    /// Not before it: the office had written this down when the other clock was looked at.
    NotBefore,
    /// Not after it: what the other clock showed had reached the office by then.
    NotAfter,
}

impl Side {
    const ALL: [Self; 3] = [Self::At, Self::NotBefore, Self::NotAfter];

    /// Stable code, used in the database and in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::At => "at",
            Self::NotBefore => "not-before",
            Self::NotAfter => "not-after",
        }
    }

    /// Finds the side with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|side| side.code() == code)
    }

    const fn number(self) -> u64 {
        match self {
            Self::At => 1,
            Self::NotBefore => 2,
            Self::NotAfter => 3,
        }
    }

    fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        let number = reader.uint()?;
        Self::ALL
            .into_iter()
            .find(|side| side.number() == number)
            .ok_or_else(|| BodyError::field("side", "not on the list"))
    }
}

/// What the clock of a device showed, and where that lies by the office's clock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClockObserved {
    /// The log of the device whose clock it is.
    pub log: LogId,
    /// The running period of that device.
    pub boot: [u8; 16],
    /// Its monotonic clock, milliseconds within that period.
    pub monotonic_ms: u64,
    /// The office's wall clock, milliseconds since 1970-01-01T00:00:00Z.
    pub office_ms: i64,
    /// On which side of the office's time the moment lies.
    pub side: Side,
}

impl ClockObserved {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, &self.log.0)
            .put(1, &self.boot)
            .put(2, self.monotonic_ms)
            .put(3, self.office_ms)
            .put(4, self.side.number())
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            log: reader.need(0, ReadExt::log_id)?,
            boot: reader.need(1, |reader| Ok(reader.fixed_bytes()?))?,
            monotonic_ms: reader.need(2, |reader| Ok(reader.uint()?))?,
            office_ms: reader.need(3, |reader| Ok(reader.int()?))?,
            side: reader.need(4, Side::read)?,
        })
    }
}
