//! What narrows the window of an inspection and brings a cleaning forward.

use winze_sync_format::Decimal;

use super::{Known, at, codes, day, done};
use crate::hydraulics::Stage;
use crate::procedures::{Dirt, Inside};
use crate::record::{JobEnd, Tick};
use crate::station::{Quantity, Valve};
use crate::upkeep::jobs::{Closing, Written};
use crate::upkeep::{
    Found, FoundOn, InUse, Interval, Job, JobCause, JobWork, Status, Task, Why, local_date,
};
use crate::verdict::Verdict;

const TODAY: &str = "2026-10-06";

fn inspected() -> Known {
    let mut known = Known::new();
    known
        .dones
        .push((Task::InternalInspection, done("2022-10-06")));
    known
}

fn tenths(mantissa: i64) -> Decimal {
    Decimal {
        mantissa,
        exponent: -1,
    }
}

/// Both stages with a permitted sigma, water and height known: 10 bar over 4 bar to 2 bar at sea
/// level has sigma 1.83 in the first stage (check value V-5) and 2.5 in the second.
fn with_limit(sigma_tenths: i64) -> Known {
    let mut known = inspected();
    let valve = Valve {
        permitted_sigma: Some(tenths(sigma_tenths)),
        ..Valve::default()
    };
    known.definition.first_stage.valve = valve.clone();
    known.definition.second_stage.valve = valve;
    known.definition.site.water_temperature_c = Some(tenths(200));
    known.definition.site.altitude_m = Some(0);
    let ten_bar = crate::units::Typed::of(100, -1, crate::units::Unit::Bar);
    known.definition.inlet_usual.low = ten_bar;
    known.definition.inlet_usual.high = ten_bar;
    known
}

fn ends(known: &Known) -> (String, String) {
    let window = known.task(Task::InternalInspection, TODAY).window.unwrap();
    assert_eq!(
        window.earliest,
        day("2025-10-06"),
        "never narrowed below three years"
    );
    (window.due.to_string(), window.latest.to_string())
}

fn span(due: &str, latest: &str) -> (String, String) {
    (due.to_owned(), latest.to_owned())
}

#[test]
fn a_wide_cavitation_margin_narrows_nothing() {
    let known = with_limit(14);
    let due = known.task(Task::InternalInspection, TODAY);
    assert_eq!(codes(&due), ["counted-from", "usual-interval"]);
    assert_eq!(ends(&known), span("2026-10-06", "2027-10-06"));
}

#[test]
fn a_small_margin_a_close_one_and_none_narrow_more_and_more() {
    for (limit, code, months_off, due, latest) in [
        (16, "cavitation-near-limit", 6, "2026-07-06", "2027-04-06"),
        (18, "cavitation-near-limit", 12, "2026-04-06", "2026-10-06"),
        (
            20,
            "cavitation-beyond-limit",
            24,
            "2025-10-06",
            "2025-10-06",
        ),
    ] {
        let known = with_limit(limit);
        let found = known.task(Task::InternalInspection, TODAY);
        let why = found.why.last().unwrap();
        assert_eq!(
            (why.code(), why.months_off()),
            (code, months_off),
            "{limit}"
        );
        let (Why::CavitationNearLimit(margin) | Why::CavitationBeyondLimit(margin)) = why else {
            panic!("{why:?}")
        };
        assert!((margin.sigma - 1.83).abs() < 0.01, "{}", margin.sigma);
        assert_eq!(ends(&known), span(due, latest), "{limit}");
    }
}

#[test]
fn a_missing_limit_is_said_and_narrows_nothing() {
    let mut known = with_limit(14);
    known.definition.second_stage.valve = Valve::default();
    let due = known.task(Task::InternalInspection, TODAY);
    assert_eq!(due.why.last(), Some(&Why::CavitationNotKnown));
    assert_eq!(ends(&known), span("2026-10-06", "2027-10-06"));
}

#[test]
fn findings_count_when_they_come_again_and_again_within_a_year() {
    let mut known = inspected();
    for week in 0..3_u32 {
        let on = Interval::Days(7 * week).before(day(TODAY));
        let visit = known.visit(on, 100);
        visit.ticks = visit.ticks.with(Tick::Noise).with(Tick::Flooding);
    }
    let due = known.task(Task::InternalInspection, TODAY);
    let noticed = Why::NoticedOften {
        tick: Tick::Noise,
        visits: 3,
        within_days: 365,
        months_off: 6,
    };
    assert_eq!(due.why.last(), Some(&noticed));
    assert_eq!(ends(&known), span("2026-07-06", "2027-04-06"));
    // A year and a day later they are forgotten.
    let later = known.task(Task::InternalInspection, "2027-10-06");
    assert!(!codes(&later).contains(&"noticed-often"));
}

