//! Tests of signing and opening, against RFC 8032, the public COSE example and another library.

use coset::{CborSerializable as _, CoseSign1, TaggedCborSerializable as _, iana};
use ed25519_dalek::VerifyingKey;
use proptest::prelude::*;

use super::verify::{KEYS_KEPT, PROTECTED, check_signature, unpack_key, write_sig_structure};
use super::*;
use crate::id::{hex, sha256};
use crate::samples::{draft, key, log, rows, unhex};

fn verifying_key(text: &str) -> VerifyingKey {
    unpack_key(LogId(unhex(text).try_into().unwrap())).unwrap()
}

fn signature(text: &str) -> [u8; 64] {
    unhex(text).try_into().unwrap()
}

#[test]
fn c6_ed25519_rfc8032_section_7_1() {
    let rows = rows(include_str!("../../vectors/rfc8032/ed25519.csv"), 5);
    assert_eq!(rows.len(), 4);
    for row in rows {
        let key = LogKey::from_seed(&unhex(row[1]).try_into().unwrap());
        let message = unhex(row[3]);
        assert_eq!(key.log_id().to_string(), row[2]);
        assert_eq!(hex(&key.sign(&message)), row[4]);
        check_signature(&verifying_key(row[2]), &message, &signature(row[4])).unwrap();
    }
}

/// Test 2 of RFC 8032 with another message, a flipped bit in R, and S raised by the group order.
#[test]
fn c6_three_signatures_that_must_be_refused() {
    let rows = rows(include_str!("../../vectors/rfc8032/ed25519.csv"), 5);
    let (key, good) = (verifying_key(rows[1][2]), signature(rows[1][4]));
    check_signature(&key, &[0x72], &good).unwrap();
    assert!(check_signature(&key, &[0x73], &good).is_err());
    let mut flipped = good;
    flipped[0] ^= 1;
    assert!(check_signature(&key, &[0x72], &flipped).is_err());
    let raised = signature(
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da\
         f52db7415978abc61b2c2eb6aeebfca0387b2eaeb4302aeeb00d291612bb0c10",
    );
    assert!(check_signature(&key, &[0x72], &raised).is_err());
}

/// Points of small order, and a key with a second spelling, name no log.
#[test]
fn keys_that_fit_several_signatures_are_refused() {
    for text in [
        "0100000000000000000000000000000000000000000000000000000000000000",
        "0000000000000000000000000000000000000000000000000000000000000000",
        "0000000000000000000000000000000000000000000000000000000000000080",
        "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
        "edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
        "eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
        "ffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
        "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
        "0200000000000000000000000000000000000000000000000000000000000000",
    ] {
        let log = LogId(unhex(text).try_into().unwrap());
        assert!(
            matches!(unpack_key(log), Err(Error::BadKey { .. })),
            "{text}"
        );
    }
}

/// The public example `eddsa-sig-01` of the COSE working group; the key is test 1 of RFC 8032.
#[test]
fn c7_public_cose_example() {
    let message = unhex(
        "D28445A201270300A10442313154546869732069732074686520636F6E74656E742E58407142FD2FF96D56DB\
         85BEE905A76BA1D0B7321A95C8C4D3607C5781932B7AFB8711497DFA751BF40B58B3BCC32300B1487F3DB34\
         085EEF013BF08F4A44D6FEF0D",
    );
    let digest = "41a5bd5cb358aa1831e2a7fcdc8208426f22c6d8518d98a888c2eef7db6b5e92";
    assert_eq!(hex(&sha256(&message)), digest);
    let mut to_be_signed = Vec::new();
    let protected = unhex("A201270300");
    write_sig_structure(&mut to_be_signed, &protected, &[], b"This is the content.");
    let expected = "846a5369676e61747572653145a2012703004054546869732069732074686520636f6e7465\
        6e742e";
    assert_eq!(hex(&to_be_signed), expected);
    let key = verifying_key("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a");
    check_signature(&key, &to_be_signed, message.last_chunk().unwrap()).unwrap();
    // It is no item of ours: its headers are not the fixed ones.
    assert_eq!(parse_item(&message).unwrap_err().class(), "not-an-item");
}

/// Another COSE library reads our items and finds the same bytes under the signature.
#[test]
fn c7_another_library_opens_our_items() {
    let key = key(5);
    for record in log(&key, 3) {
        let message = CoseSign1::from_tagged_slice(record.item()).unwrap();
        let algorithm = coset::RegisteredLabelWithPrivate::Assigned(iana::Algorithm::Ed25519);
        assert_eq!(message.protected.header.alg, Some(algorithm));
        assert!(message.unprotected.is_empty());
        assert_eq!(RecordId::of(message.payload.as_ref().unwrap()), record.id());
        message
            .verify_signature(b"winze/1", |signature, bytes| {
                check_signature(
                    &unpack_key(key.log_id())?,
                    bytes,
                    signature.try_into().unwrap(),
                )
            })
            .unwrap();
        assert!(
            message
                .verify_signature(b"winze/2", |signature, bytes| {
                    check_signature(
                        &unpack_key(key.log_id())?,
                        bytes,
                        signature.try_into().unwrap(),
                    )
                })
                .is_err()
        );
        assert_eq!(message.to_tagged_vec().unwrap(), record.item());
        // Without its tag it is still COSE, but not an item.
        let untagged = CoseSign1::from_tagged_slice(record.item())
            .unwrap()
            .to_vec()
            .unwrap();
        assert!(parse_item(&untagged).is_err());
    }
}

