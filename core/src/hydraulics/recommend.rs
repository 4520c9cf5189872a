//! Which recommendations follow from a check.
//!
//! Each is raised by a comparison with the station's own data or with [`Practice`], and by nothing
//! else; where a figure is lacking, nothing is raised from it.

use super::advice::Recommendation;
use super::check::HydraulicCheck;
use super::duty::{DutyFlow, required};
use super::failure::{Failed, Protection};
use super::figure::{Figure, Stage};
use super::inputs::Inputs;
use super::load::{Cavitation, InletPoint, cavitation, choked};
use super::practice::Practice;
use super::window::RatioWindow;
use crate::units::Pressure;

/// Everything that follows from a check, gravest first.
pub(super) fn recommend(
    inputs: &Inputs,
    check: &HydraulicCheck,
    practice: &Practice,
) -> Vec<Recommendation> {
    let mut found = Vec::new();
    failures(check, &mut found);
    gauges(check, &mut found);
    set_point(check, &mut found);
    for stage in Stage::ALL {
        size(check, practice, stage, &mut found);
        choking(check, stage, &mut found);
        sigma(check, stage, &mut found);
    }
    if let Ok(window) = check.ratio_window
        && let (false, Some(first_up_to)) = (window.can_keep_limits(), window.first_up_to)
    {
        found.push(Recommendation::TwoStagesNotEnough {
            second_from: window.second_from,
            first_up_to,
        });
    }
    found.extend(one_stage_would_do(inputs, check, practice).ok().flatten());
    if !check.lacking.is_empty() {
        found.push(Recommendation::DataLacking {
            lacks: check.lacking.clone(),
        });
    }
    found.sort_by_key(Recommendation::concern);
    found
}

fn failures(check: &HydraulicCheck, found: &mut Vec<Recommendation>) {
    for case in &check.failures {
        let failed = case.failed;
        if let Ok(Protection::None { excess, relief }) = case.protection {
            found.push(Recommendation::DownstreamUnprotected {
                failed,
                outlet: case.outlet,
                excess,
                relief,
            });
        }
        // The first stage carries nothing new when the second is stuck open: same ratio, so its
        // figures are those of normal work and are judged there.
        if let Some(survivor) = &case.survivor
            && survivor.stage == Stage::Second
            && let Ok(cavitation) = &survivor.cavitation
        {
            let is_choked = survivor
                .choked
                .as_ref()
                .ok()
                .map(|choked| choked.is_reached);
            if cavitation.keeps_limit() == Ok(false) || is_choked == Some(true) {
                found.push(Recommendation::SurvivorWouldCavitate {
                    failed,
                    stage: survivor.stage,
                    sigma: cavitation.sigma,
                    limit: cavitation.limit.as_ref().ok().copied(),
                    is_choked,
                });
            }
        }
    }
}

/// One word for each gauge: for the first failure that overranges it, single failures first.
fn gauges(check: &HydraulicCheck, found: &mut Vec<Recommendation>) {
    let mut named = Vec::new();
    for case in &check.failures {
        for &gauge in &case.overranged {
            if !named.contains(&gauge.quantity) {
                named.push(gauge.quantity);
                let failed = case.failed;
                found.push(Recommendation::GaugeOverranged { failed, gauge });
            }
        }
    }
}

fn set_point(check: &HydraulicCheck, found: &mut Vec<Recommendation>) {
    let place = &check.set_point;
    if place.margin() < Pressure::ZERO {
        found.push(Recommendation::SetPointTooNearInterstage {
            set_point: place.set_point,
            needed: place.needed,
            expected: place.interstage_expected,
            least: place.interstage_least,
        });
    }
    if let Ok(spring) = &place.spring
        && !spring.is_inside()
    {
        found.push(Recommendation::SetPointOutsideSpring {
            set_point: place.set_point,
            low: spring.low,
            high: spring.high,
        });
    }
}

fn size(
    check: &HydraulicCheck,
    practice: &Practice,
    stage: Stage,
    found: &mut Vec<Recommendation>,
) {
    let share = |point, flow: DutyFlow| {
        let duty = &check.at(point).stage(stage).duties[flow.index()];
        let required = duty.required_kv.as_ref().ok()?;
        let share = duty.share_of_rated.as_ref().ok()?;
        Some((flow, required.kv, *share))
    };
    // Where the second stage is starved its size is not what is wrong.
    let lowest = InletPoint::ALL
        .into_iter()
        .find(|&point| stage == Stage::First || !check.at(point).is_starved);
    let largest = lowest.and_then(|point| {
        let mut flows = DutyFlow::ALL.into_iter().rev();
        flows.find_map(|flow| share(point, flow))
    });
    if let Some((flow, required_kv, share)) = largest
        && share > practice.greatest_share
    {
        found.push(Recommendation::StageUndersized {
            stage,
            flow,
            required_kv,
            share,
        });
    }
    let mut flows = DutyFlow::ALL.into_iter();
    if let Some((flow, required_kv, share)) = flows.find_map(|flow| share(InletPoint::High, flow))
        && share < practice.least_share
    {
        found.push(Recommendation::StageOversized {
            stage,
            flow,
            required_kv,
            share,
        });
    }
}

fn choking(check: &HydraulicCheck, stage: Stage, found: &mut Vec<Recommendation>) {
    let mut points = InletPoint::ALL.into_iter().rev();
    found.extend(points.find_map(|point| {
        let load = check.at(point).stage(stage);
        let choked = load.choked.as_ref().ok()?;
        choked.is_reached.then_some(Recommendation::StageChoked {
            stage,
            point,
            drop: load.drop,
            choked_drop: choked.drop,
        })
    }));
}

fn sigma(check: &HydraulicCheck, stage: Stage, found: &mut Vec<Recommendation>) {
    let load = check.at(InletPoint::High).stage(stage);
    if let Ok(Cavitation {
        sigma,
        limit: Ok(limit),
        ..
    }) = &load.cavitation
        && *sigma < limit.sigma
    {
        let window = check.ratio_window.as_ref().ok().copied();
        found.push(Recommendation::StageWouldCavitate {
            stage,
            sigma: *sigma,
            limit: *limit,
            window: window.filter(RatioWindow::is_open),
        });
    }
}

/// Whether the second stage alone could do the whole duty; any figure lacking means not known.
fn one_stage_would_do(
    inputs: &Inputs,
    check: &HydraulicCheck,
    practice: &Practice,
) -> Figure<Option<Recommendation>> {
    let stage = Stage::Second;
    let [low, _, high] = inputs.inlets;
    let [min, _, max] = inputs.flows.clone();
    let alone = cavitation(inputs, stage, high, inputs.set_point)?;
    let limit = alone.limit.clone()?;
    let choked = choked(inputs, stage, high, inputs.set_point)?;
    let rated = inputs.valve(stage).rated_kv.clone()?;
    let least = required(inputs, stage, min, high, inputs.set_point)?.kv / rated;
    let share = required(inputs, stage, max, low, inputs.set_point)?.kv / rated;
    let is_protected = !matches!(
        check.failure(Failed::Both).protection.clone()?,
        Protection::None { .. }
    );
    let would_do = alone.sigma >= limit.sigma
        && !choked.is_reached
        && least >= practice.least_share
        && share <= practice.greatest_share
        && is_protected;
    Ok(would_do.then_some(Recommendation::TwoStagesNotNeeded {
        sigma: alone.sigma,
        limit,
        share,
    }))
}
