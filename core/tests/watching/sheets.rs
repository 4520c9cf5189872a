//! A simulated fleet written as sheets, read back as an old register would be, and assessed.

use chrono::{DateTime, Utc};
use winze_core::assess::{Assessor, Raised, RaisedRule};
use winze_core::sheet::{ReadingSheet, RegisterSheet, SheetOptions};
use winze_core::simulate::{Conditions, FaultKind, FleetPlan, sheets};
use winze_core::station::Station;
use winze_core::suspects::Cause;

fn plan() -> FleetPlan {
    FleetPlan {
        weeks: 80.0,
        healthy: 3,
        each: 3,
        faults: vec![FaultKind::PilotCreepUp, FaultKind::SecondStageOpen],
        onset_weeks: (45.0, 50.0),
        ..FleetPlan::stated(Conditions::irregular(), 90)
    }
}

fn stations(register: &str) -> Vec<Station> {
    let mut sheet =
        RegisterSheet::open(register.as_bytes(), SheetOptions::default()).expect("a register");
    let mut stations = Vec::new();
    while let Some(row) = sheet.next_row().expect("a readable sheet") {
        stations.push(row.expect("a good row").station);
    }
    assert!(sheet.notices().is_empty(), "{:?}", sheet.notices());
    stations
}

#[test]
fn sheets_read_back_as_what_was_simulated_and_raise_the_faults() {
    let simulated = plan().stations();
    let mut register = sheets::REGISTER_HEADING.to_owned();
    let mut readings = sheets::READINGS_HEADING.to_owned();
    for one in &simulated {
        register += &sheets::register_row(one);
        readings += &sheets::reading_rows(one);
    }
    let stations = stations(&register);
    assert_eq!(stations.len(), simulated.len());
    for (read, one) in stations.iter().zip(&simulated) {
        assert_eq!(read.code, one.station.code);
        assert_eq!(
            read.first_stage.ratio_in_use(),
            one.station.first_stage.ratio_in_use()
        );
        assert_eq!(read.inlet_usual.middle(), one.station.inlet_usual.middle());
    }
    let mut sheet =
        ReadingSheet::open(readings.as_bytes(), SheetOptions::default()).expect("readings");
    let mut assessors: Vec<Assessor> = stations.iter().map(|_| Assessor::new()).collect();
    let mut raised: Vec<Vec<Raised>> = vec![Vec::new(); stations.len()];
    let mut rows = 0;
    while let Some(row) = sheet.next_row().expect("a readable sheet") {
        let row = row.expect("a good row");
        let place = stations
            .iter()
            .position(|station| station.code == row.station);
        let place = place.expect("a station of the register");
        let at = DateTime::<Utc>::from_timestamp_millis(row.taken_at.unix_ms()).expect("a time");
        let new = assessors[place].take(&stations[place], at, &row.entry, false);
        raised[place].extend(new.raised);
        rows += 1;
    }
    assert_eq!(
        rows,
        simulated
            .iter()
            .map(|one| one.readings.len())
            .sum::<usize>()
    );
    for (one, raised) in simulated.iter().zip(&raised) {
        let Some(onset) = one.onsets.first() else {
            continue;
        };
        let after: Vec<_> = raised.iter().filter(|raised| raised.at >= *onset).collect();
        let cause = one.faults[0].kind.cause();
        let named = |raised: &&&Raised| raised.suspects.first() == Some(cause);
        assert!(
            after.iter().any(|raised| named(&raised)),
            "{cause}: {after:?}"
        );
        if cause == Cause::SecondStageOpen {
            assert!(after.iter().any(|raised| raised.rule == RaisedRule::Jump));
        }
    }
}
