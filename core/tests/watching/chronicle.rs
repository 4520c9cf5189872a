//! A station's whole life: readings, work and answered checks in any mixture, bad input included.

use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;
use winze_core::assess::{
    Answered, BaselineWhy, Chronicle, Event, Leaving, RaisedRule, Restarted, Told, Visited, Work,
    outlook,
};
use winze_core::record::{Tick, Ticks};
use winze_core::simulate::{Conditions, FaultKind};
use winze_core::station::{Quantity, Station};
use winze_core::suspects::{Cause, Check};
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;
use winze_core::watch::{Begun, Change, Restart, Watched};
use winze_sync_format::{LogId, RecordId, RecordRef};

use crate::{day, fault, simulated};

/// A record by its number.
fn record(number: u64) -> RecordRef {
    RecordRef {
        log: LogId([1; 32]),
        seq: number,
        id: RecordId([2; 32]),
    }
}

fn visited(definition: &Station, at: DateTime<Utc>, entry: Entry) -> Event<'_> {
    Event::Visit(Visited {
        reading: record(0),
        at,
        definition,
        entry,
        ticks: Ticks::NONE,
        is_confirmed: false,
    })
}

fn kpa(values: [Option<i64>; 3]) -> Entry {
    let typed = |value: Option<i64>| value.map(|value| Typed::of(value, 0, Unit::Kilopascal));
    Entry {
        inlet: typed(values[0]),
        interstage: typed(values[1]),
        outlet: typed(values[2]),
        ..Entry::default()
    }
}

/// A sound station: 10 bar, ratio 2.5, set to 2 bar.
fn station() -> Station {
    let mut station = simulated(&Conditions::reference(), 1, 1.0, None).station;
    station.second_stage.set_point = Typed::of(200, 0, Unit::Kilopascal);
    station.first_stage.as_left_ratio = None;
    station.first_stage.ratio.mantissa = 25;
    station.first_stage.ratio.exponent = -1;
    station.inlet_usual.low = Typed::of(900, 0, Unit::Kilopascal);
    station.inlet_usual.high = Typed::of(1100, 0, Unit::Kilopascal);
    station
}

/// Whatever went in, all that comes out can be shown: numbers are numbers, times are in order, and
/// the state reads back as itself.
fn sound(chronicle: &Chronicle, definition: &Station, last: DateTime<Utc>) {
    let bytes = chronicle.to_bytes();
    let read = Chronicle::from_bytes(&bytes).expect("a state reads back");
    assert_eq!(&read, chronicle);
    for watched in Watched::ALL {
        if let Some(found) = outlook(chronicle.watch(), definition, watched, last) {
            let (low, likely, high) = found.weekly_pa;
            assert!(low <= likely && likely <= high && found.scatter_pa.is_finite());
            assert!(found.band.0 <= found.band.1 && (0.0..=1.0).contains(&found.chance));
            let order = |point: &winze_core::assess::OutlookPoint| {
                point.low <= point.likely && point.likely <= point.high
            };
            assert!(found.fan.iter().all(order), "{:?}", found.fan);
            if let Leaving::Leaves {
                earliest,
                likely,
                latest,
                ..
            } = found.leaving
            {
                assert!(last <= earliest && earliest <= likely);
                assert!(latest.is_none_or(|latest| likely <= latest));
            }
        }
    }
    for condition in chronicle.standing() {
        assert!(condition.shift.is_finite() && condition.raised_at <= condition.said_at);
        let suspects = condition.suspects();
        let total: f64 = Cause::ALL.into_iter().map(|cause| suspects.of(cause)).sum();
        assert!((total - 1.0).abs() < 1e-9 || total == 0.0, "{total}");
        for advice in condition.next_checks() {
            assert!(advice.information_bits.is_finite());
        }
    }
}

/// Takes entries a week apart and says what was raised.
fn weekly(station: &Station, entries: &[Entry]) -> (Chronicle, Vec<RaisedRule>) {
    let mut chronicle = Chronicle::new();
    let mut rules = Vec::new();
    for (week, entry) in (0_i64..).zip(entries) {
        let told = chronicle.take(&visited(station, day(7 * week), *entry));
        rules.extend(told.raised.iter().map(|raised| raised.rule));
        sound(&chronicle, station, day(7 * week));
    }
    (chronicle, rules)
}

