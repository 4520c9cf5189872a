//! Clocks that were wrong, from the tablet to the office and back.

use proptest::prelude::*;
use winze_sync_format::{
    ClockReading, ClockStatus, Draft, LogHead, LogId, LogKey, RecordRef, SignedRecord, seal,
};

use super::world::{Draw, shuffled};
use crate::actions::PackFor;
use crate::clock::{DAY_MS, HOUR_MS, MINUTE_MS};
use crate::query::{past_readings, time_worked_out};
use crate::record::{
    Body, ClockObserved, Enrolment, LogOpened, Reading, Revocation, Role, Shown, Side, Source,
    Ticks,
};
use crate::samples::{Kept, MONDAY_MS, code, entry, station};
use crate::store::projection_of;

const YEAR_MS: i64 = 365 * DAY_MS;

/// The tablet's clock is wrong by a year or by sixty; it is noticed at the first exchange, and the
/// readings stand at the right time at the office and on the tablet, the first time beside it.
#[test]
fn readings_of_a_wrong_clock_are_shown_at_the_right_time_with_the_first_beside_it() {
    for off_ms in [YEAR_MS, -YEAR_MS, 40 * YEAR_MS, -60 * YEAR_MS] {
        let mut office = Kept::new(Role::Office, "Office");
        let mut tablet = Kept::new(Role::Tablet, "A");
        office.define("T-01");
        office.enrol(&tablet, "A", Role::Tablet);
        tablet.enrol(&office, "Office", Role::Office);
        let definitions = office.pack(PackFor::Tablets);
        tablet.merge(&[definitions]);
        tablet.clock.set(MONDAY_MS + off_ms);
        let read = tablet.read("T-01", (100, 40, 20));
        // Both clocks go on together; the stick takes an hour each way.
        let there = tablet.pack(PackFor::Office);
        office.clock.set(MONDAY_MS + HOUR_MS);
        office.merge(&[there]);
        let back = office.pack(PackFor::Tablets);
        tablet.clock.advance_ms(u32::try_from(2 * HOUR_MS).unwrap());
        tablet.merge(&[back]);
        let again = tablet.pack(PackFor::Office);
        office.clock.set(MONDAY_MS + 3 * HOUR_MS);
        office.merge(&[again]);
        for book in [&office.book, &tablet.book] {
            let visit = past_readings(book, &code("T-01"), 1).unwrap().remove(0);
            let off = visit.taken_ms - MONDAY_MS;
            assert!(off.abs() <= 2 * HOUR_MS, "{off_ms}: off by {off} ms");
            let time = visit.time.unwrap();
            assert_eq!(time.shown_ms, MONDAY_MS + off_ms + MINUTE_MS);
            assert_eq!(time_worked_out(book, read).unwrap(), Some(time));
            assert!(time.low_ms.is_none_or(|low| low <= MONDAY_MS + HOUR_MS));
        }
        let dump = tablet.dump();
        tablet.book.rebuild().unwrap();
        assert!(tablet.dump() == dump);
    }
}

#[test]
fn honest_clocks_leave_no_record_of_themselves() {
    let (mut office, mut tablet) = (
        Kept::new(Role::Office, "Office"),
        Kept::new(Role::Tablet, "A"),
    );
    office.define("T-01");
    office.enrol(&tablet, "A", Role::Tablet);
    tablet.enrol(&office, "Office", Role::Office);
    for _ in 0..3 {
        let back = office.pack(PackFor::Tablets);
        tablet.merge(&[back]);
        tablet.read("T-01", (100, 40, 20));
        let there = tablet.pack(PackFor::Office);
        office.clock.advance_ms(u32::try_from(2 * DAY_MS).unwrap());
        tablet.clock.advance_ms(u32::try_from(2 * DAY_MS).unwrap());
        office.merge(&[there]);
    }
    assert!(!office.dump().contains("clock-observed"));
    assert!(!tablet.dump().contains("corrected-time"));
}

/// Records of one office and two tablets whose clocks jump about, with observations of all kinds.
struct Clocks {
    keys: Vec<LogKey>,
    heads: Vec<LogHead>,
    records: Vec<SignedRecord>,
    draw: Draw,
    revision: Option<RecordRef>,
}

impl Clocks {
    fn of(seed: u64, count: usize) -> Self {
        let keys: Vec<LogKey> = (1..=3_u8).map(|n| LogKey::from_seed(&[n; 32])).collect();
        let heads = keys
            .iter()
            .map(|key| LogHead::empty(key.log_id()))
            .collect();
        let (records, draw, revision) = (Vec::new(), Draw::of(seed), None);
        let mut clocks = Self {
            keys,
            heads,
            records,
            draw,
            revision,
        };
        for log in 0..3 {
            let role = if log == 2 { Role::Tablet } else { Role::Office };
            let label = String::new();
            clocks.add(log, &Body::LogOpened(LogOpened { role, label }));
        }
        clocks.revision = Some(clocks.add(0, &Body::StationRevision(Box::new(station("T-01")))));
        while clocks.records.len() < count {
            clocks.step();
        }
        clocks
    }

