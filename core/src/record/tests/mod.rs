//! Tests of the bodies: pinned bytes, round trips, strict reading.

use chrono::NaiveDate;
use sha2::{Digest, Sha256};
use winze_sync_format::canonical::Encoder;
use winze_sync_format::{LogId, RecordId, RecordRef};

use super::*;
use crate::samples::{code, entry, station};
use crate::station::Quantity;
use crate::units::{Typed, Unit};
use crate::upkeep::Task;
use crate::verdict::{Entry, Verdict, judge};

mod attachment;
mod properties;
mod samples;
mod succession;
mod upkeep;

use samples::{full_reading, full_station, one_of_each};

fn at(n: u8) -> RecordRef {
    RecordRef {
        log: LogId([n; 32]),
        seq: u64::from(n),
        id: RecordId([0xff - n; 32]),
    }
}

#[test]
fn every_kind_has_its_sample_and_its_number_both_ways() {
    let kinds: Vec<Kind> = one_of_each().iter().map(Body::kind).collect();
    assert_eq!(kinds, Kind::ALL);
    for kind in Kind::ALL {
        assert_eq!(Kind::from_number(kind.number()), Some(kind));
    }
    assert_eq!(Kind::from_number(0), None);
}

/// SHA-256 of each sample's body. A change here is a change of the format: it needs a new kind.
#[test]
#[allow(clippy::too_many_lines, reason = "a line for each kind")]
fn the_bytes_of_every_kind_are_pinned() {
    let pinned = [
        (
            "log-opened",
            "646c10a5629f4fc00c6a424761ce65d5d1b886f50bd22159190815413515bd2e",
        ),
        (
            "enrolment",
            "bd06e066e6bdaf2d741efed9793ed181e4f325ef3378a7c454ae459be1d29a8c",
        ),
        (
            "revocation",
            "1c15e36eb4f15381a2457cffc2a99ab6a05633a95ccce98bded20542037f3729",
        ),
        (
            "station-revision",
            "40f5a6ee5a8757105e43db05804bf98a35d0a14b13e4f451a808e58f5f365fee",
        ),
        (
            "round-opened",
            "a616760433b13049016db72784d80a766868f0a963d14254384333e0b83214a4",
        ),
        (
            "round-closed",
            "48b3e3a9dff6dc4686bea043930002f93f661ac14f41ffba06d78696135d7dd4",
        ),
        (
            "station-skipped",
            "0342c3e501f9e7231f46233852054ae4a4557d95436c75b2837681f649f4b137",
        ),
        (
            "reading",
            "dc67a65d60f0dc8d8cf995da3d2d4f90365a24c2f37e6e6467141004fc487f4f",
        ),
        (
            "correction",
            "bcb369e68a7f1d28ba8965761dc799d7b979e65742cd826c4d6cecf010843fdd",
        ),
        (
            "check-answered",
            "cac476eaf7a448e1243187445cafa77f0aeec43fda3c24f3c6c3b73b56d8d9f9",
        ),
        (
            "job-raised",
            "7e4aed6fb1a79eac889af8070e3d917c1ebad6ac4c0ebe8d8b08909eced3db42",
        ),
        (
            "job-closed",
            "ffbe665e1f47a65504483fc570ab7626a86f3bacb21d96cc8b9d9fae86b7d604",
        ),
        (
            "task-done",
            "885839385824fc1c904ec0ec106c708e5eb116f6e46d74430afdf9b4859c8b95",
        ),
        (
            "log-continued",
            "67c998b9e592cf18c3dc84ef01b19e071a5a7ef10976e8c0e40eed5bc6ac5327",
        ),
        (
            "office-replaced",
            "c2568c7678cb854869fcd0cd72df8abefb3261501b6a168f3c7ad19a39792d3f",
        ),
        (
            "clock-observed",
            "76c5b132e262ea7e34d84ba3fc34eab35225bde7e7c1232938b926695e9fb1f7",
        ),
        (
            "answer",
            "0a0f2ea7a2b074c452a1a7f4082cd9d07f2cbb1e4da0fb09353e096f918ef3b5",
        ),
        (
            "acknowledgement",
            "0b1f09bf823f20442818232e3f5aa14aeecf91b48498034ebe28451a85c9d404",
        ),
        (
            "backed-up",
            "605317dd4f33f4da45546073b2f2cefc4c7ed5e55eca3df18d3e59f7393cd699",
        ),
        (
            "attachment-added",
            "8aae3725c291bc3b5318b3e96cce24b9d2cc52128a5c13f7a923ab7ec0681023",
        ),
        (
            "attachment-chunk",
            "5b51a93ca909ebbfc053de8bb14cff1ac15598cd0d1ca7801a7c0d2984f8f7b3",
        ),
        (
            "procedure-opened",
            "2f17f77c8beb9be9f2f86ed6c79c468b7d3ada999f9ff4b1079d58f33dca8d5c",
        ),
        (
            "step-recorded",
            "67bb469c866967bb09881e7c0090dc2a2ab36df3cb901b6d095973e362474423",
        ),
        (
            "step-undone",
            "933224fef5972921cc95b61ae1faf819793d63681338d7fdb3d3f8c2a1395fee",
        ),
        (
            "procedure-closed",
            "88f5ae38501769aeb16a7fa9453952912658d59e4297d5f1e67aafe528f0f2b9",
        ),
    ];
    let bodies = one_of_each();
    let found: Vec<(&str, String)> = bodies
        .iter()
        .map(|body| {
            let digest = Sha256::digest(body.encode().unwrap());
            (body.kind().code(), RecordId(digest.into()).to_string())
        })
        .collect();
    let pinned: Vec<(&str, String)> = pinned
        .into_iter()
        .map(|(kind, digest): (&str, &str)| (kind, digest.to_owned()))
        .collect();
    assert_eq!(found, pinned);
}