const QUIET: [[i64; 3]; 6] = [
    [1000, 400, 200],
    [1010, 406, 201],
    [990, 395, 199],
    [1005, 403, 201],
    [995, 397, 200],
    [1000, 398, 199],
];

fn quiet(weeks: usize) -> Vec<Entry> {
    (0..weeks)
        .map(|week| kpa(QUIET[week % QUIET.len()].map(Some)))
        .collect()
}

#[test]
fn one_reading_only() {
    let (chronicle, rules) = weekly(&station(), &quiet(1));
    assert_eq!(rules, []);
    assert!(chronicle.standing().is_empty());
    assert!(chronicle.baselines().iter().all(Option::is_some));
}

#[test]
fn all_equal_is_stuck_gauges_and_nothing_else() {
    let (chronicle, rules) = weekly(&station(), &[kpa([Some(1000), Some(400), Some(200)]); 60]);
    assert!(!rules.is_empty() && rules.len() <= 3, "{rules:?}");
    assert!(rules.iter().all(|rule| *rule == RaisedRule::Stuck));
    assert_eq!(chronicle.standing().len(), rules.len());
}

#[test]
fn a_gap_of_a_year_raises_nothing_by_itself() {
    let station = station();
    let mut chronicle = Chronicle::new();
    for (week, entry) in (0_i64..).zip(quiet(60)) {
        let gap = if week >= 30 { 365 } else { 0 };
        let told = chronicle.take(&visited(&station, day(7 * week + gap), entry));
        assert_eq!(told.raised, vec![], "week {week}");
        sound(&chronicle, &station, day(7 * week + gap));
    }
}

#[test]
fn two_readings_within_a_minute_are_one_visit() {
    let station = station();
    let (mut chronicle, _) = weekly(&station, &quiet(20));
    let before = chronicle.clone();
    let again = day(7 * 19) + TimeDelta::seconds(30);
    let told = chronicle.take(&visited(&station, again, quiet(1)[0]));
    assert!(told.is_repeat && told.raised.is_empty());
    assert_eq!(chronicle.watch(), before.watch());
}

#[test]
fn a_clock_going_backwards_is_survived() {
    let station = station();
    let mut chronicle = Chronicle::new();
    for (week, entry) in (0_i64..).zip(quiet(40)) {
        let at = if week % 9 == 8 {
            day(7 * week - 400)
        } else {
            day(7 * week)
        };
        let told = chronicle.take(&visited(&station, at, entry));
        assert_eq!(told.raised, vec![], "week {week}");
        sound(&chronicle, &station, day(7 * week));
    }
}

#[test]
fn a_span_of_zero_leaves_its_quantities_unwatched() {
    let mut station = station();
    station.outlet.high = station.outlet.low;
    let (chronicle, rules) = weekly(&station, &quiet(30));
    assert_eq!(rules, []);
    assert!(chronicle.watch().baseline(Watched::Outlet).is_none());
    assert!(chronicle.watch().baseline(Watched::Inlet).is_some());
    assert_eq!(
        outlook(chronicle.watch(), &station, Watched::Outlet, day(210)),
        None
    );
}

#[test]
fn missing_gauges_are_passed_over_and_the_rest_is_watched() {
    let station = station();
    let mut entries = quiet(40);
    for (week, entry) in entries.iter_mut().enumerate() {
        if week % 3 > 0 {
            *entry = entry.with(Quantity::Interstage, None);
        }
        if week == 20 {
            *entry = kpa([None; 3]);
        }
    }
    let (chronicle, rules) = weekly(&station, &entries);
    assert_eq!(rules, []);
    let seen = |watched| {
        chronicle
            .watch()
            .baseline(watched)
            .map_or(0.0, |b| b.visits)
    };
    assert!(seen(Watched::Outlet) > 38.0 && seen(Watched::FirstStage) < 15.0);
}

