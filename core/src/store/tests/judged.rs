//! What is kept of a station's judgement: the same as worked out from the first reading on, whatever
//! the order of arrival, and one step for one reading.

use proptest::prelude::*;
use winze_sync_format::{
    ClockReading, ClockStatus, Draft, LogHead, LogKey, RecordRef, SignedRecord, seal,
};

use super::working::{job, recalibrate};
use super::world::{Draw, shuffled};
use crate::assess::{Chronicle, Note, RaisedRule};
use crate::clock::DAY_MS;
use crate::merge::question_id;
use crate::record::{
    Answer, Body, CheckAnswered, Choice, Correction, Enrolment, Reading, Role, Shown, Source, Tick,
    Ticks,
};
use crate::simulate::{self, Conditions, Fault, FaultKind, SimulatedStation, StationPlan};
use crate::station::{Quantity, Station, StationCode};
use crate::store::database::Database;
use crate::store::facts::Own;
use crate::store::insert::Dirty;
use crate::suspects::Check;
use crate::units::{Typed, Unit};
use crate::upkeep::JobWork;

/// Everything that is kept, as text.
pub fn kept_of(database: &Database) -> String {
    let mut text = String::new();
    for sql in [
        "SELECT station || ' ' || events || ' ' || notes || ' ' || coalesce(under, '-') || ' ' ||
                hex(digest) || ' ' || hex(state) FROM judged ORDER BY station",
        "SELECT station || ' ' || n || ' ' || hex(note) FROM judged_note ORDER BY station, n",
    ] {
        let mut query = database.connection.prepare(sql).unwrap();
        let rows = query.query_map([], |row| row.get::<_, String>(0)).unwrap();
        for row in rows {
            text += &row.unwrap();
            text.push('\n');
        }
    }
    text
}

fn code() -> StationCode {
    StationCode::parse("T-01").unwrap()
}

/// A simulated station with a fault from week 40 on.
pub fn simulated(seed: u64, weeks: f64, kind: FaultKind, magnitude: f64) -> SimulatedStation {
    let plan = StationPlan {
        code: code(),
        name: String::new(),
        level: String::new(),
        order: 1,
        start: chrono::DateTime::UNIX_EPOCH + chrono::TimeDelta::days(19_723),
        weeks,
        faults: vec![Fault {
            kind,
            onset_weeks: 40.0,
            magnitude,
        }],
        slip_share: 0.02,
    };
    simulate::station(&Conditions::reference(), &plan, seed, 1)
}

/// Writes records of several logs; the first is the own one, an office's.
struct Writer {
    keys: Vec<LogKey>,
    heads: Vec<LogHead>,
    records: Vec<SignedRecord>,
}

impl Writer {
    fn new() -> Self {
        let keys: Vec<LogKey> = [1, 2, 3].map(|n| LogKey::from_seed(&[n; 32])).into();
        let heads = keys
            .iter()
            .map(|key| LogHead::empty(key.log_id()))
            .collect();
        let mut writer = Self {
            keys,
            heads,
            records: Vec::new(),
        };
        for other in [1, 2] {
            let body = Enrolment {
                log: writer.keys[other].log_id(),
                name: format!("tablet {other}"),
                role: Role::Tablet,
            };
            writer.write(0, 0, &Body::Enrolment(body), vec![]);
        }
        writer
    }

    fn own(&self) -> Own {
        Own {
            log: self.keys[0].log_id(),
            role: Role::Office,
            label: String::new(),
        }
    }

    fn write(&mut self, log: usize, wall_ms: i64, body: &Body, refs: Vec<RecordRef>) -> RecordRef {
        let clock = ClockReading {
            wall_ms,
            status: ClockStatus::HandSet,
            boot: [0; 16],
            monotonic_ms: 0,
        };
        let draft = Draft {
            kind: body.kind().number(),
            clock,
            person: "p".to_owned(),
            refs,
            body: body.encode().unwrap(),
            nonce: (self.records.len() as u64).to_be_bytes(),
        };
        let record = seal(&self.keys[log], &mut self.heads[log], draft).unwrap();
        let at = record.reference();
        self.records.push(record);
        at
    }

