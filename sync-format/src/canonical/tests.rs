//! Tests of the canonical encoding, against published vectors, another encoder and itself.

use ciborium::Value;

mod generated;
use super::*;
use crate::error::Error;
use crate::id::hex;
use crate::samples::{rows, unhex};

fn strict(bytes: &[u8]) -> Result<(), Error> {
    scan(bytes, &Limits::RECORD)
}

/// Reads a value with the cursor and writes it again.
fn rewrite(bytes: &[u8]) -> Result<Vec<u8>, Error> {
    let mut reader = Reader::new(bytes);
    let mut out = Encoder::new();
    copy(&mut reader, &mut out)?;
    reader.finish()?;
    out.finish()
}

fn copy(reader: &mut Reader<'_>, out: &mut Encoder) -> Result<(), Error> {
    match reader.kind()? {
        Kind::Uint => {
            out.uint(reader.uint()?);
        }
        Kind::Negative => {
            out.int(reader.int()?);
        }
        Kind::Bytes => {
            out.bytes(reader.bytes()?);
        }
        Kind::Text => {
            out.text(reader.text()?);
        }
        Kind::Bool => {
            out.bool(reader.bool()?);
        }
        Kind::Decimal => {
            out.decimal(reader.decimal()?);
        }
        Kind::Null => {
            assert!(reader.is_null()?);
            out.null();
        }
        Kind::Array => {
            let count = reader.array()?;
            out.array(usize::try_from(count).unwrap());
            for _ in 0..count {
                copy(reader, out)?;
            }
            reader.end()?;
        }
        Kind::Map => {
            let count = reader.map()?;
            out.map(usize::try_from(count).unwrap());
            while let Some(key) = reader.next_key()? {
                out.key(key);
                copy(reader, out)?;
            }
            reader.end()?;
        }
    }
    Ok(())
}

/// Whether a value of the other library lies in our profile.
fn in_profile(value: &Value) -> bool {
    match value {
        Value::Integer(number) => i128::from(*number) >= i128::from(i64::MIN),
        Value::Bytes(_) | Value::Text(_) | Value::Bool(_) | Value::Null => true,
        Value::Array(items) => items.iter().all(in_profile),
        Value::Map(entries) => entries.iter().all(|(key, value)| {
            matches!(key, Value::Integer(key) if i128::from(*key) >= 0) && in_profile(value)
        }),
        _ => false,
    }
}

#[test]
fn c1_rfc8949_appendix_a() {
    let table = include_str!("../../vectors/rfc8949/appendix-a.csv");
    let (mut allowed, mut refused) = (0, 0);
    for row in rows(table, 2) {
        let bytes = unhex(row[0]);
        let deterministic = row[1].ends_with(",yes");
        assert!(deterministic || row[1].ends_with(",no"), "{row:?}");
        let value: Value = ciborium::from_reader(&bytes[..]).unwrap_or(Value::Float(0.0));
        // The other library reads an undefined value as null.
        let undefined = bytes == [0xf7];
        if deterministic && !undefined && in_profile(&value) {
            allowed += 1;
            strict(&bytes).unwrap();
            assert_eq!(hex(&rewrite(&bytes).unwrap()), row[0]);
        } else {
            refused += 1;
            assert!(strict(&bytes).is_err(), "{row:?}");
            assert!(rewrite(&bytes).is_err(), "{row:?}");
        }
    }
    // By hand: 11 + 4 integers, 3 simple values, 9 strings, 4 arrays and 2 maps are in the
    // profile; floats, tags, text keys, 2^64 and below -2^63, and long forms are not.
    assert_eq!((allowed, refused), (33, 48));
}

/// Values from the text of RFC 8949 Appendix A, written with the encoder.
#[test]
fn c1_encoder_writes_the_published_bytes() {
    let check = |expected: &str, write: &dyn Fn(&mut Encoder)| {
        let mut out = Encoder::new();
        write(&mut out);
        assert_eq!(hex(&out.finish().unwrap()), expected);
    };
    check("1bffffffffffffffff", &|out| {
        out.uint(u64::MAX);
    });
    check("1b000000e8d4a51000", &|out| {
        out.uint(1_000_000_000_000);
    });
    check("3903e7", &|out| {
        out.int(-1000);
    });
    check("4401020304", &|out| {
        out.bytes(&[1, 2, 3, 4]);
    });
    check("6449455446", &|out| {
        out.text("IETF");
    });
    check("63e6b0b4", &|out| {
        out.text("\u{6c34}");
    });
    check("8301820203820405", &|out| {
        out.array(3)
            .uint(1)
            .array(2)
            .uint(2)
            .uint(3)
            .array(2)
            .uint(4)
            .uint(5);
    });
    check("a201020304", &|out| {
        out.map(2).key(1).uint(2).key(3).uint(4);
    });
    check("f4", &|out| {
        out.bool(false);
    });
    check("f5", &|out| {
        out.bool(true);
    });
    check("f6", &|out| {
        out.null();
    });
    // Section 3.4.4: 273.15 as a decimal fraction.
    check("c48221196ab3", &|out| {
        out.decimal("273.15".parse().unwrap());
    });
}

