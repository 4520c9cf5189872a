//! The body of a correction: other values for a reading that was written down wrongly.

use winze_sync_format::RecordRef;
use winze_sync_format::canonical::Reader;

use super::reading::{entry_fields, read_entry};
use super::round::read_code;
use super::wire::{Fields, ReadExt, in_map};
use super::{BodyResult, Shown};
use crate::station::StationCode;
use crate::verdict::Entry;

/// Other values for a reading. The reading itself stays as it was written; corrections it replaces
/// stand in the envelope's references.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    /// The reading corrected.
    pub reading: RecordRef,
    /// Its station.
    pub station: StationCode,
    /// The values that should have been written.
    pub entry: Entry,
    /// The verdict shown on them.
    pub shown: Shown,
    /// Why, in the writer's words.
    pub reason: String,
}

impl Correction {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.reading)
            .put(1, self.station.as_str())
            .put(2, entry_fields(&self.entry))
            .put_map(3, self.shown.fields())
            .put_text(4, &self.reason)
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        Ok(Self {
            reading: reader.need(0, ReadExt::reference)?,
            station: reader.need(1, read_code)?,
            entry: reader.need(2, |reader| in_map(reader, read_entry))?,
            shown: reader
                .maybe(3, |reader| in_map(reader, Shown::read))?
                .unwrap_or_default(),
            reason: reader.maybe_text(4, "reason")?,
        })
    }
}
