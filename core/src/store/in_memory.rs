//! What a logbook would show of a set of records, worked out in memory: nothing is kept, no folder is
//! needed. For tests that ask about very many sets.

use winze_sync_format::{LogId, SignedRecord};

use super::database::Database;
use super::facts::Own;
use super::insert::Dirty;
use crate::Result;
use crate::record::Role;

/// The projection of these records as text, as seen by the log `own`, when they come `portion` at a
/// time (at least one) and everything is worked out after each portion.
///
/// # Errors
/// The database's. Records that cannot be stored (a sequence number above 2^63-1) are its mistake
/// too: whoever takes in a bundle leaves them out.
pub fn projection_of(own: LogId, records: &[SignedRecord], portion: usize) -> Result<String> {
    let database = Database::in_memory()?;
    let own = Own {
        log: own,
        role: Role::Office,
        label: String::new(),
    };
    let first = Dirty {
        trust: true,
        ..Dirty::default()
    };
    database.derive(&own, first)?;
    for part in records.chunks(portion.max(1)) {
        let mut dirty = Dirty::default();
        for record in part {
            database.put(record, &mut dirty)?;
        }
        database.note_dirty(&dirty)?;
        let noted = database.noted_dirty()?;
        database.derive(&own, noted)?;
    }
    let mut dump = String::new();
    database.dump(&mut dump)?;
    Ok(dump)
}