    fn define(&mut self, wall_ms: i64, station: &Station, replaces: &[RecordRef]) -> RecordRef {
        let body = Body::StationRevision(Box::new(station.clone()));
        self.write(0, wall_ms, &body, replaces.to_vec())
    }

    fn read(
        &mut self,
        log: usize,
        revision: RecordRef,
        reading: &simulate::SimulatedReading,
        ticks: Ticks,
    ) -> RecordRef {
        let body = Reading {
            station: code(),
            revision,
            round: None,
            entry: reading.entry,
            ticks,
            note: String::new(),
            doubts: Vec::new(),
            shown: Shown::default(),
            source: Source::OnTheSpot,
            utc_offset_minutes: None,
        };
        let wall_ms = reading.taken_at.timestamp_millis();
        self.write(log, wall_ms, &Body::Reading(Box::new(body)), vec![])
    }
}

/// A life of a station with everything that may change what came before.
fn life(seed: u64, weeks: f64) -> Writer {
    let mut draw = Draw::of(seed);
    let kinds = [
        (FaultKind::SetPointMoved, 0.08),
        (FaultKind::FirstStagePassing, 0.008),
        (FaultKind::PilotCreepUp, 0.006),
    ];
    let (kind, magnitude) = kinds[draw.below(3)];
    let simulated = simulated(seed, weeks, kind, magnitude);
    let mut writer = Writer::new();
    let mut station = simulated.station.clone();
    let first_ms = simulated.readings[0].taken_at.timestamp_millis();
    let mut revision = writer.define(first_ms - DAY_MS, &station, &[]);
    let mut before = revision;
    let mut checks = Check::ALL.into_iter().cycle();
    for (week, reading) in simulated.readings.iter().enumerate() {
        let wall_ms = reading.taken_at.timestamp_millis();
        if week % 31 == 30 {
            before = revision;
            let tenth = i64::try_from(week / 31).unwrap();
            match draw.below(3) {
                0 => station.second_stage.set_point = Typed::of(200 + tenth, -2, Unit::Bar),
                1 => station.outlet.elevation_mm += 900,
                _ => station.name = format!("name {week}"),
            }
            revision = writer.define(wall_ms - 60_000, &station, &[revision]);
        }
        // Now and then a tablet still has the definition of before.
        let cited = if draw.below(9) == 0 { before } else { revision };
        let ticks = match draw.below(12) {
            0 => Ticks::NONE.with(Tick::Noise),
            1 => Ticks::NONE.with(Tick::Damage),
            _ => Ticks::NONE,
        };
        let at = writer.read(1 + draw.below(2), cited, reading, ticks);
        match draw.below(26) {
            24 => recalibrate(&code(), &mut |body, refs| {
                writer.write(1, wall_ms + 3_600_000, &body, refs)
            }),
            25 => {
                let works = [
                    JobWork::CleanStrainer,
                    JobWork::CheckGauge(Quantity::Outlet),
                ];
                let work = works[draw.below(2)];
                job(&code(), work, at, &mut |body, refs| {
                    writer.write(1 + draw.below(2), wall_ms + 7_200_000, &body, refs)
                });
            }
            0 => {
                let mut entry = reading.entry;
                entry.outlet = None;
                let body = Correction {
                    reading: at,
                    station: code(),
                    entry,
                    shown: Shown::default(),
                    reason: "misread".into(),
                };
                writer.write(0, wall_ms, &Body::Correction(Box::new(body)), vec![]);
            }
            1 => {
                let body = Answer {
                    question: question_id(&[at]),
                    about: vec![at],
                    station: Some(code()),
                    choice: Choice::VoidAll,
                    note: String::new(),
                };
                writer.write(0, wall_ms, &Body::Answer(body), vec![]);
            }
            2..=4 => {
                let body = CheckAnswered {
                    station: code(),
                    check: checks.next().unwrap(),
                    is_yes: draw.below(2) == 0,
                    note: String::new(),
                };
                // A clock that is late: the answer still follows its reading.
                let wall_ms = wall_ms - 600_000;
                writer.write(1, wall_ms, &Body::CheckAnswered(body), vec![at]);
            }
            _ => {}
        }
    }
    writer
}

