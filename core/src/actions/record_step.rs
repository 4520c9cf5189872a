//! Recording a step of a procedure: done, going on, or passed over with a stated reason.

use winze_sync_format::{RecordId, RecordRef};

use super::{NewReading, record_reading};
use crate::calibration::Point;
use crate::procedures::{
    Act, Branch, Fit, Measured, Procedure, ProcedureError, ProcedureState, Reason, Says, Standing,
    Step, StepCode, StepFact, StepStatus, TickCode, Unfit, bases_of_step, entry_of, shown, state,
};
use crate::query::{self, ProcedureView};
use crate::record::{AskedDoubt, Body, StepOutcome, StepRecorded, Tick, Ticks};
use crate::store::NewRecord;
use crate::{Logbook, Result};

/// A step to record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewStep {
    /// The procedure: the record that opened it.
    pub procedure: RecordRef,
    /// Which step.
    pub step: StepCode,
    /// How it came out.
    pub outcome: StepOutcome,
    /// What was measured.
    pub measured: Vec<Measured>,
    /// What was ticked.
    pub ticks: Vec<TickCode>,
    /// The branch chosen, at a choice.
    pub branch: Option<Branch>,
    /// At a calibration the turns not recorded yet; as they are made, or all at the end.
    pub points: Vec<Point>,
    /// Why it is done before steps that come first.
    pub out_of_order: Option<Reason>,
    /// Why the work goes on although the figures say stop.
    pub despite: Option<Reason>,
    /// A free note.
    pub note: String,
    /// Doubts put about the gauges of a step that reads them, with the replies.
    pub doubts: Vec<AskedDoubt>,
    /// Who records it.
    pub by: String,
    /// Made when the entry is begun and kept with its draft: a second confirmation with the same
    /// nonce is seen and adds nothing.
    pub nonce: [u8; 8],
}

impl NewStep {
    /// A step that was done, with nothing further said.
    #[must_use]
    pub fn done(procedure: RecordRef, step: StepCode, by: &str, nonce: [u8; 8]) -> Self {
        Self {
            procedure,
            step,
            outcome: StepOutcome::Done,
            measured: Vec::new(),
            ticks: Vec::new(),
            branch: None,
            points: Vec::new(),
            out_of_order: None,
            despite: None,
            note: String::new(),
            doubts: Vec::new(),
            by: by.to_owned(),
            nonce,
        }
    }
}

/// A step that is safe.
#[derive(Debug, Clone, PartialEq)]
pub struct StepSaved {
    /// Its record.
    pub at: RecordRef,
    /// The reading written with it, where the step reads the gauges.
    pub reading: Option<RecordRef>,
    /// What the figures said, at a step that checks them.
    pub figures: Vec<Fit>,
    /// Where the procedure stands now.
    pub state: ProcedureState,
    /// Whether this very entry had been confirmed before, so that nothing was added.
    pub was_saved_before: bool,
}

/// Records a step. When this returns `Ok` it is in the synced segment and committed; a step that
/// reads the three gauges has also been written as a reading of the station.
///
/// # Errors
/// [`ProcedureError::Unknown`], [`ProcedureError::OtherEdition`], [`ProcedureError::Closed`],
/// [`ProcedureError::Settled`], [`ProcedureError::Disputed`], [`ProcedureError::Refused`] with what
/// is missing or comes first, and those of writing.
pub fn record_step(logbook: &mut Logbook, new: NewStep) -> Result<StepSaved> {
    let view = query::procedure(logbook, new.procedure)?;
    if let Some(saved) = saved_before(logbook, &view, &new)? {
        return Ok(saved);
    }
    let (data, now) = view.known_state()?;
    let step = check_turn(data, now, &view, new.step)?;
    let mut body = StepRecorded {
        measured: new.measured,
        ticks: new.ticks,
        branch: new.branch,
        points: new.points,
        out_of_order: new.out_of_order,
        despite: new.despite,
        note: new.note,
        utc_offset_minutes: logbook.clock().utc_offset_minutes(),
        outcome: new.outcome,
        ..StepRecorded::done(view.at, view.station.clone(), step.code)
    };
    let is_done = body.outcome == StepOutcome::Done;
    let mut figures = Vec::new();
    if is_done && step.act == Act::CheckFigures {
        figures = query::procedure_figures(logbook, view.at, step.code)?;
        body.figures = shown(&figures);
    }
    let based_on = bases_of_step(step, now);
    check_it_would_stand(logbook, &view, data, &body, &based_on)?;
    if is_done && step.reads_gauges() {
        let reading = NewReading {
            station: view.station.clone(),
            revision: None,
            round: None,
            entry: entry_of(&body),
            ticks: noticed(now),
            note: body.note.clone(),
            doubts: new.doubts,
            by: new.by.clone(),
            nonce: new.nonce,
        };
        body.reading = Some(record_reading(logbook, reading)?.at);
    }
    let reading = body.reading;
    let record = NewRecord::new(Body::StepRecorded(Box::new(body)), new.by)
        .replacing(based_on)
        .with_nonce(new.nonce);
    let at = logbook.confirm_one(record)?;
    Ok(StepSaved {
        at,
        reading,
        figures,
        state: state_of(logbook, view.at)?,
        was_saved_before: false,
    })
}