#[test]
fn a_sealed_record_opens_as_itself() {
    let key = key(3);
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

/// Ed25519 signatures depend on nothing but key and message, so the bytes are fixed for ever.
#[test]
fn the_bytes_of_a_record_are_frozen() {
    let record = &log(&key(1), 2)[1];
    let frozen = include_str!("../../vectors/v1/item-good-second-of-a-log.txt");
    let body: String = frozen
        .split_once("\n\n")
        .unwrap()
        .1
        .split_whitespace()
        .collect();
    assert_eq!(hex(record.item()), body);
}

#[test]
fn a_failed_seal_leaves_the_head_where_it_was() {
    let key = key(3);
    let start = LogHead::empty(key.log_id());
    let mut structural = draft("x");
    structural.kind = 2;
    let mut zero = draft("x");
    zero.kind = 0;
    let mut list = draft("x");
    list.body = vec![0x80];
    let mut long = draft("x");
    long.person = "x".repeat(4097);
    let mut many = draft("x");
    many.refs = vec![log(&key, 1)[0].reference(); 65];
    for bad in [structural, zero, list, long, many] {
        let mut head = start;
        assert!(seal(&key, &mut head, bad).is_err());
        assert_eq!(head, start);
    }
    let mut foreign = LogHead::empty(crate::samples::key(4).log_id());
    assert!(matches!(
        seal(&key, &mut foreign, draft("x")),
        Err(Error::WrongLog { .. })
    ));
    let prev = Some(RecordId([1; 32]));
    let mut ending = LogHead {
        log: key.log_id(),
        next_seq: u64::MAX,
        prev,
    };
    assert!(matches!(
        seal(&key, &mut ending, draft("x")),
        Err(Error::LogFull { .. })
    ));
    assert_eq!(ending.next_seq, u64::MAX);
}

/// A record may not be moved into another protocol that uses the same keys.
#[test]
fn a_signature_over_other_surroundings_is_refused() {
    let key = key(3);
    let good = log(&key, 1).remove(0);
    let (parsed, _) = parse_item(good.item()).unwrap();
    for aad in [&b"winze/2"[..], b"", b"other/1"] {
        let mut to_be_signed = Vec::new();
        write_sig_structure(&mut to_be_signed, PROTECTED, aad, parsed.payload());
        let mut item = good.item().to_vec();
        let at = item.len() - SIGNATURE_BYTES;
        item[at..].copy_from_slice(&key.sign(&to_be_signed));
        assert_eq!(open_item(&item).unwrap_err().class(), "bad-signature");
    }
}

/// A payload of version 2 with a body of a form that this version does not know.
fn newer_payload(log: LogId) -> Vec<u8> {
    let mut payload = vec![0xa6, 0, 2, 1, 0x18, 40, 2, 0x58, 32];
    payload.extend_from_slice(&log.0);
    payload.extend_from_slice(&[3, 7, 4, 0x58, 32]);
    payload.extend_from_slice(&[9; 32]);
    payload.extend_from_slice(&[9, 0xf9, 0x3c, 0]);
    payload
}

#[test]
fn an_item_of_a_newer_version_is_kept_unread() {
    let key = key(3);
    let payload = newer_payload(key.log_id());
    let item = wrap(&key, &payload);
    let (opened, length) = open_item(&item).unwrap();
    let Opened::Newer(newer) = opened else {
        panic!("{opened:?}")
    };
    assert_eq!((newer.version, length), (2, item.len()));
    assert_eq!(
        (newer.reference.log, newer.reference.seq),
        (key.log_id(), 7)
    );
    assert_eq!(newer.reference.id, RecordId::of(&payload));
    assert_eq!(newer.item, item);
    let mut forged = item;
    *forged.last_mut().unwrap() ^= 1;
    assert!(open_item(&forged).is_err());
}

#[test]
fn a_huge_declared_length_is_refused_at_once() {
    let mut item = MARK.to_vec();
    item.extend_from_slice(&[0x5b, 0x7f, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff]);
    assert_eq!(parse_item(&item).unwrap_err().class(), "too-long");
    let mut item = MARK.to_vec();
    item.extend_from_slice(&[0x5a, 0x00, 0x01, 0x00, 0x01]);
    assert_eq!(parse_item(&item).unwrap_err().class(), "too-long");
}

#[test]
fn a_verifier_forgets_keys_rather_than_growing() {
    let mut verifier = Verifier::default();
    for number in 0..KEYS_KEPT + 10 {
        let mut seed = [0; 32];
        seed[..8].copy_from_slice(&(number as u64).to_le_bytes());
        let key = LogKey::from_seed(&seed);
        let item = wrap(&key, &newer_payload(key.log_id()));
        verifier.verify(parse_item(&item).unwrap().0).unwrap();
        assert!(verifier.keys.len() <= KEYS_KEPT);
    }
}

#[test]
fn no_bit_of_an_item_is_free() {
    let good = log(&key(3), 2).remove(1);
    for bit in 0..good.item().len() * 8 {
        let mut bad = good.item().to_vec();
        bad[bit / 8] ^= 1 << (bit % 8);
        assert!(open_item(&bad).is_err(), "bit {bit}");
    }
    for cut in 0..good.item().len() {
        assert_eq!(
            parse_item(&good.item()[..cut]).unwrap_err().class(),
            "truncated"
        );
    }
}

proptest! {
    /// Any bytes at all, also behind a true mark: refused or opened, never a panic.
    #[test]
    fn any_bytes_are_refused(bytes in prop::collection::vec(any::<u8>(), 0..400), marked: bool) {
        let mut item = if marked { MARK.to_vec() } else { Vec::new() };
        item.extend_from_slice(&bytes);
        prop_assert!(open_item(&item).is_err());
        let _ = peek_ref(&item);
    }
}
