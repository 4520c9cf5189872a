//! What must hold of the equations and of the check whatever the numbers.

use proptest::prelude::*;
use winze_core::hydraulics::cavitation::{sigma, sigma_downstream};
use winze_core::hydraulics::fittings::Fittings;
use winze_core::hydraulics::liquid::{
    Absolute, Liquid, choked_outlet_pa, flow_through, required_kv,
};
use winze_core::hydraulics::{Gap, HydraulicCheck, Recommendation, StageLoad, check};
use winze_core::station::{Duty, Station, UsualRange, Valve};
use winze_core::units::{Typed, Unit};
use winze_sync_format::Decimal;

use crate::stations::bare_station;

prop_compose! {
    /// Water, a pressure before a valve above boiling, and a lower one after it.
    fn water_across_a_valve()(
        temperature in 0.0..100.0_f64,
        before in 1.2e5..6.0e6_f64,
        part in 0.02..0.99_f64,
        fl in 0.3..1.0_f64,
    ) -> (Liquid, Absolute, Absolute, f64) {
        let water = Liquid::water(temperature).expect("within range");
        let absolute = |pa| Absolute::from_pa(pa).expect("above zero");
        (water, absolute(before), absolute(before * part), fl)
    }
}

proptest! {
    #[test]
    fn kv_rises_with_flow_and_in_proportion(
        (water, before, after, fl) in water_across_a_valve(),
        flow in 0.01..500.0_f64,
        times in 1.01..50.0_f64,
    ) {
        let kv = |flow| required_kv(&water, before, after, flow, fl).unwrap().kv;
        prop_assert!(kv(flow * times) > kv(flow));
        prop_assert!((kv(flow * times) / kv(flow) / times - 1.0).abs() < 1.0e-12);
    }

    #[test]
    fn kv_never_rises_with_the_drop_and_stays_once_choked(
        (water, before, after, fl) in water_across_a_valve(),
        further in 0.1..0.99_f64,
    ) {
        let lower = Absolute::from_pa(after.pa() * further).unwrap();
        let near = required_kv(&water, before, after, 10.0, fl).unwrap();
        let far = required_kv(&water, before, lower, 10.0, fl).unwrap();
        prop_assert!(far.kv <= near.kv);
        prop_assert!(far.choked || !near.choked);
        if near.choked {
            prop_assert!((far.kv - near.kv).abs() < 1.0e-12 * near.kv);
        }
    }

    #[test]
    fn choking_begins_exactly_at_the_outlet_pressure_named(
        (water, before, _, fl) in water_across_a_valve(),
    ) {
        let at = choked_outlet_pa(&water, before, fl).unwrap();
        prop_assume!(at > 10.0 && before.pa() - at > 10.0);
        let choked = |pa| {
            let after = Absolute::from_pa(pa).unwrap();
            required_kv(&water, before, after, 10.0, fl).unwrap().choked
        };
        prop_assert!(choked(at - 1.0e-3));
        prop_assert!(!choked(at + 1.0e-3));
    }

    #[test]
    fn flow_through_turns_sizing_round(
        (water, before, after, fl) in water_across_a_valve(),
        flow in 0.01..500.0_f64,
    ) {
        let kv = required_kv(&water, before, after, flow, fl).unwrap().kv;
        let again = flow_through(&water, before, after, kv, fl).unwrap();
        prop_assert!((again / flow - 1.0).abs() < 1.0e-12);
    }

    #[test]
    fn the_two_sigmas_differ_by_exactly_one(
        (water, before, after, _) in water_across_a_valve(),
    ) {
        let one = sigma(&water, before, after).unwrap();
        let other = sigma_downstream(&water, before, after).unwrap();
        // Two subtractions and a division: a few units in the last place of sigma.
        prop_assert!((one - other - 1.0).abs() <= 8.0 * f64::EPSILON * one.max(1.0));
    }

    #[test]
    fn reducers_ask_for_a_larger_valve_and_none_for_the_same(
        (water, before, after, fl) in water_across_a_valve(),
        flow in 0.1..20.0_f64,
        wider in 1.0..3.0_f64,
    ) {
        let plain = required_kv(&water, before, after, flow, fl).unwrap();
        let same = Fittings::new(50.0, 50.0, 50.0).unwrap();
        let same = same.required_kv(&water, before, after, flow, fl).unwrap();
        prop_assert!((same.kv / plain.kv - 1.0).abs() < 1.0e-12);
        let pipe = Fittings::new(50.0, 50.0 * wider, 50.0 * wider).unwrap();
        if let Ok(sizing) = pipe.required_kv(&water, before, after, flow, fl) {
            prop_assert!(sizing.kv >= plain.kv * (1.0 - 1.0e-12));
            // It satisfies the standard's equations with its own factors.
            let fp = pipe.geometry_factor(sizing.kv).unwrap();
            let passes = sizing.kv * fp * 0.1
                * (sizing.drop_pa.min(sizing.choked_drop_pa) / 1000.0
                    / water.relative_density()).sqrt();
            prop_assert!((passes / flow - 1.0).abs() < 1.0e-9);
        }
    }

    #[test]
    fn no_station_makes_a_figure_that_is_not_a_number(station in any_station()) {
        if let Ok(found) = check(&station) {
            for figure in figures(&found) {
                prop_assert!(figure.is_finite());
            }
            for case in &found.inlets {
                for load in [&case.first, &case.second] {
                    prop_assert!(load.upstream >= load.downstream);
                    prop_assert!(load.share.as_ref().map_or(0.5, |share| *share) <= 1.0);
                }
            }
            let mut concerns = found.recommendations.iter().map(Recommendation::concern);
            let mut last = concerns.next();
            for concern in concerns {
                prop_assert!(last <= Some(concern));
                last = Some(concern);
            }
        }
    }

    #[test]
    fn a_ratio_suits_exactly_when_it_lies_in_the_window(
        inlet in 4..40_i64,
        limits in (11..30_i64, 11..30_i64),
        ratio in 10_000_i64..80_000,
    ) {
        let mut station = crate::stations::station();
        let inlet = Typed::of(inlet, 0, Unit::Bar);
        station.inlet_usual = UsualRange { low: inlet, high: inlet };
        let tenths = |mantissa| Some(Decimal { mantissa, exponent: -1 });
        station.first_stage.valve.permitted_sigma = tenths(limits.0);
        station.second_stage.valve.permitted_sigma = tenths(limits.1);
        station.first_stage.ratio = Decimal { mantissa: ratio, exponent: -4 };
        let found = check(&station).unwrap();
        let window = found.ratio_window.clone().unwrap();
        let ratio = f64::from(u32::try_from(ratio).unwrap()) / 1.0e4;
        let edges = [Some(window.second_from), window.first_up_to, Some(window.supply_up_to)];
        // Pressures are whole pascals, so a ratio on an edge may fall to either side.
        prop_assume!(edges.iter().flatten().all(|edge| (ratio / edge - 1.0).abs() > 1.0e-4));
        let case = &found.inlets[2];
        let keeps = [&case.first, &case.second].map(|load| match &load.cavitation {
            Ok(cavitation) => cavitation.keeps_limit() == Ok(true),
            Err(gap) => *gap == Gap::NoDrop,
        });
        let first_up_to = window.first_up_to.unwrap_or(f64::INFINITY);
        prop_assert_eq!(keeps[0], ratio < first_up_to);
        prop_assert_eq!(keeps[1], ratio > window.second_from);
        prop_assert_eq!(found.set_point.margin().pa() >= 0, ratio < window.supply_up_to);
    }
}