/// Puts records in, portion by portion, working everything out after each.
fn put(database: &Database, own: &Own, records: &[SignedRecord], portion: usize) {
    for part in records.chunks(portion.max(1)) {
        let mut dirty = Dirty {
            trust: true,
            ..Dirty::default()
        };
        for record in part {
            database.put(record, &mut dirty).unwrap();
        }
        database.derive(own, dirty).unwrap();
    }
}

fn notes_of(database: &Database) -> Vec<Note> {
    let mut query = database
        .connection
        .prepare("SELECT note FROM judged_note ORDER BY n")
        .unwrap();
    let rows = query.query_map([], |row| row.get::<_, Vec<u8>>(0)).unwrap();
    rows.map(|row| Note::from_bytes(&row.unwrap()).unwrap())
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// The stored state equals full recomputation: whatever the order in which readings,
    /// corrections, answers and definitions come, and in portions of whatever size.
    #[test]
    fn what_is_kept_is_what_the_records_come_to(seed in any::<u64>(), portion in 1_usize..60) {
        let writer = life(seed, 90.0);
        let own = writer.own();
        let at_once = Database::in_memory().unwrap();
        put(&at_once, &own, &writer.records, usize::MAX);
        let in_order = Database::in_memory().unwrap();
        put(&in_order, &own, &writer.records, 1);
        prop_assert!(kept_of(&at_once) == kept_of(&in_order), "seed {seed}, one at a time");
        let anyhow = Database::in_memory().unwrap();
        put(&anyhow, &own, &shuffled(&writer.records, seed), portion);
        prop_assert!(kept_of(&at_once) == kept_of(&anyhow), "seed {seed}, portions of {portion}");
        let (chronicle, notes) = at_once.afresh(&own, &code()).unwrap();
        prop_assert_eq!(notes, notes_of(&at_once));
        let kept: Vec<u8> = at_once
            .connection
            .query_row("SELECT state FROM judged", [], |row| row.get(0))
            .unwrap();
        prop_assert_eq!(Chronicle::from_bytes(&kept), Some(chronicle));
    }

    /// A shorter history raised the same: what later readings bring never changes an earlier flag.
    #[test]
    fn later_readings_never_change_what_was_told_before(seed in any::<u64>(), cut in 30_usize..85) {
        let simulated = simulated(seed, 90.0, FaultKind::SetPointMoved, 0.08);
        let mut writer = Writer::new();
        let first_ms = simulated.readings[0].taken_at.timestamp_millis();
        let revision = writer.define(first_ms - DAY_MS, &simulated.station, &[]);
        for (week, reading) in simulated.readings.iter().enumerate() {
            writer.read(1 + week % 2, revision, reading, Ticks::NONE);
        }
        let own = writer.own();
        let cut = writer.records.len().min(cut);
        let database = Database::in_memory().unwrap();
        put(&database, &own, &writer.records[..cut], usize::MAX);
        let before = notes_of(&database);
        put(&database, &own, &writer.records[cut..], 7);
        let after = notes_of(&database);
        prop_assert!(after.len() >= before.len());
        prop_assert_eq!(&after[..before.len()], &before[..]);
    }
}