#[test]
fn a_station_revised_in_the_middle_starts_what_the_revision_touches() {
    let (before, mut after) = (station(), station());
    after.first_stage.ratio.mantissa = 30;
    let mut chronicle = Chronicle::new();
    let mut started = Vec::new();
    for (week, [inlet, interstage, outlet]) in (0_i64..60).zip(QUIET.into_iter().cycle()) {
        let is_after = week >= 30;
        let interstage = if is_after {
            interstage * 5 / 6
        } else {
            interstage
        };
        let entry = kpa([Some(inlet), Some(interstage), Some(outlet)]);
        let definition = if is_after { &after } else { &before };
        let told = chronicle.take(&visited(definition, day(7 * week), entry));
        assert_eq!(told.raised, vec![], "week {week}");
        started.extend(told.started);
        sound(&chronicle, definition, day(7 * week));
    }
    assert_eq!(started.len(), 4);
    let last = started[3];
    assert_eq!((last.watched, last.at), (Watched::FirstStage, day(210)));
    assert_eq!(last.why, BaselineWhy::Watch(Begun::Changed(Change::Ratio)));
}

#[test]
fn a_recalibration_starts_the_outlet_anew_and_names_its_record() {
    let simulated = simulated(
        &Conditions::reference(),
        3,
        80.0,
        Some(fault(FaultKind::SetPointMoved, 39.9, 0.09)),
    );
    let mut with_act = Chronicle::new();
    let mut raised = Vec::new();
    let mut started = Vec::new();
    for (week, reading) in simulated.readings.iter().enumerate() {
        if week == 40 {
            let told = with_act.take(&Event::Restart(Restarted {
                at: reading.taken_at - TimeDelta::hours(1),
                work: Work::Recalibrated,
                what: Restart::SecondStage,
                record: record(77),
            }));
            started.extend(told.started);
        }
        let told = with_act.take(&visited(
            &simulated.station,
            reading.taken_at,
            reading.entry,
        ));
        raised.extend(told.raised);
    }
    assert_eq!(raised, vec![]);
    assert_eq!(started.len(), 1);
    assert_eq!(started[0].watched, Watched::Outlet);
    let why = BaselineWhy::Work {
        work: Work::Recalibrated,
        record: record(77),
    };
    assert_eq!((started[0].why, why.code()), (why, "recalibrated"));
    assert_eq!(with_act.baselines()[2], Some(started[0]));
}

#[test]
fn work_on_what_a_condition_is_about_ends_it() {
    let simulated = simulated(
        &Conditions::reference(),
        3,
        56.0,
        Some(fault(FaultKind::SetPointMoved, 39.9, 0.09)),
    );
    let mut chronicle = Chronicle::new();
    for reading in &simulated.readings {
        chronicle.take(&visited(
            &simulated.station,
            reading.taken_at,
            reading.entry,
        ));
    }
    let about = |chronicle: &Chronicle| {
        let outlet =
            |condition: &&winze_core::assess::Condition| condition.watched == Watched::Outlet;
        chronicle.standing().iter().filter(outlet).count()
    };
    assert!(about(&chronicle) > 0);
    let restart = |what| {
        Event::Restart(Restarted {
            at: day(400),
            work: Work::Overhauled,
            what,
            record: record(1),
        })
    };
    let mut other = chronicle.clone();
    other.take(&restart(Restart::FirstStage));
    assert_eq!(about(&other), about(&chronicle));
    chronicle.take(&restart(Restart::SecondStage));
    assert_eq!(about(&chronicle), 0);
}

/// One thing that happens, in numbers.
#[derive(Debug, Clone, Copy)]
enum Happens {
    Visit {
        days: i64,
        kpa: [Option<i64>; 3],
        ticks: u8,
        definition: u8,
    },
    Restart(u8),
    Answer(u8, bool),
}

fn happenings() -> impl Strategy<Value = Vec<Happens>> {
    let near = |middle: i64| {
        prop_oneof![
            1 => Just(None),
            8 => (middle * 95 / 100..middle * 105 / 100).prop_map(Some),
            1 => (-100_i64..20_000).prop_map(Some),
        ]
    };
    let visit = (
        0_i64..15,
        near(1000),
        near(400),
        near(200),
        any::<u8>(),
        0_u8..12,
    )
        .prop_map(
            |(days, inlet, interstage, outlet, ticks, definition)| Happens::Visit {
                days,
                kpa: [inlet, interstage, outlet],
                ticks,
                definition,
            },
        );
    let one = prop_oneof![
        20 => visit,
        1 => (0_u8..7).prop_map(Happens::Restart),
        3 => (0_u8..10, any::<bool>()).prop_map(|(check, is_yes)| Happens::Answer(check, is_yes)),
    ];
    prop::collection::vec(one, 1..90)
}

