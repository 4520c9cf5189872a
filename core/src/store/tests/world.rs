//! Random sets of records from three logs, each replayable from its seed.

use winze_sync_format::{
    ClockReading, ClockStatus, Draft, LogHead, LogKey, RecordRef, SignedRecord, seal,
};

use crate::merge::{copied_log_id, question_id};
use crate::record::{
    Acknowledgement, Answer, Body, CheckAnswered, Choice, Correction, Enrolment, LogOpened,
    Reading, Revocation, Role, RoundClosed, RoundOpened, Shown, SkipReason, Source, StationSkipped,
    Ticks,
};
use crate::samples::{MONDAY_MS, code, entry, station};
use crate::station::StationCode;
use crate::store::facts::Own;
use crate::suspects::Check;

/// A small generator of numbers (`SplitMix64`, Steele et al. 2014): only spread is asked of it.
pub struct Draw(u64);

impl Draw {
    pub fn of(seed: u64) -> Self {
        Self(seed)
    }

    pub fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^= mixed >> 31;
        usize::try_from(mixed % limit.max(1) as u64).unwrap()
    }

    fn pick<T: Clone>(&mut self, list: &[T]) -> Option<T> {
        if list.is_empty() {
            None
        } else {
            Some(list[self.below(list.len())].clone())
        }
    }

    /// Up to two of the newer items of a list.
    fn some(&mut self, list: &[RecordRef]) -> Vec<RecordRef> {
        let mut found: Vec<RecordRef> =
            (0..self.below(3)).filter_map(|_| self.pick(list)).collect();
        found.sort_unstable();
        found.dedup();
        found
    }
}

/// A number that a long run is told, or its own.
#[allow(clippy::disallowed_methods, reason = "how else to ask for more")]
pub fn number_from_environment(name: &str, otherwise: u64) -> u64 {
    let text = std::env::var(name).ok();
    text.map_or(otherwise, |text| text.parse().expect("a number"))
}

/// The same records in another order.
pub fn shuffled(records: &[SignedRecord], seed: u64) -> Vec<SignedRecord> {
    let mut draw = Draw(seed);
    let mut records = records.to_vec();
    for n in (1..records.len()).rev() {
        records.swap(n, draw.below(n + 1));
    }
    records
}

/// A set of records; the first log is the own one.
pub struct World {
    pub records: Vec<SignedRecord>,
    keys: Vec<LogKey>,
    heads: Vec<LogHead>,
    draw: Draw,
    now_ms: i64,
    readings: Vec<(RecordRef, StationCode)>,
    revisions: Vec<(RecordRef, StationCode)>,
    corrections: Vec<(RecordRef, RecordRef, StationCode)>,
    answers: Vec<RecordRef>,
    answered: Vec<(Vec<RecordRef>, StationCode)>,
    rounds: Vec<RecordRef>,
}

impl World {
    /// Makes about `count` records.
    pub fn of(seed: u64, count: usize) -> Self {
        let keys: Vec<LogKey> = (1..=3_u8)
            .map(|n| LogKey::from_seed(&[n ^ seed.to_le_bytes()[0]; 32]))
            .collect();
        let heads = keys
            .iter()
            .map(|key| LogHead::empty(key.log_id()))
            .collect();
        let mut world = Self {
            records: Vec::new(),
            keys,
            heads,
            draw: Draw(seed),
            now_ms: MONDAY_MS,
            readings: Vec::new(),
            revisions: Vec::new(),
            corrections: Vec::new(),
            answers: Vec::new(),
            answered: Vec::new(),
            rounds: Vec::new(),
        };
        for log in 0..3 {
            let role = if log == 2 { Role::Tablet } else { Role::Office };
            world.add(
                log,
                &Body::LogOpened(LogOpened {
                    role,
                    label: format!("log {log}"),
                }),
                vec![],
            );
        }
        // Usually the others count, so that there is something to disagree about.
        for log in 1..3 {
            if world.draw.below(4) > 0 {
                world.enrol(0, log);
            }
        }
        while world.records.len() < count {
            world.step();
        }
        world
    }

    pub fn own(&self) -> Own {
        Own {
            log: self.keys[0].log_id(),
            role: Role::Office,
            label: "log 0".to_owned(),
        }
    }

    /// The key of one of the three logs.
    pub fn key(&self, log: usize) -> &LogKey {
        &self.keys[log]
    }

