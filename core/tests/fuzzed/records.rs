//! What must hold for any bytes as a script of records in the projection. A plain test feeds it
//! spoilt samples; `tests/fuzz` feeds it what a coverage-guided search thinks up.

use winze_core::merge::{copied_log_id, question_id};
use winze_core::record::{
    Acknowledgement, Answer, Body, CheckAnswered, Choice, Correction, Enrolment, Kind, LogOpened,
    Reading, Revocation, Role, RoundClosed, RoundOpened, Shown, SkipReason, Source, StationSkipped,
    Ticks,
};
use winze_core::station::{StationCode, defaults};
use winze_core::store::projection_of;
use winze_core::suspects::Check;
use winze_core::units::{Typed, Unit};
use winze_core::verdict::Entry;
use winze_sync_format::{
    ClockReading, ClockStatus, Decimal, Draft, LogHead, LogId, LogKey, RecordId, RecordRef,
    SignedRecord, seal,
};

/// Most records of one set.
const RECORDS_MAX: usize = 48;

/// Any set of records, of any kinds with any bodies about each other, by three logs that were also
/// copied: it has one projection, in whatever order and portions it comes, and every record is in
/// it.
pub fn projection(data: &[u8]) {
    let records = records_of(data);
    let own = key(0).log_id();
    let project = |records: &[SignedRecord], portion| match projection_of(own, records, portion) {
        Ok(dump) => dump,
        Err(error) => panic!("{error}"),
    };
    let at_once = project(&records, RECORDS_MAX);
    let backwards: Vec<_> = records.iter().rev().cloned().collect();
    assert!(project(&backwards, 1) == at_once, "backwards, one by one");
    let (front, back) = records.split_at(records.len() / 2);
    let turned = [back, front, back].concat();
    assert!(
        project(&turned, 3) == at_once,
        "turned, by threes, some twice"
    );
    for record in &records {
        let id = record.reference().id.to_string();
        assert!(at_once.contains(&id), "{id} is not in the projection");
    }
}

fn key(log: u8) -> LogKey {
    LogKey::from_seed(&[log % 3 + 1; 32])
}

/// Reads numbers off some bytes; zeros behind their end.
struct Script<'a>(&'a [u8]);

impl<'a> Script<'a> {
    fn byte(&mut self) -> u8 {
        let Some((&first, rest)) = self.0.split_first() else {
            return 0;
        };
        self.0 = rest;
        first
    }

    fn take(&mut self, count: usize) -> &'a [u8] {
        let (front, rest) = self.0.split_at(count.min(self.0.len()));
        self.0 = rest;
        front
    }
}

/// Any bytes as a set of records. A statement is: log and what to do before (the log goes back to an
/// earlier place, as a copied one would), kind, number of references and these, minutes gone by,
/// length of the body and the body, in which names stand as [`stand_in`] makes them.
fn records_of(data: &[u8]) -> Vec<SignedRecord> {
    let mut script = Script(data);
    let mut heads = [0, 1, 2].map(|log| LogHead::empty(key(log).log_id()));
    let mut records: Vec<SignedRecord> = Vec::new();
    let mut wall_ms = 1_800_000_000_000;
    while !script.0.is_empty() && records.len() < RECORDS_MAX {
        let how = script.byte();
        let log = how % 3;
        if how & 0x40 != 0
            && let Some(at) = nth(&records, script.byte())
            && at.log == key(log).log_id()
            && let Ok(head) = LogHead::after(&at)
        {
            heads[usize::from(log)] = head;
        }
        let kind = u64::from(script.byte());
        let mut refs = Vec::new();
        for _ in 0..script.byte() % 4 {
            refs.extend(nth(&records, script.byte()));
        }
        refs.sort_unstable();
        refs.dedup();
        wall_ms += 60_000 * (i64::from(script.byte()) - 60);
        let length = usize::from(script.byte()) * 16 + usize::from(script.byte() % 16);
        let body = script.take(length);
        let body = if kind == Kind::Answer.number() {
            answer(&records, body)
        } else {
            named(&records, body)
        };
        let draft = Draft {
            kind,
            clock: ClockReading {
                wall_ms,
                status: ClockStatus::HandSet,
                boot: [0; 16],
                monotonic_ms: 0,
            },
            person: "p".to_owned(),
            refs,
            body,
            nonce: [0; 8],
        };
        // What is no record is left out: the search finds its way to those that are.
        records.extend(seal(&key(log), &mut heads[usize::from(log)], draft));
    }
    records
}

