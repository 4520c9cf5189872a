//! The check on one page of a certificate: the same figures, the duties of both stages in one table.

use winze_core::hydraulics::{DutyFlow, HydraulicCheck, InletPoint, Stage, StageDuty};
use winze_core::station::Station;

use super::tables::{cell, conditions, failures, kv, loads, power, set_point};
use super::{Row, Sheet, Subject, Table, with_tables};
use crate::messages::hydraulics::stage_in_words;
use crate::messages::number::{percent, significant};

/// Lays the check of a station out on one page.
#[must_use]
pub fn summary(station: &Station, check: &HydraulicCheck) -> Sheet {
    let unit = station.unit;
    let tables = vec![
        failures(check, unit),
        loads(check, unit),
        duty(check),
        set_point(check, unit),
        conditions(check),
    ];
    with_tables(station, check, tables)
}

/// Each stage where it needs most of its Kv: at the lowest inlet pressure.
fn duty(check: &HydraulicCheck) -> Table {
    let of = |stage, point| -> &[StageDuty; 3] { &check.at(point).stage(stage).duties };
    let flows = of(Stage::First, InletPoint::Low);
    let mut rows = vec![row("flow", flows, &|duty| {
        cell(&duty.flow_m3_h, |flow| {
            format!("{} m³/h", significant(*flow, 3))
        })
    })];
    for stage in Stage::ALL {
        let name = |what: &str| format!("{}: {what}", stage_in_words(stage));
        let low = of(stage, InletPoint::Low);
        rows.push(row(&name("Kv needed"), low, &|duty| {
            cell(&duty.required_kv, kv)
        }));
        rows.push(row(&name("share of rated Kv"), low, &|duty| {
            cell(&duty.share_of_rated, |share| percent(*share))
        }));
        let usual = of(stage, InletPoint::Usual);
        rows.push(row(&name("power, middle inlet"), usual, &|duty| {
            cell(&duty.power_w, |watts| power(*watts))
        }));
    }
    let head = |flow| match flow {
        DutyFlow::Min => "smallest",
        DutyFlow::Usual => "usual",
        DutyFlow::Max => "largest",
    };
    Table {
        subject: Subject::BothStages,
        title: "Duty at the lowest inlet".into(),
        columns: DutyFlow::ALL.map(|flow| head(flow).into()).into(),
        rows,
        note: String::new(),
    }
}

fn row(name: &str, duties: &[StageDuty; 3], show: &dyn Fn(&StageDuty) -> String) -> Row {
    Row::new(name, duties.iter().map(show))
}
