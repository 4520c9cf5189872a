//! What did not happen with a procedure.

use winze_core::procedures::{ProcedureError, StepCode, Unfit};

use super::{UserMessage, counted};

/// A failed act on a procedure.
#[must_use]
pub fn procedure_failed(error: &ProcedureError) -> UserMessage {
    let unchanged = "Nothing was changed.";
    let kept = "What was recorded before is safe.";
    match error {
        ProcedureError::Unknown { procedure } => UserMessage::new(
            format!("There is no procedure {}.", procedure.id.short()),
            unchanged,
            "Look at the list of procedures again.",
        ),
        ProcedureError::Open { .. } => UserMessage::new(
            "This procedure is open at the station already.",
            "It was left as it is.",
            "Go on with it, or end it first.",
        ),
        ProcedureError::Closed { .. } => UserMessage::new(
            "The procedure has ended.",
            kept,
            "If there is more to be done, open another one.",
        ),
        ProcedureError::OtherEdition { edition, .. } => UserMessage::new(
            format!(
                "The procedure has steps of edition {edition}, which this Winze does not know."
            ),
            kept,
            "Use the newer Winze, or end the work on the tablet where it was begun.",
        ),
        ProcedureError::ReasonMissing => UserMessage::new(
            "This procedure needs a reason.",
            unchanged,
            "Say why it is opened.",
        ),
        ProcedureError::Refused { step, why } => UserMessage::new(
            format!(
                "The step \"{}\" was not recorded: {}.",
                spoken(*step),
                refused(*why)
            ),
            kept,
            "Put it right, or pass the step over with a reason.",
        ),
        ProcedureError::Settled { step } => UserMessage::new(
            format!("The step \"{}\" is done already.", spoken(*step)),
            kept,
            "If it was wrong, take it back first.",
        ),
        ProcedureError::Disputed { step } => UserMessage::new(
            format!(
                "Two tablets recorded the step \"{}\" differently.",
                spoken(*step)
            ),
            "Both records are safe.",
            "Take back the one that is wrong.",
        ),
        ProcedureError::NothingToUndo { step } => UserMessage::new(
            format!("Nothing of the step \"{}\" stands.", spoken(*step)),
            unchanged,
            "There is nothing to take back.",
        ),
        ProcedureError::Lacking { steps } => UserMessage::new(
            format!(
                "The procedure lacks {}: {}.",
                counted(steps.len() as u64, "step", "steps"),
                steps
                    .iter()
                    .map(|step| spoken(*step))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
            kept,
            "Do them, or pass them over with a reason.",
        ),
    }
}

/// A step by its code.
fn spoken(step: StepCode) -> String {
    step.code().replace('-', " ")
}

fn refused(why: Unfit) -> String {
    match why {
        Unfit::NotInProcedure => "the procedure has no such step".to_owned(),
        Unfit::OtherBranch => "it is not on the branch that was chosen".to_owned(),
        Unfit::MayNotBePassed => "it cannot be passed over".to_owned(),
        Unfit::CannotGoOn => "only a calibration goes on over several records".to_owned(),
        Unfit::ReasonNotStated => "a reason is needed, in words".to_owned(),
        Unfit::MeasureMissing(code) => {
            format!("the value \"{}\" is missing", code.code().replace('-', " "))
        }
        Unfit::MeasureNotAsked(code) => format!(
            "the value \"{}\" does not belong to it",
            code.code().replace('-', " ")
        ),
        Unfit::TickMissing(code) => {
            format!("\"{}\" is not ticked", code.code().replace('-', " "))
        }
        Unfit::TickNotAsked(code) => {
            format!(
                "\"{}\" does not belong to it",
                code.code().replace('-', " ")
            )
        }
        Unfit::BranchAmiss => "choose one of the ways on".to_owned(),
        Unfit::PointsAmiss => "write down at least one turn of the screw".to_owned(),
        Unfit::PointWithoutFlow => {
            "without flow the outlet shows lock-up only, so nothing can be set".to_owned()
        }
        Unfit::FiguresSayStop => "the figures say stop; going on needs a stated reason".to_owned(),
        Unfit::NeedsFirst(step) => format!("\"{}\" has to be done first", spoken(step)),
        Unfit::OutOfOrder(step) => {
            format!(
                "\"{}\" comes first; another order needs a reason",
                spoken(step)
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refused_step_says_what_comes_first() {
        let error = ProcedureError::Refused {
            step: StepCode::Calibrate,
            why: Unfit::NeedsFirst(StepCode::Flow),
        };
        let message = procedure_failed(&error);
        assert!(
            message.what.contains("\"flow\" has to be done first"),
            "{message}"
        );
        assert!(message.safe.contains("is safe"));
    }
}
