//! Accounts of work for the tests: round figures, and the hard cases of a layout.

use winze_core::station::{Quantity, Station};
use winze_core::verdict::Entry;
use winze_sync_format::{LogId, RecordId, RecordRef};

use crate::presenters::samples::{bar, complete_station, entry};
use crate::reports::{
    Act, CautionNoted, Closing, Draw, Ending, Finding, PastVisit, PerTurn, PointRead, ReadingDone,
    RecordDone, Setting, StepDone, StepState, WorkDone, WorkKind,
};

/// 2026-10-06T07:30:00Z, a Tuesday.
pub const BEGUN_MS: i64 = 1_791_271_800_000;

/// Something recorded so many minutes after the beginning, in the record of this number.
pub fn act(minutes: i64, seq: u64) -> Act {
    let [high, low] = u16::try_from(seq).expect("a small number").to_be_bytes();
    let mut id = [0x3f; 32];
    id[0] = low;
    id[1] = high;
    Act {
        at: RecordRef {
            log: LogId([0xa5; 32]),
            seq,
            id: RecordId(id),
        },
        wall_ms: BEGUN_MS + minutes * 60_000,
        utc_offset_minutes: 120,
        by: if seq < 9 { "Ada" } else { "Ben" }.to_owned(),
        log_name: "Tablet A".to_owned(),
    }
}

fn step(title: &str, state: StepState, values: &[&str], seq: u64) -> StepDone {
    let is_open = state == StepState::Open;
    StepDone {
        title: title.to_owned(),
        state,
        act: (!is_open).then(|| act(i64::try_from(seq).expect("small") * 6, seq)),
        values: values.iter().map(|&value| value.to_owned()).collect(),
        ticks: Vec::new(),
        note: String::new(),
        out_of_order: String::new(),
    }
}

fn steps() -> Vec<StepDone> {
    let passed = StepState::PassedOver {
        reason: "no flushing point after the station; flushed at the hydrant below".to_owned(),
    };
    let mut steps = vec![
        step("Flush the pipe before the station", passed, &[], 1),
        step(
            "Strainer and control-loop filter clean",
            StepState::Done,
            &[],
            2,
        ),
        step(
            "Both isolating valves closed, usual inlet pressure present",
            StepState::Done,
            &["inlet 10.2 bar"],
            3,
        ),
        step(
            "Read the set point it came with",
            StepState::Done,
            &["set point 1.6 bar"],
            4,
        ),
        step("Back the screw fully off", StepState::Done, &[], 5),
        step("Open the upstream valve slowly", StepState::Done, &[], 6),
        step(
            "Open the downstream valve part of the way",
            StepState::Done,
            &[],
            7,
        ),
        step(
            "Set the outlet with flow",
            StepState::Done,
            &["outlet 2.00 bar"],
            8,
        ),
        step("Lock nut and cap", StepState::Done, &[], 9),
        step(
            "Vent both stages from the highest point until no air",
            StepState::Done,
            &[],
            10,
        ),
        step(
            "Read as left",
            StepState::Done,
            &["inlet 10.2 bar", "interstage 4.1 bar", "outlet 2.00 bar"],
            11,
        ),
    ];
    steps[1].ticks.push("strainer clean".to_owned());
    steps[8]
        .ticks
        .extend(["lock nut tight".to_owned(), "cap on".to_owned()]);
    steps[9].note = "two short breaths of air, then none".to_owned();
    steps[6].out_of_order = "asked for by the crusher station".to_owned();
    steps
}

