//! Payloads changed as values, not as bytes: numbers off by one or at the edge of their width,
//! entries twice, missing or swapped, other types, deeper nesting. What comes out is well-formed
//! CBOR that may or may not be what the format allows, signed by the key that it names.

use ciborium::Value;
use sha2::{Digest as _, Sha256};

use super::mutate::{Numbers, payload};
use super::{HINT_BYTES, ONE, TWO, head, log_id, string, wrap};

/// The shortest encoding of a value, its maps in the order that they have.
pub fn encode(value: &Value) -> Vec<u8> {
    match value {
        Value::Integer(number) => {
            let number = i128::from(*number);
            let (major, size) = if number < 0 {
                (1, -1 - number)
            } else {
                (0, number)
            };
            head(major, u64::try_from(size).unwrap_or(u64::MAX))
        }
        Value::Bytes(bytes) => string(bytes),
        Value::Text(text) => [&head(3, text.len() as u64), text.as_bytes()].concat(),
        Value::Array(items) => {
            let mut out = head(4, items.len() as u64);
            for item in items {
                out.extend(encode(item));
            }
            out
        }
        Value::Map(entries) => {
            let mut out = head(5, entries.len() as u64);
            for (key, value) in entries {
                out.extend(encode(key));
                out.extend(encode(value));
            }
            out
        }
        Value::Tag(tag, inner) => [head(6, *tag), encode(inner)].concat(),
        Value::Bool(yes) => vec![0xf4 + u8::from(*yes)],
        Value::Null => vec![0xf6],
        _ => vec![0xf9, 0x3c, 0],
    }
}

pub fn decode(bytes: &[u8]) -> Option<Value> {
    ciborium::from_reader(bytes).ok()
}

/// How many values there are, keys of maps and the value itself among them.
fn count(value: &Value) -> usize {
    1 + match value {
        Value::Array(items) => items.iter().map(count).sum(),
        Value::Map(entries) => entries
            .iter()
            .map(|(key, value)| count(key) + count(value))
            .sum(),
        Value::Tag(_, inner) => count(inner),
        _ => 0,
    }
}

/// Does something to the value of this number; tells how many numbers are left to go.
fn at(value: &mut Value, mut left: usize, act: &mut dyn FnMut(&mut Value)) -> Option<usize> {
    if left == 0 {
        act(value);
        return None;
    }
    left -= 1;
    match value {
        Value::Array(items) => {
            for item in items {
                left = at(item, left, act)?;
            }
        }
        Value::Map(entries) => {
            for (key, value) in entries {
                left = at(key, left, act)?;
                left = at(value, left, act)?;
            }
        }
        Value::Tag(_, inner) => left = at(inner, left, act)?,
        _ => {}
    }
    Some(left)
}

/// Numbers at the edges of widths and types.
const EDGES: [i128; 18] = [
    0,
    1,
    2,
    3,
    18,
    19,
    -18,
    -19,
    23,
    24,
    255,
    256,
    -1,
    (1 << 63) - 1,
    1 << 63,
    (1 << 64) - 1,
    -(1 << 63),
    -(1 << 63) - 1,
];

fn integer(number: i128) -> Value {
    ciborium::value::Integer::try_from(number).map_or(Value::Null, Value::Integer)
}

fn another(numbers: &mut Numbers) -> Value {
    match numbers.below(9) {
        0 => Value::Null,
        1 => Value::Bool(true),
        2 => Value::Float(1.0),
        3 => Value::Text("x".repeat([0, 1, 4096, 4097][numbers.below(4)])),
        4 => Value::Bytes(vec![7; [0, 8, 16, 31, 32][numbers.below(5)]]),
        5 => Value::Array(vec![integer(0); [0, 2, 3][numbers.below(3)]]),
        6 => Value::Map(
            (0..[0, 1, 65][numbers.below(3)])
                .map(|key| (integer(key), Value::Null))
                .collect(),
        ),
        7 => Value::Tag(
            [2, 4][numbers.below(2)],
            Box::new(Value::Array(vec![integer(0); 2])),
        ),
        _ => integer(EDGES[numbers.below(EDGES.len())]),
    }
}

