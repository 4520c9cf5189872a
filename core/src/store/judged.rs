//! Keeping what a station's events come to, so that one more reading costs one more step.
//!
//! The rules are [`crate::assess`]'s. Here the events of a station are put in their one order, and
//! the state behind the last of them is kept with the digest of their names. When an event is added
//! at the end, the state goes on from there; when one comes in between, goes away or is corrected,
//! the digest of what went in no longer fits and the station is worked out again. So the state is a
//! function of the set of records, whatever the order of arrival.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use rusqlite::{OptionalExtension, params};
use sha2::{Digest, Sha256};
use winze_sync_format::{Opened, RecordRef};

use super::Logbook;
use super::database::{Database, During};
use super::facts::Own;
use crate::Result;
use crate::assess::{Answered, Chronicle, Event, Note, Restarted, Visited};
use crate::merge::StationPlan;
use crate::record::{AskedDoubt, Body, DoubtReply, Reading};
use crate::station::{Station, StationCode};
use crate::verdict::Entry;

/// What a station's events come to, with what they told on the way.
pub(crate) type Judged = (Chronicle, Vec<Note>);

/// An event by its name; what it says is read when it is its turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Named {
    at_ms: i64,
    what: What,
    record: RecordRef,
    /// The correction in force, or the reading that an answer is about.
    other: Option<RecordRef>,
    /// What starts anew, a bit each.
    what_anew: u8,
}

/// The order of events at the same moment: work comes before the reading that shows how it was left,
/// an answer after the reading it is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum What {
    Restart,
    Reading,
    Answer,
}

impl Named {
    fn add_to(&self, digest: &mut Sha256) {
        digest.update([self.what as u8, self.what_anew]);
        digest.update(self.at_ms.to_le_bytes());
        for at in [Some(self.record), self.other].into_iter().flatten() {
            digest.update(at.log.0);
            digest.update(at.seq.to_le_bytes());
            digest.update(at.id.0);
        }
    }
}

/// All about one station that is needed to go through its events.
struct Events {
    named: Vec<Named>,
    answers: BTreeMap<RecordRef, Answered>,
    restarts: BTreeMap<RecordRef, Vec<Restarted>>,
    /// The station's definitions that are here, counted or not, with those they replace.
    revisions: BTreeMap<RecordRef, Vec<RecordRef>>,
}

/// How far a station was judged.
struct Reached {
    chronicle: Chronicle,
    /// The definition that the newest reading was watched under.
    under: Option<RecordRef>,
    events: usize,
    notes: i64,
}

impl Reached {
    fn nothing() -> Self {
        Self {
            chronicle: Chronicle::new(),
            under: None,
            events: 0,
            notes: 0,
        }
    }
}

impl Logbook {
    /// What a station's events come to: as kept, or worked out where nothing fitting is kept.
    pub(crate) fn read_judged(&self, code: &StationCode) -> Result<Judged> {
        match self.database.kept(code)? {
            Some((reached, _)) => Ok((reached.chronicle, self.database.notes(code)?)),
            None => self.judge_afresh(code),
        }
    }

    /// The state behind a station's newest event, without what was told on the way.
    pub(crate) fn read_chronicle(&self, code: &StationCode) -> Result<Chronicle> {
        match self.database.kept(code)? {
            Some((reached, _)) => Ok(reached.chronicle),
            None => Ok(self.judge_afresh(code)?.0),
        }
    }

    /// The same, worked out from the first event on without looking at what is kept.
    pub(crate) fn judge_afresh(&self, code: &StationCode) -> Result<Judged> {
        self.database.afresh(&self.own, code)
    }
}

impl Database {
    /// What a station's events come to, without looking at what is kept.
    pub(super) fn afresh(&self, own: &Own, code: &StationCode) -> Result<Judged> {
        let facts = self.station_facts(own, code)?;
        let readings = facts
            .readings
            .iter()
            .map(|fact| (fact.at, fact.taken_ms))
            .collect();
        let plan = crate::merge::plan_station(facts);
        let events = self.events(code, readings, &plan)?;
        let mut reached = Reached::nothing();
        let notes = self.go_on(&events, &mut reached)?;
        Ok((reached.chronicle, notes))
    }

