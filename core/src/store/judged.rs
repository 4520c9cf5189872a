//! Keeping what a station's events come to, so that one more reading costs one more step.
//!
//! The rules are [`crate::assess`]'s. Here the events of a station are put in their one order, and
//! the state behind the last of them is kept with the digest of their names. When an event is added
//! at the end, the state goes on from there; when one comes in between, goes away or is corrected,
//! the digest of what went in no longer fits and the station is worked out again. So the state is a
//! function of the set of records, whatever the order of arrival.

use std::collections::{BTreeMap, BTreeSet};

use chrono::DateTime;
use rusqlite::{OptionalExtension, params};
use sha2::{Digest, Sha256};
use winze_sync_format::{Opened, RecordRef};

use super::Logbook;
use super::database::{Database, During};
use super::facts::Own;
use super::steps::Steps;
use crate::Result;
use crate::assess::{Answered, Chronicle, Note, Restarted};
use crate::merge::StationPlan;
use crate::record::Body;
use crate::station::StationCode;

/// What a station's events come to, with what they told on the way.
pub(crate) type Judged = (Chronicle, Vec<Note>);

/// An event by its name; what it says is read when it is its turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Named {
    pub(super) at_ms: i64,
    pub(super) what: What,
    pub(super) record: RecordRef,
    /// The correction in force, or the reading that an answer is about.
    pub(super) other: Option<RecordRef>,
    /// What starts anew, a bit each.
    what_anew: u8,
}

/// The order of events at the same moment: work comes before the reading that shows how it was left,
/// an answer after the reading it is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum What {
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
pub(super) struct Events {
    pub(super) named: Vec<Named>,
    pub(super) answers: BTreeMap<RecordRef, Answered>,
    pub(super) restarts: BTreeMap<RecordRef, Vec<Restarted>>,
    /// The station's definitions that are here, counted or not, with those they replace.
    pub(super) revisions: BTreeMap<RecordRef, Vec<RecordRef>>,
}

/// How far a station was judged.
pub(super) struct Reached {
    chronicle: Chronicle,
    /// The definition that the newest reading was watched under.
    pub(super) under: Option<RecordRef>,
    pub(super) events: usize,
    notes: i64,
}

/// What is left to do about a station: needs no database, so any thread can do it.
pub(super) struct Due {
    code: StationCode,
    reached: Reached,
    steps: Steps,
    digest: [u8; 32],
}

/// What a station came to, to be kept.
pub(super) struct Done {
    code: StationCode,
    reached: Reached,
    notes: Vec<Note>,
    digest: [u8; 32],
}

impl Due {
    /// Goes through the events.
    pub(super) fn judge(mut self) -> Done {
        let notes = self.steps.take(&mut self.reached.chronicle);
        Done {
            code: self.code,
            reached: self.reached,
            notes,
            digest: self.digest,
        }
    }
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
        match self.database.kept_to_the_end(code)? {
            Some(reached) => Ok((reached.chronicle, self.database.notes(code)?)),
            None => self.judge_afresh(code),
        }
    }

    /// The state behind a station's newest event, without what was told on the way.
    pub(crate) fn read_chronicle(&self, code: &StationCode) -> Result<Chronicle> {
        match self.database.kept_to_the_end(code)? {
            Some(reached) => Ok(reached.chronicle),
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
        let notes = (self.steps(&events, &mut reached)?).take(&mut reached.chronicle);
        Ok((reached.chronicle, notes))
    }

    /// What must be done to bring what is kept about a station up to date; none when it is. To be
    /// called inside a transaction.
    pub(super) fn due_at(
        &self,
        code: &StationCode,
        readings: Vec<(RecordRef, i64)>,
        plan: &StationPlan,
    ) -> Result<Option<Due>> {
        let events = self.events(code, readings, plan)?;
        let kept = self.kept(code)?;
        let upto = kept.as_ref().map_or(0, |(reached, _)| reached.events);
        let (at_kept, digest) = events.digests(upto);
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
            self.run("DELETE FROM judge_due WHERE station = ?1", [code.as_str()])?;
            return Ok(None);
        }
        let steps = self.steps(&events, &mut reached)?;
        Ok(Some(Due {
            code: code.clone(),
            reached,
            steps,
            digest,
        }))
    }

    /// Keeps what a station came to.
    pub(super) fn keep(&self, done: Done) -> Result<()> {
        let (code, mut reached) = (done.code, done.reached);
        for note in done.notes {
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
                &done.digest[..],
                state,
                check_of(&state)
            ],
        )?;
        self.run("DELETE FROM judge_due WHERE station = ?1", [code.as_str()])
    }

    /// Notes that what is kept about a station is behind: until it is brought up to date, whoever
    /// asks has it worked out afresh.
    pub(super) fn note_due(&self, code: &StationCode) -> Result<()> {
        self.run(
            "INSERT OR IGNORE INTO judge_due (station) VALUES (?1)",
            [code.as_str()],
        )
    }

    fn kept_to_the_end(&self, code: &StationCode) -> Result<Option<Reached>> {
        let is_due = self
            .connection
            .prepare_cached("SELECT 1 FROM judge_due WHERE station = ?1")
            .and_then(|mut query| query.exists([code.as_str()]))
            .during("look for a station not judged")?;
        if is_due {
            return Ok(None);
        }
        Ok(self.kept(code)?.map(|(reached, _)| reached))
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
                   (SELECT 1 FROM judged j WHERE j.station = code AND substr(j.state, 1, ?2) = ?1)
                 UNION SELECT station FROM judge_due",
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
            let wall_ms = self.made_ms(record.reference(), record.record().clock.wall_ms)?;
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
}

/// A short digest of a state, by which a flipped bit is noticed.
fn check_of(state: &[u8]) -> i64 {
    let digest: [u8; 32] = Sha256::digest(state).into();
    digest
        .first_chunk()
        .map_or(0, |head| i64::from_le_bytes(*head))
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
    pub(super) fn replaces(&self, one: RecordRef, other: RecordRef) -> bool {
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
