//! What the office window knows of the logbook at one moment, as plain values.
//!
//! It is read anew after every act, so that the window can go on showing it while a merge has
//! the logbook. Nothing here writes.

use winze_core::merge::QuestionKind;
use winze_core::query::{
    self, LogStanding, LogView, Overview, QuestionView, RoundView, StationDetail, StationNeed,
    StationRow, Visit,
};
use winze_core::record::{Body, Choice};
use winze_core::station::{Station, StationCode};
use winze_core::verdict::Entry;
use winze_core::{Logbook, Result};
use winze_sync_format::{LogId, RecordRef};

use crate::presenters::office_time::Week;

/// Readings shown as marks beside a station.
pub const MARKS: usize = 3;
/// How far back readings are looked for, days before the end of the week.
const LOOK_BACK_DAYS: i64 = 70;
/// Rounds looked through for reasons of skipping.
const ROUNDS: usize = 40;
const DAY_MS: i64 = 24 * 3_600_000;

/// A station with its newest readings.
#[derive(Debug, Clone, PartialEq)]
pub struct StationSummary {
    /// Its line in the register.
    pub row: StationRow,
    /// Its definition.
    pub detail: StationDetail,
    /// The newest readings that count up to the end of the week, newest first.
    pub visits: Vec<Visit>,
    /// The definition that the newest of them was judged against.
    pub judged_against: Station,
}

/// One side of a question.
#[derive(Debug, Clone, PartialEq)]
pub struct QuestionSide {
    /// Its record.
    pub at: RecordRef,
    /// What its logbook is called here.
    pub log_name: String,
    /// Who wrote it.
    pub by: String,
    /// When, milliseconds since 1970.
    pub wall_ms: i64,
    /// What it says.
    pub says: Says,
}

impl QuestionSide {
    /// When it was read, or for anything but a reading, written.
    #[must_use]
    pub fn taken_ms(&self) -> i64 {
        match &self.says {
            Says::Reading(visit, _) => visit.taken_ms,
            Says::Definition(_) | Says::Correction(..) | Says::Place => self.wall_ms,
        }
    }
}

/// What one side of a question says.
#[derive(Debug, Clone, PartialEq)]
pub enum Says {
    /// A reading, and the definition it was judged against.
    Reading(Box<Visit>, Box<Station>),
    /// A definition.
    Definition(Box<Station>),
    /// Corrected values with the reason, and the definition of the station.
    Correction(Entry, String, Box<Station>),
    /// Something that only its place in a log matters of.
    Place,
}

/// A question with what is needed to decide.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// The question and the answers so far.
    pub view: QuestionView,
    /// What the station is called, where it is about one.
    pub station_name: String,
    /// The records concerned, the earliest first.
    pub sides: Vec<QuestionSide>,
}

/// What the window knows.
#[derive(Debug, Clone, PartialEq)]
pub struct Snapshot {
    /// What the own logbook is called.
    pub label: String,
    /// The own log.
    pub own: LogId,
    /// What the clock showed, milliseconds since 1970.
    pub now_ms: i64,
    /// The week looked at.
    pub week: Week,
    /// Whether it is the week of today.
    pub is_this_week: bool,
    /// What matters.
    pub overview: Overview,
    /// The stations in walking order.
    pub stations: Vec<StationSummary>,
    /// What they need today, those that need attention most first; empty for an earlier week.
    pub needs: Vec<StationNeed>,
    /// Questions, open ones first.
    pub questions: Vec<Question>,
    /// All logs.
    pub logs: Vec<LogView>,
    /// Rounds, newest first.
    pub rounds: Vec<RoundView>,
}

impl Snapshot {
    /// Reads it for the week `weeks_back` before this one.
    ///
    /// # Errors
    /// The database's.
    pub fn load(logbook: &Logbook, weeks_back: u32) -> Result<Self> {
        let clock = logbook.clock();
        let (now_ms, offset) = (clock.now().wall_ms, clock.utc_offset_minutes());
        let week = Week::around(now_ms, offset, weeks_back);
        let seen_from = if weeks_back == 0 {
            now_ms
        } else {
            week.end_ms() - 1
        };
        Ok(Self {
            label: logbook.label().to_owned(),
            own: logbook.log_id(),
            now_ms,
            week,
            is_this_week: weeks_back == 0,
            overview: query::overview_at(logbook, seen_from, offset)?,
            stations: stations(logbook, week)?,
            needs: if weeks_back == 0 {
                query::fleet_by_need_at(logbook, now_ms)?
            } else {
                Vec::new()
            },
            questions: questions(logbook)?,
            logs: query::logs(logbook)?,
            rounds: query::rounds(logbook, ROUNDS)?,
        })
    }

    /// Finds a station.
    #[must_use]
    pub fn station(&self, code: &StationCode) -> Option<&StationSummary> {
        self.stations
            .iter()
            .find(|station| &station.row.code == code)
    }