fn change(value: &mut Value, numbers: &mut Numbers) {
    if numbers.one_in(6) {
        *value = another(numbers);
        return;
    }
    if numbers.one_in(12) {
        for _ in 0..=numbers.below(8) {
            let inner = std::mem::replace(value, Value::Null);
            *value = if numbers.one_in(2) {
                Value::Array(vec![inner])
            } else {
                Value::Map(vec![(integer(0), inner)])
            };
        }
        return;
    }
    match value {
        Value::Integer(old) => {
            let old = i128::from(*old);
            *value = match numbers.below(3) {
                0 => integer(old + 1),
                1 => integer(old - 1),
                _ => integer(EDGES[numbers.below(EDGES.len())]),
            };
        }
        Value::Bytes(bytes) => match numbers.below(3) {
            0 => bytes.push(0),
            1 => drop(bytes.pop()),
            _ => {
                let at = numbers.below(bytes.len());
                if let Some(byte) = bytes.get_mut(at) {
                    *byte ^= 1;
                }
            }
        },
        Value::Text(text) => text.push(['a', '\u{0}', '\u{202e}', '\u{1f6b0}'][numbers.below(4)]),
        Value::Array(items) => disturb(items, numbers),
        Value::Map(entries) => disturb(entries, numbers),
        Value::Tag(tag, _) => *tag = [2, 4, 5, 18][numbers.below(4)],
        other => *other = another(numbers),
    }
}

fn disturb<T: Clone>(items: &mut Vec<T>, numbers: &mut Numbers) {
    if items.is_empty() {
        return;
    }
    let (one, two) = (numbers.below(items.len()), numbers.below(items.len()));
    match numbers.below(4) {
        3 if numbers.one_in(4) => {
            let full = [64, 65, 512, 513][numbers.below(4)];
            items.resize(full.max(items.len()), items[one].clone());
        }
        0 => drop(items.remove(one)),
        1 => items.insert(two, items[one].clone()),
        _ => items.swap(one, two),
    }
}

/// Changes one value within a payload; bytes that are no CBOR stay as they are.
pub fn change_one(bytes: &[u8], numbers: &mut Numbers) -> Vec<u8> {
    let Some(mut value) = decode(bytes) else {
        return bytes.to_vec();
    };
    // Half of the time the body alone, where there is one: it is small beside its envelope.
    if let Value::Map(entries) = &mut value
        && numbers.one_in(2)
        && let Some((_, body)) = entries.iter_mut().find(|entry| entry.0 == integer(9))
    {
        let which = numbers.below(count(body));
        let _ = at(body, which, &mut |value| change(value, numbers));
        return encode(&value);
    }
    let which = numbers.below(count(&value));
    let _ = at(&mut value, which, &mut |value| change(value, numbers));
    encode(&value)
}

/// The item of a payload, signed by whichever of the two keys it names.
pub fn sign(payload: &[u8]) -> Vec<u8> {
    let two = log_id(TWO).0;
    // The log id stands near the start; whoever names neither is signed by the first.
    let named = payload.windows(32).take(48).any(|part| part == two);
    wrap(if named { TWO } else { ONE }, payload)
}

/// A bundle whose header or trailer was changed by somebody who then made all the rest fit.
pub fn forge(parts: &mut [Vec<u8>], numbers: &mut Numbers) -> Option<()> {
    let last = parts.len().checked_sub(2)?;
    let (in_header, in_trailer) = match numbers.below(4) {
        0 => (true, true),
        1 => (true, false),
        _ => (false, true),
    };
    let mut header = payload(&parts[0])?.to_vec();
    if in_header {
        header = change_one(&header, numbers);
        parts[0] = sign(&header);
    }
    let mut trailer = decode(payload(&parts[last])?)?;
    let before = parts[..last].concat();
    let body = trailer
        .as_map_mut()?
        .iter_mut()
        .find(|entry| entry.0 == integer(9))?;
    for (key, value) in body.1.as_map_mut()? {
        match key.as_integer().map(i128::from) {
            Some(0) => *value = Value::Bytes(Sha256::digest(&header).to_vec()),
            Some(2) => *value = integer(before.len() as i128),
            Some(3) => *value = Value::Bytes(Sha256::digest(&before).to_vec()),
            _ => {}
        }
    }
    let mut trailer = encode(&trailer);
    if in_trailer {
        trailer = change_one(&trailer, numbers);
    }
    parts[last] = sign(&trailer);
    let mut hint = vec![0x1b];
    hint.extend_from_slice(&(before.len() as u64).to_be_bytes());
    assert_eq!(hint.len(), HINT_BYTES);
    parts[last + 1] = hint;
    Some(())
}
