//! A week at an invented mine for the tests of the office: twelve stations on four levels, two
//! tablets, one question, one held logbook.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use winze_core::merge::{Question as MergeQuestion, QuestionKind, QuestionState, ReadingState};
use winze_core::merge::{Standing, question_id};
use winze_core::query::{
    LastVisit, LogStanding, LogView, MergeRun, Missed, MissedWhy, Overview, QuestionView,
    RoundView, StationDetail, StationRow, Stop, StopState, Visit,
};
use winze_core::record::{Role, Shown, SkipReason, Source, Tick, Ticks};
use winze_core::station::{Station, StationCode};
use winze_core::verdict::{FlowState, judge};
use winze_sync_format::bundle::{BundlePlan, RangeSet, SeqRange, write_bundle};
use winze_sync_format::disk::RealDisk;
use winze_sync_format::{
    ClockReading, ClockStatus, Draft, LogHead, LogId, LogKey, RecordId, RecordRef, seal,
};

use super::snapshot::{Question, QuestionSide, Says, Snapshot, StationSummary};
use crate::presenters::office_time::Week;
use crate::presenters::samples::{entry, station};

/// 2026-11-19T14:10:00Z, a Thursday.
pub const NOW_MS: i64 = 1_795_097_400_000;
const DAY_MS: i64 = 86_400_000;
/// Records in the bundle that [`bundle`] writes.
pub const BUNDLE_RECORDS: u64 = 24;

const NAMES: [(&str, &str); 12] = [
    ("Level 180", "shaft station"),
    ("Level 180", "west drive"),
    ("Level 180", "crusher"),
    ("Level 300", "shaft station"),
    ("Level 300", "east drive"),
    ("Level 300", "workshop"),
    ("Level 420", "north drive"),
    ("Level 420", "south drive"),
    ("Level 420", "old pump chamber"),
    ("Level 540", "shaft station"),
    ("Level 540", "ramp"),
    ("Level 540", "sump"),
];

fn log(n: u8) -> LogId {
    LogKey::from_seed(&[n; 32]).log_id()
}

/// A record of the log `n`.
pub fn at(n: u8, seq: u64) -> RecordRef {
    let place = u8::try_from(seq % 251).expect("below 251");
    RecordRef {
        log: log(n),
        seq,
        id: RecordId([n ^ place; 32]),
    }
}

/// The code of a station, by its place in walking order from 0.
pub fn code(place: usize) -> StationCode {
    StationCode::parse(&format!("T-{:02}", place + 1)).expect("a code")
}

/// The definition of a station, by its place in walking order from 0.
pub fn definition(place: usize) -> Station {
    let mut station = station();
    station.code = code(place);
    NAMES[place].0.clone_into(&mut station.level);
    NAMES[place].1.clone_into(&mut station.name);
    station.order = u32::try_from(place).expect("few") + 1;
    station
}

/// A reading of a station, taken some days before [`NOW_MS`] on the tablet `n`.
pub fn visit(place: usize, days_back: i64, n: u8, values: [&str; 3]) -> Visit {
    let mut entry = entry(values);
    entry.flow = FlowState::Flowing;
    let seq = u64::try_from(100 + place).expect("few") - u64::try_from(days_back).expect("few");
    Visit {
        at: at(n, seq),
        station: code(place),
        taken_ms: NOW_MS - days_back * DAY_MS - 6 * 3_600_000
            + i64::try_from(place).expect("few") * 720_000,
        time: None,
        utc_offset_minutes: Some(0),
        by: if n == 1 { "R. Ostrow" } else { "K. Lindqvist" }.to_owned(),
        log: log(n),
        log_name: tablet(n).to_owned(),
        entry,
        first_entry: None,
        shown: Shown::of(&judge(&definition(place), &entry)),
        revision: at(9, u64::try_from(place).expect("few")),
        round: None,
        ticks: Ticks::NONE,
        note: String::new(),
        doubts: Vec::new(),
        source: Source::OnTheSpot,
        is_held: false,
        state: ReadingState::default(),
    }
}

