//! Keys and signatures that a looser check would let pass, and signatures taken from elsewhere.

use winze_sync_format::{Error, MARK, open_item};

use super::common::{
    ONE, TWO, bundle_of, bytes_of, log, log_id, payload_around, read, string, unhex, vector, wrap,
    wrap_for, wrap_with,
};

/// All encodings of the eight points of small order, second spellings among them. Computed with
/// another program.
const SMALL_ORDER: [&str; 14] = [
    "0000000000000000000000000000000000000000000000000000000000000000",
    "0000000000000000000000000000000000000000000000000000000000000080",
    "0100000000000000000000000000000000000000000000000000000000000000",
    "0100000000000000000000000000000000000000000000000000000000000080",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc85",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac03fa",
    "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
    "edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
    "eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
];

/// The order of the group, little-endian (RFC 8032 section 5.1).
const ORDER: &str = "edd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010";

fn class(item: &[u8]) -> &'static str {
    open_item(item).map_or_else(|error| error.class(), |_| "ok")
}

/// A good payload and its signature.
fn signed() -> (Vec<u8>, [u8; 64]) {
    let payload = payload_around(&[0xa0]);
    let item = wrap(ONE, &payload);
    assert_eq!(class(&item), "ok");
    (payload, *item.last_chunk().unwrap())
}

/// `number + other`, little-endian; `None` when the 32 bytes do not hold it.
fn plus(number: &[u8], other: &[u8]) -> Option<[u8; 32]> {
    let mut sum = [0; 32];
    let mut carry = 0;
    for at in 0..32 {
        let digit = u16::from(number[at]) + u16::from(other[at]) + carry;
        sum[at] = digit.to_le_bytes()[0];
        carry = digit >> 8;
    }
    (carry == 0).then_some(sum)
}

#[test]
fn small_order_keys() {
    for key in SMALL_ORDER {
        let own = string(&log_id(ONE).0);
        let payload = payload_around(&[0xa0]);
        let at = payload
            .windows(own.len())
            .position(|window| window == own)
            .unwrap();
        let mut payload = payload;
        payload[at + 2..at + 34].copy_from_slice(&unhex(key));
        // Without strictness, R neutral and S zero hold for many payloads under such a key.
        let mut signature = [0; 64];
        signature[0] = 1;
        for signature in [signature, [0; 64]] {
            let item = wrap_with(&payload, &signature);
            assert_eq!(class(&item), "bad-key", "{key}");
        }
    }
    for order in [
        "order-2",
        "order-4",
        "order-8",
        "small-order",
        "negative-zero",
    ] {
        let item = vector(&format!("item-bad-key-{order}"));
        assert_eq!(class(&item), "bad-key", "{order}");
    }
}

#[test]
fn keys_in_a_second_spelling_or_off_the_curve() {
    for name in ["item-bad-key-not-canonical", "item-bad-key-off-the-curve"] {
        assert_eq!(class(&vector(name)), "bad-key", "{name}");
    }
}

#[test]
fn malleable_s() {
    let (payload, signature) = signed();
    let order = unhex(ORDER);
    let mut scalar = signature[32..].to_vec();
    let mut tried = 0;
    while let Some(raised) = plus(&scalar, &order) {
        let mut other = signature;
        other[32..].copy_from_slice(&raised);
        assert_eq!(class(&wrap_with(&payload, &other)), "bad-signature");
        scalar = raised.to_vec();
        tried += 1;
    }
    assert_eq!(tried, 15, "S + L to S + 15 L fit into 32 bytes");
}

#[test]
fn small_order_r() {
    let (payload, signature) = signed();
    for point in SMALL_ORDER {
        let mut other = signature;
        other[..32].copy_from_slice(&unhex(point));
        assert_eq!(class(&wrap_with(&payload, &other)), "bad-signature");
    }
    // With these the equation itself holds.
    for name in ["item-bad-r-neutral", "item-bad-r-not-canonical"] {
        assert_eq!(class(&vector(name)), "bad-signature", "{name}");
    }
}