#[test]
fn c2_heads_are_the_shortest() {
    for (value, expected) in [
        (0, "00"),
        (23, "17"),
        (24, "1818"),
        (255, "18ff"),
        (256, "190100"),
        (65_535, "19ffff"),
        (65_536, "1a00010000"),
        (4_294_967_295, "1affffffff"),
        (4_294_967_296, "1b0000000100000000"),
        (-1, "20"),
        (-24, "37"),
        (-25, "3818"),
        (-256, "38ff"),
        (-257, "390100"),
        (-65_536, "39ffff"),
        (-65_537, "3a00010000"),
        (i64::MAX, "1b7fffffffffffffff"),
        (i64::MIN, "3b7fffffffffffffff"),
    ] {
        assert_eq!(hex(&Encoder::new().int(value).finish().unwrap()), expected);
        assert_eq!(Reader::new(&unhex(expected)).int().unwrap(), value);
    }
    let too_long = "1800 1817 1900ff 190017 1a0000ffff 1b00000000ffffffff 3817 5800 780161 9801 \
        b80100 c4822018ff";
    for text in too_long.split_whitespace().take(11) {
        let error = strict(&unhex(text)).unwrap_err();
        assert_eq!(error.class(), "not-shortest", "{text}");
    }
}

#[test]
fn c4_everything_not_well_formed_is_refused() {
    let table = include_str!("../../vectors/rfc8949/not-well-formed.csv");
    let rows = rows(table, 3);
    assert_eq!(rows.len(), 94);
    for row in rows {
        let bytes = unhex(row[0]);
        assert!(strict(&bytes).is_err(), "{row:?}");
        assert!(rewrite(&bytes).is_err(), "{row:?}");
        assert!(
            to_value(&bytes).is_err() && to_diagnostic(&bytes).is_err(),
            "{row:?}"
        );
    }
}

#[test]
fn what_the_profile_leaves_out_is_refused_by_class() {
    let deep = |levels: usize| format!("{}00", "81".repeat(levels));
    strict(&unhex(&deep(8))).unwrap();
    for (text, class) in [
        ("", "truncated"),
        ("0000", "trailing-bytes"),
        ("f93c00", "not-allowed"),
        ("f7", "not-allowed"),
        ("f818", "not-allowed"),
        ("c249010000000000000000", "not-allowed"),
        ("a2010202", "truncated"),
        ("a201020102", "key-order"),
        ("a202000100", "key-order"),
        ("a12000", "key-not-uint"),
        ("a1616100", "key-not-uint"),
        ("9fff", "indefinite"),
        ("bfff", "indefinite"),
        ("5f4100ff", "indefinite"),
        ("ff", "indefinite"),
        ("61ff", "bad-utf8"),
        ("3b8000000000000000", "out-of-range"),
        ("c482131864", "out-of-range"),
        ("c4823201", "out-of-range"),
        ("c482001b8000000000000000", "out-of-range"),
        ("c4820061", "wrong-type"),
        ("c48100", "wrong-type"),
        ("c483000000", "wrong-type"),
        ("c400", "wrong-type"),
        ("5bffffffffffffffff010203", "truncated"),
        ("9bffffffffffffffff", "too-long"),
        ("bb7fffffffffffffff", "too-long"),
        ("7bffffffffffffffff", "too-long"),
        ("9a7fffffff00", "too-long"),
        (&deep(9), "too-deep"),
        (&deep(20_000), "too-deep"),
        (&format!("791001{}", "61".repeat(4097)), "too-long"),
        (&format!("5a00010000{}", "00".repeat(65_536)), "too-long"),
    ] {
        let error = strict(&unhex(text)).unwrap_err();
        assert_eq!(
            error.class(),
            class,
            "{}: {error}",
            &text[..text.len().min(40)]
        );
    }
}

/// Drives an encoder.
type Write<'a> = &'a dyn Fn(&mut Encoder);