/// Written out by hand from RFC 8949: maps a2.., text 6x, unsigned and negative integers, tag 4.
#[test]
fn small_bodies_are_the_bytes_written_out_by_hand() {
    let hex = |body: Body| {
        let bytes = body.encode().unwrap();
        bytes
            .iter()
            .fold(String::new(), |hex, byte| hex + &format!("{byte:02x}"))
    };
    let opened = LogOpened {
        role: Role::Office,
        label: "A".into(),
    };
    assert_eq!(hex(Body::LogOpened(opened)), "a20002016141");
    let correction = Correction {
        reading: at(1),
        station: code("T-1"),
        entry: Entry {
            outlet: Some(Typed::of(-41, -1, Unit::Bar)),
            ..Entry::default()
        },
        shown: Shown::default(),
        reason: String::new(),
    };
    let reference = format!("835820{}015820{}", "01".repeat(32), "fe".repeat(32));
    let unit = Unit::Bar.number();
    let expected = format!("a300{reference}0163542d3102a10382c482203828{unit:02x}");
    assert_eq!(hex(Body::Correction(Box::new(correction))), expected);
    let done = TaskDone {
        station: code("T-1"),
        task: Task::YearlyClean,
        done_on: NaiveDate::from_ymd_opt(1970, 1, 2).unwrap(),
        utc_offset_minutes: -60,
        note: String::new(),
    };
    let expected = "a40063542d310102020103383b";
    assert_eq!(hex(Body::TaskDone(done)), expected);
}

#[test]
fn what_is_written_is_read_again() {
    for body in one_of_each() {
        let bytes = body.encode().unwrap();
        assert_eq!(Body::decode(body.kind().number(), &bytes).unwrap(), body);
    }
}

#[test]
fn a_body_with_one_byte_changed_is_another_body_or_none() {
    for body in one_of_each() {
        let number = body.kind().number();
        let bytes = body.encode().unwrap();
        for n in 0..bytes.len() {
            for flip in [1, 0x20, 0x80] {
                let mut changed = bytes.clone();
                changed[n] ^= flip;
                if let Ok(other) = Body::decode(number, &changed) {
                    assert_ne!(other, body, "byte {n} of {:?}", body.kind());
                }
            }
        }
    }
}

