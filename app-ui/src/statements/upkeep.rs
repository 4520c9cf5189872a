//! What records about upkeep say: jobs raised and closed, tasks done.

use winze_core::record::{JobClosed, JobEnd, JobRaised, TaskDone};

use super::{named, with_quote};
use crate::messages::upkeep;
use crate::presenters::words;

pub(super) fn job_raised(job: &JobRaised) -> Vec<String> {
    let mut lines = vec![format!(
        "Raises a job at station {}: {}, because {}.",
        job.station,
        upkeep::work(job.work),
        upkeep::cause(job.cause)
    )];
    if !job.evidence.is_empty() {
        let named: Vec<String> = job.evidence.iter().map(named).collect();
        let named: Vec<&str> = named.iter().map(String::as_str).collect();
        lines.push(format!("It rests on {}.", words::listed(&named)));
    }
    with_quote(lines, "Note", &job.note)
}

pub(super) fn job_closed(job: &JobClosed) -> Vec<String> {
    let mut lines = vec![format!(
        "Closes job {} at station {}: {}.",
        named(&job.job),
        job.station,
        match job.end {
            JobEnd::Done { .. } => "done",
            JobEnd::NotNeeded => "not needed",
        }
    )];
    if let JobEnd::Done { as_left } = job.end {
        lines.push(format!("As left: reading {}.", named(&as_left)));
    }
    if !job.parts.is_empty() {
        let parts: Vec<String> = job
            .parts
            .iter()
            .map(|part| format!("{} x {}", part.count, part.what))
            .collect();
        lines.push(format!("Parts used: {}.", parts.join(", ")));
    }
    with_quote(lines, "Note", &job.note)
}

pub(super) fn task_done(done: &TaskDone) -> Vec<String> {
    let lines = vec![format!(
        "Notes that at station {} this was done on {}: {}.",
        done.station,
        done.done_on,
        upkeep::task(done.task)
    )];
    with_quote(lines, "Note", &done.note)
}

#[cfg(test)]
mod tests {
    use winze_core::record::{Body, PartUsed, Tick};
    use winze_core::station::{Quantity, StationCode};
    use winze_core::upkeep::{JobCause, JobWork, Task};
    use winze_sync_format::{LogId, RecordId, RecordRef};

    use super::{JobClosed, JobEnd, JobRaised, TaskDone};
    use crate::statements::{body, named};

    #[test]
    fn jobs_and_tasks_say_what_was_meant() {
        let at = RecordRef {
            log: LogId([1; 32]),
            seq: 9,
            id: RecordId([2; 32]),
        };
        let station = StationCode::parse("T-07").unwrap();
        let raised = JobRaised {
            station: station.clone(),
            work: JobWork::StopLeak,
            cause: JobCause::Noticed(Tick::Leak),
            evidence: vec![at],
            note: String::new(),
            utc_offset_minutes: 0,
        };
        assert_eq!(
            body(&Body::JobRaised(Box::new(raised))),
            [
                "Raises a job at station T-07: stop the leak, because a leak was noticed."
                    .to_owned(),
                format!("It rests on {}.", named(&at)),
            ]
        );
        let closed = JobClosed {
            job: at,
            station: station.clone(),
            end: JobEnd::Done { as_left: at },
            parts: vec![PartUsed {
                what: "gland packing".to_owned(),
                count: 2,
            }],
            note: "dry".to_owned(),
            utc_offset_minutes: 0,
        };
        assert_eq!(
            body(&Body::JobClosed(Box::new(closed))),
            [
                format!("Closes job {} at station T-07: done.", named(&at)),
                format!("As left: reading {}.", named(&at)),
                "Parts used: 2 x gland packing.".to_owned(),
                "Note: \"dry\".".to_owned(),
            ]
        );
        let done = TaskDone {
            station,
            task: Task::GaugeCheck(Quantity::Inlet),
            done_on: chrono::NaiveDate::from_ymd_opt(2024, 2, 29).unwrap(),
            utc_offset_minutes: 0,
            note: String::new(),
        };
        assert_eq!(
            body(&Body::TaskDone(done)),
            ["Notes that at station T-07 this was done on 2024-02-29: inlet gauge check."]
        );
    }
}
