//! Which of several statements about one thing are the latest words on it.
//!
//! A statement that names an earlier one as replaced comes after it, whatever the clocks say. The
//! ones that nobody replaced are the *heads*: one head settles the matter, several leave it open.

use std::collections::BTreeSet;

use winze_sync_format::RecordRef;

/// Returns the positions of the statements that no other statement in the list replaces.
///
/// # Shape
/// Each item is (record, records it replaces); the result is ordered by record.
pub fn heads<'a>(
    statements: impl Iterator<Item = (RecordRef, &'a [RecordRef])> + Clone,
) -> Vec<usize> {
    let replaced: BTreeSet<RecordRef> = statements
        .clone()
        .flat_map(|(_, replaces)| replaces.iter().copied())
        .collect();
    let mut heads: Vec<(RecordRef, usize)> = statements
        .enumerate()
        .filter(|(_, (at, _))| !replaced.contains(at))
        .map(|(n, (at, _))| (at, n))
        .collect();
    heads.sort_unstable();
    heads.into_iter().map(|(_, n)| n).collect()
}

#[cfg(test)]
mod tests {
    use winze_sync_format::{LogId, RecordId};

    use super::*;

    fn at(n: u8) -> RecordRef {
        RecordRef {
            log: LogId([n; 32]),
            seq: 0,
            id: RecordId([n; 32]),
        }
    }

    #[test]
    fn only_statements_nobody_replaced_remain() {
        let none: &[RecordRef] = &[];
        let first = [at(1)];
        let both = [at(2), at(3)];
        let mut list = vec![(at(3), &first[..]), (at(1), none), (at(2), &first[..])];
        assert_eq!(heads(list.iter().copied()), [2, 0]);
        list.push((at(4), &both[..]));
        assert_eq!(heads(list.iter().copied()), [3]);
    }
}
