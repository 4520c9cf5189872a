//! The hydraulic check of whole stations, against figures worked by hand.
//!
//! The equations themselves are held against published figures in `tests/check_values`.

mod failures;
mod properties;
mod recommendations;
mod stations;

use winze_core::hydraulics::{
    AirBasis, Choking, Datum, DutyFlow, Gap, InletPoint, Lack, LimitKind, Stage, check,
};
use winze_core::units::{Pressure, Typed, Unit};

use stations::{bar, bare_station, decimal, station};

/// Fails unless `found` lies within `tolerance` of `wanted`.
#[track_caller]
fn near(found: f64, wanted: f64, tolerance: f64) {
    assert!(
        (found - wanted).abs() <= tolerance,
        "found {found}, wanted {wanted} within {tolerance}"
    );
}

#[test]
fn ten_to_four_to_two_bar_at_ten_cubic_metres_an_hour() {
    // Check values V-1 (Kv) and V-6 (sigma), own cases: water at 20 degC at sea level. The water
    // properties used here differ from the rounded ones there by 2e-5.
    let found = check(&station()).unwrap();
    let case = found.at(InletPoint::Usual);
    assert_eq!(
        (case.inlet, case.interstage, case.outlet),
        (bar(10.0), bar(4.0), bar(2.0))
    );
    assert!(!case.is_starved);
    let wanted = [
        (
            Stage::First,
            6.0,
            0.75,
            1.831_643_3,
            4.080_636_998,
            8.902_599,
        ),
        (
            Stage::Second,
            2.0,
            0.25,
            2.494_930_0,
            7.067_870_608,
            4.042_599,
        ),
    ];
    for (stage, drop, share, sigma, kv, choked) in wanted {
        let load = case.stage(stage);
        assert_eq!(load.drop, bar(drop));
        near(*load.share.as_ref().unwrap(), share, 1.0e-12);
        let cavitation = load.cavitation.as_ref().unwrap();
        near(cavitation.sigma, sigma, 1.0e-5);
        near(cavitation.sigma_downstream, sigma - 1.0, 1.0e-5);
        near(cavitation.pressure_ratio, 1.0 / sigma, 1.0e-5);
        let choked_drop = load.choked.as_ref().unwrap();
        assert!(!choked_drop.is_reached);
        near(choked_drop.drop.in_unit(Unit::Bar), choked, 1.0e-4);
        let duty = &load.duties[DutyFlow::Usual.index()];
        let required = duty.required_kv.as_ref().unwrap();
        assert_eq!(required.choking, Choking::No);
        near(required.kv, kv, kv * 1.0e-5);
        // Rated Kv 20 in both stages.
        near(*duty.share_of_rated.as_ref().unwrap(), kv / 20.0, 1.0e-5);
        // 10 m3/h across 1 bar is 277.78 W.
        near(*duty.power_w.as_ref().unwrap(), drop * 277.777_778, 1.0e-3);
        // 10 m3/h through a bore of 50 mm.
        near(
            *duty.outlet_velocity_m_s.as_ref().unwrap(),
            1.414_71,
            1.0e-5,
        );
    }
}

#[test]
fn conditions_name_what_the_air_pressure_rests_on() {
    let mut station = station();
    station.site.altitude_m = None;
    station.site.depth_m = Some(1000);
    let found = check(&station).unwrap();
    assert_eq!(
        found.conditions.air_basis,
        Some(AirBasis::DepthBelowSeaLevel)
    );
    // Check value W-3, geometric metres.
    near(
        *found.conditions.air_pressure_pa.as_ref().unwrap(),
        113_931.17,
        0.5,
    );
    // Check value V-6 at 1000 m depth, there with 113 929 Pa.
    let cavitation = found
        .at(InletPoint::Usual)
        .first
        .cavitation
        .clone()
        .unwrap();
    near(cavitation.sigma, 1.852_650_0, 1.0e-5);
}

#[test]
fn a_maker_that_states_only_the_onset_is_held_to_the_onset() {
    let mut station = station();
    station.first_stage.valve.permitted_sigma = None;
    station.first_stage.valve.xfz = Some(decimal("0.35"));
    let found = check(&station).unwrap();
    let cavitation = found
        .at(InletPoint::Usual)
        .first
        .cavitation
        .clone()
        .unwrap();
    let limit = cavitation.limit.clone().unwrap();
    assert_eq!(limit.kind, LimitKind::Onset);
    // 1 / (0.35 (600000 / 1101325)^0.125)
    near(limit.sigma, 3.082_48, 1.0e-4);
    assert_eq!(cavitation.keeps_limit(), Ok(false));
}

