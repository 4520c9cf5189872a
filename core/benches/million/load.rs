//! The bundle of a million records: eight tablets, four hundred stations, one visit a week.
//!
//! Records are sealed as a tablet seals them, without a logbook: keeping a million of them first
//! is not what is measured here.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_core::actions::{enrol_logbook, load_register};
use winze_core::clock::FixedClock;
use winze_core::record::{
    Body, LogOpened, Reading, Role, RoundOpened, Shown, SkipReason, Source, StationSkipped, Ticks,
};
use winze_core::station::{StationCode, defaults};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;
use winze_core::{Logbook, query};
use winze_sync_format::bundle::{BundlePlan, RangeSet, SeqRange, write_bundle};
use winze_sync_format::disk::RealDisk;
use winze_sync_format::{
    ClockReading, ClockStatus, Decimal, Draft, Error, LogHead, LogKey, RecordRef, SignedRecord,
    seal,
};

pub const TABLETS: usize = 8;
pub const STATIONS: usize = 400;
/// 1990-01-01T00:00:00Z, in milliseconds since 1970.
const START_MS: i64 = 631_152_000_000;
const WEEK_MS: i64 = 7 * 86_400_000;

/// What the records are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Load {
    /// Readings, each of them judged.
    Readings,
    /// Notes that a station was skipped: kept and listed, never judged.
    Skips,
}

impl Load {
    pub fn name(self) -> &'static str {
        match self {
            Self::Readings => "readings",
            Self::Skips => "skips",
        }
    }
}

pub fn clock() -> Arc<FixedClock> {
    Arc::new(FixedClock::at(START_MS))
}

fn key(tablet: usize) -> LogKey {
    LogKey::from_seed(&[u8::try_from(tablet + 1).expect("few"); 32])
}

fn code(n: usize) -> StationCode {
    StationCode::parse(&format!("T-{n:04}")).expect("a station code")
}

/// An office that knows the stations and the tablets, closed again.
pub fn make_office(dir: &Path) {
    let whole = |mantissa| Decimal {
        mantissa,
        exponent: 0,
    };
    let stations = (0..STATIONS).map(|n| {
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
    });
    let mut office = Logbook::create(dir, Role::Office, "Office", clock()).expect("a logbook");
    load_register(&mut office, stations.collect(), "E", &mut |_| true).expect("a register");
    for tablet in 0..TABLETS {
        let name = format!("Tablet {tablet}");
        let log = key(tablet).log_id();
        enrol_logbook(&mut office, log, name, Role::Tablet, "C".to_owned()).expect("enrolled");
    }
}

/// One tablet's log, written in order.
struct Writer {
    key: LogKey,
    head: LogHead,
    records: Vec<Vec<u8>>,
}

impl Writer {
    fn write(&mut self, body: &Body, wall_ms: i64) -> RecordRef {
        let draft = Draft {
            kind: body.kind().number(),
            clock: clock_at(wall_ms),
            person: "A. Operator".to_owned(),
            refs: Vec::new(),
            body: body.encode().expect("a body"),
            nonce: self.head.next_seq.to_be_bytes(),
        };
        let record: SignedRecord = seal(&self.key, &mut self.head, draft).expect("sealed");
        self.records.push(record.item().to_vec());
        record.reference()
    }
}

fn clock_at(wall_ms: i64) -> ClockReading {
    ClockReading {
        wall_ms,
        status: ClockStatus::SetAtOffice,
        boot: [1; 16],
        monotonic_ms: 1,
    }
}

fn entry(n: usize, week: usize) -> Entry {
    let spread = i64::try_from((n * 31 + week * 17) % 7).expect("small");
    let tenths = |mantissa| Typed::of(mantissa, -1, Unit::Bar);
    Entry::of(tenths(98 + spread), tenths(40 + spread % 2), tenths(20))
}

fn log_of(tablet: usize, records: usize, load: Load, revisions: &[RecordRef]) -> Writer {
    let key = key(tablet);
    let head = LogHead::empty(key.log_id());
    let mut writer = Writer {
        key,
        head,
        records: Vec::with_capacity(records),
    };
    let opened = LogOpened {
        role: Role::Tablet,
        label: format!("Tablet {tablet}"),
    };
    writer.write(&Body::LogOpened(opened), START_MS);
    let own: Vec<usize> = (tablet..STATIONS).step_by(TABLETS).collect();
    let mut week = 0;
    while writer.records.len() < records {
        let week_ms = START_MS + i64::try_from(week).expect("few") * WEEK_MS;
        let round = Body::RoundOpened(RoundOpened {
            title: "Weekly".to_owned(),
            stations: Vec::new(),
            utc_offset_minutes: 60,
        });
        let round = writer.write(&round, week_ms);
        for (place, &n) in own.iter().enumerate() {
            if writer.records.len() == records {
                break;
            }
            let at_ms = week_ms + i64::try_from(place + 1).expect("few") * 240_000;
            let body = match load {
                Load::Readings => Body::Reading(Box::new(Reading {
                    station: code(n),
                    revision: revisions[n],
                    round: Some(round),
                    entry: entry(n, week),
                    ticks: Ticks::NONE,
                    note: String::new(),
                    doubts: Vec::new(),
                    shown: Shown::default(),
                    source: Source::OnTheSpot,
                    utc_offset_minutes: Some(60),
                })),
                Load::Skips => Body::StationSkipped(StationSkipped {
                    round,
                    station: code(n),
                    reason: SkipReason::NoTime,
                    note: "the cage was late, to be read with the next round".to_owned(),
                }),
            };
            writer.write(&body, at_ms);
        }
        week += 1;
    }
    writer
}

/// Writes the bundle; returns its path.
pub fn make_bundle(folder: &Path, office: &Path, records: usize, load: Load) -> PathBuf {
    let office = Logbook::open(office, clock()).expect("a logbook");
    let revisions: Vec<RecordRef> = query::stations(&office)
        .expect("stations")
        .iter()
        .map(|row| row.revision)
        .collect();
    let share = records / TABLETS;
    let mut logs: Vec<Writer> = std::thread::scope(|scope| {
        let revisions = &revisions;
        let threads: Vec<_> = (0..TABLETS)
            .map(|tablet| scope.spawn(move || log_of(tablet, share, load, revisions)))
            .collect();
        let finished = threads.into_iter().map(std::thread::ScopedJoinHandle::join);
        finished.map(|log| log.expect("written")).collect()
    });
    logs.sort_by_key(|writer| writer.head.log);
    let mut ranges = RangeSet::new();
    for writer in &logs {
        ranges.insert_range(SeqRange {
            log: writer.head.log,
            first: 0,
            last: writer.head.next_seq - 1,
        });
    }
    let plan = BundlePlan {
        label: load.name().to_owned(),
        person: "A. Operator".to_owned(),
        clock: clock_at(START_MS),
        nonce: [3; 8],
        ranges,
        records: logs.iter().map(|log| log.records.len() as u64).sum(),
        frontier: Vec::new(),
    };
    let items = logs.iter().flat_map(|log| &log.records);
    let items = items.map(|item| Ok::<_, Error>(item.as_slice()));
    let mut on = |_| std::ops::ControlFlow::Continue(());
    write_bundle(&RealDisk, folder, &key(0), &plan, items, &mut on)
        .expect("a bundle")
        .path
}