fn nth(records: &[SignedRecord], number: u8) -> Option<RecordRef> {
    let at = usize::from(number).checked_rem(records.len())?;
    Some(records[at].reference())
}

/// The name of the record of this number, for a body in a script.
fn stand_in(number: u8) -> RecordRef {
    RecordRef {
        log: LogId([0xff; 32]),
        seq: 0,
        id: RecordId([number; 32]),
    }
}

/// The name of a log, for a body in a script.
fn log_stand_in(log: u8) -> LogId {
    LogId([0xf0 + log; 32])
}

/// A body with true names in place of those that only stand in for them.
fn named(records: &[SignedRecord], body: &[u8]) -> Vec<u8> {
    let all_same = |at: usize| {
        let bytes = body.get(at..at + 32)?;
        bytes
            .iter()
            .all(|&byte| byte == bytes[0])
            .then_some(bytes[0])
    };
    let (mut out, mut at) = (Vec::new(), 0);
    while at < body.len() {
        let rest = &body[at..];
        if rest.starts_with(&[0x83, 0x58, 0x20, 0xff])
            && all_same(at + 3) == Some(0xff)
            && rest.get(35..38) == Some(&[0, 0x58, 0x20])
            && let Some(number) = all_same(at + 38)
            && let Some(name) = nth(records, number)
        {
            out.extend([0x83, 0x58, 0x20]);
            out.extend(name.log.0);
            out.extend(short_head(name.seq));
            out.extend([0x58, 0x20]);
            out.extend(name.id.0);
            at += 70;
        } else if rest.starts_with(&[0x58, 0x20])
            && let Some(log @ 0xf0..=0xf2) = all_same(at + 2)
        {
            out.extend([0x58, 0x20]);
            out.extend(key(log - 0xf0).log_id().0);
            at += 34;
        } else {
            out.push(rest[0]);
            at += 1;
        }
    }
    out
}

/// The shortest head of a number below 256: no log here is longer.
fn short_head(number: u64) -> Vec<u8> {
    let byte = number.to_le_bytes()[0];
    if byte < 24 {
        vec![byte]
    } else {
        vec![0x18, byte]
    }
}

/// An answer: the bytes tell the choice, the station and what it is about, for its question's name
/// follows from that.
fn answer(records: &[SignedRecord], script: &[u8]) -> Vec<u8> {
    let mut script = Script(script);
    let (how, station) = (script.byte(), code(script.byte()));
    let mut about: Vec<_> = (0..=script.byte() % 3)
        .filter_map(|_| nth(records, script.byte()))
        .collect();
    about.sort_unstable();
    about.dedup();
    let Some(first) = about.first().copied() else {
        return Vec::new();
    };
    let choice = match how % 5 {
        0 => Choice::KeepAll,
        1 => Choice::VoidAll,
        2 => Choice::AsFirstWritten,
        3 => Choice::Noted,
        _ => Choice::Prefer(first),
    };
    let is_about_a_log = choice == Choice::Noted;
    let body = Answer {
        question: if is_about_a_log {
            copied_log_id(&about)
        } else {
            question_id(&about)
        },
        about,
        station: (!is_about_a_log).then_some(station),
        choice,
        note: String::new(),
    };
    Body::Answer(body).encode().unwrap_or_default()
}

fn code(number: u8) -> StationCode {
    StationCode::parse(["T-01", "T-02"][usize::from(number % 2)]).expect("a code")
}

/// What to start from.
pub fn seeds() -> Vec<Vec<u8>> {
    vec![story()]
}

/// A script in which every kind that orders could matter to is said, some of it twice and about each
/// other.
fn story() -> Vec<u8> {
    let mut script = Vec::new();
    let mut say = |log: u8, refs: &[u8], body: &Body| {
        let bytes = body.encode().expect("a body of this test");
        script.extend([log, kind_byte(body.kind()), refs.len().to_le_bytes()[0]]);
        script.extend(refs);
        let length = bytes.len();
        assert!(length < 4096, "{length}");
        script.push(61);
        script.extend([
            (length / 16).to_le_bytes()[0],
            (length % 16).to_le_bytes()[0],
        ]);
        script.extend(bytes);
    };
    for body in bodies() {
        let (log, refs, body) = body;
        say(log, refs, &body);
    }
    for (log, choice) in [(0, 4), (2, 1), (1, 0)] {
        script.extend([log, kind_byte(Kind::Answer), 0, 61, 0, 5]);
        script.extend([choice, 0, 1, 6, 7]);
    }
    // A copied log goes on from its first record with something that nobody understands.
    script.extend([0x40, 1, 59, 0, 61, 0, 3, 0xa1, 1, 2]);
    script
}

