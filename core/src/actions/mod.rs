//! The acts of a logbook's users, one per file: each loads what it needs, checks, writes its records
//! durably and returns what came of it.
//!
//! `Ok` means that it happened and will last; any `Err` means that it did not. The windows and the
//! command line call the same functions. Every act that a person is answerable for takes `by`, the
//! person's name.

mod answer_check;
mod answer_question;
mod attach;
mod back_up;
mod close_job;
mod close_procedure;
mod close_round;
mod correct_reading;
mod drafts;
mod enrol;
mod load_readings;
mod load_register;
mod merge_bundles;
mod note_task_done;
mod open_procedure;
mod open_round;
mod pack_bundle;
mod raise_job;
mod record_reading;
mod record_step;
mod revise_station;
mod skip_station;
mod undo_step;

pub use answer_check::{NewCheckAnswer, answer_check};
pub use answer_question::{NewAnswer, answer_question, void_reading};
pub use attach::{Attached, NewAttachment, attach};
pub use back_up::back_up;
pub use close_job::{NewJobEnd, close_job};
pub use close_procedure::{Ended, NewEnd, Revised, close_procedure};
pub use close_round::close_round;
pub use correct_reading::{NewCorrection, correct_reading};
pub use drafts::{SavedDraft, clear_draft, drafts, load_draft, save_draft};
pub use enrol::{enrol_logbook, replace_office_key, report_lost, revoke_logbook};
pub use load_readings::{ReadingsLoaded, RefusedRow, RefusedWhy, load_readings};
pub use load_register::{RegisterLoaded, load_register};
pub use merge_bundles::{BundleMerged, MergeReport, merge_bundles};
pub use note_task_done::{NewTaskDone, note_task_done};
pub use open_procedure::{NewProcedure, open_procedure};
pub use open_round::{NewRound, open_round};
pub use pack_bundle::{PackFor, Packed, pack_bundle};
pub use raise_job::{NewJob, raise_job};
pub use record_reading::{NewReading, Saved, record_reading};
pub use record_step::{NewStep, StepSaved, record_step};
pub use revise_station::revise_station;
pub use skip_station::{NewSkip, skip_station};
pub use undo_step::{NewUndo, undo_step};

/// How far a long act has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// What is going on.
    pub stage: Stage,
    /// How much is done, in the unit of `total`.
    pub done: u64,
    /// How much there is in all, where known: bytes when reading files, otherwise records or rows.
    pub total: Option<u64>,
}

/// What a long act is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// Reading and checking files.
    Reading,
    /// Writing down records.
    Writing,
    /// Working out what the records come to.
    WorkingOut,
    /// Reading back what was written.
    ReadingBack,
}

/// How a long act reports and is asked to stop: `false` from the callback stops it at the next safe
/// point. What was written down until then stays.
pub type OnProgress<'a> = dyn FnMut(Progress) -> bool + 'a;
