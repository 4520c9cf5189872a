//! Values that no writer makes. Each is refused as a value, as the body of a record, and costs a
//! bundle that record alone.

use winze_sync_format::canonical::{Limits, Reader, scan};
use winze_sync_format::{Error, open_item};

use super::common::{ONE, bytes_of, head, log, payload_around, read, string, wrap};

/// Refused by the scan, by the cursor, in a signed record, and in a bundle's midst.
fn refused(value: &[u8], class: &str) {
    let outcome = scan(value, &Limits::RECORD);
    assert_eq!(outcome.unwrap_err().class(), class, "{value:02x?}");
    let mut cursor = Reader::new(value);
    let outcome = cursor.skip().and_then(|()| cursor.finish());
    assert_eq!(outcome.unwrap_err().class(), class, "{value:02x?}");

    let body = [&[0xa1, 0][..], value].concat();
    let item = wrap(ONE, &payload_around(&body));
    assert!(open_item(&item).is_err(), "{value:02x?}");

    let around = log(ONE, 2);
    let parts = [around[0].item(), &item, around[1].item()];
    let found = read(&parts.concat());
    assert_eq!(found.records, around);
    let damage = &found.report.damage;
    assert_eq!(damage.len(), 1, "{damage:?}");
    assert_eq!(damage[0].offset, around[0].item().len() as u64);
    assert_eq!(damage[0].length, item.len() as u64);
}

/// Each value is refused with this class.
fn all_refused(class: &str, values: &[&[u8]]) {
    for value in values {
        refused(value, class);
    }
}

#[test]
fn depth_bomb() {
    for (deep, opener) in [(9, &[0x81][..]), (30_000, &[0x81]), (30_000, &[0xa1, 0])] {
        let mut bomb = opener.repeat(deep);
        bomb.push(0);
        refused(&bomb, "too-deep");
    }
    // A decimal does not nest: what stands in it must be two integers.
    refused(&[0xc4, 0x82, 0, 0xc4, 0x82, 0, 1], "wrong-type");
}

#[test]
fn lengths_of_2_to_the_63_and_more() {
    for number in [1 << 63, u64::MAX, 1 << 32, (1 << 63) - 1] {
        refused(&head(2, number), "truncated");
        for major in [3, 4, 5] {
            refused(&head(major, number), "too-long");
        }
        let mut item = winze_sync_format::MARK.to_vec();
        item.extend_from_slice(&head(2, number));
        item.extend_from_slice(&[0; 200]);
        assert_eq!(open_item(&item).unwrap_err().class(), "too-long");
    }
}

#[test]
fn keys_twice() {
    all_refused(
        "key-order",
        &[
            &[0xa2, 1, 0, 1, 0],
            &[0xa2, 1, 0, 1, 5],
            &[0x81, 0xa2, 0, 0, 0, 0],
        ],
    );
}

#[test]
fn keys_out_of_order() {
    all_refused(
        "key-order",
        &[
            &[0xa2, 2, 0, 1, 0],
            &[0xa2, 0x18, 24, 0, 23, 0],
            &[0xa3, 0, 0, 2, 0, 1, 0],
        ],
    );
}

#[test]
fn keys_that_are_no_numbers() {
    all_refused(
        "key-not-uint",
        &[
            &[0xa1, 0x20, 0],
            &[0xa1, 0x61, b'a', 0],
            &[0xa1, 0x41, 0, 0],
            &[0xa1, 0xf6, 0],
            &[0xa1, 0x80, 0],
        ],
    );
}

#[test]
fn heads_longer_than_needed() {
    for major in 0..=6 {
        let top = major << 5;
        all_refused(
            "not-shortest",
            &[
                &[top | 0x18, 23],
                &[top | 0x19, 0, 255],
                &[top | 0x1a, 0, 0, 255, 255],
                &[top | 0x1b, 0, 0, 0, 0, 255, 255, 255, 255],
            ],
        );
    }
}

#[test]
fn indefinite_lengths() {
    all_refused(
        "indefinite",
        &[
            &[0x5f, 0x41, 0, 0xff],
            &[0x7f, 0x61, b'a', 0xff],
            &[0x9f, 0, 0xff],
            &[0xbf, 0, 0, 0xff],
            &[0xff],
            &[0x9f],
        ],
    );
}