    /// Brings what is kept about a station up to date. To be called inside a transaction.
    pub(super) fn judge_station(
        &self,
        code: &StationCode,
        readings: Vec<(RecordRef, i64)>,
        plan: &StationPlan,
    ) -> Result<()> {
        let events = self.events(code, readings, plan)?;
        let kept = self.kept(code)?;
        let upto = kept.as_ref().map_or(0, |(reached, _)| reached.events);
        let (at_kept, at_end) = events.digests(upto);
        let mut reached = match kept {
            Some((reached, digest)) if at_kept == Some(digest) => reached,
            _ => {
                self.run(
                    "DELETE FROM judged_note WHERE station = ?1",
                    [code.as_str()],
                )?;
                self.run("DELETE FROM judged WHERE station = ?1", [code.as_str()])?;
                Reached::nothing()
            }
        };
        if reached.events > 0 && reached.events == events.named.len() {
            return Ok(());
        }
        for note in self.go_on(&events, &mut reached)? {
            self.run(
                "INSERT INTO judged_note (station, n, note) VALUES (?1, ?2, ?3)",
                params![code.as_str(), reached.notes, note.to_bytes()],
            )?;
            reached.notes += 1;
        }
        let state = reached.chronicle.to_bytes();
        self.run(
            "INSERT OR REPLACE INTO judged (station, events, notes, under, digest, state, checked)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            params![
                code.as_str(),
                i64::try_from(reached.events).unwrap_or(i64::MAX),
                reached.notes,
                reached.under.map(|at| at.to_string()),
                &at_end[..],
                state,
                check_of(&state)
            ],
        )
    }

    /// Stations of which nothing is kept that this program's rules could go on from.
    pub(super) fn not_judged(&self) -> Result<BTreeSet<String>> {
        let action = "look for stations not judged";
        let version = Chronicle::new().to_bytes();
        let version = version
            .get(..usize::from(Chronicle::VERSION_BYTES))
            .unwrap_or_default();
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT code FROM station WHERE NOT EXISTS
                   (SELECT 1 FROM judged j WHERE j.station = code AND substr(j.state, 1, ?2) = ?1)",
            )
            .during(action)?;
        let codes = query
            .query_map(params![version, Chronicle::VERSION_BYTES], |row| row.get(0))
            .during(action)?;
        codes.map(|code| code.during(action)).collect()
    }

    /// What is kept about a station; `None` where nothing is, or nothing of this version.
    fn kept(&self, code: &StationCode) -> Result<Option<(Reached, [u8; 32])>> {
        type Row = (i64, i64, Option<String>, [u8; 32], Vec<u8>, i64);
        let row: Option<Row> = self
            .connection
            .prepare_cached(
                "SELECT events, notes, under, digest, state, checked FROM judged
                 WHERE station = ?1",
            )
            .and_then(|mut query| {
                query
                    .query_row([code.as_str()], |row| {
                        Ok((
                            row.get(0)?,
                            row.get(1)?,
                            row.get(2)?,
                            row.get(3)?,
                            row.get(4)?,
                            row.get(5)?,
                        ))
                    })
                    .optional()
            })
            .during("read what a station came to")?;
        Ok(
            row.and_then(|(events, notes, under, digest, state, check)| {
                if check != check_of(&state) {
                    return None;
                }
                let reached = Reached {
                    chronicle: Chronicle::from_bytes(&state)?,
                    under: under.and_then(|text| text.parse().ok()),
                    events: usize::try_from(events).ok()?,
                    notes,
                };
                Some((reached, digest))
            }),
        )
    }

    fn notes(&self, code: &StationCode) -> Result<Vec<Note>> {
        let action = "read what a station's events told";
        let mut query = self
            .connection
            .prepare_cached("SELECT note FROM judged_note WHERE station = ?1 ORDER BY n")
            .during(action)?;
        let mut rows = query.query([code.as_str()]).during(action)?;
        let mut notes = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            let bytes: Vec<u8> = row.get(0).during(action)?;
            notes.extend(Note::from_bytes(&bytes));
        }
        Ok(notes)
    }

    /// The events of a station that count, in their order.
    fn events(
        &self,
        code: &StationCode,
        readings: Vec<(RecordRef, i64)>,
        plan: &StationPlan,
    ) -> Result<Events> {
        let taken_ms: BTreeMap<RecordRef, i64> = readings.iter().copied().collect();
        let mut named: Vec<Named> = (readings.into_iter())
            .filter_map(|(record, at_ms)| {
                let state = plan.states.get(&record).copied().unwrap_or_default();
                state.standing.counts().then_some(Named {
                    at_ms,
                    what: What::Reading,
                    record,
                    other: state.corrected_by,
                    what_anew: 0,
                })
            })
            .collect();
        let mut answers = BTreeMap::new();
        for (record, body) in self.counted_about("check_answered", code)? {
            let Body::CheckAnswered(body) = body else {
                continue;
            };
            let about = record.record().refs.first().copied();
            let taken_ms = about.and_then(|about| taken_ms.get(&about)).copied();
            // Clocks differ: whatever they say, an answer comes after the reading it is about.
            let wall_ms = record.record().clock.wall_ms;
            let at_ms = taken_ms.map_or(wall_ms, |taken_ms| taken_ms.max(wall_ms));
            let Some(at) = DateTime::from_timestamp_millis(at_ms) else {
                continue;
            };
            let record = record.reference();
            let answered = Answered {
                at,
                check: body.check,
                is_yes: body.is_yes,
                record,
            };
            answers.insert(record, answered);
            named.push(Named {
                at_ms,
                what: What::Answer,
                record,
                other: about,
                what_anew: 0,
            });
        }
        let restarts = self.restarts(code, &taken_ms)?;
        for (record, acts) in &restarts {
            named.extend(acts.first().map(|act| Named {
                at_ms: act.at.timestamp_millis(),
                what: What::Restart,
                record: *record,
                other: None,
                what_anew: acts.iter().fold(0, |bits, act| bits | act.what.bit()),
            }));
        }
        named.sort_unstable();
        Ok(Events {
            named,
            answers,
            restarts,
            revisions: self.revisions_here(code)?,
        })
    }

    /// The definitions of a station that are here, counted or not, with those they replace.
    fn revisions_here(&self, code: &StationCode) -> Result<BTreeMap<RecordRef, Vec<RecordRef>>> {
        let action = "read definitions";
        let mut query = self
            .connection
            .prepare_cached("SELECT log, seq, id FROM revision WHERE station = ?1")
            .during(action)?;
        let mut rows = query.query([code.as_str()]).during(action)?;
        let mut revisions = BTreeMap::new();
        while let Some(row) = rows.next().during(action)? {
            let at = self.reference_in(row)?;
            if let Some(Opened::Record(record)) = self.find_item(at)? {
                revisions.insert(at, record.record().refs.clone());
            }
        }
        Ok(revisions)
    }

    /// Takes in the events that were not taken in yet.
    fn go_on(&self, events: &Events, reached: &mut Reached) -> Result<Vec<Note>> {
        let mut definitions: BTreeMap<RecordRef, Station> = BTreeMap::new();
        let mut notes = Vec::new();
        for named in events.named.iter().skip(reached.events) {
            reached.events += 1;
            let told = match named.what {
                What::Reading => {
                    let Some(read) = self.find_reading(named)? else {
                        continue;
                    };
                    // A reading is watched under the definition that its reader had, unless that
                    // was replaced by one that an earlier reading knew: the plant is newer than
                    // the reader's copy.
                    let cited = read.reading.revision;
                    let under = reached
                        .under
                        .filter(|known| events.replaces(*known, cited))
                        .unwrap_or(cited);
                    if !events.revisions.contains_key(&under) {
                        continue;
                    }
                    if !definitions.contains_key(&under)
                        && let Some(definition) = self.find_definition(under)?
                    {
                        definitions.insert(under, definition);
                    }
                    let Some(definition) = definitions.get(&under) else {
                        continue;
                    };
                    reached.under = Some(under);
                    reached.chronicle.take(&Event::Visit(Visited {
                        reading: named.record,
                        at: read.at,
                        definition,
                        entry: read.entry,
                        ticks: read.reading.ticks,
                        is_confirmed: read.is_confirmed(),
                    }))
                }
                What::Answer => match events.answers.get(&named.record) {
                    Some(answered) => reached.chronicle.take(&Event::Answer(*answered)),
                    None => continue,
                },
                What::Restart => {
                    for act in events.restarts.get(&named.record).into_iter().flatten() {
                        let told = reached.chronicle.take(&Event::Restart(*act));
                        notes.extend(told.started.into_iter().map(Note::Started));
                    }
                    continue;
                }
            };
            notes.extend(told.started.into_iter().map(Note::Started));
            notes.extend(told.raised.into_iter().map(|raised| Note::Raised {
                reading: named.record,
                raised: Box::new(raised),
            }));
        }
        Ok(notes)
    }

    fn find_reading(&self, named: &Named) -> Result<Option<Read>> {
        let Some(Opened::Record(record)) = self.find_item(named.record)? else {
            return Ok(None);
        };
        let Ok(Body::Reading(reading)) = Body::decode(record.kind(), record.body()) else {
            return Ok(None);
        };
        // A time outside the calendar cannot be placed among the others.
        let Some(at) = DateTime::from_timestamp_millis(named.at_ms) else {
            return Ok(None);
        };
        let corrected = match named.other {
            Some(correction) => self.find_correction(correction)?,
            None => None,
        };
        Ok(Some(Read {
            at,
            entry: corrected.map_or(reading.entry, |(entry, _)| entry),
            reading: *reading,
        }))
    }
}

