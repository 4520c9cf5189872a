//! Which logs count: a pure function of the enrolments and revocations at hand, and of whose
//! logbook this is.
//!
//! The own log counts. A log enrolled by the own log counts. A log enrolled by an *office* that
//! counts, counts too. Everything else is held: kept, carried on, but not counted.
//!
//! Offices are placed level by level outwards from the own log, and an office can be revoked only
//! from a level nearer to the own log. So two offices that revoke each other cannot make the answer
//! depend on which statement arrived first.

use std::collections::BTreeMap;

use winze_sync_format::{LogId, RecordRef};

use crate::record::Role;

/// One enrolment or revocation, with the record that states it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Statement {
    /// The record that says so; its log is the granter.
    pub by: RecordRef,
    /// The log spoken about.
    pub target: LogId,
    /// What is said about it.
    pub says: Says,
}

/// What a [`Statement`] says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Says {
    /// The log counts, in this role and under this name.
    Enrolled {
        /// Role granted.
        role: Role,
        /// Name given to it.
        name: String,
    },
    /// Records after `last_seq` no longer count; none at all when it is absent.
    Revoked {
        /// The last sequence number that still counts.
        last_seq: Option<u64>,
    },
}

/// How far one log counts, and as what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trust {
    /// Its role.
    pub role: Role,
    /// The name it was enrolled under.
    pub name: String,
    /// How much of it counts.
    pub reach: Reach,
    /// Whether a revocation limits it.
    pub is_revoked: bool,
}

/// How much of a log counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reach {
    /// Nothing.
    Nothing,
    /// Records up to and including this sequence number.
    UpTo(u64),
    /// Every record.
    Everything,
}

impl Reach {
    /// Says whether the record at `seq` counts.
    #[must_use]
    pub fn covers(self, seq: u64) -> bool {
        match self {
            Self::Nothing => false,
            Self::UpTo(last) => seq <= last,
            Self::Everything => true,
        }
    }
}

/// What one granter says about one log, after its later words have replaced its earlier ones.
#[derive(Default)]
struct Word<'a> {
    enrolled: Option<(Role, &'a str)>,
    revoked: Option<Reach>,
}

/// Works out which logs count.
///
/// # Shape
/// `statements` in any order, with or without duplicates: the answer is the same. The result always
/// holds the own log.
#[must_use]
pub fn trust_of(
    own: LogId,
    own_role: Role,
    own_label: &str,
    statements: &[Statement],
) -> BTreeMap<LogId, Trust> {
    let mut ordered: Vec<&Statement> = statements.iter().collect();
    ordered.sort_by_key(|statement| statement.by);
    ordered.dedup_by_key(|statement| statement.by);

    let own_trust = Trust {
        role: own_role,
        name: own_label.to_owned(),
        reach: Reach::Everything,
        is_revoked: false,
    };
    let mut trusted = BTreeMap::from([(own, own_trust)]);
    // Granters of all levels so far, and of the newest level.
    let mut granters = vec![own];
    let mut level = vec![own];
    while !level.is_empty() {
        let mut next: BTreeMap<LogId, Trust> = BTreeMap::new();
        for granter in &level {
            for (target, word) in words_of(*granter, trusted[granter].reach, &ordered) {
                let Some((role, name)) = word.enrolled else {
                    continue;
                };
                if trusted.contains_key(&target) {
                    continue;
                }
                let found = next.entry(target).or_insert_with(|| Trust {
                    role,
                    name: name.to_owned(),
                    reach: Reach::Everything,
                    is_revoked: false,
                });
                // Two granters of one level may differ: the wider role stands, as each of them
                // had the right to give it.
                if role == Role::Office && found.role != Role::Office {
                    found.role = role;
                    name.clone_into(&mut found.name);
                }
            }
        }
        for granter in &granters {
            limit(
                &mut next,
                *granter,
                trusted[granter].reach,
                &ordered,
                |_| true,
            );
        }
        level = next
            .iter()
            .filter(|(_, trust)| trust.role == Role::Office)
            .map(|(log, _)| *log)
            .collect();
        granters.extend(&level);
        trusted.extend(next);
    }
    // Tablets revoke nobody, so limiting them needs no levels: every office that counts may do it.
    for granter in &granters {
        let reach = trusted[granter].reach;
        limit(&mut trusted, *granter, reach, &ordered, |trust| {
            trust.role == Role::Tablet
        });
    }
    if let Some(own_trust) = trusted.get_mut(&own) {
        // Whatever others say of it, the own log counts in its own logbook.
        own_trust.reach = Reach::Everything;
        own_trust.is_revoked = false;
    }
    trusted
}

/// Collects what `granter` says within its reach, each later word replacing the earlier.
fn words_of<'a>(
    granter: LogId,
    reach: Reach,
    ordered: &[&'a Statement],
) -> BTreeMap<LogId, Word<'a>> {
    let mut words: BTreeMap<LogId, Word<'a>> = BTreeMap::new();
    for statement in ordered {
        if statement.by.log != granter || !reach.covers(statement.by.seq) {
            continue;
        }
        let word = words.entry(statement.target).or_default();
        match &statement.says {
            Says::Enrolled { role, name } => {
                word.enrolled = Some((*role, name));
                word.revoked = None;
            }
            Says::Revoked { last_seq } => {
                word.revoked = Some(last_seq.map_or(Reach::Nothing, Reach::UpTo));
            }
        }
    }
    words
}

