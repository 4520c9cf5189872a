//! Upkeep in words: tasks, how they stand, why they are due when they are; jobs and their causes.

use winze_core::hydraulics::{InletPoint, LimitKind, Stage};
use winze_core::procedures::Dirt;
use winze_core::record::Tick;
use winze_core::station::Quantity;
use winze_core::upkeep::{
    CavitationMargin, CountedFrom, Interval, JobCause, JobWork, Status, Task, Why,
};

use super::counted;
use super::watch;
use crate::statements::skip_reason;

/// Names a task.
#[must_use]
pub const fn task(task: Task) -> &'static str {
    match task {
        Task::LookRound => "look-round with readings",
        Task::YearlyClean => "strainer and control loop cleaning",
        Task::InternalInspection => "internal inspection",
        Task::GaugeCheck(Quantity::Inlet) => "inlet gauge check",
        Task::GaugeCheck(Quantity::Interstage) => "interstage gauge check",
        Task::GaugeCheck(Quantity::Outlet) => "outlet gauge check",
    }
}

/// Says how a task stands.
#[must_use]
pub const fn status(status: Status) -> &'static str {
    match status {
        Status::Overdue => "overdue",
        Status::Due => "due",
        Status::Early => "may be done early",
        Status::NeverDone => "never done",
        Status::NotYet => "not yet",
    }
}

/// Says what a job is.
#[must_use]
pub const fn work(work: JobWork) -> &'static str {
    match work {
        JobWork::StopLeak => "stop the leak",
        JobWork::RepairDamage => "repair the damage",
        JobWork::FindNoise => "find out what makes the noise",
        JobWork::DrainChamber => "drain the chamber",
        JobWork::ClearAccess => "clear the way in",
        JobWork::LookIntoSupply => "look into the supply",
        JobWork::CleanStrainer => "clean the strainer",
        JobWork::OverhaulFirstStage => "overhaul the first stage",
        JobWork::OverhaulSecondStage => "overhaul the second stage",
        JobWork::Recalibrate => "recalibrate the second stage",
        JobWork::CheckGauge(Quantity::Inlet) => "check or replace the inlet gauge",
        JobWork::CheckGauge(Quantity::Interstage) => "check or replace the interstage gauge",
        JobWork::CheckGauge(Quantity::Outlet) => "check or replace the outlet gauge",
        JobWork::Other => "something else, see the note",
    }
}

/// Says what a job is raised from, after "because".
#[must_use]
pub fn cause(cause: JobCause) -> String {
    match cause {
        JobCause::Noticed(tick) => format!("{} was noticed", noticed(tick)),
        JobCause::Outside(Quantity::Inlet) => "the inlet pressure is outside its band".to_owned(),
        JobCause::Outside(Quantity::Interstage) => {
            "the interstage pressure is outside its band".to_owned()
        }
        JobCause::Outside(Quantity::Outlet) => "the outlet pressure is outside its band".to_owned(),
        JobCause::Suspected(cause) => format!("it is suspected that {}", watch::cause(cause)),
        JobCause::Person => "somebody asks for it".to_owned(),
    }
}

const fn noticed(tick: Tick) -> &'static str {
    match tick {
        Tick::Leak => "a leak",
        Tick::Damage => "damage",
        Tick::Noise => "noise",
        Tick::Flooding => "standing water",
        Tick::Access => "an obstructed way in",
    }
}