    fn own(&self) -> LogId {
        self.keys[0].log_id()
    }

    fn step(&mut self) {
        let log = self.draw.below(3);
        let target = self.keys[self.draw.below(3)].log_id();
        match self.draw.below(12) {
            0 if log == 0 && target != self.own() => {
                let (name, role) = (
                    String::new(),
                    [Role::Office, Role::Tablet][self.draw.below(2)],
                );
                self.add(
                    log,
                    &Body::Enrolment(Enrolment {
                        log: target,
                        name,
                        role,
                    }),
                );
            }
            1 => {
                let (last_seq, reason) = (Some(self.draw.below(9) as u64), String::new());
                self.add(
                    log,
                    &Body::Revocation(Revocation {
                        log: target,
                        last_seq,
                        reason,
                    }),
                );
            }
            2..=4 => {
                let body = ClockObserved {
                    log: target,
                    boot: [u8::try_from(self.draw.below(3)).unwrap(); 16],
                    monotonic_ms: self.draw.below(1000) as u64 * 1000,
                    office_ms: MONDAY_MS + i64::try_from(self.draw.below(1000)).unwrap() * 1000,
                    side: [Side::At, Side::NotBefore, Side::NotAfter][self.draw.below(3)],
                };
                self.add(log, &Body::ClockObserved(body));
            }
            5 => {
                // A second record at a place that is taken: the log was copied.
                let own: Vec<RecordRef> = self
                    .records
                    .iter()
                    .map(SignedRecord::reference)
                    .filter(|at| at.log == self.keys[log].log_id())
                    .collect();
                let at = own[self.draw.below(own.len())];
                if self.draw.below(4) == 0 {
                    self.heads[log] = LogHead::after(&at).unwrap();
                }
            }
            _ => self.read(log),
        }
    }

    fn read(&mut self, log: usize) {
        let Some(revision) = self.revision else {
            return;
        };
        let body = Reading {
            station: code("T-01"),
            revision,
            round: None,
            entry: entry(100, 40, 20),
            ticks: Ticks::NONE,
            note: String::new(),
            doubts: Vec::new(),
            shown: Shown::default(),
            source: Source::OnTheSpot,
            utc_offset_minutes: Some([0, 60][self.draw.below(2)]),
        };
        self.add(log, &Body::Reading(Box::new(body)));
    }

    fn add(&mut self, log: usize, body: &Body) -> RecordRef {
        let off_ms = [0, 0, YEAR_MS, -60 * YEAR_MS][self.draw.below(4)];
        let monotonic_ms = self.draw.below(1000) as u64 * 1000;
        let clock = ClockReading {
            wall_ms: MONDAY_MS + monotonic_ms.cast_signed() + off_ms,
            status: ClockStatus::HandSet,
            boot: [u8::try_from(self.draw.below(3)).unwrap(); 16],
            monotonic_ms,
        };
        let draft = Draft {
            kind: body.kind().number(),
            clock,
            person: String::new(),
            refs: Vec::new(),
            body: body.encode().unwrap(),
            nonce: (self.records.len() as u64).to_be_bytes(),
        };
        let record = seal(&self.keys[log], &mut self.heads[log], draft).unwrap();
        let at = record.reference();
        self.records.push(record);
        at
    }
}

proptest! {
    /// Law 13: observations before or after readings, before or after those who make them count, in
    /// any order and portions, give the same projection.
    #[test]
    fn observations_before_or_after_readings_give_the_same_times(
        seed in any::<u64>(), portion in 1_usize..9,
    ) {
        let clocks = Clocks::of(seed, 28);
        let all = projection_of(clocks.own(), &clocks.records, usize::MAX).unwrap();
        let again = shuffled(&clocks.records, seed ^ 1);
        prop_assert!(all == projection_of(clocks.own(), &again, portion).unwrap(), "seed {seed}");
    }
}

#[test]
fn random_clocks_show_what_could_make_an_order_matter() {
    let (mut corrected, mut forked) = (0, 0);
    for seed in 0..60 {
        let clocks = Clocks::of(seed, 40);
        let dump = projection_of(clocks.own(), &clocks.records, usize::MAX).unwrap();
        corrected += dump.matches("\ncorrected-time\t").count();
        forked += usize::from(dump.contains("\nfork\t"));
    }
    assert!(
        corrected > 100 && forked > 5,
        "{corrected} corrected, {forked} forked"
    );
}
