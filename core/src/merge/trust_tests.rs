//! Tests of which logs count.

use proptest::prelude::*;
use winze_sync_format::RecordId;

use super::*;

fn own(former: &[(u8, u64)]) -> OwnLogs {
    let former = former.iter().map(|(n, last)| (log(*n), *last));
    OwnLogs {
        log: log(1),
        role: Role::Tablet,
        label: "own".to_owned(),
        former: former.collect(),
    }
}

fn replace(n: u8, seq: u64, target: u8, last_seq: u64) -> Statement {
    Statement {
        by: by(n, seq),
        target: log(target),
        says: Says::Replaced { last_seq },
    }
}

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
    trust_of(&own(&[]), statements)
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
        0u8..5,
        proptest::option::of(0u64..6),
    )
        .prop_map(|(n, seq, target, what, last)| match what {
            0 => enrol(n, seq, target, Role::Office),
            1 => enrol(n, seq, target, Role::Tablet),
            2 => replace(n, seq, target, last.unwrap_or(seq)),
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

#[test]
fn what_the_own_logbook_said_before_it_went_on_in_a_new_log_stands() {
    let said = [
        enrol(9, 1, 2, Role::Office),
        enrol(9, 7, 3, Role::Tablet),
        revoke(9, 2, 4, None),
        enrol(2, 1, 4, Role::Tablet),
        enrol(1, 1, 4, Role::Tablet),
    ];
    let trusted = trust_of(&own(&[(9, 5)]), &said);
    assert_eq!(trusted[&log(9)].reach, Reach::UpTo(5));
    assert!(trusted.contains_key(&log(2)));
    // Beyond what was here when the new log began, another may have written under the old name.
    assert!(!trusted.contains_key(&log(3)));
    // The new log lifts what the old one revoked.
    assert_eq!(trusted[&log(4)].reach, Reach::Everything);
}

#[test]
fn an_office_whose_key_was_replaced_counts_under_both_each_as_far_as_named() {
    let said = [
        enrol(1, 1, 2, Role::Office),
        enrol(2, 3, 5, Role::Tablet),
        enrol(2, 8, 6, Role::Tablet),
        revoke(2, 2, 7, None),
        enrol(2, 1, 7, Role::Tablet),
        replace(2, 9, 3, 4),
        // Whoever has the old key says the same for himself, too late.
        replace(2, 10, 8, 10),
        enrol(3, 0, 7, Role::Tablet),
    ];
    let trusted = trust(&said);
    assert_eq!(trusted[&log(2)].reach, Reach::UpTo(4));
    assert_eq!(trusted[&log(3)].role, Role::Office);
    assert_eq!(trusted[&log(3)].name, "log 2");
    assert!(trusted.contains_key(&log(5)));
    assert!(!trusted.contains_key(&log(6)));
    assert!(!trusted.contains_key(&log(8)));
    assert_eq!(trusted[&log(7)].reach, Reach::Everything);
}

#[test]
fn a_tablet_cannot_name_an_office() {
    let said = [enrol(1, 1, 2, Role::Tablet), replace(2, 1, 3, 1)];
    assert!(!trust(&said).contains_key(&log(3)));
    assert_eq!(trust(&said)[&log(2)].reach, Reach::Everything);
}

#[test]
fn offices_that_replace_each_other_come_to_an_end() {
    let said = [
        enrol(1, 1, 2, Role::Office),
        replace(2, 1, 3, 1),
        replace(3, 1, 2, 1),
    ];
    let trusted = trust(&said);
    assert_eq!(trusted[&log(2)].reach, Reach::UpTo(1));
    assert_eq!(trusted[&log(3)].reach, Reach::UpTo(1));
}
