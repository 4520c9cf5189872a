//! Jobs folded from records, and jobs that suggest themselves.

use super::at;
use crate::record::{JobClosed, JobEnd, JobRaised, PartUsed, Tick, Ticks};
use crate::samples::code;
use crate::station::Quantity;
use crate::suspects::{Cause, Ranking};
use crate::upkeep::jobs::Written;
use crate::upkeep::{Finding, JobCause, JobWork, fold_jobs, proposals};
use crate::verdict::Verdict;

fn written(n: u64, wall_ms: i64) -> Written {
    Written {
        wall_ms,
        at: at(n),
        by: "Ada".to_owned(),
    }
}

fn raised(work: JobWork) -> JobRaised {
    JobRaised {
        station: code("T-07"),
        work,
        cause: JobCause::Person,
        evidence: Vec::new(),
        note: String::new(),
        utc_offset_minutes: 0,
    }
}

fn closed(job: u64, note: &str) -> JobClosed {
    JobClosed {
        job: at(job),
        station: code("T-07"),
        end: JobEnd::Done { as_left: at(99) },
        parts: vec![PartUsed {
            what: "gland packing".to_owned(),
            count: 1,
        }],
        note: note.to_owned(),
        utc_offset_minutes: 0,
    }
}

#[test]
fn two_closings_of_one_job_both_survive_in_any_order() {
    let job = [(written(1, 1_000), raised(JobWork::StopLeak))];
    let first = (written(2, 5_000), closed(1, "tightened"));
    let second = (written(3, 9_000), closed(1, "packed anew"));
    let one = fold_jobs(job.clone(), [first.clone(), second.clone()]);
    let other = fold_jobs(job, [second.clone(), first.clone(), second]);
    assert_eq!(one, other);
    let notes: Vec<&str> = one[0].closings.iter().map(|c| c.note.as_str()).collect();
    assert_eq!(notes, ["tightened", "packed anew"]);
    assert!(!one[0].is_open());
}

#[test]
fn a_closing_counts_for_its_own_job_at_its_own_station() {
    let jobs = [
        (written(1, 1_000), raised(JobWork::StopLeak)),
        (written(2, 2_000), raised(JobWork::StopLeak)),
    ];
    let mut elsewhere = closed(2, "");
    elsewhere.station = code("T-08");
    let unknown = closed(77, "");
    let folded = fold_jobs(
        jobs,
        [
            (written(3, 3_000), closed(1, "")),
            (written(4, 4_000), elsewhere),
            (written(5, 5_000), unknown),
        ],
    );
    let open: Vec<bool> = folded.iter().map(super::Job::is_open).collect();
    assert_eq!(open, [false, true]);
}

fn finding(suspects: &[(Ranking, Option<Quantity>, winze_sync_format::RecordRef)]) -> Finding<'_> {
    Finding {
        at: at(7),
        ticks: Ticks::NONE,
        verdicts: [None; 3],
        suspects,
    }
}

#[test]
fn what_was_noticed_and_what_is_outside_suggest_jobs() {
    let station = code("T-07");
    let mut seen = finding(&[]);
    seen.ticks = Ticks::NONE.with(Tick::Leak).with(Tick::Access);
    seen.verdicts[Quantity::Outlet.index()] = Some(Verdict::Outside);
    let proposed = proposals(&station, &seen, &[]);
    let works: Vec<JobWork> = proposed.iter().map(|one| one.work).collect();
    assert_eq!(
        works,
        [
            JobWork::StopLeak,
            JobWork::ClearAccess,
            JobWork::Recalibrate
        ]
    );
    assert_eq!(proposed[0].cause, JobCause::Noticed(Tick::Leak));
    assert_eq!(proposed[0].evidence, [at(7)]);

    let open = fold_jobs([(written(1, 0), raised(JobWork::StopLeak))], []);
    let left = proposals(&station, &seen, &open);
    assert_eq!(left.len(), 2, "what is open is not proposed again");
    let shut = fold_jobs(
        [(written(1, 0), raised(JobWork::StopLeak))],
        [(written(2, 1), closed(1, ""))],
    );
    assert_eq!(proposals(&station, &seen, &shut).len(), 3);
}

#[test]
fn probable_suspects_suggest_their_work_instead_of_the_bare_verdict() {
    let mut weights = [-20.0; Cause::COUNT];
    weights[Cause::SecondStageRising.index()] = 0.0;
    weights[Cause::OutletGaugeWrong.index()] = -0.5;
    let ranking = Ranking::from_ln_weights(&weights);
    let suspects = [(ranking, Some(Quantity::Outlet), at(8))];
    let mut seen = finding(&suspects);
    seen.verdicts[Quantity::Outlet.index()] = Some(Verdict::Outside);
    let proposed = proposals(&code("T-07"), &seen, &[]);
    let works: Vec<JobWork> = proposed.iter().map(|one| one.work).collect();
    assert_eq!(
        works,
        [JobWork::Recalibrate, JobWork::CheckGauge(Quantity::Outlet)]
    );
    assert_eq!(
        proposed[0].cause,
        JobCause::Suspected(Cause::SecondStageRising)
    );
    assert!(proposed[0].probability > proposed[1].probability);
    assert_eq!(proposed[0].evidence, [at(8)]);
}

#[test]
fn a_slip_of_the_pen_is_no_job() {
    let mut weights = [-20.0; Cause::COUNT];
    weights[Cause::EntrySlip.index()] = 0.0;
    let suspects = [(Ranking::from_ln_weights(&weights), None, at(8))];
    assert_eq!(proposals(&code("T-07"), &finding(&suspects), &[]), []);
}
