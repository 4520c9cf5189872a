//! One task of one station: last done, next due, where it stands today, and why.

use chrono::NaiveDate;
use winze_sync_format::RecordRef;

use super::calendar::{Interval, within_calendar};
use super::schedule::{Schedule, Window};
use super::task::Task;
use super::why::{CountedFrom, Why};

/// How it is known that a task was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DoneBy {
    /// A reading.
    Reading,
    /// A completed procedure.
    Procedure,
    /// A job that came to the same.
    Job,
    /// A note that it was done.
    Note,
    /// The date in the station's definition.
    Definition,
}

impl DoneBy {
    /// Stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Procedure => "procedure",
            Self::Job => "job",
            Self::Note => "note",
            Self::Definition => "definition",
        }
    }
}

/// A task was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Done {
    /// The local day.
    pub on: NaiveDate,
    /// How that is known.
    pub by: DoneBy,
    /// The record that says so.
    pub at: RecordRef,
}

/// How a task stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Status {
    /// After the last day of its window.
    Overdue,
    /// On the day it is due, or after it within its window.
    Due,
    /// Within its window, before the day it is due.
    Early,
    /// Nothing tells when it was ever done, or since when the station is in use.
    NeverDone,
    /// Before its window.
    NotYet,
}

impl Status {
    /// All of them, most pressing first.
    pub const ALL: [Self; 5] = [
        Self::Overdue,
        Self::Due,
        Self::Early,
        Self::NeverDone,
        Self::NotYet,
    ];

    /// Stable code, used in exports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Overdue => "overdue",
            Self::Due => "due",
            Self::Early => "early",
            Self::NeverDone => "never-done",
            Self::NotYet => "not-yet",
        }
    }

    /// How a window stands on a day.
    #[must_use]
    pub fn of(window: Window, today: NaiveDate) -> Self {
        if today > window.latest {
            Self::Overdue
        } else if today >= window.due {
            Self::Due
        } else if today >= window.earliest {
            Self::Early
        } else {
            Self::NotYet
        }
    }

    /// Whether it can be done now to some purpose.
    #[must_use]
    pub const fn is_open(self) -> bool {
        !matches!(self, Self::NotYet)
    }

    /// Whether somebody should see to it now.
    #[must_use]
    pub const fn is_pressing(self) -> bool {
        matches!(self, Self::Overdue | Self::Due)
    }
}

/// One task of one station.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskDue {
    /// Which.
    pub task: Task,
    /// When it was last done, as far as is known and not after today.
    pub last_done: Option<Done>,
    /// On how many days it was done, not after today.
    pub times_done: usize,
    /// When it is to be done next; none where nothing is known to count from.
    pub window: Option<Window>,
    /// How it stands today.
    pub status: Status,
    /// Why it is due then: first what is counted from, then the interval, then what narrows it.
    pub why: Vec<Why>,
}

/// Since when a station is in use, where a task was never done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct InUse {
    /// The day it was set up.
    pub set_up_on: Option<NaiveDate>,
    /// The day of its oldest reading.
    pub first_reading_on: Option<NaiveDate>,
}

impl InUse {
    /// The day to count from on `today`: the later of the last completion and the set-up, which
    /// comes to the same; the oldest reading where neither is known.
    fn counted(
        self,
        last_done: Option<NaiveDate>,
        today: NaiveDate,
    ) -> Option<(CountedFrom, NaiveDate)> {
        let not_later = |day: &NaiveDate| *day <= today;
        match (last_done, self.set_up_on.filter(not_later)) {
            (Some(done), Some(set_up)) if set_up > done => Some((CountedFrom::SetUp, set_up)),
            (Some(done), _) => Some((CountedFrom::LastDone, done)),
            (None, Some(set_up)) => Some((CountedFrom::SetUp, set_up)),
            (None, None) => self
                .first_reading_on
                .filter(not_later)
                .map(|day| (CountedFrom::FirstReading, day)),
        }
    }
}

/// Works out one task. `dones` in any order, with repeats; what lies after `today` is not counted.
/// `reasons` narrow the schedule: by how much is said with each reason.
#[must_use]
pub fn task_due(
    task: Task,
    schedule: Schedule,
    dones: &[Done],
    in_use: InUse,
    reasons: Vec<Why>,
    today: NaiveDate,
) -> TaskDue {
    let last_done = dones.iter().filter(|done| done.on <= today).max().copied();
    let mut days: Vec<NaiveDate> = dones
        .iter()
        .map(|done| done.on)
        .filter(|on| *on <= today)
        .collect();
    days.sort_unstable();
    days.dedup();
    let counted = in_use
        .counted(last_done.map(|done| done.on), today)
        .map(|(from, day)| (from, within_calendar(day)));
    let months_off = reasons.iter().map(Why::months_off).sum();
    let schedule_now = narrowed(task, schedule, months_off);
    let window = counted.map(|(from, day)| match (from, schedule) {
        // A look-round never made is due in the week in which the station came into use.
        (CountedFrom::SetUp | CountedFrom::FirstReading, Schedule::EachWeek) => {
            Schedule::EachWeek.window_after(Interval::Days(7).before(day))
        }
        _ => schedule_now.window_after(day),
    });
    let mut why = vec![match counted {
        Some((from, on)) => Why::Counted { from, on },
        None => Why::NothingKnown,
    }];
    why.push(match schedule {
        Schedule::EachWeek => Why::EachWeek,
        Schedule::Counted {
            earliest, latest, ..
        } => Why::UsualInterval {
            least: earliest,
            most: latest,
        },
    });
    let in_future = dones.iter().map(|done| done.on).filter(|on| *on > today);
    why.extend(in_future.max().map(|on| Why::DoneInFuture { on }));
    why.extend(reasons);
    TaskDue {
        task,
        last_done,
        times_done: days.len(),
        window,
        status: window.map_or(Status::NeverDone, |window| Status::of(window, today)),
        why,
    }
}

/// The schedule of a task with months taken off.
///
/// An inspection keeps its least interval: the end of its window comes forward, never past that, and
/// the day it is due moves half as far, so that it stays in the middle of what is left. Every other
/// task counted in months comes forward as a whole, and is due after a month at the earliest.
#[must_use]
pub fn narrowed(task: Task, schedule: Schedule, months_off: u32) -> Schedule {
    let Schedule::Counted {
        earliest: Interval::Months(earliest),
        due: Interval::Months(due),
        latest: Interval::Months(latest),
    } = schedule
    else {
        return schedule;
    };
    let (earliest, due, latest) = if task == Task::InternalInspection {
        let off = months_off.min(latest.saturating_sub(earliest));
        let due = due.saturating_sub(off.div_ceil(2)).max(earliest);
        (earliest, due, latest - off)
    } else {
        let off = months_off.min(due.saturating_sub(1));
        (earliest.saturating_sub(off), due - off, latest - off)
    };
    Schedule::Counted {
        earliest: Interval::Months(earliest),
        due: Interval::Months(due),
        latest: Interval::Months(latest),
    }
}
