//! Tests of signing and opening.

use super::*;
use crate::canonical::Encoder;
use crate::{ClockReading, ClockStatus};

/// A draft with a body of one text.
fn draft(text: &str) -> Draft {
    let clock = ClockReading {
        wall_ms: 1_800_000_000_000,
        status: ClockStatus::HandSet,
        boot: [7; 16],
        monotonic_ms: 42,
    };
    let body = Encoder::new().map(1).key(0).text(text).finish().unwrap();
    Draft {
        kind: 40,
        clock,
        person: "A. Other".into(),
        refs: Vec::new(),
        body,
        nonce: [1; 8],
    }
}

#[test]
fn a_sealed_record_opens_as_itself() {
    let key = LogKey::from_seed(&[3; 32]);
    let mut head = LogHead::empty(key.log_id());
    let first = seal(&key, &mut head, draft("one")).unwrap();
    let mut second = draft("two");
    second.refs.push(first.reference());
    let second = seal(&key, &mut head, second).unwrap();
    assert_eq!(second.record().prev, Some(first.id()));
    assert_eq!((head.next_seq, head.prev), (2, Some(second.id())));
    for record in [first, second] {
        let (opened, length) = open_item(record.item()).unwrap();
        assert_eq!(length, record.item().len());
        assert_eq!(
            peek_ref(record.item()).unwrap(),
            (record.reference(), length)
        );
        assert_eq!(opened, Opened::Record(record));
    }
}
