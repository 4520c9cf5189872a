//! Tests of the canonical encoding, against published vectors, another encoder and itself.

use std::cmp::Ordering;

use ciborium::Value;
use proptest::prelude::*;

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

#[test]
fn the_encoder_never_hands_out_what_the_scanner_refuses() {
    let long = "x".repeat(4097);
    type Write<'a> = &'a dyn Fn(&mut Encoder);
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
fn decimals_keep_their_digits() {
    for (text, mantissa, exponent) in [
        ("4.10", 410, -2),
        ("4.1", 41, -1),
        ("0", 0, 0),
        ("0.00", 0, -2),
        ("-0.5", -5, -1),
        ("007", 7, 0),
        ("9223372036854775807", i64::MAX, 0),
        ("-9223372036854775808", i64::MIN, 0),
        ("0.000000000000000001", 1, -18),
    ] {
        let value: Decimal = text.parse().unwrap();
        assert_eq!(value, Decimal::new(mantissa, exponent));
        if text != "007" {
            assert_eq!(value.to_string(), text);
        }
    }
    for bad in [
        "",
        "-",
        "+",
        ".",
        "1.",
        ".5",
        "1.2.3",
        "1e3",
        " 1",
        "1 ",
        "1,5",
        "0x1",
        "--1",
        "\u{661}",
        "9223372036854775808",
        "0.0000000000000000001",
        "NaN",
        "inf",
    ] {
        assert!(bad.parse::<Decimal>().is_err(), "{bad:?}");
    }
    assert_eq!(Decimal::new(15, 1).to_string(), "150");
    assert_eq!(Decimal::new(0, 3).to_string(), "0");
    assert_eq!(
        format!("{:>7}|{:<6}|", Decimal::new(-15, -1), Decimal::new(2, 0)),
        "   -1.5|2     |"
    );
}

#[test]
fn decimals_compare_by_value() {
    let order = |a: &str, b: &str| {
        let (a, b) = (a.parse::<Decimal>().unwrap(), b.parse::<Decimal>().unwrap());
        assert_eq!(a.cmp_value(b), b.cmp_value(a).reverse());
        a.cmp_value(b)
    };
    assert_eq!(order("4.10", "4.1"), Ordering::Equal);
    assert_eq!(order("0.00", "0"), Ordering::Equal);
    assert_eq!(order("-1", "1"), Ordering::Less);
    assert_eq!(order("-2", "-1.99"), Ordering::Less);
    assert_eq!(order("10", "9.99"), Ordering::Greater);
    assert_eq!(
        order("9223372036854775807", "0.000000000000000001"),
        Ordering::Greater
    );
    let (wide, narrow) = (Decimal::new(i64::MIN, 18), Decimal::new(i64::MIN, -18));
    assert_eq!(wide.cmp_value(narrow), Ordering::Less);
    assert_eq!(Decimal::new(25, -1).at_exponent(-3), Some(2500));
    assert_eq!(Decimal::new(25, -1).at_exponent(0), None);
    assert_eq!(Decimal::new(250, -1).at_exponent(0), Some(25));
    assert_eq!(Decimal::new(i64::MAX, 18).at_exponent(-18), None);
    assert!((Decimal::new(27_315, -2).to_f64() - 273.15).abs() < f64::EPSILON);
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

/// Any value of the profile, as the other library holds it.
fn any_value() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        any::<u64>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        (0i64..300).prop_map(Value::from),
        any::<bool>().prop_map(Value::from),
        Just(Value::Null),
        ".{0,40}".prop_map(Value::Text),
        prop::collection::vec(any::<u8>(), 0..300).prop_map(Value::Bytes),
        (-18i8..=18, any::<i64>()).prop_map(|(exponent, mantissa)| {
            let parts = vec![Value::from(exponent), Value::from(mantissa)];
            Value::Tag(4, Box::new(Value::Array(parts)))
        }),
    ];
    leaf.prop_recursive(6, 60, 30, |inner| {
        let entries = prop::collection::btree_map(any::<u64>(), inner.clone(), 0..8);
        let map = entries.prop_map(|entries| {
            Value::Map(
                entries
                    .into_iter()
                    .map(|(key, value)| (key.into(), value))
                    .collect(),
            )
        });
        prop_oneof![
            prop::collection::vec(inner, 0..30).prop_map(Value::Array),
            map
        ]
    })
}

fn encode_elsewhere(value: &Value) -> Vec<u8> {
    let mut bytes = Vec::new();
    ciborium::into_writer(value, &mut bytes).unwrap();
    bytes
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// Differential: what another library writes for a value of the profile is what we write.
    #[test]
    fn another_encoder_agrees(value in any_value()) {
        let bytes = encode_elsewhere(&value);
        prop_assert!(strict(&bytes).is_ok());
        prop_assert_eq!(rewrite(&bytes).unwrap(), bytes.clone());
        prop_assert_eq!(to_value(&bytes).unwrap(), value);
    }

    /// Whatever is accepted after damage is still in the one allowed form, and what is accepted
    /// by the scanner is accepted by the cursor and the other way round.
    #[test]
    fn damaged_values_are_refused_or_written_again_alike(
        value in any_value(),
        edits in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..4),
        cut in any::<prop::sample::Index>(),
    ) {
        let mut bytes = encode_elsewhere(&value);
        for (at, byte) in edits {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        for bytes in [&bytes[..], &bytes[..cut.index(bytes.len())]] {
            let rewritten = rewrite(bytes);
            prop_assert_eq!(strict(bytes).is_ok(), rewritten.is_ok());
            if let Ok(rewritten) = rewritten {
                prop_assert_eq!(&rewritten[..], bytes);
                let elsewhere: Value = ciborium::from_reader(bytes).unwrap();
                prop_assert_eq!(&encode_elsewhere(&elsewhere)[..], bytes);
            }
        }
    }

    #[test]
    fn shown_decimals_read_back(mantissa: i64, exponent in -18i8..=0) {
        let value = Decimal::new(mantissa, exponent);
        prop_assert_eq!(value.to_string().parse::<Decimal>().unwrap(), value);
    }

    #[test]
    fn decimal_order_agrees_with_exact_integers(a: i64, b: i64, x in -9i8..=9, y in -9i8..=9) {
        let (one, two) = (Decimal::new(a, x), Decimal::new(b, y));
        let (left, right) = (one.at_exponent(-9).unwrap(), two.at_exponent(-9).unwrap());
        prop_assert_eq!(one.cmp_value(two), left.cmp(&right));
    }
}