fn kind_byte(kind: Kind) -> u8 {
    kind.number().to_le_bytes()[0]
}

/// Log, references and body of each statement of the story.
#[allow(clippy::too_many_lines, reason = "one line for each statement")]
fn bodies() -> Vec<(u8, &'static [u8], Body)> {
    let opened = |role, label: &str| {
        let label = label.to_owned();
        Body::LogOpened(LogOpened { role, label })
    };
    let enrolment = |log, role| {
        let (log, name) = (log_stand_in(log), "n".to_owned());
        Body::Enrolment(Enrolment { log, name, role })
    };
    let whole = |mantissa| Typed::of(mantissa, 0, Unit::Bar).digits;
    let tenths = |mantissa| Typed::of(mantissa, -1, Unit::Bar);
    let entry = |outlet| Entry::of(tenths(100), tenths(40), tenths(outlet));
    let station = defaults::station(&defaults::RegisterRow {
        code: code(0),
        unit: Unit::Bar,
        ratio: decimal(25),
        set_point: decimal(20),
        inlet_typical: whole(10),
        gauge_class: decimal(16),
        spans: [whole(16), whole(10), whole(4)],
    });
    let revision = Body::StationRevision(Box::new(station));
    let reading = |outlet, revision, source| {
        Body::Reading(Box::new(Reading {
            station: code(0),
            revision: stand_in(revision),
            round: Some(stand_in(5)),
            entry: entry(outlet),
            ticks: Ticks::NONE,
            note: String::new(),
            doubts: Vec::new(),
            shown: Shown::default(),
            source,
            utc_offset_minutes: None,
        }))
    };
    let sheet = Source::Sheet {
        taken_ms: 1_799_999_000_000,
        row: [7; 32],
    };
    let correction = |outlet| {
        Body::Correction(Box::new(Correction {
            reading: stand_in(6),
            station: code(0),
            entry: entry(outlet),
            shown: Shown::default(),
            reason: String::new(),
        }))
    };
    let empty = String::new;
    let round = stand_in(5);
    vec![
        (0, &[], opened(Role::Office, "a")),
        (1, &[], opened(Role::Tablet, "b")),
        (2, &[], opened(Role::Office, "c")),
        (0, &[], enrolment(1, Role::Tablet)),
        (0, &[], revision.clone()),
        (
            1,
            &[],
            Body::RoundOpened(RoundOpened {
                title: "r".into(),
                stations: vec![code(0), code(1)],
                utc_offset_minutes: 60,
            }),
        ),
        (1, &[], reading(20, 4, Source::OnTheSpot)),
        (2, &[], reading(26, 4, sheet)),
        (0, &[4], revision),
        (1, &[], reading(20, 8, sheet)),
        (1, &[], correction(21)),
        (0, &[10], correction(26)),
        (2, &[], correction(20)),
        (
            1,
            &[6],
            Body::CheckAnswered(CheckAnswered {
                station: code(0),
                check: Check::TestOutletGauge,
                is_yes: true,
                note: empty(),
            }),
        ),
        (
            1,
            &[],
            Body::StationSkipped(StationSkipped {
                round,
                station: code(1),
                reason: SkipReason::NoTime,
                note: empty(),
            }),
        ),
        (
            1,
            &[],
            Body::RoundClosed(RoundClosed {
                round,
                note: empty(),
            }),
        ),
        (0, &[], enrolment(2, Role::Office)),
        (
            2,
            &[],
            Body::Revocation(Revocation {
                log: log_stand_in(1),
                last_seq: Some(2),
                reason: empty(),
            }),
        ),
        (
            0,
            &[],
            Body::Acknowledgement(Acknowledgement {
                log: log_stand_in(1),
                seq: 1,
                id: RecordId([9; 32]),
            }),
        ),
    ]
}

/// Tenths.
fn decimal(mantissa: i64) -> Decimal {
    Decimal {
        mantissa,
        exponent: -1,
    }
}

#[test]
fn the_story_says_what_orders_could_matter_to() {
    let records = records_of(&story());
    assert_eq!(records.len(), bodies().len() + 4);
    let dump = projection_of(key(0).log_id(), &records, 1).expect("in memory");
    for sign in [
        "\nfork\t",
        "\nnot-understood\t",
        "\nskipped\t",
        "\nround-closed\t",
        "\nacknowledgement\t",
        "\"readings\"",
        "\"corrections\"",
        "\"answered-differently\"",
    ] {
        assert!(dump.contains(sign), "no {sign:?} in {dump}");
    }
}
