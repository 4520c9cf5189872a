//! Whole simulated stations: repeatable, in time order, sound definitions, typed to the scale.

use super::*;
use crate::station::{Problem, Quantity};
use crate::units::{Typed, Unit};

fn plan(conditions: Conditions) -> FleetPlan {
    FleetPlan {
        weeks: 60.0,
        healthy: 8,
        each: 2,
        ..FleetPlan::stated(conditions, 4)
    }
}

#[test]
fn the_same_seed_gives_the_same_fleet_and_another_seed_another() {
    let fleet = plan(Conditions::reference());
    assert_eq!(fleet.stations(), fleet.stations());
    let other = FleetPlan {
        seed: 5,
        ..fleet.clone()
    };
    assert_ne!(fleet.station(0).readings, other.station(0).readings);
}

#[test]
fn stations_do_not_depend_on_how_many_there_are() {
    let small = plan(Conditions::reference());
    let large = FleetPlan {
        healthy: 30,
        ..small.clone()
    };
    assert_eq!(small.station(3), large.station(3));
}

#[test]
fn simulated_definitions_are_sound() {
    for conditions in [Conditions::reference(), Conditions::fine()] {
        for simulated in plan(conditions).stations() {
            assert_eq!(
                simulated.station.problems(),
                vec![],
                "{}",
                simulated.station.code
            );
        }
    }
    // Gauges of class 2.5 are coarse for the band, and the definition says so; nothing else is wrong.
    for simulated in plan(Conditions::coarse()).stations() {
        let problems = simulated.station.problems();
        let coarse = |problem: &Problem| matches!(problem, Problem::GaugeTooCoarse { .. });
        assert!(problems.iter().all(coarse), "{problems:?}");
    }
}

#[test]
fn readings_come_in_time_order_even_when_visits_are_irregular() {
    for simulated in plan(Conditions::irregular()).stations() {
        assert!(
            simulated
                .readings
                .is_sorted_by_key(|reading| reading.taken_at)
        );
        assert!(simulated.readings.len() > 30);
    }
}

#[test]
fn digits_are_whole_steps_of_the_scale() {
    let simulated = plan(Conditions::reference()).station(0);
    for reading in &simulated.readings {
        for quantity in Quantity::ALL {
            let gauge = simulated.station.gauge(quantity);
            let typed = reading
                .entry
                .get(quantity)
                .expect("nothing is left blank here");
            let steps = typed.value() / (gauge.high.value() / 250.0);
            assert!(
                (steps - steps.round()).abs() < 1e-6,
                "{typed} on {}",
                gauge.high
            );
        }
    }
}

#[test]
fn kilopascal_fleets_show_the_same_pressures_as_bar_fleets() {
    let bar = plan(Conditions::reference());
    let kpa = plan(Conditions {
        unit: Unit::Kilopascal,
        ..Conditions::reference()
    });
    let pressures = |fleet: &FleetPlan| -> Vec<_> {
        let station = fleet.station(1);
        station
            .readings
            .iter()
            .map(|r| r.entry.inlet.map(Typed::to_pressure))
            .collect()
    };
    assert_eq!(pressures(&bar), pressures(&kpa));
    assert_eq!(kpa.station(1).station.unit, Unit::Kilopascal);
}

#[test]
fn slips_are_rare_and_remember_what_was_meant() {
    let fleet = FleetPlan {
        slip_share: 0.05,
        ..plan(Conditions::reference())
    };
    let (mut slips, mut readings) = (0, 0);
    for simulated in fleet.stations() {
        readings += simulated.readings.len();
        slips += simulated.slips.len();
        for slip in &simulated.slips {
            assert_ne!(simulated.readings[slip.index].entry, slip.meant);
        }
    }
    assert!(
        slips > readings / 50 && slips < readings / 10,
        "{slips} of {readings}"
    );
}
