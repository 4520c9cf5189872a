//! A scripted operator brings simulated stations into service: both branches, wrong order, no flow,
//! overshoot, air left in, and power lost after every record.

use super::script::{Crew, Manner};
use crate::procedures::*;

#[test]
fn a_new_station_is_recalibrated_and_brought_into_service() {
    for seed in 1..=4 {
        let mut crew = Crew::at(seed, Manner::careful(Branch::Recalibrate));
        crew.work();
        crew.bring_into_service();
    }
}

#[test]
fn a_station_whose_factory_set_point_suits_is_kept() {
    let mut kept = 0;
    for seed in 1..=40 {
        let impatient = Manner {
            vents_too_short: true,
            ..Manner::careful(Branch::Keep)
        };
        let mut crew = Crew::at(seed, impatient);
        if crew.off_share().abs() > 0.05 {
            continue;
        }
        crew.work();
        crew.bring_into_service();
        let state = crew.state();
        assert_eq!(state.turns(), []);
        // Air that was left in is on record, and the step stayed open until there was none.
        for step in [StepCode::VentFirst, StepCode::VentSecond] {
            let entries = &state.step(step).unwrap().entries;
            let (last, tries) = entries.split_last().unwrap();
            assert_eq!(last.standing, Standing::Stands);
            assert!(!tries.is_empty());
            let left = Standing::Tried(Attempt::AirLeft);
            assert!(tries.iter().all(|entry| entry.standing == left));
        }
        kept += 1;
        if kept == 2 {
            return;
        }
    }
    panic!("{kept} of the stations came near enough from the factory");
}

#[test]
fn wrong_order_no_flow_air_and_overshoot_end_in_a_sound_station_all_the_same() {
    let clumsy = Manner {
        tries_wrong_order: true,
        forgets_the_flow: true,
        overshoots: true,
        ..Manner::careful(Branch::Recalibrate)
    };
    for seed in 5..=7 {
        let mut crew = Crew::at(seed, clumsy);
        crew.work();
        crew.bring_into_service();
        // Everything that went wrong is on record, and nothing of it is called done.
        let state = crew.state();
        let tried = |step, why| {
            let step = state.step(step).unwrap();
            step.standing()
                .any(|entry| entry.standing == Standing::Tried(why))
        };
        assert!(tried(StepCode::Flow, Attempt::NoFlow));
        assert!(crew.refusals > 10, "{}", crew.refusals);
        assert!(
            crew.back_offs > 0,
            "the overshoot is noticed and undone by the screw"
        );
    }
}

#[test]
fn a_set_point_left_wrong_stops_and_is_set_anew() {
    let careless = Manner {
        stops_short: true,
        ..Manner::careful(Branch::Recalibrate)
    };
    let mut crew = Crew::at(8, careless);
    crew.work();
    assert!(crew.undone > 0, "the figures stopped it");
    crew.bring_into_service();
    let state = crew.state();
    let calibrate = state.step(StepCode::Calibrate).unwrap();
    let undone = |entry: &&StepEntry| matches!(entry.standing, Standing::Undone { .. });
    assert!(calibrate.entries.iter().any(|entry| undone(&entry)));
}

#[test]
fn a_station_in_service_is_recalibrated() {
    for seed in 1..=2 {
        let mut crew = Crew::in_service(seed, Manner::careful(Branch::Recalibrate));
        crew.work();
        let found = crew.state().entry(StepCode::AsFound);
        assert!(found.is_some());
        crew.bring_into_service();
    }
}
