//! A simulated fleet as sheets: register, readings and truth, comma-separated (RFC 4180).
//!
//! The first two are what `winze load` takes; the third says what was really wrong, and when.

use std::fmt::Write as _;

use chrono::{DateTime, SecondsFormat, Utc};

use super::station::SimulatedStation;
use crate::units::Typed;
use crate::verdict::FlowState;

/// The heading of the register.
pub const REGISTER_HEADING: &str = "station,name,level,order,ratio,set_point,inlet_typical,unit,\
gauge_class,inlet_span,interstage_span,outlet_span\r\n";

/// The heading of the readings.
pub const READINGS_HEADING: &str = "station,taken_at,inlet,interstage,outlet,unit,flow\r\n";

/// The heading of the truth: one row for each fault and each slip.
pub const TRUTH_HEADING: &str = "station,kind,cause,began_at,magnitude,inlet,interstage,outlet\r\n";

fn moment(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Secs, true)
}

fn digits(typed: Option<Typed>) -> String {
    typed.map_or_else(String::new, |typed| typed.digits.to_string())
}

/// One row of the register.
#[must_use]
pub fn register_row(simulated: &SimulatedStation) -> String {
    let station = &simulated.station;
    // The typical inlet is the middle of the usual range, to the pascal.
    let typical = station.inlet_usual.middle().to_decimal(station.unit, 3);
    format!(
        "{},{},{},{},{},{},{},{},{},{},{},{}\r\n",
        station.code,
        station.name,
        station.level,
        station.order,
        station.first_stage.ratio,
        station.second_stage.set_point.digits,
        typical,
        station.unit.code(),
        station.inlet.class,
        station.inlet.high.digits,
        station.interstage.high.digits,
        station.outlet.high.digits,
    )
}

/// The rows of a station's readings, oldest first.
#[must_use]
pub fn reading_rows(simulated: &SimulatedStation) -> String {
    let mut rows = String::new();
    for reading in &simulated.readings {
        let entry = &reading.entry;
        let flow = match entry.flow {
            FlowState::NotNoted => "",
            noted => noted.code(),
        };
        // Writing to a text cannot fail.
        let _ = write!(
            rows,
            "{},{},{},{},{},{},{flow}\r\n",
            simulated.station.code,
            moment(reading.taken_at),
            digits(entry.inlet),
            digits(entry.interstage),
            digits(entry.outlet),
            simulated.station.unit.code(),
        );
    }
    rows
}

/// The rows of what was really wrong at a station; none for a healthy one.
///
/// Faults have a magnitude (a share, see [`super::FaultKind`]); slips have the values meant.
#[must_use]
pub fn truth_rows(simulated: &SimulatedStation) -> String {
    let mut rows = String::new();
    let code = &simulated.station.code;
    for (fault, onset) in simulated.faults.iter().zip(&simulated.onsets) {
        let (kind, cause) = (fault.kind.code(), fault.kind.cause().code());
        let _ = write!(
            rows,
            "{code},{kind},{cause},{},{:.5},,,\r\n",
            moment(*onset),
            fault.magnitude
        );
    }
    for slip in &simulated.slips {
        if let Some(reading) = simulated.readings.get(slip.index) {
            let _ = write!(
                rows,
                "{code},{},entry-slip,{},,{},{},{}\r\n",
                slip.kind.code(),
                moment(reading.taken_at),
                digits(slip.meant.inlet),
                digits(slip.meant.interstage),
                digits(slip.meant.outlet),
            );
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulate::{Conditions, FleetPlan};

    #[test]
    fn every_row_has_as_many_cells_as_its_heading() {
        let plan = FleetPlan {
            weeks: 60.0,
            healthy: 2,
            each: 1,
            slip_share: 0.05,
            ..FleetPlan::stated(Conditions::irregular(), 6)
        };
        let mut slips = 0;
        for simulated in plan.stations() {
            for (heading, rows) in [
                (REGISTER_HEADING, register_row(&simulated)),
                (READINGS_HEADING, reading_rows(&simulated)),
                (TRUTH_HEADING, truth_rows(&simulated)),
            ] {
                let cells = heading.split(',').count();
                assert!(
                    rows.lines().all(|row| row.split(',').count() == cells),
                    "{rows}"
                );
            }
            slips += simulated.slips.len();
            let rows = reading_rows(&simulated).lines().count();
            assert_eq!(rows, simulated.readings.len());
        }
        assert!(slips > 0);
    }
}