    /// What a station needs today and its place among all; `None` for an earlier week.
    #[must_use]
    pub fn needs(&self, code: &StationCode) -> Option<(usize, &StationNeed)> {
        self.needs
            .iter()
            .enumerate()
            .find(|(_, need)| &need.code == code)
    }

    /// What people call a station here, or nothing.
    #[must_use]
    pub fn station_name(&self, code: &StationCode) -> String {
        self.station(code).map_or_else(String::new, |station| {
            crate::presenters::words::place(&station.detail.definition)
        })
    }

    /// The logs that are kept but not counted.
    #[must_use]
    pub fn held(&self) -> Vec<&LogView> {
        let is_held = |log: &&LogView| log.standing == LogStanding::Held;
        self.logs.iter().filter(is_held).collect()
    }

    /// How many questions are open.
    #[must_use]
    pub fn open_questions(&self) -> usize {
        self.questions
            .iter()
            .filter(|question| question.view.is_open())
            .count()
    }

    /// Whether a record is here, where its place alone can tell: at or before the last place held
    /// without a gap it is, behind the newest it is not.
    #[must_use]
    pub fn holds_place(&self, at: RecordRef) -> Option<bool> {
        let Some(log) = self.logs.iter().find(|log| log.log == at.log) else {
            return Some(false);
        };
        if log.newest.is_none_or(|newest| at.seq > newest) {
            return Some(false);
        }
        // In a log that was copied two records can claim one place.
        let is_whole = !log.is_copied && log.whole_to.is_some_and(|whole| at.seq <= whole);
        is_whole.then_some(true)
    }

    /// What a log is called here, or its first hex digits.
    #[must_use]
    pub fn log_name(&self, id: LogId) -> String {
        self.logs
            .iter()
            .find(|log| log.log == id && !log.name.is_empty())
            .map_or_else(|| format!("logbook {}", id.short()), |log| log.name.clone())
    }
}

fn stations(logbook: &Logbook, week: Week) -> Result<Vec<StationSummary>> {
    let from_ms = week.end_ms() - LOOK_BACK_DAYS * DAY_MS;
    let mut found = Vec::new();
    for row in query::stations(logbook)? {
        let Some(detail) = query::station(logbook, &row.code)? else {
            continue;
        };
        let visits = query::visits_between(logbook, &row.code, from_ms, week.end_ms())?;
        let visits: Vec<Visit> = visits
            .into_iter()
            .filter(Visit::counts)
            .take(MARKS)
            .collect();
        let judged_against = match visits.first() {
            Some(visit) if visit.revision != detail.revision => {
                query::definition_at(logbook, visit.revision)?
            }
            _ => detail.definition.clone(),
        };
        found.push(StationSummary {
            row,
            detail,
            visits,
            judged_against,
        });
    }
    Ok(found)
}

fn questions(logbook: &Logbook) -> Result<Vec<Question>> {
    let mut views = query::questions(logbook, true)?;
    views.sort_by_key(|view| !view.is_open());
    views
        .into_iter()
        .map(|view| {
            let station_name = match &view.question.station {
                Some(code) => query::station(logbook, code)?
                    .map_or_else(String::new, |detail| detail.definition.name),
                None => String::new(),
            };
            let about = view.question.about.clone();
            let mut sides = about
                .into_iter()
                .map(|at| side(logbook, at, &view))
                .collect::<Result<Vec<_>>>()?;
            sides.sort_by_key(|side| (side.taken_ms(), side.at));
            Ok(Question {
                view,
                station_name,
                sides,
            })
        })
        .collect()
}

fn side(logbook: &Logbook, at: RecordRef, view: &QuestionView) -> Result<QuestionSide> {
    let record = query::record(logbook, at)?;
    let kind = view.question.kind;
    let says = match record.body {
        _ if kind == QuestionKind::CopiedLog => Says::Place,
        Some(Body::Reading(reading)) => {
            let definition = query::definition_at(logbook, reading.revision)?;
            Says::Reading(Box::new(query::visit(logbook, at)?), Box::new(definition))
        }
        Some(Body::StationRevision(definition)) => Says::Definition(definition),
        Some(Body::Correction(correction)) => {
            let reading = query::visit(logbook, correction.reading)?;
            let definition = query::definition_at(logbook, reading.revision)?;
            Says::Correction(correction.entry, correction.reason, Box::new(definition))
        }
        _ => Says::Place,
    };
    Ok(QuestionSide {
        at,
        log_name: record.log_name,
        by: record.person,
        wall_ms: record.clock.map_or(0, |clock| clock.wall_ms),
        says,
    })
}

/// What can be chosen in answer to a question, in the order in which it is offered.
#[must_use]
pub fn choices(question: &Question) -> Vec<Choice> {
    let kind = question.view.question.kind;
    let prefer = question.sides.iter().map(|side| Choice::Prefer(side.at));
    prefer
        .chain([
            Choice::KeepAll,
            Choice::VoidAll,
            Choice::AsFirstWritten,
            Choice::Noted,
        ])
        .filter(|choice| kind.allows(choice))
        .collect()
}
