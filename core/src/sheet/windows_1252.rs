//! The one old single-byte text encoding that office programs still write by default, so that a
//! degree sign in a remark does not cost a reading. Used only for cells that are not UTF-8.

/// Characters of the bytes 0x80..=0x9f; the five unassigned ones become the replacement mark.
///
/// # Source
/// The Unicode consortium's mapping table for code page 1252.
const HIGH_CONTROLS: [char; 32] = [
    '\u{20ac}', '\u{fffd}', '\u{201a}', '\u{0192}', '\u{201e}', '\u{2026}', '\u{2020}', '\u{2021}',
    '\u{02c6}', '\u{2030}', '\u{0160}', '\u{2039}', '\u{0152}', '\u{fffd}', '\u{017d}', '\u{fffd}',
    '\u{fffd}', '\u{2018}', '\u{2019}', '\u{201c}', '\u{201d}', '\u{2022}', '\u{2013}', '\u{2014}',
    '\u{02dc}', '\u{2122}', '\u{0161}', '\u{203a}', '\u{0153}', '\u{fffd}', '\u{017e}', '\u{0178}',
];

/// The character a byte stands for; bytes outside 0x80..=0x9f are those of Latin-1.
#[must_use]
pub(super) fn to_char(byte: u8) -> char {
    match byte {
        0x80..=0x9f => HIGH_CONTROLS[usize::from(byte - 0x80)],
        _ => char::from(byte),
    }
}

#[cfg(test)]
mod tests {
    use super::to_char;

    #[test]
    fn known_bytes_of_the_published_table() {
        for (byte, expected) in [
            (0x41, 'A'),
            (0x80, '€'),
            (0x99, '™'),
            (0xb0, '°'),
            (0xfc, 'ü'),
        ] {
            assert_eq!(to_char(byte), expected, "byte {byte:#x}");
        }
    }
}