/// Readings while the screw goes in, from 1.2 bar up to the set point.
pub fn setting(count: u32) -> Setting {
    let points = (0..count).map(|index| {
        let share = f64::from(index) / f64::from(count.saturating_sub(1).max(1));
        let hundredths = 120.0 + 80.0 * share + if index % 3 == 1 { 1.5 } else { 0.0 };
        PointRead {
            turns: 2.6 * share,
            outlet: bar(&format!("{:.2}", hundredths / 100.0)),
            draw: if index == 1 {
                Draw::Minimum
            } else {
                Draw::Usual
            },
            act: act(48 + i64::from(index), 20 + u64::from(index)),
        }
    });
    Setting {
        points: points.collect(),
        per_turn: Some(PerTurn {
            pa: 30_800.0,
            interval_pa: Some((28_900.0, 32_700.0)),
            at_zero_pa: 120_200.0,
            holds: (0.0, 2.6),
        }),
        backlash_turns: Some(0.12),
    }
}

fn reading(minutes: i64, seq: u64, values: [&str; 3]) -> ReadingDone {
    ReadingDone {
        act: act(minutes, seq),
        entry: entry(values),
    }
}

/// A set-up as it ought to go, with one step passed over.
pub fn set_up() -> WorkDone {
    with_records(WorkDone {
        kind: WorkKind::SetUp,
        station: complete_station(),
        revision: Some(act(0, 0).at),
        before: None,
        opened: act(0, 77),
        reason: "new station".to_owned(),
        closed: Some(Closing {
            act: act(80, 60),
            ending: Ending::Completed,
            note: String::new(),
        }),
        factory_set_point: Some(bar("1.6")),
        keeps_setting: Some(false),
        as_found: None,
        as_left: Some(reading(66, 11, ["10.2", "4.1", "2.00"])),
        setting: Some(setting(9)),
        findings: Vec::new(),
        parts: Vec::new(),
        done_by: "Ada, Ben".to_owned(),
        seen_by: "E. Engineer".to_owned(),
        steps: steps(),
        cautions: vec![
            CautionNoted {
                text: "Open slowly: a fast valve sends a pressure wave through the main."
                    .to_owned(),
                steps: vec![6, 7],
                by: vec!["Ada".to_owned()],
            },
            CautionNoted {
                text: "Pressure is stored behind closed valves; isolation and locking off follow \
                       the site's rules."
                    .to_owned(),
                steps: vec![3],
                by: Vec::new(),
            },
        ],
        visits: Vec::new(),
        records: Vec::new(),
    })
}

/// The same with its records listed.
fn with_records(mut work: WorkDone) -> WorkDone {
    let mut records = vec![RecordDone {
        what: "work begun".to_owned(),
        act: work.opened.clone(),
    }];
    for (index, step) in work.steps.iter().enumerate() {
        records.extend(step.act.iter().map(|act| RecordDone {
            what: format!("step {}, {}", index + 1, step.title),
            act: act.clone(),
        }));
    }
    records.extend(work.closed.iter().map(|closed| RecordDone {
        what: "work completed".to_owned(),
        act: closed.act.clone(),
    }));
    work.records = records;
    work
}

/// A recalibration: as found too high, as left on the set point.
pub fn recalibration() -> WorkDone {
    WorkDone {
        kind: WorkKind::Recalibration,
        reason: "outlet creeping up since July".to_owned(),
        factory_set_point: None,
        keeps_setting: None,
        as_found: Some(reading(4, 3, ["10.3", "4.1", "2.32"])),
        ..set_up()
    }
}

/// A yearly clean with half a year of visits before it and two after.
pub fn yearly() -> WorkDone {
    let visits = (-26..=2).filter(|week| *week != 0).map(|week: i64| {
        let before = week < 0;
        let tenths = if before { 41 - (week + 26) / 5 } else { 41 };
        let outlet = if before && week > -6 { "1.86" } else { "2.02" };
        PastVisit {
            wall_ms: BEGUN_MS + week * 7 * 86_400_000,
            entry: Entry {
                interstage: Some(winze_core::units::Typed::of(
                    tenths,
                    -1,
                    winze_core::units::Unit::Bar,
                )),
                ..entry(["10.2", "", outlet])
            },
        }
    });
    WorkDone {
        kind: WorkKind::YearlyClean,
        reason: "yearly".to_owned(),
        setting: None,
        factory_set_point: None,
        keeps_setting: None,
        as_found: Some(reading(4, 3, ["10.2", "3.5", "1.86"])),
        findings: vec![
            Finding {
                what: "strainer".to_owned(),
                how: "much in it".to_owned(),
                is_notable: true,
            },
            Finding {
                what: "first stage".to_owned(),
                how: "as new".to_owned(),
                is_notable: false,
            },
        ],
        parts: vec![
            "strainer gasket, 1".to_owned(),
            "filter element of the control loop, 1".to_owned(),
        ],
        visits: visits.collect(),
        ..set_up()
    }
}