    fn step(&mut self) {
        let log = self.draw.below(3);
        self.now_ms += i64::try_from(self.draw.below(2 * 3_600_000)).unwrap();
        match self.draw.below(31) {
            0 => {
                let target = self.draw.below(3);
                self.enrol(log, target);
            }
            1 => {
                let target = self.keys[self.draw.below(3)].log_id();
                let last_seq = [None, Some(2), Some(5), Some(9)][self.draw.below(4)];
                let body = Revocation {
                    log: target,
                    last_seq,
                    reason: String::new(),
                };
                self.add(log, &Body::Revocation(body), vec![]);
            }
            2..=5 => self.revision(log),
            6..=14 => self.reading(log),
            15..=18 => self.correction(log),
            19..=24 => self.answer(log),
            25 => {
                let stations = vec![code("T-01"), code("T-02")];
                let body = RoundOpened {
                    title: "r".into(),
                    stations,
                    utc_offset_minutes: 60,
                };
                let at = self.add(log, &Body::RoundOpened(body), vec![]);
                self.rounds.push(at);
            }
            26 if self.draw.below(2) == 0 => self.note_a_fork(log),
            26 => self.about_a_round(log),
            27 => {
                if let Some(record) = self.draw.pick(&self.records) {
                    let at = record.reference();
                    let body = Acknowledgement {
                        log: at.log,
                        seq: at.seq,
                        id: at.id,
                    };
                    let body = if self.draw.below(2) == 0 {
                        Body::Acknowledgement(body)
                    } else {
                        Body::BackedUp(body)
                    };
                    self.add(log, &body, vec![]);
                }
            }
            28 => self.odd(log),
            30 => self.check(log),
            _ => self.fork(log),
        }
    }

    fn enrol(&mut self, by: usize, target: usize) {
        let role = if self.draw.below(3) == 0 {
            Role::Tablet
        } else {
            Role::Office
        };
        let body = Enrolment {
            log: self.keys[target].log_id(),
            name: format!("by {by}"),
            role,
        };
        self.add(by, &Body::Enrolment(body), vec![]);
    }

    fn station(&mut self) -> StationCode {
        code(["T-01", "T-02"][self.draw.below(2)])
    }

    fn revision(&mut self, log: usize) {
        let code = self.station();
        let mut definition = station(code.as_str());
        definition.name = ["north", "south"][self.draw.below(2)].to_owned();
        let known: Vec<RecordRef> = self
            .revisions
            .iter()
            .filter(|(_, of)| *of == code)
            .map(|(at, _)| *at)
            .collect();
        let replaces = self.draw.some(&known);
        let at = self.add(log, &Body::StationRevision(Box::new(definition)), replaces);
        self.revisions.push((at, code));
    }

    fn reading(&mut self, log: usize) {
        let station = self.station();
        let Some((revision, _)) = self.draw.pick(&self.revisions) else {
            return;
        };
        let value = [20, 20, 26][self.draw.below(3)];
        let sheet = self.draw.below(5) == 0;
        let body = Reading {
            station: station.clone(),
            revision,
            round: self.draw.pick(&self.rounds),
            entry: entry(100, 40, value),
            ticks: Ticks::NONE,
            note: String::new(),
            doubts: Vec::new(),
            shown: Shown::default(),
            source: if sheet {
                Source::Sheet {
                    taken_ms: self.now_ms - 3_600_000,
                    row: [7; 32],
                }
            } else {
                Source::OnTheSpot
            },
            utc_offset_minutes: None,
        };
        let at = self.add(log, &Body::Reading(Box::new(body)), vec![]);
        self.readings.push((at, station));
    }

    fn correction(&mut self, log: usize) {
        let Some((reading, station)) = self.draw.pick(&self.readings) else {
            return;
        };
        let known: Vec<RecordRef> = self
            .corrections
            .iter()
            .filter(|(_, of, _)| *of == reading)
            .map(|(at, _, _)| *at)
            .collect();
        let value = [20, 21, 26][self.draw.below(3)];
        let replaces = self.draw.some(&known);
        let body = Correction {
            reading,
            station: station.clone(),
            entry: entry(100, 40, value),
            shown: Shown::default(),
            reason: String::new(),
        };
        let at = self.add(log, &Body::Correction(Box::new(body)), replaces);
        self.corrections.push((at, reading, station));
    }

    /// Answers a question that may or may not be asked.
    fn answer(&mut self, log: usize) {
        let (about, station) = self.something_to_answer();
        let Some(first) = about.first().copied() else {
            return;
        };
        let choice = match self.draw.below(5) {
            0 => Choice::KeepAll,
            1 => Choice::VoidAll,
            2 => Choice::AsFirstWritten,
            _ => Choice::Prefer(first),
        };
        let replaces = self.draw.some(&self.answers.clone());
        let question = question_id(&about);
        self.answered.push((about.clone(), station.clone()));
        let station = Some(station);
        let body = Answer {
            question,
            about,
            station,
            choice,
            note: String::new(),
        };
        let at = self.add(log, &Body::Answer(body), replaces);
        self.answers.push(at);
    }

