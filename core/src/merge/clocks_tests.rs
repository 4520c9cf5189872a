//! Tests of corrected times.

use proptest::prelude::*;
use winze_sync_format::{ClockStatus, LogId, RecordId};

use super::*;
use crate::clock::{DAY_MS, HOUR_MS, MINUTE_MS};

const YEAR_MS: i64 = 365 * DAY_MS;
/// 2026-01-05T06:00:00Z.
const START_MS: i64 = 20_458 * DAY_MS + 6 * HOUR_MS;

/// A device: its true time is known here, its wall clock is off.
struct Device {
    facts: Vec<ClockFact>,
    truth: Vec<i64>,
    boot: u8,
    booted_ms: i64,
    now_ms: i64,
    off_ms: i64,
}

impl Device {
    fn new(off_ms: i64) -> Self {
        Self {
            facts: Vec::new(),
            truth: Vec::new(),
            boot: 1,
            booted_ms: START_MS - HOUR_MS,
            now_ms: START_MS,
            off_ms,
        }
    }

    fn start_anew(&mut self) {
        self.boot += 1;
        self.booted_ms = self.now_ms;
    }

    fn wait(&mut self, ms: i64) {
        self.now_ms += ms;
    }

    fn monotonic_ms(&self) -> u64 {
        u64::try_from(self.now_ms - self.booted_ms).unwrap()
    }

    fn write(&mut self) {
        self.wait(MINUTE_MS);
        let seq = self.facts.len() as u64;
        let mut id = [0; 32];
        id[..8].copy_from_slice(&seq.to_be_bytes());
        self.truth.push(self.now_ms);
        self.facts.push(ClockFact {
            at: RecordRef {
                log: LogId([1; 32]),
                seq,
                id: RecordId(id),
            },
            clock: ClockReading {
                wall_ms: self.now_ms + self.off_ms,
                status: ClockStatus::HandSet,
                boot: [self.boot; 16],
                monotonic_ms: self.monotonic_ms(),
            },
        });
    }

    fn seen(&self, side: Side) -> ClockSeen {
        ClockSeen {
            boot: [self.boot; 16],
            monotonic_ms: self.monotonic_ms(),
            office_ms: self.now_ms,
            side,
        }
    }

    /// By how much each record is off in the end.
    fn errors(&self, seen: &[ClockSeen]) -> Vec<i64> {
        let corrected = corrected_times(&self.facts, seen, false);
        self.facts
            .iter()
            .zip(&self.truth)
            .map(|(fact, truth)| {
                let ms = corrected
                    .get(&fact.at)
                    .map_or(fact.clock.wall_ms, |time| time.ms);
                ms - truth
            })
            .collect()
    }
}

/// A year, sixty years, hours: with one look at both clocks in the same running period every reading
/// of the period is right to the millisecond.
#[test]
fn one_look_at_both_clocks_places_every_record_of_the_running_period() {
    for off_ms in [
        YEAR_MS,
        -YEAR_MS,
        60 * YEAR_MS,
        -60 * YEAR_MS,
        -HOUR_MS,
        3 * MINUTE_MS,
    ] {
        let mut device = Device::new(off_ms);
        (0..5).for_each(|_| device.write());
        let seen = [device.seen(Side::At)];
        (0..3).for_each(|_| device.write());
        assert_eq!(device.errors(&seen), [0; 8], "{off_ms}");
    }
}

/// A stick carried to the office and back: the error is at most the time it took.
#[test]
fn a_stick_there_and_back_bounds_the_error_by_the_time_it_took() {
    for off_ms in [YEAR_MS, -YEAR_MS, 60 * YEAR_MS, -60 * YEAR_MS] {
        let mut device = Device::new(off_ms);
        (0..5).for_each(|_| device.write());
        let mut there = device.seen(Side::NotAfter);
        device.wait(7 * MINUTE_MS);
        there.office_ms = device.now_ms;
        let mut back = device.seen(Side::NotBefore);
        device.wait(5 * MINUTE_MS);
        back.monotonic_ms = device.monotonic_ms();
        for error in device.errors(&[there, back]) {
            assert!(error.abs() <= 12 * MINUTE_MS, "{off_ms}: {error}");
        }
    }
}

/// A week with a new start each day and one look at its end: what the clock was wrong by at the end
/// it was wrong by before.
#[test]
fn earlier_running_periods_are_wrong_by_the_same_and_lie_between_their_neighbours() {
    for off_ms in [YEAR_MS, -YEAR_MS, -60 * YEAR_MS] {
        let mut device = Device::new(off_ms);
        device.write();
        let mut seen = vec![device.seen(Side::At)];
        for _ in 0..6 {
            device.wait(DAY_MS);
            device.start_anew();
            (0..4).for_each(|_| device.write());
        }
        device.start_anew();
        device.write();
        seen.push(device.seen(Side::At));
        assert!(
            device.errors(&seen).iter().all(|error| *error == 0),
            "{off_ms}"
        );
    }
}

