//! Read models: what screens, commands and reports ask of a logbook, as plain structs.
//!
//! Nothing here writes, and nothing here makes text for people. Start at [`overview`] for the
//! office, [`open_round`] for the tablet, [`station`] and [`past_readings`] for one station.

mod attachments;
mod due;
#[cfg(test)]
mod due_procedure_tests;
#[cfg(test)]
mod due_tests;
mod jobs;
mod judgement;
#[cfg(test)]
mod judgement_tests;
mod logs;
mod need;
mod overview;
mod procedures;
mod questions;
mod readings;
mod records;
mod rejudged;
mod rounds;
mod stations;

pub use attachments::{
    AttachmentView, attachment, attachment_bytes, attachments_at, attachments_of,
};
pub use due::{DueCounts, DueList, StationDue, due, due_at, due_on, today};
pub use jobs::{job, job_proposals, jobs, jobs_at};
pub use judgement::{
    GaugeAtVisit, JudgedVisit, QuantityNow, StationFlag, StationJudgement, flags, judgement,
};
pub use logs::{LogView, Standing as LogStanding, logs, not_yet_at_office, not_yet_backed_up};
pub use need::{Need, StationNeed, fleet_by_need, fleet_by_need_at};
pub use overview::{MergeRun, Missed, MissedWhy, Overview, StationConcern, overview, overview_at};
pub(crate) use procedures::fold as fold_procedures;
pub use procedures::{
    ProcedureView, open_procedures, procedure, procedure_calibration, procedure_compatibility,
    procedure_figures, procedures, procedures_at,
};
pub use questions::{GivenAnswer, QuestionView, question, questions};
pub use readings::{
    TimeWorkedOut, Visit, past_for_checks, past_readings, time_worked_out, visit, visits_between,
};
pub use records::{RecordView, find_at_place, find_records, holds, record};
pub use rejudged::{Rejudged, rejudged};
pub use rounds::{RoundView, Stop, StopState, open_round, round, rounds};
pub use stations::{LastVisit, StationDetail, StationRow, definition_at, station, stations};