/// An internal inspection that was given up half-way.
pub fn inspection() -> WorkDone {
    let mut work = WorkDone {
        kind: WorkKind::Inspection,
        reason: "four years since the last".to_owned(),
        as_left: None,
        visits: Vec::new(),
        ..yearly()
    };
    for step in work.steps.iter_mut().skip(6) {
        step.state = StepState::Open;
        step.act = None;
        step.values.clear();
    }
    if let Some(closed) = &mut work.closed {
        closed.ending = Ending::Abandoned;
        closed.note = "seat ring of the first stage not in store".to_owned();
    }
    with_records(work)
}

/// Everything a layout may stumble over: long names, words without a space, other scripts, many
/// points, nothing measured.
pub fn hard() -> WorkDone {
    let long =
        "Lower sump pump chamber crosscut between the old and the new return airway".repeat(2);
    let mut station: Station = complete_station();
    station.name = long.clone();
    station.level = "Level 540 south-east extension, below the second crusher".to_owned();
    station.site.relief_set = None;
    station.second_stage.spring_range = None;
    station.inlet.elevation_mm = 1450;
    let mut work = WorkDone {
        station,
        reason: long.clone(),
        setting: Some(setting(40)),
        as_found: Some(reading(3, 3, ["10.237", "", ""])),
        ..set_up()
    };
    for (index, step) in work.steps.iter_mut().enumerate() {
        step.note = long.repeat(index % 3);
        step.values.push("x".repeat(40 + 20 * index));
    }
    work.steps[2].note = "a very long note ".repeat(220);
    if let Some(act) = &mut work.steps[4].act {
        act.by = "Wolfeschlegelsteinhausenbergerdorff Добрыня 🦺".to_owned();
        act.wall_ms += 3 * 86_400_000;
    }
    with_records(work)
}

/// Nothing but the beginning.
pub fn bare() -> WorkDone {
    with_records(WorkDone {
        closed: None,
        as_found: None,
        as_left: None,
        setting: None,
        factory_set_point: None,
        keeps_setting: None,
        steps: Vec::new(),
        cautions: Vec::new(),
        reason: String::new(),
        revision: None,
        ..set_up()
    })
}

/// Every sample with a name.
pub fn all() -> Vec<(&'static str, WorkDone)> {
    let mut starved = recalibration();
    starved.as_left = Some(reading(66, 11, ["5.0", "1.9", "1.70"]));
    // An order of the gauges that nothing expects must still be shown.
    let mut off = set_up();
    off.station.outlet.division = winze_sync_format::Decimal {
        mantissa: 0,
        exponent: 0,
    };
    off.as_left = Some(ReadingDone {
        act: act(66, 11),
        entry: entry(["25.0", "-0.4", "9.99"]).with(Quantity::Inlet, Some(bar("250"))),
    });
    // The last turn ends exactly where the scale does.
    if let Some(last) = off
        .setting
        .as_mut()
        .and_then(|setting| setting.points.last_mut())
    {
        last.turns = 3.0;
    }
    vec![
        ("certificate", set_up()),
        ("recalibration", recalibration()),
        ("yearly", yearly()),
        ("inspection", inspection()),
        ("hard", hard()),
        ("bare", bare()),
        ("starved", starved),
        ("off", off),
    ]
}
