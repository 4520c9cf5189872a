//! The day after the rounds: three faults are put right, each by its procedure, and the office prints
//! the papers.
//!
//! The set point that crept up is set anew, the blocking strainer cleaned, and the station whose
//! first stage passed is brought back into service after it was overhauled. A cleaning is begun and
//! left for another day.

use winze_core::actions::{NewProcedure, NewStep, open_procedure, record_step, revise_station};
use winze_core::procedures::{Dirt, OpenReason, ProcedureCode, ReasonCode, StepCode, TickCode};
use winze_core::query;
use winze_core::simulate::{Dice, Pilot, PilotConditions};
use winze_core::station::{Duty, Quantity, Station, StationCode, Valve};
use winze_core::units::{Typed, Unit, decimal_to_f64};
use winze_core::{Error, Logbook};
use winze_sync_format::{Decimal, RecordRef};

use super::folders::Folders;
use super::hands::{Job, Plant, work};
use super::mine::MineStation;
use super::summary::WorkSummary;
use super::unexpected;
use crate::messages::reports::{file_name, report_failed, week_file_name};
use crate::messages::{UserMessage, logbook_failed};
use crate::office::snapshot::Snapshot;
use crate::reports::{account, document, week_sheet, write};

/// The station whose set point crept up, from 1 in walking order.
pub const RECALIBRATED: usize = 3;
/// The station whose strainer blocked.
pub const CLEANED: usize = 5;
/// The station whose first stage passed.
pub const SET_UP: usize = 8;
/// The station whose cleaning is begun and not ended.
pub const BEGUN: usize = 12;

#[allow(
    clippy::needless_pass_by_value,
    reason = "so that `map_err` takes it as it is"
)]
fn failed(error: Error) -> UserMessage {
    logbook_failed(&error)
}

/// What Ada does at the station whose set point crept up.
#[must_use]
pub fn recalibration() -> Job {
    Job {
        procedure: ProcedureCode::Recalibrate,
        reason: OpenReason::OutletOff,
        note: "outlet crept up since summer",
        passed_over: None,
        by: "Ada",
        seen_by: "",
        mark: 0xd1,
    }
}

/// What Ada does at the station whose strainer blocked.
#[must_use]
pub fn yearly() -> Job {
    Job {
        procedure: ProcedureCode::YearlyClean,
        reason: OpenReason::Finding,
        note: "inlet pressure falling from week to week",
        passed_over: None,
        by: "Ada",
        seen_by: "",
        mark: 0xd2,
    }
}

/// What Ben does at the station whose first stage was overhauled.
#[must_use]
pub fn set_up() -> Job {
    Job {
        procedure: ProcedureCode::SetUp,
        reason: OpenReason::AfterIntrusiveWork,
        note: "seat and seal of the first stage renewed",
        passed_over: Some((
            StepCode::Flush,
            ReasonCode::NotFitted,
            "no flushing point; flushed at the hydrant above",
        )),
        by: "Ben",
        seen_by: "E. Engineer",
        mark: 0xd3,
    }
}

/// The station as the hands find it: as on the day of the round, and with what was wrong put right
/// after.
#[must_use]
pub fn plant(one: &MineStation, station: &Station, seed: u64) -> Plant {
    let bar = |typed: Typed| typed.value_in(Unit::Bar);
    let entry = &one.today;
    let shown = Quantity::ALL.map(|quantity| entry.get(quantity).map_or(0.0, bar));
    let inlet = station.inlet_usual.middle().in_unit(Unit::Bar);
    // A supply that is as it should be stays where it is.
    let usual = bar(station.inlet_usual.low)..=bar(station.inlet_usual.high);
    let inlet = if usual.contains(&shown[0]) {
        shown[0]
    } else {
        inlet
    };
    let ratio = station.first_stage.ratio_in_use().unwrap_or(1.0);
    let set_point = bar(station.second_stage.set_point);
    let mut dice = Dice::new(seed, 9_000 + u64::from(station.order));
    let (low, high) = station
        .second_stage
        .spring_range
        .map_or((0.4 * set_point, 2.2 * set_point), |(low, high)| {
            (bar(low), bar(high))
        });
    let mut pilot = Pilot::draw(&PilotConditions::reference(), low, high, &mut dice);
    pilot.preset(shown[2], &mut dice);
    Plant {
        station: station.clone(),
        before: shown,
        after: [inlet, inlet / ratio],
        pilot,
        dice,
        factory: Typed::new(Decimal::new(15, -1), Unit::Bar),
        strainer: Dirt::Heavy,
    }
}

