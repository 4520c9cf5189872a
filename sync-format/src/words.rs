//! Eight plain words for a log id, so that two people can compare it by voice.
//!
//! The list is our own and frozen: changing, adding or reordering a word changes what every
//! logbook is called. Words differ in their first four letters and by at least three letters.

use crate::id::{LogId, sha256};

/// The words, one for each value of a byte.
#[rustfmt::skip]
pub const WORDS: [&str; 256] = [
    "acorn", "adobe", "album", "almond", "amber", "anchor", "apple", "apron",
    "artist", "aspen", "atlas", "attic", "autumn", "badge", "ballad", "bamboo",
    "banjo", "barrel", "basket", "beacon", "beetle", "bench", "bicycle", "biscuit",
    "blossom", "bonfire", "bramble", "bronze", "buckle", "buffalo", "butter", "cabin",
    "cactus", "camel", "canyon", "carpet", "cascade", "cedar", "chalk", "cherry",
    "chimney", "cinema", "circus", "clay", "clover", "cobalt", "coffee", "copper",
    "cotton", "cricket", "crystal", "curtain", "cymbal", "daisy", "dancer", "desert",
    "diamond", "dolphin", "domino", "donkey", "drawer", "drum", "eagle", "echo",
    "elbow", "elephant", "engine", "envelope", "evening", "fabric", "falcon", "feather",
    "fiddle", "finger", "flute", "forest", "fossil", "fountain", "fox", "freckle",
    "funnel", "galaxy", "garlic", "giraffe", "glacier", "goblet", "goose", "grape",
    "guitar", "harvest", "helmet", "hexagon", "hickory", "hollow", "hotel", "husky",
    "iceberg", "igloo", "indigo", "insect", "ironing", "island", "ivory", "jaguar",
    "jasmine", "jelly", "jewel", "jigsaw", "journal", "jungle", "kayak", "ketchup",
    "keyboard", "kitchen", "kiwi", "knight", "ladder", "lagoon", "lantern", "laundry",
    "lavender", "leaflet", "lemon", "leopard", "lettuce", "library", "lily", "limpet",
    "linen", "lizard", "lobster", "lotus", "magnet", "marble", "meadow", "mirror",
    "mitten", "morning", "mosaic", "muffin", "mulberry", "museum", "napkin", "nephew",
    "nest", "nickel", "noodle", "nugget", "nutmeg", "oasis", "oatmeal", "obelisk",
    "oboe", "ocean", "octopus", "office", "olive", "omelet", "onion", "opera",
    "orange", "orchid", "oregano", "ostrich", "oxygen", "pajama", "palace", "panda",
    "parrot", "pasture", "peanut", "pebble", "pelican", "pencil", "piano", "picnic",
    "pigeon", "pirate", "plaza", "plywood", "pocket", "pony", "poplar", "porridge",
    "potato", "prairie", "pumpkin", "puzzle", "quail", "rabbit", "radish", "raft",
    "raisin", "raven", "rhubarb", "ribbon", "rubber", "saffron", "sailor", "satchel",
    "sausage", "scarf", "seagull", "shelter", "silver", "sketch", "slipper", "smoke",
    "soccer", "sofa", "spider", "sponge", "spruce", "squirrel", "stable", "steel",
    "storm", "summer", "sunset", "swan", "syrup", "teapot", "temple", "tennis",
    "thimble", "thunder", "toast", "topaz", "torch", "tractor", "trellis", "trumpet",
    "tulip", "turtle", "umbrella", "unicorn", "valley", "vanilla", "village", "vinegar",
    "violin", "volcano", "voyage", "vulture", "waffle", "walnut", "wedding", "wheat",
    "whistle", "window", "wombat", "yacht", "yogurt", "zebra", "zigzag", "zucchini",
];

/// The words of a log: the first eight bytes of SHA-256 of its id, one word each (64 bits).
#[must_use]
pub fn words_for(log: &LogId) -> [&'static str; 8] {
    let digest = sha256(&log.0);
    std::array::from_fn(|index| WORDS[usize::from(digest[index])])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Letters to change, add or drop to turn one word into the other.
    fn distance(a: &str, b: &str) -> usize {
        let mut row: Vec<usize> = (0..=b.len()).collect();
        for (i, x) in a.bytes().enumerate() {
            let mut next = vec![i + 1];
            for (j, y) in b.bytes().enumerate() {
                next.push(
                    (row[j] + usize::from(x != y))
                        .min(row[j + 1] + 1)
                        .min(next[j] + 1),
                );
            }
            row = next;
        }
        row[b.len()]
    }

    #[test]
    fn words_are_plain_sorted_and_far_apart() {
        for (index, word) in WORDS.iter().enumerate() {
            assert!((3..=9).contains(&word.len()) && word.bytes().all(|b| b.is_ascii_lowercase()));
            for other in &WORDS[..index] {
                assert!(other < word, "{other} {word}");
                assert!(distance(other, word) >= 3, "{other} {word}");
                assert_ne!(
                    other.get(..4),
                    word.get(..4).or(Some(word)),
                    "{other} {word}"
                );
            }
        }
    }

    #[test]
    fn the_list_is_frozen() {
        let all = WORDS.join(" ");
        assert_eq!(
            crate::id::hex(&sha256(all.as_bytes())),
            "ce64e7c18d67263372c6c5263a449ed521273d41d9370cb7e68257b07d80b516"
        );
    }

    #[test]
    fn words_follow_the_hash_of_the_log_id() {
        // First eight bytes of SHA-256 of 32 zero bytes: 66 68 7a ad f8 62 bd 77.
        let expected = [0x66, 0x68, 0x7a, 0xad, 0xf8, 0x62, 0xbd, 0x77].map(|byte| WORDS[byte]);
        assert_eq!(LogId([0; 32]).words(), expected);
    }
}