#[test]
fn floats_and_simple_values() {
    all_refused(
        "not-allowed",
        &[
            &[0xf9, 0x3c, 0],
            &[0xf9, 0x7e, 0],
            &[0xfa, 0x3f, 0x80, 0, 0],
            &[0xfb, 0x7f, 0xf0, 0, 0, 0, 0, 0, 0],
            &[0xf7],
            &[0xf0],
            &[0xf8, 20],
            &[0xf8, 32],
            &[0x1c],
            &[0x5e],
        ],
    );
}

#[test]
fn tags_that_are_not_used() {
    all_refused(
        "not-allowed",
        &[
            &[0xc0, 0x60],
            &[0xc1, 0],
            &[0xc2, 0x41, 1],
            &[0xc3, 0x41, 1],
            &[0xc5, 0x82, 0, 1],
            &[0xd2, 0x84],
            &[0xd9, 0xd9, 0xf7, 0],
        ],
    );
}

#[test]
fn numbers_out_of_range() {
    let bytes_2_63 = [0x3b, 0x80, 0, 0, 0, 0, 0, 0, 0];
    refused(&bytes_2_63, "out-of-range");
    for exponent in [
        &[19][..],
        &[0x32],
        &[0x18, 127],
        &[0x1b, 255, 255, 255, 255, 255, 255, 255, 255],
    ] {
        refused(
            &[&[0xc4, 0x82][..], exponent, &[1]].concat(),
            "out-of-range",
        );
    }
    refused(
        &[&[0xc4, 0x82, 0][..], &bytes_2_63].concat(),
        "out-of-range",
    );
}

#[test]
fn text_that_is_not_utf8() {
    for text in [
        &b"\xff"[..],
        b"\x80",
        b"\xc0\xaf",
        b"\xe0\x80\xaf",
        b"\xe2\x82",
        b"\xed\xa0\x80",
        b"\xed\xa0\x80\xed\xb0\x80",
        b"\xf4\x90\x80\x80",
        b"\xf8\x88\x80\x80\x80",
        b"a\x00\xc3(",
    ] {
        let mut value = string(text);
        value[0] |= 0x20;
        refused(&value, "bad-utf8");
    }
}

#[test]
fn bytes_behind_the_value() {
    for value in [&[0, 0][..], &[0xa0, 0xff], &[0x60, 0x60]] {
        let outcome = scan(value, &Limits::RECORD);
        assert!(matches!(outcome, Err(Error::TrailingBytes { .. })));
    }
    let mut payload = payload_around(&[0xa0]);
    payload.push(0);
    let outcome = open_item(&wrap(ONE, &payload));
    assert_eq!(outcome.unwrap_err().class(), "trailing-bytes");
}

/// The most values that a payload can hold: looked at one by one, once, and nothing is kept.
#[test]
fn a_payload_full_of_tiny_values() {
    // Fifteen arrays of 4,096 numbers, and one more number would not fit.
    let mut inner = head(4, 4096);
    inner.extend([0].repeat(4096));
    let mut body = vec![0xaf];
    for at in 0..15 {
        body.push(at);
        body.extend_from_slice(&inner);
    }
    let item = wrap(ONE, &payload_around(&body));
    assert!(item.len() > 61_000);
    open_item(&item).unwrap();
    let bytes = item.repeat(100);
    assert_eq!(read(&bytes).records.len(), 100);
    // The same with one key too large for its neighbour is refused at its very end.
    let last = body.len() - inner.len() - 1;
    body[last] = 0;
    let outcome = open_item(&wrap(ONE, &payload_around(&body)));
    assert_eq!(outcome.unwrap_err().class(), "key-order");
}

/// No limit can be passed by one.
#[test]
fn one_more_than_the_limits() {
    refused(&[head(4, 4097), vec![0; 4097]].concat(), "too-long");
    let entries = (0..65).flat_map(|key| [head(0, key), vec![0]].concat());
    refused(&[head(5, 65), entries.collect()].concat(), "too-long");
    let mut text = string(&[b'n'; 4097]);
    text[0] |= 0x20;
    refused(&text, "too-long");
    let longest = 65_536 - payload_around(&[0xa1, 0]).len() - 3;
    for (bytes, fits) in [(longest, true), (longest + 1, false)] {
        let body = [&[0xa1, 0][..], &string(&vec![0; bytes])].concat();
        let item = wrap(ONE, &payload_around(&body));
        assert_eq!(open_item(&item).is_ok(), fits);
        let found = read(&[&item, &bytes_of(&log(ONE, 1))[..]].concat());
        assert_eq!(found.records.len(), 1 + usize::from(fits));
    }
}