#[test]
fn a_body_cut_short_or_followed_by_anything_is_refused() {
    for body in one_of_each() {
        let number = body.kind().number();
        let mut bytes = body.encode().unwrap();
        for length in 0..bytes.len() {
            assert!(Body::decode(number, &bytes[..length]).is_err());
        }
        bytes.push(0);
        assert!(Body::decode(number, &bytes).is_err());
    }
}

fn decode_map(kind: Kind, write: impl FnOnce(&mut Encoder)) -> BodyResult<Body> {
    let mut out = Encoder::new();
    write(&mut out);
    Body::decode(kind.number(), &out.finish().unwrap())
}

#[test]
fn fields_that_would_never_be_written_are_refused() {
    let role = decode_map(Kind::LogOpened, |out| {
        out.map(2).key(0).uint(3).key(1).text("A");
    });
    assert!(
        matches!(role, Err(BodyError::Field { field: "role", .. })),
        "{role:?}"
    );
    let extra = decode_map(Kind::LogOpened, |out| {
        out.map(3).key(0).uint(1).key(1).text("A").key(9).uint(1);
    });
    assert!(matches!(extra, Err(BodyError::Format(_))), "{extra:?}");
    let empty_reason = decode_map(Kind::Revocation, |out| {
        out.map(2).key(0).bytes(&[9; 32]).key(2).text("");
    });
    assert!(matches!(
        empty_reason,
        Err(BodyError::Field {
            field: "reason",
            ..
        })
    ));
    let small_letters = decode_map(Kind::RoundOpened, |out| {
        out.map(3)
            .key(0)
            .text("r")
            .key(1)
            .array(1)
            .text("t-07")
            .key(2)
            .int(0);
    });
    assert!(matches!(
        small_letters,
        Err(BodyError::Field {
            field: "station",
            ..
        })
    ));
    let twice = decode_map(Kind::RoundOpened, |out| {
        out.map(3)
            .key(0)
            .text("r")
            .key(1)
            .array(2)
            .text("T-07")
            .text("T-07")
            .key(2)
            .int(0);
    });
    assert!(matches!(
        twice,
        Err(BodyError::Field {
            field: "stations",
            ..
        })
    ));
    let other_id = decode_map(Kind::Answer, |out| {
        out.map(3).key(0).bytes(&[0; 32]).key(1).array(1).array(3);
        out.bytes(&[1; 32]).uint(1).bytes(&[2; 32]).key(3).uint(2);
    });
    assert!(matches!(
        other_id,
        Err(BodyError::Field {
            field: "question",
            ..
        })
    ));
    let unknown = Body::decode(70, &[0xa0]);
    assert!(matches!(
        unknown,
        Err(BodyError::UnknownKind { number: 70 })
    ));
}

/// A grade may be typed in small letters; in a record it has one spelling.
#[test]
fn a_body_in_another_spelling_is_refused() {
    let bytes = Body::StationRevision(Box::new(full_station()))
        .encode()
        .unwrap();
    let place = bytes
        .windows(3)
        .position(|window| window == b"\x621A")
        .unwrap();
    let mut other = bytes;
    other[place + 2] = b'a';
    let refused = Body::decode(Kind::StationRevision.number(), &other);
    assert!(
        matches!(refused, Err(BodyError::OtherSpelling { .. })),
        "{refused:?}"
    );
}

#[test]
fn a_note_too_long_for_a_record_is_refused_before_anything_is_written() {
    let mut reading = full_reading();
    reading.note = "x".repeat(5000);
    let refused = Body::Reading(Box::new(reading)).encode();
    assert!(matches!(refused, Err(BodyError::Format(_))));
}

#[test]
fn the_probability_shown_is_kept_in_millionths() {
    let judgement = judge(&station("T-07"), &entry(100, 40, 20));
    let shown = Shown::of(&judgement);
    let outlet = shown.get(Quantity::Outlet).unwrap();
    let exact = judgement.outlet.as_ref().unwrap().probability;
    assert!((f64::from(outlet.probability_millionths) / 1e6 - exact).abs() <= 5e-7);
    assert_eq!(shown.worst(), Some(Verdict::Within));
}
