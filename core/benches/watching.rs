//! What assessing costs: per reading, for a whole fleet, and how it grows with weeks.
//!
//! `cargo bench -p winze-core --bench watching`; the large case of 10,000 stations by 520 weeks:
//! `cargo bench -p winze-core --bench watching -- --ignored`.
//! The baseline is a plain CUSUM over the same quantities.

#![allow(missing_docs, reason = "a bench has no public items")]
#![allow(
    clippy::print_stdout,
    clippy::disallowed_macros,
    clippy::cast_precision_loss,
    reason = "a bench prints figures"
)]

use divan::{Bencher, black_box, counter::ItemsCount};
use winze_core::assess::{Assessor, Chronicle, Event, Visited};
use winze_core::record::Ticks;
use winze_core::simulate::{Conditions, FleetPlan, SimulatedStation};
use winze_core::watch::{Cusum, Setting, Visit, Watch, Weights};
use winze_sync_format::{LogId, RecordId, RecordRef};

fn main() {
    let (setting, visits) = history(520.0);
    let mut watch = Watch::new();
    for (week, visit) in visits.iter().enumerate() {
        watch.take(&Weights::default(), &setting, visit);
        if [25, 103, 519].contains(&week) {
            println!(
                "state after {} weeks: {} bytes",
                week + 1,
                watch.to_bytes().len()
            );
        }
    }
    divan::main();
}

fn station(weeks: f64) -> SimulatedStation {
    let plan = FleetPlan {
        weeks,
        ..FleetPlan::stated(Conditions::reference(), 77)
    };
    plan.station(0)
}

fn history(weeks: f64) -> (Setting, Vec<Visit>) {
    let simulated = station(weeks);
    let visits = simulated
        .readings
        .iter()
        .map(|reading| Visit::of(&simulated.station, reading.taken_at, &reading.entry))
        .collect();
    (Setting::of(&simulated.station), visits)
}

#[divan::bench(args = [26, 104, 520])]
fn plain_cusum_for_comparison(bencher: Bencher<'_, '_>, weeks: u32) {
    let (setting, visits) = history(f64::from(weeks));
    bencher.counter(ItemsCount::new(weeks)).bench(|| {
        let mut charts = [Cusum::new(0.5, 5.0); 3];
        for visit in &visits {
            let [inlet, interstage, outlet] = visit
                .pressures
                .map(|p| p.map_or(1.0, |p| p.as_f64_pa().max(1.0)));
            let usual = setting.inlet_usual_pa.unwrap_or(1.0);
            let logs = [
                (inlet / usual).ln(),
                (inlet / interstage / setting.ratio.unwrap_or(1.0)).ln(),
                (outlet / setting.set_point_pa.unwrap_or(1.0)).ln(),
            ];
            for (chart, log) in charts.iter_mut().zip(logs) {
                chart.take(log / 0.02);
            }
        }
        black_box(charts)
    });
}

/// The watch alone: readings a second should not fall with the weeks.
#[divan::bench(args = [26, 104, 520])]
fn watch(bencher: Bencher<'_, '_>, weeks: u32) {
    let (setting, visits) = history(f64::from(weeks));
    let weights = Weights::default();
    bencher.counter(ItemsCount::new(weeks)).bench(|| {
        let mut watch = Watch::new();
        for visit in &visits {
            black_box(watch.take(&weights, &setting, visit));
        }
        watch
    });
}

/// One more reading after ten years, state loaded and stored again.
#[divan::bench]
fn one_more_reading_with_load_and_store(bencher: Bencher<'_, '_>) {
    let (setting, visits) = history(520.0);
    let weights = Weights::default();
    let mut watch = Watch::new();
    let (last, before) = visits.split_last().expect("ten years of visits");
    for visit in before {
        watch.take(&weights, &setting, visit);
    }
    let bytes = watch.to_bytes();
    bencher.bench(|| {
        let mut watch = Watch::from_bytes(black_box(&bytes)).expect("a state reads back");
        watch.take(&weights, &setting, last);
        watch.to_bytes()
    });
}

/// The same with all that is kept of a station: slips, watch, bands, look-rounds, what stands.
#[divan::bench(args = [26, 104, 520])]
fn one_more_event_with_load_and_store(bencher: Bencher<'_, '_>, weeks: u32) {
    let simulated = station(f64::from(weeks));
    let record = RecordRef {
        log: LogId([1; 32]),
        seq: 1,
        id: RecordId([2; 32]),
    };
    let event = |place: usize| {
        let reading = &simulated.readings[place];
        Event::Visit(Visited {
            reading: record,
            at: reading.taken_at,
            definition: &simulated.station,
            entry: reading.entry,
            ticks: Ticks::NONE,
            is_confirmed: false,
        })
    };
    let last = simulated.readings.len() - 1;
    let mut chronicle = Chronicle::new();
    for place in 0..last {
        chronicle.take(&event(place));
    }
    let bytes = chronicle.to_bytes();
    let newest = event(last);
    bencher.bench(|| {
        let mut chronicle = Chronicle::from_bytes(black_box(&bytes)).expect("a state reads back");
        chronicle.take(&newest);
        chronicle.to_bytes()
    });
}

fn assess(simulated: &SimulatedStation) -> usize {
    let mut assessor = Assessor::new();
    simulated
        .readings
        .iter()
        .map(|reading| {
            assessor
                .take(&simulated.station, reading.taken_at, &reading.entry, false)
                .raised
                .len()
        })
        .sum()
}

/// Everything: slips, watch, bands.
#[divan::bench(args = [104, 520])]
fn assess_one_station(bencher: Bencher<'_, '_>, weeks: u32) {
    let simulated = station(f64::from(weeks));
    bencher
        .counter(ItemsCount::new(weeks))
        .bench(|| assess(black_box(&simulated)));
}

/// Ten thousand stations by 520 weeks, simulated one by one so that memory stays small; the time
/// includes the simulation.
#[divan::bench(ignore, sample_count = 1, sample_size = 1)]
fn assess_ten_thousand_stations_for_ten_years(bencher: Bencher<'_, '_>) {
    let plan = FleetPlan {
        weeks: 520.0,
        healthy: 10_000,
        each: 0,
        faults: Vec::new(),
        ..FleetPlan::stated(Conditions::reference(), 78)
    };
    bencher.counter(ItemsCount::new(5_200_000_u32)).bench(|| {
        let half = plan.size() / 2;
        let run = |range: std::ops::Range<u32>| -> usize {
            range.map(|index| assess(&plan.station(index))).sum()
        };
        std::thread::scope(|scope| {
            let first = scope.spawn(|| run(0..half));
            let second = run(half..plan.size());
            first.join().expect("the rules do not panic") + second
        })
    });
}
