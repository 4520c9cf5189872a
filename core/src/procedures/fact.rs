//! What is known of one procedure: the records about it, as the state wants them.

use winze_sync_format::RecordRef;

use crate::record::{ProcedureClosed, StepRecorded, StepUndone};

/// One record about a procedure that counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepFact {
    /// The record.
    pub at: RecordRef,
    /// Its wall time, milliseconds since 1970: for showing, never for deciding.
    pub wall_ms: i64,
    /// Who wrote it.
    pub by: String,
    /// The records it rests on: for a step those of the steps it needs, for an end every record that
    /// then stood, for an end that settles a disagreement the ends it replaces.
    pub based_on: Vec<RecordRef>,
    /// What it says.
    pub says: Says,
}

/// What a record about a procedure says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Says {
    /// A step was done, goes on or was passed over.
    Recorded(Box<StepRecorded>),
    /// Records of a step are taken back.
    Undone(StepUndone),
    /// The procedure ends.
    Closed(ProcedureClosed),
}
