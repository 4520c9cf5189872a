//! Bodies about walk-rounds: opened, closed, a station passed by.

use winze_sync_format::RecordRef;
use winze_sync_format::canonical::Reader;

use super::wire::{Fields, ReadExt, Value};
use super::{BodyError, BodyResult};
use crate::station::StationCode;

/// A walk-round starts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoundOpened {
    /// What the round is called.
    pub title: String,
    /// The stations to visit, in walking order, each once.
    pub stations: Vec<StationCode>,
    /// How far local time is ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl RoundOpened {
    pub(super) fn fields(&self) -> Fields<'_> {
        let stations = self
            .stations
            .iter()
            .map(|code| Value::Text(code.as_str()))
            .collect();
        Fields::new()
            .put(0, self.title.as_str())
            .put(1, Value::List(stations))
            .put(2, i32::from(self.utc_offset_minutes))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        let title = reader.need(0, |reader| Ok(reader.text()?.to_owned()))?;
        let stations = reader.need(1, |reader| reader.items(read_code))?;
        let mut seen = std::collections::BTreeSet::new();
        if !stations.iter().all(|code| seen.insert(code)) {
            return Err(BodyError::field("stations", "a station named twice"));
        }
        Ok(Self {
            title,
            stations,
            utc_offset_minutes: reader.need(2, read_utc_offset)?,
        })
    }
}

/// A walk-round ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoundClosed {
    /// The round.
    pub round: RecordRef,
    /// A remark on the round as a whole.
    pub note: String,
}

impl RoundClosed {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new().put(0, self.round).put_text(1, &self.note)
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            round: reader.need(0, ReadExt::reference)?,
            note: reader.maybe_text(1, "note")?,
        })
    }
}

/// Why a station was passed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SkipReason {
    /// The way to it is closed.
    NoAccess,
    /// The place is not safe at the moment.
    NotSafe,
    /// The station is out of service.
    OutOfService,
    /// The gauges are missing, broken or unreadable.
    GaugesUnreadable,
    /// There was no time left.
    NoTime,
    /// Something else, said in the note.
    Other,
}

impl SkipReason {
    /// Every reason, in the order in which they are offered.
    pub const ALL: [Self; 6] = [
        Self::NoAccess,
        Self::NotSafe,
        Self::OutOfService,
        Self::GaugesUnreadable,
        Self::NoTime,
        Self::Other,
    ];

    /// Stable code, used in the database and in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::NoAccess => "no-access",
            Self::NotSafe => "not-safe",
            Self::OutOfService => "out-of-service",
            Self::GaugesUnreadable => "gauges-unreadable",
            Self::NoTime => "no-time",
            Self::Other => "other",
        }
    }

    /// Finds the reason with this code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|reason| reason.code() == code)
    }

    const fn number(self) -> u64 {
        match self {
            Self::NoAccess => 1,
            Self::NotSafe => 2,
            Self::OutOfService => 3,
            Self::GaugesUnreadable => 4,
            Self::NoTime => 5,
            Self::Other => 6,
        }
    }

    fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        let number = reader.uint()?;
        Self::ALL
            .into_iter()
            .find(|reason| reason.number() == number)
            .ok_or(BodyError::field("reason", "not on the list"))
    }
}

/// A station was passed by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StationSkipped {
    /// The round.
    pub round: RecordRef,
    /// The station.
    pub station: StationCode,
    /// Why.
    pub reason: SkipReason,
    /// More about it.
    pub note: String,
}

impl StationSkipped {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.round)
            .put(1, self.station.as_str())
            .put(2, self.reason.number())
            .put_text(3, &self.note)
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            round: reader.need(0, ReadExt::reference)?,
            station: reader.need(1, read_code)?,
            reason: reader.need(2, SkipReason::read)?,
            note: reader.maybe_text(3, "note")?,
        })
    }
}

/// Reads a station code, which must be in its one spelling.
pub(super) fn read_code(reader: &mut Reader<'_>) -> BodyResult<StationCode> {
    let text = reader.text()?;
    StationCode::parse(text)
        .ok()
        .filter(|code| code.as_str() == text)
        .ok_or(BodyError::field("station", "not a station code"))
}

/// Reads an offset from UTC in minutes; a day either way is more than any zone has.
pub(super) fn read_utc_offset(reader: &mut Reader<'_>) -> BodyResult<i16> {
    i16::try_from(reader.int()?)
        .ok()
        .filter(|minutes| minutes.abs() < 24 * 60)
        .ok_or(BodyError::field("utc offset", "more than a day"))
}
