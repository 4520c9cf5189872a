//! What narrows a window, and by how much.
//!
//! The measures here (how close to a limit, how often, how many months) are **common practice, no
//! source**; they only ever bring work forward, within the usual window, and each says itself as a
//! [`Why`] with its figures. What is not known narrows nothing.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::calendar::Interval;
use super::facts::{LOOK_BACK_DAYS, StationFacts};
use super::procedures::Found;
use super::task::Task;
use super::why::{CavitationMargin, InletFall, Why};
use super::work::JobWork;
use crate::hydraulics::{InletPoint, LimitKind, Stage, check};
use crate::procedures::{Dirt, Inside};
use crate::record::{JobEnd, Tick};
use crate::station::Station;
use crate::watch::trend::{mann_kendall, theil_sen};

/// Months taken off where sigma is below the smallest the maker permits: all that can be had.
const BEYOND_PERMITTED_MONTHS: u32 = 24;
/// Months taken off where sigma is below the one at which cavitation is first heard.
const BEYOND_ONSET_MONTHS: u32 = 12;
/// A margin below this share of the limit is a close one.
const CLOSE_MARGIN: f64 = 0.10;
/// Months taken off for a close margin.
const CLOSE_MONTHS: u32 = 12;
/// A margin below this share of the limit is a small one.
const SMALL_MARGIN: f64 = 0.25;
/// Months taken off for a small margin.
const SMALL_MONTHS: u32 = 6;
/// Months taken off for open jobs on a stage.
const STAGE_JOBS_MONTHS: u32 = 12;
/// Findings are counted over a year.
const FINDINGS_DAYS: u32 = 365;
/// Visits with the same finding that are more than chance.
const FINDINGS_LEAST: usize = 3;
/// Months taken off for each thing noticed that often.
const FINDINGS_MONTHS: u32 = 6;
/// Visits with a stage outside its band that are more than a passing thing.
const OUTSIDE_LEAST: usize = 4;
/// Months taken off for a stage that is outside that often.
const OUTSIDE_MONTHS: u32 = 6;
/// Inlet pressure whose loss asks for a clean strainer, per cent of the usual.
const LOSS_PERCENT: f64 = 10.0;
/// Months taken off an inspection where a strainer loses that within a year: dirt goes through.
const FALL_MONTHS: u32 = 6;
/// Days of one block when the fall is fitted: the memory of the main is shorter than that.
const BLOCK_DAYS: i64 = 28;
/// Blocks a fall rests on at least.
const BLOCKS_LEAST: usize = 5;
/// A fall less certain than this is not told.
const CHANCE_MOST: f64 = 0.05;
/// Confidence of the limits of a fall.
const CONFIDENCE: f64 = 0.90;
/// Cleanings are counted over two years.
const CLEANED_MONTHS: u32 = 24;
/// Cleanings in that time that are more than yearly.
const CLEANED_LEAST: usize = 4;
/// Months taken off where the strainer is cleaned that often.
const CLEANED_OFF_MONTHS: u32 = 6;
/// Months by which the next cleaning comes forward where the strainer was found dirty or broken.
const FOUND_DIRTY_CLEAN_MONTHS: u32 = 4;
/// Months taken off an inspection where the strainer was found broken: dirt went through.
const FOUND_BROKEN_MONTHS: u32 = 12;
/// Months taken off for a stage that was left worn.
const LEFT_WORN_MONTHS: u32 = 12;
/// Days in a month and in a year, on average over the calendar's 400 years.
const MONTH_DAYS: f64 = 30.436_875;
const YEAR_DAYS: f64 = 365.2425;

