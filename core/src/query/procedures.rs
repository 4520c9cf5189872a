//! Procedures: which are open, and one in full with its steps, times and persons.

use std::collections::BTreeMap;

use winze_sync_format::{LogId, RecordRef, SignedRecord};

use crate::calibration::{Setting, Start};
use crate::procedures::{
    Compatibility, Fit, FitQuestion, MeasureCode, OpenReason, Procedure, ProcedureCode,
    ProcedureError, ProcedureState, Says, StepCode, StepFact, compatibility, in_edition, left,
    state,
};
use crate::record::{Body, ProcedureOpened};
use crate::station::{Station, StationCode};
use crate::{Error, Logbook, Result};

/// One procedure.
#[derive(Debug, Clone, PartialEq)]
pub struct ProcedureView {
    /// The record that opened it: its name.
    pub at: RecordRef,
    /// Which.
    pub code: ProcedureCode,
    /// The edition of its data.
    pub edition: u32,
    /// The station.
    pub station: StationCode,
    /// When it was opened, milliseconds since 1970.
    pub opened_ms: i64,
    /// How far local time was ahead of UTC then, minutes.
    pub utc_offset_minutes: i16,
    /// Who opened it.
    pub by: String,
    /// The logbook it was opened in.
    pub log: LogId,
    /// Why, where it says.
    pub reason: Option<OpenReason>,
    /// More about it.
    pub note: String,
    /// The records about it that count, in order of name.
    pub facts: Vec<StepFact>,
    /// Where it stands; `None` for an edition that this program does not know.
    pub state: Option<ProcedureState>,
}

impl ProcedureView {
    /// Its data; `None` for an edition that this program does not know.
    #[must_use]
    pub fn data(&self) -> Option<&'static Procedure> {
        in_edition(self.code, self.edition)
    }

    /// Whether it still asks for something: open, or closed with a disagreement.
    #[must_use]
    pub fn is_open(&self) -> bool {
        let closing = self.state.as_ref().map(|state| &state.closing);
        !closing.is_some_and(crate::procedures::Closing::is_closed)
    }

    /// Where it stands.
    ///
    /// # Errors
    /// [`ProcedureError::OtherEdition`].
    pub fn known_state(&self) -> Result<(&'static Procedure, &ProcedureState), ProcedureError> {
        let unknown = ProcedureError::OtherEdition {
            procedure: self.at,
            edition: self.edition,
        };
        self.data().zip(self.state.as_ref()).ok_or(unknown)
    }
}

/// Lists every procedure at a station, in order of opening.
///
/// # Errors
/// The database's.
pub fn procedures_at(logbook: &Logbook, code: &StationCode) -> Result<Vec<ProcedureView>> {
    Ok(fold(logbook.read_procedure_records(code)?))
}

/// Lists every procedure, by station and in order of opening.
///
/// # Errors
/// The database's.
pub fn procedures(logbook: &Logbook) -> Result<Vec<ProcedureView>> {
    let mut found = Vec::new();
    for code in logbook.stations_with_procedures()? {
        found.append(&mut procedures_at(logbook, &code)?);
    }
    Ok(found)
}

/// Lists the procedures that still ask for something, the one opened last first.
///
/// # Errors
/// The database's.
pub fn open_procedures(logbook: &Logbook) -> Result<Vec<ProcedureView>> {
    let mut found = procedures(logbook)?;
    found.retain(ProcedureView::is_open);
    found.sort_by_key(|view| std::cmp::Reverse((view.opened_ms, view.at)));
    Ok(found)
}

/// Finds one procedure by the record that opened it.
///
/// # Errors
/// [`ProcedureError::Unknown`], and the database's.
pub fn procedure(logbook: &Logbook, at: RecordRef) -> Result<ProcedureView> {
    let unknown = Error::Procedure(ProcedureError::Unknown { procedure: at });
    let Some(code) = logbook.station_of_procedure(at)? else {
        return Err(unknown);
    };
    let mut found = procedures_at(logbook, &code)?;
    found.retain(|view| view.at == at);
    found.pop().ok_or(unknown)
}