#[test]
fn the_set_point_is_held_against_the_lowest_interstage_pressure_and_the_spring() {
    let found = check(&station()).unwrap();
    let place = &found.set_point;
    assert_eq!(place.needed, bar(2.3));
    // 9 bar over 2.5, and 10 % less.
    assert_eq!(place.interstage_expected, bar(3.6));
    assert_eq!(place.interstage_least, bar(3.24));
    assert_eq!(place.margin(), bar(0.94));
    // 2 bar in a spring from 1 to 5 bar.
    let spring = place.spring.as_ref().unwrap();
    near(spring.share, 0.25, 1.0e-12);
    assert!(spring.is_inside());
}

#[test]
fn a_starved_station_says_so_and_is_sized_for_the_set_point() {
    let mut station = station();
    station.second_stage.set_point = Typed::of(35, -1, Unit::Bar);
    let found = check(&station).unwrap();
    // 9 bar over 2.5 is 3.6 bar, 3.8 are needed.
    let low = found.at(InletPoint::Low);
    assert!(low.is_starved);
    assert_eq!(low.second.drop, bar(0.1));
    assert!(!found.at(InletPoint::Usual).is_starved);
}

#[test]
fn a_set_point_above_the_interstage_pressure_leaves_no_drop_to_size_for() {
    let mut station = station();
    station.second_stage.set_point = Typed::of(5, 0, Unit::Bar);
    let found = check(&station).unwrap();
    let second = &found.at(InletPoint::Usual).second;
    assert_eq!(second.drop, Pressure::ZERO);
    assert_eq!(second.cavitation, Err(Gap::NoDrop));
    assert_eq!(second.duties[0].required_kv, Err(Gap::NoDrop));
}

#[test]
fn a_short_register_row_gets_what_it_can_and_a_list_of_what_is_missing() {
    let found = check(&bare_station()).unwrap();
    let case = found.at(InletPoint::Usual);
    near(*case.first.share.as_ref().unwrap(), 0.75, 1.0e-12);
    let missing = |data: &[Datum]| {
        let lacks = data.iter().map(|&datum| Lack::Missing(datum)).collect();
        Gap::Lacking(lacks)
    };
    let water_and_air = [Datum::WaterTemperature, Datum::Height];
    assert_eq!(case.first.cavitation, Err(missing(&water_and_air)));
    let duty = &case.second.duties[DutyFlow::Max.index()];
    assert_eq!(
        duty.share_of_rated,
        Err(missing(&[
            Datum::WaterTemperature,
            Datum::DutyMax,
            Datum::RatedKv(Stage::Second)
        ]))
    );
    assert_eq!(duty.power_w, Err(missing(&[Datum::DutyMax])));
    assert_eq!(found.lacking.len(), 15);
    assert!(found.lacking.iter().all(|lack| !lack.is_unusable()));
}

#[test]
fn without_a_recovery_factor_the_kv_is_the_least_it_can_be() {
    let mut station = station();
    station.first_stage.valve.fl = None;
    let found = check(&station).unwrap();
    let first = &found.at(InletPoint::Usual).first;
    let required = first.duties[DutyFlow::Usual.index()].required_kv.clone();
    let required = required.unwrap();
    assert_eq!(required.choking, Choking::Unknown);
    near(required.kv, 4.080_637, 1.0e-4);
    assert_eq!(
        first.choked,
        Err(Gap::Lacking(vec![Lack::Missing(Datum::RecoveryFactor(
            Stage::First
        ))]))
    );
}

#[test]
fn nonsense_is_named_as_unusable_and_nothing_is_assumed_for_it() {
    let mut station = station();
    station.site.water_temperature_c = Some(decimal("200"));
    station.site.duty.max_m3_h = Some(decimal("-1"));
    station.second_stage.valve.fl = Some(decimal("1.5"));
    station.second_stage.valve.rated_kv = Some(decimal("0"));
    let found = check(&station).unwrap();
    assert_eq!(
        found.lacking,
        [
            Lack::Unusable(Datum::WaterTemperature),
            Lack::Unusable(Datum::DutyMax),
            Lack::Unusable(Datum::RatedKv(Stage::Second)),
            Lack::Unusable(Datum::RecoveryFactor(Stage::Second)),
        ]
    );
    assert!(found.conditions.density_kg_m3.is_err());
}

#[test]
fn a_definition_without_sense_has_nothing_to_check() {
    let mut station = station();
    station.first_stage.ratio = decimal("0");
    station.first_stage.as_left_ratio = None;
    station.second_stage.set_point = Typed::of(-1, 0, Unit::Bar);
    assert_eq!(
        check(&station).unwrap_err().lacks(),
        [
            Lack::Unusable(Datum::Ratio),
            Lack::Unusable(Datum::SetPoint)
        ]
    );
}
