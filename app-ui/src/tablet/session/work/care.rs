//! Tasks noted as done, jobs raised and closed.

use chrono::NaiveDate;
use winze_core::actions::{self, NewJob, NewJobEnd, NewTaskDone};
use winze_core::query::Visit;
use winze_core::record::{JobEnd, PartUsed};
use winze_core::upkeep::{Job, JobCause, JobWork, Task};
use winze_sync_format::RecordRef;

use super::super::Session;
use super::Page;
use crate::messages::upkeep;
use crate::presenters::care;
use crate::presenters::view::Tone;
use crate::presenters::work_view::Saying;

impl Session {
    /// The reading with which a job can be closed: the newest one, if it was taken since.
    pub(super) fn left_after(&self, job: &Job) -> Option<&Visit> {
        let newest = self.work.here.as_ref()?.newest.as_ref()?;
        let is_evidence = job.evidence.contains(&newest.at);
        (newest.taken_ms >= job.raised.wall_ms && !is_evidence).then_some(newest)
    }

    /// Notes that a task was done on a day.
    pub(super) fn note_task(&mut self, task: Task, day: NaiveDate) {
        let by = self.around.by.clone();
        let (Some(here), Some(logbook)) = (&self.work.here, &mut self.logbook) else {
            return;
        };
        let new = NewTaskDone {
            station: here.code.clone(),
            task,
            done_on: day,
            note: String::new(),
            by,
        };
        match actions::note_task_done(logbook, new) {
            Ok(_) => {
                let said = format!("Noted: {}, done on {day}.", upkeep::task(task));
                self.work.said = Saying::of(Tone::Within, said);
                self.show_hub();
            }
            Err(error) => self.work_failed(&error),
        }
    }

    /// Raises a job that somebody asks for.
    pub(super) fn raise(&mut self, work: JobWork, note: String) {
        let by = self.around.by.clone();
        let Some(here) = &self.work.here else {
            return;
        };
        let new = NewJob {
            station: here.code.clone(),
            work,
            cause: JobCause::Person,
            evidence: Vec::new(),
            note,
            by,
        };
        self.raise_job(new);
    }

    /// Raises the job that suggests itself, by its place in the list.
    pub(super) fn raise_proposed(&mut self, index: usize) {
        let by = self.around.by.clone();
        let here = self.work.here.as_ref();
        let proposal = here.and_then(|here| here.proposals.get(index).cloned());
        if let Some(proposal) = proposal {
            self.raise_job(NewJob::of(proposal, by));
        }
    }

    fn raise_job(&mut self, new: NewJob) {
        let Some(logbook) = &mut self.logbook else {
            return;
        };
        let work = new.work;
        match actions::raise_job(logbook, new) {
            Ok(_) => {
                let said = format!("A job is raised: {}.", upkeep::work(work));
                self.work.said = Saying::of(Tone::Within, said);
                self.show_hub();
            }
            Err(error) => self.work_failed(&error),
        }
    }

    /// Adds a part to the job on the screen. A number before it says how many.
    pub(super) fn add_part(&mut self, text: &str) {
        let counted = text
            .split_once(' ')
            .and_then(|(count, what)| Some((count.parse::<u32>().ok()?, what.trim())))
            .filter(|(count, what)| *count > 0 && !what.is_empty());
        let (count, what) = counted.unwrap_or((1, text));
        self.work.parts.push(PartUsed {
            what: what.to_owned(),
            count,
        });
    }

    /// Closes a job: with the reading, or with why it is not needed.
    pub(super) fn close_job(&mut self, at: RecordRef, as_left: Option<RecordRef>, note: String) {
        let by = self.around.by.clone();
        let Some(work) = self.work.job(at).map(|job| job.work) else {
            return;
        };
        let Some(logbook) = &mut self.logbook else {
            return;
        };
        let end = as_left.map_or(JobEnd::NotNeeded, |as_left| JobEnd::Done { as_left });
        let new = NewJobEnd {
            job: at,
            end,
            parts: self.work.parts.clone(),
            note,
            by,
        };
        match actions::close_job(logbook, new) {
            Ok(_) => {
                self.work.said = care::job_closed(work, end);
                self.show_hub();
            }
            Err(error) => {
                self.work_failed(&error);
                self.show_page(Page::Job(at));
            }
        }
    }

    /// Closes the job on the screen with the newest reading.
    pub(super) fn job_done(&mut self) {
        let Page::Job(at) = self.work.page else {
            return;
        };
        let left = self.work.job(at).and_then(|job| self.left_after(job));
        if let Some(left) = left.map(|visit| visit.at) {
            self.close_job(at, Some(left), String::new());
        }
    }
}