/// Whether the station suits what this procedure wants, from what it has measured so far.
///
/// # Errors
/// [`ProcedureError::Unknown`], [`ProcedureError::OtherEdition`], [`Error::UnknownStation`].
pub fn procedure_compatibility(logbook: &Logbook, at: RecordRef) -> Result<Compatibility> {
    let (view, station) = with_station(logbook, at)?;
    let (_, state) = view.known_state()?;
    let at_inlet = |step| state.pressure(step, MeasureCode::Inlet);
    let supply = state.pressure(StepCode::SupplyPresent, MeasureCode::Supply);
    let question = FitQuestion {
        wanted: state.wanted_set_point(),
        factory: state.pressure(StepCode::FactorySetPoint, MeasureCode::FactorySetPoint),
        supply: supply.or_else(|| at_inlet(StepCode::AsFound)),
    };
    Ok(compatibility(&station, &question))
}

/// What a step that checks figures shows: what is found, gravest first. Empty for other steps.
///
/// # Errors
/// As [`procedure_compatibility`].
pub fn procedure_figures(logbook: &Logbook, at: RecordRef, step: StepCode) -> Result<Vec<Fit>> {
    match step {
        StepCode::Compatibility => Ok(procedure_compatibility(logbook, at)?.findings),
        StepCode::LeftFigures => {
            let (view, station) = with_station(logbook, at)?;
            let (_, state) = view.known_state()?;
            let entry = state.entry(StepCode::AsLeft).unwrap_or_default();
            Ok(left(&station, state.wanted_set_point(), &entry))
        }
        _ => Ok(Vec::new()),
    }
}

/// What the calibration assistant is to be told: the set point wanted, and where the screw stands at
/// the first point.
///
/// # Errors
/// As [`procedure_compatibility`].
pub fn procedure_calibration(logbook: &Logbook, at: RecordRef) -> Result<Setting> {
    let (view, mut station) = with_station(logbook, at)?;
    let (_, state) = view.known_state()?;
    if let Some(wanted) = state.wanted_set_point() {
        station.second_stage.set_point = wanted;
    }
    let backed_off = state.status(StepCode::ScrewBackedOff);
    let start = if backed_off == Some(crate::procedures::StepStatus::Done) {
        Start::BackedOff
    } else {
        Start::AsFound
    };
    Ok(Setting::of(&station, start))
}

fn with_station(logbook: &Logbook, at: RecordRef) -> Result<(ProcedureView, Station)> {
    let view = procedure(logbook, at)?;
    let station = logbook
        .read_station(&view.station)?
        .ok_or_else(|| Error::UnknownStation {
            station: view.station.clone(),
        })?;
    Ok((view, station.definition))
}

/// Puts the records about procedures at one station together. A function of the set of records;
/// steps of a procedure that is not here wait until it is.
pub(crate) fn fold(records: Vec<(SignedRecord, Body)>) -> Vec<ProcedureView> {
    let mut opened: Vec<(SignedRecord, ProcedureOpened)> = Vec::new();
    let mut facts: BTreeMap<RecordRef, Vec<StepFact>> = BTreeMap::new();
    for (record, body) in records {
        let (procedure, says) = match body {
            Body::ProcedureOpened(body) => {
                opened.push((record, *body));
                continue;
            }
            Body::StepRecorded(body) => (body.procedure, Says::Recorded(body)),
            Body::StepUndone(body) => (body.procedure, Says::Undone(*body)),
            Body::ProcedureClosed(body) => (body.procedure, Says::Closed(*body)),
            _ => continue,
        };
        let written = record.record();
        facts.entry(procedure).or_default().push(StepFact {
            at: record.reference(),
            wall_ms: written.clock.wall_ms,
            by: written.person.clone(),
            based_on: written.refs.clone(),
            says,
        });
    }
    let mut views: Vec<ProcedureView> = opened
        .into_iter()
        .map(|(record, body)| {
            let at = record.reference();
            let mut facts = facts.remove(&at).unwrap_or_default();
            facts.sort_by_key(|fact| fact.at);
            let data = in_edition(body.procedure, body.edition);
            ProcedureView {
                at,
                code: body.procedure,
                edition: body.edition,
                station: body.station,
                opened_ms: record.record().clock.wall_ms,
                utc_offset_minutes: body.utc_offset_minutes,
                by: record.record().person.clone(),
                log: at.log,
                reason: body.reason,
                note: body.note,
                state: data.map(|data| state(data, &facts)),
                facts,
            }
        })
        .collect();
    views.sort_by_key(|view| (view.opened_ms, view.at));
    views
}