/// Says a reason in a sentence.
#[must_use]
#[allow(
    clippy::too_many_lines,
    reason = "one sentence for each reason, all in one place"
)]
pub fn why(why: &Why) -> String {
    let off = |months: u32| match months {
        0 => "which the reason before it covers".to_owned(),
        months => format!("which brings it forward by {}", months_of(months)),
    };
    match why {
        Why::Counted { from, on } => match from {
            CountedFrom::LastDone => format!("Last done on {on}."),
            CountedFrom::SetUp => format!("Set up on {on}; not noted as done since."),
            CountedFrom::FirstReading => {
                format!("Never noted as done; in use since {on} at the latest.")
            }
        },
        Why::UsualInterval { least, most } => format!(
            "Usually done {} after the last time (common practice).",
            span(*least, *most)
        ),
        Why::EachWeek => "Once in every week, Monday to Sunday (common practice).".to_owned(),
        Why::NothingKnown => {
            "Never noted as done, and nothing tells since when the station is in use.".to_owned()
        }
        Why::DoneInFuture { on } => {
            format!("A record says it was done on {on}, which has not come; not counted.")
        }
        Why::PassedBy { on, reason } => {
            format!("Passed by on {on}: {}.", skip_reason(*reason))
        }
        Why::CavitationBeyondLimit(margin) => format!(
            "{} is below {} {}, {}.",
            sigma(margin),
            limit(margin.kind),
            two_places(margin.limit),
            off(margin.months_off)
        ),
        Why::CavitationNearLimit(margin) => format!(
            "{} is close to {} {}, {}.",
            sigma(margin),
            limit(margin.kind),
            two_places(margin.limit),
            off(margin.months_off)
        ),
        Why::CavitationNotKnown => {
            "The cavitation margin cannot be worked out for both stages, so nothing is narrowed \
             for it."
                .to_owned()
        }
        Why::StageJobsOpen { jobs, months_off } => format!(
            "{} open, {}.",
            counted(*jobs as u64, "job on a stage is", "jobs on a stage are"),
            off(*months_off)
        ),
        Why::NoticedOften {
            tick,
            visits,
            within_days,
            months_off,
        } => format!(
            "{} was noticed on {} within {}, {}.",
            capital(noticed(*tick)),
            counted(*visits as u64, "visit", "visits"),
            counted(u64::from(*within_days), "day", "days"),
            off(*months_off)
        ),
        Why::OutsideOften {
            visits,
            within_days,
            months_off,
        } => format!(
            "A stage was outside its band on {} within {}, {}.",
            counted(*visits as u64, "visit", "visits"),
            counted(u64::from(*within_days), "day", "days"),
            off(*months_off)
        ),
        Why::InletFalls(fall) => format!(
            "The inlet pressure loses {} % of its usual value in a year ({} to {}, {} since {}): \
             the strainer fills, or the supply falls, {}.",
            one_place(fall.percent_per_year),
            one_place(fall.low_percent_per_year),
            one_place(fall.high_percent_per_year),
            counted(fall.visits as u64, "visit", "visits"),
            fall.since,
            if fall.months_off == 0 {
                "too slowly to change anything".to_owned()
            } else {
                off(fall.months_off)
            }
        ),
        Why::StrainerFound {
            on,
            dirt,
            months_off,
        } => format!(
            "The strainer was found {} on {on}, {}.",
            match dirt {
                Dirt::Clean => "clean",
                Dirt::Light => "with a little dirt in it",
                Dirt::Heavy => "with much dirt in it",
                Dirt::Damaged => "broken or holed",
            },
            off(*months_off)
        ),
        Why::StageLeftWorn {
            stage,
            on,
            months_off,
        } => format!(
            "The {} stage was worn inside on {on} and left so, {}.",
            match stage {
                Stage::First => "first",
                Stage::Second => "second",
            },
            off(*months_off)
        ),
        Why::CleanedOften {
            times,
            within_months,
            months_off,
        } => format!(
            "The strainer was cleaned {} within {}, {}.",
            counted(*times as u64, "time", "times"),
            months_of(*within_months),
            off(*months_off)
        ),
    }
}

/// Says from how long to how long, the unit once where it is the same.
fn span(least: Interval, most: Interval) -> String {
    let (from, to) = (interval(least), interval(most));
    match (from.split_once(' '), to.split_once(' ')) {
        (Some((number, unit)), Some((_, same))) if unit == same => format!("{number} to {to}"),
        _ => format!("{from} to {to}"),
    }
}

