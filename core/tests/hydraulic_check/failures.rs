//! Stages stuck open: pressures, protection, the surviving stage, gauges.

use winze_core::hydraulics::{Failed, Gap, Protection, Stage, check};
use winze_core::station::Quantity;
use winze_core::units::{Typed, Unit};

use crate::near;
use crate::stations::{bar, station};

#[test]
fn first_stage_open_leaves_the_whole_drop_to_the_second() {
    let found = check(&station()).unwrap();
    let case = found.failure(Failed::First);
    assert_eq!(
        (case.inlet, case.interstage, case.outlet),
        (bar(11.0), bar(11.0), bar(2.0))
    );
    assert_eq!(
        case.protection,
        Ok(Protection::WithinPermitted { margin: bar(3.0) })
    );
    let survivor = case.survivor.as_ref().unwrap();
    assert_eq!(survivor.stage, Stage::Second);
    assert_eq!(
        (survivor.upstream, survivor.downstream),
        (bar(11.0), bar(2.0))
    );
    // (1201325 - 2339.2) / 900000
    let cavitation = survivor.cavitation.as_ref().unwrap();
    near(cavitation.sigma, 1.332_207, 1.0e-5);
    assert_eq!(cavitation.keeps_limit(), Ok(false));
}

#[test]
fn second_stage_open_lets_the_interstage_pressure_through() {
    let found = check(&station()).unwrap();
    let case = found.failure(Failed::Second);
    assert_eq!((case.interstage, case.outlet), (bar(4.4), bar(4.4)));
    assert_eq!(
        case.protection,
        Ok(Protection::WithinPermitted { margin: bar(0.6) })
    );
    let survivor = case.survivor.as_ref().unwrap();
    assert_eq!(survivor.stage, Stage::First);
    // (1201325 - 2339) / 660000, as in normal work.
    near(
        survivor.cavitation.as_ref().unwrap().sigma,
        1.816_646,
        1.0e-5,
    );
}

#[test]
fn both_open_put_the_inlet_pressure_on_the_relief_valve() {
    let found = check(&station()).unwrap();
    let case = found.failure(Failed::Both);
    assert_eq!((case.interstage, case.outlet), (bar(11.0), bar(11.0)));
    assert_eq!(case.survivor, None);
    assert_eq!(
        case.protection,
        Ok(Protection::ReliefOpens { relief: bar(3.0) })
    );
}

#[test]
fn a_relief_valve_set_above_what_is_permitted_protects_nothing() {
    let mut station = station();
    station.site.relief_set = Some(Typed::of(6, 0, Unit::Bar));
    let found = check(&station).unwrap();
    assert_eq!(
        found.failure(Failed::Both).protection,
        Ok(Protection::None {
            excess: bar(6.0),
            relief: Some(bar(6.0))
        })
    );
}

#[test]
fn without_a_relief_valve_the_excess_stands() {
    let mut station = station();
    station.site.relief_set = None;
    let found = check(&station).unwrap();
    assert_eq!(
        found.failure(Failed::Both).protection,
        Ok(Protection::None {
            excess: bar(6.0),
            relief: None
        })
    );
}

#[test]
fn a_permitted_pressure_not_known_is_not_assumed() {
    let mut station = station();
    station.site.downstream_max = None;
    let found = check(&station).unwrap();
    for case in &found.failures {
        assert!(matches!(case.protection, Err(Gap::Lacking(_))));
    }
}

#[test]
fn gauges_that_would_be_driven_past_their_scale_are_named() {
    let mut station = station();
    station.interstage.high = Typed::of(10, 0, Unit::Bar);
    station.outlet.high = Typed::of(4, 0, Unit::Bar);
    let found = check(&station).unwrap();
    let names = |failed| -> Vec<Quantity> {
        let gauges = &found.failure(failed).overranged;
        gauges.iter().map(|gauge| gauge.quantity).collect()
    };
    assert_eq!(names(Failed::First), [Quantity::Interstage]);
    assert_eq!(names(Failed::Second), [Quantity::Outlet]);
    assert_eq!(
        names(Failed::Both),
        [Quantity::Interstage, Quantity::Outlet]
    );
}
