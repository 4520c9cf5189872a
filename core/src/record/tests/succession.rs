//! Samples and refusals of the bodies about logs that go on in others, clocks and signing on.

use winze_sync_format::LogId;

use super::{at, decode_map};
use crate::record::*;

pub(super) fn log_continued() -> Body {
    Body::LogContinued(LogContinued {
        role: Role::Tablet,
        label: "Tablet North".into(),
        former: at(9),
        why: NewLogWhy::RolledBack,
    })
}

pub(super) fn office_replaced() -> Body {
    Body::OfficeReplaced(OfficeReplaced {
        log: LogId([7; 32]),
        last_seq: 812,
        reason: "the office was broken into".into(),
    })
}

pub(super) fn clock_observed() -> Body {
    Body::ClockObserved(ClockObserved {
        log: LogId([6; 32]),
        boot: [5; 16],
        monotonic_ms: 86_400_000,
        office_ms: -1,
        side: Side::NotAfter,
    })
}

#[test]
fn what_is_not_on_a_list_is_refused() {
    let why = decode_map(Kind::LogContinued, |out| {
        out.map(4).key(0).uint(1).key(1).text("A").key(2).array(3);
        out.bytes(&[1; 32]).uint(1).bytes(&[2; 32]).key(3).uint(8);
    });
    assert!(
        matches!(why, Err(BodyError::Field { field: "why", .. })),
        "{why:?}"
    );
    let side = decode_map(Kind::ClockObserved, |out| {
        out.map(5).key(0).bytes(&[1; 32]).key(1).bytes(&[2; 16]);
        out.key(2).uint(0).key(3).int(0).key(4).uint(4);
    });
    assert!(
        matches!(side, Err(BodyError::Field { field: "side", .. })),
        "{side:?}"
    );
}

#[test]
fn every_code_is_found_again() {
    for why in NewLogWhy::ALL {
        assert_eq!(NewLogWhy::from_code(why.code()), Some(why));
    }
    for side in [Side::At, Side::NotBefore, Side::NotAfter] {
        assert_eq!(Side::from_code(side.code()), Some(side));
    }
}