/// Everything that bears on when a task is due, what narrows nothing included.
#[must_use]
pub fn reasons(task: Task, facts: &StationFacts<'_>, today: NaiveDate) -> Vec<Why> {
    match task {
        Task::LookRound => passed_by(facts, today).into_iter().collect(),
        Task::YearlyClean => {
            let fall = inlet_fall(facts, today).map(brought_forward);
            let known_off = fall.map_or(0, |fall| fall.months_off);
            let mut reasons: Vec<Why> = fall.map(Why::InletFalls).into_iter().collect();
            // What was found and how the inlet falls are two signs of one thing: the stronger counts.
            let off = FOUND_DIRTY_CLEAN_MONTHS.saturating_sub(known_off);
            reasons.extend(strainer_found(facts, today, off, off));
            reasons
        }
        Task::InternalInspection => {
            let mut reasons = Vec::new();
            reasons.extend(cavitation(facts.definition));
            reasons.extend(stage_jobs(facts, today));
            reasons.extend(noticed(facts, today));
            reasons.extend(outside(facts, today));
            reasons.extend(inlet_fall(facts, today).and_then(|fall| {
                (fall.percent_per_year >= LOSS_PERCENT).then_some(Why::InletFalls(InletFall {
                    months_off: FALL_MONTHS,
                    ..fall
                }))
            }));
            reasons.extend(strainer_found(
                facts,
                today,
                FALL_MONTHS,
                FOUND_BROKEN_MONTHS,
            ));
            reasons.extend(left_worn(facts, today));
            reasons.extend(cleaned_often(facts, today));
            reasons
        }
        Task::GaugeCheck(_) => Vec::new(),
    }
}

fn passed_by(facts: &StationFacts<'_>, today: NaiveDate) -> Option<Why> {
    let (on, reason) = facts.passed_by.filter(|(on, _)| *on <= today)?;
    let read_on = facts.visits.iter().map(|visit| visit.on).max();
    read_on
        .is_none_or(|read_on| read_on < on)
        .then_some(Why::PassedBy { on, reason })
}

/// The stage that works closest to its maker's limit, over the usual inlet range.
fn cavitation(station: &Station) -> Option<Why> {
    let Ok(check) = check(station) else {
        return Some(Why::CavitationNotKnown);
    };
    let (mut closest, mut is_known): (Option<CavitationMargin>, bool) = (None, true);
    for case in &check.inlets {
        for stage in Stage::ALL {
            let cavitation = case.stage(stage).cavitation.as_ref();
            let Ok((found, limit)) = cavitation
                .map_err(drop)
                .and_then(|found| Ok((found, found.limit.clone().map_err(drop)?)))
            else {
                is_known = false;
                continue;
            };
            let margin = margin_of(stage, case.point, found.sigma, limit.sigma, limit.kind);
            if closest.is_none_or(|other| share(&margin) < share(&other)) {
                closest = Some(margin);
            }
        }
    }
    match closest {
        Some(margin) if margin.sigma < margin.limit => Some(Why::CavitationBeyondLimit(margin)),
        Some(margin) if margin.months_off > 0 => Some(Why::CavitationNearLimit(margin)),
        _ if is_known => None,
        _ => Some(Why::CavitationNotKnown),
    }
}

/// How far above its limit, as a share of the limit.
fn share(margin: &CavitationMargin) -> f64 {
    margin.sigma / margin.limit - 1.0
}

fn margin_of(
    stage: Stage,
    point: InletPoint,
    sigma: f64,
    limit: f64,
    kind: LimitKind,
) -> CavitationMargin {
    let margin = CavitationMargin {
        stage,
        point,
        sigma,
        limit,
        kind,
        months_off: 0,
    };
    let share = share(&margin);
    // Where cavitation is first heard it does no harm yet; that line counts half.
    let months_off = match kind {
        LimitKind::Permitted if share < 0.0 => BEYOND_PERMITTED_MONTHS,
        LimitKind::Onset if share < 0.0 => BEYOND_ONSET_MONTHS,
        LimitKind::Permitted if share < CLOSE_MARGIN => CLOSE_MONTHS,
        LimitKind::Permitted if share < SMALL_MARGIN => SMALL_MONTHS,
        LimitKind::Onset if share < CLOSE_MARGIN => SMALL_MONTHS,
        _ => 0,
    };
    CavitationMargin {
        months_off,
        ..margin
    }
}

