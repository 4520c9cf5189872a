//! The body of an answered check: what somebody tried at a station, and what came of it.
//!
//! The reading it is about stands in the envelope's references.

use winze_sync_format::canonical::Reader;

use super::round::read_code;
use super::wire::{Fields, ReadExt};
use super::{BodyError, BodyResult};
use crate::station::StationCode;
use crate::suspects::Check;

/// The answer to a check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckAnswered {
    /// The station.
    pub station: StationCode,
    /// The check.
    pub check: Check,
    /// The answer.
    pub is_yes: bool,
    /// More about it, in the person's words.
    pub note: String,
}

impl CheckAnswered {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.station.as_str())
            .put(1, self.check.code())
            .put(2, u64::from(self.is_yes))
            .put_text(3, &self.note)
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            station: reader.need(0, read_code)?,
            check: reader.need(1, |reader| {
                Check::from_code(reader.text()?).ok_or(BodyError::field("check", "not on the list"))
            })?,
            is_yes: reader.need(2, |reader| match reader.uint()? {
                0 => Ok(false),
                1 => Ok(true),
                _ => Err(BodyError::field("answer", "neither yes nor no")),
            })?,
            note: reader.maybe_text(3, "note")?,
        })
    }
}
