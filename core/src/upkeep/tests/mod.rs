//! Tests of upkeep: dates, windows, what narrows them, jobs, and laws that hold for any history.

use chrono::NaiveDate;
use winze_sync_format::{LogId, RecordId, RecordRef};

use super::*;
use crate::record::Ticks;
use crate::samples::station;
use crate::station::Station;
use crate::units::{Typed, Unit};

mod calendar;
mod due;
mod fleet;
mod jobs;
mod narrow;
mod properties;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn at(n: u64) -> RecordRef {
    RecordRef {
        log: LogId([1; 32]),
        seq: n,
        id: RecordId([7; 32]),
    }
}

fn done(text: &str) -> Done {
    Done {
        on: day(text),
        by: DoneBy::Note,
        at: at(1),
    }
}

/// Facts in one place, to be changed by each test.
struct Known {
    definition: Station,
    visits: Vec<VisitFact>,
    dones: Vec<(Task, Done)>,
    found: Vec<FoundOn>,
    jobs: Vec<Job>,
    in_use: InUse,
}

impl Known {
    fn new() -> Self {
        Self {
            definition: station("T-07"),
            visits: Vec::new(),
            dones: Vec::new(),
            found: Vec::new(),
            jobs: Vec::new(),
            in_use: InUse::default(),
        }
    }

    fn visit(&mut self, on: NaiveDate, inlet_tenths: i64) -> &mut VisitFact {
        let n = self.visits.len();
        self.visits.push(VisitFact {
            at: at(100 + n as u64),
            on,
            inlet: Some(Typed::of(inlet_tenths, -1, Unit::Bar).to_pressure()),
            ticks: Ticks::NONE,
            verdicts: [None; 3],
        });
        &mut self.visits[n]
    }

    fn facts(&self) -> StationFacts<'_> {
        StationFacts {
            definition: &self.definition,
            revision: at(0),
            visits: &self.visits,
            dones: &self.dones,
            in_use: self.in_use,
            found: &self.found,
            jobs: &self.jobs,
            passed_by: None,
        }
    }

    fn task(&self, task: Task, today: &str) -> TaskDue {
        station_due(&self.facts(), day(today))
            .into_iter()
            .find(|due| due.task == task)
            .unwrap()
    }
}

fn codes(due: &TaskDue) -> Vec<&'static str> {
    due.why.iter().map(Why::code).collect()
}

fn window(earliest: &str, due: &str, latest: &str) -> Window {
    Window {
        earliest: day(earliest),
        due: day(due),
        latest: day(latest),
    }
}
