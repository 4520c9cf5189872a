//! What judging one visit costs, beside a fixed limit and one tail probability as baselines.
//!
//! `cargo bench -p winze-core --bench rules`

#![allow(missing_docs, reason = "a bench has no public items")]

use divan::{Bencher, black_box};
use winze_core::slips::{PastReading, first_doubt};
use winze_core::station::{Station, StationCode, defaults};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::{Entry, judge, normal_between};
use winze_sync_format::Decimal;

fn main() {
    divan::main();
}

fn station() -> Station {
    defaults::station(&defaults::RegisterRow {
        code: StationCode::parse("T-07").expect("a code"),
        unit: Unit::Bar,
        ratio: Decimal::new(25, -1),
        set_point: Decimal::whole(2),
        inlet_typical: Decimal::whole(10),
        gauge_class: Decimal::new(16, -1),
        spans: [Decimal::whole(16), Decimal::whole(10), Decimal::whole(4)],
    })
}

fn entry(inlet: i64, interstage: i64, outlet: i64) -> Entry {
    let bar = |hundredths| Typed::of(hundredths, -2, Unit::Bar);
    Entry::of(bar(inlet), bar(interstage), bar(outlet))
}

fn past() -> Vec<PastReading> {
    (0..26)
        .map(|week| {
            let wander = [0, 12, -8, 4, -15, 20, 7][usize::try_from(week % 7).unwrap_or(0)];
            let entry = entry(1000 + wander, 400 + wander / 2, 200 + wander / 8);
            PastReading {
                taken_at_ms: week * 7 * 86_400_000,
                entry,
            }
        })
        .collect()
}

#[divan::bench]
fn baseline_three_fixed_limits(bencher: Bencher) {
    let entry = entry(1005, 402, 201);
    bencher.bench(|| {
        let values = [entry.inlet, entry.interstage, entry.outlet];
        values
            .map(|typed| black_box(typed).is_some_and(|typed| (1.8..2.2).contains(&typed.value())))
    });
}

#[divan::bench]
fn baseline_one_tail_probability(bencher: Bencher) {
    bencher.bench(|| normal_between(black_box(-3.1), black_box(2.7)));
}

#[divan::bench]
fn verdict_per_reading(bencher: Bencher) {
    let (station, entry) = (station(), entry(1005, 402, 201));
    bencher.bench(|| judge(black_box(&station), black_box(&entry)));
}

#[divan::bench]
fn verdict_with_its_arithmetic(bencher: Bencher) {
    let (station, entry) = (station(), entry(1005, 402, 201));
    bencher.bench(|| {
        let judgement = judge(black_box(&station), black_box(&entry));
        judgement
            .iter()
            .map(|judged| judged.steps().len())
            .sum::<usize>()
    });
}

#[divan::bench]
fn doubt_about_a_good_reading(bencher: Bencher) {
    let (station, past, entry) = (station(), past(), entry(1005, 402, 201));
    bencher.bench(|| first_doubt(black_box(&station), &past, black_box(&entry), &[]));
}

#[divan::bench]
fn doubt_about_a_slip(bencher: Bencher) {
    let (station, past, entry) = (station(), past(), entry(1005, 402, 2010));
    bencher.bench(|| first_doubt(black_box(&station), &past, black_box(&entry), &[]));
}