const RESTARTS: [Restart; 7] = [
    Restart::Station,
    Restart::Inlet,
    Restart::FirstStage,
    Restart::SecondStage,
    Restart::InletGauge,
    Restart::InterstageGauge,
    Restart::OutletGauge,
];

/// Goes through a life from its `skip`th event on, `each` seeing what was told.
fn live(
    happens: &[Happens],
    skip: usize,
    chronicle: &mut Chronicle,
    mut each: impl FnMut(&mut Chronicle, Told, DateTime<Utc>),
) {
    let (usual, mut other) = (station(), station());
    other.second_stage.set_point = Typed::of(210, 0, Unit::Kilopascal);
    let mut days = 0;
    for (place, one) in happens.iter().enumerate() {
        if let Happens::Visit { days: more, .. } = one {
            days += more;
        }
        if place < skip {
            continue;
        }
        let at = day(days);
        let event = match one {
            Happens::Visit {
                kpa: values,
                ticks,
                definition,
                ..
            } => {
                let noticed = |bit: u8, tick: Tick, ticks_so_far: Ticks| {
                    if ticks & (bit << 4) == bit << 4 && ticks & 1 == 1 {
                        ticks_so_far.with(tick)
                    } else {
                        ticks_so_far
                    }
                };
                let seen = noticed(1, Tick::Leak, Ticks::NONE);
                let seen = noticed(2, Tick::Damage, seen);
                let Event::Visit(mut visit) = visited(
                    if *definition == 0 { &other } else { &usual },
                    at,
                    kpa(*values),
                ) else {
                    unreachable!("a visit")
                };
                visit.ticks = noticed(4, Tick::Noise, seen);
                Event::Visit(visit)
            }
            Happens::Restart(place) => Event::Restart(Restarted {
                at,
                work: Work::Overhauled,
                what: RESTARTS[usize::from(*place)],
                record: record(5),
            }),
            Happens::Answer(check, is_yes) => Event::Answer(Answered {
                at,
                check: Check::ALL[usize::from(*check)],
                is_yes: *is_yes,
                record: record(6),
            }),
        };
        let told = chronicle.take(&event);
        each(chronicle, told, at);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn whatever_happens_can_be_shown_and_kept(happens in happenings()) {
        let definition = station();
        live(&happens, 0, &mut Chronicle::new(), |chronicle, told, at| {
            for raised in &told.raised {
                assert!(raised.shift.is_finite() && raised.at == at);
            }
            sound(chronicle, &definition, at);
        });
    }

    #[test]
    fn a_kept_state_goes_on_as_if_it_had_never_stopped(
        happens in happenings(),
        stop in any::<prop::sample::Index>(),
    ) {
        let stop = stop.index(happens.len() + 1);
        let (mut through, mut all) = (Chronicle::new(), Vec::new());
        live(&happens, 0, &mut through, |_, told, _| all.push(told));
        let (mut first, mut told_first) = (Chronicle::new(), Vec::new());
        live(&happens[..stop], 0, &mut first, |_, told, _| told_first.push(told));
        // A shorter life told the same.
        prop_assert_eq!(&told_first[..], &all[..stop]);
        let mut then = Chronicle::from_bytes(&first.to_bytes()).expect("it reads back");
        let mut told_then = Vec::new();
        live(&happens, stop, &mut then, |_, told, _| told_then.push(told));
        prop_assert_eq!(&told_then[..], &all[stop..]);
        prop_assert_eq!(then.to_bytes(), through.to_bytes());
    }

    #[test]
    fn a_damaged_state_never_panics(
        happens in happenings(),
        damage in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        cut in any::<prop::sample::Index>(),
    ) {
        let mut chronicle = Chronicle::new();
        live(&happens, 0, &mut chronicle, |_, _, _| {});
        let mut bytes = chronicle.to_bytes();
        prop_assert_eq!(Chronicle::from_bytes(&bytes[..cut.index(bytes.len())]), None);
        for (place, value) in damage {
            let place = place.index(bytes.len());
            bytes[place] = value;
        }
        let _ = Chronicle::from_bytes(&bytes);
    }
}