fn tablet(n: u8) -> &'static str {
    if n == 1 {
        "Tablet North"
    } else {
        "Tablet South"
    }
}

fn visits(place: usize) -> Vec<Visit> {
    let n = if place < 6 { 1 } else { 2 };
    let usual = ["10.2", "4.1", "2.00"];
    let newest = match place {
        2 => ["10.2", "4.1", "2.19"],
        6 => ["10.1", "4.0", "2.60"],
        4 => ["10.4", "4.2", "2.05"],
        _ => usual,
    };
    let mut all = vec![
        visit(place, 2, n, newest),
        visit(place, 9, n, usual),
        visit(place, 16, n, usual),
    ];
    match place {
        // Missed and skipped this week.
        8 | 10 => {
            all.remove(0);
        }
        4 => {
            all[0].ticks = Ticks::NONE.with(Tick::Leak).with(Tick::Noise);
            "drips at the flange of the strainer".clone_into(&mut all[0].note);
        }
        _ => {}
    }
    all
}

fn summary(place: usize) -> StationSummary {
    let definition = definition(place);
    let visits = visits(place);
    let newest = &visits[0];
    StationSummary {
        row: StationRow {
            code: definition.code.clone(),
            name: definition.name.clone(),
            level: definition.level.clone(),
            order: definition.order,
            revision: at(9, u64::try_from(place).expect("few")),
            is_disputed: false,
            last: Some(LastVisit {
                at: newest.at,
                taken_ms: newest.taken_ms,
                worst: newest.shown.worst(),
                standing: Standing::Counts,
            }),
        },
        detail: StationDetail {
            definition: definition.clone(),
            revision: at(9, u64::try_from(place).expect("few")),
            revised_ms: NOW_MS - 300 * DAY_MS,
            revised_by: "E. Maddern".to_owned(),
            is_disputed: false,
            revisions: 1,
            readings: 61,
        },
        visits,
        judged_against: definition,
    }
}

fn logs() -> Vec<LogView> {
    let view = |n: u8, name: &str, role, standing, records: u64| LogView {
        log: log(n),
        words: log(n).words(),
        name: name.to_owned(),
        role: Some(role),
        standing,
        records,
        readings: records / 2,
        held: if standing == LogStanding::Held {
            records
        } else {
            0
        },
        whole_to: Some(records - 1),
        newest: Some(records - 1),
        acknowledged_to: None,
        backed_up_to: None,
        newest_ms: Some(NOW_MS - 2 * DAY_MS),
        is_copied: false,
    };
    vec![
        view(9, "Tarrow Deep office", Role::Office, LogStanding::Own, 40),
        view(1, "Tablet North", Role::Tablet, LogStanding::Counts, 402),
        view(2, "Tablet South", Role::Tablet, LogStanding::Counts, 388),
        view(3, "Tablet Spare", Role::Tablet, LogStanding::Held, 14),
    ]
}

fn round() -> RoundView {
    let stop = |place: usize| Stop {
        code: code(place),
        name: NAMES[place].1.to_owned(),
        level: NAMES[place].0.to_owned(),
        state: match place {
            8 => StopState::Skipped {
                reason: SkipReason::NoAccess,
                note: "drive barred for blasting".to_owned(),
            },
            10 => StopState::Left,
            _ => StopState::Done {
                reading: at(2, 1),
                taken_ms: NOW_MS - 2 * DAY_MS,
                worst: None,
            },
        },
    };
    RoundView {
        at: at(2, 90),
        title: "weekly".to_owned(),
        by: "K. Lindqvist".to_owned(),
        opened_ms: NOW_MS - 2 * DAY_MS - 7 * 3_600_000,
        closed_ms: Some(NOW_MS - 2 * DAY_MS),
        stops: (6..12).map(stop).collect(),
    }
}