fn any_decimal() -> impl Strategy<Value = Decimal> {
    prop_oneof![
        3 => (1..5_000_i64, -3..1_i8),
        1 => (any::<i64>(), any::<i8>()),
    ]
    .prop_map(|(mantissa, exponent)| Decimal { mantissa, exponent })
}

fn any_pressure() -> impl Strategy<Value = Typed> {
    (any_decimal(), 0..Unit::ALL.len()).prop_map(|(digits, unit)| Typed {
        digits,
        unit: Unit::ALL[unit],
    })
}

fn maybe_decimal() -> impl Strategy<Value = Option<Decimal>> {
    proptest::option::of(any_decimal())
}

prop_compose! {
    fn any_valve()(
        size_mm in proptest::option::of(any::<u32>()),
        rated_kv in maybe_decimal(),
        fl in maybe_decimal(),
        permitted_sigma in maybe_decimal(),
        xfz in maybe_decimal(),
    ) -> Valve {
        Valve { size_mm, rated_kv, fl, permitted_sigma, xfz }
    }
}

prop_compose! {
    fn any_station()(
        valves in (any_valve(), any_valve()),
        pressures in (any_pressure(), any_pressure(), any_pressure(), any_pressure()),
        spring in proptest::option::of((any_pressure(), any_pressure())),
        limits in (proptest::option::of(any_pressure()), proptest::option::of(any_pressure())),
        ratio in any_decimal(),
        tolerance in any_decimal(),
        heights in (proptest::option::of(any::<i32>()), proptest::option::of(-100..2_000_i32)),
        water in maybe_decimal(),
        flows in (maybe_decimal(), maybe_decimal(), maybe_decimal()),
    ) -> Station {
        let mut station = bare_station();
        station.first_stage.valve = valves.0;
        station.second_stage.valve = valves.1;
        station.inlet_usual = UsualRange { low: pressures.0, high: pressures.1 };
        station.second_stage.set_point = pressures.2;
        station.second_stage.minimum_differential = pressures.3;
        station.second_stage.spring_range = spring;
        station.site.downstream_max = limits.0;
        station.site.relief_set = limits.1;
        station.first_stage.ratio = ratio;
        station.first_stage.ratio_tolerance_percent = tolerance;
        station.site.altitude_m = heights.0;
        station.site.depth_m = heights.1;
        station.site.water_temperature_c = water;
        station.site.duty = Duty { min_m3_h: flows.0, usual_m3_h: flows.1, max_m3_h: flows.2 };
        station
    }
}

