//! What the office window knows of upkeep at one moment: what is due, jobs, procedures and their
//! papers, as plain values. Nothing here writes.

use winze_core::procedures::{Closing, ProcedureState};
use winze_core::query::{self, DueList, ProcedureView, StationDue, Visit};
use winze_core::record::JobEnd;
use winze_core::station::StationCode;
use winze_core::upkeep::{Job, Proposal, local_date};
use winze_core::{Logbook, Result};
use winze_sync_format::{LogId, RecordRef};

use crate::messages::reports::paper_name;
use crate::reports::{WorkKind, kind_of};

/// Readings of a station that are offered as left behind a job, newest first.
pub const READINGS_OFFERED: usize = 4;
/// Digits of an id in a file's name, where two papers would have the same.
const ID_DIGITS: usize = 6;

/// A job with the readings it names.
#[derive(Debug, Clone, PartialEq)]
pub struct JobSummary {
    /// The job.
    pub job: Job,
    /// The readings it was raised from, as far as they are here.
    pub evidence: Vec<Visit>,
    /// For each closing the reading left behind, where it names one that is here.
    pub as_left: Vec<Option<Visit>>,
}

/// A procedure that was ended and has a document.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    /// The procedure: its record is the document's.
    pub at: RecordRef,
    /// Which document.
    pub kind: WorkKind,
    /// The name of its file.
    pub file: String,
}

/// What is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// What comes round again, and the open jobs.
    pub due: DueList,
    /// Every job, the one raised last first.
    pub jobs: Vec<JobSummary>,
    /// Jobs that suggest themselves, in walking order.
    pub proposals: Vec<Proposal>,
    /// Every procedure, the one opened last first.
    pub procedures: Vec<ProcedureView>,
    /// Those with a document, the one ended last first.
    pub papers: Vec<Paper>,
    /// What each logbook is called here.
    pub log_names: Vec<(LogId, String)>,
    /// What the clock showed, milliseconds since 1970.
    pub now_ms: i64,
    /// How far local time is ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl Board {
    /// Reads it.
    ///
    /// # Errors
    /// The database's.
    pub fn load(logbook: &Logbook) -> Result<Self> {
        let due = query::due(logbook)?;
        let mut jobs = query::jobs(logbook)?
            .into_iter()
            .map(|job| summary(logbook, job))
            .collect::<Vec<_>>();
        jobs.reverse();
        let mut proposals = Vec::new();
        for station in &due.stations {
            proposals.append(&mut query::job_proposals(logbook, &station.code)?);
        }
        let mut procedures = query::procedures(logbook)?;
        procedures.sort_by_key(|view| std::cmp::Reverse((view.opened_ms, view.at)));
        let clock = logbook.clock();
        Ok(Self {
            papers: papers(&procedures),
            log_names: query::logs(logbook)?
                .into_iter()
                .map(|log| (log.log, log.name))
                .collect(),
            due,
            jobs,
            proposals,
            procedures,
            now_ms: clock.now().wall_ms,
            utc_offset_minutes: clock.utc_offset_minutes(),
        })
    }

    /// A station of the list.
    #[must_use]
    pub fn station(&self, code: &StationCode) -> Option<&StationDue> {
        self.due.stations.iter().find(|one| one.code == *code)
    }

    /// Level and name of a station, as far as they are known.
    #[must_use]
    pub fn place(&self, code: &StationCode) -> String {
        let Some(station) = self.station(code) else {
            return String::new();
        };
        let parts = [station.level.as_str(), station.name.as_str()];
        let known: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
        known.join(", ")
    }

    /// A procedure by the record that opened it.
    #[must_use]
    pub fn procedure(&self, at: RecordRef) -> Option<&ProcedureView> {
        self.procedures.iter().find(|view| view.at == at)
    }

    /// What a logbook is called here, or its first hex digits.
    #[must_use]
    pub fn log_name(&self, id: LogId) -> String {
        let mut names = self.log_names.iter();
        let found = names.find(|(log, name)| *log == id && !name.is_empty());
        found.map_or_else(
            || format!("logbook {}", id.short()),
            |(_, name)| name.clone(),
        )
    }

    /// How much presses: tasks overdue or due but for the look-round, which has its own place, and
    /// procedures about which two tablets disagree.
    #[must_use]
    pub fn pressing(&self) -> usize {
        let tasks = self.due.stations.iter().flat_map(|station| &station.tasks);
        let is_pressing = |task: &&winze_core::upkeep::TaskDue| {
            task.status.is_pressing() && task.task != winze_core::upkeep::Task::LookRound
        };
        let disagree = |view: &&ProcedureView| view.state.as_ref().is_some_and(is_in_dispute);
        tasks.filter(is_pressing).count() + self.procedures.iter().filter(disagree).count()
    }
}

/// Whether two tablets disagree about a step or about the end.
#[must_use]
pub fn is_in_dispute(state: &ProcedureState) -> bool {
    let is_closed = state.closing.is_closed();
    let of_end = matches!(state.closing, Closing::Contested(_) | Closing::Disputed(_));
    of_end || !is_closed && !state.disputed.is_empty()
}

fn summary(logbook: &Logbook, job: Job) -> JobSummary {
    // A reading that is not here, or not a reading any more, is left out and not made up.
    let visit = |at: RecordRef| query::visit(logbook, at).ok();
    let evidence = job.evidence.iter().filter_map(|at| visit(*at)).collect();
    let closings = job.closings.iter();
    let as_left = closings
        .map(|closing| match closing.end {
            JobEnd::Done { as_left } => visit(as_left),
            JobEnd::NotNeeded => None,
        })
        .collect();
    JobSummary {
        job,
        evidence,
        as_left,
    }
}

fn papers(procedures: &[ProcedureView]) -> Vec<Paper> {
    let mut found: Vec<(i64, Paper)> = Vec::new();
    for view in procedures {
        let closing = view.state.as_ref().map(|state| &state.closing);
        let ended = closing.and_then(Closing::closed_by);
        if let (Some(kind), Some(by)) = (kind_of(view.code), ended) {
            let day = local_date(by.wall_ms, by.body.utc_offset_minutes);
            let file = paper_name(kind, &view.station, day);
            let at = view.at;
            found.push((by.wall_ms, Paper { at, kind, file }));
        }
    }
    // Two works of a kind on one day must not have one file.
    let names: Vec<String> = found.iter().map(|(_, paper)| paper.file.clone()).collect();
    for (_, paper) in &mut found {
        if names.iter().filter(|name| **name == paper.file).count() > 1 {
            let id: String = paper.at.id.to_string().chars().take(ID_DIGITS).collect();
            let stem = paper.file.trim_end_matches(".pdf");
            paper.file = format!("{stem}-{id}.pdf");
        }
    }
    found.sort_by_key(|(ended_ms, paper)| std::cmp::Reverse((*ended_ms, paper.at)));
    found.into_iter().map(|(_, paper)| paper).collect()
}