#[test]
fn a_stage_outside_again_and_again_counts_and_the_inlet_does_not() {
    let mut known = inspected();
    for week in 0..6_u32 {
        let on = Interval::Days(7 * week).before(day(TODAY));
        known.visit(on, 100).verdicts[Quantity::Inlet.index()] = Some(Verdict::Outside);
    }
    assert_eq!(ends(&known), span("2026-10-06", "2027-10-06"));
    for visit in &mut known.visits[..4] {
        visit.verdicts[Quantity::Outlet.index()] = Some(Verdict::Outside);
    }
    assert_eq!(ends(&known), span("2026-07-06", "2027-04-06"));
}

fn job(work: JobWork, raised_ms: i64, closed_ms: Option<i64>) -> Job {
    let written = |wall_ms| Written {
        wall_ms,
        at: at(50),
        by: "Ada".to_owned(),
    };
    Job {
        raised: written(raised_ms),
        raised_on: local_date(raised_ms, 0),
        station: crate::samples::code("T-07"),
        work,
        cause: JobCause::Person,
        evidence: Vec::new(),
        note: String::new(),
        closings: closed_ms
            .map(|wall_ms| Closing {
                written: written(wall_ms),
                closed_on: local_date(wall_ms, 0),
                end: JobEnd::Done { as_left: at(9) },
                parts: Vec::new(),
                note: String::new(),
            })
            .into_iter()
            .collect(),
    }
}

fn noon(text: &str) -> i64 {
    day(text)
        .and_hms_opt(12, 0, 0)
        .unwrap()
        .and_utc()
        .timestamp_millis()
}

#[test]
fn open_jobs_on_a_stage_count_until_they_are_closed() {
    let mut known = inspected();
    known
        .jobs
        .push(job(JobWork::StopLeak, noon("2026-09-01"), None));
    assert_eq!(ends(&known), span("2026-10-06", "2027-10-06"));
    known
        .jobs
        .push(job(JobWork::OverhaulFirstStage, noon("2026-09-01"), None));
    assert_eq!(ends(&known), span("2026-04-06", "2026-10-06"));
    known.jobs[1] = job(
        JobWork::OverhaulFirstStage,
        noon("2026-09-01"),
        Some(noon(TODAY)),
    );
    assert_eq!(ends(&known), span("2026-10-06", "2027-10-06"));
}

#[test]
fn a_gauge_job_that_was_done_is_a_check_of_that_gauge() {
    let mut known = Known::new();
    let work = JobWork::CheckGauge(Quantity::Inlet);
    known
        .jobs
        .push(job(work, noon("2025-01-01"), Some(noon("2025-03-01"))));
    let due = known.task(Task::GaugeCheck(Quantity::Inlet), "2026-03-01");
    assert_eq!((due.status, due.times_done), (Status::Due, 1));
}

/// A year of weekly visits whose inlet loses so many hundredths of a per cent a week.
fn falling(hundredths_a_week: i64) -> Known {
    let mut known = inspected();
    known.dones.push((Task::YearlyClean, done("2025-11-04")));
    for week in 0..48_i64 {
        let on = Interval::Days(u32::try_from(7 * week).unwrap()).after(day("2025-11-05"));
        // Dial steps of 0.1 bar and a main that wanders by 0.2 bar over some weeks.
        let wander = [0, 1, 2, 1, 0, -1, -2, -1][usize::try_from(week).unwrap() % 8];
        let lost = week * hundredths_a_week / 100;
        known.visit(on, 100 - lost + wander);
    }
    known
}

#[test]
fn a_strainer_that_fills_fast_is_cleaned_before_its_year_is_over() {
    // 0.3 % a week is 15.6 % in a year: a tenth is gone after 7.7 months.
    let known = falling(30);
    let due = known.task(Task::YearlyClean, TODAY);
    let Some(Why::InletFalls(fall)) = due.why.last() else {
        panic!("{:?}", due.why)
    };
    assert!((13.0..18.0).contains(&fall.percent_per_year), "{fall:?}");
    assert!(
        fall.low_percent_per_year <= fall.percent_per_year,
        "{fall:?}"
    );
    assert_eq!((fall.months_off, fall.visits), (5, 48));
    assert_eq!(due.window.unwrap().due, day("2026-06-04"));
    assert_eq!(due.status, Status::Overdue);
    let inspection = known.task(Task::InternalInspection, TODAY);
    assert!(codes(&inspection).contains(&"inlet-falls"));
}