fn stage_jobs(facts: &StationFacts<'_>, today: NaiveDate) -> Option<Why> {
    let open = facts.jobs.iter().filter(|job| job.is_open_on(today));
    let jobs = open.filter(|job| job.work.is_on_a_stage()).count();
    (jobs > 0).then_some(Why::StageJobsOpen {
        jobs,
        months_off: STAGE_JOBS_MONTHS,
    })
}

fn noticed(facts: &StationFacts<'_>, today: NaiveDate) -> Vec<Why> {
    let from = Interval::Days(FINDINGS_DAYS).before(today);
    let recent = || {
        facts
            .visits
            .iter()
            .filter(move |v| v.on > from && v.on <= today)
    };
    // Flooding and a blocked way in say nothing about the inside of a valve.
    [Tick::Noise, Tick::Damage, Tick::Leak]
        .into_iter()
        .filter_map(|tick| {
            let visits = recent().filter(|visit| visit.ticks.has(tick)).count();
            (visits >= FINDINGS_LEAST).then_some(Why::NoticedOften {
                tick,
                visits,
                within_days: FINDINGS_DAYS,
                months_off: FINDINGS_MONTHS,
            })
        })
        .collect()
}

fn outside(facts: &StationFacts<'_>, today: NaiveDate) -> Option<Why> {
    let from = Interval::Days(FINDINGS_DAYS).before(today);
    let recent = facts.visits.iter().filter(|v| v.on > from && v.on <= today);
    let visits = recent.filter(|visit| visit.is_stage_outside()).count();
    (visits >= OUTSIDE_LEAST).then_some(Why::OutsideOften {
        visits,
        within_days: FINDINGS_DAYS,
        months_off: OUTSIDE_MONTHS,
    })
}

/// The days on which the strainer was cleaned, in order, each once.
fn cleaned_on(facts: &StationFacts<'_>, today: NaiveDate) -> Vec<NaiveDate> {
    let tasks = facts.dones_of(Task::YearlyClean);
    let mut days: Vec<NaiveDate> = tasks.into_iter().map(|done| done.on).collect();
    for job in facts.jobs {
        let done = |end: &JobEnd| matches!(end, JobEnd::Done { .. });
        if job.work == JobWork::CleanStrainer {
            let closings = job.closings.iter().filter(|closing| done(&closing.end));
            days.extend(closings.map(|closing| closing.closed_on));
        }
    }
    days.retain(|day| *day <= today);
    days.sort_unstable();
    days.dedup();
    days
}

fn cleaned_often(facts: &StationFacts<'_>, today: NaiveDate) -> Option<Why> {
    let from = Interval::Months(CLEANED_MONTHS).before(today);
    let days = cleaned_on(facts, today);
    let times = days.into_iter().filter(|day| *day > from).count();
    (times >= CLEANED_LEAST).then_some(Why::CleanedOften {
        times,
        within_months: CLEANED_MONTHS,
        months_off: CLEANED_OFF_MONTHS,
    })
}

/// In what state the strainer was found at the last cleaning, unless it was clean enough.
fn strainer_found(
    facts: &StationFacts<'_>,
    today: NaiveDate,
    dirty_off: u32,
    broken_off: u32,
) -> Option<Why> {
    let strainers = facts.found.iter().filter(|one| one.on <= today);
    let last = strainers
        .filter_map(|one| match one.found {
            Found::Strainer(dirt) => Some((one.on, one.at, dirt)),
            Found::Inside(..) => None,
        })
        .max_by_key(|(on, at, _)| (*on, *at));
    let (on, _, dirt) = last?;
    let months_off = match dirt {
        Dirt::Clean | Dirt::Light => return None,
        Dirt::Heavy => dirty_off,
        Dirt::Damaged => broken_off,
    };
    Some(Why::StrainerFound {
        on,
        dirt,
        months_off,
    })
}

