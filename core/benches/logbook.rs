//! How long the long acts take, each beside a baseline measured in the same run: taking over old
//! sheets beside raw inserts, and a merge beside the bare signature checks it cannot do without.
//!
//! ```text
//! cargo bench -p winze-core --bench logbook [-- RECORDS]
//! ```

#![allow(
    clippy::disallowed_macros,
    clippy::disallowed_methods,
    clippy::cast_precision_loss,
    reason = "a bench measures time and prints figures"
)]

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use chrono::DateTime;
use winze_core::actions::{
    NewReading, PackFor, enrol_logbook, load_readings, load_register, merge_bundles, pack_bundle,
    record_reading,
};
use winze_core::clock::FixedClock;
use winze_core::record::{Role, Ticks};
use winze_core::sheet::{Moment, Precision, ReadingRow};
use winze_core::station::{StationCode, defaults};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;
use winze_core::{Logbook, query};
use winze_sync_format::bundle::{BundleEvent, BundleReader};
use winze_sync_format::{Decimal, Verifier, parse_item};

const STATIONS: usize = 500;
/// 2024-01-01T00:00:00Z.
const START_S: i64 = 1_704_067_200;

fn main() {
    // Cargo passes `--bench`; the first number is ours.
    let records = std::env::args()
        .find_map(|arg| arg.parse().ok())
        .unwrap_or(100_000_usize);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut tablet = load(&folder.path().join("tablet"), records);
    confirm(&tablet);
    confirm_after(&mut tablet, records / STATIONS);
    merge(folder.path(), tablet);
}

fn clock() -> Arc<FixedClock> {
    Arc::new(FixedClock::at(START_S * 1000))
}

fn code(n: usize) -> StationCode {
    StationCode::parse(&format!("T-{n:04}")).expect("a station code")
}

fn entry(n: usize) -> Entry {
    let spread = i64::try_from(n % 7).expect("small");
    let tenths = |mantissa| Typed::of(mantissa, -1, Unit::Bar);
    Entry::of(tenths(100 + spread), tenths(40), tenths(20))
}

fn rows(records: usize) -> impl Iterator<Item = ReadingRow> {
    (0..records).map(|n| {
        let visit = i64::try_from(n / STATIONS).expect("small");
        let at = DateTime::from_timestamp(START_S + visit * 7 * 86_400, 0).expect("a date");
        ReadingRow {
            line: n as u64 + 2,
            station: code(n % STATIONS),
            taken_at: Moment {
                at: at.fixed_offset(),
                precision: Precision::Minute,
            },
            entry: entry(n),
            by: String::new(),
            remark: String::new(),
        }
    })
}

fn say(what: &str, count: usize, took: Duration, processor_s: Option<f64>) {
    let rate = count as f64 / took.as_secs_f64();
    let processor = processor_s.map_or(String::new(), |s| format!("{s:>8.2} s of processor"));
    println!(
        "{what:<40} {:>7.2} s {rate:>10.0} per s {processor}",
        took.as_secs_f64()
    );
}

/// Processor time of all threads so far, in seconds: on a busy machine it says more than the clock.
fn processor_s() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    // Fields 14 and 15, counted from behind the name; in hundredths of a second.
    let mut fields = stat.rsplit_once(')')?.1.split_whitespace().skip(11);
    let mut ticks = || fields.next()?.parse::<f64>().ok();
    Some((ticks()? + ticks()?) / 100.0)
}

fn timed<T>(what: &str, count: usize, work: impl FnOnce() -> T) -> (T, Duration) {
    let (before, start) = (processor_s(), Instant::now());
    let value = work();
    let took = start.elapsed();
    let used = before
        .zip(processor_s())
        .map(|(before, after)| after - before);
    say(what, count, took, used);
    (value, took)
}

fn load(dir: &Path, records: usize) -> Logbook {
    let mut book = Logbook::create(dir, Role::Tablet, "Tablet", clock()).expect("a logbook");
    let whole = |mantissa| Decimal {
        mantissa,
        exponent: 0,
    };
    let stations = (0..STATIONS)
        .map(|n| {
            defaults::station(&defaults::RegisterRow {
                code: code(n),
                unit: Unit::Bar,
                ratio: Decimal {
                    mantissa: 25,
                    exponent: -1,
                },
                set_point: whole(2),
                inlet_typical: whole(10),
                gauge_class: Decimal {
                    mantissa: 16,
                    exponent: -1,
                },
                spans: [whole(16), whole(10), whole(4)],
            })
        })
        .collect();
    timed("load a register", STATIONS, || {
        load_register(&mut book, stations, "E", &mut |_| true).expect("a register")
    });
    let (loaded, _) = timed("load readings", records, || {
        load_readings(&mut book, rows(records), "E", &mut |_| true).expect("readings")
    });
    assert_eq!(loaded.added, records as u64);
    let (loaded, _) = timed("load the same readings again", records, || {
        load_readings(&mut book, rows(records), "E", &mut |_| true).expect("readings")
    });
    assert_eq!(loaded.added, 0);
    drop(book);
    let (book, _) = timed("open, both witnesses compared", records, || {
        Logbook::open(dir, clock()).expect("a logbook")
    });
    timed("the fleet by need", STATIONS, || {
        query::fleet_by_need(&book).expect("a fleet")
    });
    timed(
        "one station judged, whole history",
        records / STATIONS,
        || query::judgement(&book, &code(0)).expect("a judgement"),
    );
    timed("overview", 1, || {
        query::overview(&book).expect("an overview")
    });
    book
}