/// Says a length of time.
#[must_use]
pub fn interval(interval: Interval) -> String {
    match interval {
        Interval::Days(days) => counted(u64::from(days), "day", "days"),
        Interval::Months(months) if months > 12 && months.is_multiple_of(12) => {
            counted(u64::from(months / 12), "year", "years")
        }
        Interval::Months(months) => months_of(months),
    }
}

fn months_of(months: u32) -> String {
    counted(u64::from(months), "month", "months")
}

fn sigma(margin: &CavitationMargin) -> String {
    let stage = match margin.stage {
        Stage::First => "first",
        Stage::Second => "second",
    };
    let inlet = match margin.point {
        InletPoint::Low => "lowest",
        InletPoint::Usual => "middle",
        InletPoint::High => "highest",
    };
    format!(
        "Sigma of the {stage} stage at the {inlet} usual inlet pressure, {},",
        two_places(margin.sigma)
    )
}

const fn limit(kind: LimitKind) -> &'static str {
    match kind {
        LimitKind::Permitted => "the least its maker permits,",
        LimitKind::Onset => "where its maker hears cavitation begin,",
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn one_place(value: f64) -> String {
    format!("{value:.1}")
}

fn two_places(value: f64) -> String {
    format!("{value:.2}")
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;
    use winze_core::upkeep::InletFall;

    use super::*;

    fn said(reason: &Why) -> String {
        why(reason)
    }

    #[test]
    fn reasons_are_sentences_with_their_figures() {
        let on = NaiveDate::from_ymd_opt(2026, 10, 6).unwrap();
        let usual = |least, most| said(&Why::UsualInterval { least, most });
        assert_eq!(
            usual(Interval::Months(36), Interval::Months(60)),
            "Usually done 3 to 5 years after the last time (common practice)."
        );
        assert_eq!(
            usual(Interval::Months(10), Interval::Months(13)),
            "Usually done 10 to 13 months after the last time (common practice)."
        );
        assert_eq!(
            usual(Interval::Days(1), Interval::Months(1)),
            "Usually done 1 day to 1 month after the last time (common practice)."
        );
        assert_eq!(
            said(&Why::StageJobsOpen {
                jobs: 1,
                months_off: 12
            }),
            "1 job on a stage is open, which brings it forward by 12 months."
        );
        assert_eq!(
            said(&Why::CavitationNearLimit(CavitationMargin {
                stage: Stage::First,
                point: InletPoint::High,
                sigma: 1.834,
                limit: 1.8,
                kind: LimitKind::Permitted,
                months_off: 12,
            })),
            "Sigma of the first stage at the highest usual inlet pressure, 1.83, is close to the \
             least its maker permits, 1.80, which brings it forward by 12 months."
        );
        let fall = InletFall {
            since: on,
            visits: 40,
            percent_per_year: 15.64,
            low_percent_per_year: 12.0,
            high_percent_per_year: 19.1,
            chance: 0.001,
            months_off: 0,
        };
        let slow = said(&Why::InletFalls(fall));
        assert!(
            slow.contains("15.6 %") && slow.ends_with("too slowly to change anything."),
            "{slow}"
        );
        assert_eq!(
            said(&Why::NoticedOften {
                tick: Tick::Noise,
                visits: 3,
                within_days: 365,
                months_off: 6
            }),
            "Noise was noticed on 3 visits within 365 days, which brings it forward by 6 months."
        );
    }

    #[test]
    fn every_task_work_and_cause_has_words_of_its_own() {
        let distinct = |mut words: Vec<String>| {
            let all = words.len();
            words.sort();
            words.dedup();
            assert_eq!(words.len(), all, "{words:?}");
        };
        distinct(Task::ALL.map(|one| task(one).to_owned()).to_vec());
        distinct(JobWork::ALL.map(|one| work(one).to_owned()).to_vec());
        distinct(JobCause::all().map(cause).collect());
        distinct(Status::ALL.map(|one| status(one).to_owned()).to_vec());
    }
}