/// A question about two readings of the station `T-05`.
pub fn question() -> Question {
    let north = visit(4, 2, 1, ["10.4", "4.2", "2.05"]);
    let mut south = visit(4, 2, 2, ["10.4", "4.2", "2.50"]);
    south.taken_ms += 41 * 60_000;
    let mut about = vec![north.at, south.at];
    about.sort_unstable();
    let side = |visit: Visit| QuestionSide {
        at: visit.at,
        log_name: visit.log_name.clone(),
        by: visit.by.clone(),
        wall_ms: visit.taken_ms,
        says: Says::Reading(Box::new(visit), Box::new(definition(4))),
    };
    Question {
        view: QuestionView {
            question: MergeQuestion {
                id: question_id(&about),
                kind: QuestionKind::Readings,
                station: Some(code(4)),
                about,
                state: QuestionState::Open,
            },
            answers: Vec::new(),
        },
        station_name: NAMES[4].1.to_owned(),
        sides: vec![side(north), side(south)],
    }
}

/// The week.
pub fn snapshot() -> Snapshot {
    let missed = |place: usize, why| Missed {
        code: code(place),
        name: NAMES[place].1.to_owned(),
        why,
        last_ms: Some(NOW_MS - 9 * DAY_MS),
    };
    let round = round();
    let questions = vec![question()];
    let logs = logs();
    Snapshot {
        label: "Tarrow Deep office".to_owned(),
        own: log(9),
        now_ms: NOW_MS,
        week: Week::around(NOW_MS, 0, 0),
        is_this_week: true,
        overview: Overview {
            stations: 12,
            readings: 732,
            last_merge: Some(MergeRun {
                finished_ms: NOW_MS - 600_000,
                bundles: 3,
                new_records: 40,
                new_readings: 20,
            }),
            new: Vec::new(),
            outside: Vec::new(),
            unsure: Vec::new(),
            missed: vec![
                missed(8, MissedWhy::Skipped { round: round.at }),
                missed(10, MissedWhy::LeftOut { round: round.at }),
            ],
            questions: questions.iter().map(|one| one.view.clone()).collect(),
            held: logs.iter().filter(|log| log.held > 0).cloned().collect(),
            disputed_stations: Vec::new(),
            not_understood: 0,
        },
        stations: (0..12).map(summary).collect(),
        needs: Vec::new(),
        questions,
        logs,
        rounds: vec![round],
    }
}

/// Writes a bundle of [`BUNDLE_RECORDS`] records of the tablet 1.
pub fn bundle(folder: &Path) -> PathBuf {
    let key = LogKey::from_seed(&[1; 32]);
    let clock = ClockReading {
        wall_ms: NOW_MS,
        status: ClockStatus::HandSet,
        boot: [1; 16],
        monotonic_ms: 0,
    };
    let mut head = LogHead::empty(key.log_id());
    let records: Vec<_> = (0..BUNDLE_RECORDS)
        .map(|_| {
            let draft = Draft {
                kind: 40,
                clock,
                person: "R. Ostrow".to_owned(),
                refs: Vec::new(),
                body: vec![0xa0],
                nonce: [0; 8],
            };
            seal(&key, &mut head, draft).expect("sealed")
        })
        .collect();
    let mut ranges = RangeSet::new();
    ranges.insert_range(SeqRange {
        log: key.log_id(),
        first: 0,
        last: BUNDLE_RECORDS - 1,
    });
    let plan = BundlePlan {
        label: "Tablet North".to_owned(),
        person: "R. Ostrow".to_owned(),
        clock,
        nonce: [0; 8],
        ranges,
        records: BUNDLE_RECORDS,
        frontier: Vec::new(),
    };
    let items = records
        .iter()
        .map(|record| Ok::<_, winze_sync_format::Error>(record.item()));
    let written = write_bundle(&RealDisk, folder, &key, &plan, items, &mut |_| {
        ControlFlow::Continue(())
    });
    written.expect("written").path
}