fn confirm(book: &Logbook) {
    let mut times = Vec::new();
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut small =
        Logbook::create(&folder.path().join("b"), Role::Tablet, "B", clock()).expect("a logbook");
    let definition = query::definition_at(
        book,
        query::station(book, &code(0))
            .expect("a query")
            .expect("a station")
            .revision,
    )
    .expect("a definition");
    load_register(&mut small, vec![definition], "E", &mut |_| true).expect("a register");
    for n in 0..200_u64 {
        let new = NewReading {
            station: code(0),
            revision: None,
            round: None,
            entry: entry(1),
            ticks: Ticks::NONE,
            note: String::new(),
            doubts: Vec::new(),
            by: "A".to_owned(),
            nonce: n.to_be_bytes(),
        };
        let start = Instant::now();
        record_reading(&mut small, new).expect("a reading");
        times.push(start.elapsed());
    }
    times.sort_unstable();
    println!(
        "confirm one reading: median {:.1} ms, 99th of 100 {:.1} ms",
        times[100].as_secs_f64() * 1e3,
        times[198].as_secs_f64() * 1e3
    );
}

/// One more reading at stations that were read for years: what is kept of them goes on by one step.
fn confirm_after(book: &mut Logbook, weeks: usize) {
    let mut times = Vec::new();
    for n in 0..200_usize {
        let new = NewReading {
            station: code(n),
            revision: None,
            round: None,
            entry: entry(1),
            ticks: Ticks::NONE,
            note: String::new(),
            doubts: Vec::new(),
            by: "A".to_owned(),
            nonce: (n as u64).to_be_bytes(),
        };
        let start = Instant::now();
        record_reading(book, new).expect("a reading");
        times.push(start.elapsed());
    }
    times.sort_unstable();
    println!(
        "confirm one more after {weeks} weeks: median {:.1} ms, 99th of 100 {:.1} ms",
        times[100].as_secs_f64() * 1e3,
        times[198].as_secs_f64() * 1e3
    );
}

fn merge(folder: &Path, mut tablet: Logbook) {
    let (packed, _) = timed("pack and read back", 1, || {
        pack_bundle(&mut tablet, folder, PackFor::Everything, "E", &mut |_| true).expect("a bundle")
    });
    let records = usize::try_from(packed.records).expect("small");
    println!(
        "bundle: {records} records, {} bytes each",
        packed.bytes / packed.records
    );
    let bytes = std::fs::read(&packed.path).expect("the bundle");

    let (checked, one) = timed("bare signature checks, one thread", records, || {
        let (mut at, mut checked, mut verifier) = (0, 0, Verifier::default());
        while let Ok((item, length)) = parse_item(&bytes[at..]) {
            verifier.check(&item).expect("a good signature");
            (at, checked) = (at + length, checked + 1);
        }
        checked
    });
    // Header and trailer are signed too.
    assert_eq!(checked, records + 2);
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let (_, all) = timed("bundle reader alone, all threads", records, || {
        let reader = BundleReader::new(&bytes[..]).threads(threads);
        reader
            .filter(|event| matches!(event, BundleEvent::Record(_)))
            .count()
    });

    let mut office = Logbook::create(&folder.join("office"), Role::Office, "Office", clock())
        .expect("a logbook");
    enrol_logbook(
        &mut office,
        tablet.log_id(),
        "Tablet".into(),
        Role::Tablet,
        "C".into(),
    )
    .expect("an enrolment");
    let paths = [packed.path];
    let (report, first) = timed("merge", records, || {
        merge_bundles(&mut office, &paths, &mut |_| true).expect("a merge")
    });
    assert_eq!(report.new_records(), records as u64);
    assert!(report.is_whole());
    let (report, again) = timed("merge again, all held", records, || {
        merge_bundles(&mut office, &paths, &mut |_| true).expect("a merge")
    });
    assert_eq!(report.new_records(), 0);
    let (_, _) = timed("rebuild the database", records, || {
        office.rebuild().expect("a rebuild")
    });
    let ideal = one.as_secs_f64() / threads as f64;
    println!(
        "merge / (bare checks / {threads} threads) = {:.2}; merge / reader alone = {:.2}; \
         first / again = {:.1}",
        first.as_secs_f64() / ideal,
        first.as_secs_f64() / all.as_secs_f64(),
        first.as_secs_f64() / again.as_secs_f64()
    );
}
