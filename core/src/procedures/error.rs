//! Why something with a procedure did not happen.

use winze_sync_format::RecordRef;

use super::check::Unfit;
use super::codes::StepCode;

/// What stands in the way.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ProcedureError {
    /// No such procedure.
    #[error("procedure {procedure} is not known")]
    Unknown {
        /// What was asked for.
        procedure: RecordRef,
    },
    /// The same procedure is open at the station already.
    #[error("procedure {procedure} is open at the station")]
    Open {
        /// The open one.
        procedure: RecordRef,
    },
    /// It is closed.
    #[error("procedure {procedure} is closed")]
    Closed {
        /// The procedure.
        procedure: RecordRef,
    },
    /// It was opened under an edition of the steps that this program does not know.
    #[error("procedure {procedure} has edition {edition}")]
    OtherEdition {
        /// The procedure.
        procedure: RecordRef,
        /// Its edition.
        edition: u32,
    },
    /// A reason is needed and none was given.
    #[error("no reason given")]
    ReasonMissing,
    /// The step cannot be recorded like this.
    #[error("step {} refused: {}", step.code(), why.code())]
    Refused {
        /// The step.
        step: StepCode,
        /// Why.
        why: Unfit,
    },
    /// The step is done or passed over already.
    #[error("step {} is settled", step.code())]
    Settled {
        /// The step.
        step: StepCode,
    },
    /// The step was recorded differently by two tablets; one of the records has to be undone.
    #[error("step {} is disputed", step.code())]
    Disputed {
        /// The step.
        step: StepCode,
    },
    /// Nothing of the step stands.
    #[error("nothing of step {} stands", step.code())]
    NothingToUndo {
        /// The step.
        step: StepCode,
    },
    /// Steps are lacking.
    #[error("{} steps are lacking", steps.len())]
    Lacking {
        /// Those.
        steps: Vec<StepCode>,
    },
}
