//! Properties over generated and damaged values, against another CBOR library.

use ciborium::Value;
use proptest::prelude::*;

use super::super::to_value;
use super::{rewrite, strict};

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
}
