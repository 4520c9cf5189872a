//! Tests of the envelope.

use proptest::prelude::*;

use super::*;
use crate::samples::{CLOCK, key, log};

fn any_record() -> impl Strategy<Value = Record> {
    let reference =
        (any::<[u8; 32]>(), any::<u64>(), any::<[u8; 32]>()).prop_map(|(log, seq, id)| RecordRef {
            log: LogId(log),
            seq,
            id: RecordId(id),
        });
    let clock = (any::<i64>(), 0u64..3, any::<[u8; 16]>(), any::<u64>()).prop_map(
        |(wall_ms, status, boot, monotonic_ms)| ClockReading {
            wall_ms,
            status: ClockStatus::from_code(status).unwrap(),
            boot,
            monotonic_ms,
        },
    );
    let seq = prop_oneof![Just(0), 1..1000u64, any::<u64>()];
    let body = prop::collection::btree_map(any::<u64>(), ".{0,20}", 0..5).prop_map(|entries| {
        let mut out = Encoder::new();
        out.map(entries.len());
        for (key, text) in entries {
            out.key(key).text(&text);
        }
        out.finish().unwrap()
    });
    let refs = prop::collection::vec(reference, 0..5);
    (
        3u64..200,
        any::<[u8; 32]>(),
        seq,
        any::<[u8; 32]>(),
        clock,
        ".{0,30}",
        refs,
        body,
        any::<[u8; 8]>(),
    )
        .prop_map(|(kind, log, seq, prev, clock, person, refs, body, nonce)| {
            let prev = (seq > 0).then_some(RecordId(prev));
            Record {
                kind,
                log: LogId(log),
                seq,
                prev,
                clock,
                person,
                refs,
                body,
                nonce,
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn an_envelope_reads_back(record in any_record()) {
        let payload = record.encode().unwrap();
        prop_assert_eq!(Record::decode(&payload).unwrap(), record);
    }

    /// Damage is refused, or yields another record with exactly the damaged bytes as its form.
    #[test]
    fn a_damaged_envelope_is_refused_or_written_again_alike(
        record in any_record(),
        at in any::<prop::sample::Index>(),
        byte: u8,
    ) {
        let mut payload = record.encode().unwrap();
        let at = at.index(payload.len());
        payload[at] = byte;
        if let Ok(other) = Record::decode(&payload) {
            prop_assert_eq!(other.encode().unwrap(), payload);
        }
    }
}

fn sample() -> Record {
    log(&key(1), 2)[1].record().clone()
}

#[test]
fn fields_that_are_never_written_are_refused() {
    let mut first_with_prev = sample();
    first_with_prev.seq = 0;
    let mut second_without = sample();
    second_without.prev = None;
    let mut in_log = sample();
    in_log.kind = KIND_BUNDLE_HEADER;
    let mut zero = sample();
    zero.kind = 0;
    for record in [first_with_prev, second_without, in_log, zero] {
        assert_eq!(record.encode().unwrap_err().class(), "bad-field");
    }
    let mut no_map = sample();
    no_map.body = vec![0x01];
    assert_eq!(no_map.encode().unwrap_err().class(), "wrong-type");
    let mut two = sample();
    two.body = vec![0xa0, 0xa0];
    assert_eq!(two.encode().unwrap_err().class(), "trailing-bytes");
}

#[test]
fn every_byte_of_a_cut_envelope_is_missed() {
    let payload = sample().encode().unwrap();
    for cut in 0..payload.len() {
        assert!(Record::decode(&payload[..cut]).is_err());
    }
    let mut longer = payload;
    longer.push(0);
    assert_eq!(
        Record::decode(&longer).unwrap_err().class(),
        "trailing-bytes"
    );
}

#[test]
fn a_body_may_be_as_deep_as_the_limit_and_no_deeper() {
    for (depth, fits) in [(6usize, true), (7, false)] {
        // A map, and so many arrays within it.
        let mut body = vec![0xa1, 0];
        body.extend(std::iter::repeat_n(0x81, depth));
        body.push(0);
        let record = Record { body, ..sample() };
        assert_eq!(record.encode().is_ok(), fits, "{depth}");
    }
}

#[test]
fn a_record_of_the_largest_size_fits_and_one_byte_more_does_not() {
    let with = |extra: usize| {
        let mut out = Encoder::new();
        out.map(1).key(0).bytes(&vec![0; 60_000 + extra]);
        Record {
            body: out.finish().unwrap(),
            ..sample()
        }
        .encode()
    };
    let room = MAX_RECORD_BYTES - with(0).unwrap().len();
    assert_eq!(with(room).unwrap().len(), MAX_RECORD_BYTES);
    assert_eq!(Record::decode(&with(room).unwrap()).unwrap().clock, CLOCK);
    assert_eq!(with(room + 1).unwrap_err().class(), "too-long");
}

#[test]
fn kinds_say_whether_they_may_be_ignored() {
    assert!(must_be_understood(3) && must_be_understood(63));
    assert!(!must_be_understood(64));
}