/// One key, two signatures: one holds as it stands, one only when multiplied by the cofactor. A
/// batch check would let both pass, sometimes.
#[test]
fn signatures_that_hold_only_with_the_cofactor() {
    assert_eq!(class(&vector("item-good-key-of-mixed-order")), "ok");
    assert_eq!(
        class(&vector("item-bad-holds-only-with-cofactor")),
        "bad-signature"
    );
}

#[test]
fn other_algorithms() {
    let (payload, signature) = signed();
    let good = wrap_with(&payload, &signature);
    // -8 (EdDSA), -7 (ES256), -1, 5 (HMAC), an empty protected header, none at all.
    for protected in [
        &[0x43, 0xa1, 1, 0x27][..],
        &[0x43, 0xa1, 1, 0x26],
        &[0x43, 0xa1, 1, 0x20],
        &[0x43, 0xa1, 1, 5],
        &[0x41, 0xa0],
        &[0x40],
    ] {
        let item = [&[0xd2, 0x84][..], protected, &good[6..]].concat();
        assert_eq!(class(&item), "not-an-item");
    }
}

#[test]
fn unprotected_headers() {
    let (payload, signature) = signed();
    let good = wrap_with(&payload, &signature);
    let item = [&MARK[..6], &[0xa1, 4, 0x41, 0], &good[7..]].concat();
    assert_eq!(class(&item), "not-an-item");
}

/// Every signature of a log under every other payload of it.
#[test]
fn signatures_of_other_records() {
    let records = log(ONE, 12);
    for (at, record) in records.iter().enumerate() {
        for (from, other) in records.iter().enumerate() {
            let mut item = record.item().to_vec();
            let length = item.len();
            item[length - 64..].copy_from_slice(other.item().last_chunk::<64>().unwrap());
            let expected = if at == from { "ok" } else { "bad-signature" };
            assert_eq!(class(&item), expected);
        }
    }
}

/// A record claimed for a log by somebody who has not its key.
#[test]
fn records_in_another_logs_name() {
    let item = wrap(TWO, &payload_around(&[0xa0]));
    let Err(Error::BadSignature { log }) = open_item(&item) else {
        panic!("taken");
    };
    assert_eq!(log, log_id(ONE));
    let own = super::common::log(TWO, 3);
    let found = read(&[&item, &bytes_of(&own)[..]].concat());
    assert_eq!(found.records, own);
}

/// The same payload, signed by the same key for another protocol that uses the same wrapping.
#[test]
fn replay_from_another_format() {
    let payload = payload_around(&[0xa0]);
    for aad in [
        &b""[..],
        b"winze",
        b"winze/2",
        b"winze/10",
        b"WINZE/1",
        b"other/1",
    ] {
        assert_eq!(class(&wrap_for(ONE, aad, &payload)), "bad-signature");
    }
    assert_eq!(class(&wrap_for(ONE, b"winze/1", &payload)), "ok");
}

/// A record that comes again, in another bundle and packed by somebody else, has the same name
/// and the same bytes: there is nothing to gain. Into another site it comes under a log id that
/// the site does not know; that is decided above this format.
#[test]
fn replay_of_the_same_record() {
    let records = log(TWO, 3);
    let (first, again) = (read(&bundle_of(&records)), read(&bytes_of(&records)));
    assert_eq!(first.records, again.records);
    for (one, two) in first.records.iter().zip(&again.records) {
        assert_eq!(one.reference(), two.reference());
        assert_eq!(one.item(), two.item());
    }
}

/// A second good signature over one payload, which only the holder of the key can make, does not
/// make a second name: the signature is not part of it.
#[test]
fn a_second_signature_makes_no_second_name() {
    let names = ["first-of-a-log", "signed-otherwise"].map(|name| {
        let item = vector(&format!("item-good-{name}"));
        (item.clone(), open_item(&item).unwrap().0.reference())
    });
    assert_ne!(names[0].0, names[1].0);
    assert_eq!(names[0].1, names[1].1);
}