/// Narrows the logs that `granter` revokes and that `may` allows.
fn limit(
    trusted: &mut BTreeMap<LogId, Trust>,
    granter: LogId,
    reach: Reach,
    ordered: &[&Statement],
    may: impl Fn(&Trust) -> bool,
) {
    for (target, word) in words_of(granter, reach, ordered) {
        let (Some(revoked), Some(trust)) = (word.revoked, trusted.get_mut(&target)) else {
            continue;
        };
        if may(trust) {
            trust.reach = trust.reach.min(revoked);
            trust.is_revoked = true;
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use winze_sync_format::RecordId;

    use super::*;

    fn log(n: u8) -> LogId {
        LogId([n; 32])
    }

    fn by(n: u8, seq: u64) -> RecordRef {
        let mut id = [n; 32];
        id[..8].copy_from_slice(&seq.to_be_bytes());
        RecordRef {
            log: log(n),
            seq,
            id: RecordId(id),
        }
    }

    fn enrol(n: u8, seq: u64, target: u8, role: Role) -> Statement {
        let says = Says::Enrolled {
            role,
            name: format!("log {target}"),
        };
        Statement {
            by: by(n, seq),
            target: log(target),
            says,
        }
    }

    fn revoke(n: u8, seq: u64, target: u8, last_seq: Option<u64>) -> Statement {
        Statement {
            by: by(n, seq),
            target: log(target),
            says: Says::Revoked { last_seq },
        }
    }

    fn trust(statements: &[Statement]) -> BTreeMap<LogId, Trust> {
        trust_of(log(1), Role::Tablet, "own", statements)
    }

    #[test]
    fn a_log_enrolled_by_an_enrolled_office_counts() {
        let trusted = trust(&[
            enrol(1, 1, 2, Role::Office),
            enrol(2, 5, 3, Role::Tablet),
            enrol(3, 1, 4, Role::Tablet),
            enrol(9, 1, 8, Role::Office),
        ]);
        assert_eq!(
            trusted.keys().copied().collect::<Vec<_>>(),
            [log(1), log(2), log(3)]
        );
    }

    #[test]
    fn a_later_enrolment_by_the_same_granter_lifts_its_revocation() {
        let revoked = [enrol(1, 1, 2, Role::Tablet), revoke(1, 2, 2, Some(7))];
        assert_eq!(trust(&revoked)[&log(2)].reach, Reach::UpTo(7));
        let mut lifted = revoked.to_vec();
        lifted.push(enrol(1, 3, 2, Role::Tablet));
        assert_eq!(trust(&lifted)[&log(2)].reach, Reach::Everything);
    }

    #[test]
    fn two_offices_that_revoke_each_other_both_stay() {
        let trusted = trust(&[
            enrol(1, 1, 2, Role::Office),
            enrol(1, 2, 3, Role::Office),
            revoke(2, 1, 3, None),
            revoke(3, 1, 2, None),
        ]);
        assert_eq!(trusted[&log(2)].reach, Reach::Everything);
        assert_eq!(trusted[&log(3)].reach, Reach::Everything);
    }

    #[test]
    fn words_of_a_revoked_office_beyond_its_reach_do_not_count() {
        let trusted = trust(&[
            enrol(1, 1, 2, Role::Office),
            revoke(1, 2, 2, Some(5)),
            enrol(2, 5, 3, Role::Tablet),
            enrol(2, 6, 4, Role::Tablet),
        ]);
        assert!(trusted.contains_key(&log(3)));
        assert!(!trusted.contains_key(&log(4)));
    }

    #[test]
    fn nobody_can_take_the_own_log_out_of_its_own_logbook() {
        let trusted = trust(&[enrol(1, 1, 2, Role::Office), revoke(2, 1, 1, None)]);
        assert_eq!(trusted[&log(1)].reach, Reach::Everything);
    }

    fn any_statement() -> impl Strategy<Value = Statement> {
        (
            1u8..5,
            0u64..6,
            1u8..6,
            0u8..4,
            proptest::option::of(0u64..6),
        )
            .prop_map(|(n, seq, target, what, last)| match what {
                0 => enrol(n, seq, target, Role::Office),
                1 => enrol(n, seq, target, Role::Tablet),
                _ => revoke(n, seq, target, last),
            })
    }

    proptest! {
        #[test]
        fn the_order_of_statements_changes_nothing(
            statements in proptest::collection::vec(any_statement(), 0..20),
            seed in any::<u64>(),
        ) {
            // One record states one thing: of statements with the same name keep the first.
            let mut unique: Vec<Statement> = Vec::new();
            for statement in statements {
                if unique.iter().all(|other| other.by != statement.by) {
                    unique.push(statement);
                }
            }
            let mut shuffled = unique.clone();
            shuffled.sort_by_key(|s| s.by.seq.wrapping_add(u64::from(s.by.log.0[0])).wrapping_mul(seed | 1));
            shuffled.extend(unique.clone());
            prop_assert_eq!(trust(&unique), trust(&shuffled));
        }
    }
}
