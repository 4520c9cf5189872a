//! Correcting a reading that was written down wrongly. The reading itself stays as it was.

use winze_sync_format::RecordRef;

use crate::record::{Body, Correction, Shown};
use crate::store::NewRecord;
use crate::verdict::{Entry, judge};
use crate::{Error, Logbook, Result};

/// A correction to make.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewCorrection {
    /// The reading.
    pub reading: RecordRef,
    /// The values that should have been written.
    pub entry: Entry,
    /// Why.
    pub reason: String,
    /// Who corrects.
    pub by: String,
}

/// Corrects a reading; a later correction replaces those known here.
///
/// # Errors
/// [`Error::UnknownRecord`], [`Error::NotAReading`], [`Error::NothingTyped`], and those of writing.
pub fn correct_reading(logbook: &mut Logbook, new: NewCorrection) -> Result<RecordRef> {
    let visit = logbook.read_visit(new.reading)?;
    if new.entry.is_empty() {
        return Err(Error::NothingTyped {
            station: visit.station,
        });
    }
    let definition = logbook.read_definition(visit.revision)?;
    let shown = Shown::of(&judge(&definition, &new.entry));
    let replaces = logbook.correction_heads(&visit.station, new.reading)?;
    let body = Correction {
        reading: new.reading,
        station: visit.station,
        entry: new.entry,
        shown,
        reason: new.reason,
    };
    let record = NewRecord::new(Body::Correction(Box::new(body)), new.by).replacing(replaces);
    logbook.confirm_one(record)
}