#[test]
fn a_fault_is_told_through_the_store_and_one_more_reading_is_one_more_step() {
    let simulated = simulated(5, 60.0, FaultKind::SetPointMoved, 0.09);
    let mut writer = Writer::new();
    let first_ms = simulated.readings[0].taken_at.timestamp_millis();
    let revision = writer.define(first_ms - DAY_MS, &simulated.station, &[]);
    for reading in &simulated.readings {
        writer.read(1, revision, reading, Ticks::NONE);
    }
    let database = Database::in_memory().unwrap();
    let own = writer.own();
    let (last, before) = writer.records.split_last().unwrap();
    put(&database, &own, before, usize::MAX);
    assert!(notes_of(&database).iter().any(
        |note| matches!(note, Note::Raised { raised, .. } if raised.rule != RaisedRule::Slip)
    ));
    // A mark in the first note shows whether the station was worked out anew.
    let mark = |database: &Database| {
        let marked: i64 = database
            .connection
            .query_row(
                "SELECT count(*) FROM judged_note WHERE n = 0 AND hex(note) = 'FF'",
                [],
                |row| row.get(0),
            )
            .unwrap();
        marked == 1
    };
    database
        .run("UPDATE judged_note SET note = x'FF' WHERE n = 0", [])
        .unwrap();
    put(&database, &own, std::slice::from_ref(last), 1);
    assert!(mark(&database), "the newest reading is one step");
    // A late one, half a year back, is not.
    let mut late = simulated.readings[20];
    late.taken_at += chrono::TimeDelta::days(3);
    writer.read(2, revision, &late, Ticks::NONE);
    let late = writer.records.last().unwrap();
    put(&database, &own, std::slice::from_ref(late), 1);
    assert!(
        !mark(&database),
        "a late reading is worked in where it belongs"
    );
}

/// Random lives must hold every way in which a baseline starts, or the property says little.
#[test]
fn random_lives_hold_work_revisions_answers_and_flags() {
    let mut whys: std::collections::BTreeSet<&str> = std::collections::BTreeSet::new();
    let mut raised = 0;
    for seed in 0..12 {
        let writer = life(seed, 90.0);
        let database = Database::in_memory().unwrap();
        put(&database, &writer.own(), &writer.records, usize::MAX);
        for note in notes_of(&database) {
            match note {
                Note::Started(start) => drop(whys.insert(start.why.code())),
                Note::Raised { .. } => raised += 1,
            }
        }
    }
    for why in [
        "first-seen",
        "set-point-revised",
        "outlet-gauge-revised",
        "recalibrated",
        "cleaned",
        "gauge-changed",
    ] {
        assert!(whys.contains(why), "no life shows {why}: {whys:?}");
    }
    assert!(raised > 24, "{raised}");
}

#[test]
fn a_state_of_other_rules_or_a_damaged_one_is_worked_out_anew() {
    let simulated = simulated(8, 45.0, FaultKind::SetPointMoved, 0.09);
    let mut writer = Writer::new();
    let first_ms = simulated.readings[0].taken_at.timestamp_millis();
    let revision = writer.define(first_ms - DAY_MS, &simulated.station, &[]);
    for reading in &simulated.readings {
        writer.read(1, revision, reading, Ticks::NONE);
    }
    let database = Database::in_memory().unwrap();
    let own = writer.own();
    put(&database, &own, &writer.records, usize::MAX);
    let sound = kept_of(&database);
    assert!(database.not_judged().unwrap().is_empty());
    for damage in [
        "UPDATE judged SET state = x'0000'",
        "UPDATE judged SET state = substr(state, 1, 900)",
        "UPDATE judged SET state = x''",
        "UPDATE judged SET state = cast(substr(state, 1, 900) || x'05' || substr(state, 902) AS BLOB)",
        "DELETE FROM judged",
    ] {
        database.run(damage, []).unwrap();
        let mut dirty = Dirty::default();
        dirty.stations.insert(code().as_str().to_owned());
        database.derive(&own, dirty).unwrap();
        assert!(kept_of(&database) == sound, "{damage}");
    }
    database
        .run("UPDATE judged SET state = x'0000'", [])
        .unwrap();
    assert_eq!(database.not_judged().unwrap().len(), 1);
}
