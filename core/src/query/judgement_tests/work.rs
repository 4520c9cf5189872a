//! New baselines through a logbook: definitions revised, work done.

use super::{WEEK_MS, Weekly, moved};
use crate::actions::{NewReading, record_reading, revise_station};
use crate::assess::BaselineWhy;
use crate::record::Ticks;
use crate::samples::{code, entry, reading, station};
use crate::station::{Quantity, Station};
use crate::store::NewRecord;
use crate::store::tests::working::{job, recalibrate};
use crate::units::{Typed, Unit};
use crate::upkeep::JobWork;
use crate::watch::{Begun, Change, Watched};

#[test]
fn a_revised_set_point_starts_its_own_baseline_only_and_is_no_fault() {
    let mut weekly = Weekly::new();
    weekly.quiet(26);
    let mut definition = station("T-01");
    definition.second_stage.set_point = Typed::of(22, -1, Unit::Bar);
    revise_station(&mut weekly.kept.book, definition, "E. Engineer".into()).unwrap();
    for _ in 0..10 {
        weekly.read(20, Ticks::NONE);
    }
    let judged = weekly.judged();
    assert_eq!(judged.standing, vec![]);
    let starts: Vec<_> = judged
        .baselines
        .iter()
        .map(|start| (start.watched, start.why))
        .collect();
    let changed = BaselineWhy::Watch(Begun::Changed(Change::SetPoint));
    assert_eq!(starts.len(), 4);
    assert_eq!(starts[3], (Watched::Outlet, changed));
    assert_eq!(changed.code(), "set-point-revised");
    let visits = |watched: Watched| {
        let now = &judged.now[watched.index()];
        now.baseline.map_or(0.0, |baseline| baseline.visits)
    };
    assert!(visits(Watched::Outlet) < 11.0 && visits(Watched::Inlet) > 30.0);
}

/// The outlet's last baseline start, and what stands about the outlet.
fn outlet_start(weekly: &Weekly) -> (&'static str, usize) {
    let judged = weekly.judged();
    let of_outlet = |start: &&crate::assess::BaselineStart| start.watched == Watched::Outlet;
    let start = judged.baselines.iter().rfind(of_outlet).unwrap();
    let outlet = |condition: &&crate::assess::Condition| condition.watched == Watched::Outlet;
    (start.why.code(), judged.lasting().filter(outlet).count())
}

#[test]
fn a_screw_that_was_turned_in_a_procedure_starts_the_outlet_anew() {
    let (mut weekly, _) = moved();
    weekly.kept.clock.advance_ms(60_000);
    recalibrate(&code("T-01"), &mut |body, refs| {
        let record = NewRecord::new(body, "A. Operator").replacing(refs);
        weekly.kept.book.confirm_one(record).unwrap()
    });
    assert_eq!(outlet_start(&weekly), ("recalibrated", 0));
    for _ in 0..12 {
        weekly.read(20, Ticks::NONE);
    }
    assert_eq!(outlet_start(&weekly), ("recalibrated", 0));
}

#[test]
fn a_job_on_a_gauge_starts_anew_with_its_as_left_reading() {
    let (mut weekly, _) = moved();
    let as_left = weekly.read(0, Ticks::NONE);
    let work = JobWork::CheckGauge(Quantity::Outlet);
    job(&code("T-01"), work, as_left, &mut |body, refs| {
        let record = NewRecord::new(body, "A. Operator").replacing(refs);
        weekly.kept.book.confirm_one(record).unwrap()
    });
    assert_eq!(outlet_start(&weekly), ("gauge-changed", 0));
    let judged = weekly.judged();
    let baseline = judged.now[2]
        .baseline
        .expect("the as-left reading is its first");
    assert!((baseline.visits - 1.0).abs() < 1e-9);
    assert_eq!(
        judged.baselines.last().unwrap().at,
        judged.visits.last().unwrap().taken_at
    );
}

#[test]
fn a_gauge_that_hangs_elsewhere_starts_anew_and_another_water_temperature_does_not() {
    let revised = |change: fn(&mut Station)| {
        let mut weekly = Weekly::new();
        let mut definition = station("T-01");
        definition.outlet.elevation_mm = 500;
        revise_station(&mut weekly.kept.book, definition.clone(), "E.".into()).unwrap();
        weekly.quiet(12);
        change(&mut definition);
        revise_station(&mut weekly.kept.book, definition, "E.".into()).unwrap();
        weekly.quiet(1);
        weekly.judged().baselines.len()
    };
    assert_eq!(
        revised(|definition| definition.outlet.elevation_mm = 1500),
        4
    );
    assert_eq!(revised(|definition| definition.name = "renamed".into()), 3);
    assert_eq!(
        revised(|definition| {
            definition.site.water_temperature_c = Some(winze_sync_format::Decimal {
                mantissa: 25,
                exponent: 0,
            });
        }),
        3
    );
}

#[test]
fn a_tablet_with_the_old_definition_does_not_start_baselines_again_and_again() {
    let mut weekly = Weekly::new();
    let old = weekly
        .kept
        .book
        .read_station(&code("T-01"))
        .unwrap()
        .unwrap()
        .revision;
    weekly.quiet(12);
    let mut definition = station("T-01");
    definition.second_stage.set_point = Typed::of(22, -1, Unit::Bar);
    revise_station(&mut weekly.kept.book, definition, "E. Engineer".into()).unwrap();
    for week in 0..8 {
        weekly.week += 1;
        weekly.kept.clock.advance_ms(WEEK_MS);
        let new = NewReading {
            revision: (week % 2 == 1).then_some(old),
            ..reading("T-01", entry(100, 40, 22), 5000 + week)
        };
        record_reading(&mut weekly.kept.book, new).unwrap();
    }
    assert_eq!(weekly.judged().baselines.len(), 4);
}