#[test]
fn a_main_that_wanders_or_loses_little_brings_nothing_forward() {
    let steady = falling(0);
    assert!(!codes(&steady.task(Task::YearlyClean, TODAY)).contains(&"inlet-falls"));
    // 0.1 % a week is 5 % in a year: told, and too slow to matter.
    let slow = falling(10);
    let due = slow.task(Task::YearlyClean, TODAY);
    assert_eq!(
        due.why.last().map(Why::months_off),
        Some(0),
        "{:?}",
        due.why
    );
    assert_eq!(due.window.unwrap().due, day("2026-11-04"));
    assert!(!codes(&slow.task(Task::InternalInspection, TODAY)).contains(&"inlet-falls"));
}

#[test]
fn a_cleaning_or_a_strainer_job_starts_the_fall_anew() {
    let mut known = falling(30);
    known.jobs.push(job(
        JobWork::CleanStrainer,
        noon("2026-06-01"),
        Some(noon("2026-07-01")),
    ));
    let due = known.task(Task::YearlyClean, TODAY);
    // 14 weeks are too few to say anything.
    assert!(!codes(&due).contains(&"inlet-falls"));
    assert_eq!(
        due.window.unwrap().due,
        day("2026-11-04"),
        "the loop's filter is still to do"
    );
}

#[test]
fn a_strainer_cleaned_again_and_again_narrows_the_inspection() {
    let mut known = inspected();
    for on in ["2025-01-10", "2025-06-10", "2025-12-10", "2026-06-10"] {
        known.dones.push((Task::YearlyClean, done(on)));
    }
    let due = known.task(Task::InternalInspection, TODAY);
    assert_eq!(
        due.why.last(),
        Some(&Why::CleanedOften {
            times: 4,
            within_months: 24,
            months_off: 6,
        })
    );
}

#[test]
fn no_usual_inlet_pressure_and_no_readings_narrow_nothing() {
    let mut known = falling(30);
    let nought = crate::units::Typed::of(0, 0, crate::units::Unit::Bar);
    known.definition.inlet_usual.low = nought;
    known.definition.inlet_usual.high = nought;
    known.in_use = InUse::default();
    let due = known.task(Task::YearlyClean, TODAY);
    assert!(!codes(&due).contains(&"inlet-falls"));
}

fn found(on: &str, found: Found) -> FoundOn {
    FoundOn {
        on: day(on),
        at: at(70),
        found,
    }
}

#[test]
fn how_the_strainer_was_found_counts_for_the_next_cleaning_and_inspection() {
    let mut known = inspected();
    known.dones.push((Task::YearlyClean, done("2026-01-06")));
    known
        .found
        .push(found("2026-01-06", Found::Strainer(Dirt::Heavy)));
    let due = known.task(Task::YearlyClean, TODAY);
    assert_eq!(due.why.last().map(Why::months_off), Some(4));
    assert_eq!(due.window.unwrap().due, day("2026-09-06"));
    assert_eq!(ends(&known), span("2026-07-06", "2027-04-06"));
    // A later cleaning that found it clean puts an end to it; a broken one is worse.
    known
        .found
        .push(found("2026-06-06", Found::Strainer(Dirt::Clean)));
    assert_eq!(ends(&known), span("2026-10-06", "2027-10-06"));
    known
        .found
        .push(found("2026-07-06", Found::Strainer(Dirt::Damaged)));
    assert_eq!(ends(&known), span("2026-04-06", "2026-10-06"));
}

#[test]
fn two_signs_of_one_strainer_count_once() {
    let mut known = falling(30);
    known
        .found
        .push(found("2025-11-04", Found::Strainer(Dirt::Heavy)));
    let due = known.task(Task::YearlyClean, TODAY);
    assert_eq!(codes(&due)[2..], ["inlet-falls", "strainer-found"]);
    assert_eq!(
        due.window.unwrap().due,
        day("2026-06-04"),
        "five months, not nine"
    );
}

#[test]
fn a_stage_left_worn_is_looked_at_sooner_until_it_is_renewed() {
    let mut known = inspected();
    let inside = |stage, inside| Found::Inside(stage, inside);
    known
        .found
        .push(found("2022-10-06", inside(Stage::First, Inside::Worn)));
    known
        .found
        .push(found("2022-10-06", inside(Stage::Second, Inside::Sound)));
    assert_eq!(ends(&known), span("2026-04-06", "2026-10-06"));
    known
        .found
        .push(found("2024-10-06", inside(Stage::First, Inside::Renewed)));
    assert_eq!(ends(&known), span("2026-10-06", "2027-10-06"));
}