fn state_of(logbook: &Logbook, at: RecordRef) -> Result<ProcedureState> {
    let view = query::procedure(logbook, at)?;
    Ok(view.known_state()?.1.clone())
}

/// Finds the record of this very entry, if it was confirmed before.
fn saved_before(
    logbook: &Logbook,
    view: &ProcedureView,
    new: &NewStep,
) -> Result<Option<StepSaved>> {
    for (record, body) in logbook.read_procedure_records(&view.station)? {
        let Body::StepRecorded(body) = body else {
            continue;
        };
        let is_same = record.record().nonce == new.nonce
            && body.step == new.step
            && body.procedure == view.at
            && logbook.is_own(record.reference().log)?;
        if is_same {
            return Ok(Some(StepSaved {
                at: record.reference(),
                reading: body.reading,
                figures: Vec::new(),
                state: state_of(logbook, view.at)?,
                was_saved_before: true,
            }));
        }
    }
    Ok(None)
}

/// Checks that the procedure goes on and the step is open.
fn check_turn(
    data: &'static Procedure,
    now: &ProcedureState,
    view: &ProcedureView,
    code: StepCode,
) -> Result<&'static Step, ProcedureError> {
    if now.closing.is_closed() {
        return Err(ProcedureError::Closed { procedure: view.at });
    }
    let refused = |why| ProcedureError::Refused { step: code, why };
    let step = data
        .step(code)
        .ok_or_else(|| refused(Unfit::NotInProcedure))?;
    match now.status(code) {
        Some(StepStatus::Done | StepStatus::PassedOver) => {
            Err(ProcedureError::Settled { step: code })
        }
        Some(StepStatus::Disputed) => Err(ProcedureError::Disputed { step: code }),
        Some(StepStatus::OtherBranch | StepStatus::Waiting) => Err(refused(Unfit::OtherBranch)),
        _ => {
            let waits = now
                .way(code)
                .is_some_and(|way| way.missing.contains(&StepCode::Branch));
            if waits && now.disputed.contains(&StepCode::Branch) {
                return Err(ProcedureError::Disputed {
                    step: StepCode::Branch,
                });
            }
            Ok(step)
        }
    }
}

/// Weighs the record as it would stand, before anything is written.
fn check_it_would_stand(
    logbook: &Logbook,
    view: &ProcedureView,
    data: &'static Procedure,
    body: &StepRecorded,
    based_on: &[RecordRef],
) -> Result<(), ProcedureError> {
    // A name that no record has yet: the last place of the own log.
    let at = RecordRef {
        log: logbook.log_id(),
        seq: u64::MAX,
        id: RecordId([0xff; 32]),
    };
    let mut facts = view.facts.clone();
    facts.push(StepFact {
        at,
        wall_ms: i64::MAX,
        by: String::new(),
        based_on: based_on.to_vec(),
        says: Says::Recorded(Box::new(body.clone())),
    });
    let then = state(data, &facts);
    let entries = then.step(body.step).map_or(&[][..], |step| &step.entries);
    match entries.iter().find(|entry| entry.at == at) {
        Some(entry) => match entry.standing {
            Standing::Unfit(why) => Err(ProcedureError::Refused {
                step: body.step,
                why,
            }),
            _ => Ok(()),
        },
        None => Err(ProcedureError::Refused {
            step: body.step,
            why: Unfit::NotInProcedure,
        }),
    }
}

/// What was noticed on the look-round, as a reading keeps it.
fn noticed(now: &ProcedureState) -> Ticks {
    let ticks = now.noticed().iter().filter_map(|tick| match tick {
        TickCode::Leak => Some(Tick::Leak),
        TickCode::Damage => Some(Tick::Damage),
        TickCode::Noise => Some(Tick::Noise),
        TickCode::Flooding => Some(Tick::Flooding),
        TickCode::Access => Some(Tick::Access),
        _ => None,
    });
    ticks.fold(Ticks::NONE, Ticks::with)
}