/// The definition of a station with what the engineer adds for its certificate: valves, spring,
/// duty, limits downstream. Invented, in round figures.
#[must_use]
pub fn completed(station: &Station) -> Station {
    let mut station = station.clone();
    let digits = |mantissa, exponent| Some(Decimal::new(mantissa, exponent));
    let valve = Valve {
        size_mm: Some(80),
        rated_kv: digits(60, 0),
        fl: digits(90, -2),
        permitted_sigma: digits(15, -1),
        xfz: None,
    };
    station.first_stage.valve = valve.clone();
    station.second_stage.valve = valve;
    let bar = |tenths| Typed::new(Decimal::new(tenths, -1), Unit::Bar);
    let set_tenths = tenths(station.second_stage.set_point);
    station.second_stage.spring_range = Some((bar(set_tenths / 3), bar(set_tenths * 2)));
    let site = &mut station.site;
    site.water_temperature_c = digits(14, 0);
    site.downstream_max = Some(bar(2 * set_tenths + 20));
    site.relief_set = Some(bar(set_tenths + 15));
    site.duty = Duty {
        min_m3_h: digits(4, 0),
        usual_m3_h: digits(18, 0),
        max_m3_h: digits(40, 0),
    };
    station
}

/// A pressure in tenths of a bar, rounded down.
#[allow(
    clippy::cast_possible_truncation,
    reason = "set points of the demo are a few bar"
)]
fn tenths(typed: Typed) -> i64 {
    (typed.value_in(Unit::Bar) * 10.0).clamp(0.0, 1000.0) as i64
}

/// The definition that a logbook holds.
///
/// # Errors
/// The logbook's, and that there is none.
pub fn definition(logbook: &Logbook, code: &StationCode) -> Result<Station, UserMessage> {
    let found = query::station(logbook, code).map_err(failed)?;
    let detail = found.ok_or_else(|| unexpected(format!("{code} is not defined.")))?;
    Ok(detail.definition)
}

/// The engineer completes a definition at the office.
///
/// # Errors
/// The logbook's.
pub fn complete_definition(logbook: &mut Logbook, code: &StationCode) -> Result<(), UserMessage> {
    let station = completed(&definition(logbook, code)?);
    let revised = revise_station(logbook, station, "E. Engineer".to_owned());
    revised.map(|_| ()).map_err(failed)
}

/// Does a job at a station on a tablet.
///
/// # Errors
/// Those of [`work`].
pub fn at_station(
    logbook: &mut Logbook,
    clock: &super::folders::DayClock,
    one: &MineStation,
    seed: u64,
    job: &Job,
) -> Result<RecordRef, UserMessage> {
    let station = definition(logbook, &one.station.code)?;
    let mut plant = plant(one, &station, seed);
    work(logbook, clock, &mut plant, job)
}

/// Ben begins a cleaning and is called away; it waits on the tablet for another day.
///
/// # Errors
/// The logbook's.
pub fn begin_cleaning(logbook: &mut Logbook, code: &StationCode) -> Result<(), UserMessage> {
    let by = "Ben";
    let opening = NewProcedure {
        procedure: ProcedureCode::YearlyClean,
        station: code.clone(),
        reason: Some(OpenReason::Due),
        note: String::new(),
        by: by.to_owned(),
    };
    let at = open_procedure(logbook, opening).map_err(failed)?;
    let prepared = NewStep {
        ticks: vec![
            TickCode::ConsumersTold,
            TickCode::PlaceLookedOver,
            TickCode::WorkAgreed,
        ],
        ..NewStep::done(at, StepCode::Prepare, by, [0xd4; 8])
    };
    record_step(logbook, prepared).map_err(failed)?;
    Ok(())
}

/// The office prints a document of each work, and the week's sheet.
///
/// # Errors
/// The logbook's, and that a work does not come out as it must.
pub fn print(
    logbook: &Logbook,
    folders: &Folders,
    works: &[RecordRef],
) -> Result<Vec<WorkSummary>, UserMessage> {
    let mut summaries = Vec::new();
    for &at in works {
        let view = query::procedure(logbook, at).map_err(failed)?;
        let account = account(logbook, &view).map_err(failed)?;
        let account = account.ok_or_else(|| unexpected("a work has no document."))?;
        let written = write(&document(&account)).map_err(|error| report_failed(&error))?;
        let name = file_name(&account);
        folders.write(&folders.reports.join(&name), &written.bytes)?;
        let left = account.as_left.as_ref();
        let outlet = left.and_then(|left| left.entry.outlet);
        summaries.push(WorkSummary {
            station: view.station.to_string(),
            work: account.kind.code(),
            procedure: at.id.to_string(),
            turns: account
                .setting
                .as_ref()
                .map_or(0, |setting| setting.points.len()),
            outlet_bar: outlet.map(|typed| decimal_to_f64(typed.digits)),
            file: format!("reports/{name}"),
            pages: written.pages,
        });
    }
    let snapshot = Snapshot::load(logbook, 0).map_err(failed)?;
    let due = query::due(logbook).map_err(failed)?;
    let sheet = write(&week_sheet(&snapshot, &due)).map_err(|error| report_failed(&error))?;
    let name = week_file_name(snapshot.week.monday);
    folders.write(&folders.reports.join(name), &sheet.bytes)?;
    Ok(summaries)
}