/// A short digest of a state, by which a flipped bit is noticed.
fn check_of(state: &[u8]) -> i64 {
    let digest: [u8; 32] = Sha256::digest(state).into();
    digest
        .first_chunk()
        .map_or(0, |head| i64::from_le_bytes(*head))
}

/// A reading with the values in force.
struct Read {
    at: DateTime<Utc>,
    entry: Entry,
    reading: Reading,
}

impl Read {
    /// Whether the operator was asked about the values and said that they stand.
    fn is_confirmed(&self) -> bool {
        let stands = |doubt: &AskedDoubt| {
            doubt.reply == DoubtReply::AsTyped && doubt.typed == self.reading.entry
        };
        // A correction is thought over at a desk: its values stand.
        self.entry != self.reading.entry || self.reading.doubts.iter().any(stands)
    }
}

impl Events {
    /// The digest of the first `upto` events, `None` where there are fewer; and that of all.
    fn digests(&self, upto: usize) -> (Option<[u8; 32]>, [u8; 32]) {
        let mut digest = Sha256::new();
        // Another definition may change under which one any reading is watched.
        for at in self.revisions.keys() {
            digest.update(at.id.0);
        }
        let mut at_upto = None;
        for (place, named) in self.named.iter().enumerate() {
            if place == upto {
                at_upto = Some(digest.clone().finalize().into());
            }
            named.add_to(&mut digest);
        }
        let all: [u8; 32] = digest.finalize().into();
        if upto == self.named.len() {
            at_upto = Some(all);
        }
        (at_upto, all)
    }

    /// Whether one definition replaces another, directly or through others.
    fn replaces(&self, one: RecordRef, other: RecordRef) -> bool {
        let mut seen = BTreeSet::from([one]);
        let mut left = vec![one];
        while let Some(at) = left.pop() {
            for earlier in self.revisions.get(&at).into_iter().flatten() {
                if *earlier == other {
                    return true;
                }
                if seen.insert(*earlier) {
                    left.push(*earlier);
                }
            }
        }
        false
    }
}
