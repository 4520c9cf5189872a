//! One record of each kind about upkeep, with every optional field.

use chrono::NaiveDate;

use super::at;
use crate::record::{Body, JobClosed, JobEnd, JobRaised, PartUsed, TaskDone};
use crate::samples::code;
use crate::station::Quantity;
use crate::suspects::Cause;
use crate::upkeep::{JobCause, JobWork, Task};

pub(super) fn job_raised() -> Body {
    Body::JobRaised(Box::new(JobRaised {
        station: code("T-07"),
        work: JobWork::CheckGauge(Quantity::Outlet),
        cause: JobCause::Suspected(Cause::GaugeStuck),
        evidence: vec![at(4), at(5)],
        note: "second week at 2.00".into(),
        utc_offset_minutes: 120,
    }))
}

pub(super) fn job_closed() -> Body {
    Body::JobClosed(Box::new(JobClosed {
        job: at(6),
        station: code("T-07"),
        end: JobEnd::Done { as_left: at(7) },
        parts: vec![
            PartUsed {
                what: "gauge 0-4 bar".into(),
                count: 1,
            },
            PartUsed {
                what: "copper washer".into(),
                count: 2,
            },
        ],
        note: "old one kept".into(),
        utc_offset_minutes: -210,
    }))
}

pub(super) fn task_done() -> Body {
    Body::TaskDone(TaskDone {
        station: code("T-07"),
        task: Task::YearlyClean,
        done_on: NaiveDate::from_ymd_opt(2024, 2, 29).unwrap(),
        utc_offset_minutes: 0,
        note: "from the old book".into(),
    })
}
