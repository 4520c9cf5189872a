//! Whole histories through the assessor.

use std::collections::BTreeMap;

use super::*;
use crate::simulate::{Conditions, FaultKind, FleetPlan, SimulatedStation};
use crate::station::Quantity;
use crate::suspects::Cause;
use crate::units::{Typed, Unit};
use crate::verdict::Entry;

fn assess(simulated: &SimulatedStation) -> Vec<Raised> {
    let mut assessor = Assessor::new();
    simulated
        .readings
        .iter()
        .flat_map(|reading| {
            assessor
                .take(&simulated.station, reading.taken_at, &reading.entry, false)
                .raised
        })
        .collect()
}

/// Whether two entries mean the same. A value noted in whole psi is only known to half a psi.
fn is_near(one: &Entry, other: &Entry) -> bool {
    let half_psi = Typed::of(5, -1, Unit::Psi).to_pressure();
    Quantity::ALL
        .into_iter()
        .all(|quantity| match (one.get(quantity), other.get(quantity)) {
            (Some(one), Some(other)) => (one.to_pressure() - other.to_pressure()).abs() <= half_psi,
            (one, other) => one == other,
        })
}

fn fleet(seed: u64) -> FleetPlan {
    FleetPlan {
        healthy: 40,
        each: 0,
        faults: vec![],
        ..FleetPlan::stated(Conditions::reference(), seed)
    }
}

#[test]
fn healthy_stations_raise_little_under_all_rules_together() {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    let plan = fleet(311);
    for simulated in plan.stations() {
        for raised in assess(&simulated).iter().filter(|raised| !raised.is_worse) {
            *counts.entry(raised.rule.code()).or_default() += 1;
        }
    }
    let all: usize = counts.values().sum();
    // 40 stations for three years: at 0.05 a year six are to be expected at most.
    assert!(all <= 6, "{counts:?}");
}

#[test]
fn slips_are_raised_with_the_value_meant_and_do_not_disturb_the_watch() {
    let plan = FleetPlan {
        slip_share: 0.01,
        ..fleet(312)
    };
    let (mut made, mut caught, mut right, mut other) = (0, 0, 0, 0);
    for simulated in plan.stations() {
        let raised = assess(&simulated);
        made += simulated.slips.len();
        for slip in &simulated.slips {
            let at = simulated.readings[slip.index].taken_at;
            if let Some(found) = raised
                .iter()
                .find(|raised| raised.at == at && raised.rule == RaisedRule::Slip)
            {
                caught += 1;
                right += usize::from(
                    found
                        .likely
                        .is_some_and(|likely| is_near(&likely, &slip.meant)),
                );
                assert_eq!(found.suspects.first(), Some(Cause::EntrySlip));
            }
        }
        other += raised
            .iter()
            .filter(|raised| raised.rule != RaisedRule::Slip)
            .count();
    }
    assert!(made > 40);
    assert!(caught * 100 >= made * 98, "{caught} of {made}");
    assert!(right * 100 >= caught * 95, "{right} of {caught}");
    assert!(other <= 12, "{other} flags beside the slips");
}

#[test]
fn an_open_second_stage_is_raised_at_once_and_said_to_be_outside_no_more_than_once() {
    let plan = FleetPlan {
        healthy: 0,
        each: 6,
        faults: vec![FaultKind::SecondStageOpen],
        ..fleet(313)
    };
    for simulated in plan.stations() {
        let onset = simulated.onsets[0];
        let raised = assess(&simulated);
        let after: Vec<_> = raised.iter().filter(|raised| raised.at >= onset).collect();
        assert!(!after.is_empty(), "{}", simulated.station.code);
        assert!((after[0].at - onset).num_days() <= 14);
        assert!(after.len() <= 4, "{after:?}");
    }
}
