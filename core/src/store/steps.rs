//! What a station's events say, read from their records: the part of judging that needs the database.
//!
//! What follows needs none ([`Steps::take`]), so that it can be done on another thread.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use winze_sync_format::{Opened, RecordRef};

use super::database::Database;
use super::judged::{Events, Named, Reached, What};
use crate::Result;
use crate::assess::{Answered, Chronicle, Event, Note, Restarted, Visited};
use crate::record::{AskedDoubt, Body, DoubtReply, Reading, Ticks};
use crate::station::Station;
use crate::verdict::Entry;

/// Events with all that they say, in their order.
#[derive(Default)]
pub(super) struct Steps {
    definitions: Vec<Station>,
    steps: Vec<Step>,
}

enum Step {
    Visit(Visit),
    Answer(Answered),
    Restart(Vec<Restarted>),
}

struct Visit {
    reading: RecordRef,
    at: DateTime<Utc>,
    /// Place in the list of definitions.
    definition: usize,
    entry: Entry,
    ticks: Ticks,
    is_confirmed: bool,
}

impl Steps {
    /// Takes all of them into a chronicle; returns what they told.
    pub(super) fn take(&self, chronicle: &mut Chronicle) -> Vec<Note> {
        let mut notes = Vec::new();
        for step in &self.steps {
            match step {
                Step::Visit(visit) => {
                    let told = chronicle.take(&Event::Visit(Visited {
                        reading: visit.reading,
                        at: visit.at,
                        definition: &self.definitions[visit.definition],
                        entry: visit.entry,
                        ticks: visit.ticks,
                        is_confirmed: visit.is_confirmed,
                    }));
                    notes.extend(told.started.into_iter().map(Note::Started));
                    notes.extend(told.raised.into_iter().map(|raised| Note::Raised {
                        reading: visit.reading,
                        raised: Box::new(raised),
                    }));
                }
                Step::Answer(answered) => {
                    let told = chronicle.take(&Event::Answer(*answered));
                    notes.extend(told.started.into_iter().map(Note::Started));
                    notes.extend(told.raised.into_iter().map(|raised| Note::Raised {
                        reading: answered.record,
                        raised: Box::new(raised),
                    }));
                }
                Step::Restart(acts) => {
                    for act in acts {
                        let told = chronicle.take(&Event::Restart(*act));
                        notes.extend(told.started.into_iter().map(Note::Started));
                    }
                }
            }
        }
        notes
    }
}

impl Database {
    /// Reads the events that were not taken in yet, and moves `reached` behind them, except for its
    /// chronicle and notes.
    pub(super) fn steps(&self, events: &Events, reached: &mut Reached) -> Result<Steps> {
        let mut places: BTreeMap<RecordRef, usize> = BTreeMap::new();
        let mut all = Steps::default();
        for named in events.named.iter().skip(reached.events) {
            reached.events += 1;
            match named.what {
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
                    if !places.contains_key(&under)
                        && let Some(definition) = self.find_definition(under)?
                    {
                        places.insert(under, all.definitions.len());
                        all.definitions.push(definition);
                    }
                    let Some(definition) = places.get(&under).copied() else {
                        continue;
                    };
                    reached.under = Some(under);
                    all.steps.push(Step::Visit(Visit {
                        reading: named.record,
                        at: read.at,
                        definition,
                        entry: read.entry,
                        ticks: read.reading.ticks,
                        is_confirmed: read.is_confirmed(),
                    }));
                }
                What::Answer => {
                    let answered = events.answers.get(&named.record).copied();
                    all.steps.extend(answered.map(Step::Answer));
                }
                What::Restart => {
                    let acts = events.restarts.get(&named.record).cloned();
                    all.steps.extend(acts.map(Step::Restart));
                }
            }
        }
        Ok(all)
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