/// Every number of a check that is there.
fn figures(found: &HydraulicCheck) -> Vec<f64> {
    let conditions = &found.conditions;
    let mut all = vec![];
    all.extend(conditions.density_kg_m3.clone().ok());
    all.extend(conditions.vapour_pressure_pa.clone().ok());
    all.extend(conditions.air_pressure_pa.clone().ok());
    all.extend(
        found
            .set_point
            .spring
            .clone()
            .ok()
            .map(|spring| spring.share),
    );
    for case in &found.inlets {
        all.extend(load_figures(&case.first));
        all.extend(load_figures(&case.second));
    }
    for survivor in found
        .failures
        .iter()
        .filter_map(|case| case.survivor.as_ref())
    {
        all.extend(survivor.cavitation.clone().ok().map(|c| c.sigma));
    }
    if let Ok(window) = &found.ratio_window {
        all.extend([window.second_from, window.supply_up_to]);
        all.extend(window.first_up_to);
    }
    all
}

fn load_figures(load: &StageLoad) -> Vec<f64> {
    let mut all = vec![];
    all.extend(load.share.clone().ok());
    if let Ok(cavitation) = &load.cavitation {
        all.extend([
            cavitation.sigma,
            cavitation.sigma_downstream,
            cavitation.pressure_ratio,
        ]);
        all.extend(cavitation.limit.clone().ok().map(|limit| limit.sigma));
    }
    for duty in &load.duties {
        all.extend(duty.required_kv.clone().ok().map(|required| required.kv));
        all.extend(duty.share_of_rated.clone().ok());
        all.extend(duty.power_w.clone().ok());
        all.extend(duty.outlet_velocity_m_s.clone().ok());
    }
    all
}
