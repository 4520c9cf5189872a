//! Readings that were judged against a definition that had been replaced when they were taken: the
//! station was revised while the tablet was below.
//!
//! The verdict shown at the station stays what it was; here stands what the other definition says of
//! the same values. Neither overwrites the other.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use winze_sync_format::RecordRef;

use super::{Visit, definition_at, station, visits_between};
use crate::merge::RevisionFact;
use crate::station::{Station, StationCode};
use crate::verdict::{Verdict, judge};
use crate::{Logbook, Result};

/// A reading of which two definitions say different things.
#[derive(Debug, Clone, PartialEq)]
pub struct Rejudged {
    /// The reading; it cites the definition that its reader had.
    pub visit: Visit,
    /// The definition that was in force when it was taken.
    pub in_force: RecordRef,
    /// The worst verdict on its values by the definition it cites.
    pub by_cited: Option<Verdict>,
    /// The worst verdict on the same values by the definition that was in force.
    pub by_in_force: Option<Verdict>,
}

/// Lists the readings of a station that count and whose worst verdict is another by the definition
/// that was in force when they were taken, newest first.
///
/// Which definition was in force goes by the clocks of those who made it and of the reader, along the
/// line of definitions that replaced each other.
///
/// # Errors
/// The database's.
pub fn rejudged(logbook: &Logbook, code: &StationCode) -> Result<Vec<Rejudged>> {
    let Some(current) = station(logbook, code)?.map(|detail| detail.revision) else {
        return Ok(Vec::new());
    };
    let facts = logbook.read_revisions(code)?;
    let facts: BTreeMap<RecordRef, RevisionFact> =
        facts.into_iter().map(|fact| (fact.at, fact)).collect();
    let line = line_of(current, &facts);
    // The first that replaced another; before it there was nothing else to judge by.
    let Some(first_replaced) = line.iter().rev().nth(1) else {
        return Ok(Vec::new());
    };
    let mut definitions: BTreeMap<RecordRef, Station> = BTreeMap::new();
    let mut list = Vec::new();
    for visit in visits_between(logbook, code, first_replaced.wall_ms, i64::MAX)? {
        let in_force = line.iter().find(|fact| fact.wall_ms <= visit.taken_ms);
        let (Some(in_force), Some(cited)) = (in_force, facts.get(&visit.revision)) else {
            continue;
        };
        // A definition newer than that was known to the reader: nothing to judge again.
        if !visit.counts() || cited.at == in_force.at || cited.wall_ms >= in_force.wall_ms {
            continue;
        }
        for at in [cited.at, in_force.at] {
            if let Entry::Vacant(place) = definitions.entry(at) {
                place.insert(definition_at(logbook, at)?);
            }
        }
        let worst = |at| judge(&definitions[&at], &visit.entry).worst();
        let (by_cited, by_in_force) = (worst(cited.at), worst(in_force.at));
        if by_cited != by_in_force {
            let in_force = in_force.at;
            list.push(Rejudged {
                visit,
                in_force,
                by_cited,
                by_in_force,
            });
        }
    }
    Ok(list)
}

/// A definition and those before it: of several that it replaced the one made last.
fn line_of(current: RecordRef, facts: &BTreeMap<RecordRef, RevisionFact>) -> Vec<&RevisionFact> {
    let mut line: Vec<&RevisionFact> = Vec::new();
    let mut next = facts.get(&current);
    while let Some(fact) = next {
        if line.iter().any(|known| known.at == fact.at) {
            break;
        }
        line.push(fact);
        let replaced = fact.replaces.iter().filter_map(|at| facts.get(at));
        next = replaced.max_by_key(|fact| (fact.wall_ms, fact.at));
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::actions::{PackFor, revise_station, void_reading};
    use crate::record::Role;
    use crate::samples::{Kept, code, station as sample};
    use crate::units::{Typed, Unit};

    /// The sample station with another set point, in tenths of a bar.
    fn set_to(tenths: i64) -> Station {
        let mut definition = sample("T-01");
        definition.second_stage.set_point = Typed::of(tenths, -1, Unit::Bar);
        definition
    }

    #[test]
    fn a_station_revised_while_the_tablet_was_below_keeps_both_verdicts() {
        let mut office = Kept::new(Role::Office, "Office");
        let mut tablet = Kept::new(Role::Tablet, "A");
        let first = office.define("T-01");
        office.enrol(&tablet, "A", Role::Tablet);
        tablet.enrol(&office, "Office", Role::Office);
        tablet.merge(&[office.pack(PackFor::Tablets)]);
        let before = tablet.read("T-01", (100, 40, 20));
        // The set point is raised at the office; the tablet does not know and reads the old one.
        office.clock.advance_ms(600_000);
        let second = revise_station(&mut office.book, set_to(30), "E".into()).unwrap();
        tablet.clock.advance_ms(3_600_000);
        let below = tablet.read("T-01", (100, 40, 20));
        let wrong = tablet.read("T-01", (100, 40, 21));
        office.clock.advance_ms(3_600_000);
        office.merge(&[tablet.pack(PackFor::Office)]);
        void_reading(&mut office.book, wrong, "another place".into(), "C".into()).unwrap();

        let list = rejudged(&office.book, &code("T-01")).unwrap();
        assert_eq!(list.len(), 1, "{list:?}");
        let found = &list[0];
        assert_eq!((found.visit.at, found.in_force), (below, second));
        assert_eq!(found.visit.revision, first);
        assert_eq!(found.by_cited, Some(Verdict::Within));
        assert_eq!(found.by_in_force, Some(Verdict::Outside));
        // What was shown at the station stays.
        assert_eq!(found.visit.shown.worst(), Some(Verdict::Within));
        assert!(super::super::visit(&office.book, before).unwrap().counts());

        // With the new definition there is nothing more to judge again.
        tablet.merge(&[office.pack(PackFor::Tablets)]);
        tablet.read("T-01", (100, 40, 30));
        office.merge(&[tablet.pack(PackFor::Office)]);
        assert_eq!(rejudged(&office.book, &code("T-01")).unwrap(), list);
        // The tablet sees the same of itself.
        assert_eq!(rejudged(&tablet.book, &code("T-01")).unwrap().len(), 1);
    }

    #[test]
    fn a_station_defined_once_has_nothing_to_judge_again() {
        let mut office = Kept::new(Role::Office, "Office");
        assert!(rejudged(&office.book, &code("T-01")).unwrap().is_empty());
        office.define("T-01");
        office.read("T-01", (100, 40, 30));
        assert!(rejudged(&office.book, &code("T-01")).unwrap().is_empty());
    }
}
