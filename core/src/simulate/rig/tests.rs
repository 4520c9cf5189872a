//! The rig: sound definitions, valves, air, flow, and a truth that is true.

use super::*;

fn new_rig(seed: u64) -> Rig {
    Rig::draw(&RigConditions::new_station(), seed, 1)
}

fn bar(typed: Option<Typed>) -> f64 {
    typed.map_or(f64::NAN, Typed::value)
}

#[test]
fn the_same_seed_reads_the_same_and_definitions_are_sound() {
    for seed in 0..30 {
        let (mut one, mut two) = (new_rig(seed), new_rig(seed));
        one.put_in_service();
        two.put_in_service();
        assert_eq!(one.read(), two.read());
        assert_eq!(one.station().problems(), vec![]);
    }
}

#[test]
fn closed_valves_show_nothing_and_slow_opening_fills_without_hammer() {
    let mut rig = new_rig(1);
    let entry = rig.read();
    assert!(bar(entry.inlet) < 0.5 && bar(entry.outlet) < 0.5);
    rig.set_valve(IsolatingValve::Upstream, 0.2, 10.0);
    rig.set_valve(IsolatingValve::Upstream, 1.0, 30.0);
    assert_eq!(rig.hammers(), 0);
    let entry = rig.read();
    assert_eq!(entry.flow, FlowState::Still);
    assert!(bar(entry.inlet) > 6.0);
    // Closing fast is not opening fast; opening fast is told.
    rig.set_valve(IsolatingValve::Upstream, 0.0, 1.0);
    assert_eq!(rig.hammers(), 0);
    rig.set_valve(IsolatingValve::Upstream, 1.0, 1.0);
    assert_eq!(rig.hammers(), 1);
}

#[test]
fn without_flow_the_outlet_rises_with_the_screw_and_does_not_fall() {
    let mut rig = Rig::draw(&RigConditions::in_service(), 4, 0);
    rig.set_demand(Demand::None);
    rig.wait(600.0);
    let locked = rig.outlet_bar;
    rig.back_off();
    rig.wait(600.0);
    assert!((rig.outlet_bar - locked).abs() < 1e-9);
    rig.set_demand(Demand::Minimum);
    rig.wait(600.0);
    assert!(rig.outlet_bar < 0.3 * locked);
}

#[test]
fn air_comes_out_until_water_does_and_only_under_pressure() {
    let mut rig = new_rig(2);
    assert_eq!(rig.vent(RigStage::First, 30.0), Vented::Nothing);
    rig.set_valve(IsolatingValve::Upstream, 0.3, 20.0);
    rig.wait(120.0);
    assert_eq!(rig.vent(RigStage::First, 30.0), Vented::Air);
    assert_eq!(rig.vent(RigStage::First, 30.0), Vented::Air);
    assert_eq!(rig.vent(RigStage::First, 10.0), Vented::Water);
    assert!(rig.truth().air[1] > 0.0);
}

#[test]
fn the_true_turns_bring_the_needle_to_the_set_point() {
    for seed in 0..30 {
        let mut conditions = RigConditions::in_service();
        conditions.pilot.hand_turns = 0.0;
        let mut rig = Rig::draw(&conditions, seed, 0);
        rig.turn(rig.truth().turns_to_set_point);
        let off = rig.truth().outlet_needle_bar - rig.set_point_bar;
        assert!(off.abs() < 1e-9, "{off}");
    }
}

#[test]
fn odd_acts_do_not_upset_it() {
    let mut rig = new_rig(9);
    for odd in [f64::NAN, f64::INFINITY, -3.0, 1.0e300] {
        rig.set_valve(IsolatingValve::Downstream, odd, odd);
        rig.turn(odd);
        rig.wait(odd);
        rig.vent(RigStage::Second, odd);
    }
    assert!(rig.outlet_bar.is_finite() && rig.interstage_bar.is_finite());
    assert!(rig.truth().turns_to_set_point.is_finite());
}