/// The stages that were left worn when they were last opened.
fn left_worn(facts: &StationFacts<'_>, today: NaiveDate) -> Vec<Why> {
    let last = |stage: Stage| {
        let opened = facts.found.iter().filter(|one| one.on <= today);
        opened
            .filter_map(|one| match one.found {
                Found::Inside(of, inside) if of == stage => Some((one.on, one.at, inside)),
                _ => None,
            })
            .max_by_key(|(on, at, _)| (*on, *at))
    };
    Stage::ALL
        .into_iter()
        .filter_map(|stage| {
            let (on, _, inside) = last(stage)?;
            (inside == Inside::Worn).then_some(Why::StageLeftWorn {
                stage,
                on,
                months_off: LEFT_WORN_MONTHS,
            })
        })
        .collect()
}

/// How fast the inlet pressure falls since the strainer was last cleaned, or over the time looked
/// back on where no cleaning is known; none where it does not fall for certain.
///
/// # Formula
/// Visits are gathered in blocks of 28 days, of which the median stands: the pressure of a main has a
/// memory of weeks that would pass for a trend. Slope by Theil-Sen, certainty by Mann-Kendall at 5 %,
/// both over the blocks.
fn inlet_fall(facts: &StationFacts<'_>, today: NaiveDate) -> Option<InletFall> {
    let usual_pa = facts.definition.inlet_usual.middle().as_f64_pa();
    let cleaned = cleaned_on(facts, today).last().copied();
    let from = cleaned
        .unwrap_or(NaiveDate::MIN)
        .max(Interval::Days(LOOK_BACK_DAYS).before(today));
    let mut blocks: BTreeMap<i64, Vec<f64>> = BTreeMap::new();
    let (mut since, mut visits) = (None, 0);
    for visit in facts.visits {
        let Some(inlet) = visit.inlet.filter(|_| visit.on > from && visit.on <= today) else {
            continue;
        };
        since = Some(since.map_or(visit.on, |first: NaiveDate| first.min(visit.on)));
        visits += 1;
        let block = (visit.on - from).num_days().div_euclid(BLOCK_DAYS);
        let percent = 100.0 * (1.0 - inlet.as_f64_pa() / usual_pa);
        blocks.entry(block).or_default().push(percent);
    }
    if usual_pa <= 0.0 || blocks.len() < BLOCKS_LEAST {
        return None;
    }
    let points: Vec<(f64, f64)> = blocks
        .into_iter()
        .map(|(block, percents)| (days_of(block * BLOCK_DAYS) / YEAR_DAYS, median(percents)))
        .collect();
    let values: Vec<f64> = points.iter().map(|point| point.1).collect();
    let chance = mann_kendall(&values).probability;
    let slope = theil_sen(&points, CONFIDENCE)?;
    let is_certain = chance <= CHANCE_MOST && slope.slope > 0.0 && slope.limits.0 > 0.0;
    is_certain.then_some(InletFall {
        since: since?,
        visits,
        percent_per_year: slope.slope,
        low_percent_per_year: slope.limits.0,
        high_percent_per_year: slope.limits.1,
        chance,
        months_off: 0,
    })
}

/// The same, with the months by which a yearly cleaning comes forward so that no more than a tenth
/// of the inlet pressure is lost by then; a month is left at least.
fn brought_forward(fall: InletFall) -> InletFall {
    let months = LOSS_PERCENT / fall.percent_per_year * YEAR_DAYS / MONTH_DAYS;
    let months_off = (1..12)
        .find(|off| months >= f64::from(12 - off))
        .unwrap_or(11);
    InletFall {
        months_off: if months >= 12.0 { 0 } else { months_off },
        ..fall
    }
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    match (values.get(middle.wrapping_sub(1)), values.get(middle)) {
        (Some(below), Some(above)) if values.len().is_multiple_of(2) => {
            f64::midpoint(*below, *above)
        }
        (_, Some(above)) => *above,
        _ => 0.0,
    }
}

#[allow(clippy::cast_precision_loss, reason = "days of a few years")]
fn days_of(days: i64) -> f64 {
    days as f64
}
