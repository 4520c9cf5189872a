//! Which logs count: a pure function of the enrolments and revocations at hand, and of whose
//! logbook this is.
//!
//! The own log counts. A log enrolled by the own log counts. A log enrolled by an *office* that
//! counts, counts too. Everything else is held: kept, carried on, but not counted.
//!
//! A logbook's own voice is that of its present log and of all it went on from, one after the other;
//! so is the voice of an office whose key was replaced. What is said later in a voice replaces what
//! was said earlier.
//!
//! Offices are placed level by level outwards from the own log, and an office can be revoked only
//! from a level nearer to the own log. So two offices that revoke each other cannot make the answer
//! depend on which statement arrived first.

use std::collections::{BTreeMap, BTreeSet};

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
    /// The office that says so goes on in the target, and its own records after `last_seq` no longer
    /// count. The first such word of an office stands: with it the old key has nothing more to say.
    Replaced {
        /// The last sequence number of the speaker that still counts.
        last_seq: u64,
    },
}

/// The logs of the logbook that looks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnLogs {
    /// The present log.
    pub log: LogId,
    /// Its role.
    pub role: Role,
    /// What its people call it.
    pub label: String,
    /// The logs it went on from, oldest first, each with the last record that was there.
    pub former: Vec<(LogId, u64)>,
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

/// What one voice says about one log, after its later words have replaced its earlier ones.
#[derive(Default)]
struct Word<'a> {
    enrolled: Option<(Role, &'a str)>,
    revoked: Option<Reach>,
}

/// Logs that speak as one, the earlier first, each with how far it counts.
type Voice = Vec<(LogId, Reach)>;

/// Works out which logs count.
///
/// # Shape
/// `statements` in any order, with or without duplicates: the answer is the same. The result always
/// holds the own log and those it went on from.
#[must_use]
pub fn trust_of(own: &OwnLogs, statements: &[Statement]) -> BTreeMap<LogId, Trust> {
    let mut ordered: Vec<&Statement> = statements.iter().collect();
    ordered.sort_by_key(|statement| statement.by);
    ordered.dedup_by_key(|statement| statement.by);

    let own_trust = |reach| Trust {
        role: own.role,
        name: own.label.clone(),
        reach,
        is_revoked: false,
    };
    let mut voice: Voice = own
        .former
        .iter()
        .filter(|(log, _)| *log != own.log)
        .map(|(log, last)| (*log, Reach::UpTo(*last)))
        .collect();
    voice.push((own.log, Reach::Everything));
    let own_logs: BTreeMap<LogId, Trust> = voice
        .iter()
        .map(|(log, reach)| (*log, own_trust(*reach)))
        .collect();
    let mut trusted = own_logs.clone();
    // The voices of all levels so far; those from `newest` on are of the newest level.
    let mut voices = vec![voice];
    let mut newest = 0;
    while newest < voices.len() {
        let mut next: BTreeMap<LogId, Trust> = BTreeMap::new();
        for voice in &voices[newest..] {
            place(voice, &ordered, &trusted, &mut next);
        }
        for voice in &voices {
            limit(&mut next, voice, &ordered, |_| true);
        }
        let found = follow_offices(&mut next, &voices, &ordered, &trusted);
        newest = voices.len();
        voices.extend(found);
        trusted.extend(next);
    }
    // Tablets revoke nobody, so limiting them needs no levels: every office that counts may do it.
    for voice in &voices {
        limit(&mut trusted, voice, &ordered, |trust| {
            trust.role == Role::Tablet
        });
    }
    // Whatever others say of them, the own logs count in their own logbook.
    trusted.extend(own_logs);
    trusted
}

/// Adds the logs that a voice enrols and that are not placed yet.
fn place(
    voice: &Voice,
    ordered: &[&Statement],
    trusted: &BTreeMap<LogId, Trust>,
    next: &mut BTreeMap<LogId, Trust>,
) {
    for (target, word) in words_of(voice, ordered) {
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
        // Two voices of one level may differ: the wider role stands, as each of them had the
        // right to give it.
        if role == Role::Office && found.role != Role::Office {
            found.role = role;
            name.clone_into(&mut found.name);
        }
    }
}

/// Follows the offices of a level to those that replaced them, and returns their voices.
fn follow_offices(
    next: &mut BTreeMap<LogId, Trust>,
    voices: &[Voice],
    ordered: &[&Statement],
    trusted: &BTreeMap<LogId, Trust>,
) -> Vec<Voice> {
    let offices: BTreeSet<LogId> = next
        .iter()
        .filter(|(_, trust)| trust.role == Role::Office)
        .map(|(log, _)| *log)
        .collect();
    let replacing: BTreeSet<LogId> = offices
        .iter()
        .filter_map(|office| replacement(*office, next[office].reach, ordered))
        .map(|(target, _)| target)
        .collect();
    // Those that nobody of this level goes on in come first, so that each chain has its whole voice.
    let (later, first): (Vec<LogId>, Vec<LogId>) = offices
        .iter()
        .partition(|office| replacing.contains(office));
    let mut spoken = BTreeSet::new();
    let mut found = Vec::new();
    for office in first.into_iter().chain(later) {
        let mut voice = Voice::new();
        let mut at = office;
        while spoken.insert(at) {
            let Some(trust) = next.get_mut(&at) else {
                break;
            };
            let heir = replacement(at, trust.reach, ordered);
            if let Some((_, last_seq)) = heir {
                trust.reach = trust.reach.min(Reach::UpTo(last_seq));
            }
            let name = trust.name.clone();
            voice.push((at, trust.reach));
            let Some((target, _)) = heir.filter(|(target, _)| !trusted.contains_key(target)) else {
                break;
            };
            if spoken.contains(&target) {
                break;
            }
            if let Some(known) = next.get_mut(&target) {
                known.role = Role::Office;
            } else {
                let mut heirs = BTreeMap::from([(
                    target,
                    Trust {
                        role: Role::Office,
                        name,
                        reach: Reach::Everything,
                        is_revoked: false,
                    },
                )]);
                for voice in voices {
                    limit(&mut heirs, voice, ordered, |_| true);
                }
                next.append(&mut heirs);
            }
            at = target;
        }
        if !voice.is_empty() {
            found.push(voice);
        }
    }
    found
}

/// The log in which an office goes on, and how far its own words count: by its first such word.
fn replacement(office: LogId, reach: Reach, ordered: &[&Statement]) -> Option<(LogId, u64)> {
    ordered.iter().find_map(|statement| {
        let Says::Replaced { last_seq } = statement.says else {
            return None;
        };
        let is_heard = statement.by.log == office && reach.covers(statement.by.seq);
        (is_heard && statement.target != office).then_some((statement.target, last_seq))
    })
}

/// Collects what a voice says within its reach, each later word replacing the earlier.
fn words_of<'a>(voice: &Voice, ordered: &[&'a Statement]) -> BTreeMap<LogId, Word<'a>> {
    let mut words: BTreeMap<LogId, Word<'a>> = BTreeMap::new();
    for (log, reach) in voice {
        for statement in ordered {
            if statement.by.log != *log || !reach.covers(statement.by.seq) {
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
                Says::Replaced { .. } => {}
            }
        }
    }
    words
}

/// Narrows the logs that a voice revokes and that `may` allows.
fn limit(
    trusted: &mut BTreeMap<LogId, Trust>,
    voice: &Voice,
    ordered: &[&Statement],
    may: impl Fn(&Trust) -> bool,
) {
    for (target, word) in words_of(voice, ordered) {
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
#[path = "trust_tests.rs"]
mod tests;