#[test]
fn the_encoder_never_hands_out_what_the_scanner_refuses() {
    let long = "x".repeat(4097);
    let misuse: [(&str, Write<'_>); 13] = [
        ("encoder-misuse", &|_| {}),
        ("encoder-misuse", &|out| {
            out.map(1);
        }),
        ("encoder-misuse", &|out| {
            out.map(1).key(0);
        }),
        ("encoder-misuse", &|out| {
            out.map(1).uint(0);
        }),
        ("encoder-misuse", &|out| {
            out.array(1).key(0).uint(0);
        }),
        ("encoder-misuse", &|out| {
            out.uint(0).uint(1);
        }),
        ("encoder-misuse", &|out| {
            out.map(1).key(0).key(1).uint(0);
        }),
        ("key-order", &|out| {
            out.map(2).key(1).uint(0).key(1).uint(0);
        }),
        ("too-long", &|out| {
            out.text(&long);
        }),
        ("too-long", &|out| {
            out.array(4097);
        }),
        ("too-long", &|out| {
            out.bytes(&vec![0; 65_534]);
        }),
        ("out-of-range", &|out| {
            out.decimal(Decimal::new(1, 19));
        }),
        ("not-shortest", &|out| {
            out.array(1).raw(&[0x18, 0]);
        }),
    ];
    for (class, write) in misuse {
        let mut out = Encoder::new();
        write(&mut out);
        assert_eq!(out.finish().unwrap_err().class(), class);
        // The encoder is usable again.
        assert_eq!(out.uint(1).finish().unwrap(), [1]);
    }
    let mut out = Encoder::new();
    for _ in 0..9 {
        out.array(1);
    }
    assert_eq!(out.uint(0).finish().unwrap_err().class(), "too-deep");
}

#[test]
fn the_reader_refuses_what_was_not_asked_for() {
    let map = unhex("a2010203820405");
    let read = |steps: &dyn Fn(&mut Reader<'_>) -> Result<(), Error>| {
        let mut reader = Reader::new(&map);
        steps(&mut reader).unwrap_err().class()
    };
    assert_eq!(read(&|r| r.array().map(drop)), "wrong-type");
    assert_eq!(read(&|r| r.uint().map(drop)), "wrong-type");
    assert_eq!(read(&|r| r.key().map(drop)), "wrong-count");
    assert_eq!(
        read(&|r| r.map().and_then(|_| r.uint()).map(drop)),
        "wrong-count"
    );
    assert_eq!(read(&|r| r.map().and_then(|_| r.end())), "wrong-count");
    assert_eq!(read(&|r| r.map().and_then(|_| r.finish())), "wrong-count");
    assert_eq!(
        read(&|r| r.map().and_then(|_| r.expect_key(2))),
        "wrong-key"
    );
    assert_eq!(read(&|r| r.end()), "wrong-count");
    assert_eq!(read(&|r| r.finish()), "trailing-bytes");
    assert_eq!(
        read(&|r| r.skip().and_then(|()| r.uint()).map(drop)),
        "wrong-count"
    );
    let mut reader = Reader::new(&map);
    reader.map().unwrap();
    assert!(!reader.optional_key(0).unwrap() && reader.optional_key(1).unwrap());
    assert_eq!(reader.uint().unwrap(), 2);
    assert_eq!(reader.key().unwrap(), 3);
    assert_eq!(reader.raw().unwrap(), unhex("820405"));
    assert_eq!(reader.next_key().unwrap(), None);
    reader.end().unwrap();
    reader.finish().unwrap();
}

/// All byte strings of up to three bytes: what is accepted is exactly what is written.
#[test]
fn every_short_byte_string_is_refused_or_written_again_alike() {
    let mut accepted = 0u32;
    for number in 0u32..1 << 24 {
        let bytes = number.to_be_bytes();
        let lengths = if number < 1 << 8 {
            1..=3
        } else if number < 1 << 16 {
            2..=3
        } else {
            3..=3
        };
        for length in lengths {
            let bytes = &bytes[4 - length..];
            let verdict = strict(bytes);
            if verdict.is_ok() {
                accepted += 1;
                assert_eq!(rewrite(bytes).unwrap(), bytes);
            }
        }
    }
    // Counted apart from this code, by a recurrence over the lengths of the forms in SPEC.md.
    assert_eq!(accepted, 220_606);
}

#[test]
fn diagnostic_notation_shows_and_escapes() {
    let body = Encoder::new()
        .map(3)
        .key(0)
        .array(4)
        .text("a\"b\u{202e}\n")
        .bytes(&[0xab])
        .int(-3)
        .null()
        .key(1)
        .decimal("4.10".parse().unwrap())
        .key(9)
        .bool(true)
        .finish()
        .unwrap();
    let shown = r#"{0: ["a\"b\u202e\u000a", h'ab', -3, null], 1: 4([-2, 410]), 9: true}"#;
    assert_eq!(to_diagnostic(&body).unwrap(), shown);
}