    /// What was answered before, what stands side by side, or anything.
    fn something_to_answer(&mut self) -> (Vec<RecordRef>, StationCode) {
        if self.draw.below(3) == 0
            && let Some(before) = self.draw.pick(&self.answered)
        {
            return before;
        }
        let station = self.station();
        let pool = match self.draw.below(5) {
            0 => Self::of_station(&self.revisions, &station),
            1 => {
                let of = self.corrections.iter().filter(|(_, _, of)| *of == station);
                of.map(|(at, _, _)| *at).collect()
            }
            _ => Self::of_station(&self.readings, &station),
        };
        let newest = &pool[pool.len().saturating_sub(3)..];
        let wanted = 1 + usize::from(self.draw.below(6) > 0);
        let mut about: Vec<RecordRef> =
            (0..wanted).filter_map(|_| self.draw.pick(newest)).collect();
        about.sort_unstable();
        about.dedup();
        (about, station)
    }

    fn of_station(list: &[(RecordRef, StationCode)], code: &StationCode) -> Vec<RecordRef> {
        list.iter()
            .filter(|(_, of)| of == code)
            .map(|(at, _)| *at)
            .collect()
    }

    fn about_a_round(&mut self, log: usize) {
        let Some(round) = self.draw.pick(&self.rounds) else {
            return;
        };
        let body = if self.draw.below(2) == 0 {
            Body::RoundClosed(RoundClosed {
                round,
                note: String::new(),
            })
        } else {
            let (station, reason) = (self.station(), SkipReason::NoTime);
            Body::StationSkipped(StationSkipped {
                round,
                station,
                reason,
                note: String::new(),
            })
        };
        self.add(log, &body, vec![]);
    }

    fn check(&mut self, log: usize) {
        if let Some((reading, station)) = self.draw.pick(&self.readings) {
            let body = CheckAnswered {
                station,
                check: Check::TestOutletGauge,
                is_yes: self.draw.below(2) == 0,
                note: String::new(),
            };
            self.add(log, &Body::CheckAnswered(body), vec![reading]);
        }
    }

    /// A record of a kind nobody knows, or a reading nobody understands.
    fn odd(&mut self, log: usize) {
        let kind = [59, 70, 40][self.draw.below(3)];
        self.seal(log, kind, vec![0xa1, 0x01, 0x02], vec![]);
    }

    /// Notes that a log was copied, if it was.
    fn note_a_fork(&mut self, log: usize) {
        let mut places: Vec<RecordRef> = self.records.iter().map(SignedRecord::reference).collect();
        places.sort_unstable();
        let same = |one: &RecordRef, next: &RecordRef| (one.log, one.seq) == (next.log, next.seq);
        let Some(about) = places.chunk_by(same).find(|chunk| chunk.len() > 1) else {
            return;
        };
        let about = about.to_vec();
        let question = copied_log_id(&about);
        let (choice, note) = (Choice::Noted, String::new());
        let body = Answer {
            question,
            about,
            station: None,
            choice,
            note,
        };
        let at = self.add(log, &Body::Answer(body), vec![]);
        self.answers.push(at);
    }

    /// Writes a second record at a place that is taken, as a copied logbook would.
    fn fork(&mut self, log: usize) {
        let log_id = self.keys[log].log_id();
        let own: Vec<RecordRef> = self
            .records
            .iter()
            .map(SignedRecord::reference)
            .filter(|at| at.log == log_id)
            .collect();
        if let Some(at) = self.draw.pick(&own) {
            self.heads[log] = LogHead::after(&at).unwrap();
        }
    }

    fn add(&mut self, log: usize, body: &Body, refs: Vec<RecordRef>) -> RecordRef {
        self.seal(log, body.kind().number(), body.encode().unwrap(), refs)
    }

    fn seal(&mut self, log: usize, kind: u64, body: Vec<u8>, refs: Vec<RecordRef>) -> RecordRef {
        let clock = ClockReading {
            wall_ms: self.now_ms,
            status: ClockStatus::HandSet,
            boot: [0; 16],
            monotonic_ms: 0,
        };
        let nonce = (self.records.len() as u64).to_be_bytes();
        let draft = Draft {
            kind,
            clock,
            person: "p".to_owned(),
            refs,
            body,
            nonce,
        };
        let record = seal(&self.keys[log], &mut self.heads[log], draft).unwrap();
        let at = record.reference();
        self.records.push(record);
        at
    }
}