#[test]
fn a_clock_that_was_right_is_believed_to_the_millisecond() {
    let mut device = Device::new(0);
    device.write();
    let early = device.seen(Side::NotBefore);
    device.wait(DAY_MS);
    device.start_anew();
    device.write();
    let late = device.seen(Side::NotAfter);
    assert!(corrected_times(&device.facts, &[early, late], false).is_empty());
    assert!(corrected_times(&device.facts, &[], false).is_empty());
}

/// Set back in the middle of a round: the readings keep their order, as the monotonic clock knows it.
#[test]
fn a_clock_set_back_in_the_middle_of_a_round_leaves_the_order() {
    let mut device = Device::new(0);
    (0..4).for_each(|_| device.write());
    device.off_ms = -3 * HOUR_MS;
    (0..4).for_each(|_| device.write());
    device.wait(20 * MINUTE_MS);
    let seen = [
        ClockSeen {
            office_ms: device.now_ms - 30 * MINUTE_MS,
            ..device.seen(Side::NotBefore)
        },
        device.seen(Side::NotAfter),
    ];
    assert!(device.errors(&seen).iter().all(|error| *error == 0));
}

/// The time of year moves local time and not the clock: the offset is kept beside it and plays no part.
#[test]
fn two_offices_whose_clocks_differ_leave_the_time_between_them() {
    let mut device = Device::new(YEAR_MS);
    device.write();
    let mut early = device.seen(Side::NotBefore);
    early.office_ms += 3 * MINUTE_MS;
    let late = device.seen(Side::NotAfter);
    let error = device.errors(&[early, late])[0];
    assert!((0..=3 * MINUTE_MS).contains(&error), "{error}");
}

#[test]
fn a_copied_log_says_nothing_about_time_by_its_places() {
    let mut device = Device::new(-YEAR_MS);
    device.write();
    let early = device.seen(Side::At);
    device.start_anew();
    device.write();
    let corrected = corrected_times(&device.facts, &[early], true);
    assert_eq!(corrected.len(), 1);
}

fn any_fact() -> impl Strategy<Value = ClockFact> {
    let number = prop_oneof![Just(i64::MIN), Just(i64::MAX), -9_i64..9, any::<i64>()];
    (
        0_u64..12,
        0_u8..4,
        number,
        prop_oneof![Just(u64::MAX), 0_u64..9],
    )
        .prop_map(|(seq, boot, wall_ms, monotonic_ms)| ClockFact {
            at: RecordRef {
                log: LogId([1; 32]),
                seq,
                id: RecordId([boot; 32]),
            },
            clock: ClockReading {
                wall_ms,
                status: ClockStatus::HandSet,
                boot: [boot; 16],
                monotonic_ms,
            },
        })
}

fn any_seen() -> impl Strategy<Value = ClockSeen> {
    let number = prop_oneof![Just(i64::MIN), Just(i64::MAX), -9_i64..9];
    (0_u8..4, 0_u64..9, number, 0_usize..3).prop_map(|(boot, monotonic_ms, office_ms, side)| {
        ClockSeen {
            boot: [boot; 16],
            monotonic_ms,
            office_ms,
            side: [Side::At, Side::NotBefore, Side::NotAfter][side],
        }
    })
}

proptest! {
    /// Neither the order of records nor that of observations matters, nor how often each comes; and a
    /// corrected time lies within its bounds, whatever the numbers.
    #[test]
    fn any_order_gives_the_same_times_within_their_bounds(
        facts in proptest::collection::vec(any_fact(), 0..10),
        seen in proptest::collection::vec(any_seen(), 0..6),
        is_forked in any::<bool>(),
    ) {
        // One record shows one thing.
        let mut facts = facts;
        facts.sort_by_key(|fact| fact.at);
        facts.dedup_by_key(|fact| fact.at);
        let times = corrected_times(&facts, &seen, is_forked);
        let mut backwards = facts.clone();
        backwards.reverse();
        backwards.extend(facts.clone());
        let mut seen_backwards = seen.clone();
        seen_backwards.reverse();
        seen_backwards.extend(seen);
        prop_assert_eq!(&times, &corrected_times(&backwards, &seen_backwards, is_forked));
        for time in times.values() {
            prop_assert!(time.low_ms.is_none_or(|low| low <= time.ms));
            prop_assert!(time.high_ms.is_none_or(|high| time.ms <= high));
        }
    }
}
